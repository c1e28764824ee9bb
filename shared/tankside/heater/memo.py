"""Remembering what a computation gave for the same numbers: between two events most of a unit doesn't change."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Answers = tuple[Array, ...]
_KEPT = 64


def stacked(rows: list[Array]) -> Array:
    """(inputs, B) of arrays of one length: ``np.stack`` at a third of its price for few variants."""
    return np.concatenate(rows).reshape(len(rows), -1)


def remembered(function: Callable[[Array], Answers]) -> Callable[[Array], Answers]:
    """``function`` of one stacked array (inputs, B), with its last answers kept. Answers are read-only."""
    kept: OrderedDict[tuple[tuple[int, ...], bytes], Answers] = OrderedDict()

    def answer(inputs: Array) -> Answers:
        key = inputs.shape, inputs.tobytes()
        if key not in kept:
            kept[key] = tuple(np.asarray(out, dtype=float) for out in function(inputs))
            for out in kept[key]:
                out.flags.writeable = False
            while len(kept) > _KEPT:
                kept.popitem(last=False)
        kept.move_to_end(key)
        return kept[key]

    return answer
