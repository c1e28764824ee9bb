"""A unit's terminals as meters and hands see them."""

from __future__ import annotations

import math
from collections import OrderedDict
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tankside.heater import touch
from tankside.heater.electrics import side
from tankside.heater.simulation import energise
from tankside.heater.unit import Unit
from tankside.heater.wiring import Net
from tankside.physics.circuit import Drive, Load, Phasors, Solution, distinct

Array = NDArray[np.float64]

BODY, FELT = touch.BODY, touch.FELT
LIVE_ABOVE = 30.0
"""V to earth, before anybody touches it, from which a conductor is dangerous to touch: the limit that IEC 61010-1 sets in
normal dry conditions (from memory). A neutral that carries current stands a volt or two above earth; no hand feels that."""
_NETWORKS = 4
"""Networks whose inverse is kept: a technician measures many pairs before anything changes."""
_MANY = 16
"""Variants from which on it pays to look for those that are the same network."""


Numbers = tuple[Array, Array, Array]


@dataclass
class _State:
    """A network as it stands: its numbers (the very arrays, which nobody writes to), and what was worked out for them."""

    numbers: Numbers
    first: NDArray[np.intp]
    """The first variant of each kind of network."""
    kind: NDArray[np.intp]
    """(B,) which kind every variant is."""
    volts: Phasors | None = None
    ohms: Phasors | None = None
    """(kinds, nodes) V, and (kinds, nodes, nodes) ohm."""


_STATES: OrderedDict[tuple[Net, Drive], _State] = OrderedDict()


def _state(net: Net, drive: Drive, numbers: Numbers) -> tuple[_State, bool]:
    """What is known of a network as it stands; whether it was asked for before."""
    state = _STATES.get((net, drive))
    if state is not None and all(a is b for a, b in zip(state.numbers, numbers, strict=True)):
        return state, True
    first = kind = np.arange(len(numbers[0]))
    if len(kind) >= _MANY:
        first, kind = distinct(*numbers)
    state = _STATES[net, drive] = _State(numbers, first, kind)
    _STATES.move_to_end((net, drive))
    while len(_STATES) > _NETWORKS:
        _STATES.popitem(last=False)
    return state, False


def _alternating(unit: Unit, a: str, b: str) -> tuple[Phasors, Phasors]:
    """(B,) V between two terminals with nothing on them, and (B,) ohm of the network between them (Thevenin).

    The second pair that is asked for while nothing moves gets the whole inverse; every further pair is arithmetic.
    """
    net = unit.wiring.net_for("alternating", (Load(a, b),))
    circuit = net.circuit
    conductance, emf, inner, farads = net.numbers(unit.values, True)
    state, again = _state(net, "alternating", (conductance, emf, inner))
    nodes: Sequence[str] = circuit.nodes if again else [n for n in (a, b) if n != circuit.reference]
    volts, ohms = state.volts, state.ohms
    if volts is None or ohms is None:
        some = state.first
        capacitance = None if farads is None else farads[some]
        volts, ohms = circuit.seen_from(
            nodes, conductance[some], emf[some], inner[some], capacitance, frequency=unit.wiring.frequency
        )
        if again:
            state.volts, state.ohms = volts, ohms
    index = circuit.index if again else {node: k for k, node in enumerate(nodes)}
    one, two = index.get(a), index.get(b)
    count = len(volts)
    open_volts, between = np.zeros(count, dtype=complex), np.zeros(count, dtype=complex)
    if one is not None:
        open_volts += volts[:, one]
        between += ohms[:, one, one]
    if two is not None:
        open_volts -= volts[:, two]
        between += ohms[:, two, two]
    if one is not None and two is not None:
        between -= ohms[:, one, two] + ohms[:, two, one]
    return open_volts[state.kind], between[state.kind]


def _direct(unit: Unit, a: str, b: str) -> tuple[Phasors, Phasors]:
    """The same for direct voltage.

    One ampere through the pair gives its ohms, in a solve of its own: where both ends float, the difference of two
    nodes' ohms to earth is nothing but rounding.
    """
    net = unit.wiring.net_for("direct", (Load(a, b),))
    conductance, emf, inner, _ = net.numbers(unit.values, False)
    state, _ = _state(net, "direct", (conductance, emf, inner))
    some = state.first
    if state.volts is None and net is unit.wiring.sides["direct"]:  # solved when the unit was energised
        state.volts = side(unit, "direct").potentials[some]
    elif state.volts is None:
        state.volts = net.circuit.solve(conductance[some], emf[some], inner[some], drive="direct").potentials
    still = Solution(net.circuit, state.volts, emf[some], conductance[some]).between(a, b)
    pushed = (Load(a, b, current=1.0),)
    ohms = net.circuit.solve(
        conductance[some], np.zeros_like(emf[some]), inner[some], drive="direct", loads=pushed
    ).between(a, b)
    return still[state.kind], ohms[state.kind]


class Terminals:
    """The instruments' view of a unit, as it stands now (``tankside.instruments.network.Network``)."""

    def __init__(self, unit: Unit) -> None:
        self.unit = unit
        energise(unit)
        self._pairs: dict[tuple[Drive, str, str], tuple[Phasors, Phasors]] = {}

    def alternating(self, a: str, b: str, conductance: float, capacitance: float) -> Array:
        """V r.m.s. between two terminals with a meter's input connected."""
        volts, ohms = self._port("alternating", a, b)
        susceptance = 2 * math.pi * self.unit.wiring.frequency * capacitance
        return np.abs(volts / (1 + (conductance + 1j * susceptance) * ohms))

    def direct(self, a: str, b: str, conductance: float, current: float) -> Array:
        """V from ``b`` to ``a`` with a meter's input, or an ohmmeter's test current, connected."""
        volts, ohms = self._port("direct", a, b)
        return np.real((volts + current * ohms) / (1 + conductance * ohms))

    def _port(self, drive: Drive, a: str, b: str) -> tuple[Phasors, Phasors]:
        """(B,) V and (B,) ohm between two terminals, worked out once for as long as the leads are there."""
        key = drive, a, b
        if key not in self._pairs:
            self._pairs[key] = (_alternating if drive == "alternating" else _direct)(self.unit, a, b)
        return self._pairs[key]

    def touches(self, terminals: Sequence[str]) -> Array:
        """(B, K) A through a person who stands on the ground and touches one of the terminals."""
        return touch.touches(self.unit, terminals)

    def touch(self, terminal: str) -> Array:
        """(B,) A through a person who stands on the ground and touches the terminal."""
        return self.touches([terminal])[:, 0]

    def felt(self, terminals: Sequence[str]) -> list[str]:
        """Those that are live to the first variant's technician: a voltage that is dangerous to touch, and a felt current.

        Both, because a ghost has volts and no current behind it, and a loaded neutral has current and no volts.
        """
        if not terminals:
            return []
        volts, seen = self.unit.wiring.seen_from(self.unit.values, terminals)
        current = np.abs(volts / (BODY + np.diagonal(seen, axis1=1, axis2=2)))
        live = (current[0] > FELT) & (np.abs(volts[0]) > LIVE_ABOVE)
        return [terminal for terminal, is_live in zip(terminals, live, strict=True) if is_live]

    def live(self, terminal: str) -> bool:
        """True if the first variant's terminal is live to a hand."""
        return bool(self.felt([terminal]))
