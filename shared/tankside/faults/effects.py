"""Putting a fault into a unit, and taking one out by its remedy."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from tankside.faults.catalogue import Effect, Fault, Remedy, keys_on
from tankside.heater import plumbing
from tankside.heater.unit import Unit

Array = NDArray[np.float64]


def level(effect: Effect, severity: Array) -> Array:
    """(B,) the effect's number at so much severity, 0 to 1."""
    if effect.scale == "log":
        return np.asarray(effect.low * (effect.high / effect.low) ** severity)
    return effect.low + (effect.high - effect.low) * severity


def put_in(
    unit: Unit, fault: Fault, severity: float | Array, rows: slice | NDArray[np.intp] = slice(None)
) -> None:
    """Give the chosen variants the fault, at the given severity each."""
    for effect in fault.effect:
        for key in keys_on(unit.model, effect.on):
            old = unit.values[key][rows]
            number = level(effect, np.broadcast_to(np.asarray(severity, dtype=float), old.shape))
            new = {"set": number, "times": old * number, "add": old + number}[effect.change]
            unit.values[key][rows] = new


def cure(unit: Unit, remedy: Remedy, healthy: Mapping[str, float]) -> None:
    """Make new what the remedy renews: parameters and starting states of ``healthy`` for those keys.

    Air gets into a tank only while its water is open to the inlet: a new cushion starts at the inlet's pressure.
    """
    air = plumbing.cushion(unit)
    for on in remedy.renews:
        kind, _, key = on.rpartition(".")
        if key == "*":
            stem = f"{kind[1:]}." if kind.startswith("@") else None
            parts = [stem] if stem else [f"{part}." for part in unit.model.of_type(kind)]
            keys = [k for k in unit.values for part in parts if part and k.startswith(part)]
        else:
            keys = keys_on(unit.model, on)
        for k in keys:
            if k in healthy:
                unit.set(k, healthy[k])
    plumbing.refilled(unit, plumbing.cushion(unit) != air)
