"""Remembering what a computation gave for the same numbers: between two events most of a unit doesn't change."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, ItemsView, Iterator, KeysView, ValuesView
from dataclasses import dataclass
from typing import Any, Protocol, TypeVar
from weakref import WeakKeyDictionary

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Answers = tuple[Array, ...]
Given = TypeVar("Given")
FEW = 4
"""Variants up to which whole answers are kept by what they depend on: a batch of many is hardly ever the same again."""
_KEPT = 64
_LOOKED_AT = 8
_REPLAYS = 256


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
        near = None
        if inputs.shape[1] >= _LOOKED_AT:
            near = _nearest(
                inputs, [entry for k, entry in kept.items() if k[0] == inputs.shape][-_LOOKED_AT:]
            )
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
    best: tuple[NDArray[np.bool_], Answers] | None = None
    fewest = inputs.shape[1] // 2
    for old, answers in entries:
        moved = (old != inputs).any(axis=0)
        count = int(moved.sum())
        if count < fewest:
            best, fewest = (moved, answers), count
    return best


class Holder(Protocol):
    """Whatever keeps a batch's numbers by name; ``heater.unit.Unit`` does."""

    model: Any
    values: dict[str, Array]

    @property
    def batch(self) -> int: ...


class _Watched(dict[str, Array]):
    """Values that note which of them are looked at before they are set, which are found missing, and which are set."""

    def __init__(self, values: dict[str, Array]) -> None:
        super().__init__(dict.items(values))
        self.read: dict[str, None] = {}
        self.missing: dict[str, None] = {}
        self.written: dict[str, None] = {}
        self.all_of_it = False

    def _look(self, key: str) -> None:
        if key not in self.written:
            (self.read if super().__contains__(key) else self.missing)[key] = None

    def __getitem__(self, key: str) -> Array:
        self._look(key)
        return super().__getitem__(key)

    def several(self, keys: tuple[str, ...]) -> list[Array]:
        """Many at once."""
        found = [dict.__getitem__(self, key) for key in keys]
        self.read.update(dict.fromkeys([key for key in keys if key not in self.written]))
        return found

    def __contains__(self, key: object) -> bool:
        self._look(str(key))
        return super().__contains__(key)

    def get(self, key: str, default: Any = None) -> Any:
        self._look(key)
        return super().get(key, default)

    def setdefault(self, key: str, default: Any = None) -> Any:
        if key not in self:
            self[key] = default
        return super().__getitem__(key)

    def __setitem__(self, key: str, value: Array) -> None:
        self.written[key] = None
        super().__setitem__(key, value)

    def __iter__(self) -> Iterator[str]:
        self.all_of_it = True
        return super().__iter__()

    def keys(self) -> KeysView[str]:  # type: ignore[override]
        self.all_of_it = True
        return super().keys()

    def values(self) -> ValuesView[Array]:  # type: ignore[override]
        self.all_of_it = True
        return super().values()

    def items(self) -> ItemsView[str, Array]:  # type: ignore[override]
        self.all_of_it = True
        return super().items()


@dataclass(frozen=True)
class _Done:
    """What a function did: the names that it found missing, what it set, and what it gave."""

    missing: tuple[str, ...]
    set: tuple[tuple[str, Array], ...]
    gave: Any


class _Replays:
    """What a function did to one model's values, by what it had looked at."""

    def __init__(self) -> None:
        self.kept: dict[tuple[str, ...], OrderedDict[bytes, _Done]] = {}

    def find(self, values: dict[str, Array], told: bytes) -> _Done | None:
        """What was done when it found the same, or nothing."""
        for keys, answers in self.kept.items():
            try:
                found = answers.get(bytes_of(values, keys) + told)
            except KeyError:  # something that was looked at then isn't there now
                continue
            if found is not None and not any(key in values for key in found.missing):
                return found
        return None

    def keep(self, before: dict[str, Array], watched: _Watched, told: bytes, gave: Any) -> None:
        """Keep what was done; a copy, because whoever holds the unit may change its arrays."""
        answers = self.kept.setdefault(tuple(watched.read), OrderedDict())
        did = tuple((key, dict.__getitem__(watched, key).copy()) for key in watched.written)
        done = _Done(tuple(watched.missing), did, _read_only(gave))
        answers[bytes_of(before, tuple(watched.read)) + told] = done
        if len(answers) > _REPLAYS:
            answers.popitem(last=False)
        if len(self.kept) > _LOOKED_AT:
            del self.kept[next(iter(self.kept))]


def bytes_of(values: dict[str, Array], keys: tuple[str, ...]) -> bytes:
    """Some values as one key: equal if each is the same to the bit."""
    arrays = fetch(values, keys)
    try:
        return b"".join(arrays)  # type: ignore[arg-type]  # an array is its bytes
    except (BufferError, TypeError, ValueError):  # one of them lies scattered in memory
        return b"".join([one.tobytes() for one in arrays])


def fetch(values: dict[str, Array], keys: tuple[str, ...]) -> list[Array]:
    """``[values[key] for key in keys]``, at little cost also while what is looked at is being watched."""
    return values.several(keys) if isinstance(values, _Watched) else [values[key] for key in keys]


def _read_only(gave: Any) -> Any:
    if isinstance(gave, tuple):
        return tuple(_read_only(one) for one in gave)
    if isinstance(gave, np.ndarray):
        gave = gave.copy()
        gave.flags.writeable = False
    return gave


def replayed(function: Callable[..., Given]) -> Callable[..., Given]:
    """``function`` of a unit that only looks at and sets its values; for few variants, done again from memory.

    Further arguments are arrays. Which values it looks at is watched, not declared, so what it does may change freely. It may read the unit's model
    as well, but nothing else that can change. What it gives, an array or several, is read-only.
    """
    kept: WeakKeyDictionary[Any, dict[int, _Replays]] = WeakKeyDictionary()

    def replay(unit: Holder, *told: Array) -> Given:
        batch = unit.batch
        if batch > FEW:
            return function(unit, *told)
        try:
            replays = kept[unit.model][batch]
        except KeyError:
            replays = kept.setdefault(unit.model, {}).setdefault(batch, _Replays())
        values, key_of_told = unit.values, b"".join([one.tobytes() for one in told])
        did = replays.find(values, key_of_told)
        if did is not None:
            for key, value in did.set:
                values[key] = value.copy()
            return did.gave
        watched = _Watched(values)
        unit.values = watched
        try:
            gave = function(unit, *told)
        finally:
            unit.values = values
            before = dict(dict.items(values))
            _hand_on(watched, values)
        if not watched.all_of_it:
            replays.keep(before, watched, key_of_told, gave)
        return gave

    return replay


def _hand_on(watched: _Watched, values: dict[str, Array]) -> None:
    """Set what was set; whoever watches a function that calls this one has looked at what this one looked at."""
    if isinstance(values, _Watched):
        values.all_of_it |= watched.all_of_it
        for key in (*watched.read, *watched.missing):
            values._look(key)
    for key in watched.written:
        values[key] = dict.__getitem__(watched, key)
