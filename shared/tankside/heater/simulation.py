"""A unit in time: heat and controls, closed form from one event to the next, batched.

Between events nothing switches, so the tank follows one exponential and the time of the next
event (thermostat, high limit, breaker, burn-out) has a formula. Every variant of the batch
steps to its own next event; all arrive at the same end.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from tankside.heater.unit import Unit
from tankside.physics.circuit import Solution
from tankside.physics.resistance_heating import nichrome_factor_si
from tankside.physics.tank_heat import heat_capacity_si, temperature_after_si, time_to_temperature_si

Array = NDArray[np.float64]

RELIEF = 98.9
"""°C (210 °F) at which the relief valve passes water and the tank gets no hotter. From memory: references, section 4."""
_MAGNETIC = 6.0
"""Times its rating at which a breaker trips at once (common practice, no source)."""
_COOLING = 120.0
"""s, time constant with which a dry element cools."""
_HAIR = 1e-9
_MAX_EVENTS = 100_000


def energise(unit: Unit) -> Solution:
    """Bring contacts, cover of water and the coil's hot resistance in line with the unit's state; solve its mains side."""
    _settle(unit)
    solution = unit.wiring.solve(unit.values, coupled=False)
    while _instant_trips(unit, solution):
        solution = unit.wiring.solve(unit.values, coupled=False)
    for _ in range(2):  # the coil's resistance changes by a few percent when hot: two passes settle it
        changed = False
        for element in unit.model.of_type("element"):
            power = coil_power(unit, element, solution)
            rise = np.where(
                unit[f"{element}.covered"] > 0, power * unit[f"{element}.thermal_resistance"], 0.0
            )
            base = np.where(
                unit[f"{element}.covered"] > 0, unit["tank.temperature"], 20.0 + unit[f"{element}.dry_heat"]
            )
            factor = np.where(power > 1.0, nichrome_factor_si(base + rise + 273.15), 1.0)
            changed |= bool(np.any(np.abs(factor - unit[f"{element}.hot_factor"]) > 1e-6))
            unit.values[f"{element}.hot_factor"] = factor
        if not changed:
            break
        solution = unit.wiring.solve(unit.values, coupled=False)
    return solution


def coil_power(unit: Unit, element: str, solution: Solution) -> Array:
    """(B,) W turned to heat in an element's coil."""
    power = np.zeros(unit.batch)
    for half in ("coil, first part", "coil, second part"):
        k = unit.wiring.branch[f"{element}: {half}"]
        branch = unit.wiring.circuit.conductances[k]
        power += np.abs(solution.between(branch.a, branch.b)) ** 2 * solution.conductance[:, k]
    return power


def advance(unit: Unit, minutes: float) -> None:
    """Let so many minutes pass, as the unit stands."""
    left = np.full(unit.batch, minutes * 60.0)
    for _ in range(_MAX_EVENTS):
        solution = energise(unit)
        if not np.any(left > _HAIR):
            return
        left = left - _step(unit, left, solution)
    raise RuntimeError(f"more than {_MAX_EVENTS} events in {minutes} minutes: a control chatters")


def _step(unit: Unit, left: Array, solution: Solution) -> Array:
    """Go to each variant's next event, or to its end; the seconds taken."""
    powers = {element: coil_power(unit, element, solution) for element in unit.model.of_type("element")}
    covered = {element: unit[f"{element}.covered"] > 0 for element in powers}
    heat = sum((np.where(covered[e], p, 0.0) for e, p in powers.items()), np.zeros(unit.batch))
    temperature, room = unit["tank.temperature"], unit["site.room"]
    capacity = heat_capacity_si(np.maximum(unit["tank.fill"], 0.02) * unit["tank.volume"])
    loss = unit["tank.loss"]

    def until(target: Array) -> Array:
        return time_to_temperature_si(target, temperature, capacity, heat, loss, room)

    step = left.copy()
    for part in unit.model.of_type("thermostat"):
        closed = unit[f"{part}.closed"] > 0
        target = np.where(closed, unit[f"{part}.opens_at"], unit[f"{part}.closes_at"])
        step = np.minimum(step, until(target))
    for part in unit.model.of_type("high limit"):
        step = np.minimum(step, np.where(unit[f"{part}.closed"] > 0, until(unit[f"{part}.opens_at"]), np.inf))
    breakers = {part: _breaker_current(unit, part, solution) for part in unit.model.of_type("breaker")}
    for part, share in breakers.items():
        step = np.minimum(step, _time_to_trip(unit, part, share))
    for element, power in powers.items():
        rise = unit[f"{element}.burnout_temperature"] - 20.0 - unit[f"{element}.dry_heat"]
        dry = ~covered[element] & (power > 1.0)
        with np.errstate(divide="ignore"):
            burn = np.where(dry, np.maximum(rise, 0.0) * unit[f"{element}.heat_capacity"] / power, np.inf)
        step = np.minimum(step, burn)
    step = np.maximum(step, 0.0)

    warmed = temperature_after_si(step, temperature, capacity, heat, loss, room)
    unit.values["tank.temperature"] = np.minimum(warmed, RELIEF)
    for part, share in breakers.items():
        tau = unit[f"{part}.time_constant"]
        unit.values[f"{part}.heat"] = share + (unit[f"{part}.heat"] - share) * np.exp(-step / tau)
    for element, power in powers.items():
        dry = ~covered[element] & (power > 1.0)
        gained = unit[f"{element}.dry_heat"] + power * step / unit[f"{element}.heat_capacity"]
        unit.values[f"{element}.dry_heat"] = np.where(
            dry, gained, unit[f"{element}.dry_heat"] * np.exp(-step / _COOLING)
        )
    return step


def _breaker_current(unit: Unit, part: str, solution: Solution) -> Array:
    """Square of the current over the rating."""
    return (branch_current(unit, f"{part}: contact", solution) / unit[f"{part}.rating"]) ** 2


def _time_to_trip(unit: Unit, part: str, share: Array) -> Array:
    """s until the bimetal has the heat to trip; its heat follows the square of the current."""
    trips, heat, tau = unit[f"{part}.trips_at"], unit[f"{part}.heat"], unit[f"{part}.time_constant"]
    with np.errstate(divide="ignore", invalid="ignore"):
        time = tau * np.log((share - heat) / (share - trips))
    time = np.where(share > trips, np.maximum(time, 0.0), np.inf)
    return np.where(share > _MAGNETIC**2, 0.0, time)


def _settle(unit: Unit) -> None:
    """Everything that follows at once from the state: cover of water, contacts, trips, burn-out."""
    temperature = unit["tank.temperature"]
    for element in unit.model.of_type("element"):
        unit.values[f"{element}.covered"] = (unit["tank.fill"] >= unit[f"{element}.height"]).astype(float)
        hot = 20.0 + unit[f"{element}.dry_heat"] >= unit[f"{element}.burnout_temperature"] - 1e-6
        unit.values[f"{element}.burnt"] = np.maximum(unit[f"{element}.burnt"], hot.astype(float))
    unit.values["tank.covered"] = (unit["tank.fill"] > 0.02).astype(float)
    for part in unit.model.of_type("thermostat"):
        closed = unit[f"{part}.closed"]
        closed = np.where(temperature >= unit[f"{part}.opens_at"] - 1e-6, 0.0, closed)
        unit.values[f"{part}.closed"] = np.where(temperature <= unit[f"{part}.closes_at"] + 1e-6, 1.0, closed)
    for part in unit.model.of_type("high limit"):
        trip = temperature >= unit[f"{part}.opens_at"] - 1e-6
        unit.values[f"{part}.tripped"] = np.maximum(unit[f"{part}.tripped"], trip.astype(float))
        unit.values[f"{part}.closed"] = 1.0 - unit[f"{part}.tripped"]
    for part in unit.model.of_type("breaker"):
        _trip(unit, part, unit[f"{part}.heat"] >= unit[f"{part}.trips_at"] - 1e-6)


def _trip(unit: Unit, part: str, trip: NDArray[np.bool_]) -> bool:
    trip = trip & (unit[f"{part}.closed"] > 0)
    unit.values[f"{part}.closed"] = np.where(trip, 0.0, unit[f"{part}.closed"])
    unit.values[f"{part}.tripped"] = np.maximum(unit[f"{part}.tripped"], trip.astype(float))
    return bool(trip.any())


def _instant_trips(unit: Unit, solution: Solution) -> bool:
    """Breakers that a short circuit or a leak to ground opens at once; whether any did."""
    any_trip = False
    for part in unit.model.of_type("breaker"):
        trip = _breaker_current(unit, part, solution) > _MAGNETIC**2
        for supply in unit.model.of_type("mains supply"):
            trip = trip | (branch_current(unit, f"{supply}: ground", solution) > unit[f"{part}.residual"])
        any_trip |= _trip(unit, part, trip)
    return any_trip


def branch_current(unit: Unit, name: str, solution: Solution) -> Array:
    """(B,) A through one branch of the wiring, as a magnitude."""
    k = unit.wiring.branch[name]
    branch = unit.wiring.circuit.conductances[k]
    return np.abs(solution.between(branch.a, branch.b)) * solution.conductance[:, k]


def draw(unit: Unit, litres: float) -> None:
    """Run so many litres of hot water off; cold comes in and mixes with what is left (one node)."""
    share = litres / 1000.0 / unit["tank.volume"]
    cold = unit["site.cold_water"]
    mixed = cold + (unit["tank.temperature"] - cold) * np.exp(-share)
    unit.values["tank.temperature"] = np.where(unit["tank.fill"] > 0.98, mixed, unit["tank.temperature"])


def drain(unit: Unit) -> None:
    """Empty the tank."""
    unit.set("tank.fill", 0.0)
    _settle(unit)


def fill(unit: Unit) -> None:
    """Fill the tank with cold water; what was in it mixes."""
    share = unit["tank.fill"]
    unit.values["tank.temperature"] = share * unit["tank.temperature"] + (1 - share) * unit["site.cold_water"]
    unit.set("tank.fill", 1.0)
    for element in unit.model.of_type("element"):
        unit.set(f"{element}.dry_heat", 0.0)
    _settle(unit)
