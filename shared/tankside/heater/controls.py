"""What switches by itself: thermostats, high limits, breakers, and an element that burns out dry.

A subsystem of ``tankside.heater.simulation``: what follows at once from the state (``settle``), what it heats
(``heat``), how long until it acts (``horizon``), and what time does to it (``age``).
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache

import numpy as np
from numpy.typing import NDArray

from tankside.heater.electrics import MAGNETIC, breaker_load, coil_power, trip
from tankside.heater.memo import replayed, stacked
from tankside.heater.model import HeaterModel
from tankside.heater.unit import Unit
from tankside.physics.circuit import Solution

Array = NDArray[np.float64]
Until = Callable[[Array], Array]
"""(..., B) temperatures in °C -> (..., B) s until the tank reaches them; infinite if it never does."""

_COOLING = 120.0
"""s, time constant with which a dry element cools."""
_NEAR = 1e-6
THERMOSTATS = ("thermostat", "12 V thermostat", "pilot thermostat")
HIGH_LIMITS = ("high limit", "12 V high limit", "pilot high limit")
"""Part types: one chain for each side of the heater."""


def _of(unit: Unit, kinds: tuple[str, ...]) -> tuple[str, ...]:
    return _parts(unit.model, kinds)


@cache
def _parts(model: HeaterModel, kinds: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(part for kind in kinds for part in model.of_type(kind))


def settle(unit: Unit) -> None:
    """Everything that follows at once from the state."""
    temperature = unit["tank.temperature"]
    for element in unit.model.of_type("element"):
        unit.values[f"{element}.covered"] = (unit["tank.fill"] >= unit[f"{element}.height"]).astype(float)
        hot = 20.0 + unit[f"{element}.dry_heat"] >= unit[f"{element}.burnout_temperature"] - _NEAR
        unit.values[f"{element}.burnt"] = np.maximum(unit[f"{element}.burnt"], hot.astype(float))
    unit.values["tank.covered"] = (unit["tank.fill"] > 0.02).astype(float)
    for part in _of(unit, THERMOSTATS):
        closed = unit[f"{part}.closed"]
        closed = np.where(temperature >= unit[f"{part}.opens_at"] - _NEAR, 0.0, closed)
        unit.values[f"{part}.closed"] = np.where(
            temperature <= unit[f"{part}.closes_at"] + _NEAR, 1.0, closed
        )
    for part in _of(unit, HIGH_LIMITS):
        trips = temperature >= unit[f"{part}.opens_at"] - _NEAR
        unit.values[f"{part}.tripped"] = np.maximum(unit[f"{part}.tripped"], trips.astype(float))
        unit.values[f"{part}.closed"] = 1.0 - unit[f"{part}.tripped"]
    for part in unit.model.of_type("breaker"):
        trip(unit, part, unit[f"{part}.heat"] >= unit[f"{part}.trips_at"] - _NEAR)


def heat(unit: Unit, solution: Solution) -> Array:
    """(B,) W into the water from the elements that are covered."""
    out = np.zeros(unit.batch)
    for element in unit.model.of_type("element"):
        out += np.where(unit[f"{element}.covered"] > 0, coil_power(unit, element, solution), 0.0)
    return out


def horizon(unit: Unit, solution: Solution, until: Until) -> Array:
    """(B,) s until the next thing switches by itself; infinite if nothing will."""
    out = np.full(unit.batch, np.inf)
    targets, open_ = _targets(unit)
    if len(targets):
        out = np.where(open_, np.inf, until(targets)).min(axis=0)
    for part in unit.model.of_type("breaker"):
        share = breaker_load(unit, part, solution)
        if (share > unit[f"{part}.trips_at"]).any():
            out = np.minimum(out, _time_to_trip(unit, part, share))
    for element in unit.model.of_type("element"):
        power = coil_power(unit, element, solution)
        dry = _runs_dry(unit, element, power)
        if dry.any():
            rise = unit[f"{element}.burnout_temperature"] - 20.0 - unit[f"{element}.dry_heat"]
            joules = np.maximum(rise, 0.0) * unit[f"{element}.heat_capacity"]
            out = np.minimum(out, np.divide(joules, power, out=np.full(unit.batch, np.inf), where=dry))
    return np.maximum(out, 0.0)


@replayed
def _targets(unit: Unit) -> tuple[Array, NDArray[np.bool_]]:
    """(n, B) °C at which a thermostat or a high limit switches next, and which of those have switched for good."""
    targets = [
        np.where(unit[f"{part}.closed"] > 0, unit[f"{part}.opens_at"], unit[f"{part}.closes_at"])
        for part in _of(unit, THERMOSTATS)
    ]
    switched = [np.zeros(unit.batch, dtype=bool) for _ in targets]
    for part in _of(unit, HIGH_LIMITS):
        targets.append(unit[f"{part}.opens_at"])
        switched.append(unit[f"{part}.closed"] <= 0)
    if not targets:
        return np.zeros((0, unit.batch)), np.zeros((0, unit.batch), dtype=bool)
    return stacked(targets), np.stack(switched)


def age(unit: Unit, solution: Solution, step: Array) -> None:
    """(B,) s of time pass for breakers' bimetals and dry elements."""
    for part in unit.model.of_type("breaker"):
        share = breaker_load(unit, part, solution)
        heat = unit[f"{part}.heat"]
        unit.values[f"{part}.heat"] = heat - (share - heat) * np.expm1(-step / unit[f"{part}.time_constant"])
    for element in unit.model.of_type("element"):
        power = coil_power(unit, element, solution)
        heat = unit[f"{element}.dry_heat"]
        gained = heat + power * step / unit[f"{element}.heat_capacity"]
        cooled = heat * np.exp(-step / _COOLING)
        unit.values[f"{element}.dry_heat"] = np.where(_runs_dry(unit, element, power), gained, cooled)


def _runs_dry(unit: Unit, element: str, power: Array) -> NDArray[np.bool_]:
    return (unit[f"{element}.covered"] <= 0) & (power > 1.0)


def _time_to_trip(unit: Unit, part: str, share: Array) -> Array:
    """s until the bimetal has the heat to trip; its heat follows the square of the current."""
    trips, heat, tau = unit[f"{part}.trips_at"], unit[f"{part}.heat"], unit[f"{part}.time_constant"]
    gap = np.where(share > trips, share - trips, 1.0)
    time = tau * np.log(np.maximum(share - heat, gap) / gap)
    time = np.where(share > MAGNETIC**2, 0.0, np.where(share > trips, time, np.inf))
    return np.where(unit[f"{part}.closed"] > 0, time, np.inf)  # one that is open already has nothing to trip
