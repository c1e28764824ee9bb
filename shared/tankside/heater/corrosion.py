"""The anode and the tank's steel in time: current, metal lost, pits.

A subsystem of ``tankside.heater.simulation``; it does nothing on a model without a "vessel". Metal changes
within weeks, not minutes: seconds are collected, with the mean temperature of the water, and spent a day at a
time by the working point of the galvanic cell (``physics.galvanic``), at the middle of the step.

Sources
-------
[1] Mixed potential of steel and anode, Dwight's rod: ``physics.galvanic``. Faraday: ``physics.corrosion``.
[2] A chalk film from hard water covers part of the bare steel: a teaching model of ours, right in its sign
    (softened water used up magnesium "at a much higher rate": ASHRAE abstract).
[3] Aluminum in fresh water grows a tight oxide and needs no anode; its slow loss is an order of magnitude of ours.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

from tankside.heater.model import HeaterModel
from tankside.heater.unit import REFERENCE_CONDUCTIVITY, Unit
from tankside.physics.circuit import Solution
from tankside.physics.corrosion import METALS, YEAR, penetration_rate_si
from tankside.physics.galvanic import (
    GalvanicCell,
    Steel,
    galvanic_cell_si,
    patch_resistance_si,
    rod_resistance_si,
)
from tankside.physics.water import T0
from tankside.physics.water_quality import resistivity_si

Array = NDArray[np.float64]

ALLOYS = ("magnesium", "aluminum", "zinc")
POTENTIALS = (-1.55, -1.05, -1.10)
"""V against copper sulfate (magnesium and zinc from memory and MIL-HDBK-1004/10; aluminum from memory)."""
DAY = 86_400.0
ALUMINUM_LOSS = 5e-4
"""A/m² that an aluminum tank dissolves by in fresh water (order of magnitude, ours)."""
CHALK_HALVES = 150.0
"""mg/L of hardness at which chalk covers half of the bare steel (ours)."""
PERFORATED = 2e-4
"""kg/s through a pit that has gone through the wall (ours)."""


@cache
def _part(model: HeaterModel, kind: str) -> str | None:
    return next(iter(model.of_type(kind)), None)


def _one(unit: Unit, kind: str) -> str | None:
    return _part(unit.model, kind)


def bond(unit: Unit) -> Array:
    """(B,) ohm from the anode's head to the tank: the model's bond wire."""
    anode = _one(unit, "anode")
    for wire in unit.model.wires.values():
        if f"{anode}.head" in (wire.from_, wire.to):
            return unit[f"{wire.id}.resistance"]
    return np.full(unit.batch, 1e-3)


def radius(unit: Unit) -> Array:
    """(B,) m of the rod as it is now; the core's when it is used up, zero if a plain plug is fitted."""
    anode = _one(unit, "anode")
    if anode is None:
        return np.zeros(unit.batch)
    new, core = unit[f"{anode}.radius"], unit[f"{anode}.core"]
    now = np.sqrt(new**2 - unit[f"{anode}.used"] * (new**2 - core**2))
    return np.where(unit[f"{anode}.missing"] > 0, 0.0, now)


def metal(unit: Unit) -> tuple[Array, Array]:
    """(B,) kg of metal on the new rod, and C/kg of useful charge in it."""
    anode = _one(unit, "anode")
    if anode is None:
        return np.zeros(unit.batch), np.ones(unit.batch)
    which = unit[f"{anode}.alloy"].round().astype(int)
    density = np.array([METALS[name].density for name in ALLOYS])[which]
    charge = np.array([METALS[name].capacity for name in ALLOYS])[which]
    area = np.pi * (unit[f"{anode}.radius"] ** 2 - unit[f"{anode}.core"] ** 2)
    return area * unit[f"{anode}.length"] * density, charge * unit[f"{anode}.efficiency"]


def bare_steel(unit: Unit) -> Array:
    """(B,) m² that draw current: what the lining leaves bare and chalk doesn't cover."""
    vessel, inlet = _one(unit, "vessel"), _one(unit, "cold inlet")
    assert vessel is not None
    hardness = unit[f"{inlet}.hardness"] if inlet else 0.0
    return unit[f"{vessel}.bare_area"] / (1.0 + hardness / CHALK_HALVES)


def cell(unit: Unit, temperature: Array | None = None) -> GalvanicCell:
    """(B,) working point of anode and steel, at the water's temperature in °C (the tank's now, if not given)."""
    vessel, anode = _one(unit, "vessel"), _one(unit, "anode")
    assert vessel is not None
    warm = np.clip(unit["tank.temperature"] if temperature is None else temperature, 0.0, 99.0)
    conductivity = unit["tank.water_conductivity"] * REFERENCE_CONDUCTIVITY
    resistivity = resistivity_si(np.maximum(conductivity, 1.0), warm + T0)
    area = bare_steel(unit)
    path = np.full(unit.batch, np.inf)
    potential: Array = np.full(unit.batch, POTENTIALS[0])
    if anode:
        gives = (unit[f"{anode}.missing"] <= 0) & (unit[f"{anode}.used"] < 1.0) & (unit["tank.covered"] > 0)
        now = np.where(radius(unit) > 0, radius(unit), unit[f"{anode}.core"])
        ohms = rod_resistance_si(resistivity, unit[f"{anode}.length"], 2.0 * now)
        ohms = ohms + patch_resistance_si(resistivity, np.maximum(area, 1e-9), unit[f"{vessel}.patches"])
        path = np.where(gives, ohms + bond(unit) + unit[f"{anode}.film"], np.inf)
        potential = np.where(
            unit[f"{anode}.alloy"].round() > 0,
            np.array(POTENTIALS)[unit[f"{anode}.alloy"].round().astype(int)],
            unit[f"{anode}.potential"],
        )
    return galvanic_cell_si(Steel(), area, path, potential)


def spend(unit: Unit, seconds: Array, temperature: Array) -> Array:
    """(B,) s at a mean temperature wear the rod and the steel; the charge that the rod gave, in C."""
    vessel, anode = _one(unit, "vessel"), _one(unit, "anode")
    assert vessel is not None
    given = np.zeros(unit.batch)
    now = cell(unit, temperature)
    if anode:
        mass, per_kilo = metal(unit)
        whole = mass * per_kilo
        used = unit[f"{anode}.used"].copy()
        half = used + np.maximum(now.current, 0.0) * seconds / 2 / whole
        unit.values[f"{anode}.used"] = np.where(used < 1.0, np.minimum(half, 1.0 - 1e-9), 1.0)
        now = cell(unit, temperature)
        left = whole * (1.0 - used)
        given = np.minimum(np.maximum(now.current, 0.0) * seconds, left)
        unit.values[f"{anode}.used"] = np.where(given >= left, 1.0, used + given / whole)
        unit.values[f"{anode}.charge"] = unit[f"{anode}.charge"] + given
    steel = penetration_rate_si(now.dissolving) * unit[f"{vessel}.pitting"]
    light = penetration_rate_si(ALUMINUM_LOSS, "aluminum") * unit[f"{vessel}.pitting"]
    speed = np.where(unit[f"{vessel}.aluminum"] > 0, light, steel)
    pit = (
        unit[f"{vessel}.pit"]
        + np.where(unit["tank.covered"] > 0, speed * seconds, 0.0) / unit[f"{vessel}.wall"]
    )
    unit.values[f"{vessel}.pit"] = np.minimum(pit, 1.0)
    through = unit[f"{vessel}.pit"] >= 1.0
    unit.values[f"{vessel}.seep"] = np.where(
        through, np.maximum(unit[f"{vessel}.seep"], PERFORATED), unit[f"{vessel}.seep"]
    )
    return given


# The subsystem --------------------------------------------------------------------------------------------------


def settle(unit: Unit) -> None:
    """Nothing of metal happens at once."""


def heat(unit: Unit, solution: Solution) -> Array:
    """(B,) W: none."""
    return np.zeros(unit.batch)


def horizon(unit: Unit, solution: Solution, until: Callable[[Array], Array]) -> Array:
    """(B,) s: nothing switches."""
    return np.full(unit.batch, np.inf)


def age(unit: Unit, solution: Solution, step: Array) -> None:
    """(B,) s pass; once a day has come together, it is spent."""
    if not _one(unit, "vessel"):
        return
    waiting = unit.values.get("corrosion.seconds", np.zeros(unit.batch)) + step
    warmth = unit.values.get("corrosion.warmth", np.zeros(unit.batch)) + step * unit.values.get(
        "tank.mean", unit["tank.temperature"]
    )
    if (waiting >= DAY).any():
        spend(unit, waiting, np.divide(warmth, waiting, out=np.zeros(unit.batch), where=waiting > 0))
        waiting, warmth = np.zeros(unit.batch), np.zeros(unit.batch)
    unit.values["corrosion.seconds"], unit.values["corrosion.warmth"] = waiting, warmth


# What a course asks ---------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Wear:
    """Anode and tank over the years, one entry an age: years, m of radius, A, kg left, V CSE, share of the wall eaten."""

    years: Array
    radius: Array
    current: Array
    mass: Array
    steel: Array
    pit: Array
    core: float
    length: float

    @property
    def life(self) -> float:
        """Years until the rod is used up; infinite if it isn't within the time looked at."""
        spent = self.radius <= self.core * (1 + 1e-6)
        return float(self.years[np.argmax(spent)]) if spent.any() else float("inf")

    @property
    def perforated(self) -> float:
        """Years until the deepest pit is through the wall; infinite if it isn't within the time looked at."""
        through = self.pit >= 1.0
        return float(self.years[np.argmax(through)]) if through.any() else float("inf")


def wear(unit: Unit, years: float, temperature: float = 57.0, step: float = 1 / 24) -> Wear:
    """The first variant's anode and tank, aged for so many years at a mean water temperature in °C."""
    twin = unit.take([0])
    anode = _one(twin, "anode")
    warm = np.full(1, temperature)
    count = max(1, round(years / step))
    rows = []
    for k in range(count + 1):
        if k:
            spend(twin, np.full(1, years / count * YEAR), warm)
        now, (mass, _) = cell(twin, warm), metal(twin)
        used = twin[f"{anode}.used"][0] if anode else 1.0
        rows.append(
            (
                k * years / count,
                float(radius(twin)[0]),
                float(np.atleast_1d(now.current)[0]),
                float(mass[0]) * (1.0 - float(used)),
                float(np.atleast_1d(now.steel)[0]),
                float(twin[f"{_one(twin, 'vessel')}.pit"][0]),
            )
        )
    ages, radii, currents, kilos, potentials, pits = (np.array(column) for column in zip(*rows, strict=True))
    core = float(twin[f"{anode}.core"][0]) if anode else 0.0
    length = float(twin[f"{anode}.length"][0]) if anode else 0.0
    return Wear(ages, radii, currents, kilos, potentials, pits, core, length)
