"""The unit's network as it stands: contacts, trips, the hot coil, and where the current goes."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from tankside.heater.memo import FEW
from tankside.heater.unit import Solved, Unit
from tankside.physics.circuit import Drive, Solution
from tankside.physics.resistance_heating import nichrome_factor_si

Array = NDArray[np.float64]

MAGNETIC = 6.0
"""Times its rating at which a breaker trips at once (common practice, no source)."""
_HALVES = ("coil, first part", "coil, second part")


def solve(unit: Unit) -> Solution:
    """Solve the mains side, open what trips at once, and bring the coils to their hot resistance."""
    solution = side(unit, "alternating")
    while _instant_trips(unit, solution):
        solution = side(unit, "alternating")
    for _ in range(8):  # the coil's resistance changes by a few percent when hot: four passes settle it
        if not _heat_coils(unit, solution):
            break
        solution = side(unit, "alternating")
    return solution


def side(unit: Unit, drive: Drive) -> Solution:
    """One side of the network with nothing touching it, and the cables' capacitance left out.

    Only variants in which anything changed since the last time are solved: each by itself, so the bits are the same.
    """
    net, frequency = unit.wiring.sides[drive], unit.wiring.frequency
    if unit.batch <= FEW:
        return net.still(unit.values, drive, frequency)
    inputs = net.inputs(unit.values)
    kept = unit.solved.get(drive)
    if kept is None or kept.inputs.shape != inputs.shape:
        numbers = net.filled(inputs, unit.values)
        solution = net.circuit.solve(*numbers, drive=drive, frequency=frequency)
    else:
        old = kept.solution
        moved = (inputs != kept.inputs).any(axis=0)
        if not moved.any():
            return old
        conductance, emf, inner = net.filled(inputs, unit.values)
        new = net.circuit.solve(
            conductance[moved], emf[moved], inner[moved], drive=drive, frequency=frequency
        )
        potentials, currents = old.potentials.copy(), old.source_currents.copy()
        potentials[moved], currents[moved] = new.potentials, new.source_currents
        solution = Solution(net.circuit, potentials, currents, conductance)
    unit.solved[drive] = Solved(solution, inputs)
    return solution


def power_converters(unit: Unit, solution: Solution) -> bool:
    """Tell each converter whether the mains feeds it; whether that changed for any variant."""
    changed = False
    for part in unit.model.of_type("converter"):
        volts = np.abs(solution.between(f"{part}.line", f"{part}.neutral"))
        powered = (volts >= unit[f"{part}.needs"]).astype(float)
        changed |= bool((powered != unit[f"{part}.powered"]).any())
        unit.values[f"{part}.powered"] = powered
    return changed


def _heat_coils(unit: Unit, solution: Solution) -> bool:
    """Give each coil the resistance that goes with its power; whether any changed.

    A coil that is settled stays as it is, so that no variant depends on what the rest of its batch does.
    """
    changed = False
    for element in unit.model.of_type("element"):
        power = coil_power(unit, element, solution)
        covered = unit[f"{element}.covered"] > 0
        rise = np.where(covered, power * unit[f"{element}.thermal_resistance"], 0.0)
        base = np.where(covered, unit["tank.temperature"], 20.0 + unit[f"{element}.dry_heat"])
        on, before = power > 1.0, unit[f"{element}.hot_factor"]
        if not on.any() and (before == 1.0).all():
            continue
        factor = (
            np.where(on, nichrome_factor_si(base + rise + 273.15), 1.0) if on.any() else np.ones(unit.batch)
        )
        moved = np.abs(factor - before) > 1e-6
        changed |= bool(moved.any())
        unit.values[f"{element}.hot_factor"] = np.where(moved, factor, before)
    return changed


def coil_power(unit: Unit, element: str, solution: Solution) -> Array:
    """(B,) W turned to heat in an element's coil."""
    first, second = (solution.power(f"{element}: {half}") for half in _HALVES)
    return first + second


def branch_current(unit: Unit, name: str, solution: Solution) -> Array:
    """(B,) A through one branch of the wiring, as a magnitude."""
    return solution.current(name)


def breaker_load(unit: Unit, part: str, solution: Solution) -> Array:
    """(B,) square of a breaker's current over its rating."""
    return (branch_current(unit, f"{part}: contact", solution) / unit[f"{part}.rating"]) ** 2


def trip(unit: Unit, part: str, when: NDArray[np.bool_]) -> bool:
    """Open a closed breaker in the variants where ``when`` holds; whether any opened."""
    if not when.any():
        return False
    opens = when & (unit[f"{part}.closed"] > 0)
    unit.values[f"{part}.closed"] = np.where(opens, 0.0, unit[f"{part}.closed"])
    unit.values[f"{part}.tripped"] = np.maximum(unit[f"{part}.tripped"], opens.astype(float))
    return bool(opens.any())


def _instant_trips(unit: Unit, solution: Solution) -> bool:
    """Breakers that a short circuit or a leak to ground opens at once; whether any did."""
    any_trip = False
    for part in unit.model.of_type("breaker"):
        opens = breaker_load(unit, part, solution) > MAGNETIC**2
        for supply in unit.model.of_type("mains supply"):
            opens = opens | (branch_current(unit, f"{supply}: ground", solution) > unit[f"{part}.residual"])
        any_trip |= trip(unit, part, opens)
    return any_trip
