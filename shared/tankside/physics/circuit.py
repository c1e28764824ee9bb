"""Modified nodal analysis of linear networks, batched over units and states.

A circuit is a list of named branches between named nodes: conductances, capacitances and
voltage sources with their inner resistance. The topology is fixed; only values vary, so a
thousand variants of one heater are one call to ``numpy.linalg.solve``.

Two analyses share the topology: *alternating* (phasors at the mains frequency, r.m.s.
values, only alternating sources active) and *direct* (capacitors open, only direct sources
active). By superposition a meter's alternating reading comes from the first and its direct
reading from the second.

Source: C.-W. Ho, A. Ruehli, P. Brennan, "The modified nodal approach to network analysis",
IEEE Trans. Circuits and Systems 22(6), 1975 (cited from memory; checked against ngspice).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Phasors = NDArray[np.complexfloating[Any, Any]] | Array
Drive = Literal["alternating", "direct"]

FLOOR = 1e-12
"""S, from every node to the reference: the insulation's own leak. Keeps a floating part solvable."""


@dataclass(frozen=True)
class Conductance:
    """A resistor, wire or contact between nodes ``a`` and ``b``; its value is in siemens."""

    name: str
    a: str
    b: str


@dataclass(frozen=True)
class Capacitance:
    """A capacitance between nodes ``a`` and ``b``; its value is in farads."""

    name: str
    a: str
    b: str


@dataclass(frozen=True)
class Source:
    """A voltage source from ``b`` (minus) to ``a`` (plus): e.m.f. in volts, inner resistance in ohms."""

    name: str
    a: str
    b: str
    drive: Drive


@dataclass(frozen=True)
class Load:
    """What a meter, or a body, puts between two nodes while it touches them.

    ``conductance`` in S, ``capacitance`` in F, ``current`` in A pushed out of ``a`` (as an
    ohmmeter does) and back in at ``b``.
    """

    a: str
    b: str
    conductance: float = 0.0
    capacitance: float = 0.0
    current: float = 0.0


@dataclass(frozen=True)
class _Stamp:
    """Entry ``[row, column]`` of the nodal matrix is the signed sum of some branches' values.

    The sums run branch by branch in a fixed order, so that a variant gets the same bits alone
    and in a batch: a library's matrix product doesn't promise that.
    """

    row: NDArray[np.intp]
    column: NDArray[np.intp]
    branch: NDArray[np.intp]
    sign: Array
    start: NDArray[np.intp]

    def of(self, values: Array) -> Array:
        """(B, branches) -> (B, entries)."""
        if not len(self.start):
            return np.zeros((values.shape[0], 0))
        return np.add.reduceat(values[:, self.branch] * self.sign, self.start, axis=1)


_MANY = 16
"""Variants from which on it pays to look for those that are the same network."""


def distinct(*values: Array) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Variants that differ: the first row of each kind, and (B,) which kind every row is.

    In a batch of one heater with each of its faults most faults leave most of the network as it is.

    Parameters
    ----------
    values : arrays [any unit, (B, any) each]
        What a variant is made of.

    Returns
    -------
    tuple of arrays [row numbers]
        The first row of each kind; and for every row its kind.
    """
    rows = np.ascontiguousarray(np.concatenate(values, axis=1))
    bits = rows.view(np.uint64)
    odd = (np.arange(1, bits.shape[1] + 1, dtype=np.uint64) * np.uint64(0x9E3779B97F4A7C15)) | np.uint64(1)
    mixed = ((bits ^ (bits >> np.uint64(29))) * odd).sum(axis=1, dtype=np.uint64)
    _, first, back = np.unique(mixed, return_index=True, return_inverse=True)
    back = back.reshape(-1)
    if not np.array_equal(
        rows[first][back].view(np.uint64), bits
    ):  # two kinds with one sum: as good as never
        first = back = np.arange(len(rows))
    return first, back


class Circuit:
    """A fixed topology whose values may be batched.

    Parameters
    ----------
    conductances, capacitances, sources
        The branches; names are unique within their list.
    reference
        The node whose potential is zero (true earth).
    """

    def __init__(
        self,
        conductances: Sequence[Conductance],
        sources: Sequence[Source] = (),
        capacitances: Sequence[Capacitance] = (),
        reference: str = "earth",
    ) -> None:
        self.conductances, self.capacitances, self.sources = (
            tuple(conductances),
            tuple(capacitances),
            tuple(sources),
        )
        self.reference = reference
        self.branch = {c.name: k for k, c in enumerate(self.conductances)}
        branches: list[Conductance | Capacitance | Source] = [*conductances, *capacitances, *sources]
        names = dict.fromkeys(node for branch in branches for node in (branch.a, branch.b))
        if reference not in names:
            raise ValueError(f"no branch reaches the reference node {reference!r}")
        del names[reference]
        self.nodes: tuple[str, ...] = tuple(names)
        self.index = {name: i for i, name in enumerate(self.nodes)}
        self._g_stamp = self._stamp([(c.a, c.b) for c in conductances])
        self._c_stamp = self._stamp([(c.a, c.b) for c in capacitances])
        self._ends = tuple((self.index.get(c.a, -1), self.index.get(c.b, -1)) for c in conductances)
        self._frame = self._same_for_all()
        self._driven = {
            drive: np.array([k for k, s in enumerate(sources) if s.drive == drive], dtype=np.intp)
            for drive in ("alternating", "direct")
        }

    def _same_for_all(self) -> Array:
        """(n + m, n + m) what doesn't depend on values: the insulation's leak, and which nodes the sources join."""
        n, m = len(self.nodes), len(self.sources)
        frame = np.zeros((n + m, n + m))
        frame[range(n), range(n)] = FLOOR
        for k, source in enumerate(self.sources):
            for node, sign in ((source.a, 1.0), (source.b, -1.0)):
                i = self.index.get(node, -1)
                if i >= 0:
                    frame[n + k, i] += sign
                    frame[i, n + k] += sign
        return frame

    def _stamp(self, pairs: list[tuple[str, str]]) -> _Stamp:
        """How branch values enter the nodal matrix."""
        entries: dict[tuple[int, int], list[tuple[int, float]]] = {}
        for k, (a, b) in enumerate(pairs):
            i, j = self.index.get(a, -1), self.index.get(b, -1)
            if i == j:  # both ends on one node: the branch does nothing
                continue
            for row, column, sign in ((i, i, 1.0), (j, j, 1.0), (i, j, -1.0), (j, i, -1.0)):
                if row >= 0 and column >= 0:
                    entries.setdefault((row, column), []).append((k, sign))
        flat = [item for items in entries.values() for item in items]
        sizes = [len(items) for items in entries.values()]
        return _Stamp(
            np.array([row for row, _ in entries], dtype=np.intp),
            np.array([column for _, column in entries], dtype=np.intp),
            np.array([k for k, _ in flat], dtype=np.intp),
            np.array([sign for _, sign in flat]),
            np.cumsum([0, *sizes[:-1]], dtype=np.intp)[: len(sizes)],
        )

    def ends(self, branch: str) -> tuple[int, int]:
        """Where the nodes of a conductance stand among ``nodes``; -1 for the reference."""
        return self._ends[self.branch[branch]]

    def _add(self, matrix: NDArray[np.generic], a: str, b: str, value: complex) -> None:
        i, j = self.index.get(a, -1), self.index.get(b, -1)
        if i >= 0:
            matrix[..., i, i] += value  # type: ignore[misc]
        if j >= 0:
            matrix[..., j, j] += value  # type: ignore[misc]
        if i >= 0 and j >= 0 and i != j:
            matrix[..., i, j] -= value  # type: ignore[misc]
            matrix[..., j, i] -= value  # type: ignore[misc]
        elif i == j and i >= 0:  # both ends on one node: the branch does nothing
            matrix[..., i, i] -= 2 * value  # type: ignore[misc]

    def solve(
        self,
        conductance: Array,
        emf: Array,
        inner: Array,
        capacitance: Array | None = None,
        *,
        drive: Drive = "alternating",
        frequency: float = 60.0,
        loads: Sequence[Load] = (),
    ) -> Solution:
        """Node potentials of every variant.

        Parameters
        ----------
        conductance : (B, number of conductances), S, >= 0 and finite
        emf : (B, number of sources), V r.m.s. (alternating) or V (direct)
        inner : (B, number of sources), ohm, >= 0
        capacitance : (B, number of capacitances), F, >= 0; left out, none
        frequency : Hz, > 0; used by the alternating analysis only
        loads : meters and bodies that touch the network now; their currents belong to ``drive``

        Raises
        ------
        ValueError
            A value that is negative or not finite: which branch, and what it was.
        """
        n, back = len(self.nodes), None
        same_for_all = capacitance is None or capacitance.strides[0] == 0
        inputs = conductance, emf, inner, capacitance
        if len(conductance) >= _MANY and same_for_all:
            first, back = distinct(conductance, emf, inner)
            inputs = (
                conductance[first],
                emf[first],
                inner[first],
                None if capacitance is None else capacitance[first],
            )
        matrix, right = self._assemble(*inputs, drive, frequency, loads)
        answer = np.linalg.solve(matrix, right)[:, :, 0]
        if back is not None:
            answer = answer[back]
        return Solution(self, answer[:, :n], -answer[:, n:], conductance)

    def seen_from(
        self,
        nodes: Sequence[str],
        conductance: Array,
        emf: Array,
        inner: Array,
        capacitance: Array | None = None,
        *,
        drive: Drive = "alternating",
        frequency: float = 60.0,
    ) -> tuple[Phasors, Phasors]:
        """The network as seen from some nodes (Thevenin): open-circuit potentials and impedances.

        Parameters
        ----------
        nodes : K names of nodes; the rest as in ``solve``

        Returns
        -------
        potentials : (B, K) V against the reference
        impedance : (B, K, K) ohm: potential of one node for one ampere pushed into another
        """
        matrix, right = self._assemble(conductance, emf, inner, capacitance, drive, frequency, ())
        at = np.array([self.index[node] for node in nodes], dtype=np.intp)
        pushed = np.zeros((*right.shape[:2], len(at)), dtype=matrix.dtype)
        pushed[:, at, np.arange(len(at))] = 1.0
        answer = np.linalg.solve(matrix, np.concatenate([right, pushed], axis=2))
        return answer[:, at, 0], answer[:, at, 1:]

    def _assemble(
        self,
        conductance: Array,
        emf: Array,
        inner: Array,
        capacitance: Array | None,
        drive: Drive,
        frequency: float,
        loads: Sequence[Load],
    ) -> tuple[NDArray[Any], NDArray[Any]]:
        """The matrix (B, n + m, n + m) and the right side (B, n + m, 1)."""
        self._check("conductance", conductance, [c.name for c in self.conductances])
        self._check("inner resistance", inner, [s.name for s in self.sources])
        if capacitance is not None:
            self._check("capacitance", capacitance, [c.name for c in self.capacitances])
        if not np.isfinite(emf).all():
            raise ValueError("an e.m.f. is not finite: a source gives a number of volts")
        for node in (end for load in loads for end in (load.a, load.b)):
            if node not in self.index and node != self.reference:
                raise ValueError(f"a load touches {node!r}, which is no node of this circuit")
        batch, n, m = conductance.shape[0], len(self.nodes), len(self.sources)
        alternating = drive == "alternating"
        omega = 2 * math.pi * frequency if alternating else 0.0
        reactive = alternating and (capacitance is not None or any(load.capacitance for load in loads))
        matrix = np.zeros((batch, n + m, n + m), dtype=complex if reactive else float)
        matrix[:, self._g_stamp.row, self._g_stamp.column] = self._g_stamp.of(conductance)
        if reactive and capacitance is not None and self.capacitances:
            stamp = self._c_stamp
            matrix[:, stamp.row, stamp.column] += 1j * omega * stamp.of(capacitance)
        matrix += self._frame
        right = np.zeros((batch, n + m, 1), dtype=matrix.dtype)
        rows = np.arange(n, n + m)
        matrix[:, rows, rows] = -inner
        driven = self._driven[drive]
        right[:, n + driven, 0] = emf[:, driven]
        for load in loads:
            admittance = load.conductance + (1j * omega * load.capacitance if reactive else 0.0)
            self._add(matrix, load.a, load.b, admittance)
            for node, sign in ((load.a, 1.0), (load.b, -1.0)):
                i = self.index.get(node, -1)
                if i >= 0:
                    right[:, i, 0] += sign * load.current
        return matrix, right

    @staticmethod
    def _check(what: str, values: Array, names: list[str]) -> None:
        if not values.size or 0 <= values.min() <= values.max() < math.inf:  # false for a NaN
            return
        bad = ~(np.isfinite(values) & (values >= 0))
        if bad.any():
            row, column = map(int, np.argwhere(bad)[0])
            raise ValueError(
                f"{what} of {names[column]} is {values[row, column]}: "
                "it must be zero or more and finite, because a passive part neither feeds nor breaks the network"
            )


@dataclass(frozen=True)
class Solution:
    """Potentials (B, nodes) against the reference, and the current that leaves each source's plus (B, sources)."""

    circuit: Circuit
    potentials: Phasors
    source_currents: Phasors
    conductance: Array
    asked: dict[tuple[str, str], Array] = field(default_factory=dict, compare=False, repr=False)
    """What was worked out of it already: a solution that is kept is asked the same again and again."""

    def across(self, branch: str) -> Array:
        """(B,) V over a conductance, as a magnitude."""
        one, two = self.circuit.ends(branch)
        zero = np.zeros(self.potentials.shape[0])
        first, second = (self.potentials[:, i] if i >= 0 else zero for i in (one, two))
        return np.abs(first - second)

    def current(self, branch: str) -> Array:
        """(B,) A through a conductance, as a magnitude; read-only."""
        key = "current", branch
        if key not in self.asked:
            found = self.across(branch) * self.conductance[:, self.circuit.branch[branch]]
            found.flags.writeable = False
            self.asked[key] = found
        return self.asked[key]

    def power(self, branch: str) -> Array:
        """(B,) W turned to heat in a conductance; read-only."""
        key = "power", branch
        if key not in self.asked:
            found = self.across(branch) ** 2 * self.conductance[:, self.circuit.branch[branch]]
            found.flags.writeable = False
            self.asked[key] = found
        return self.asked[key]

    def potential(self, node: str) -> Phasors:
        """(B,) V of one node against the reference."""
        if node == self.circuit.reference:
            return np.zeros(self.potentials.shape[0])
        return self.potentials[:, self.circuit.index[node]]

    def between(self, a: str, b: str) -> Phasors:
        """(B,) V from ``b`` to ``a``."""
        return self.potential(a) - self.potential(b)

    def currents(self) -> Phasors:
        """(B, conductances) A from ``a`` to ``b`` through every conductance."""
        drops = [self.between(c.a, c.b) for c in self.circuit.conductances]
        return np.stack(drops, axis=1) * self.conductance

    def powers(self) -> Array:
        """(B, conductances) W turned to heat in every conductance."""
        drops = np.stack([self.between(c.a, c.b) for c in self.circuit.conductances], axis=1)
        return np.abs(drops) ** 2 * self.conductance
