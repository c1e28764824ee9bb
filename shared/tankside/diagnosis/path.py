"""The reference path as it is walked on one heater, by the bench's own actions.

First the plan for all heaters of the model. Where that leaves more than one repair, the tests go on on what is known of
this very heater: its plate, its site, and every reading so far.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from tankside.bench.bench import perform
from tankside.bench.state import BenchState
from tankside.case import Case
from tankside.diagnosis.bench_tests import CALLING, Step, sniff_first
from tankside.diagnosis.notes import Notes
from tankside.diagnosis.planner import Step as Node
from tankside.diagnosis.reference import CALLS_FOR, OPEN_COVER, Reference
from tankside.diagnosis.situations import SITUATIONS, places_for, steps_to
from tankside.diagnosis.table import Table, TableMaker, TableTest
from tankside.errors import BenchError
from tankside.faults.catalogue import apart, fault_named, remedy_named
from tankside.faults.effects import cure
from tankside.instruments.senses import NOSE

NO_SMELL = NOSE.words[0]


@dataclass(frozen=True)
class Stretch:
    """One test of a walked path: what was done, after how many minutes, and what was left."""

    test: str
    shown: str
    at: float
    left: tuple[str, ...]


@dataclass(frozen=True)
class Walk:
    """The reference path as walked on one unit."""

    stretches: tuple[Stretch, ...]
    left: tuple[str, ...]
    minutes: float
    situation: int = 0
    """Where it ended."""


def walk(found: Reference, state: BenchState) -> Walk:
    """Follow the plan on a unit, by the bench's own actions. What can't be done on this unit ends the path."""
    path, table = Path(state), found.table
    node: Node = found.plan.root
    perform(state, "prove meter", {})
    while node.test is not None:
        test = found.tests[node.test.name]
        try:
            path.reach(test)
            seen, shown = path.make(test)
        except BenchError:
            break
        parts = (part for part, _ in node.outcomes)
        mask = next((part for part in parts if fits(table, found.rows(part), test, seen)), None)
        if mask is None:
            break
        node = next(then for part, then in node.outcomes if part == mask)
        path.stretches.append(Stretch(test.name, shown, state.clock, found.faults(mask)))
    left = path.stretches[-1].left if path.stretches else found.suspects
    return Walk(tuple(path.stretches), left, state.clock, path.situation)


def narrow(walked: Walk, case: Case, state: BenchState) -> Walk:
    """Go on after a walk that left more than one repair: test after test, on the table of this very heater.

    The next test is the one that may part the most of what is left, by the minute; nothing of a situation is left out
    before the next. What doesn't fit a reading is dropped severity by severity, so that two faults whose outcomes
    overlap somewhere are still told apart where this heater stands. If it is too late for a test, the heater is put
    together and switched on once more.
    """
    path = Path(state, walked.situation)
    left = _narrowed(case, walked.left, path, walked.situation)
    if len(_remedies(left)) > 1 and path.situation > CALLING:
        with suppress(BenchError):
            put_back(state)
            path.situation = 0
            left = _narrowed(case, left, path, CALLING)
    return Walk((*walked.stretches, *path.stretches), left, state.clock, path.situation)


def one_by_one(walked: Walk, case: Case, state: BenchState) -> Walk:
    """Where two faults are there at once and one of them is sure: cure that, test again, and find the other.

    One fault may hide the other: behind an open neutral nothing says how good the element is. What all that is left has
    in common is cured first, without waiting for the rest. The repair's own minutes are no minutes of finding out.
    """
    sure = set.intersection(*(set(apart(fault_named(name).remedy)) for name in walked.left))
    if not sure or len(walked.left) == 1:
        return walked
    for remedy in sorted(sure):
        cure(state.unit, remedy_named(remedy), state.healthy)
    others = {one: name for name in walked.left for one in apart(name) if fault_named(one).remedy not in sure}
    second = next((one for one in apart(case.fault.id) if one in others), None)
    if second is None:
        return walked
    path = Path(state)
    with suppress(BenchError):
        put_back(state)
    left = _narrowed(replace(case, fault=fault_named(second)), tuple(others), path, CALLING)
    found = tuple(name for name in walked.left if set(apart(name)) & set(left))
    return Walk((*walked.stretches, *path.stretches), found, state.clock, path.situation)


def _narrowed(case: Case, left: Sequence[str], path: Path, situation: int) -> tuple[str, ...]:
    """Test after test, until one repair is left or nothing parts what is left. Later situations only if need be."""
    maker = TableMaker(case.model, left, case, situation)
    alive: NDArray[np.intp] | None = None
    for now in range(max(situation, CALLING), len(SITUATIONS)):
        maker.reach(now)
        table = maker.table()
        alive = np.arange(len(table.cells) - 1) if alive is None else alive
        tests = [test for test in table.tests if test.situation == now or now == CALLING]
        while len(_remedies(table.faults(alive))) > 1:
            test = _most(table, alive, tests, path)
            if test is None:
                break
            tests.remove(test)
            try:
                path.reach(test)
                seen, shown = path.make(test)
            except BenchError:
                continue  # this heater's state puts it out of reach
            alive = np.array([c for c in alive if fits(table, [int(c)], test, seen)], dtype=np.intp)
            path.stretches.append(Stretch(test.name, shown, path.clock, table.faults(alive)))
        left = table.faults(alive)
        if len(_remedies(left)) <= 1:
            break
    return tuple(left)


def _remedies(names: Sequence[str]) -> set[str]:
    return {fault_named(name).remedy for name in names}


def put_back(state: BenchState) -> None:
    """Together again and switched on: leads landed, tank filled, lock off, power, and (after a smell for gas) 12 V."""
    model = state.model
    for wire in state.loose():
        perform(state, "land lead", {"wire": wire.id})
    if state.unit["tank.fill"][0] < 0.98:
        perform(state, "fill", {})
    if state.locked:
        perform(state, "unlock", {})
    kinds = ("mains supply", "breaker", "gas cylinder")
    on = [part for kind in kinds for part in model.of_type(kind)]
    sniffed = [
        part
        for kind in ("hand gas valve", "pilot gas valve", "12 V panel switch")
        for part in model.of_type(kind)
    ]
    for part in on:
        _switched_on(state, part)
    for verb, args in sniff_first(model):
        if perform(state, verb, args).data["smell"] != NO_SMELL:
            raise BenchError("It smells of gas: the gas side stays off.")
    for part in sniffed:
        _switched_on(state, part)


def _switched_on(state: BenchState, part: str) -> None:
    made = state.model.types[part].positions[0]
    if state.switches()[part] != made:
        perform(state, "switch", {"part": part, "position": made})


def _most(table: Table, alive: NDArray[np.intp], tests: Sequence[TableTest], path: Path) -> TableTest | None:
    """The test of the earliest situation that parts any, which parts the most pairs a minute."""
    remedies = [fault_named(table.cells[c].fault).remedy for c in alive]
    other = np.not_equal.outer(remedies, remedies)
    best: tuple[float, TableTest] | None = None
    for test in sorted(tests, key=lambda t: t.situation):
        if test.situation < path.situation:
            continue
        if best and test.situation > best[1].situation:
            break
        columns = [j for _, j in test.columns]
        low, high = table.low[alive][:, columns], table.high[alive][:, columns]
        apart = (low[:, None] > high[None]).any(axis=2)
        worth = float(((apart | apart.T) & other).sum()) / path.minutes_to(test)
        if worth > (best[0] if best else 0.0):
            best = worth, test
    return best[1] if best else None


class Path:
    """A path as it is walked: the bench, the situation it is in, and what was found."""

    def __init__(self, state: BenchState, situation: int = 0) -> None:
        self._state, self._drawn_at = state, state.clock
        self.situation = situation
        self.stretches: list[Stretch] = []

    @property
    def clock(self) -> float:
        """Minutes since work began."""
        return self._state.clock

    def _closed(self, places: Iterable[str]) -> list[str]:
        covered = {place.id for place in self._state.model.places.values() if place.cover}
        return sorted(set(places) & covered - self._state.open_covers)

    def minutes_to(self, test: TableTest) -> float:
        """Minutes of a test with the covers that it still needs."""
        return test.minutes + OPEN_COVER * len(self._closed(test.places))

    def _open(self, places: Iterable[str]) -> None:
        for place in self._closed(places):
            perform(self._state, "open cover", {"place": place})

    def reach(self, test: TableTest) -> None:
        """Covers off and the situation that the test needs."""
        state = self._state
        self._open(test.places)
        while self.situation < test.situation:
            self.situation += 1
            self._open(places_for(state.model, self.situation))
            self._steps(steps_to(state.model, self.situation))
        if self.situation == CALLING and state.clock - self._drawn_at > CALLS_FOR:
            self._steps(steps_to(state.model, CALLING))

    def _steps(self, steps: Sequence[Step]) -> None:
        for verb, args in steps:
            perform(self._state, verb, args)
            if verb == "run tap":
                self._drawn_at = self._state.clock

    def make(self, test: TableTest) -> tuple[dict[str, float], str]:
        """Make one test; what each of its observations shows, and the last action's sentence."""
        state, text = self._state, ""
        before, notes = state.witness, Notes()
        state.witness = notes
        try:
            for verb, args in test.steps:
                if verb == "meter" and args["function"] == state.function:
                    continue
                text = perform(state, verb, args).text
                if verb == "sniff" and notes.seen[-1].shown > 0:
                    break  # where gas is smelt nobody goes on to light
        finally:
            state.witness = before
        return {seen.label: seen.shown for seen in notes.seen}, text


def fits(table: Table, rows: Sequence[int], test: TableTest, seen: dict[str, float]) -> bool:
    """Whether some cells of a table, taken together, may have shown what was seen."""
    for label, j in test.columns:
        if label in seen and not table.low[rows, j].min() <= seen[label] <= table.high[rows, j].max():
            return False
    return True
