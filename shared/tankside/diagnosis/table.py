"""The test-by-fault table: what every available test would show for every fault, in every situation.

Meter readings: all pairs of the mains terminals at once, and the pairs of the 12 V side that a technician looks at
(``tankside.diagnosis.notes``); no meter is connected one by one. Everything else (taps, gauges, eyes, ears, nose, a
watched start) is done once at the bench, on all variants of the heater together, and what each would show is
written down.

Terms as in testability engineering: a fault is *detected* by a test whose outcome differs from
the healthy heater's; two faults are *isolated* from each other by a test whose outcomes differ;
faults that no test parts form an *ambiguity group*. Outcomes differ only if meters can tell
them apart: each is an interval, widened by accuracy and by what healthy parts vary.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from tankside.bench.bench import perform
from tankside.bench.state import BenchState
from tankside.bench.tank import THERMOMETER_STEP
from tankside.case import HEALTHY, LEVELS, SYMPTOMS, Case, Variants, variants_of
from tankside.diagnosis.bench_tests import CALLING, BenchTest, Step, bench_tests
from tankside.diagnosis.notes import Notes, widened
from tankside.diagnosis.situations import SITUATIONS, Asked, Column, meter_outcomes, steps_to
from tankside.faults.catalogue import fault_named
from tankside.heater.model import HeaterModel
from tankside.heater.plumbing import hot_tap
from tankside.heater.unit import Unit, nominal_site, site_of
from tankside.instruments.multimeter import Multimeter
from tankside.streams import Stream

if TYPE_CHECKING:
    import pandas as pd

Array = NDArray[np.float64]
Symptoms = NDArray[np.int_]

MOST_ROWS = 2_000
"""Variants that a table aims at: a scope of many faults gets fewer severities of each, and so coarser intervals."""
FEWEST_LEVELS = 3
_METER = ("V~", "V⎓", "Ω")


@dataclass(frozen=True)
class TableTest:
    """One test: its columns by what the bench calls each observation, its actions, its minutes, the covers that must be off."""

    name: str
    situation: int
    minutes: float
    places: frozenset[str]
    steps: tuple[Step, ...]
    columns: tuple[tuple[str, int], ...]


@dataclass(frozen=True)
class Cell:
    """One hypothesis: a fault between two neighbouring severities. ``rows`` are its rows of the batches."""

    fault: str
    rung: int


@dataclass
class Table:
    """Outcomes as intervals: ``low`` and ``high`` are (cells, columns). The last cell is the healthy heater.

    ``classes`` (cells, columns) numbers the outcome classes of each column: two cells have
    different numbers only if the meters can tell them apart.
    """

    model: HeaterModel
    cells: tuple[Cell, ...]
    columns: tuple[Column, ...]
    low: Array
    high: Array
    noticed: NDArray[np.bool_]
    """(cells, symptoms) whether an owner of such a heater may notice each symptom."""
    minutes: tuple[float, ...] = field(default=())
    tests: tuple[TableTest, ...] = ()

    @cached_property
    def classes(self) -> NDArray[np.int_]:
        """Overlapping intervals are one class, and so is whatever they are joined by."""
        order = np.argsort(self.low, axis=0, kind="stable")
        low = np.take_along_axis(self.low, order, axis=0)
        reach = np.maximum.accumulate(np.take_along_axis(self.high, order, axis=0), axis=0)
        fresh = np.zeros(low.shape, dtype=np.int_)
        fresh[1:] = low[1:] > reach[:-1]
        out = np.empty_like(fresh)
        np.put_along_axis(out, order, np.cumsum(fresh, axis=0), axis=0)
        return out

    def faults(self, cells: Iterable[int] | NDArray[np.intp]) -> tuple[str, ...]:
        """The faults of some cells, each once."""
        return tuple(dict.fromkeys(self.cells[c].fault for c in cells))

    def of_fault(self, fault: str) -> NDArray[np.intp]:
        """The cells of a fault."""
        return np.array([i for i, cell in enumerate(self.cells) if cell.fault == fault], dtype=np.intp)

    def detects(self, fault: str) -> list[Column]:
        """The tests that tell a fault, at every severity, from the healthy heater."""
        rows = self.of_fault(fault)
        apart = (self.low[rows] > self.high[-1]) | (self.high[rows] < self.low[-1])
        return [self.columns[j] for j in np.flatnonzero(apart.all(axis=0))]

    def ambiguity_groups(self) -> list[tuple[str, ...]]:
        """Faults that some pair of severities leaves alike in every test, joined; the smallest groups first."""
        names = list(dict.fromkeys(cell.fault for cell in self.cells if cell.fault))
        group = {name: {name} for name in names}
        for i, one in enumerate(names):
            for two in names[i + 1 :]:
                if group[one] is not group[two] and self._alike(self.of_fault(one), self.of_fault(two)):
                    joined = group[one] | group[two]
                    for name in joined:
                        group[name] = joined
        return sorted({tuple(sorted(g)) for g in map(frozenset, group.values())}, key=lambda g: (len(g), g))

    def _alike(self, one: NDArray[np.intp], two: NDArray[np.intp]) -> bool:
        overlap = (self.low[one][:, None] <= self.high[two][None]) & (
            self.high[one][:, None] >= self.low[two][None]
        )
        return bool(overlap.all(axis=2).any())

    def frame(self) -> pd.DataFrame:
        """Faults by tests: the interval of outcomes over all severities, as text."""
        import pandas as pd

        names = list(dict.fromkeys(cell.fault or "healthy" for cell in self.cells))
        rows = []
        for name in names:
            chosen = self.of_fault("" if name == "healthy" else name)
            low, high = self.low[chosen].min(axis=0), self.high[chosen].max(axis=0)
            rows.append([_span(a, b) for a, b in zip(low, high, strict=True)])
        return pd.DataFrame(rows, index=names, columns=[column.name for column in self.columns])


def _span(low: float, high: float) -> str:
    if low < 0 and high < 0:
        return "volts on the leads"
    if math.isinf(low):
        return "open"
    return f"{max(low, 0.0):.3g} .. {'open' if math.isinf(high) else format(high, '.3g')}"


def make_table(
    model: HeaterModel, scope: Sequence[str], case: Case | None = None, situation: int = 0
) -> Table:
    """The table of a model for the faults in scope.

    With a ``case``, for that very heater at its site. Without one, for any heater of the model
    at any site that its data file allows: its middle and its corners together. Tests of situations before
    ``situation`` are left out.
    """
    maker = TableMaker(model, scope, case, situation)
    maker.reach(len(SITUATIONS) - 1)
    return maker.table()


class TableMaker:
    """A table as it is made, situation by situation; the arguments are ``make_table``'s."""

    def __init__(
        self, model: HeaterModel, scope: Sequence[str], case: Case | None = None, situation: int = 0
    ) -> None:
        # The first variant is the healthy heater: where an action goes two ways, the way that shows most is taken.
        cases = [replace(case, fault=fault_named("no-fault"))] if case else _corners(model)
        levels = min(max(MOST_ROWS // (len(cases) * len(scope)), FEWEST_LEVELS), LEVELS)
        if (
            levels < LEVELS and not case
        ):  # one rung more where a fault is hardest to see, instead of its start twice
            cases = [replace(c, severity=0.5 / (levels - 1)) for c in cases]
        self._batches = variants_of(cases, scope, levels)
        unit = _stack([b.unit for b in self._batches])
        self._symptoms = unit["seen.symptom"].astype(int)
        self._state = BenchState(unit, cases[0].healthy(), Multimeter(Stream("0", "any")))
        self._state.open_covers |= {place.id for place in model.places.values() if place.cover}
        self._model, self._own, self._first = model, case is not None, situation
        self._sheet = _Sheet(model)
        self._minutes: list[float] = []

    def reach(self, situation: int) -> None:
        """Go on to a situation and make its tests, and those of the ones before it."""
        for now in range(len(self._minutes), situation + 1):
            began = self._state.clock
            for verb, args in steps_to(self._model, now):
                perform(self._state, verb, args)
            self._minutes.append(self._state.clock - began)
            if now >= self._first:
                self._make(now)

    def _make(self, now: int) -> None:
        state, sheet = self._state, self._sheet
        if now == 0:
            sheet.looks(state)
        sheet.meter(state.unit, now)
        for test in bench_tests(self._model):
            if test.situation == now:
                sheet.do(state, test)
        if now == CALLING and self._first == 0:
            sheet.at_any_time(state, self._own)

    def table(self) -> Table:
        """The table as far as it has come."""
        return self._sheet.table(self._batches[0], len(self._batches), self._symptoms, tuple(self._minutes))


class _Sheet:
    """Tests and columns as they are collected: (B,) lowest and highest that each variant may show."""

    def __init__(self, model: HeaterModel) -> None:
        self._model = model
        self.columns: list[Column] = []
        self.low: list[Array] = []
        self.high: list[Array] = []
        self.tests: list[TableTest] = []

    def _column(self, column: Column, low: Array, high: Array) -> int:
        self.columns.append(column)
        self.low.append(low)
        self.high.append(high)
        return len(self.columns) - 1

    def looks(self, state: BenchState) -> None:
        """Positions of what hands can move, and the temperature at the tap."""
        warm = hot_tap(state.unit).temperature
        slack = 1.5 * THERMOMETER_STEP
        j = self._column(Column(0, "temperature", "hot water", ""), warm - slack, warm + slack)
        self._test(self.columns[j], j, (("temperature", {}),), "seen 1", frozenset())
        twin = state.snapshot()
        twin.witness = notes = Notes()
        perform(twin, "look", {}, leave=True)
        told = iter(notes.seen)
        for part, kind in state.model.types.items():
            if kind.positions:
                value = state.unit[f"{part}.{kind.moves}"].copy()
                label = next(seen.label for seen in told if np.array_equal(seen.low, value))
                j = self._column(Column(0, "look", part, ""), value, value)
                place = state.model.places[state.model.parts[part].place]
                behind = place.cover and not state.model.parts[part].outside
                places = frozenset({place.id} if behind else ())
                self._test(self.columns[j], j, (("look", {}),), label, places)

    def _test(
        self, column: Column, j: int, steps: tuple[Step, ...], label: str, places: frozenset[str]
    ) -> None:
        self.tests.append(TableTest(column.name, column.situation, 1.0, places, steps, ((label, j),)))

    def meter(self, unit: Unit, situation: int) -> None:
        """What the meter finds: volts while live, ohms when isolated."""
        for column, value in meter_outcomes(unit, situation):
            j = self._column(column, value, value)
            ends = {"red": column.red, "black": column.black}
            places = frozenset(self._model.parts[t.split(".")[0]].place for t in ends.values())
            steps: tuple[Step, ...] = (("meter", {"function": column.function}), ("probe", ends))
            self._test(column, j, steps, f"{column.function} 1", places)

    def do(self, state: BenchState, test: BenchTest) -> None:
        """Do a test on all variants, write down what it shows, and leave the bench as it was."""
        twin = state.snapshot()
        twin.open_covers = covers = Asked(state.open_covers)
        twin.witness = notes = Notes(twin, test.pairs)
        steps = test.on(*test.pairs[0]) if test.pairs else test.steps
        for k, (verb, args) in enumerate(steps, start=1):
            perform(twin, verb, args, leave=k == len(steps))
            if verb == "sniff":
                notes.smelt()
        minutes = round(twin.clock - state.clock, 6)
        ids = {
            seen.label: self._column(Column(test.situation, test.name, seen.label, ""), seen.low, seen.high)
            for seen in notes.seen
        }
        places = frozenset(covers.asked)
        if not test.pairs:
            name = f"{SITUATIONS[test.situation]}: {test.name}"
            self.tests.append(
                TableTest(name, test.situation, minutes, places, test.steps, tuple(ids.items()))
            )
            return
        at = {t: self._model.parts[t.split(".")[0]].place for pair in test.pairs for t in pair}
        places -= {at[t] for t in test.pairs[0]}
        common = {label: j for label, j in ids.items() if not label.startswith(_METER)}
        none = tuple((verb, {"meter": "none"} if args.get("meter") else args) for verb, args in test.steps)
        if none != test.steps:
            name = f"{SITUATIONS[test.situation]}: {test.name.removesuffix(', volts')}"
            self.tests.append(TableTest(name, test.situation, minutes, places, none, tuple(common.items())))
        for red, black in test.pairs:
            ending = f" {red} {black}"
            mine = {label.removesuffix(ending): j for label, j in ids.items() if label.endswith(ending)}
            name = f"{SITUATIONS[test.situation]}: {test.name} {red} to {black}"
            chosen = tuple({**common, **mine}.items())
            here = places | {at[red], at[black]}
            self.tests.append(TableTest(name, test.situation, minutes, here, test.on(red, black), chosen))

    def at_any_time(self, state: BenchState, one_heater: bool) -> None:
        """Widen what is shown as found by what the same tests show now that the heater calls for heat.

        A heater is found at any moment of its thermostat's cycle, which the corners of what there may be don't cover:
        only what doesn't hang on that moment may part faults before the water is run cold. On one heater, where time
        has passed since it was found, that goes for the water's temperature too.
        """
        tests = bench_tests(self._model)
        if not tests:
            return  # the mains side alone: tests of its labs' orders hold it to what it was
        twin = _Sheet(self._model)
        twin.meter(state.unit, 0)
        for test in tests:
            if test.situation == 0:
                twin.do(state, test)
        if one_heater:
            twin.looks(state)
        place = {column: j for j, column in enumerate(self.columns)}
        for column, low, high in zip(twin.columns, twin.low, twin.high, strict=True):
            j = place.get(column)
            if j is not None:
                self.low[j], self.high[j] = np.minimum(self.low[j], low), np.maximum(self.high[j], high)

    def table(self, first: Variants, copies: int, symptoms: Symptoms, minutes: tuple[float, ...]) -> Table:
        """From values per batch row to intervals per cell."""
        size = len(first.fault_of)
        symptoms = symptoms.reshape(copies, size)
        cells, lower, upper = [], [], []
        for k, name in enumerate(first.names):
            rungs = np.flatnonzero(first.fault_of == k)
            pairs = list(pairwise(rungs)) if len(rungs) > 1 else [(rungs[0], rungs[0])]
            for j, (a, b) in enumerate(pairs):
                cells.append(Cell(name, j))
                lower.append(a)
                upper.append(b)
        healthy = np.flatnonzero(first.fault_of == HEALTHY)[0]
        cells.append(Cell("", 0))
        lower.append(healthy)
        upper.append(healthy)
        shape = (copies, size)
        lows = np.stack([v.reshape(shape).min(axis=0) for v in self.low], axis=1)
        highs = np.stack([v.reshape(shape).max(axis=0) for v in self.high], axis=1)
        low, high = np.minimum(lows[lower], lows[upper]), np.maximum(highs[lower], highs[upper])
        for function in _METER:
            chosen = np.array([column.function == function for column in self.columns])
            if chosen.any():
                low[:, chosen], high[:, chosen] = widened(function, low[:, chosen], high[:, chosen])
        noticed = np.zeros((len(cells), len(SYMPTOMS)), dtype=bool)
        for s in range(len(SYMPTOMS)):
            noticed[:, s] = (symptoms[:, lower] == s).any(axis=0) | (symptoms[:, upper] == s).any(axis=0)
        return Table(
            self._model, tuple(cells), tuple(self.columns), low, high, noticed, minutes, tuple(self.tests)
        )


def _corners(model: HeaterModel) -> list[Case]:
    """Heaters and sites at the ends of what there may be: parts low and high, supply and weather in all four ways."""
    low, high = site_of(model, _Fixed(0.0)), site_of(model, _Fixed(1.0))
    fault = fault_named("no-fault")
    mixed = [{**low, "voltage": high["voltage"]}, {**high, "voltage": low["voltage"]}]
    out = []
    for sign, site in (
        (0.0, nominal_site(model)),
        (-1.0, low),
        (1.0, high),
        (-1.0, mixed[0]),
        (1.0, mixed[1]),
    ):
        own = {key: model.nominal[key] * (1 + sign * share) for key, share in model.data.spread.items()}
        out.append(Case(model, site, own, fault, 0.0))
    return out


class _Fixed(Stream):
    """A stream that always draws the same end of every range."""

    def __init__(self, where: float) -> None:
        super().__init__("0", "fixed")
        self._where = where

    def uniform(self, low: float = 0.0, high: float = 1.0) -> float:
        """That end."""
        return low + (high - low) * self._where


def _stack(units: list[Unit]) -> Unit:
    values = {key: np.concatenate([u.values[key] for u in units]) for key in units[0].values}
    return Unit(units[0].model, values)
