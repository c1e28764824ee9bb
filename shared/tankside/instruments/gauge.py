"""A plain indicating instrument: ranges, accuracy, its own fixed error, and the band a reading admits."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tankside.instruments.multimeter import Reading
from tankside.streams import Stream

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Scale:
    """What one kind of instrument can show: full scales in ``unit``, accuracy ±(share + digits), counts.

    Below ``blind`` (in ``unit``) it shows zero.
    """

    id: str
    unit: str
    ranges: tuple[float, ...]
    share: float
    digits: int
    counts: int = 2000
    blind: float = 0.0

    def full(self, value: float) -> float | None:
        """The smallest range that shows ``value``; None if none does."""
        return next((full for full in self.ranges if abs(value) <= full), None)


class Gauge:
    """One instrument of a kind; ``stream`` fixes its error, inside its accuracy."""

    def __init__(self, scale: Scale, stream: Stream) -> None:
        self.scale = scale
        self._gain, self._offset = stream.uniform(-0.6, 0.6), stream.uniform(-0.6, 0.6)

    def show(self, value: float) -> Reading:
        """The display for a true value."""
        s = self.scale
        full = s.full(value)
        if full is None:
            return Reading(s.id, None, s.ranges[-1], "OL", s.unit, "over range")
        step = full / s.counts
        shown = value * (1 + self._gain * s.share)
        if abs(value) > 20 * step:
            shown += self._offset * s.digits * step
        if abs(shown) < s.blind:
            shown = 0.0
        counts = round(shown / step)
        places = max(0, len(str(s.counts)) - 1 - max(0, int(np.floor(np.log10(full)))))
        return Reading(s.id, round(counts * step, 9), full, f"{counts * step:.{places}f}", s.unit)

    def agrees(self, reading: Reading, value: Array) -> tuple[Array, Array]:
        """The band [low, high] of true values that could have given this reading, as two (B,) arrays."""
        s, ones = self.scale, np.ones_like(value)
        if reading.value is None:
            return ones * reading.full * (1 - s.share), ones * np.inf
        slack = s.share * abs(reading.value) + (s.digits + 1) * reading.full / s.counts
        low, high = reading.value - slack, reading.value + slack
        if abs(reading.value) < s.blind or reading.value == 0:
            low, high = min(low, -s.blind - slack), max(high, s.blind + slack)
        return ones * low, ones * high
