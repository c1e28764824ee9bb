"""What a hand feels: the current through a person who stands on the ground and touches a terminal."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from tankside.heater.simulation import energise
from tankside.heater.unit import Unit

Array = NDArray[np.float64]

BODY = 1500.0
"""Ω, hand to foot of a person (the order of IEC 60479-1; from memory)."""
FELT = 0.5e-3
"""A through a person that is felt (the order of IEC 60479-1; from memory). Anything felt counts as live."""
UNGROUNDED = 1e3
"""Ω of a grounding conductor from which its metal counts as left to itself (ours)."""
COOL = 15.0
"""°C of water at which every thermostat calls."""


def touches(unit: Unit, terminals: Sequence[str]) -> Array:
    """(B, K) A through a person who stands on the ground and touches one of the terminals."""
    volts, seen = unit.wiring.seen_from(unit.values, terminals)
    return np.abs(volts / (BODY + np.diagonal(seen, axis1=1, axis2=2)))


def ungrounded(unit: Unit) -> NDArray[np.bool_]:
    """(B,) whether a grounding conductor of the mains side is open."""
    grounds = [f"{wire.id}.resistance" for wire in unit.model.wires.values() if wire.role == "ground"]
    grounds += [f"{part}.ground_resistance" for part in unit.model.of_type("mains supply")]
    if not grounds:
        return np.zeros(unit.batch, dtype=bool)
    return np.max([unit[key] for key in grounds], axis=0) > UNGROUNDED


def tingles(unit: Unit) -> NDArray[np.bool_]:
    """(B,) whether the tank, or a tap that hangs on it, is felt while the heater calls for heat.

    Only looked at where a ground is open: the shell of a grounded heater stands at earth's potential.
    """
    out = ungrounded(unit)
    if out.any():
        rows = np.flatnonzero(out)
        calling = unit.take(rows)
        calling.set("tank.temperature", COOL)
        energise(calling)
        out[rows] = touches(calling, ["tank.shell"])[:, 0] > FELT
    return out
