"""One heater's water side with some of its numbers changed: what lesson 9 and its questions ask of it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

from tankside.heater import frost, plumbing
from tankside.heater.history import sources
from tankside.heater.model import load_model
from tankside.heater.simulation import advance, settle
from tankside.heater.unit import Unit, make_unit
from tankside.measures import amount
from tankside.physics.hot_water import heat_to_warm_si
from tankside.physics.tank_heat import heat_capacity_si, time_to_temperature_si
from tankside.physics.water import T0

Array = NDArray[np.float64]
Changes = Mapping[str, float | Sequence[float] | Array]

RUNS = 0.5
"""L/min from which a tap can be said to run."""


def degrees(celsius: float) -> str:
    """A temperature as the learner reads it."""
    return amount(float(celsius), "degC", "temperature")


def heater(model: str, changes: Changes | None = None, batch: int = 1, warm: bool = True) -> Unit:
    """A healthy unit on the middle of its sites, with some numbers changed.

    Parameters
    ----------
    changes : "part.parameter" -> number, or one for each variant, in the part type's units
    warm : its water is as hot as its thermostat lets it get; else as cold as it comes in
    """
    unit = make_unit(load_model(model), batch=batch)
    for key, value in (changes or {}).items():
        unit.set(key, np.asarray(value, dtype=float))
    if warm:
        unit.set("tank.temperature", unit["thermostat.opens_at"])
    settle(unit)
    plumbing.refilled(unit, plumbing.full(unit))
    return unit


@dataclass(frozen=True)
class Places:
    """(B,) °C of the water that runs at three places, L/min at the tap, and L/min with the heater's cold shut."""

    outlet: Array
    """A: out of the tank, ahead of the bypass's tee."""
    behind: Array
    """B: behind that tee, ahead of the taps."""
    tap: Array
    """C."""
    flow: Array
    past: Array


def three_places(unit: Unit) -> Places:
    """What runs while a hot tap is open; a mixing tap's crossing joins behind B."""
    sound = unit.copy()
    sound.set("house.crossover", 0.0)
    tap = plumbing.hot_tap(unit)
    return Places(
        unit["tank.temperature"].copy(),
        plumbing.hot_tap(sound).temperature,
        tap.temperature,
        tap.flow * 60e3,
        plumbing.hot_tap(unit, inlet_open=False).flow * 60e3,
    )


@dataclass(frozen=True)
class Warming:
    """One heating from cold with the taps shut, and an hour on: (B,)."""

    supply: Array
    """Pa, with a tap just run."""
    highest: Array
    """Pa, with the taps shut."""
    caught: Array
    """mL out of the relief valve until the thermostat opens."""
    after: Array
    """mL in the hour after that."""
    temperature: Array
    """°C at the end."""


@cache
def warming(model: str, changes: tuple[tuple[str, float | tuple[float, ...]], ...], batch: int) -> Warming:
    """``changes`` as in ``heater``, as pairs."""
    unit = heater(model, dict(changes), batch, warm=False)
    supply = unit["inlet.pressure"].copy()
    highest, opens = supply.copy(), float(unit["thermostat.opens_at"].max())
    for _ in range(150):
        advance(unit, 1.0)
        highest = np.maximum(highest, plumbing.pressure(unit))
        if unit["tank.temperature"].max() >= opens - 0.2:
            break
    caught = unit["relief_valve.passed"] * 1e3
    advance(unit, 60.0)
    return Warming(
        supply, highest, caught, unit["relief_valve.passed"] * 1e3 - caught, unit["tank.temperature"].copy()
    )


@cache
def heats(model: str, sediment: float = 0.0) -> dict[str, float]:
    """W into the water: "mains", "gas" and "both", as far as the model has them; ``sediment`` in m."""
    unit = heater(model, {"vessel.sediment": sediment}, warm=False)
    advance(unit, 0.0)
    found = {side.name: side.keeps * side.calls for side in sources(unit)}
    return {**found, "both": sum(found.values())} if len(found) > 1 else found


def minutes_to_heat(model: str, watts: float, cold: float | None = None, hot: float | None = None) -> float:
    """min from the cold water's °C to ``hot`` (the thermostat's if None), with what the jacket loses."""
    unit = heater(model, warm=False)
    begin = float(unit["site.cold_water"][0]) if cold is None else cold
    end = float(unit["thermostat.opens_at"][0]) if hot is None else hot
    capacity = heat_capacity_si(float(unit["tank.volume"][0]))
    loss, room = float(plumbing.standing(unit)[0][0]), float(unit["site.room"][0])
    return float(time_to_temperature_si(end, begin, capacity, watts, loss, room)) / 60.0


def recovery(watts: float, cold: float, hot: float) -> float:
    """L an hour that so many W warm from ``cold`` to ``hot`` °C."""
    return float(watts * 3600.0 / heat_to_warm_si(1e-3, cold + T0, hot + T0))


@dataclass(frozen=True)
class Freezing:
    """h from cold water at the tap's temperature: infinite if never."""

    flap: float
    """Ice in the check valve begins to bend its flap."""
    split: float
    """Its body cracks: it is frozen through."""
    ice: float
    """Ice in the tank begins."""
    tank: float
    """The tank cracks."""


@cache
def freezing(model: str, low: float) -> Freezing:
    """What hard air at ``low`` °C does to a heater left full, and when; to a quarter of an hour."""
    hours = np.linspace(0.0, 1000.0, 4001)
    unit = heater(model, batch=len(hours), warm=False)
    found = frost.frost(unit, low, hours)

    def first(value: Array) -> float:
        return float(hours[np.argmax(value > 0)]) if (value > 0).any() else float("inf")

    return Freezing(first(found.jammed), first(found.split), first(found.ice), first(found.seep))


def pressure_when_warm(model: str, degrees: Array, changes: Changes | None = None) -> Array:
    """Pa above the air's at each of those °C, shut when the water was as cold as it comes in."""
    unit = heater(model, changes, len(degrees), warm=False)
    unit.set("tank.temperature", degrees)
    return plumbing.pressure(unit)
