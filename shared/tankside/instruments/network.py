"""What a meter may know of the thing it measures: the voltage it finds when it is connected."""

from __future__ import annotations

from typing import Protocol

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


class Network(Protocol):
    """Something with terminals. Every answer is (B,), one number for each variant of a batch."""

    def alternating(self, a: str, b: str, conductance: float, capacitance: float) -> Array:
        """V r.m.s. between ``a`` and ``b`` with so many siemens and farads connected there."""

    def direct(self, a: str, b: str, conductance: float, current: float) -> Array:
        """V from ``b`` to ``a`` with so many siemens connected there and so many amperes pushed out of ``a``."""
