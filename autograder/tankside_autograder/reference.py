"""The reference technician: works a call-out safely and to the end, and writes the service report.

It sees what a learner sees: the bench's view, the readings, the list of faults. After each
observation it asks ``tankside.diagnosis`` which faults are still possible, and goes on with the
survey until one is left. The answers in the labs' solution regions are its answers.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from tankside.bench import Bench, Outcome
from tankside.bench.actions import proof_pairs
from tankside.bench.bench import perform
from tankside.diagnosis.candidates import Follower, remedies_of
from tankside.diagnosis.survey import Step, element_pairs, survey
from tankside.errors import BenchError
from tankside.faults.catalogue import Remedy, fault_named, remedies
from tankside.figures import OPEN_ABOVE
from tankside.heater.model import HeaterModel, load_model
from tankside.labs import Lab
from tankside.report import LABELS
from tankside.units import significant
from tankside.workorder import WorkOrder

TOO_HOT = 48.0
"""°C at the tap under which draining scalds nobody."""
POWER_OFF = ("switch", "lock out")


@dataclass
class Technician:
    """One call-out being worked. ``left`` are the faults that what was seen still allows."""

    bench: Bench
    lab: Lab
    evidence: list[int] = field(default_factory=list)
    shown: dict[tuple[str, str, str], dict[str, Any]] = field(default_factory=dict)
    """First reading of (function, red, black)."""

    def __post_init__(self) -> None:
        self.model: HeaterModel = load_model(self.bench.order.model)
        self._follower = Follower(self.bench.order)
        self._follower.after(0)

    @property
    def left(self) -> tuple[str, ...]:
        """The faults still possible."""
        return self._follower.candidates.now

    def do(self, verb: str, **args: Any) -> Outcome:
        """One action at the bench. A line that narrows the faults down is kept as evidence."""
        outcome = self.bench.do(verb, **args)
        perform(self._follower.state, verb, args)
        before = self.left
        self._follower.after(outcome.entry["seq"])
        if len(self.left) < len(before):
            self.evidence.append(outcome.entry["seq"])
        if verb == "probe":
            key = (str(outcome.readings[0]["function"]), str(args["red"]), str(args["black"]))
            self.shown.setdefault(key, outcome.readings[0])
        return outcome

    def try_to(self, verb: str, **args: Any) -> None:
        """One action, or nothing where this heater's state rules it out."""
        try:
            self.do(verb, **args)
        except BenchError:
            return

    def known(self) -> bool:
        """True once a single fault is left."""
        return len(self.left) <= 1

    def view(self, key: str) -> Any:
        """A part of what the bench's screen shows."""
        return self.bench.view()[key]


def solve(order: WorkOrder, lab: Lab, log: Path | None = None) -> tuple[list[str], dict[str, str]]:
    """Work an order to the end.

    Parameters
    ----------
    log : where the bench writes its log; nowhere by default

    Returns
    -------
    (log lines, answers)
        The bench log as JSON lines, and label -> text for every label that the lab's answer cells hold.
    """
    bench = Bench(order, log)
    answers = work(bench, lab)
    return [json.dumps(entry, ensure_ascii=False) for entry in bench.entries], answers


def work(bench: Bench, lab: Lab) -> dict[str, str]:
    """Work the order of a fresh bench to the end; the answers, label -> text."""
    me = Technician(bench, lab)
    steps = list(survey(me.model))
    start = next(i for i, (verb, _) in enumerate(steps) if verb in POWER_OFF)
    _walk(me, steps[:start], lambda: me.known() and not _wanting(me, "V~"))
    _isolate(me)
    ohms = next(i for i, (verb, _) in enumerate(steps) if verb == "meter" and i > start)
    if not me.known() or _wanting(me, "Ω"):
        _walk(me, steps[ohms:], me.known)
        _measure_element(me)
    found = _verdict(me)
    remedy = remedies()[fault_named(found).remedy]
    condition = _put_right(me, remedy)
    return _answers(me, found, remedy, condition)


def _walk(me: Technician, steps: Iterable[Step], enough: Callable[[], bool]) -> None:
    """Step by step until that is enough."""
    for verb, args in steps:
        if enough():
            return
        me.try_to(verb, **args)


def _measure_element(me: Technician) -> None:
    """The ohms that the lab asks for and the search didn't need: leads lifted, tank full."""
    pairs = [pair for f in me.lab.figure if (pair := _pair(me, f.source)) and pair[0] == "Ω"]
    if all(pair in me.shown for pair in pairs):
        return
    for wire in me.view("wires"):
        if wire["liftable"] and not wire["lifted"]:
            _prove_dead(me, me.bench.state.place_of(wire[wire["lifts_at"]]))
            me.do("lift lead", wire=wire["id"])
    if me.view("meter")["function"] != "Ω":
        me.do("meter", function="Ω")
    if not me.bench.state.meter.zeroed:
        me.do("zero leads")
    for _, red, black in pairs:
        if ("Ω", red, black) not in me.shown:
            me.do("probe", red=red, black=black)


def _isolate(me: Technician) -> None:
    """Breaker off, plug out, lock on; then live, dead, live wherever a cover is off, or at the element."""
    positions = {s["id"]: s["position"] for s in me.view("switches")}
    for part in me.model.of_type("breaker"):
        if positions[part] == "on":
            me.do("switch", part=part, position="off")
    for part in me.model.of_type("mains supply"):
        me.do("switch", part=part, position="out")
        me.do("lock out", part=part)
    opened = [p["id"] for p in me.view("places") if p["cover"] and p["open"]]
    for place in opened or [me.model.parts[e].place for e in me.model.of_type("element")]:
        _prove_dead(me, place)


def _prove_dead(me: Technician, place: str) -> None:
    state = me.bench.state
    if place not in state.open_covers and me.model.places[place].cover:
        me.do("open cover", place=place)
    if proof_pairs(state, place) and place not in state.dead_places:
        me.do("prove dead", place=place)


def _verdict(me: Technician) -> str:
    """The fault that is left. Where the meters can't part the last ones, all need the same repair: the first."""
    if not me.left:
        raise BenchError(f"What the bench showed on {me.bench.order.order} fits none of the lab's faults.")
    if len(remedies_of(me.left)) > 1:
        raise BenchError(f"The survey of {me.bench.order.order} leaves more than one repair.")
    return me.left[0]


def _put_right(me: Technician, remedy: Remedy) -> str:
    """Repair, put back, run it. The condition in which the heater is left."""
    if remedy.other_trade:
        _put_back(me)
        return "locked out and reported"
    if remedy.needs_empty_tank:
        _cool(me)
        if me.view("water")["fraction"] > 0.02:
            me.do("drain")
    if remedy.hands_on:
        kinds = {on.rpartition(".")[0] for on in remedy.renews}
        for part, record in me.model.parts.items():
            if record.type in kinds or f"@{part}" in kinds:
                _prove_dead(me, record.place)
    me.do("repair", remedy=remedy.id)
    _put_back(me)
    me.do("unlock")
    _power_up(me)
    if not me.do("prove operation").entry["result"]["heats"]:
        # The tank is hot and the thermostat rests: let cold water in and look again.
        me.do("run tap", minutes=15)
        me.do("prove operation")
    return "in service"


def _put_back(me: Technician) -> None:
    """Leads on, tank full, covers on."""
    for wire in me.view("wires"):
        if wire["lifted"]:
            me.do("land lead", wire=wire["id"])
    if me.view("water")["fraction"] < 0.98:
        me.do("fill")
    for place in me.view("places"):
        if place["cover"] and place["open"]:
            me.do("close cover", place=place["id"])


def _power_up(me: Technician) -> None:
    """Plug in, then everything on, from the supply to the heater."""
    first = me.model.of_type("mains supply")
    for switch in sorted(me.view("switches"), key=lambda s: s["id"] not in first):
        on, off = switch["positions"]
        if switch["position"] == "tripped":
            me.do("switch", part=switch["id"], position=off)
        if switch["position"] != on:
            me.do("switch", part=switch["id"], position=on)


def _cool(me: Technician) -> None:
    """Run the tap until draining scalds nobody."""
    for _ in range(6):
        if me.view("water")["fraction"] < 0.98:
            return
        if me.do("temperature").entry["result"]["temperature"] < TOO_HOT:
            return
        me.do("run tap", minutes=10)


_VOLTS = {
    "supply hot to neutral": ("hot", "neutral"),
    "supply hot to ground": ("hot", "ground"),
    "supply neutral to ground": ("neutral", "ground"),
    "plate power at the measured voltage": ("hot", "neutral"),
}


def _pair(me: Technician, source: str) -> tuple[str, str, str] | None:
    """Function and terminals that a figure is measured with; None for what the plate alone gives."""
    if source in _VOLTS:
        supply = me.model.of_type("mains supply")[0]
        a, b = _VOLTS[source]
        return "V~", f"{supply}.{a}", f"{supply}.{b}"
    pairs = list(element_pairs(me.model))
    if source == "element resistance":
        return ("Ω", *pairs[0])
    if source == "element to tank":
        return ("Ω", *pairs[1])
    return None


def _wanting(me: Technician, function: str) -> bool:
    """True while a figure that the lab asks for is still unmeasured."""
    pairs = [_pair(me, figure.source) for figure in me.lab.figure]
    return any(pair and pair[0] == function and pair not in me.shown for pair in pairs)


def written(reading: dict[str, Any]) -> str:
    """A reading as one writes it into an answer cell: tens of megohms are no circuit, so they are "open"."""
    if reading["value"] is None or (reading["function"] == "Ω" and reading["value"] > OPEN_ABOVE):
        return "open"
    unit = {"Ω": "ohm", "kΩ": "kohm", "MΩ": "megohm"}.get(reading["unit"], reading["unit"])
    return f"{reading['digits']} {unit}"


def _figure(me: Technician, source: str) -> str:
    """One figure of the service report, from the plate and what the meter showed."""
    plate = me.model.plate
    watts = me.model.number("plate.wattage", plate.wattage, "W")
    volts = me.model.number("plate.voltage", plate.voltage, "V")
    if source == "plate current":
        return f"{significant(watts / volts)} A"
    if source == "plate resistance":
        return f"{significant(volts**2 / watts)} ohm"
    pair = _pair(me, source)
    if pair is None or pair not in me.shown:
        raise BenchError(f"The reference technician doesn't know how to measure {source!r}.")
    reading = me.shown[pair]
    if source == "plate power at the measured voltage":
        return f"{watts * (reading['value'] / volts) ** 2:.0f} W"
    return written(reading)


def _answers(me: Technician, found: str, remedy: Remedy, condition: str) -> dict[str, str]:
    """Every label of the lab's answer cells, in their order."""
    out = {figure.label: _figure(me, figure.source) for figure in me.lab.figure}
    out[LABELS["diagnosis"]] = fault_named(found).name
    out[LABELS["evidence"]] = ", ".join(str(line) for line in me.evidence) or "1"
    out[LABELS["remedy"]] = remedy.name
    out[LABELS["condition"]] = condition
    return out
