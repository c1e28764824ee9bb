"""The reference path: the safe order of tests of least expected minutes that isolates the repair.

Planned once for a model, a scope and what the owner may have noticed, over every heater of
the model at every site it may stand at; then walked on the unit of an order.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tankside.bench.bench import perform
from tankside.bench.state import BenchState
from tankside.diagnosis.notes import Notes
from tankside.diagnosis.planner import Plan, Problem, Step, Trial, best_plan, entropy, quick_plan
from tankside.diagnosis.table import SITUATIONS, Column, Table, TableTest, make_table, places_for, steps_to
from tankside.errors import BenchError
from tankside.faults.catalogue import fault_named
from tankside.heater.model import load_model

OPEN_COVER = 3.0
"""min to take a cover off (as the bench counts it)."""
PROVE_METER = 1.0
"""min to check the meter on the proving unit (as the bench counts it)."""
CALLING = SITUATIONS.index("calling")
CALLS_FOR = 15.0
"""min after which water that was run cold may be warm enough to end the call for heat: then it is run again."""
EXACT_SIZE = 12
"""Hypotheses that are planned exactly."""
EXACT_STATES = 4_000
"""States that the exact search may visit before the greedy plan is taken."""


@dataclass(frozen=True)
class Reference:
    """A plan for everything an owner's words leave possible.

    ``cells[i]`` lists the table's cells that hypothesis i stands for (alike in every test);
    ``suspects`` are the faults at first, ``bits`` what there is to find out about the repair.
    """

    table: Table
    plan: Plan
    problem: Problem
    tests: dict[str, TableTest]
    cells: tuple[tuple[int, ...], ...]
    covers: tuple[str, ...]

    @property
    def suspects(self) -> tuple[str, ...]:
        """The faults that the owner's words leave possible."""
        return self.faults((1 << len(self.cells)) - 1)

    @property
    def minutes(self) -> float:
        """Expected minutes of the whole path, with the check of the meter before the first test."""
        return PROVE_METER + self.plan.minutes

    @property
    def bits(self) -> float:
        """Entropy of the repair before any test."""
        weight: dict[int, float] = {}
        for w, g in zip(self.problem.weights, self.problem.groups, strict=True):
            weight[g] = weight.get(g, 0.0) + w
        return entropy(list(weight.values()))

    def faults(self, mask: int) -> tuple[str, ...]:
        """The faults of a set of hypotheses."""
        chosen = [c for i, cells in enumerate(self.cells) if mask >> i & 1 for c in cells]
        return tuple(dict.fromkeys(self.table.cells[c].fault for c in sorted(chosen)))

    def rows(self, mask: int) -> list[int]:
        """The table's cells of a set of hypotheses."""
        return [c for i, cells in enumerate(self.cells) if mask >> i & 1 for c in cells]

    def column(self, trial: Trial, mask: int | None = None) -> Column:
        """What a test is made for: the first thing that it shows differently for what is left."""
        columns = [j for _, j in self.tests[trial.name].columns]
        rows = self.rows((1 << len(self.cells)) - 1 if mask is None else mask)
        spread = [j for j in columns if self.table.low[rows, j].max() > self.table.high[rows, j].min()]
        return self.table.columns[(spread or columns)[0]]

    def band(self, mask: int, column: Column) -> tuple[float, float]:
        """What a test shows for a set of hypotheses: lowest and highest."""
        chosen, j = self.rows(mask), self.table.columns.index(column)
        return float(self.table.low[chosen, j].min()), float(self.table.high[chosen, j].max())


def suspects(model: str, scope: tuple[str, ...], noticed: tuple[int, ...]) -> tuple[str, ...]:
    """The faults that may show one of the ``noticed`` symptoms."""
    table = _table(model, scope)
    rows = np.flatnonzero(table.noticed[:-1][:, list(noticed)].any(axis=1))
    return tuple(dict.fromkeys(table.cells[row].fault for row in rows))


@lru_cache(maxsize=64)
def reference(model: str, scope: tuple[str, ...], noticed: tuple[int, ...], exact: bool = True) -> Reference:
    """The reference path for a model and scope, after an owner's words that fit the ``noticed`` symptoms."""
    table = _table(model, scope)
    rows = [i for i in range(len(table.cells) - 1) if table.noticed[i, list(noticed)].any()]
    classes = _classes(table, rows)
    signature: dict[tuple[Any, ...], list[int]] = {}
    for position, row in enumerate(rows):
        remedy = fault_named(table.cells[row].fault).remedy
        signature.setdefault((remedy, classes[position].tobytes()), []).append(position)
    merged = list(signature.values())
    counts: dict[str, int] = {}
    for row in rows:
        counts[table.cells[row].fault] = counts.get(table.cells[row].fault, 0) + 1
    weights = [sum(1 / counts[table.cells[rows[p]].fault] for p in group) / len(counts) for group in merged]
    remedies = [fault_named(table.cells[rows[group[0]]].fault).remedy for group in merged]
    names = list(dict.fromkeys(remedies))
    covers = tuple(place.id for place in table.model.places.values() if place.cover)
    trials, tests = _trials(table, classes, merged, covers)
    problem = Problem(
        tuple(weights),
        tuple(names.index(r) for r in remedies),
        trials,
        table.minutes[1:],
        tuple(_mask(places_for(table.model, s), covers) for s in range(1, len(table.minutes))),
        (OPEN_COVER,) * len(covers),
    )
    plan = best_plan(problem, EXACT_STATES, EXACT_SIZE) if exact else quick_plan(problem)
    return Reference(table, plan, problem, tests, tuple(tuple(rows[p] for p in g) for g in merged), covers)


@lru_cache(maxsize=16)
def _table(model: str, scope: tuple[str, ...]) -> Table:
    return make_table(load_model(model), scope)


def _classes(table: Table, rows: Sequence[int]) -> NDArray[np.int_]:
    """Outcome classes among some cells only: fewer cells to join what lies between them."""
    part = Table(table.model, (), table.columns, table.low[rows], table.high[rows], table.noticed[rows])
    return part.classes


def _mask(places: set[str], covers: tuple[str, ...]) -> int:
    return sum(1 << i for i, cover in enumerate(covers) if cover in places)


def _trials(
    table: Table, classes: NDArray[np.int_], merged: list[list[int]], covers: tuple[str, ...]
) -> tuple[tuple[Trial, ...], dict[str, TableTest]]:
    """One trial for each way of parting the hypotheses that can be had at its price.

    A test that shows several things parts what any of them parts.
    """
    first = classes[[group[0] for group in merged]]
    varies = first.min(axis=0) != first.max(axis=0)
    best: dict[tuple[Any, ...], tuple[Trial, TableTest]] = {}
    for test in table.tests:
        columns = [j for _, j in test.columns if varies[j]]
        if not columns:
            continue
        numbers = first[:, columns[0]]
        if len(columns) > 1:
            numbers = np.unique(first[:, columns], axis=0, return_inverse=True)[1].ravel()
        masks = tuple(_bits(numbers == n) for n in np.unique(numbers))
        needs = _mask(set(test.places), covers)
        key = (test.situation, needs, masks)
        if key not in best or best[key][0].minutes > test.minutes:
            best[key] = (Trial(test.name, masks, test.minutes, test.situation, needs), test)
    return tuple(t for t, _ in best.values()), {t.name: c for t, c in best.values()}


def _bits(chosen: NDArray[np.bool_]) -> int:
    """Flags as a bit mask, the first one lowest."""
    return int.from_bytes(np.packbits(chosen, bitorder="little").tobytes(), "little")


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


def walk(found: Reference, state: BenchState) -> Walk:
    """Follow the plan on a unit, by the bench's own actions. What can't be done on this unit ends the path."""
    path = _Path(found, state)
    step: Step = found.plan.root
    perform(state, "prove meter", {})
    while step.test is not None:
        test = found.tests[step.test.name]
        try:
            path.reach(step.test)
            seen, shown = path.make(test)
        except BenchError:
            break
        parts = (part for part, _ in step.outcomes)
        mask = next((part for part in parts if path.fits(part, test, seen)), None)
        if mask is None:
            break
        step = next(then for part, then in step.outcomes if part == mask)
        path.stretches.append(Stretch(test.name, shown, state.clock, found.faults(mask)))
    left = path.stretches[-1].left if path.stretches else found.suspects
    return Walk(tuple(path.stretches), left, state.clock)


class _Path:
    """A path as it is walked: the bench, the situation it is in, and what was found."""

    def __init__(self, found: Reference, state: BenchState) -> None:
        self._found, self._state = found, state
        self._situation, self._drawn_at = 0, 0.0
        self.stretches: list[Stretch] = []

    def _open(self, place: str) -> None:
        if place not in self._state.open_covers:
            perform(self._state, "open cover", {"place": place})

    def reach(self, trial: Trial) -> None:
        """Covers off and the situation that the test needs."""
        state = self._state
        for k, place in enumerate(self._found.covers):
            if trial.needs >> k & 1:
                self._open(place)
        while self._situation < trial.situation:
            self._situation += 1
            for place in sorted(places_for(state.model, self._situation)):
                self._open(place)
            self._steps(steps_to(state.model, self._situation))
        if self._situation == CALLING and state.clock - self._drawn_at > CALLS_FOR:
            self._steps(steps_to(state.model, CALLING))

    def _steps(self, steps: Sequence[tuple[str, dict[str, Any]]]) -> None:
        for verb, args in steps:
            perform(self._state, verb, args)
            if verb == "run tap":
                self._drawn_at = self._state.clock

    def make(self, test: TableTest) -> tuple[dict[str, float], str]:
        """Make one test; what each of its observations shows, and the last action's sentence."""
        state, text = self._state, ""
        before, state.witness = state.witness, Notes()
        notes = state.witness
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

    def fits(self, mask: int, test: TableTest, seen: dict[str, float]) -> bool:
        """Whether a set of hypotheses may have shown what was seen."""
        rows, table = self._found.rows(mask), self._found.table
        for label, j in test.columns:
            if label in seen and not table.low[rows, j].min() <= seen[label] <= table.high[rows, j].max():
                return False
        return True
