"""A unit's terminals as meters and hands see them."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from tankside.heater import touch
from tankside.heater.simulation import energise
from tankside.heater.unit import Unit
from tankside.physics.circuit import Load

Array = NDArray[np.float64]

BODY, FELT = touch.BODY, touch.FELT
LIVE_ABOVE = 30.0
"""V to earth, before anybody touches it, from which a conductor is dangerous to touch: the limit that IEC 61010-1 sets in
normal dry conditions (from memory). A neutral that carries current stands a volt or two above earth; no hand feels that."""


class Terminals:
    """The instruments' view of a unit, as it stands now (``tankside.instruments.network.Network``)."""

    def __init__(self, unit: Unit) -> None:
        self.unit = unit
        energise(unit)

    def alternating(self, a: str, b: str, conductance: float, capacitance: float) -> Array:
        """V r.m.s. between two terminals with a meter's input connected."""
        loads = (Load(a, b, conductance, capacitance),)
        return np.abs(self.unit.wiring.solve(self.unit.values, "alternating", loads).between(a, b))

    def direct(self, a: str, b: str, conductance: float, current: float) -> Array:
        """V from ``b`` to ``a`` with a meter's input, or an ohmmeter's test current, connected."""
        loads = (Load(a, b, conductance, current=current),)
        return np.real(self.unit.wiring.solve(self.unit.values, "direct", loads).between(a, b))

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
