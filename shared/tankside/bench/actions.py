"""What a technician can do at the bench: each action checks, acts on the unit, and says what happened.

An action works on a batch: the same hands on every variant of the heater. What one *sees*
(a position, a reading) is the first variant's.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from tankside.bench.both_measures import both_measures
from tankside.bench.rules import SCALDS_ABOVE
from tankside.bench.state import BenchState
from tankside.bench.terminals import Terminals
from tankside.errors import BenchError, UnknownNameError
from tankside.faults.catalogue import Remedy, apart, remedies_for, remedy_named
from tankside.faults.effects import cure
from tankside.heater import simulation
from tankside.heater.electrics import coil_power
from tankside.heater.ignition import lamp_glows
from tankside.heater.model import Wire
from tankside.heater.plumbing import TRICKLE, hot_tap, litres_a_minute
from tankside.heater.wiring import loose_end
from tankside.instruments.multimeter import Reading, function_named

KNOWN_SOURCE = 120.0
"""V of the proving unit in the toolbox."""
TAP_LITRES_PER_MINUTE = 5.0
HOT_ALREADY = 45.0
"""°C from which a thermostat may well be open: then the water not getting warmer says nothing."""
GUARDS = ("thermostat", "high limit", "link bar")
"""How the types of the parts end that nobody bridges."""
LIVE_12V = 3.0
"""V direct from which a lead of the 12 V side counts as live (ours)."""
THERMOMETER_STEP = 0.5
"""K between two marks of the thermometer; it is right to one mark either way."""


@dataclass
class Result:
    """What an action gave: data for the log, one sentence, and the safety rules it broke."""

    data: dict[str, Any]
    text: str
    minutes: float
    broke: list[str] = field(default_factory=list)
    blocked: bool = False
    """True if the broken rule kept the action from happening."""
    ran: float = 0.0
    """Minutes, beside ``minutes``, that the action itself let pass."""

    @property
    def logged(self) -> dict[str, Any]:
        """What the log's line keeps of it."""
        return {**self.data, "broke": self.broke} if self.broke else self.data


Action = Callable[[BenchState, dict[str, Any]], Result]
ACTIONS: dict[str, Action] = {}
RepairCheck = Callable[[BenchState, Remedy, list[str]], list[str]]
SwitchCheck = Callable[[BenchState, str], list[str]]
SWITCH_CHECKS: list[SwitchCheck] = []
"""What other subjects have to say before a part is switched on: the rules that it would break."""
REPAIR_CHECKS: list[RepairCheck] = []
"""What other subjects have to say before a repair: from the remedy and its parts, the rules that it would break."""


def action(verb: str) -> Callable[[Action], Action]:
    """Register a function as what hands do for a verb."""

    def register(function: Action) -> Action:
        ACTIONS[verb] = function
        return function

    return register


def check_arguments(args: dict[str, Any]) -> None:
    """A ``BenchError`` for anything but a few short words and ordinary numbers: a log line must hold them."""
    if len(args) > 8:
        raise BenchError("Too much was asked for at once.")
    for key, value in args.items():
        word = isinstance(value, str) and len(value) <= 200 and value.isprintable()
        number = isinstance(value, int | float) and -1e9 < value < 1e9
        if not (word or number or value is None) or len(key) > 40 or not key.isprintable():
            raise BenchError(f"{key[:40]}: write a short word or an ordinary number.")


def text_of(args: dict[str, Any], key: str) -> str:
    """An argument that must be text."""
    value = args.get(key)
    if not isinstance(value, str):
        raise BenchError(f"Say which {key}.")
    return value


def known(kind: str, name: str, names: list[str]) -> str:
    """``name``, if it is one of these; else an ``UnknownNameError``."""
    if name not in names:
        raise UnknownNameError(kind, name, names)
    return name


def reach(state: BenchState, terminal: str) -> str:
    """The terminal, if no cover hides it and it isn't under its screw; else a ``BenchError``."""
    place = state.place_of(terminal)
    if state.model.places[place].cover and place not in state.open_covers:
        raise BenchError(
            f"{state.name_of(terminal).capitalize()} is behind a cover: {state.model.places[place].name}."
        )
    if terminal.endswith(".end") and not state.lifted(terminal.removesuffix(".end")):
        raise BenchError(
            f"That lead is on its terminal. Probe the terminal itself: {state.name_of(terminal)}."
        )
    return terminal


def _hands_on(state: BenchState, terminals: list[str]) -> tuple[list[str], bool]:
    """Rules broken by bare hands on these terminals; True if the hands met a live one."""
    if _live(state, terminals):
        return ["hands-on-live"], True
    broke = []
    if state.locked is None:
        broke.append("no-lock-out")
    places = {state.place_of(terminal) for terminal in terminals}
    if not {place for place in places if proof_pairs(state, place)} <= state.dead_places:
        broke.append("not-proven-dead")
    return broke, False


def _on_lead(state: BenchState, wire: Wire, terminals: list[str]) -> tuple[list[str], bool]:
    """The same for a lead. Where only direct current comes, its own, gentler rule stands in for lock and proof."""
    if wire.role not in ("dc+", "dc-") or any(proof_pairs(state, state.place_of(t)) for t in terminals):
        return _hands_on(state, terminals)
    if _live(state, terminals):
        return ["hands-on-live"], True
    return (["lifted-live-12v"] if _live_12v(state, terminals) else []), False


def _live_12v(state: BenchState, terminals: list[str]) -> bool:
    """True if one of them stands at volts of the 12 V side, or the board sparks into its lead."""
    unit = state.unit.take([0])
    network = Terminals(unit)
    returns = [f"{part}.minus" for part in state.model.of_type("battery")]
    volts = [abs(float(network.direct(t, r, 1e-7, 0.0)[0])) for t in terminals for r in returns]
    sparks = any(
        unit[f"{board}.sparking"][0] > 0 and f"{board}.spark" in (wire.from_, wire.to)
        for board in state.model.of_type("control board")
        for wire in state.model.wires.values()
        if {wire.from_, wire.to, loose_end(wire.id)} & set(terminals)
    )
    return sparks or any(v > LIVE_12V for v in volts)


def _live(state: BenchState, terminals: list[str]) -> list[str]:
    """Those that a hand would feel; the hand is at the first variant."""
    return Terminals(state.unit.take([0])).felt(terminals)


def _powered(state: BenchState) -> list[str]:
    """After something was switched on: proof lapses where it is live now; the rules that this broke."""
    ends = [*state.model.terminals, *(loose_end(w.id) for w in state.loose())]
    live = {state.place_of(terminal) for terminal in _live(state, ends)}
    state.dead_places -= live
    state.dead_pairs = {place: pairs for place, pairs in state.dead_pairs.items() if place not in live}
    open_ends = any(state.place_of(loose_end(wire.id)) in live for wire in state.loose())
    return (["energised-open"] if open_ends else []) + _dry(state)


def reading_data(reading: Reading) -> dict[str, Any]:
    """A reading as the log keeps it."""
    return {
        "function": reading.function,
        "value": reading.value,
        "full": reading.full,
        "digits": reading.digits,
        "unit": reading.unit,
        "note": reading.note,
        "spoken": reading.spoken,
    }


def shown(reading: Reading) -> str:
    """A reading in a sentence."""
    if reading.value is None:
        return f"{reading.digits} ({reading.note})"
    # Few fonts have the sign for direct current, so the log says DC.
    kind = {"V~": " V~", "V⎓": " V DC", "A~": " A~", "A⎓": " A DC", "µA⎓": " µA DC"}.get(
        reading.function, f" {reading.unit}"
    )
    said = both_measures(reading.value, reading.unit, f"{reading.digits}{kind}")
    return said + (f" ({reading.note})" if reading.note else "")


@action("open cover")
def _open_cover(state: BenchState, args: dict[str, Any]) -> Result:
    place = known("place", text_of(args, "place"), list(state.model.places))
    if not state.model.places[place].cover or place in state.open_covers:
        raise BenchError(f"{state.model.places[place].name.capitalize()} is open already.")
    state.open_covers.add(place)
    return Result({}, f"Took the cover off: {state.model.places[place].name}.", 3)


@action("close cover")
def _close_cover(state: BenchState, args: dict[str, Any]) -> Result:
    place = known("place", text_of(args, "place"), list(state.model.places))
    if place not in state.open_covers:
        raise BenchError(f"There is no open cover at: {state.model.places[place].name}.")
    state.open_covers.discard(place)
    for lead in ("red", "black"):
        terminal = getattr(state, lead)
        if terminal and state.place_of(terminal) == place:
            setattr(state, lead, None)
            state.reading = None
    return Result({}, f"Put the cover back: {state.model.places[place].name}.", 2)


@action("switch")
def _switch(state: BenchState, args: dict[str, Any]) -> Result:
    movable = {part: kind for part, kind in state.model.types.items() if kind.positions}
    part = known("switch", text_of(args, "part"), list(movable))
    kind = movable[part]
    position = known("position", text_of(args, "position"), list(kind.positions))
    name = state.model.parts[part].name
    if state.hidden(part):
        raise BenchError(
            f"{name.capitalize()} is behind a cover: {state.model.places[state.model.parts[part].place].name}."
        )
    if state.locked == part:
        raise BenchError(f"Your lock is on it: {name}. Take the lock off first.")
    made = position == kind.positions[0]
    warned = [rule for check in SWITCH_CHECKS for rule in check(state, part)] if made else []
    state.unit.set(f"{part}.{kind.moves}", float(made))
    if "heat" in kind.states:
        state.unit.set(f"{part}.heat", 0.0)
        state.unit.set(f"{part}.tripped", 0.0)
    simulation.energise(state.unit)
    broke = [*warned, *_powered(state)] if made else []
    where = {
        "in": "Plugged in",
        "out": "Pulled the plug",
        "on": "Switched on",
        "off": "Switched off",
        "open": "Opened",
        "shut": "Shut",
    }[position]
    seen = state.switches()[part]
    after = f" It is {seen} now." if seen not in (position,) else ""
    state.see_positions()
    minutes = 3 if "dry-fire" in broke else 1  # it takes a while to notice that nothing boils
    return Result({"positions": state.seen_switches()}, f"{where}: {name}.{after}", minutes, broke)


@action("lock out")
def _lock_out(state: BenchState, args: dict[str, Any]) -> Result:
    if state.locked:
        raise BenchError(f"Your lock is already on: {state.model.parts[state.locked].name}.")
    isolators = [*state.model.of_type("breaker"), *state.model.of_type("mains supply")]
    wanted = args.get("part")
    candidates = [known("isolator", str(wanted), isolators)] if wanted else isolators
    positions = state.seen_switches()
    part = next((p for p in candidates if positions.get(p) in ("off", "out", "tripped")), None)
    if part is None:
        raise BenchError(
            "A lock goes on an isolator that is off. Switch the breaker off or pull the plug first."
        )
    state.locked = part
    return Result({"part": part}, f"Put your lock and tag on: {state.model.parts[part].name}.", 3)


@action("unlock")
def _unlock(state: BenchState, args: dict[str, Any]) -> Result:
    if state.locked is None:
        raise BenchError("There is no lock to take off.")
    name = state.model.parts[state.locked].name
    state.locked = None
    return Result({}, f"Took your lock off: {name}.", 2)


@action("meter")
def _meter(state: BenchState, args: dict[str, Any]) -> Result:
    kind = function_named(text_of(args, "function"))
    state.function = kind.id
    state.reading = None
    return Result({}, f"Set the meter to {kind.name}.", 0.2)


@action("zero leads")
def _zero_leads(state: BenchState, args: dict[str, Any]) -> Result:
    if function_named(state.function).unit != "Ω":
        raise BenchError("Set the meter to ohms, then hold the lead tips together.")
    reading = state.meter.show("Ω", 0.0)
    state.meter.zeroed = True
    return Result(
        {"reading": reading_data(reading)}, f"Held the lead tips together: {shown(reading)}. Zeroed.", 0.5
    )


@action("probe")
def _probe(state: BenchState, args: dict[str, Any]) -> Result:
    red, black = text_of(args, "red"), text_of(args, "black")
    for terminal in (red, black):
        reach(state, terminal)
    if red == black:
        raise BenchError("Both leads are on the same terminal. Put one of them somewhere else.")
    network = Terminals(state.unit)
    value, disturbed = state.meter.sees(state.function, network, red, black)
    reading = state.meter.show(state.function, float(value[0]), float(disturbed[0]))
    state.see_reading(reading, value, disturbed)
    state.red, state.black, state.reading = red, black, reading_data(reading)
    broke = ["ohms-on-live"] if reading.note == "volts on the leads" else []
    if broke:
        state.meter_proven_at = None
    _note_dead(state, red, black, reading)
    text = f"{shown(reading)} between {state.name_of(red)} and {state.name_of(black)}."
    return Result({"reading": reading_data(reading)}, text, 1, broke)


def _dead(reading: Reading) -> bool:
    return reading.function == "V~" and reading.value is not None and reading.value < 3.0


def _note_dead(state: BenchState, red: str, black: str, reading: Reading) -> None:
    """A dead reading counts towards proof if the meter is proven; any other undoes it."""
    earths = _earths(state)
    for place in {state.place_of(red), state.place_of(black)}:
        pairs = state.dead_pairs.setdefault(place, set())
        pair = frozenset((red, black))
        if len(pair & earths) == 1:  # all grounds are one conductor: which of them is held doesn't matter
            own = {t for wanted in proof_pairs(state, place) for t in wanted} & earths
            pair = (pair - earths) | frozenset(own)
        if not _dead(reading):
            pairs.discard(pair)
        elif state.meter_proven_at is not None:
            pairs.add(pair)


def _earths(state: BenchState) -> frozenset[str]:
    """Terminals of the ground conductor: those that a ground or bond wire joins, and the metal of tank and element."""
    joined = {
        end for w in state.model.wires.values() if w.role in ("ground", "bond") for end in (w.from_, w.to)
    }
    grounds = {t for t in joined if t.endswith((".ground", ".shell", ".sheath"))}
    metal = {f"{part}.shell" for part in state.model.of_type("tank")}
    metal |= {f"{part}.sheath" for part in state.model.of_type("element")}
    return frozenset(grounds | metal)


def proof_pairs(state: BenchState, place: str) -> list[tuple[str, str]]:
    """The pairs to test at a place: hot-neutral, hot-ground, neutral-ground where it has those conductors.

    Where no ground comes, it is a ground elsewhere: with the neutral open, hot to neutral shows nothing, however live
    both are. Where only hot conductors come, as at a switch, each is tested to that ground: across a closed switch a
    meter shows nothing either.
    """
    terminals = state.terminals_at(place)
    wires = state.model.wires.values()
    ground = [
        t
        for t in terminals
        if t.endswith((".ground", ".shell", ".sheath"))
        and any(w.role in ("ground", "bond") and t in (w.from_, w.to) for w in wires)
    ][:1]
    neutral = [
        w.to if w.to in terminals else w.from_
        for w in wires
        if w.role == "neutral" and {w.to, w.from_} & set(terminals)
    ][:1]
    hot = [
        w.to if w.to in terminals else w.from_
        for w in wires
        if w.role in ("hot", "switched hot") and {w.to, w.from_} & set(terminals)
    ]
    if hot and not ground and not neutral:
        return [(h, elsewhere) for h in dict.fromkeys(hot) for elsewhere in _reachable_ground(state)]
    ground = ground or _reachable_ground(state)
    out = [(h, other) for h in hot[:1] for other in (*neutral, *ground)]
    return out + [(n, g) for n in neutral for g in ground] if hot or neutral else []


def _reachable_ground(state: BenchState) -> list[str]:
    """A ground terminal to hold a lead on from anywhere: one that no cover hides, where there is one."""
    grounds = [t for t in state.model.terminals if t.endswith(".ground")]
    return sorted(grounds, key=lambda t: state.model.places[state.place_of(t)].cover)[:1]


@action("prove meter")
def _prove_meter(state: BenchState, args: dict[str, Any]) -> Result:
    if state.function != "V~":
        raise BenchError("Set the meter to V~ first: the proving unit gives alternating volts.")
    reading = state.meter.show("V~", KNOWN_SOURCE)
    state.meter_proven_at = state.clock
    done = []
    for place, pairs in state.dead_pairs.items():
        wanted = {frozenset(pair) for pair in proof_pairs(state, place)}
        if wanted and wanted <= pairs:
            state.dead_places.add(place)
            state.once_proven.add(place)
            done.append(state.model.places[place].name)
    text = f"Proved the meter on the proving unit: {shown(reading)}."
    if done:
        text += f" Proven dead: {', '.join(done)}."
    return Result({"reading": reading_data(reading)}, text, 1)


@action("prove dead")
def _prove_dead(state: BenchState, args: dict[str, Any]) -> Result:
    place = known("place", text_of(args, "place"), list(state.model.places))
    pairs = proof_pairs(state, place)
    if not pairs:
        raise BenchError(f"There are no conductors to test at: {state.model.places[place].name}.")
    for pair in pairs:
        for terminal in pair:
            reach(state, terminal)
    state.function, state.reading = "V~", None
    network = Terminals(state.unit)
    found: list[dict[str, Any]] = []
    dead = True
    words = []
    for a, b in pairs:
        value, disturbed = state.meter.sees("V~", network, a, b)
        reading = state.meter.show("V~", float(value[0]))
        state.see_reading(reading, value, disturbed)
        found.append({"red": a, "black": b, "reading": reading_data(reading)})
        dead = dead and _dead(reading)
        words.append(f"{state.name_of(a)} to {state.name_of(b)}: {shown(reading)}")
    proving = state.meter.show("V~", KNOWN_SOURCE)
    state.meter_proven_at = state.clock
    if dead:
        state.dead_places.add(place)
        state.once_proven.add(place)
        verdict = "It is dead."
    else:
        state.dead_places.discard(place)
        verdict = "It is NOT dead: find what still feeds it."
    text = (
        f"Live, dead, live, {state.model.places[place].name}: proving unit {shown(proving)}; "
        f"{'; '.join(words)}; proving unit {shown(proving)}. {verdict}"
    )
    return Result({"readings": found, "known": reading_data(proving), "dead": dead}, text, 5)


@action("lift lead")
def _lift(state: BenchState, args: dict[str, Any]) -> Result:
    wire = _liftable(state, args)
    end = wire.to if wire.lifts_at == "to" else wire.from_
    reach(state, end)
    if state.lifted(wire.id):
        raise BenchError(f"That lead is off already: {wire.name}.")
    broke, shocked = _on_lead(state, wire, [end])
    if shocked:
        return Result({}, f"You reached for the lead {wire.name}, and it was live.", 1, broke, blocked=True)
    state.unit.set(f"{wire.id}.lifted", 1.0)
    # A neutral under load is harmless until it comes off: then its screw stands at the line's volts, under the hand.
    if _live(state, [end, loose_end(wire.id)]):
        state.unit.set(f"{wire.id}.lifted", 0.0)
        return Result({}, f"As the lead came off, it was live: {wire.name}.", 1, ["hands-on-live"], blocked=True)
    return Result({}, f"Lifted the lead: {wire.name}.", 4, broke)


@action("land lead")
def _land(state: BenchState, args: dict[str, Any]) -> Result:
    wire = _liftable(state, args)
    end = wire.to if wire.lifts_at == "to" else wire.from_
    reach(state, end)
    if not state.lifted(wire.id):
        raise BenchError(f"That lead is on its terminal: {wire.name}.")
    broke, shocked = _on_lead(state, wire, [end, f"{wire.id}.end"])
    if shocked:
        return Result({}, f"You reached for the lead {wire.name}, and it was live.", 1, broke, blocked=True)
    state.unit.set(f"{wire.id}.lifted", 0.0)
    for lead in ("red", "black"):
        if getattr(state, lead) == f"{wire.id}.end":
            setattr(state, lead, None)
            state.reading = None
    return Result({}, f"Put the lead back: {wire.name}.", 4, broke)


def _liftable(state: BenchState, args: dict[str, Any]) -> Any:
    wires = {w.id: w for w in state.model.wires.values() if w.lifts_at}
    return wires[known("lead that comes off", text_of(args, "wire"), list(wires))]


@action("drain")
def _drain(state: BenchState, args: dict[str, Any]) -> Result:
    if state.unit["tank.fill"][0] < 0.02:
        raise BenchError("The tank is empty already.")
    broke = ["scald"] if state.unit["tank.temperature"][0] > SCALDS_ABOVE else []
    simulation.drain(state.unit)
    broke += _dry(state)
    return Result({}, "Shut the water off and drained the tank.", 15, broke)


@action("fill")
def _fill(state: BenchState, args: dict[str, Any]) -> Result:
    if state.unit["tank.fill"][0] > 0.98:
        raise BenchError("The tank is full already.")
    simulation.fill(state.unit)
    return Result({}, "Filled the tank and ran a hot tap until it flowed without air.", 10)


def _dry(state: BenchState) -> list[str]:
    """Draining while the element is on is a dry start too."""
    solution = simulation.energise(state.unit)
    for element in state.model.of_type("element"):
        hot = coil_power(state.unit, element, solution)[0] > 1.0
        if hot and not state.flag(f"{element}.covered"):
            return ["dry-fire"]
    return []


@action("run tap")
def _run_tap(state: BenchState, args: dict[str, Any]) -> Result:
    minutes = _minutes(args, 30)
    if state.unit["tank.fill"][0] < 0.98:
        raise BenchError("Nothing runs: the tank isn't full.")
    simulation.draw(state.unit, minutes * litres_a_minute(state.unit, TAP_LITRES_PER_MINUTE))
    return Result({}, f"Ran the hot tap for {minutes:g} min.", minutes)


@action("temperature")
def _temperature(state: BenchState, args: dict[str, Any]) -> Result:
    if state.unit["tank.fill"][0] < 0.98:
        raise BenchError("There is no water at the tap to measure.")
    value = _thermometer(state)
    runs = hot_tap(state.unit).flow > TRICKLE
    if runs[0]:
        return Result({"temperature": value}, f"Hot water at the tap: {_degrees(value)}.", 1)
    # A thermometer under a tap that hardly runs shows nothing; the words say so, and so the witness is told as well.
    state.see_fact(runs.astype(float))
    text = f"Hardly anything comes from the hot tap. At the heater's hot outlet: {_degrees(value)}."
    return Result({"temperature": value}, text, 1)


def _degrees(celsius: float) -> str:
    return both_measures(celsius, "°C", f"{celsius:.1f} °C")


def _thermometer(state: BenchState) -> float:
    value = round(float(hot_tap(state.unit).temperature[0]) / THERMOMETER_STEP) * THERMOMETER_STEP
    state.see_temperature(value, THERMOMETER_STEP)
    return value


@action("prove operation")
def _prove_operation(state: BenchState, args: dict[str, Any]) -> Result:
    """Run it and see the water get warmer. A hot tank whose thermostat is open proves nothing yet."""
    if state.unit["tank.fill"][0] < 0.98:
        raise BenchError("Fill the tank before you run it.")
    before = _thermometer(state)
    idle = _run_both(state) if state.model.timing else []
    simulation.advance(state.unit, 19 if state.model.timing else 20)
    after = _thermometer(state)
    state.see_positions()
    state.operated = after >= before + 2 * THERMOMETER_STEP and not idle
    verdict = "It heats." if state.operated else "It does not heat."
    if idle and after >= before + 2 * THERMOMETER_STEP:
        verdict = f"The water gets warmer, but {' and '.join(idle)} did nothing although it is switched on."
    if not state.operated and before > HOT_ALREADY:
        verdict = "No warmer, but it was hot already: run the hot tap for some minutes, then prove it again."
    text = f"Ran it for 20 min: {_degrees(before)} before, {_degrees(after)} after. {verdict}"
    return Result({"before": before, "after": after, "heats": state.operated, "idle": idle}, text, 2)


def _run_both(state: BenchState) -> list[str]:
    """A minute's run of a heater with two sources of heat; those that are switched on and don't heat."""
    simulation.advance(state.unit, 1)
    solution = simulation.energise(state.unit)
    on = {
        part
        for part, kind in state.model.types.items()
        if kind.positions and state.flag(f"{part}.{kind.moves}")
    }
    movable = {part for part, kind in state.model.types.items() if kind.positions}
    gas = {p for p in movable if state.model.parts[p].type in ("12 V panel switch", "pilot gas valve")}
    idle = []
    if gas <= on and not state.see_fact(state.unit["burner.lit"]):
        idle.append("the burner")
    for element in state.model.of_type("element"):
        hot = state.see_fact((coil_power(state.unit, element, solution) > 1.0).astype(float))
        if movable - gas <= on and not hot:
            idle.append("the element")
    return idle


@action("look")
def _look(state: BenchState, args: dict[str, Any]) -> Result:
    positions = state.seen_switches()
    state.see_positions()
    words = [f"{state.model.parts[part].name} {position}" for part, position in positions.items()]
    unseen = [state.model.parts[part].name for part in state.switches() if part not in positions]
    for part in state.model.of_type("12 V panel switch"):
        glows = state.see_fact(lamp_glows(state.unit))
        words.append(f"fault lamp {'lit' if glows else 'dark'}")
        positions = {**positions, f"{part}.lamp": "lit" if glows else "dark"}
    behind = f" Not seen, behind a cover: {', '.join(unseen)}." if unseen else ""
    return Result({"positions": positions}, f"Looked around: {', '.join(words) or 'no switch'}.{behind}", 1)


@action("wait")
def _wait(state: BenchState, args: dict[str, Any]) -> Result:
    minutes = _minutes(args, 600)
    return Result({}, f"Waited {minutes:g} min.", minutes)


def _minutes(args: dict[str, Any], most: float) -> float:
    value = args.get("minutes")
    if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
        raise BenchError("Say how many minutes, as a number.")
    if not 0 < value <= most:
        raise BenchError(f"{value:g} minutes won't do: more than 0 and up to {most:g}.")
    return float(value)


@action("jumper")
def _jumper(state: BenchState, args: dict[str, Any]) -> Result:
    guarded = [part for part, kind in state.model.types.items() if kind.name.endswith(GUARDS)]
    part = known("part to bridge", text_of(args, "part"), guarded)
    name = state.model.parts[part].name
    return Result({}, f"You went to bridge the {name}.", 1, ["bridged-safety"], blocked=True)


@action("repair")
def _repair(state: BenchState, args: dict[str, Any]) -> Result:
    remedy = remedy_named(text_of(args, "remedy"))
    if len(each := apart(remedy.id)) > 1:
        named = ", then ".join(f"“{remedy_named(one).name}”" for one in each)
        raise BenchError(f"Hands make one repair at a time. Do them one after the other: {named}.")
    if state.locked and any(on == f"{state.model.parts[state.locked].type}.closed" for on in remedy.renews):
        raise BenchError(
            f"Your lock is on it: {state.model.parts[state.locked].name}. Take the lock off first."
        )
    parts = {on.rpartition(".")[0] for on in remedy.renews}
    ids = [p for p, r in state.model.parts.items() if r.type in parts or f"@{p}" in parts]
    wires = [wire for wire in state.model.wires.values() if f"@{wire.id}" in parts]
    if remedy not in remedies_for(state.model):
        raise BenchError(f"This heater has nothing to {remedy.name[0].lower()}{remedy.name[1:]}.")
    broke: list[str] = []
    if remedy.hands_on:
        ends = {end for wire in wires for end in (wire.from_, wire.to)}
        terminals = [t for t in state.model.terminals if t.split(".")[0] in ids or t in ends]
        for terminal in terminals:
            reach(state, terminal)
        broke, shocked = _hands_on(state, terminals)
        if shocked:
            return Result({}, f"You put a hand to it and it was live: {remedy.name}.", 1, broke, blocked=True)
    if remedy.needs_empty_tank and state.unit["tank.fill"][0] > 0.02:
        broke.append("flood")
    for check in REPAIR_CHECKS:
        broke += check(state, remedy, ids)
    before = state.switches()
    cure(state.unit, remedy, state.healthy)
    simulation.energise(state.unit)
    if state.switches() != before:
        broke += _powered(state)
    state.repaired.append(remedy.id)
    state.operated = False
    return Result({"remedy": remedy.id}, f"{remedy.name}: done.", remedy.minutes, broke)


@action("make safe")
def _make_safe(state: BenchState, args: dict[str, Any]) -> Result:
    for part in state.model.of_type("mains supply"):
        if state.locked != part:
            state.unit.set(f"{part}.plugged", 0.0)
    gas = state.model.of_type("gas cylinder")
    for part in gas:
        state.unit.set(f"{part}.valve", 0.0)
    done = (["pulled the plug"] if state.model.of_type("mains supply") else []) + (
        ["shut the cylinder"] if gas else []
    )
    did = " and ".join(done).capitalize() or "Stepped back"
    state.stopped = None
    return Result({"positions": state.seen_switches()}, f"{did}, stood back and thought it over.", 10)
