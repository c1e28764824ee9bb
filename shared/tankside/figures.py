"""The true values of what a service report asks for, computed from the order's own unit.

Each takes the unit *as found*, leaves it as it is, and gives a number in the figure's unit, or infinity where the
right answer is "open".
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache

from tankside.bench.terminals import Terminals
from tankside.case import Case, as_found
from tankside.errors import UnknownNameError
from tankside.heater import burner, gas
from tankside.heater.unit import Unit
from tankside.instruments.multimeter import LEADS, Multimeter
from tankside.physics.supply import INWC
from tankside.streams import Stream

Value = Callable[[Case, Unit], tuple[float, ...]]
_SOURCES: dict[str, tuple[str, Value]] = {}
_METER = Multimeter(Stream("0", "any"))
"""What its input finds is asked for, before the errors of any one meter."""
WATTS_PER_BTU_HOUR = 0.29307107017222
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
    values = compute(case, found or as_found(case))
    return Truth(min(values), max(values), unit)


@lru_cache(maxsize=2)
def _loaded_or_not(unit: Unit) -> tuple[Terminals, ...]:
    """As found; with the heater's load on the line (thermostat closed); and without any load."""
    loaded, idle = unit.copy(), unit.copy()
    for part in unit.model.of_type("thermostat"):
        loaded.set(
            "tank.temperature", min(float(unit["site.cold_water"][0]), float(unit[f"{part}.closes_at"][0]))
        )
    for part in unit.model.of_type("breaker"):
        idle.set(f"{part}.closed", 0.0)
    return tuple(Terminals(u) for u in (unit.copy(), loaded, idle))


def _volts(unit: Unit, a: str, b: str) -> tuple[float, ...]:
    """In each of these three ways."""
    return tuple(float(_METER.sees("V~", way, a, b)[0][0]) for way in _loaded_or_not(unit))


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


@lru_cache(maxsize=2)
def _isolated(unit: Unit) -> Terminals:
    """The unit with its plug out and the element's leads lifted; kept, because a lab asks for several of its figures."""
    out = unit.copy()
    for supply in unit.model.of_type("mains supply"):
        out.set(f"{supply}.plugged", 0.0)
    for wire in unit.model.wires.values():
        if wire.lifts_at:
            out.set(f"{wire.id}.lifted", 1.0)
    return Terminals(out)


def _ohms(unit: Unit, a: str, b: str) -> float:
    value, _ = _METER.sees("Ω", _isolated(unit), a, b)
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


def _burning(unit: Unit) -> tuple[Unit, Unit]:
    """The gas heater with cold water and with hot, as its valve would be open: what is measured lies between."""
    cold, hot = unit.copy(), unit.copy()
    cold.values["tank.temperature"] = unit["site.cold_water"].copy()
    hot.set("tank.temperature", 57.0)
    return cold, hot


@_source("gas pressure at rest", "inWC")
def _rest(case: Case, unit: Unit) -> tuple[float, ...]:
    """Everything shut, and with only a pilot drawing."""
    return tuple(float(gas.line(unit, valve).inlet[0]) / INWC for valve in (0.0, 0.03))


@_source("gas pressure under load", "inWC")
def _load(case: Case, unit: Unit) -> tuple[float, ...]:
    return (float(gas.line(unit, 1.0).inlet[0]) / INWC,)


@_source("heat input", "BTU_per_hour")
def _input(case: Case, unit: Unit) -> tuple[float, ...]:
    return (float(burner.fire(unit).input[0]) / WATTS_PER_BTU_HOUR,)


@_source("carbon monoxide air-free", "ppm")
def _air_free(case: Case, unit: Unit) -> tuple[float, ...]:
    return tuple(1e6 * float(burner.fire(u).air_free[0]) for u in _burning(unit))


@_source("combustion efficiency", "percent")
def _efficiency(case: Case, unit: Unit) -> tuple[float, ...]:
    return tuple(100 * float(burner.fire(u).efficiency[0]) for u in _burning(unit))


@_source("orifice for the altitude", "mm")
def _orifice(case: Case, unit: Unit) -> tuple[float, ...]:
    """The bore of this heater's sound orifice: its label's, derated for where it stands."""
    healthy, unit = case.healthy(), unit.copy()
    for key in ("orifice.diameter", "orifice.made_for"):
        unit.set(key, healthy[key])
    return (1000 * float(gas.proper_bore(unit)[0]),)
