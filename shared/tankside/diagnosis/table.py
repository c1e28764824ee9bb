"""The test-by-fault table: what every available test would show for every fault, in every situation.

All terminals are paired at once. With the nodal matrix M of a situation solved for a unit
current at every terminal, the voltage that a meter of admittance y finds between a and b is
V / (1 + y Z), V the open-circuit voltage and Z = Maa + Mbb - Mab - Mba the network's impedance
seen from there (Thevenin). One batched solve gives all pairs; no meter is connected one by one.

Terms as in testability engineering: a fault is *detected* by a test whose outcome differs from
the healthy heater's; two faults are *isolated* from each other by a test whose outcomes differ;
faults that no test parts form an *ambiguity group*. Outcomes differ only if meters can tell
them apart: each is an interval, widened by accuracy and by what healthy parts vary.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from tankside.bench.actions import THERMOMETER_STEP
from tankside.bench.bench import perform
from tankside.bench.state import BenchState
from tankside.case import HEALTHY, SYMPTOMS, Case, Variants, variants
from tankside.diagnosis import gas_tests
from tankside.diagnosis.survey import Step, isolate, lift
from tankside.faults.catalogue import fault_named
from tankside.heater.model import HeaterModel
from tankside.heater.plumbing import hot_tap
from tankside.heater.simulation import energise
from tankside.heater.unit import Unit, nominal_site, site_of
from tankside.instruments.multimeter import (
    COUNTS,
    DISTURBED,
    FUNCTIONS,
    INPUT_CAPACITANCE,
    INPUT_RESISTANCE,
    LEADS,
    Multimeter,
)
from tankside.streams import Stream

if TYPE_CHECKING:
    import pandas as pd

Array = NDArray[np.float64]

SITUATIONS = ("as found", "calling", "isolated", "leads lifted", "drained")
"""In the order in which a technician reaches them: running as found; calling for heat (hot water drawn off);
power off, locked and proven dead; the element's leads lifted; the tank drained."""
_LIVE = 2
"""Situations before this one are live: volts. From it on: ohms."""


@dataclass(frozen=True)
class Column:
    """One test: situation, meter function, and the two terminals (or what is looked at)."""

    situation: int
    function: str
    red: str
    black: str

    @property
    def name(self) -> str:
        """In words."""
        pair = f" {self.red} to {self.black}" if self.black else f" {self.red}"
        return f"{SITUATIONS[self.situation]}: {self.function}{pair}"


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


def make_table(model: HeaterModel, scope: Sequence[str], case: Case | None = None) -> Table:
    """The table of a model for the faults in scope.

    With a ``case``, for that very heater at its site. Without one, for any heater of the model
    at any site that its data file allows: its middle and its corners together.
    """
    cases = [case] if case else _corners(model)
    batches = [variants(c, scope) for c in cases]
    unit = _stack([b.unit for b in batches])
    state = BenchState(unit, cases[0].healthy(), Multimeter(Stream("0", "any")))
    found: list[tuple[Column, Array]] = []
    minutes: list[float] = []
    state.open_covers |= {place.id for place in model.places.values() if place.cover}
    reached = 0.0
    for situation in range(len(SITUATIONS)):
        for verb, args in steps_to(model, situation):
            perform(state, verb, args)
        minutes.append(state.clock - reached)
        reached = state.clock
        found += _look(state, situation) if situation == 0 else []
        found += _outcomes(state.unit, situation)
        found += [(Column(*key), value) for key, value in gas_tests.outcomes(state.unit, situation)]
    return _intervals(model, batches[0], len(batches), unit, found, tuple(minutes))


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


def steps_to(model: HeaterModel, situation: int) -> list[Step]:
    """The actions that lead from one situation to the next, as a technician would take them."""
    if situation == 1:
        return [("run tap", {"minutes": 10})]
    if situation == 2:
        return [*isolate(model, prove=False), ("meter", {"function": "Ω"}), ("zero leads", {})]
    if situation == 3:
        return [*lift(model), ("meter", {"function": "Ω"})]
    if situation == 4:
        return [("drain", {})]
    return []


def places_for(model: HeaterModel, situation: int) -> set[str]:
    """The covers that must be off for the step to a situation."""
    return {args["place"] for verb, args in steps_to(model, situation) if verb == "prove dead"}


def _look(state: BenchState, situation: int) -> list[tuple[Column, Array]]:
    """Positions of what hands can move, and the temperature at the tap."""
    out = [(Column(situation, "temperature", "hot water", ""), hot_tap(state.unit).temperature)]
    for part, kind in state.model.types.items():
        if kind.positions:
            out.append((Column(situation, "look", part, ""), state.unit[f"{part}.{kind.moves}"].copy()))
    return out


def _outcomes(unit: Unit, situation: int) -> list[tuple[Column, Array]]:
    """What the meter finds between every two terminals: volts while live, ohms when isolated."""
    energise(unit)
    terminals = list(unit.model.terminals)
    function = "V~" if situation < _LIVE else "Ω"
    volts, impedance = unit.wiring.seen_from(
        unit.values, terminals, "alternating" if situation < _LIVE else "direct"
    )
    one, two = np.triu_indices(len(terminals), k=1)
    seen = impedance[:, one, one] + impedance[:, two, two] - impedance[:, one, two] - impedance[:, two, one]
    if function == "V~":
        admittance = 1 / INPUT_RESISTANCE + 2j * math.pi * unit.wiring.frequency * INPUT_CAPACITANCE
        value = np.abs((volts[:, one] - volts[:, two]) / (1 + admittance * seen))
    else:
        value = np.real(seen)
        still = unit.wiring.whole  # what is live needs no impedances: one column to solve instead of all
        solution = still.circuit.solve(
            *still.numbers(unit.values, True), drive="alternating", frequency=unit.wiring.frequency
        )
        live = np.stack([solution.potential(t) for t in terminals], axis=1)
        value = np.where(np.abs(live[:, one] - live[:, two]) > DISTURBED, -1.0, value)
    columns = [Column(situation, function, terminals[i], terminals[j]) for i, j in zip(one, two, strict=True)]
    return [(column, value[:, k]) for k, column in enumerate(columns)]


def _intervals(
    model: HeaterModel,
    first: Variants,
    copies: int,
    unit: Unit,
    found: list[tuple[Column, Array]],
    minutes: tuple[float, ...],
) -> Table:
    """From values per batch row to intervals per cell."""
    size = len(first.fault_of)
    values = np.stack([value for _, value in found], axis=1).reshape(copies, size, len(found))
    symptoms = unit["seen.symptom"].astype(int).reshape(copies, size)
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
    both = np.concatenate([values[:, lower], values[:, upper]], axis=0)
    low, high = both.min(axis=0), both.max(axis=0)
    columns = tuple(column for column, _ in found)
    warm = np.array([column.function == "temperature" for column in columns])
    low[:, warm] -= 1.5 * THERMOMETER_STEP
    high[:, warm] += 1.5 * THERMOMETER_STEP
    for function in ("V~", "Ω"):
        chosen = np.array([column.function == function for column in columns])
        low[:, chosen], high[:, chosen] = _widened(function, low[:, chosen], high[:, chosen])
    tests = gas_tests.gas_tests(model)
    for j, column in enumerate(columns):
        test = tests.get((column.situation, column.function, column.red, column.black))
        if test:
            low[:, j], high[:, j] = (
                low[:, j] - gas_tests.slack(test, low[:, j]),
                high[:, j] + gas_tests.slack(test, high[:, j]),
            )
    noticed = np.zeros((len(cells), len(SYMPTOMS)), dtype=bool)
    for s in range(len(SYMPTOMS)):
        noticed[:, s] = (symptoms[:, lower] == s).any(axis=0) | (symptoms[:, upper] == s).any(axis=0)
    return Table(model, tuple(cells), columns, low, high, noticed, minutes)


def _widened(function: str, low: Array, high: Array) -> tuple[Array, Array]:
    """Intervals of what the display may show: accuracy, a digit, leads; above the last range it is "open"."""
    kind = FUNCTIONS[function]
    lead = LEADS if kind.unit == "Ω" else 0.0
    last = kind.ranges[-1]
    out_low, out_high = low.copy(), high + lead
    for values, sign in ((out_low, -1.0), (out_high, 1.0)):
        full = np.full(values.shape, last)
        for r in reversed(kind.ranges):
            full = np.where(np.abs(values) <= r, r, full)
        values += sign * (kind.share * np.abs(values) + (kind.digits + 1) * full / COUNTS)
    out_low[low < 0], out_high[high < 0] = -2.0, -0.5
    open_from = last * (1 - kind.share)
    out_low = np.where(out_low > open_from, np.inf, out_low)
    out_high = np.where(out_high > open_from, np.inf, out_high)
    return out_low, out_high
