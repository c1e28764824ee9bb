"""The coach: graded hints, "why not?" for any fault, and how a path compares with the reference path.

For practice. Everything it says comes from the candidate set and the test-by-fault table.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from tankside.bench.bench import start_state
from tankside.bench.state import BenchState
from tankside.case import symptom
from tankside.diagnosis.candidates import Candidates, candidates, remedies_of
from tankside.diagnosis.planner import Trial, next_test
from tankside.diagnosis.proof import reference_of, walked_to_the_end
from tankside.diagnosis.reference import Reference
from tankside.diagnosis.situations import SITUATIONS, Column
from tankside.errors import UnknownNameError
from tankside.faults.catalogue import apart, fault_named
from tankside.heater.model import HeaterModel
from tankside.measures import amount
from tankside.units import significant
from tankside.workorder import WorkOrder

NOTHING = 1.0
"""V or Ω under which a reading is called nothing."""
_PLAIN = ("look", "temperature", "V~", "V⎓", "Ω")
"""Tests that show one thing, which a sentence can say."""
LEVELS = (1, 2, 3)
"""1: what does the complaint tell you? 2: where does the next test split what is left? 3: which test, and why?"""


@dataclass(frozen=True)
class Point:
    """A point of a path: after so many minutes, so many faults and repairs were left."""

    at: float
    faults: int
    repairs: int
    text: str


@dataclass(frozen=True)
class Debrief:
    """Two paths on the same heater: the learner's and the reference."""

    learner: tuple[Point, ...]
    reference: tuple[Point, ...]


def hint(order: WorkOrder, lines: Iterable[str], level: int) -> str:
    """A hint for whoever stands before this order with this log. Each level says more than the one before."""
    if level not in LEVELS:
        raise UnknownNameError("hint level", level, [str(n) for n in LEVELS])
    left = candidates(order, lines)
    if level == 1:
        return _from_the_complaint(order, left)
    if len(remedies_of(left.now)) <= 1:
        return (
            f"Your readings leave one repair: {_names(left.now)}. Name it, and cite the lines that show it."
        )
    assert left.replay is not None and left.replay.state is not None
    state = left.replay.state
    found = reference_of(order, symptom(state.unit))
    test = _next(found, left, state)
    if test is None:
        return f"No test at the bench parts what is left on every heater: {_names(left.now)}. Compare them with care."
    parts = _parts(found, left, test)
    if level == 2:
        sides = _sides([f"{_count(len(part))} ({_places(part)})" for part in parts])
        return f"{len(left.now)} faults are left. Find a test that parts them about evenly. One test {sides}."
    mask = _mask(found, left.now)
    column = found.column(test, mask)
    words = _in_words(order.case().model, found, test, column)
    if column.function not in _PLAIN:
        return f"{words} It {_sides([_names(part) for part in parts])}."
    shows = "; ".join(f"{_shows(found, part, column)} if it is {_names(part)}" for part in parts)
    return f"{words} It shows {shows}."


def _from_the_complaint(order: WorkOrder, left: Candidates) -> str:
    places: dict[str, int] = {}
    for name in left.at_first:
        places[fault_named(name).place] = places.get(fault_named(name).place, 0) + 1
    rows = ", ".join(f"{place} ({n})" for place, n in sorted(places.items(), key=lambda row: -row[1]))
    return (
        f"The owner says: {order.complaint} {len(left.at_first)} faults can do that: {rows}. "
        "What would you see first, before you open anything?"
    )


def _sides(parts: list[str]) -> str:
    """How a test parts what is left, in words."""
    if len(parts) <= 2:
        return f"parts {' from '.join(parts)}"
    return f"makes {len(parts)} groups of them: {'; '.join(parts)}"


def _names(faults: Iterable[str]) -> str:
    words = [fault_named(name).name for name in faults]
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} or {words[-1]}"


def _count(n: int) -> str:
    return "one fault" if n == 1 else f"{n} faults"


def _places(faults: Iterable[str]) -> str:
    return ", ".join(sorted({fault_named(name).place for name in faults}))


def _mask(found: Reference, faults: Iterable[str]) -> int:
    wanted = set(faults)
    chosen = (i for i, cells in enumerate(found.cells) if found.table.cells[cells[0]].fault in wanted)
    return sum(1 << i for i in chosen)


def _parts(found: Reference, left: Candidates, test: Trial) -> list[tuple[str, ...]]:
    mask = _mask(found, left.now)
    return [found.faults(mask & c) for c in test.classes if mask & c]


def _next(found: Reference, left: Candidates, state: BenchState) -> Trial | None:
    opened = sum(1 << i for i, place in enumerate(found.covers) if place in state.open_covers)
    return next_test(found.problem, _mask(found, left.now), situation_of(state), opened)


def situation_of(state: BenchState) -> int:
    """Which of ``SITUATIONS`` the bench is in."""
    if state.unit["tank.fill"][0] < 0.02:
        return SITUATIONS.index("drained")
    if state.loose():
        return SITUATIONS.index("leads lifted")
    if state.locked:
        return SITUATIONS.index("isolated")
    return SITUATIONS.index("as found")


def _shows(found: Reference, faults: tuple[str, ...], column: Column) -> str:
    low, high = found.band(_mask(found, faults), column)
    if column.function == "look":
        made, broken = found.table.model.types[column.red].positions
        return made if low > 0.5 else broken
    if column.function == "temperature":
        return " to ".join(amount(end, "degC", "temperature") for end in (low, high))
    if high < 0:
        return "volts on the leads"
    if low == float("inf"):
        return "open (OL)"
    unit = "Ω" if column.function == "Ω" else "V"
    if high < NOTHING:
        return f"about 0 {unit}"
    top = "open" if high == float("inf") else f"{significant(max(high, 0.0), 3)} {unit}"
    return f"{significant(max(low, 0.0), 3)} to {top}"


def _in_words(model: HeaterModel, found: Reference, test: Trial, column: Column) -> str:
    if column.function not in _PLAIN:
        made = found.tests[test.name]
        name = made.name.removeprefix(f"{SITUATIONS[made.situation]}: ")
        return f"{_WHEN[made.situation]}: {name}."
    if column.function == "look":
        return f"Look at the {model.parts[column.red].name}."
    if column.function == "temperature":
        return "Measure the hot water at the tap."
    what = {"V~": "volts", "V⎓": "direct volts", "Ω": "ohms"}[column.function]
    ends = f"{model.terminals[column.red]} to {model.terminals[column.black]}"
    when = _WHEN[column.situation]
    return f"Measure {what} from {ends}, {when[0].lower()}{when[1:]}."


_WHEN = (
    "As it is",
    "After running hot water until it calls for heat",
    "With the heater isolated",
    "Isolated, proven dead, with the element's leads lifted",
    "With the heater drained",
)
"""The situations in words."""


def why_not(order: WorkOrder, lines: Iterable[str], fault: str) -> str:
    """Why a fault can't be it, by the line that ruled it out; or that it still can."""
    left = candidates(order, lines)
    name = fault_named(fault).name
    name = name[:1].upper() + name[1:]  # the rest as it is: "12 V" keeps its V
    if fault not in order.scope:
        return f"{name} isn't among the faults of this call-out."
    line = left.ruled_out_at(fault)
    if line is None:
        return f"{name} is still possible. No reading so far speaks against it."
    if line < 0:
        return f"{name} wouldn't show what the owner noticed: {order.complaint}"
    assert left.replay is not None
    return f"{name} is ruled out at line {line}: {left.replay.entries[line]['text']}"


def debrief(order: WorkOrder, lines: Iterable[str]) -> Debrief:
    """The learner's path and the reference path, minute by minute.

    Both begin with the faults that the owner's words leave on this heater. The reference path is planned for every
    heater of the model, of which some show a symptom that this one can't: such a fault isn't counted here.
    """
    left = candidates(order, lines)
    assert left.replay is not None
    first = Point(0.0, len(left.at_first), len(remedies_of(left.at_first)), "the complaint")
    mine = [first]
    for entry, now in zip(left.replay.entries[1:], left.history[1:], strict=False):
        at = float(entry["at"]) + float(entry["minutes"])
        mine.append(Point(at, len(now), len(remedies_of(now)), str(entry["text"])))
    state = start_state(order)
    found = reference_of(order, symptom(state.unit))
    theirs = [first]
    still = left.at_first
    for stretch in walked_to_the_end(order, found, state).stretches:
        # Of two faults at once the second part of the path tells apart what is left beside the sure one.
        still = tuple(name for name in still if name in stretch.left or set(apart(name)) & set(stretch.left))
        text = f"{stretch.test}: {stretch.shown}"
        theirs.append(Point(stretch.at, len(still), len(remedies_of(still)), text))
    return Debrief(tuple(mine), tuple(theirs))
