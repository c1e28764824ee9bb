"""One measured figure, and how to measure the time of a call."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True)
class Figure:
    """A figure in its unit; ``aim`` is what it should not exceed, or (``more_is_better``) not fall short of."""

    name: str
    value: float
    unit: str
    aim: float | None = None
    more_is_better: bool = False

    @property
    def reached(self) -> bool | None:
        """Whether the aim is reached; None without one."""
        if self.aim is None:
            return None
        return self.value >= self.aim if self.more_is_better else self.value <= self.aim


def seconds_each(
    call: Callable[[], Any],
    at_least: float = 0.4,
    rounds: int = 5,
    clock: Callable[[], float] = time.perf_counter,
) -> float:
    """Seconds that a call takes: the best of some rounds, because whatever else runs only ever adds time.

    Parameters
    ----------
    at_least : s that one round lasts
    rounds : how many rounds
    clock : s; ``time.process_time`` where other work runs on the same machine
    """
    call()  # whatever is made once is made
    count, took = 1, 0.0
    while True:
        took = _time(call, count, clock)
        if took >= at_least / 4:
            break
        count *= 2
    count = max(1, round(count * at_least / took))
    return min(_time(call, count, clock) for _ in range(rounds)) / count


def _time(call: Callable[[], Any], count: int, clock: Callable[[], float]) -> float:
    start = clock()
    for _ in range(count):
        call()
    return clock() - start
