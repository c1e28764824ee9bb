"""What a cold spell does to a heater that was left full of water, and how to leave one so that it does nothing.

Frost takes the small fittings first: a check valve's few millilitres freeze within hours, a lagged tank takes days.
Nothing here knows a fault; the catalogue's faults of frost are what these laws give (a test holds the two together).

The laws
--------
[1] Cooling and freezing at a constant air temperature: one exponential down to 0 °C, then the heat that leaves
    freezes water, m L = U A (0 - t) time (Stefan's lumped form; ``plumbing`` follows the tank by the same law).
[2] Ice takes 9 % more room. A fitting's flap is bent in the measure in which the fitting is frozen; once it is frozen
    through, what it grows further cracks the body. A tank cracks once its ice has used up cushion and give.
[3] How far a crack opens for so much ice is an order of magnitude of ours.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tankside.heater import plumbing
from tankside.heater.unit import Unit
from tankside.physics.tank_heat import heat_capacity_si

Array = NDArray[np.float64]

FITTING_WATER = 0.06
"""kg of water that stands in the check valve and its elbow (ours)."""
FITTING_LOSS = 0.12
"""W/K from that fitting to the air: bare brass the size of a fist, in still air (ours)."""
FLAP = 0.85
"""Share of the bore that a flap blocks which ice has bent as far as it goes (ours)."""
FITTING_CRACK = 9e-3
"""kg/s through a fitting's widest crack at house pressure: one that stood frozen for as long again as it took (ours)."""
SEAM = 0.05
"""kg/s through a tank's widest crack, all its water frozen, that still lets it be filled (ours)."""
HAIR = 0.1
"""Share of those flows that the finest crack passes already (ours)."""


@dataclass(frozen=True)
class Frost:
    """What a spell leaves behind, (B,) each; all zero where the heater was drained or it never froze."""

    ice: Array
    """kg in the tank at its end."""
    jammed: Array
    """Share of the check valve's bore that its bent flap blocks."""
    leaks_back: Array
    """Share of its bore that the flap leaves open."""
    split: Array
    """kg/s through a crack in the check valve's body, thawed and at house pressure."""
    seep: Array
    """kg/s through a crack in the tank, likewise."""

    @property
    def damage(self) -> NDArray[np.bool_]:
        """(B,) whether anything broke."""
        return (self.jammed > 0) | (self.split > 0) | (self.seep > 0)


def hours_to_freeze(mass: Array, loss: Array, low: Array, start: Array) -> tuple[Array, Array]:
    """(B,) h until water at ``start`` °C begins to freeze in air at ``low`` °C, and until so many kg are frozen through.

    Infinite where the air doesn't freeze. ``loss`` in W/K.
    """
    cold = low < 0
    air = np.where(cold, low, -1.0)
    capacity = heat_capacity_si(mass / 1000.0)
    begins = capacity / loss * np.log((np.maximum(start, 0.0) - air) / -air) / 3600.0
    through = begins + mass * plumbing.MELTING / (loss * -air) / 3600.0
    return np.where(cold, begins, np.inf), np.where(cold, through, np.inf)


def frost(unit: Unit, low: float | Array, hours: float | Array) -> Frost:
    """What so many hours in air at ``low`` °C do to a unit, unheated, its taps shut. The unit stays as it is.

    Parameters
    ----------
    unit : one with a water side
    low : °C, from -60 to 40
    hours : from 0 to a year

    Raises
    ------
    ValueError
        ``low`` or ``hours`` is out of range, or the model has no water side.
    """
    low, hours = (np.broadcast_to(np.asarray(x, dtype=float), (unit.batch,)) for x in (low, hours))
    if not ((low >= -60) & (low <= 40)).all():
        raise ValueError(f"low = {low} is out of range; expected -60 to 40 °C")
    if not ((hours >= 0) & (hours <= 8784)).all():
        raise ValueError(f"hours = {hours} is out of range; expected 0 to 8784, a year")
    if not plumbing.has_plumbing(unit):
        raise ValueError(f"{unit.model.name} has no water side; expected a model with a cold inlet")
    wet = plumbing.full(unit)
    start = unit["tank.temperature"]
    loss = plumbing.standing(unit)[0]
    kilos = unit["tank.volume"] * 1000.0
    ones = np.ones(unit.batch)
    begins, through = hours_to_freeze(kilos, loss, low, start)
    ice = np.where(wet, kilos * _share(hours, begins, through), 0.0)
    room = np.minimum(plumbing.ice_limit(unit), 0.99 * kilos)
    seep = _crack(SEAM, (ice - room) / (kilos - room))
    if not unit.model.of_type("check valve"):
        nothing = np.zeros(unit.batch)
        return Frost(ice, nothing, nothing, nothing, seep)
    first, whole = hours_to_freeze(FITTING_WATER * ones, FITTING_LOSS * ones, low, np.minimum(start, 20.0))
    frozen = np.where(wet, _share(hours, first, whole), 0.0)
    split = _crack(FITTING_CRACK, np.where(wet, hours / whole - 1.0, 0.0))
    return Frost(ice, FLAP * frozen, frozen, split, seep)


def _crack(widest: float, share: Array) -> Array:
    """(B,) kg/s: from a hair crack, as soon as the share is above 0, to the widest at 1 and beyond."""
    return np.where(share > 0, widest * (HAIR + (1.0 - HAIR) * np.minimum(share, 1.0)), 0.0)


def _share(hours: Array, begins: Array, through: Array) -> Array:
    """(B,) 0 to 1 of the water frozen."""
    span = np.where(np.isfinite(through), through - np.where(np.isfinite(begins), begins, 0.0), 1.0)
    since = np.where(np.isfinite(begins), hours - np.where(np.isfinite(begins), begins, 0.0), -1.0)
    return np.clip(since / span, 0.0, 1.0)


def leave_in_frost(unit: Unit, low: float | Array, hours: float | Array) -> Frost:
    """Let the spell happen to the unit: cracks and a bent flap stay, the ice has thawed, the water is as cold as the tap's."""
    found = frost(unit, low, hours)
    for kind, key, value in (
        ("check valve", "jammed", found.jammed),
        ("check valve", "leaks_back", found.leaks_back),
        ("check valve", "split", found.split),
        ("vessel", "seep", found.seep),
    ):
        for part in unit.model.of_type(kind):
            unit.values[f"{part}.{key}"] = np.maximum(unit[f"{part}.{key}"], value)
    unit.values["tank.temperature"] = np.minimum(unit["tank.temperature"], unit["site.cold_water"])
    return found
