"""A unit: one heater at one customer's, with its site and its hidden condition. Batched.

All numbers of a unit are arrays of the same length B under names like ``"element.resistance"``
or ``"tank.temperature"``, in the units that the part types declare. A batch holds variants of
the same heater: one with each fault, say.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tankside.heater.model import HeaterModel
from tankside.heater.wiring import Values, Wiring, wiring_of
from tankside.physics.circuit import Solution
from tankside.streams import Stream

Array = NDArray[np.float64]
SITE_KEYS = {"voltage": "V", "room": "degC", "cold_water": "degC", "water_conductivity": "uS/cm"}
REFERENCE_CONDUCTIVITY = 500.0
"""µS/cm at which the part types state their resistances in water."""


@dataclass(frozen=True)
class Solved:
    """A solution, and the values (keys of the net, B) that it holds for."""

    solution: Solution
    inputs: Array


class Unit:
    """Variants of one heater, B of them, that go through the same hands and the same time."""

    def __init__(self, model: HeaterModel, values: Values) -> None:
        self.model, self.values = model, values
        self.wiring: Wiring = wiring_of(model)
        self.solved: dict[str, Solved] = {}
        """The last solution of each side, so that only variants in which something switched are solved again."""
        self.kept: dict[str, Any] = {}
        """What a subsystem worked out for the step that is being made; nothing that outlives it."""

    @property
    def batch(self) -> int:
        """How many variants."""
        return int(self.values["tank.temperature"].shape[0])

    def __getitem__(self, key: str) -> Array:
        return self.values[key]

    def set(self, key: str, value: float | Array) -> None:
        """Give every variant the value (or each its own)."""
        self.values[key] = np.broadcast_to(np.asarray(value, dtype=float), (self.batch,)).copy()

    def copy(self) -> Unit:
        """A unit that shares nothing with this one."""
        return Unit(self.model, {key: value.copy() for key, value in self.values.items()})

    def take(self, rows: Sequence[int] | NDArray[np.intp]) -> Unit:
        """Only these variants."""
        return Unit(self.model, {key: value[np.asarray(rows)] for key, value in self.values.items()})

    def put(self, rows: NDArray[np.intp], part: Unit) -> None:
        """Take over from ``part`` what became of these variants."""
        for key, value in part.values.items():
            whole = self.values[key].copy()
            whole[rows] = value
            self.values[key] = whole


def site_of(model: HeaterModel, stream: Stream) -> dict[str, float]:
    """A site drawn within what the model's data file allows: V, °C, °C, µS/cm."""
    out = {}
    for key, unit in SITE_KEYS.items():
        low, high = (model.number(f"site.{key}", text, unit) for text in getattr(model.data.site, key))
        out[key] = round(stream.uniform(low, high), 2)
    return out


def nominal_site(model: HeaterModel) -> dict[str, float]:
    """The middle of what the data file allows."""
    return {
        key: sum(model.number(f"site.{key}", text, unit) for text in getattr(model.data.site, key)) / 2
        for key, unit in SITE_KEYS.items()
    }


def spread_of(model: HeaterModel, stream: Stream) -> dict[str, float]:
    """One healthy heater's own figures, where parts of a kind differ."""
    return {
        key: model.nominal[key] * (1.0 + share * stream.uniform(-1.0, 1.0))
        for key, share in model.data.spread.items()
    }


def make_unit(
    model: HeaterModel,
    site: Mapping[str, float] | None = None,
    own: Mapping[str, float] | None = None,
    batch: int = 1,
) -> Unit:
    """A healthy unit, cold and full, switched off and connected.

    Parameters
    ----------
    site : voltage (V), room (°C), cold_water (°C), water_conductivity (µS/cm); the middle of the model's range
    own : this heater's own figures, ``"part.parameter"`` -> number, over the model's nominal ones
    batch : how many equal variants
    """
    site = {**nominal_site(model), **(site or {})}
    numbers = {**model.nominal, **(own or {})}
    for part in model.of_type("mains supply"):
        numbers[f"{part}.voltage"] = site["voltage"]
    for part, kind in model.types.items():
        for state, value in kind.states.items():
            numbers[f"{part}.{state}"] = value
        if "water_conductivity" in kind.states:
            numbers[f"{part}.water_conductivity"] = site["water_conductivity"] / REFERENCE_CONDUCTIVITY
    for wire in model.wires.values():
        if wire.lifts_at:
            numbers[f"{wire.id}.lifted"] = 0.0
    for part in model.of_type("gas cylinder"):
        numbers[f"{part}.liquid"] = site["room"]
    numbers["tank.temperature"] = site["cold_water"]
    numbers["site.room"], numbers["site.cold_water"] = site["room"], site["cold_water"]
    return Unit(model, {key: np.full(batch, float(value)) for key, value in numbers.items()})
