"""Finding the fault: along the reference path while it leads on, then by the tests that still part what is left.

The searcher sees what a learner sees and asks ``tankside.diagnosis`` after each action which faults are still
possible, as a person with all the trade's tables in their head would. Figures that the lab asks for are taken in the
situation in which they are measured, before it is left.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from contextlib import suppress
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tankside.bench import Bench, Outcome
from tankside.bench.bench import perform
from tankside.bench.gas_notes import PURGE_MINUTES
from tankside.case import draw_case, symptom
from tankside.diagnosis.bench_tests import CALLING
from tankside.diagnosis.candidates import Follower, remedies_of
from tankside.diagnosis.notes import Notes
from tankside.diagnosis.planner import Step
from tankside.diagnosis.proof import reference_of
from tankside.diagnosis.reference import CALLS_FOR, Reference
from tankside.diagnosis.situations import steps_to
from tankside.diagnosis.survey import survey
from tankside.diagnosis.table import Table, TableTest, make_table
from tankside.errors import BenchError
from tankside.faults.catalogue import Remedy
from tankside.figures import Way, way_to
from tankside.figures.registry import DECIDED, PLATE
from tankside.heater.model import load_model
from tankside.labs import Lab
from tankside_autograder.safe_hands import SafeHands

Array = NDArray[np.float64]

_STARTS = ("watch start", "light", "light pilot")
FOR_THE_NAME = 6
"""Tests that one makes for the fault's own name once the repair is known."""


class Searcher(SafeHands):
    """A technician who looks for the fault of an order. ``left`` are the faults that what was seen still allows."""

    def __init__(self, bench: Bench, lab: Lab) -> None:
        super().__init__(bench)
        self.lab = lab
        self.evidence: list[int] = []
        self.figures: dict[str, str] = {}
        """Figure id -> answer."""
        self.remedy: Remedy | None = None
        self.situation, self._drawn_at = 0, 0.0
        self._made: dict[str, dict[str, float]] = {}
        """Test -> what it showed, by the names that the table gives to its observations."""
        self._follower = Follower(bench.order)
        self._follower.after(0)

    @property
    def left(self) -> tuple[str, ...]:
        """The faults still possible."""
        return self._follower.candidates.now

    def known(self) -> bool:
        """True once a single fault is left."""
        return len(self.left) <= 1

    def one_repair(self) -> bool:
        """True once what is left asks for one repair."""
        return len(remedies_of(self.left)) <= 1

    def after(self, verb: str, args: dict[str, Any], outcome: Outcome) -> None:
        """Ask what is left; a line that narrows the faults down is kept as evidence."""
        if verb == "run tap":
            self._drawn_at = self.bench.state.clock
        if self.remedy is not None:
            return  # the repair is decided: what is seen now is no evidence for it
        perform(self._follower.state, verb, args)
        before = len(self.left)
        self._follower.after(outcome.entry["seq"])
        if len(self.left) < before:
            self.evidence.append(outcome.entry["seq"])

    # As ``tankside.figures`` uses a technician.

    def act(self, verb: str, **args: Any) -> dict[str, Any]:
        """One action, safely; its log line."""
        return self.safely(verb, **args).entry

    def first(self, verb: str, **args: Any) -> dict[str, Any]:
        """The first log line of just this action; it is done if there is none yet."""
        before = (e for e in self.bench.entries if e["verb"] == verb and e["args"] == args)
        return next(before, None) or self.act(verb, **args)

    # Situations ------------------------------------------------------------------------------------------------

    def reach(self, situation: int) -> None:
        """Bring the heater into a situation, through those before it; their figures are taken before they are left."""
        while self.situation < situation:
            self.take_figures()
            self.situation += 1
            for verb, args in steps_to(self.model, self.situation):
                self._step(verb, args)
        self._call_again()

    def _call_again(self) -> None:
        """Water that was run cold some time ago is warm again: run it again."""
        if self.situation == CALLING and self.bench.state.clock - self._drawn_at > CALLS_FOR:
            for verb, args in steps_to(self.model, CALLING):
                self._step(verb, args)

    def _step(self, verb: str, args: dict[str, Any]) -> None:
        """A step between situations, if it isn't done already."""
        if verb == "switch" and self.position(args["part"]) == args["position"]:
            return
        if verb == "lock out" and self.bench.state.locked:
            return
        if verb == "prove dead" and args["place"] in self.bench.state.dead_places:
            return
        self.try_to(verb, **args)

    # Tests -------------------------------------------------------------------------------------------------------

    def make(self, test: TableTest) -> dict[str, float]:
        """Make one test; what each of its observations shows, by the name that the table gives it."""
        self._made[test.name] = {}
        self.reach(test.situation)
        for place in sorted(test.places):
            if self.model.places[place].cover and place not in self.bench.state.open_covers:
                self.do("open cover", place=place)
        if any(verb == "sniff" for verb, _ in test.steps):
            self._air_out()
        notes = Notes()
        done = 0
        try:
            for done, (verb, args) in enumerate(test.steps):  # noqa: B007
                self.safely(verb, notes, **args)
                if verb == "sniff" and notes.seen[-1].shown > 0:
                    break  # where gas is smelt nobody goes on to light
        except BenchError:
            self._undo(test.steps[:done])
            raise
        if done + 1 < len(test.steps):
            self._undo(test.steps[: done + 1])
        self._made[test.name] = {seen.label: seen.shown for seen in notes.seen}
        return self._made[test.name]

    def _air_out(self) -> None:
        """After a start without a flame one waits, so that what one smells next is a leak and not that start."""
        last = next((e for e in reversed(self.bench.entries) if e["verb"] in _STARTS), None)
        if (
            last
            and _no_flame(last["result"])
            and self.bench.state.clock - last["at"] - last["minutes"] < PURGE_MINUTES
        ):
            self.do("wait", minutes=PURGE_MINUTES)

    def _undo(self, steps: Sequence[tuple[str, dict[str, Any]]]) -> None:
        """Put back what a test that was broken off had switched or lifted."""
        for verb, args in reversed(steps):
            if verb == "switch":
                made, broken = self.model.types[args["part"]].positions
                self.try_to(
                    "switch", part=args["part"], position=made if args["position"] == broken else broken
                )
            elif verb == "lift lead":
                self.try_to("land lead", wire=args["wire"])

    def follow(self, path: Reference) -> None:
        """Along the reference path, until one fault is left or it leads no further."""
        step: Step | None = path.plan.root
        while step is not None and step.test is not None and not self.known():
            test = path.tests[step.test.name]
            try:
                seen = self.make(test)
            except BenchError:
                return
            step = self._branch(path, step, test, seen)
            if step is None:
                return

    def _branch(self, path: Reference, step: Step, test: TableTest, seen: dict[str, float]) -> Step | None:
        """How the path goes on: as the test shows; else (water was run meanwhile, say) with most of what is left."""
        left = set(self.left)
        shares = [(len(left & set(path.faults(mask))), mask, then) for mask, then in step.outcomes]
        fitting = [row for row in shares if row[0] and _fits(path, row[1], test, seen)]
        best = max(fitting or shares, key=lambda row: row[0])
        return best[2] if best[0] else None

    def part(self) -> None:
        """By the tests that part what is left on this very heater: those that are sure to, then early and cheap ones.

        Once one repair is left, a few tests for the fault's own name are enough.
        """
        if self.known():
            return
        order = self.bench.order
        table = _own_table(order.model, order.scope, order.seed, self.left)
        extra = 0
        while not self.known() and extra < FOR_THE_NAME:
            test = best_to_part(table, self.left, self.situation, self._made)
            if test is None:
                return
            extra += self.one_repair()
            with suppress(BenchError):
                self.make(test)

    def survey(self) -> None:
        """Everything that a patient technician would look at, outside in."""
        for verb, args in survey(self.model):
            if self.one_repair():
                return
            self.try_to(verb, **args)

    def search(self) -> None:
        """Until one fault is left, if tests can do that."""
        self.do("look")
        self.safely("meter", function="V~")
        self.do("prove meter")
        self.take_figures(fresh=True)
        if not self.known():
            self.follow(self.path())
        self.part()
        for once_more in (self.part, self.survey):
            if not self.one_repair():
                self.back_in_service()
                once_more()

    def path(self) -> Reference:
        """The reference path after the owner's words."""
        return reference_of(self.bench.order, symptom(self.bench.state.unit))

    def back_in_service(self) -> None:
        """Leads on, tank full, everything switched on again: as it was found, more or less."""
        self.land()
        self.fill()
        if self.bench.state.locked:
            self.safely("unlock")
        for part, kind in self.model.types.items():
            if kind.positions:
                with suppress(BenchError):
                    self.set_to(part, self.normally(part))
        self.situation = 0

    # Figures -----------------------------------------------------------------------------------------------------

    def take_figures(self, fresh: bool = False) -> None:
        """Those that the lab asks for and that are measured in this situation; only those before all else, if ``fresh``."""
        for figure in self.lab.figure:
            way = way_to(figure.source)
            due = way.situation == self.situation and (way.fresh or not fresh)
            if due and figure.id not in self.figures:
                self._call_again()
                self.figures[figure.id] = self._got(way, figure.unit)

    def take_the_rest(self) -> None:
        """The figures of the situations that the search had no need of; the plate's as well."""
        for figure in self.lab.figure:
            if figure.id not in self.figures and way_to(figure.source).situation == PLATE:
                self.figures[figure.id] = self._got(way_to(figure.source), figure.unit)
        due = {way_to(f.source).situation for f in self.lab.figure if f.id not in self.figures} - {DECIDED}
        for situation in sorted(due):
            if situation < self.situation:
                self.back_in_service()
            self.reach(situation)
            self.take_figures()

    def quote(self) -> None:
        """The figures that follow from the repair."""
        for figure in self.lab.figure:
            if way_to(figure.source).situation == DECIDED:
                self.figures[figure.id] = self._got(way_to(figure.source), figure.unit)

    def _got(self, way: Way, unit: str) -> str:
        try:
            return way.get(self)
        except BenchError:
            return "open" if unit == "ohm" else "none"


def _no_flame(result: dict[str, Any]) -> bool:
    """True if a start ended without a flame."""
    return not (result.get("seen", {}).get("flame stays") or result.get("pilot"))


def _fits(path: Reference, mask: int, test: TableTest, seen: dict[str, float]) -> bool:
    """Whether a set of hypotheses may have shown what was seen."""
    rows, table = path.rows(mask), path.table
    return all(
        table.low[rows, j].min() <= seen[label] <= table.high[rows, j].max()
        for label, j in test.columns
        if label in seen
    )


@lru_cache(maxsize=8)
def _own_table(model: str, scope: tuple[str, ...], seed: str, left: tuple[str, ...]) -> Table:
    """What every test shows on one very heater, for the faults that are left; kept for the next to work the same order."""
    return make_table(load_model(model), left, draw_case(model, scope, seed))


def best_to_part(
    table: Table, left: Sequence[str], situation: int, made: Mapping[str, Mapping[str, float]]
) -> TableTest | None:
    """The next test, from a situation on, that parts some of what is left and agrees with the tests that were made.

    Parameters
    ----------
    table : of this very heater, for at least the faults that are ``left``
    made : test -> what it showed; a test that couldn't be made showed nothing
    """
    faults = np.array([cell.fault for cell in table.cells])
    alive = np.isin(faults, left)
    for test in table.tests:
        for label, j in test.columns if test.name in made else ():
            if label in made[test.name]:
                shown = made[test.name][label]
                fits = alive & (table.low[:, j] <= shown) & (shown <= table.high[:, j])
                # A fault that is left can't have been ruled out by this: then the test wasn't made as the table has it.
                alive &= fits | ~np.isin(faults, faults[fits])
    names = list(dict.fromkeys(table.cells[i].fault for i in np.flatnonzero(alive)))
    if len(names) < 2:
        return None
    rows = [[i for i in np.flatnonzero(alive) if table.cells[i].fault == name] for name in names]
    may, must = (
        _parts(table.low, table.high, rows, any_cells=True),
        _parts(table.low, table.high, rows, any_cells=False),
    )
    found = []
    for test in table.tests:
        columns = [j for _, j in test.columns]
        if test.situation >= situation and test.name not in made and may[columns].any():
            found.append((not must[columns].any(), test.situation, test.minutes, test.name, test))
    return min(found)[-1] if found else None


def _parts(low: Array, high: Array, rows: Sequence[Sequence[np.intp]], any_cells: bool) -> NDArray[np.bool_]:
    """(columns,) whether two faults show differently: at some severities of both, or at every one."""
    if any_cells:
        lows, highs = (
            np.stack([pick(v[r], axis=0) for r in rows]) for pick, v in ((np.max, low), (np.min, high))
        )
    else:
        lows, highs = (
            np.stack([pick(v[r], axis=0) for r in rows]) for pick, v in ((np.min, low), (np.max, high))
        )
    out = np.zeros(low.shape[1], dtype=np.bool_)
    for k in range(len(rows)):
        others = np.delete(highs, k, axis=0).min(axis=0)
        out |= lows[k] > others
    return out
