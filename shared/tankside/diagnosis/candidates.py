"""The candidate set: the faults that are still consistent with everything a bench log observed.

The question it answers: *put each fault in scope into this very heater, at any severity;
which of them would have shown what the log shows, within the meters' accuracy?* Each fault is
tried at a ladder of severities. Between two neighbouring rungs every observation is taken to
lie between the two rungs' values, so a fault survives while some pair of neighbours could
have given **all** readings together.

*This very heater* means its own figures and its site's supply as they are, not as anybody measured them. That keeps
the true fault in: no tolerance can argue it away. It can rule a fault out a little early, where a technician who
has not measured the supply would still allow it; the test-by-fault table, which plans the reference path, allows for
all supplies and spreads instead.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, field
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from tankside.bench.bench import start_state
from tankside.bench.replay import Replay, replay
from tankside.bench.state import Witness
from tankside.case import SYMPTOMS, Case, Variants, variants
from tankside.faults.catalogue import apart, fault_named
from tankside.heater.model import HeaterModel
from tankside.heater.unit import Unit
from tankside.instruments.multimeter import DISTURBED, Reading
from tankside.workorder import WorkOrder

Array = NDArray[np.float64]


class Suspects:
    """Which (fault, pair of neighbouring severities) could have shown everything so far. A bench's witness."""

    def __init__(self, found: Variants, fits: Sequence[str] = ()) -> None:
        self.names = found.names
        rungs = [np.flatnonzero(found.fault_of == k) for k in range(len(found.names))]
        # A fault without degrees has one rung, which is its own neighbour.
        self._lower = np.concatenate([r[:-1] if len(r) > 1 else r for r in rungs])
        self._upper = np.concatenate([r[1:] if len(r) > 1 else r for r in rungs])
        self._fault = np.repeat(np.arange(len(rungs)), [max(len(r) - 1, 1) for r in rungs])
        self.alive = np.ones(self._fault.shape, dtype=bool)
        self._left: tuple[str, ...] | None = None
        noticed = found.unit["seen.symptom"]
        told = np.isin(noticed, [SYMPTOMS.index(s) for s in fits] if fits else noticed[:1])
        self._keep(told[self._lower] | told[self._upper])

    def _keep(self, possible: NDArray[np.bool_]) -> None:
        if not possible[self.alive].all():
            self.alive &= possible
            self._left = None

    def reading(self, shown: Reading, value: Array, disturbed: Array, low: Array, high: Array) -> None:
        """A meter reading: keep the pairs that could have shown it."""
        if shown.unit in ("Ω", "kΩ", "MΩ"):
            if shown.value is None and shown.digits != "OL":
                low, high = np.full_like(value, 0.95 * DISTURBED), np.full_like(value, np.inf)
                self.number(disturbed, low, high)
                return
            self.number(disturbed, np.full_like(value, -np.inf), np.full_like(value, 1.05 * DISTURBED))
        self.number(value, low, high)

    def number(self, value: Array, low: Array | float, high: Array | float) -> None:
        """A plain number, with the band seen."""
        lows, highs = np.broadcast_to(low, value.shape), np.broadcast_to(high, value.shape)
        # Between the two rungs lies some value in the band: not both below it, not both above.
        enough, small = value >= lows, value <= highs
        lower, upper = self._lower, self._upper
        self._keep(
            (enough[lower] | (value[upper] >= lows[lower])) & (small[lower] | (value[upper] <= highs[lower]))
        )

    def remaining(self) -> tuple[str, ...]:
        """The faults still possible, in the order of the scope."""
        if self._left is None:
            living = np.unique(self._fault[self.alive])
            self._left = tuple(self.names[k] for k in living)
        return self._left

    def rows(self) -> NDArray[np.intp]:
        """The batch rows that still matter: the true unit and the living pairs."""
        living = np.concatenate([self._lower[self.alive], self._upper[self.alive]])
        return np.unique(np.concatenate([[0], living])).astype(np.intp)

    def renumber(self, rows: NDArray[np.intp]) -> None:
        """The batch was cut down to these rows: forget dead pairs, and point at the new rows."""
        keep = self.alive
        self._lower = np.searchsorted(rows, self._lower[keep])
        self._upper = np.searchsorted(rows, self._upper[keep])
        self._fault, self.alive = self._fault[keep], self.alive[keep]


@dataclass
class Candidates:
    """The candidate set after each log line. ``history[i]`` holds after line ``i``; ``at_first`` before any."""

    at_first: tuple[str, ...]
    history: list[tuple[str, ...]] = field(default_factory=list)
    replay: Replay | None = None
    found: Unit | None = None
    """The order's own unit as it was found."""
    told: tuple[str, ...] | None = None
    """The faults that the cited lines leave by themselves, in the order of the scope; None if none were cited."""

    @property
    def now(self) -> tuple[str, ...]:
        """What is left at the end."""
        return self.history[-1] if self.history else self.at_first

    def ruled_out_at(self, fault: str) -> int | None:
        """The log line after which a fault was no longer possible; None if it still is, -1 if it never was."""
        if fault in self.now:
            return None
        if fault not in self.at_first:
            return -1
        return next(i for i, left in enumerate(self.history) if fault not in left)


class _Both:
    """Two witnesses of the same readings."""

    def __init__(self, one: Witness, two: Witness) -> None:
        self._witnesses = one, two

    def reading(self, shown: Reading, value: Array, disturbed: Array, low: Array, high: Array) -> None:
        """A meter reading."""
        for witness in self._witnesses:
            witness.reading(shown, value, disturbed, low, high)

    def number(self, value: Array, low: Array | float, high: Array | float) -> None:
        """A plain number."""
        for witness in self._witnesses:
            witness.number(value, low, high)


Numbers = tuple[tuple[str, float], ...]


def _found(case: Case, scope: tuple[str, ...]) -> Variants:
    """A case's variants, as found; whoever goes on from there takes a copy. Hints, "why not?" and marks ask in turn."""
    site, own = (tuple(sorted(numbers.items())) for numbers in (case.site, case.own))
    return _of(case.model, site, own, case.fault.id, case.severity, scope)


@lru_cache(maxsize=2)
def _of(
    model: HeaterModel, site: Numbers, own: Numbers, fault: str, severity: float, scope: tuple[str, ...]
) -> Variants:
    return variants(Case(model, dict(site), dict(own), fault_named(fault), severity), scope)


class Follower:
    """Keeps the candidate set up to date while a bench works on the batch of variants.

    ``cited``: log lines of which it is asked what they tell by themselves, whatever else was read.
    """

    def __init__(self, order: WorkOrder, cited: Collection[int] = ()) -> None:
        found = _found(order.case(), order.scope)
        self.suspects = Suspects(found, order.fits)
        self.state = start_state(order, found.unit.copy())
        self.candidates = Candidates(self.suspects.remaining(), found=found.unit.take([0]))
        self._cited, self._last = frozenset(cited), max(cited, default=-1)
        self._told = Suspects(found, order.fits) if cited else None
        self._open = True
        self._at_once = max((len(apart(name)) for name in self.candidates.at_first), default=1)
        """Faults at once: what comes after so many repairs is no evidence for them."""
        self.candidates.told = self.suspects.remaining() if cited else None
        self._listen(0)

    def _listen(self, line: int) -> None:
        """Who looks at the next line."""
        told = self._told if line in self._cited else None
        if told is not None and self._open:
            self.state.witness = _Both(self.suspects, told)
        else:
            self.state.witness = told or (self.suspects if self._open else None)

    def after(self, line: int) -> None:
        """Note what is left, and stop simulating what has been ruled out.

        When one fault is left it is the true one, which no reading of this heater rules out: then nobody else is asked.
        """
        history = self.candidates.history
        before = history[-1] if history else None
        history.append(self.suspects.remaining())
        narrowed = history[-1] is not before
        if self._told is not None:
            told = self._told.remaining()
            narrowed = narrowed or told is not self.candidates.told
            self.candidates.told = told
            if line >= self._last or len(told) == 1 or len(self.state.repaired) >= self._at_once:
                self._told, narrowed = None, True
        if narrowed:
            self._open = len(history[-1]) > 1
            self._cut()
        self._listen(line + 1)

    def _cut(self) -> None:
        """Go on with the variants that somebody still asks for."""
        asking = [s for s in (self.suspects if self._open else None, self._told) if s is not None]
        rows = np.unique(np.concatenate([np.zeros(1, dtype=np.intp), *(s.rows() for s in asking)]))
        if not asking or len(rows) < 0.8 * self.state.unit.batch:
            self.state.unit = self.state.unit.take(rows)
            for suspects in asking:
                suspects.renumber(rows)


def candidates(order: WorkOrder, lines: Iterable[str], cited: Collection[int] = ()) -> Candidates:
    """The candidate set after every line of a bench log on a work order, and what the cited lines tell by themselves."""
    lines = list(lines)
    follower = Follower(order, [line for line in cited if 0 <= line < len(lines)])
    out = follower.candidates
    out.replay = replay(order, lines, follower.state, follower.after)
    return out


def remedies_of(names: Sequence[str]) -> set[str]:
    """The remedies that a set of faults asks for."""
    return {fault_named(name).remedy for name in names}
