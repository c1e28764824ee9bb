"""From a heater model to a circuit: which branch comes from which part or wire, and its value now."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache

import numpy as np
from numpy.typing import NDArray

from tankside.heater.model import HeaterModel
from tankside.heater.parts import OPEN, SHARED_NODES, Feed, Path
from tankside.physics.circuit import Capacitance, Circuit, Conductance, Drive, Load, Phasors, Solution, Source

Array = NDArray[np.float64]
Values = dict[str, Array]

_SCREW = 1e3
"""S of a lead's end under its screw, while it isn't lifted."""


class Wiring:
    """The circuit of one heater model. Values come from a unit; the topology never changes."""

    def __init__(self, model: HeaterModel) -> None:
        self.model = model
        self._paths: list[tuple[str, Path]] = []
        self._feeds: list[tuple[str, Feed]] = []
        conductances: list[Conductance] = []
        sources: list[Source] = []
        for part, kind in model.types.items():
            for path in kind.paths:
                self._paths.append((part, path))
                ends = self._node(part, path.a), self._node(part, path.b)
                conductances.append(Conductance(f"{part}: {path.name}", *ends))
            for feed in kind.feeds:
                self._feeds.append((part, feed))
                drive: Drive = "alternating" if feed.drive == "alternating" else "direct"
                ends = self._node(part, feed.a), self._node(part, feed.b)
                sources.append(Source(f"{part}: {feed.name}", *ends, drive=drive))
        self._wires = list(model.wires.values())
        self._liftable = [wire for wire in self._wires if wire.lifts_at]
        for wire in self._wires:
            a, b = wire.from_, wire.to
            if wire.lifts_at:
                a, b = (a, loose_end(wire.id)) if wire.lifts_at == "to" else (loose_end(wire.id), b)
            conductances.append(Conductance(f"{wire.id}: {wire.name}", a, b))
        for wire in self._liftable:
            end = wire.to if wire.lifts_at == "to" else wire.from_
            conductances.append(Conductance(f"{wire.id}: screw", loose_end(wire.id), end))
        capacitances = []
        farads = []
        for i, cable in enumerate(model.data.cable):
            one, two = (model.wires[wire] for wire in cable.wires)
            capacitances.append(Capacitance(f"cable {one.id}-{two.id}", one.to, two.to))
            length = model.number(f"cable[{i}].length", cable.length, "m")
            farads.append(length * model.number(f"cable[{i}].capacitance", cable.capacitance, "F/m"))
        self._farads = np.array([farads])
        self.frequency = model.number("plate.frequency", model.plate.frequency, "Hz")
        self.circuit = Circuit(conductances, sources, capacitances)
        self.branch = {c.name: i for i, c in enumerate(conductances)}

    @staticmethod
    def _node(part: str, terminal: str) -> str:
        return terminal if terminal in SHARED_NODES else f"{part}.{terminal}"

    def conductances(self, values: Values) -> Array:
        """(B, branches) S: every path, wire and screw as it stands."""
        batch = next(iter(values.values())).shape[0]
        out = np.empty((batch, len(self.circuit.conductances)))
        column = 0
        for part, path in self._paths:
            out[:, column] = path.value(lambda key, part=part: values[f"{part}.{key}"])  # type: ignore[misc]
            column += 1
        for wire in self._wires:
            out[:, column] = 1.0 / values[f"{wire.id}.resistance"]
            column += 1
        for wire in self._liftable:
            out[:, column] = np.where(values[f"{wire.id}.lifted"] > 0, OPEN, _SCREW)
            column += 1
        return out

    def solve(
        self, values: Values, drive: Drive = "alternating", loads: tuple[Load, ...] = (), coupled: bool = True
    ) -> Solution:
        """The network as it stands, with whatever touches it (meters, a hand).

        ``coupled=False`` leaves the cables' capacitance out: its microamperes matter to a meter,
        not to heat and breakers, and without it the numbers stay real.
        """
        numbers = self._numbers(values, coupled)
        return self.circuit.solve(*numbers, drive=drive, frequency=self.frequency, loads=loads)

    def seen_from(
        self, values: Values, terminals: Sequence[str], drive: Drive = "alternating"
    ) -> tuple[Phasors, Phasors]:
        """Open-circuit potentials (B, K) V and impedances (B, K, K) ohm of the network, seen from terminals."""
        numbers = self._numbers(values, True)
        return self.circuit.seen_from(terminals, *numbers, drive=drive, frequency=self.frequency)

    def _numbers(self, values: Values, coupled: bool) -> tuple[Array, Array, Array, Array | None]:
        """Conductances, e.m.f.s, inner resistances and capacitances as they stand."""
        conductance = self.conductances(values)
        batch = conductance.shape[0]
        emf = np.empty((batch, len(self._feeds)))
        inner = np.empty_like(emf)
        for k, (part, feed) in enumerate(self._feeds):
            emf[:, k] = feed.emf(lambda key, part=part: values[f"{part}.{key}"])  # type: ignore[misc]
            inner[:, k] = feed.inner(lambda key, part=part: values[f"{part}.{key}"])  # type: ignore[misc]
        farads = np.broadcast_to(self._farads, (batch, self._farads.shape[1])) if coupled else None
        return conductance, emf, inner, farads


def loose_end(wire: str) -> str:
    """The node of a liftable lead's own end."""
    return f"{wire}.end"


@cache
def wiring_of(model: HeaterModel) -> Wiring:
    """The wiring of a model, made once."""
    return Wiring(model)
