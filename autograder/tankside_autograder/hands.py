"""A pair of hands at the bench: the moves that simulated technicians are made of.

They see only what a learner sees: the bench's view, the readings that come back, the lists of faults and remedies.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from typing import Any

from tankside.bench import Bench, Outcome
from tankside.errors import BenchError, TanksideError
from tankside.faults.catalogue import fault_named, remedies
from tankside.labs import Lab
from tankside.report import LABELS


@dataclass(frozen=True)
class Seen:
    """One meter reading: the log line, the number (None for no number), the unit, and the digits shown."""

    seq: int
    value: float | None
    unit: str
    digits: str

    @property
    def base(self) -> float | None:
        """The number in volts or ohms: what the log keeps, whatever unit the digits were shown in."""
        return self.value

    @property
    def answer(self) -> str:
        """As one writes it into a service report."""
        if self.value is None:
            return "open"
        unit = {"Ω": "ohm", "kΩ": "kohm", "MΩ": "megohm"}.get(self.unit, self.unit)
        return f"{self.digits} {unit}"


@dataclass
class Hands:
    """A technician at a bench: does things, and remembers what the meter showed."""

    bench: Bench
    lab: Lab
    readings: dict[tuple[str, str, str], Seen] = field(default_factory=dict)
    watch: Callable[[str, dict[str, Any]], None] | None = None
    evidence: list[int] = field(default_factory=list)

    def do(self, verb: str, **args: Any) -> Outcome | None:
        """One action; None when the bench won't do it."""
        try:
            outcome = self.bench.do(verb, **args)
        except (BenchError, TanksideError):
            return None
        if self.watch:
            self.watch(verb, args)
        return outcome

    def probe(self, red: str, black: str) -> Seen | None:
        """Both leads on; what the meter shows is remembered."""
        outcome = self.do("probe", red=red, black=black)
        if outcome is None or not outcome.readings:
            return None
        data = outcome.readings[0]
        seen = Seen(outcome.entry["seq"], data["value"], data["unit"], data["digits"])
        self.readings[(data["function"], red, black)] = seen
        return seen

    def read(self, function: str, red: str, black: str) -> Seen | None:
        """The newest reading of that pair, whichever way round the leads were."""
        return self.readings.get((function, red, black)) or self.readings.get((function, black, red))

    def volts(self, red: str, black: str) -> float:
        """The newest volts of that pair; 0 when it wasn't measured."""
        seen = self.read("V~", red, black)
        return seen.base or 0.0 if seen else 0.0

    def parts(self, kind: str) -> list[str]:
        """Ids of the parts of that kind."""
        return [part["id"] for part in self.bench.view()["parts"] if part["type"] == kind]

    def part(self, kind: str) -> str:
        """The first part of that kind."""
        return self.parts(kind)[0]

    def contacts(self) -> list[str]:
        """Every part that opens and closes a circuit, from the supply on."""
        found = [p for p in self.bench.view()["parts"] if {t["id"].split(".")[1] for t in p["terminals"]} == {"line", "load"}]
        return [p["id"] for p in found]

    def positions(self) -> dict[str, str]:
        """Where every switch stands that no cover hides."""
        return {s["id"]: s["position"] for s in self.bench.view()["switches"] if s["position"]}

    def covered(self) -> list[str]:
        """Places with a cover."""
        return [p["id"] for p in self.bench.view()["places"] if p["cover"]]

    def plate(self) -> tuple[float, float]:
        """Watts and volts of the data plate."""
        lines = dict(self.bench.view()["order"]["plate"])
        watts = next(v for v in lines.values() if v.endswith(" W"))
        volts = next(v for v in lines.values() if v.endswith(" V"))
        return float(watts.split()[0]), float(volts.split()[0])


def outside(hands: Hands) -> None:
    """Look, prove the meter, measure at the supply."""
    supply = hands.part("mains supply")
    hands.do("look")
    hands.do("meter", function="V~")
    hands.do("prove meter")
    for a, b in (("hot", "neutral"), ("hot", "ground"), ("neutral", "ground")):
        hands.probe(f"{supply}.{a}", f"{supply}.{b}")


def live_pairs(hands: Hands) -> Iterator[tuple[str, str]]:
    """Where to measure volts with the covers off: every splice, contact and load."""
    for contact in hands.contacts():
        yield f"{contact}.line", f"{contact}.load"
    for box in hands.parts("splice box"):
        yield f"{box}.hot_in", f"{box}.neutral_in"
        yield f"{box}.hot_in", f"{box}.hot_out"
        yield f"{box}.neutral_in", f"{box}.neutral_out"
    for element in hands.parts("element"):
        yield f"{element}.1", f"{element}.2"


def measure_live(hands: Hands) -> None:
    """Volts everywhere, covers off, hands off."""
    for place in hands.covered():
        hands.do("open cover", place=place)
    hands.do("look")
    for red, black in live_pairs(hands):
        hands.probe(red, black)


def isolate(hands: Hands, prove: bool = True) -> None:
    """Breaker off, plug out, lock on, live-dead-live."""
    breaker, supply = hands.part("breaker"), hands.part("mains supply")
    hands.do("switch", part=breaker, position="off")
    hands.do("switch", part=supply, position="out")
    hands.do("lock out", part=supply)
    for place in hands.covered() if prove else ():
        hands.do("open cover", place=place)
        hands.do("prove dead", place=place)


def measure_dead(hands: Hands) -> None:
    """Ohms of the element, its leads lifted."""
    element, tank = hands.part("element"), hands.part("tank")
    hands.do("meter", function="Ω")
    hands.do("zero leads")
    for wire in hands.bench.view()["wires"]:
        if wire["liftable"] and element in (wire["from"].split(".")[0], wire["to"].split(".")[0]):
            hands.do("lift lead", wire=wire["id"])
    hands.probe(f"{element}.1", f"{element}.2")
    hands.probe(f"{element}.1", f"{tank}.shell")
    hands.probe(f"{element}.2", f"{tank}.shell")


def repair(hands: Hands, fault: str, prove: bool = True) -> str:
    """Carry out the remedy, put everything back, run it. The condition in which the heater is left."""
    remedy = remedies()[fault_named(fault).remedy]
    if remedy.other_trade:
        put_back(hands)
        return "locked out and reported"
    if remedy.needs_empty_tank:
        cool(hands)
        hands.do("drain")
    hands.do("repair", remedy=remedy.id)
    put_back(hands)
    hands.do("unlock")
    for part, position in hands.positions().items():
        on = next(s["positions"][0] for s in hands.bench.view()["switches"] if s["id"] == part)
        if position != on:
            hands.do("switch", part=part, position="off" if position == "tripped" else on)
            hands.do("switch", part=part, position=on)
    if prove:
        heats = hands.do("prove operation")
        if heats is not None and not heats.entry["result"].get("heats"):
            # A hot tank hides whether it heats: let some out and try again.
            hands.do("run tap", minutes=10)
            hands.do("prove operation")
    return "in service"


def put_back(hands: Hands) -> None:
    """Leads on, tank full, covers on."""
    for wire in hands.bench.view()["wires"]:
        if wire["lifted"]:
            hands.do("land lead", wire=wire["id"])
    if hands.bench.view()["water"]["fraction"] < 0.98:
        hands.do("fill")
    for place in hands.bench.view()["places"]:
        if place["cover"] and place["open"]:
            hands.do("close cover", place=place["id"])


def cool(hands: Hands) -> None:
    """Run the tap until nobody is scalded by draining."""
    for _ in range(6):
        seen = hands.do("temperature")
        if seen is None or seen.entry["result"]["temperature"] < 48:
            return
        hands.do("run tap", minutes=10)


KNOWN_FIGURES = frozenset((
    "plate resistance", "plate current", "element resistance", "element to tank", "supply hot to neutral",
    "supply hot to ground", "supply neutral to ground", "plate power at the measured voltage",
))  # fmt: skip
"""The figure sources that ``figures`` can answer."""


def figures(hands: Hands) -> dict[str, str]:
    """The lab's figures, from the plate and from what the meter showed."""
    watts, volts = hands.plate()
    supply, element, tank = hands.part("mains supply"), hands.part("element"), hands.part("tank")

    def shown(function: str, red: str, black: str) -> str | None:
        seen = hands.read(function, red, black)
        return seen.answer if seen else None

    at_supply = {
        pair: shown("V~", f"{supply}.{pair[0]}", f"{supply}.{pair[1]}")
        for pair in (("hot", "neutral"), ("hot", "ground"), ("neutral", "ground"))
    }
    measured = hands.read("V~", f"{supply}.hot", f"{supply}.neutral")
    known: dict[str, str | None] = {
        "plate resistance": f"{volts**2 / watts:.1f} ohm",
        "plate current": f"{watts / volts:.1f} A",
        "element resistance": shown("Ω", f"{element}.1", f"{element}.2"),
        "element to tank": shown("Ω", f"{element}.1", f"{tank}.shell"),
        "supply hot to neutral": at_supply[("hot", "neutral")],
        "supply hot to ground": at_supply[("hot", "ground")],
        "supply neutral to ground": at_supply[("neutral", "ground")],
        "plate power at the measured voltage": (
            f"{watts * (measured.value / volts) ** 2:.0f} W" if measured and measured.value else None
        ),
    }
    return {f.label: text for f in hands.lab.figure if (text := known.get(f.source)) is not None}


def answers(hands: Hands, fault: str | None, condition: str | None, cite: bool = True) -> dict[str, str]:
    """Everything the answer cells ask for, label by label."""
    out = figures(hands)
    if fault:
        out[LABELS["diagnosis"]] = fault_named(fault).name
        out[LABELS["remedy"]] = remedies()[fault_named(fault).remedy].name
    if cite and hands.evidence:
        out[LABELS["evidence"]] = ", ".join(str(n) for n in sorted(set(hands.evidence)))
    if condition:
        out[LABELS["condition"]] = condition
    return out
