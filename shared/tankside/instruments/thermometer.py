"""Thermometers: one for water from the tap, one that is held to a surface."""

from __future__ import annotations

from tankside.instruments.gauge import Gauge, Scale
from tankside.streams import Stream

WATER = Scale("°C water", "°C", (200.0,), 0.002, 4, 2000)
"""Immersed in a cup at the tap: ±0.4 K and 0.2 %."""
SURFACE = Scale("°C surface", "°C", (200.0,), 0.005, 10, 2000)
"""A contact probe on a pipe or a jacket: ±1 K and 0.5 %."""


def thermometers(seed: str) -> tuple[Gauge, Gauge]:
    """The two of a toolbox, each with its own fixed error."""
    return tuple(Gauge(scale, Stream(seed, "instrument", scale.id)) for scale in (WATER, SURFACE))  # type: ignore[return-value]
