"""Random numbers from one seed, through named sub-streams.

Every draw in Tankside comes from here, so that one work order gives one unit, one set of
readings and one set of marks on every platform and Python version. Only ``random.random()``
is used, whose sequence Python documents as stable for an integer seed; every other
distribution is made from it by arithmetic written here.
"""

from __future__ import annotations

import hashlib
import math
import random
from collections.abc import Sequence
from typing import TypeVar

T = TypeVar("T")


class Stream:
    """One named sub-stream. ``Stream(seed, "site", "voltage")`` never disturbs another name's draws."""

    def __init__(self, seed: str, *names: str) -> None:
        text = "\x1f".join((seed, *names))
        self._random = random.Random(int.from_bytes(hashlib.sha256(text.encode()).digest(), "big"))

    def uniform(self, low: float = 0.0, high: float = 1.0) -> float:
        """A number in [low, high)."""
        return low + (high - low) * self._random.random()

    def log_uniform(self, low: float, high: float) -> float:
        """A number in [low, high), uniform on a logarithmic scale; both ends above zero."""
        return low * math.exp(self.uniform(0.0, math.log(high / low)))

    def integer(self, low: int, high: int) -> int:
        """A whole number from low to high, both included."""
        return low + int(self._random.random() * (high - low + 1))

    def choice(self, items: Sequence[T], weights: Sequence[float] | None = None) -> T:
        """One of the items, each as likely as its weight says (equally, without weights)."""
        if weights is None:
            return items[self.integer(0, len(items) - 1)]
        mark = self._random.random() * sum(weights)
        for item, weight in zip(items, weights, strict=True):
            mark -= weight
            if mark < 0:
                return item
        return items[-1]

    def shuffled(self, items: Sequence[T]) -> list[T]:
        """The items in a random order (Fisher-Yates)."""
        out = list(items)
        for i in range(len(out) - 1, 0, -1):
            j = self.integer(0, i)
            out[i], out[j] = out[j], out[i]
        return out
