"""From a heater model to a circuit: which branch comes from which part or wire, and its value now.

Where the model's alternating and direct sides hang together at one node alone (the case of
the heater), neither sends current through the other. Each is then solved by itself; only a
meter, or a hand, that bridges both sides needs the whole.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

from tankside.heater.memo import bytes_of, fetch, stacked
from tankside.heater.model import HeaterModel, Wire
from tankside.heater.parts import OPEN, SHARED_NODES, Feed, Path
from tankside.heater.parts.base import Getter
from tankside.physics.circuit import Capacitance, Circuit, Conductance, Drive, Load, Phasors, Solution, Source

Array = NDArray[np.float64]
Values = dict[str, Array]

_SCREW = 1e3
"""S of a lead's end under its screw, while it isn't lifted."""
_KEPT = 256
"""Solutions that a network keeps."""
_BATCHES = 4
"""Sizes of batch for which a network keeps the numbers that it was filled with last."""


@dataclass(frozen=True)
class _Branches:
    """A model's branches, or some of them, with where each gets its value."""

    paths: tuple[tuple[str, Path], ...]
    wires: tuple[Wire, ...]
    screws: tuple[Wire, ...]
    feeds: tuple[tuple[str, Feed], ...]
    cables: tuple[tuple[str, str, str, float], ...]
    """Name, two nodes, farads."""

    def ends(self) -> list[tuple[str, str, str]]:
        """Kind of drive (or ""), and the two nodes, of every branch."""
        out = [("", a, b) for _, a, b in self.conductances()]
        out += [(feed.drive, _node(part, feed.a), _node(part, feed.b)) for part, feed in self.feeds]
        return out + [("", a, b) for _, a, b, _ in self.cables]

    def conductances(self) -> list[tuple[str, str, str]]:
        """Name and nodes, in the order in which ``Net`` fills in the values."""
        out = [
            (f"{part}: {path.name}", _node(part, path.a), _node(part, path.b)) for part, path in self.paths
        ]
        out += [(f"{wire.id}: {wire.name}", *_wire_ends(wire)) for wire in self.wires]
        out += [(f"{wire.id}: screw", loose_end(wire.id), _lifts_from(wire)) for wire in self.screws]
        return out

    def within(self, nodes: frozenset[str]) -> _Branches:
        """Only the branches with both ends among these nodes."""

        def keep(a: str, b: str) -> bool:
            return a in nodes and b in nodes

        return _Branches(
            tuple((part, p) for part, p in self.paths if keep(_node(part, p.a), _node(part, p.b))),
            tuple(wire for wire in self.wires if keep(*_wire_ends(wire))),
            tuple(wire for wire in self.screws if keep(loose_end(wire.id), _lifts_from(wire))),
            tuple((part, f) for part, f in self.feeds if keep(_node(part, f.a), _node(part, f.b))),
            tuple(cable for cable in self.cables if keep(cable[1], cable[2])),
        )


@dataclass(frozen=True)
class _Filled:
    """A network's numbers, and what they came from."""

    inputs: Array
    conductance: Array
    emf: Array
    inner: Array


class Net:
    """A circuit with the means to fill in its values."""

    def __init__(self, branches: _Branches, reference: str = "earth") -> None:
        self._of = branches
        names = branches.conductances()
        self.circuit = Circuit(
            [Conductance(*name) for name in names],
            [
                Source(
                    f"{part}: {feed.name}",
                    _node(part, feed.a),
                    _node(part, feed.b),
                    "alternating" if feed.drive == "alternating" else "direct",
                )
                for part, feed in branches.feeds
            ],
            [Capacitance(name, a, b) for name, a, b, _ in branches.cables],
            reference,
        )
        self.nodes = frozenset((*self.circuit.nodes, reference))
        self._farads = np.array([[farads for *_, farads in branches.cables]])
        self._wire_keys = [f"{wire.id}.resistance" for wire in branches.wires]
        self._screw_keys = [f"{wire.id}.lifted" for wire in branches.screws]
        reads = self._what_they_read()
        self.keys = tuple(dict.fromkeys(key for keys in reads for key in keys))
        """Names of the values that the network depends on."""
        row = {key: k for k, key in enumerate(self.keys)}
        self._needs = np.zeros((len(self.keys), len(reads)), dtype=bool)
        for column, keys in enumerate(reads):
            self._needs[[row[key] for key in keys], column] = True
        self._filled: OrderedDict[int, _Filled] = OrderedDict()
        self.answers: OrderedDict[bytes, Solution] = OrderedDict()
        """Solutions with nothing touching the network, by its inputs' bytes: in a year the same few states recur."""

    def _what_they_read(self) -> list[list[str]]:
        """The values that each conductance depends on, then each source."""
        out = []
        asks: list[tuple[str, tuple[Callable[[Getter], Array], ...]]] = [
            (part, (path.value,)) for part, path in self._of.paths
        ]
        feeds = [(part, (feed.emf, feed.inner)) for part, feed in self._of.feeds]
        middle = [[key] for key in (*self._wire_keys, *self._screw_keys)]
        for k, (part, functions) in enumerate([*asks, *feeds]):
            if k == len(asks):
                out += middle
            seen: list[str] = []
            for function in functions:
                _ask(function, part, seen)
            out.append(seen)
        return out if feeds else out + middle

    def inputs(self, values: Values) -> Array:
        """(keys, B) what the network depends on, as it stands."""
        return stacked(fetch(values, self.keys))

    def still(self, values: Values, drive: Drive, frequency: float) -> Solution:
        """The network with nothing touching it, and without its cables' capacitance, from kept answers if it can be."""
        key = drive.encode() + bytes_of(values, self.keys)
        found = self.answers.get(key)
        if found is None:
            conductance, emf, inner = self.filled(self.inputs(values), values)
            found = self.circuit.solve(conductance, emf, inner, drive=drive, frequency=frequency)
            self.answers[key] = found
            if len(self.answers) > _KEPT:
                self.answers.popitem(last=False)
        else:
            self.answers.move_to_end(key)
        return found

    def filled(self, inputs: Array, values: Values) -> tuple[Array, Array, Array]:
        """Conductances (B, branches) and sources (B, sources), read-only; only what moved since the last time is new."""
        batch, count = inputs.shape[1], len(self.circuit.conductances)
        last = self._filled.get(batch)
        if last is not None:
            moved = (inputs != last.inputs).any(axis=1)
            if not moved.any():
                return last.conductance, last.emf, last.inner
            columns = np.flatnonzero(self._needs[moved].any(axis=0))
        if last is None or len(columns) > count / 2:
            now = _Filled(inputs, self.conductances(values), *self.feeds(values))
        else:
            now = _Filled(inputs, last.conductance.copy(), last.emf.copy(), last.inner.copy())
            for column in columns.tolist():
                if column < count:
                    now.conductance[:, column] = self._conductance(column, values)
                else:
                    self._feed(column - count, values, now.emf, now.inner)
        for array in (now.conductance, now.emf, now.inner):
            array.flags.writeable = False
        self._filled[batch] = now
        while len(self._filled) > _BATCHES:
            self._filled.popitem(last=False)
        return now.conductance, now.emf, now.inner

    def _conductance(self, column: int, values: Values) -> Array:
        paths, wires = len(self._of.paths), len(self._wire_keys)
        if column < paths:
            part, path = self._of.paths[column]
            return path.value(_getter(part, values))
        if column < paths + wires:
            return 1.0 / values[self._wire_keys[column - paths]]
        return np.where(values[self._screw_keys[column - paths - wires]] > 0, OPEN, _SCREW)

    def _feed(self, k: int, values: Values, emf: Array, inner: Array) -> None:
        part, feed = self._of.feeds[k]
        emf[:, k] = feed.emf(_getter(part, values))
        inner[:, k] = feed.inner(_getter(part, values))

    def conductances(self, values: Values) -> Array:
        """(B, branches) S: every path, wire and screw as it stands."""
        batch = next(iter(values.values())).shape[0]
        out = np.empty((batch, len(self.circuit.conductances)))
        column = 0
        for part, path in self._of.paths:
            out[:, column] = path.value(_getter(part, values))
            column += 1
        if self._wire_keys:
            n = len(self._wire_keys)
            out[:, column : column + n] = 1.0 / np.stack([values[key] for key in self._wire_keys], axis=1)
            column += n
        if self._screw_keys:
            lifted = np.stack([values[key] for key in self._screw_keys], axis=1)
            out[:, column:] = np.where(lifted > 0, OPEN, _SCREW)
        return out

    def feeds(self, values: Values) -> tuple[Array, Array]:
        """(B, sources) V and ohm of every source as it stands."""
        batch = next(iter(values.values())).shape[0]
        emf = np.empty((batch, len(self._of.feeds)))
        inner = np.empty_like(emf)
        for k in range(len(self._of.feeds)):
            self._feed(k, values, emf, inner)
        return emf, inner

    def numbers(self, values: Values, coupled: bool) -> tuple[Array, Array, Array, Array | None]:
        """Conductances, e.m.f.s, inner resistances and capacitances as they stand; read-only."""
        filled = self.filled(self.inputs(values), values)
        farads = np.broadcast_to(self._farads, (len(filled[0]), self._farads.shape[1])) if coupled else None
        return *filled, farads


class Wiring:
    """The circuit of one heater model. Values come from a unit; the topology never changes."""

    def __init__(self, model: HeaterModel) -> None:
        self.model = model
        wires = tuple(model.wires.values())
        cables = []
        for i, cable in enumerate(model.data.cable):
            one, two = (model.wires[wire] for wire in cable.wires)
            length = model.number(f"cable[{i}].length", cable.length, "m")
            farads = length * model.number(f"cable[{i}].capacitance", cable.capacitance, "F/m")
            cables.append((f"cable {one.id}-{two.id}", one.to, two.to, farads))
        branches = _Branches(
            tuple((part, path) for part, kind in model.types.items() for path in kind.paths),
            wires,
            tuple(wire for wire in wires if wire.lifts_at),
            tuple((part, feed) for part, kind in model.types.items() for feed in kind.feeds),
            tuple(cables),
        )
        self.frequency = model.number("plate.frequency", model.plate.frequency or "60 Hz", "Hz")
        self.whole = Net(branches)
        self.circuit = self.whole.circuit
        self.sides: dict[Drive, Net] = {"alternating": self.whole, "direct": self.whole}
        found = split(branches.ends())
        if found:
            joint, alternating, direct = found
            self.sides = {
                "alternating": Net(branches.within(alternating)),
                "direct": Net(branches.within(direct), joint),
            }

    def conductances(self, values: Values) -> Array:
        """(B, branches) S of the whole network."""
        return self.whole.conductances(values)

    def net_for(self, drive: Drive, loads: Iterable[Load] = ()) -> Net:
        """The smallest network that answers for a drive, or for what touches these loads' nodes."""
        touched = {node for load in loads for node in (load.a, load.b)}
        if not touched:
            return self.sides[drive]
        return next((net for net in self.sides.values() if touched <= net.nodes), self.whole)

    def solve(
        self, values: Values, drive: Drive = "alternating", loads: tuple[Load, ...] = (), coupled: bool = True
    ) -> Solution:
        """The network as it stands, with whatever touches it (meters, a hand).

        ``coupled=False`` leaves the cables' capacitance out: its microamperes matter to a meter,
        not to heat and breakers, and without it the numbers stay real.
        """
        net = self.net_for(drive, loads)
        numbers = net.numbers(values, coupled)
        return net.circuit.solve(*numbers, drive=drive, frequency=self.frequency, loads=loads)

    def seen_from(
        self, values: Values, terminals: Sequence[str], drive: Drive = "alternating"
    ) -> tuple[Phasors, Phasors]:
        """Open-circuit potentials (B, K) V and impedances (B, K, K) ohm of the network, seen from terminals."""
        numbers = self.whole.numbers(values, True)
        return self.circuit.seen_from(terminals, *numbers, drive=drive, frequency=self.frequency)


def split(ends: Sequence[tuple[str, str, str]]) -> tuple[str, frozenset[str], frozenset[str]] | None:
    """The node at which alternating and direct sides join, and the nodes of each (the joint in both).

    None if a model has only one kind of source, or if more than one node joins the two.
    """
    kinds = {kind for kind, _, _ in ends if kind}
    if kinds != {"alternating", "direct"}:
        return None
    nodes = list(dict.fromkeys(node for _, a, b in ends for node in (a, b)))
    best: tuple[str, frozenset[str], frozenset[str]] | None = None
    for joint in nodes:
        if joint == "earth":
            continue
        groups = _groups(nodes, ends, joint)
        home = {node: k for k, group in enumerate(groups) for node in group}
        fed: dict[str, set[int]] = {
            drive: {home[n] for kind, a, b in ends if kind == drive for n in (a, b) if n != joint}
            for drive in ("alternating", "direct")
        }
        if fed["alternating"] & fed["direct"] or home.get("earth") in fed["direct"]:
            continue
        direct = frozenset({joint}.union(*(groups[k] for k in fed["direct"])))
        rest = frozenset(set(nodes) - direct | {joint})
        if best is None or max(len(direct), len(rest)) < max(len(best[1]), len(best[2])):
            best = joint, rest, direct
    return best


def _groups(nodes: list[str], ends: Sequence[tuple[str, str, str]], without: str) -> list[set[str]]:
    """The connected parts of the network when one node is taken out."""
    beside: dict[str, list[str]] = {node: [] for node in nodes}
    for _, a, b in ends:
        beside[a].append(b)
        beside[b].append(a)
    seen, out = {without}, []
    for node in nodes:
        if node in seen:
            continue
        group, queue = {node}, [node]
        seen.add(node)
        while queue:
            for other in beside[queue.pop()]:
                if other not in seen:
                    seen.add(other)
                    group.add(other)
                    queue.append(other)
        out.append(group)
    return out


def _getter(part: str, values: Values) -> Callable[[str], Array]:
    return lambda key: values[f"{part}.{key}"]


def _ask(function: Callable[[Getter], Array], part: str, seen: list[str]) -> None:
    """Note which of its part's values a path's or a source's function reads: the same ones whatever they are."""

    def get(key: str) -> Array:
        if f"{part}.{key}" not in seen:
            seen.append(f"{part}.{key}")
        return np.full(1, 0.5)

    function(get)


def _node(part: str, terminal: str) -> str:
    return terminal if terminal in SHARED_NODES else f"{part}.{terminal}"


def _lifts_from(wire: Wire) -> str:
    return wire.to if wire.lifts_at == "to" else wire.from_


def _wire_ends(wire: Wire) -> tuple[str, str]:
    """The nodes that the conductor itself joins: a lead that can be lifted ends in its own loose end."""
    if wire.lifts_at == "to":
        return wire.from_, loose_end(wire.id)
    if wire.lifts_at == "from":
        return loose_end(wire.id), wire.to
    return wire.from_, wire.to


def loose_end(wire: str) -> str:
    """The node of a liftable lead's own end."""
    return f"{wire}.end"


@cache
def wiring_of(model: HeaterModel) -> Wiring:
    """The wiring of a model, made once."""
    return Wiring(model)
