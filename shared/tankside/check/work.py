"""Every fault on every model, on all processors at once."""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator
from concurrent.futures import Executor, ProcessPoolExecutor, as_completed
from dataclasses import dataclass
from time import perf_counter

from tankside.check.apart import Shown, shown
from tankside.check.observations import observe
from tankside.heater.model import load_model


@dataclass(frozen=True)
class Proven:
    """One model's faults: how many variants and observations it took, and the seconds."""

    model: str
    faults: tuple[Shown, ...]
    variants: int
    observations: int
    seconds: float


def prove_model(name: str) -> Proven:
    """Try every fault that fits a model."""
    start = perf_counter()
    found = observe(load_model(name))
    faults = tuple(shown(found))
    return Proven(name, faults, len(found.noticed), len(found.seen), perf_counter() - start)


def prove_all(names: Iterable[str], pool: Executor | None = None) -> Iterator[Proven]:
    """Each model as soon as it is done; the largest begin first. ``pool`` is any executor; else one of processes."""
    largest_first = sorted(names, key=lambda name: -len(load_model(name).parts))
    if pool is None and len(largest_first) == 1:
        yield prove_model(largest_first[0])
        return
    own = None if pool else ProcessPoolExecutor(min(os.cpu_count() or 1, len(largest_first)))
    try:
        for done in as_completed([(pool or own).submit(prove_model, name) for name in largest_first]):  # type: ignore[union-attr]
            yield done.result()
    finally:
        if own:
            own.shutdown(cancel_futures=True)
