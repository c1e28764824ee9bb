"""Gas pressure and weight: a manometer for the low side, a dial gauge for the cylinder's side, a hanging scale.

They see taps through a small protocol and know no heater. Figures are those of ordinary invented instruments.
"""

from __future__ import annotations

from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from tankside.instruments.gauge import Gauge, Scale
from tankside.streams import Stream

Array = NDArray[np.float64]

PASCAL = {"in. WC": 249.08891, "psi": 6894.757293168, "mbar": 100.0}
"""Pa in one of each (an inch of water at 4 °C)."""
LOW = Scale("manometer", "in. WC", (60.0,), 0.01, 1, 600)
HIGH = Scale("dial gauge", "psi", (300.0,), 0.01, 1, 300)
WEIGHT = Scale("hanging scale", "kg", (150.0,), 0.002, 1, 1500)
ALTITUDE = Scale("altimeter", "m", (5000.0,), 0.0, 3, 500)


class Taps(Protocol):
    """Something with test taps: (B,) Pa gauge at each, for every variant of a batch."""

    def pressure(self, tap: str) -> Array:
        """Pa gauge at a tap."""


class Manometer:
    """The pressure gauges and the scale of one toolbox, each with its own fixed error."""

    def __init__(self, seed: str) -> None:
        self.low, self.high, self.weight, self.altitude = (
            Gauge(scale, Stream(seed, "instrument", scale.id)) for scale in (LOW, HIGH, WEIGHT, ALTITUDE)
        )

    def sees(self, taps: Taps, tap: str, high: bool = False) -> tuple[Gauge, Array]:
        """The gauge that fits the tap, and (B,) what it finds there in its own unit; below nothing reads as nothing."""
        gauge = self.high if high else self.low
        return gauge, np.maximum(taps.pressure(tap), 0.0) / PASCAL[gauge.scale.unit]
