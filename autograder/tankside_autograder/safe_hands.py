"""Hands that think before they act: what an action would break or lack is put right first, then it is done.

Nothing here knows a lab or a fault. Before each action it is tried in one's head, on a copy of the bench. A rule that
it would break says what to do first (``PREPARES``); a cover that is in the way comes off. What can't be done safely
isn't done: ``BenchError``.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from typing import Any

from tankside.bench import Bench, Outcome
from tankside.bench.bench import perform
from tankside.bench.gas_notes import PURGE_MINUTES
from tankside.bench.rules import RULES
from tankside.bench.state import Witness
from tankside.bench.where_to_prove import proof_pairs
from tankside.errors import BenchError
from tankside.faults.catalogue import Remedy, remedies
from tankside.heater.model import HeaterModel, load_model

TOO_HOT = 48.0
"""°C at the tap under which draining scalds nobody."""
AIRING = 10.0
"""min with the gas shut and the doors open before one smells again (ours)."""
_MOST = 12
"""Preparations after which an action is given up."""
GAS_KNOBS = ("pilot gas valve", "hand gas valve")


class _Asked(set[str]):
    """Covers that are off, remembering which place was asked for and is closed."""

    def __init__(self, places: Iterable[str]) -> None:
        super().__init__(places)
        self.missing: list[str] = []

    def __contains__(self, place: object) -> bool:
        found = super().__contains__(place)
        if not found:
            self.missing.append(str(place))
        return found


class SafeHands:
    """A technician's hands at a bench. ``after`` hears of every action that was done, with its outcome."""

    def __init__(self, bench: Bench) -> None:
        self.bench = bench
        self.model: HeaterModel = load_model(bench.order.model)

    # What one does -------------------------------------------------------------------------------------------

    def do(self, verb: str, witness: Witness | None = None, **args: Any) -> Outcome:
        """One action as it is."""
        self.bench.state.witness = witness
        try:
            outcome = self.bench.do(verb, **args)
        finally:
            self.bench.state.witness = None
        self.after(verb, args, outcome)
        return outcome

    def after(self, verb: str, args: dict[str, Any], outcome: Outcome) -> None:
        """What there is to note after each action."""

    def prepare(self, verb: str, **args: Any) -> None:
        """Do what the action needs first. ``BenchError`` if it can't be made safe, or can't be done on this heater."""
        tried: list[str] = []
        for _ in range(_MOST):
            rule, cover, refused = self._in_mind(verb, args)
            if cover:
                self.do("open cover", place=cover)
            elif refused:
                raise refused
            elif rule is None:
                return
            elif tried.count(rule) > 1 or rule not in PREPARES:
                raise BenchError(f"That can't be done safely: {RULES[rule].name}.")
            else:
                tried.append(rule)
                PREPARES[rule](self, verb, args)
        raise BenchError(f"That can't be done safely: {verb}.")

    def safely(self, verb: str, witness: Witness | None = None, **args: Any) -> Outcome:
        """One action, after what it needs."""
        if verb == "meter" and self.bench.state.function == args.get("function"):
            return Outcome({}, "", [], None)
        if verb == "zero leads" and self.bench.state.meter.zeroed:
            return Outcome({}, "", [], None)
        self.prepare(verb, **args)
        return self.do(verb, witness, **args)

    def try_to(self, verb: str, **args: Any) -> Outcome | None:
        """The same, or nothing where this heater's state rules it out."""
        try:
            return self.safely(verb, **args)
        except BenchError:
            return None

    def _in_mind(self, verb: str, args: dict[str, Any]) -> tuple[str | None, str | None, BenchError | None]:
        """The first rule that the action would break, the cover that is in its way, what else keeps it from being done."""
        twin = self.bench.state.snapshot()
        twin.witness = None
        twin.open_covers = covers = _Asked(self.bench.state.open_covers)
        try:
            broke = perform(twin, verb, args).broke
        except BenchError as error:
            closed = [p for p in covers.missing if p in self.model.places and self.model.places[p].cover]
            return None, closed[-1] if closed and verb != "open cover" else None, error
        return (broke[0] if broke else None), None, None

    # What one sees -------------------------------------------------------------------------------------------

    def view(self, key: str) -> Any:
        """A part of what the bench's screen shows."""
        return self.bench.view()[key]

    def full(self) -> bool:
        """True while the tank is full."""
        return float(self.bench.state.unit["tank.fill"][0]) > 0.98

    def empty(self) -> bool:
        """True once the tank is drained."""
        return float(self.bench.state.unit["tank.fill"][0]) < 0.02

    def switches(self, *kinds: str) -> Iterator[str]:
        """The switches of these types, in the model's order."""
        for part, kind in self.model.types.items():
            if kind.positions and kind.name in kinds:
                yield part

    def position(self, part: str) -> str:
        """Where a switch stands; the hand that moves it sees it."""
        return self.bench.state.switches()[part]

    def normally(self, part: str) -> bool:
        """Whether a switch is on, or a valve open, on a heater in service: a winter bypass is shut."""
        kind = self.model.types[part]
        return self.model.nominal.get(f"{part}.{kind.moves}", kind.states.get(kind.moves, 1.0)) > 0

    def set_to(self, part: str, on: bool) -> None:
        """Move a switch, if it isn't there already; a tripped breaker goes off first."""
        made, broken = self.model.types[part].positions
        wanted, stands = (made if on else broken), self.position(part)
        if stands == wanted:
            return
        if stands == "tripped" and on:
            self.safely("switch", part=part, position=broken)
        self.safely("switch", part=part, position=wanted)

    # Making safe -----------------------------------------------------------------------------------------------

    def isolate(self) -> None:
        """Breaker off, plug out, lock on; the 12 V side and the gas valve's knob off."""
        for part in self.switches("breaker"):
            if self.bench.state.locked != part:
                self.set_to(part, False)
        for part in self.switches("mains supply"):
            if self.bench.state.locked is None:
                self.set_to(part, False)
                self.safely("lock out", part=part)
        for part in self.switches("12 V panel switch", *GAS_KNOBS):
            self.set_to(part, False)

    def prove_dead(self, place: str) -> None:
        """Live, dead, live at a place, once."""
        state = self.bench.state
        if proof_pairs(state, place) and place not in state.dead_places:
            self.safely("prove dead", place=place)

    def shut_gas(self) -> None:
        """The cylinder shut."""
        for part in self.switches("gas cylinder"):
            self.set_to(part, False)

    def open_gas(self) -> None:
        """The cylinder and the cock open."""
        for part in self.switches("gas cylinder", "gas cock"):
            self.set_to(part, True)

    def cool(self) -> None:
        """Run the tap until draining scalds nobody; wait where running it doesn't cool the tank."""
        before = float("inf")
        for _ in range(24):
            now = self.do("temperature").entry["result"]["temperature"] if self.full() else 0.0
            if now < TOO_HOT:
                return
            if before - now > 1.0 or before == float("inf"):
                self.do("run tap", minutes=10)
            else:
                self.do("wait", minutes=120)
            before = now

    def drain(self) -> None:
        """Everything off, the water cooled, the tank drained."""
        self.isolate()
        if not self.empty():
            self.cool()
            self.safely("drain")

    def fill(self) -> None:
        """The tank filled."""
        if not self.full():
            self.safely("fill")

    def land(self) -> None:
        """Every lead that is off put back."""
        for wire in self.view("wires"):
            if wire["lifted"]:
                self.safely("land lead", wire=wire["id"])

    def test_joints(self) -> None:
        """Soap, or a timed test, on every joint that was opened and is under pressure while nothing burns."""
        self.open_gas()
        for joint in sorted(self.bench.state.gas.opened - {"orifice"}):
            self.safely("soap test", part=joint)
        if self.bench.state.gas.opened - {"orifice"}:
            self.safely("leak test")

    def smell(self) -> None:
        """A nose at the burner."""
        self.do("sniff", place=self.model.parts[self.model.of_type("burner")[0]].place)

    def _touched(self, verb: str, args: dict[str, Any]) -> list[str]:
        """The places where an action brings hands to conductors."""
        if verb == "repair":
            return touched_places(self.model, remedies()[args["remedy"]])
        if verb in ("lift lead", "land lead"):
            wire = self.model.wires[args["wire"]]
            return [self.bench.state.place_of(wire.to if wire.lifts_at == "to" else wire.from_)]
        return sorted(self.bench.state.open_covers)


def touched_places(model: HeaterModel, remedy: Remedy) -> list[str]:
    """Where hands go to for a repair: its parts, and both ends of its wires."""
    on = {name.rpartition(".")[0] for name in remedy.renews}
    parts = {part for part, record in model.parts.items() if record.type in on or f"@{part}" in on}
    for wire in model.wires.values():
        if f"@{wire.id}" in on:
            parts |= {wire.from_.split(".")[0], wire.to.split(".")[0]}
    return list(dict.fromkeys(record.place for part, record in model.parts.items() if part in parts))


def _prove(hands: SafeHands, verb: str, args: dict[str, Any]) -> None:
    for place in hands._touched(verb, args):
        hands.prove_dead(place)


def _air(hands: SafeHands, verb: str, args: dict[str, Any]) -> None:
    """What hangs about from a start that failed is aired out; where it still smells then, nobody lights."""
    hands.do("wait", minutes=AIRING)
    hands.smell()


def _purge(hands: SafeHands, verb: str, args: dict[str, Any]) -> None:
    hands.do("wait", minutes=PURGE_MINUTES)
    hands.smell()


Prepare = Callable[[SafeHands, str, dict[str, Any]], object]
PREPARES: dict[str, Prepare] = {
    "hands-on-live": lambda hands, verb, args: hands.isolate(),
    "no-lock-out": lambda hands, verb, args: hands.isolate(),
    "not-proven-dead": _prove,
    "ohms-on-live": lambda hands, verb, args: hands.isolate(),
    "lifted-live-12v": lambda hands, verb, args: hands.isolate(),
    "dry-fire": lambda hands, verb, args: hands.fill() if verb == "switch" else hands.isolate(),
    "dry-burner": lambda hands, verb, args: hands.fill(),
    "scald": lambda hands, verb, args: hands.cool(),
    "flood": lambda hands, verb, args: hands.drain(),
    "under-pressure": lambda hands, verb, args: hands.drain(),
    "energised-open": lambda hands, verb, args: hands.land(),
    "lit-in-smell": _air,
    "relight-unpurged": _purge,
    "gas-not-shut": lambda hands, verb, args: hands.shut_gas(),
    "no-sniff": lambda hands, verb, args: hands.smell(),
    "no-leak-test": lambda hands, verb, args: hands.test_joints(),
}
"""What to do first when an action would break a rule. A rule that isn't here is never a matter of preparation: what breaks
it isn't done (a safety device bridged, a relief valve plugged, a flame lit over too much carbon monoxide)."""
