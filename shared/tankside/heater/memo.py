"""Remembering what a computation gave for the same numbers: between two events most of a unit doesn't change."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Answers = tuple[Array, ...]
_KEPT = 64
_LOOKED_AT = 8


def stacked(rows: list[Array]) -> Array:
    """(inputs, B) of arrays of one length: ``np.stack`` at a third of its price for few variants."""
    return np.concatenate(rows).reshape(len(rows), -1)


def remembered(function: Callable[[Array], Answers]) -> Callable[[Array], Answers]:
    """``function`` of one stacked array (inputs, B), with its last answers kept. Answers are read-only.

    The function must treat every variant by itself: where a call differs from an earlier one in some variants
    alone, only those are worked out.
    """
    kept: OrderedDict[tuple[tuple[int, ...], bytes], tuple[Array, Answers]] = OrderedDict()

    def answer(inputs: Array) -> Answers:
        key = inputs.shape, inputs.tobytes()
        if key in kept:
            kept.move_to_end(key)
            return kept[key][1]
        near = _nearest(inputs, [entry for k, entry in kept.items() if k[0] == inputs.shape][-_LOOKED_AT:])
        if near is None:
            out = tuple(np.array(a, dtype=float) for a in function(inputs))
        else:
            moved, old = near
            fresh = function(np.ascontiguousarray(inputs[:, moved]))
            out = tuple(a.copy() for a in old)
            for mine, new in zip(out, fresh, strict=True):
                mine[moved] = new
        for a in out:
            a.flags.writeable = False
        kept[key] = inputs.copy(), out
        while len(kept) > _KEPT:
            kept.popitem(last=False)
        return out

    return answer


def _nearest(inputs: Array, entries: list[tuple[Array, Answers]]) -> tuple[NDArray[np.bool_], Answers] | None:
    """The variants that differ from the most similar earlier call, and its answers; None if most do."""
    if inputs.shape[1] < 8:
        return None
    best: tuple[NDArray[np.bool_], Answers] | None = None
    fewest = inputs.shape[1] // 2
    for old, answers in entries:
        moved = (old != inputs).any(axis=0)
        count = int(moved.sum())
        if count < fewest:
            best, fewest = (moved, answers), count
    return best
