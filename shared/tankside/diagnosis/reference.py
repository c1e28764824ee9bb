"""The reference path: the safe order of tests of least expected minutes that isolates the repair.

Planned once for a model, a scope and what the owner may have noticed, over every heater of
the model at every site it may stand at; then walked on the unit of an order (``tankside.diagnosis.path``).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tankside.diagnosis.bench_tests import bench_tests
from tankside.diagnosis.kept_tables import table_for
from tankside.diagnosis.planner import (
    Plan,
    Problem,
    Step,
    Trial,
    best_plan,
    cost_of,
    entropy,
    plan_from,
    quick_plan,
)
from tankside.diagnosis.situations import Column, places_for
from tankside.diagnosis.table import Table, TableTest
from tankside.faults.catalogue import fault_named

OPEN_COVER = 3.0
"""min to take a cover off (as the bench counts it)."""
PROVE_METER = 1.0
"""min to check the meter on the proving unit (as the bench counts it)."""
CALLS_FOR = 15.0
"""min after which water that was run cold may be warm enough to end the call for heat: then it is run again."""
FEW_LEFT = 12
"""Faults that are rather told apart by what is known of the heater itself than by moving on without its last tests."""
EXACT_SIZE = 36
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
    problem, tests, cells, covers = _problem(table, rows)
    plan = best_plan(problem, EXACT_STATES, EXACT_SIZE) if exact else quick_plan(problem)
    found = Reference(table, plan, problem, tests, cells, covers)
    return _with_ends(found, 0, 0) if bench_tests(table.model) else found


def _problem(
    table: Table, rows: Sequence[int]
) -> tuple[Problem, dict[str, TableTest], tuple[tuple[int, ...], ...], tuple[str, ...]]:
    """What some cells of a table are to be told apart with; cells that are alike in every test are one hypothesis."""
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
    groups = tuple(names.index(r) for r in remedies)
    covers = tuple(place.id for place in table.model.places.values() if place.cover)
    cells = tuple(tuple(rows[p] for p in group) for group in merged)
    trials, tests = _trials(table, classes[[group[0] for group in merged]], covers)
    problem = Problem(
        tuple(weights),
        groups,
        trials,
        table.minutes[1:],
        tuple(_mask(set(places_for(table.model, s)), covers) for s in range(1, len(table.minutes))),
        (OPEN_COVER,) * len(covers),
        _lost(table, cells, groups) if bench_tests(table.model) else (),
    )
    return problem, tests, cells, covers


def _lost(
    table: Table, cells: tuple[tuple[int, ...], ...], groups: tuple[int, ...]
) -> tuple[tuple[int, ...], ...]:
    """[situation][hypothesis]: those with another remedy that only an earlier situation can part from it."""
    low = np.stack([table.low[list(c)].min(axis=0) for c in cells])
    high = np.stack([table.high[list(c)].max(axis=0) for c in cells])
    n, count = len(cells), len(table.minutes)
    apart = np.zeros((count, n, n), dtype=bool)
    for s in range(count):
        columns = sorted({j for test in table.tests if test.situation == s for _, j in test.columns})
        for i in range(n):
            beside = (low[i, columns] > high[:, columns]) | (low[:, columns] > high[i, columns])
            apart[s, i] = beside.any(axis=1)
    other = np.not_equal.outer(groups, groups)
    later = np.logical_or.accumulate(apart[::-1], axis=0)[::-1]
    return tuple(tuple(_bits(row) for row in later[0] & ~later[s] & other) for s in range(count))


def _with_ends(found: Reference, situation: int, opened: int) -> Reference:
    """A plan whose ends go on where more than one remedy is left.

    Classes of outcomes are joined by whatever lies between them. Once that is ruled out, the same tests part more.
    """
    tests = dict(found.tests)

    def settled(mask: int) -> bool:
        return len({g for i, g in enumerate(found.problem.groups) if mask >> i & 1}) <= 1

    def more(step: Step, situation: int, opened: int) -> tuple[float, Step]:
        if step.test is None and not settled(step.left):
            inside = [i for i in range(len(found.cells)) if step.left >> i & 1]
            rows = [c for i in inside for c in found.cells[i]]
            starts = np.cumsum([0, *(len(found.cells[i]) for i in inside)])[:-1]
            classes = _classes(found.table, rows)[starts]
            again, made = _trials(found.table, classes, found.covers, inside)
            tests.update(made)
            problem = replace(found.problem, tests=again)
            _, step = plan_from(problem, step.left, situation, opened)
            if step.test is None:
                minutes, other = plan_from(problem, step.left, situation, opened, careless=True)
                if len(found.faults(step.left)) <= FEW_LEFT:
                    return minutes, step  # told apart on the heater itself: an estimate of its minutes
                step = other
        if step.test is None:
            return 0.0, step
        minutes, now = cost_of(found.problem, step.test, situation, opened)
        total, branches = _weight(found.problem, step.left), []
        for part, then in step.outcomes:
            value, longer = more(then, step.test.situation, now)
            minutes += _weight(found.problem, part) / total * value
            branches.append((part, longer))
        return minutes, Step(step.left, step.test, tuple(branches))

    minutes, root = more(found.plan.root, situation, opened)
    exact = found.plan.exact and minutes <= found.plan.minutes + 1e-9
    bound = found.plan.bound if not exact else minutes
    return replace(
        found, plan=Plan(root, minutes, min(bound, minutes), exact, found.plan.states), tests=tests
    )


def _weight(problem: Problem, mask: int) -> float:
    return sum(w for i, w in enumerate(problem.weights) if mask >> i & 1)


@lru_cache(maxsize=16)
def _table(model: str, scope: tuple[str, ...]) -> Table:
    return table_for(model, scope)


def _classes(table: Table, rows: Sequence[int]) -> NDArray[np.int_]:
    """Outcome classes among some cells only: fewer cells to join what lies between them."""
    part = Table(table.model, (), table.columns, table.low[rows], table.high[rows], table.noticed[rows])
    return part.classes


def _mask(places: set[str], covers: tuple[str, ...]) -> int:
    return sum(1 << i for i, cover in enumerate(covers) if cover in places)


def _trials(
    table: Table, first: NDArray[np.int_], covers: tuple[str, ...], at: Sequence[int] | None = None
) -> tuple[tuple[Trial, ...], dict[str, TableTest]]:
    """One trial for each way of parting the hypotheses that can be had at its price.

    ``first`` (hypotheses, columns) numbers their classes; ``at`` says which bits the hypotheses are, in rising order.
    A test that shows several things parts what any of them parts.
    """
    places = np.arange(len(first)) if at is None else np.asarray(at)
    size = int(places[-1]) + 1 if len(places) else 0
    varies = first.min(axis=0) != first.max(axis=0)
    best: dict[tuple[Any, ...], tuple[Trial, TableTest]] = {}
    for test in table.tests:
        columns = [j for _, j in test.columns if varies[j]]
        if not columns:
            continue
        numbers = first[:, columns[0]]
        if len(columns) > 1:
            numbers = np.unique(first[:, columns], axis=0, return_inverse=True)[1].ravel()
        masks = tuple(
            _bits(np.bincount(places[numbers == n], minlength=size) > 0) for n in np.unique(numbers)
        )
        needs = _mask(set(test.places), covers)
        key = (test.situation, needs, masks)
        if key not in best or best[key][0].minutes > test.minutes:
            best[key] = (Trial(test.name, masks, test.minutes, test.situation, needs), test)
    return tuple(t for t, _ in best.values()), {t.name: c for t, c in best.values()}


def _bits(chosen: NDArray[np.bool_]) -> int:
    """Flags as a bit mask, the first one lowest."""
    return int.from_bytes(np.packbits(chosen, bitorder="little").tobytes(), "little")
