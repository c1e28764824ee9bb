"""The kinds of invented learners on any heater: 12 V side, ignition, gas, flame, water, anode and mains together.

They work through the bench alone. What tells them apart is how they choose the next test, what they cite, and what
they leave out of safe working; what to do before an action is ``safe_hands``' business, and the unsafe one's neglect.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import suppress
from typing import Any

from tankside.bench import Bench
from tankside.bench.gas_points import LOOKS
from tankside.bench.leads import GUARDS
from tankside.diagnosis.reference import Reference
from tankside.diagnosis.table import TableTest
from tankside.errors import BenchError
from tankside.faults.catalogue import Remedy, fault_named, remedies
from tankside.figures import way_to
from tankside.figures.registry import PLATE
from tankside.labs import Lab
from tankside.report import LABELS
from tankside.streams import Stream
from tankside_autograder.finish import IN_SERVICE, finished, into_service, put_right
from tankside_autograder.reference import report
from tankside_autograder.search import Searcher

SWAPS = 4
"""Parts that a part-swapper changes before giving up."""
PAUSE = 15.0
"""min that the anxious one waits after arriving, and before anything is isolated."""


class Methodical(Searcher):
    """Goes down the list of what may tell something, from the outside in; leaves out what can't tell any more."""

    twice = False
    """True for who makes every test twice."""

    def search(self) -> None:
        """Down the list, until one repair is left."""
        self.arrive()
        path = self.path()
        for test in listed(path):
            if self.enough(test):
                break
            if test.situation < self.situation or not may_part(path, test, self.left):
                continue
            for _ in range(2 if self.twice else 1):
                with suppress(BenchError):
                    self.make(test)
        self.part()

    def arrive(self) -> None:
        """Look, prove the meter, take what is measured before all else."""
        self.do("look")
        self.safely("meter", function="V~")
        self.do("prove meter")
        self.take_figures(fresh=True)

    def enough(self, following: TableTest) -> bool:
        """Whether to stop before the test that would follow."""
        return self.one_repair()


class Slow(Methodical):
    """Thorough and anxious: makes every test twice, waits in between, and thinks only when the situation changes."""

    twice = True

    def arrive(self) -> None:
        """And wait a while."""
        super().arrive()
        self.do("wait", minutes=PAUSE)

    def enough(self, following: TableTest) -> bool:
        """Whether one repair was left when the last situation was done with."""
        return following.situation > self.situation and self.one_repair()


class Unsafe(Methodical):
    """Knows what to look for, and prepares nothing: no airing, no nose, no lock, no test for tightness."""

    def prepare(self, verb: str, **args: Any) -> None:
        """Only the cover that is in the way comes off."""
        for _ in range(len(self.model.places)):
            _, cover, refused = self._in_mind(verb, args)
            if cover is None:
                if refused:
                    raise refused
                return
            self.do("open cover", place=cover)

    def safely(self, verb: str, witness: Any = None, **args: Any) -> Any:
        """Done as it comes; when it went wrong, make safe and go on."""
        outcome = super().safely(verb, witness, **args)
        if outcome.stopped:
            self.do("make safe")
            self.back_in_service()
            raise BenchError("That went wrong.")
        return outcome

    def prove_dead(self, place: str) -> None:
        """Never."""

    def test_joints(self) -> None:
        """Never."""

    def smell(self) -> None:
        """Never."""

    def cool(self) -> None:
        """Never."""

    def search(self) -> None:
        """First reach in with the power on, light without a nose, open what stands under pressure; then down the list."""
        for verb, args in reckless(self):
            with suppress(BenchError):
                self.safely(verb, **args)
        super().search()


def reckless(hands: Unsafe) -> Iterator[tuple[str, dict[str, Any]]]:
    """What the unsafe one does on arriving, as far as the heater has the parts."""
    model = hands.model
    for wire in model.wires.values():
        if wire.lifts_at and wire.role in ("hot", "switched hot", "neutral"):
            yield "lift lead", {"wire": wire.id}
            break
    guards = [part for part, kind in model.types.items() if kind.name.endswith(GUARDS)]
    for part in guards[:1]:
        yield "jumper", {"part": part}
    if model.of_type("burner"):
        yield "search with flame", {}
        yield "inspect", {"part": next(part for part, look in LOOKS.items() if look.apart)}
    if model.of_type("control board"):
        yield "watch start", {"meter": "none"}
    if model.of_type("relief valve"):
        yield "plug relief valve", {}


def listed(path: Reference) -> list[TableTest]:
    """What may tell something after the owner's words: from the outside in, the quickest first."""
    return sorted(path.tests.values(), key=lambda t: (t.situation, t.minutes, t.name))


def may_part(path: Reference, test: TableTest, left: Sequence[str]) -> bool:
    """Whether a test can show differently for some of the faults that are left, on some heater of the model."""
    table = path.table
    rows = [i for i, cell in enumerate(table.cells) if cell.fault in left]
    return any(table.low[rows, j].max() > table.high[rows, j].min() for _, j in test.columns)


def _worked(me: Searcher) -> dict[str, str]:
    """From the search to the report."""
    me.search()
    me.take_the_rest()
    found = me.left[0] if me.left else me.lab.faults[0]
    me.remedy = remedies()[fault_named(found).remedy]
    me.quote()
    condition = IN_SERVICE
    try:
        condition = finished(me, me.remedy, me.lab.expects)
    except BenchError:  # it went wrong, or something is out of reach: then at least it goes back into service
        with suppress(BenchError):
            into_service(me)
    return report(me, found, condition)


def careful(bench: Bench, lab: Lab) -> dict[str, str]:
    """Goes down the list from the outside in, and stops when one repair is left."""
    return _worked(Methodical(bench, lab))


def brilliant(bench: Bench, lab: Lab) -> dict[str, str]:
    """Takes the best test first, as the reference path does."""
    return _worked(Searcher(bench, lab))


def slow(bench: Bench, lab: Lab) -> dict[str, str]:
    """Makes every test twice, waits, and cites half the log."""
    me = Slow(bench, lab)
    out = _worked(me)
    cited = sorted({*me.evidence, *range(1, len(bench.entries), 2)})
    out[LABELS["evidence"]] = ", ".join(str(line) for line in cited[:200])
    return out


def unsafe(bench: Bench, lab: Lab) -> dict[str, str]:
    """Finds it, and might not live to tell."""
    return _worked(Unsafe(bench, lab))


def _without_readings(me: Searcher, found: str) -> dict[str, str]:
    """The report of who measured nothing: what the plate gives, a name, no line cited."""
    for figure in me.lab.figure:
        way = way_to(figure.source)
        if way.situation == PLATE:
            me.figures[figure.id] = way.get(me)
    out = report(me, found, IN_SERVICE)
    del out[LABELS["evidence"]]
    return out


def part_swapper(bench: Bench, lab: Lab) -> dict[str, str]:
    """Works safely enough, but measures nothing: changes one part after another until it heats."""
    me = Searcher(bench, lab)
    me.do("look")
    changed = lab.faults[0]
    for changed in swaps(me)[:SWAPS]:
        me.remedy = remedies()[fault_named(changed).remedy]
        with suppress(BenchError):
            put_right(me, me.remedy)
        if bench.entries[-1]["result"].get("heats"):
            break
    return _without_readings(me, changed)


def swaps(me: Searcher) -> list[str]:
    """A fault for each part that can be changed whole, the quickest repair first: as the parts lie in the van."""
    first: dict[str, str] = {}
    for fault in me.lab.faults:
        if fault_named(fault).applies_to(me.model):
            first.setdefault(fault_named(fault).remedy, fault)

    def order(remedy: Remedy) -> tuple[bool, float, str]:
        return not any(on.endswith(".*") for on in remedy.renews), remedy.minutes, remedy.id

    chosen = sorted((remedies()[r] for r in first if not remedies()[r].other_trade), key=order)
    return [first[remedy.id] for remedy in chosen]


def guesser(bench: Bench, lab: Lab) -> dict[str, str]:
    """Looks, measures once, then names what it always is."""
    me = Searcher(bench, lab)
    me.do("look")
    with suppress(BenchError, StopIteration):
        me.make(next(test for test in listed(me.path()) if test.minutes <= 3))
    return _without_readings(me, Stream(bench.order.order, "guess").choice(lab.faults))
