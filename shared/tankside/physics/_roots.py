"""Where a falling function crosses zero, for many variants at once, each by itself."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

FINE = 1e-13
"""Relative size of the last step."""
_MOST_STEPS = 200


def falling_root(
    function: Callable[[Array], tuple[Any, Any]], low: Array, high: Array, guess: Array, fine: float = FINE
) -> Array:
    """Where ``function`` goes from above zero to below it, between ``low`` and ``high``.

    Newton's method between two bounds, and halving where its steps don't halve: kinks and jumps do no harm. Every
    variant goes and stops by itself, so it gets the same bits alone and in a batch.

    Parameters
    ----------
    function : of x that gives its value and how steeply it falls (above 0; 0 where that isn't known)
    low, high : array, the same shape; where the function doesn't change sign in between, the end nearer to zero is found
    guess : array, where to begin
    fine : the search ends with a step so small beside x
    """
    x = np.clip(guess, low, high)
    last, done = high - low, np.zeros(x.shape, dtype=bool)
    for _ in range(_MOST_STEPS):
        left, slope = function(x)
        low, high = np.where(left > 0, x, low), np.where(left > 0, high, x)
        step = np.divide(left, slope, out=np.full(x.shape, np.inf), where=np.asarray(slope) > 0)
        after = x + step
        halves = (np.abs(step) > np.abs(last) / 2) | (after < low) | (after > high)
        after = np.where(halves, (low + high) / 2, after)
        last = after - x
        x = np.where(done, x, after)
        done |= np.abs(last) <= fine * np.abs(x)
        if done.all():
            break
    return x
