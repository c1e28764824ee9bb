"""The sacrificial anode. Its head is in metal contact with the tank by a bond wire of the model, its rod is in the water."""

from __future__ import annotations

from tankside.heater.parts.base import OPEN, Array, Getter, Parameter, PartType, Path, flag

_WET = 60.0
"""Ohm from a bare rod to the water at 500 µS/cm (a rod of 0.2 m by 19 mm, Dwight's formula)."""


def _rod(get: Getter) -> Array:
    """The rod in the water, while there is a rod and water; an oxide film stands in series."""
    present = (get("covered") > 0) * (get("missing") <= 0)
    through = 1.0 / (_WET / get("water_conductivity") + get("film"))
    return present * through + OPEN


ANODE = PartType(
    "anode",
    {"head": "head"},
    {
        "length": Parameter("m", 0.02, 2.0, "of the rod"),
        "radius": Parameter("m", 2e-3, 0.05, "of the rod when new", 9.5e-3),
        "core": Parameter("m", 2e-4, 0.01, "radius of the steel wire inside", 1.6e-3),
        "alloy": Parameter("", 0.0, 2.0, "0 magnesium, 1 aluminum, 2 zinc", 0.0),
        "potential": Parameter(
            "V", -2.0, -0.5, "against copper sulfate, when it gives no current: all that steel can get", -1.55
        ),
        "efficiency": Parameter("", 0.05, 1.0, "share of its charge that reaches the steel", 0.5),
        "film": Parameter("ohm", 0.0, 1e7, "of an oxide film on the rod", 0.0),
        "joint_leak": Parameter("kg/s", 0.0, 0.1, "of water past its thread", 0.0),
        "missing": flag("1 if a plain plug sits in its place"),
    },
    {"used": 0.0, "covered": 1.0, "water_conductivity": 1.0, "charge": 0.0},
    (Path("rod in water", "head", "tank water", _rod),),
)

TYPES = (ANODE,)
