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
from tankside.diagnosis.gas_tests import gas_tests, make
from tankside.diagnosis.planner import Plan, Problem, Step, Trial, best_plan, entropy, quick_plan
from tankside.diagnosis.table import Column, Table, make_table, places_for, steps_to
from tankside.faults.catalogue import fault_named
from tankside.heater.model import load_model

OPEN_COVER = 3.0
"""min to take a cover off (as the bench counts it)."""
PROVE_METER = 1.0
"""min to check the meter on the proving unit (as the bench counts it)."""
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
    columns: dict[str, Column]
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

    def band(self, mask: int, column: Column) -> tuple[float, float]:
        """What a test shows for a set of hypotheses: lowest and highest."""
        j = self.table.columns.index(column)
        chosen = [c for i, cells in enumerate(self.cells) if mask >> i & 1 for c in cells]
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
    trials, columns = _trials(table, classes, merged, covers)
    problem = Problem(
        tuple(weights),
        tuple(names.index(r) for r in remedies),
        trials,
        table.minutes[1:],
        tuple(_mask(places_for(table.model, s), covers) for s in range(1, len(table.minutes))),
        (OPEN_COVER,) * len(covers),
    )
    plan = best_plan(problem, EXACT_STATES, EXACT_SIZE) if exact else quick_plan(problem)
    return Reference(table, plan, problem, columns, tuple(tuple(rows[p] for p in g) for g in merged), covers)


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
) -> tuple[tuple[Trial, ...], dict[str, Column]]:
    """One trial for each way of parting the hypotheses that can be had at its price."""
    first = [group[0] for group in merged]
    best: dict[tuple[Any, ...], tuple[Trial, Column]] = {}
    for j, column in enumerate(table.columns):
        numbers = classes[first, j]
        if numbers.min() == numbers.max():
            continue
        masks = tuple(sum(1 << i for i in range(len(first)) if numbers[i] == n) for n in np.unique(numbers))
        needs = _mask(_places(table, column), covers)
        key = (column.situation, needs, masks)
        if key not in best:
            best[key] = (Trial(column.name, masks, _minutes(table, column), column.situation, needs), column)
    return tuple(t for t, _ in best.values()), {t.name: c for t, c in best.values()}


def _minutes(table: Table, column: Column) -> float:
    """What a test takes at the bench."""
    test = gas_tests(table.model).get((column.situation, column.function, column.red, column.black))
    return test.minutes if test else 1.0


def _places(table: Table, column: Column) -> set[str]:
    parts = [end.split(".")[0] for end in (column.red, column.black) if "." in end]
    return {table.model.parts[part].place for part in parts}


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
    """Follow the plan on a unit, by the bench's own actions."""
    step: Step = found.plan.root
    situation = 0
    stretches: list[Stretch] = []
    perform(state, "prove meter", {})
    while step.test is not None:
        column = found.columns[step.test.name]
        for place in found.covers:
            if step.test.needs >> found.covers.index(place) & 1 and place not in state.open_covers:
                perform(state, "open cover", {"place": place})
        while situation < column.situation:
            situation += 1
            for place in sorted(places_for(state.model, situation) - state.open_covers):
                perform(state, "open cover", {"place": place})
            for verb, args in steps_to(state.model, situation):
                perform(state, verb, args)
        value, shown = _make(state, column)
        mask = next((p for p, _ in step.outcomes if _within(found.band(p, column), value)), None)
        if mask is None:
            break
        step = next(s for p, s in step.outcomes if p == mask)
        stretches.append(Stretch(column.name, shown, state.clock, found.faults(mask)))
    left = stretches[-1].left if stretches else found.suspects
    return Walk(tuple(stretches), left, state.clock)


def _within(band: tuple[float, float], value: float) -> bool:
    return band[0] <= value <= band[1]


def _make(state: BenchState, column: Column) -> tuple[float, str]:
    """Make one test; the number that the table's intervals speak of, and what one sees."""
    test = gas_tests(state.model).get((column.situation, column.function, column.red, column.black))
    if test:
        return make(state, test)
    if column.function == "look":
        result = perform(state, "look", {})
        kind = state.model.types[column.red]
        position = result.data["positions"][column.red]
        return float(position == kind.positions[0]), position
    if column.function == "temperature":
        value = perform(state, "temperature", {}).data["temperature"]
        return float(value), f"{value:.1f} °C"
    if state.function != column.function:
        perform(state, "meter", {"function": column.function})
    reading = perform(state, "probe", {"red": column.red, "black": column.black}).data["reading"]
    if reading["value"] is None:
        return (np.inf if reading["digits"] == "OL" else -1.0), f"{reading['digits']} ({reading['note']})"
    return float(reading["value"]), f"{reading['digits']} {reading['unit']}"
