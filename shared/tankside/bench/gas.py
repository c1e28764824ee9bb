"""What hands, eyes, ears and nose do about gas: gauges, soap, the flame, the flue, and lighting by hand.

Local codes, the maker's instructions and licensed practice come first; a simulation is no license to work on gas.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np

from tankside.bench.actions import (
    REPAIR_CHECKS,
    SWITCH_CHECKS,
    Result,
    action,
    known,
    text_of,
)
from tankside.bench.both_measures import both_measures
from tankside.bench.gas_notes import PURGE_MINUTES
from tankside.bench.gas_points import JOINTS, LOOKS, TAPS, GasPoints
from tankside.bench.out_of_reach import out_of_reach
from tankside.bench.reading_words import reading_data, shown
from tankside.bench.state import Array, BenchState
from tankside.errors import BenchError
from tankside.faults.catalogue import Remedy
from tankside.heater import burner, gas, simulation
from tankside.instruments import senses
from tankside.instruments.manometer import PASCAL
from tankside.physics.flame import KINDS
from tankside.physics.leaks import gauge_after_si

EMPTY = 0.02
"""Share of the tank's water below which it counts as empty."""
HOLD = 0.5
"""min that one holds a pilot's button."""
TEST_START = 8.0 * PASCAL["in. WC"]
"""Pa of a timed test on a low-pressure line, and its minutes (from memory: references, section 2)."""
TEST_MINUTES = 3.0
AIR_FREE_LIMIT = 400.0
"""ppm air-free above which a vented burner isn't left on (hvactoday.com; see the limits in ``physics``)."""


def _points(state: BenchState) -> GasPoints:
    if not gas.has_gas(state.unit):
        raise BenchError("This heater has no gas side.")
    return GasPoints(state.unit)


def _reachable(state: BenchState, part: str) -> None:
    place = state.model.places[state.model.parts[part].place]
    if place.cover and place.id not in state.open_covers:
        raise out_of_reach(state.model.parts[part].name, place.name)


def _sees(state: BenchState, sense: senses.Sense, value: Array) -> str:
    """The word for the first variant; the witness hears which word each variant would have given."""
    classes = sense.classes(value)
    state.see_fact(classes)
    return sense.words[int(classes[0])]


@action("sniff")
def _sniff(state: BenchState, args: dict[str, Any]) -> Result:
    """Nose near the floor and along the joints: fuel gas of this kind is heavier than air."""
    points = _points(state)
    place = known("place", text_of(args, "place"), list(state.model.places))
    word = _sees(state, senses.NOSE, points.smell(place))
    state.gas = replace(state.gas, sniffed=(*state.gas.sniffed, (place, state.clock)))
    name = state.model.places[place].name
    where = name[0].upper() + name[1:] if name.startswith("behind ") else f"At {name}"
    return Result({"smell": word}, f"{where}: {word}.", 1)


@action("weigh cylinder")
def _weigh(state: BenchState, args: dict[str, Any]) -> Result:
    _points(state)
    reading = state.see_gauge(
        state.manometer.weight, state.unit["cylinder.mass"] + state.unit["cylinder.tare"]
    )
    tare = float(state.unit["cylinder.tare"][0])
    limit = 0.8 * float(state.unit["cylinder.volume"][0]) * 505.0
    text = (
        f"The cylinder weighs {shown(reading)}. Its collar says {_weight(tare)} empty. Filled to its limit "
        f"it would hold about {_weight(limit)} of fuel."
    )
    return Result({"reading": reading_data(reading), "tare": tare}, text, 3)


def _weight(kilograms: float) -> str:
    return both_measures(kilograms, "kg", f"{kilograms:.1f} kg")


@action("gas pressure")
def _pressure(state: BenchState, args: dict[str, Any]) -> Result:
    """A gauge on a test tap: as the line stands, or (``draw`` "yes") while as much gas as the burner takes is led outdoors."""
    points = _points(state)
    drawn = known("answer to draw", str(args.get("draw", "no")), ["yes", "no"]) == "yes"
    tap = known("test tap", text_of(args, "tap"), list(TAPS))
    where = TAPS[tap]
    _reachable(state, where.part)
    simulation.energise(state.unit)
    points.drawn = drawn
    gauge, value = state.manometer.sees(points, tap, where.high)
    burns = state.see_fact(burner.burns(state.unit).astype(float))
    reading = state.see_gauge(gauge, value)
    state_words = "with the burner on" if burns else "with no burner on"
    if drawn:
        state_words = "with as much gas led outdoors as the burner takes"
    return Result(
        {"reading": reading_data(reading), "burning": bool(burns), "drawn": drawn},
        f"{shown(reading)} {where.words}, {state_words}.",
        3,
    )


@action("look at flame")
def _flame(state: BenchState, args: dict[str, Any]) -> Result:
    """Eyes and ears at the sight hole."""
    _points(state)
    _reachable(state, "burner")
    simulation.energise(state.unit)
    now, burns = burner.fire(state.unit), burner.burns(state.unit)
    kind = state.see_fact(np.where(burns, now.kind + 1, 0.0))
    sound = _sees(state, senses.FLAME_SOUND, np.where(burns, now.noise, 0.0))
    words = ["no main flame" if kind == 0 else f"main flame {KINDS[int(kind) - 1]}", sound]
    if "gas_valve.pilot" in state.unit.values:
        pilot = state.see_fact(state.unit["gas_valve.pilot"])
        words.append("the pilot burns" if pilot else "the pilot is out")
    return Result({"seen": words}, f"At the sight hole: {', '.join(words)}.", 1)


@action("flue gas")
def _flue(state: BenchState, args: dict[str, Any]) -> Result:
    """The analyzer's probe in the flue."""
    _points(state)
    _reachable(state, "flue")
    simulation.energise(state.unit)
    oxygen, _, monoxide, hot, room = burner.stack(state.unit)
    readings = [state.see_gauge(g, v) for g, v in state.analyzer.channels(oxygen, monoxide, hot, room)]
    made = state.analyzer.computes(*readings)
    words = ", ".join(f"{r.function} {shown(r)}" for r in readings)
    if made.dioxide is not None:
        words += f"; computed: CO2 {made.dioxide} %, excess air {made.excess_air:.0f} %, "
        over = made.air_free is None
        words += (
            "no CO air-free and no efficiency: there is more CO than the cell can count"
            if over
            else f"CO air-free {made.air_free:.0f} ppm, efficiency {made.efficiency} %"
        )
        state.gas = replace(state.gas, over_limit=over or (made.air_free or 0.0) > AIR_FREE_LIMIT)
    data = {"readings": [{"reading": reading_data(r)} for r in readings], "air free": made.air_free}
    return Result(data, f"Flue-gas analyzer: {words}.", 5)


@action("room air")
def _room(state: BenchState, args: dict[str, Any]) -> Result:
    """The carbon monoxide cell in the air of the cabin."""
    _points(state)
    value = np.minimum(1e6 * state.unit["burner.room_co"], 1e4)
    reading = state.see_gauge(state.analyzer.monoxide, value)
    return Result(
        {"reading": reading_data(reading)}, f"Carbon monoxide in the cabin's air: {shown(reading)}.", 1
    )


@action("altitude")
def _altitude(state: BenchState, args: dict[str, Any]) -> Result:
    _points(state)
    reading = state.see_gauge(state.manometer.altitude, np.maximum(state.unit["burner.altitude"], 0.0))
    chosen = state.see_fact(state.unit["orifice.made_for"])
    suits = both_measures(chosen, "m", f"{chosen:.0f} m")
    text = (
        f"The heater stands at {shown(reading)} above the sea. Its label says that the orifice suits {suits}."
    )
    return Result({"reading": reading_data(reading), "made for": chosen}, text, 1)


@action("soap test")
def _soap(state: BenchState, args: dict[str, Any]) -> Result:
    """Soap solution on a joint, with pressure in the line."""
    points = _points(state)
    part = known("joint", text_of(args, "part"), list(JOINTS))
    _reachable(state, part)
    simulation.energise(state.unit)
    word = _sees(state, senses.BUBBLES, points.escapes(part))
    if points.under_pressure(part)[0]:
        state.gas = replace(state.gas, opened=state.gas.opened - {part})
    return Result({"bubbles": word}, f"Soap on {JOINTS[part]}: {word}.", 2)


@action("leak test")
def _leak_test(state: BenchState, args: dict[str, Any]) -> Result:
    """Shut the cylinder, bring the line to 8 in. WC, and watch the gauge for three minutes."""
    points = _points(state)
    _reachable(state, "gas_valve")
    unit = state.unit
    before = unit["cylinder.valve"].copy()
    start, leak = points.closed_line(TEST_START)
    end = gauge_after_si(np.maximum(start, 1.0), leak, gas.line_volume(unit), TEST_MINUTES * 60)
    gauge = state.manometer.low
    one = state.see_gauge(gauge, start / PASCAL["in. WC"])
    two = state.see_gauge(gauge, np.where(start > 1.0, end, 0.0) / PASCAL["in. WC"])
    unit.set("cylinder.valve", 0.0)
    if "gas_valve.pilot" in unit.values:
        unit.set("gas_valve.pilot", 0.0)
    simulation.energise(unit)
    unit.set("cylinder.valve", before)
    held = (
        one.value is not None and two.value is not None and one.value > 6.0 and two.value >= one.value - 0.2
    )
    if held:
        state.gas = replace(state.gas, opened=state.gas.opened - {"hose", "gas_cock"})
    verdict = (
        "It holds."
        if held
        else "It does not hold."
        if (one.value or 0) > 0.5
        else "There is no pressure to test with."
    )
    after = "Opened the cylinder again as it was" if before[0] > 0.0 else "The cylinder stays shut, as it was"
    text = (
        f"Cylinder shut, line closed: {shown(one)} at the start, {shown(two)} after {TEST_MINUTES:g} min. {verdict} "
        f"{after}{'; the pilot is out' if 'gas_valve.pilot' in unit.values else ''}."
    )
    return Result({"readings": [{"reading": reading_data(r)} for r in (one, two)], "holds": held}, text, 8)


@action("inspect")
def _inspect(state: BenchState, args: dict[str, Any]) -> Result:
    """Look at a part of the gas side closely. For the orifice and the burner tube the burner comes out."""
    points = _points(state)
    part = known("part to inspect", text_of(args, "part"), list(LOOKS))
    _reachable(state, part)
    look = LOOKS[part]
    broke = [] if not look.apart or shut_off(state, part) else ["gas-not-shut"]
    if broke:
        text = f"You loosened the fitting at the {state.model.parts[part].name} with gas behind it."
        return Result({}, text, 1, broke, blocked=True)
    words = [_sees(state, sense, points.value(key)) for key, sense in look.senses]
    readings = [state.see_gauge(gauge, points.value(key)) for key, gauge in look.gauges]
    words += [f"{r.function} {shown(r)}" for r in readings]
    if look.apart:
        state.gas = replace(state.gas, opened=state.gas.opened | {"orifice"})
    data = {"seen": words, "readings": [{"reading": reading_data(r)} for r in readings]}
    return Result(data, f"{state.model.parts[part].name.capitalize()}: {', '.join(words)}.", look.minutes)


def shut_off(state: BenchState, part: str) -> bool:
    """True if no gas stands behind a part: the cylinder is shut, or the cock before it."""
    if part in ("cylinder", "regulator", "hose", "gas_cock"):
        return not state.flag("cylinder.valve")
    return not state.flag("cylinder.valve") or not state.flag("gas_cock.open")


@action("light")
def _light(state: BenchState, args: dict[str, Any]) -> Result:
    """Light the pilot: hold the button, bring the flame, hold on, let go."""
    points = _points(state)
    if gas.part(state.unit, "hand gas valve") is None:
        raise BenchError("This heater lights by itself.")
    _reachable(state, "gas_valve")
    unit = state.unit
    if state.flag("gas_valve.pilot"):
        raise BenchError("The pilot burns already.")
    if not state.flag("gas_valve.knob"):
        raise BenchError("The heater's gas valve is off. Switch it on first.")
    broke = before_flame(state, points)
    if set(BLOCKED) & set(broke):
        return Result({}, refused(broke), 1, broke, blocked=True)
    unit.set("gas_valve.pilot", 1.0)
    flow = gas.line(unit, unit["gas_valve.pilot_flow"])
    gone = flow.burner * HOLD * 60 / gas.line_volume(unit)
    unit.values["hose.air"] = np.maximum(unit["hose.air"] - gone, 0.0)
    simulation.energise(unit)
    lit = bool(state.see_fact(unit["gas_valve.pilot"]))
    state.gas = replace(state.gas, out_at=None if lit else state.clock + 1 + HOLD)
    main = bool(state.see_fact(burner.burns(unit).astype(float)))
    text = "The pilot lit and stayed." if lit else "The pilot did not light, or did not stay."
    if lit:
        text += " The main burner came on." if main else " The main burner stayed off."
    return Result({"pilot": lit, "main": main}, text, 1 + HOLD, broke)


def refused(broke: list[str]) -> str:
    """What was about to happen, in a sentence."""
    if "lit-in-smell" in broke:
        return "You struck a light where gas can be smelt."
    return "You went to light the burner under an empty tank."


def before_flame(state: BenchState, points: GasPoints) -> list[str]:
    """The rules that bringing a flame to the burner breaks now, by hand or by a spark."""
    place = state.model.parts["burner"].place
    broke = []
    if not state.gas.fresh(place, state.clock):
        broke.append("no-sniff")
    if senses.NOSE.classes(points.smell(place))[0] > 0:
        broke.append("lit-in-smell")
    if state.gas.out_at is not None and state.clock - state.gas.out_at < PURGE_MINUTES:
        broke.append("relight-unpurged")
    if state.gas.opened & _LINE:
        broke.append("no-leak-test")
    if state.gas.over_limit:
        broke.append("relit-over-limit")
    return broke + dry_burner(state)


def dry_burner(state: BenchState) -> list[str]:
    """The rule that a flame under the tank breaks while no water is in it."""
    return ["dry-burner"] if state.unit["tank.fill"][0] <= EMPTY else []


BLOCKED = ("lit-in-smell", "dry-burner")
"""What keeps a flame from being lit at all; the others are noted, and lighting goes on."""


@action("search with flame")
def _search(state: BenchState, args: dict[str, Any]) -> Result:
    _points(state)
    return Result({}, "You went to look for the leak with a lighter.", 1, ["flame-search"], blocked=True)


_LINE = frozenset(("cylinder", "hose", "gas_cock"))
"""Joints that can be tested before there is a flame; the orifice's thread has gas only while the burner runs."""
_OPENS = ("gas cylinder", "gas regulator", "gas hose", "gas cock", "hand gas valve", "gas orifice", "burner")
_JOINT = {"regulator": "cylinder", "gas_valve": "gas_cock", "burner": "orifice"}


def _repair_check(state: BenchState, remedy: Remedy, parts: list[str]) -> list[str]:
    """Hands on the gas side: the gas is off, and what was opened must be proven tight before a flame."""
    touched = [part for part in parts if state.model.parts[part].type in _OPENS]
    if not touched or not gas.has_gas(state.unit):
        return []
    state.gas = replace(state.gas, over_limit=False)
    if not remedy.opens_gas:
        return []
    opened = state.gas.opened | {_JOINT.get(part, part) for part in touched}
    state.gas = replace(state.gas, opened=frozenset(opened & set(JOINTS)))
    return [] if all(shut_off(state, part) for part in touched) else ["gas-not-shut"]


REPAIR_CHECKS.append(_repair_check)


def _switch_check(state: BenchState, part: str) -> list[str]:
    """Switching spark ignition on is bringing a flame to the burner."""
    if state.model.parts[part].type != "12 V panel switch":
        return []
    if not gas.has_gas(state.unit):
        return dry_burner(state)
    simulation.energise(state.unit)
    return [rule for rule in before_flame(state, GasPoints(state.unit)) if rule != "no-sniff"]


SWITCH_CHECKS.append(_switch_check)
