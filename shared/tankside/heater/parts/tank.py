"""The tank and what sits in its water: the element with its sheath."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from tankside.heater.parts.base import (
    OPEN,
    Array,
    Getter,
    Parameter,
    PartType,
    Path,
    bond,
    flag,
    in_water,
    resistance,
)


def _half(other: bool) -> Callable[[Getter], Array]:
    def value(get: Getter) -> Array:
        part = get("breach_position")
        if other:
            part = 1.0 - part
        ohms = get("resistance") * get("hot_factor") * part
        return np.where(get("burnt") > 0, OPEN, 1.0 / ohms)

    return value


def _breach(get: Getter) -> Array:
    """Water bridges a breached sheath, in proportion to how well the site's water conducts."""
    wet = (get("covered") > 0) & (get("breached") > 0)
    return np.where(wet, get("water_conductivity") / get("breach_wet"), OPEN)


ELEMENT = PartType(
    "element",
    {"1": "terminal 1", "2": "terminal 2", "sheath": "sheath"},
    {
        "resistance": resistance("cold resistance of the coil", None),
        "breach_position": Parameter(
            "", 0.01, 0.99, "where along the coil the sheath is breached, from terminal 1", 0.5
        ),
        "breached": flag("1 if the sheath is breached"),
        "breach_wet": resistance(
            "resistance from the coil through the breach with water at 500 µS/cm in it", 5e3
        ),
        "breach_dry": resistance("resistance from the coil to the sheath when dry", 5e9),
        "thermal_resistance": Parameter("K/W", 0.0, 5.0, "coil above water, per watt, covered", 0.22),
        "heat_capacity": Parameter("J/K", 1.0, 5e3, "of coil, packing and sheath", 170.0),
        "height": Parameter("", 0.0, 1.0, "share of the tank that must be full to cover it", 0.3),
        "burnout_temperature": Parameter("degC", 300.0, 1400.0, "at which the coil parts", 950.0),
    },
    {"burnt": 0.0, "hot_factor": 1.0, "covered": 1.0, "water_conductivity": 1.0, "dry_heat": 0.0},
    (
        Path("coil, first part", "1", "breach", _half(other=False)),
        Path("coil, second part", "breach", "2", _half(other=True)),
        Path("packing", "breach", "sheath", bond("breach_dry")),
        Path("breach", "breach", "tank water", _breach),
        Path("sheath in water", "sheath", "tank water", in_water(40.0)),
    ),
    hidden=("breach",),
)

TANK = PartType(
    "tank",
    {"shell": "shell"},
    {
        "volume": Parameter("m^3", 1e-3, 1.0, "water that fits"),
        "loss": Parameter("W/K", 0.05, 50.0, "heat lost for each kelvin above the room"),
    },
    {"fill": 1.0, "temperature": 10.0, "covered": 1.0, "water_conductivity": 1.0},
    (Path("water on steel", "tank water", "shell", in_water(5.0)),),
)

TYPES = (ELEMENT, TANK)
