"""The true values of what a service report asks for, computed from the order's own unit.

Each takes the unit *as found* and gives a number in the figure's unit, or infinity where the
right answer is "open".
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from tankside.bench.terminals import Terminals
from tankside.case import Case, as_found
from tankside.errors import UnknownNameError
from tankside.heater.unit import Unit
from tankside.instruments.multimeter import LEADS, Multimeter
from tankside.streams import Stream

Value = Callable[[Case, Unit], tuple[float, ...]]
_SOURCES: dict[str, tuple[str, Value]] = {}
OPEN_ABOVE = 20e6
"""Ω above which "open" is the right answer, and no number is expected."""


@dataclass(frozen=True)
class Truth:
    """A figure's true value in its own unit: a range, because a heater can be measured loaded or not, zeroed or not."""

    low: float
    high: float
    unit: str

    @property
    def is_open(self) -> bool:
        """True if there is no circuit to measure."""
        return self.unit == "ohm" and self.low > OPEN_ABOVE


def _source(name: str, unit: str) -> Callable[[Value], Value]:
    def register(function: Value) -> Value:
        _SOURCES[name] = (unit, function)
        return function

    return register


def sources() -> list[str]:
    """The names that a lab's data file may use."""
    return sorted(_SOURCES)


def truth(case: Case, source: str, found: Unit | None = None) -> Truth:
    """The true value of one figure of a case; ``UnknownNameError`` for a source that nobody computes.

    ``found`` is the unit as found, if the caller has it already.
    """
    if source not in _SOURCES:
        raise UnknownNameError("figure source", source, sources())
    unit, compute = _SOURCES[source]
    values = compute(case, (found or as_found(case)).copy())
    return Truth(min(values), max(values), unit)


def _volts(unit: Unit, a: str, b: str) -> tuple[float, ...]:
    """As found; with the heater's load on the line (thermostat closed); and without any load."""
    loaded, idle = unit.copy(), unit.copy()
    for part in unit.model.of_type("thermostat"):
        loaded.set(
            "tank.temperature", min(float(unit["site.cold_water"][0]), float(unit[f"{part}.closes_at"][0]))
        )
    for part in unit.model.of_type("breaker"):
        idle.set(f"{part}.closed", 0.0)
    meter = Multimeter(Stream("0", "any"))
    return tuple(float(meter.sees("V~", Terminals(u), a, b)[0][0]) for u in (unit.copy(), loaded, idle))


@_source("supply hot to neutral", "V")
def _hot_neutral(case: Case, unit: Unit) -> tuple[float, ...]:
    return _volts(unit, "supply.hot", "supply.neutral")


@_source("supply hot to ground", "V")
def _hot_ground(case: Case, unit: Unit) -> tuple[float, ...]:
    return _volts(unit, "supply.hot", "supply.ground")


@_source("supply neutral to ground", "V")
def _neutral_ground(case: Case, unit: Unit) -> tuple[float, ...]:
    return _volts(unit, "supply.neutral", "supply.ground")


def _plate(case: Case) -> tuple[float, float]:
    plate = case.model.plate
    watts = case.model.number("plate.wattage", plate.wattage, "W")
    return watts, case.model.number("plate.voltage", plate.voltage, "V")


@_source("plate current", "A")
def _plate_current(case: Case, unit: Unit) -> tuple[float, ...]:
    watts, volts = _plate(case)
    return (watts / volts,)


@_source("plate resistance", "ohm")
def _plate_resistance(case: Case, unit: Unit) -> tuple[float, ...]:
    watts, volts = _plate(case)
    return (volts**2 / watts,)


@_source("plate power at the measured voltage", "W")
def _power_here(case: Case, unit: Unit) -> tuple[float, ...]:
    watts, volts = _plate(case)
    return tuple(watts * (measured / volts) ** 2 for measured in _volts(unit, "supply.hot", "supply.neutral"))


def _isolated(unit: Unit) -> Unit:
    """The unit with its plug out and the element's leads lifted."""
    out = unit.copy()
    for supply in unit.model.of_type("mains supply"):
        out.set(f"{supply}.plugged", 0.0)
    for wire in unit.model.wires.values():
        if wire.lifts_at:
            out.set(f"{wire.id}.lifted", 1.0)
    return out


def _ohms(unit: Unit, a: str, b: str) -> float:
    value, _ = Multimeter(Stream("0", "any")).sees("Ω", Terminals(_isolated(unit)), a, b)
    ohms = float(value[0])
    return math.inf if ohms > OPEN_ABOVE else ohms


@_source("element resistance", "ohm")
def _element(case: Case, unit: Unit) -> tuple[float, ...]:
    ohms = _ohms(unit, "element.1", "element.2")
    return ohms, ohms + LEADS


@_source("element to tank", "ohm")
def _element_to_tank(case: Case, unit: Unit) -> tuple[float, ...]:
    """From either terminal."""
    return tuple(_ohms(unit, end, "tank.shell") for end in ("element.1", "element.2"))
