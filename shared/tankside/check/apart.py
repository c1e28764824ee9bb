"""From observations to proofs: by what each fault shows, by how many instrument errors, and what it is taken for."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from tankside.case import HEALTHY, SYMPTOMS
from tankside.check.observations import OWNER, Observations, Seen
from tankside.faults.catalogue import fault_named

Array = NDArray[np.float64]

PLAIN = np.inf
"""Errors by which something seen or heard differs: it is plain."""
CLEAR = 3.0
"""Errors by which a number is named before what is plain to see."""
MISTAKEN = 3
"""How many faults a fault is said to be taken for."""


@dataclass(frozen=True)
class Shown:
    """How a fault shows where it shows least: the severity, the test, both readings, and their distance in errors."""

    fault: str
    noticed: tuple[str, ...]
    test: str
    instrument: str
    unit: str
    healthy: float
    faulty: float
    errors: float
    instruments: tuple[str, ...]
    """Every instrument that shows it at each severity."""
    alike: tuple[str, ...]
    """Faults with another remedy that no test parts from it."""
    mistaken_for: tuple[str, ...]
    """Faults with another remedy that an owner speaks of in the same words and that the fewest tests part from it."""

    @property
    def holds(self) -> bool:
        """True if it shows by more than the instrument's error, and nothing with another remedy looks the same."""
        return self.errors > 1.0 and not self.alike


class Distances:
    """All observations of a model as distances in instrument errors: (rows, observations)."""

    def __init__(self, observations: Observations) -> None:
        self.of = observations
        self.value = np.stack([seen.value for seen in observations.seen], axis=1)
        self.slack = np.stack([seen.slack for seen in observations.seen], axis=1)
        fault_of = observations.found.fault_of
        self.rows = [np.flatnonzero(fault_of == k) for k in range(len(observations.found.names))]
        self.healthy = int(np.flatnonzero(fault_of == HEALTHY)[0])

    @staticmethod
    def _errors(apart: Array, slack: Array) -> Array:
        out = np.divide(apart, slack, out=np.zeros_like(apart), where=slack > 0)
        return np.where((slack <= 0) & (apart > 0), PLAIN, out)

    @cached_property
    def from_healthy(self) -> Array:
        """(rows, observations) errors between each row and the healthy heater."""
        apart = np.abs(self.value - self.value[self.healthy])
        return self._errors(apart, np.maximum(self.slack, self.slack[self.healthy]))

    def _from_pairs(self, row: int, low: Array, high: Array, slack: Array) -> Array:
        """(pairs, observations) errors between one row and whatever lies between two neighbouring severities."""
        mine = self.value[row]
        apart = np.maximum(np.maximum(low - mine, mine - high), 0.0)
        return self._errors(apart, np.maximum(slack, self.slack[row]))

    @cached_property
    def telling(self) -> NDArray[np.int_]:
        """(faults, faults) the fewest observations by which some severities of two faults differ; 0: nothing parts them."""
        pairs = [list(pairwise(rows)) if len(rows) > 1 else [(rows[0], rows[0])] for rows in self.rows]
        lower = np.array([a for found in pairs for a, _ in found])
        upper = np.array([b for found in pairs for _, b in found])
        owner = np.repeat(np.arange(len(pairs)), [len(found) for found in pairs])
        low, high = (
            np.minimum(self.value[lower], self.value[upper]),
            np.maximum(self.value[lower], self.value[upper]),
        )
        slack = np.maximum(self.slack[lower], self.slack[upper])
        starts = np.flatnonzero(np.diff(owner, prepend=-1))
        out = np.empty((len(pairs), len(pairs)), dtype=np.int_)
        for k, rows in enumerate(self.rows):
            counts = [(self._from_pairs(int(row), low, high, slack) > 1.0).sum(axis=1) for row in rows]
            out[k] = np.minimum.reduceat(np.min(counts, axis=0), starts)
        return out


def shown(observations: Observations) -> Iterator[Shown]:
    """Every fault of a model, where it shows least."""
    distances = Distances(observations)
    names = observations.found.names
    symptoms = [set(observations.noticed[rows].tolist()) for rows in distances.rows]
    for k, name in enumerate(names):
        rows = distances.rows[k]
        errors = distances.from_healthy[rows]
        best = [_best(row, observations.seen) for row in errors]
        worst = int(np.argmin([row[j] for row, j in zip(errors, best, strict=True)]))
        j = best[worst]
        seen = observations.seen[j]
        others = [o for o in range(len(names)) if fault_named(names[o]).remedy != fault_named(name).remedy]
        same_words = [o for o in others if symptoms[o] & symptoms[k]]
        nearest = sorted(same_words, key=lambda o: (distances.telling[k, o], names[o]))
        always = np.min(errors, axis=0) > 1.0
        yield Shown(
            name,
            tuple(SYMPTOMS[s] for s in sorted(symptoms[k])),
            seen.test,
            seen.instrument,
            seen.unit,
            float(seen.value[distances.healthy]),
            float(seen.value[rows[worst]]),
            float(errors[worst][j]),
            tuple(
                dict.fromkeys(
                    s.instrument for s, shows in zip(observations.seen, always, strict=True) if shows
                )
            ),
            tuple(names[o] for o in others if distances.telling[k, o] == 0),
            tuple(names[o] for o in nearest[:MISTAKEN]),
        )


def _best(errors: Array, seen: tuple[Seen, ...]) -> int:
    """The observation that shows a fault best: an instrument's number, else what is plain, last the owner's words."""
    measured = np.where(np.isfinite(errors), errors, 0.0)
    if measured.max() > CLEAR:
        return int(np.argmax(measured))
    plain = [j for j in np.flatnonzero(~np.isfinite(errors)) if seen[j].instrument != OWNER]
    if plain:
        return int(plain[0])
    return int(np.argmax(measured if measured.max() > 1.0 else errors))
