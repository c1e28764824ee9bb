"""The other instruments of the toolbox. Figures are those of ordinary invented instruments.

Microammeter: goes in series with the flame rod's lead. Clamp: goes around one conductor.
Insulation tester: 500 V direct through its own protective resistance. Board test set: takes the
control board off the heater's harness, feeds it from its own supply and loads its outputs. Millivoltmeter: for a
thermocouple, loaded or open.
Feeler gauge: blades for the igniter's gap. Bubble tester: a dip tube in the line to the burner.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tankside.instruments.gauge import Gauge, Scale
from tankside.instruments.network import Network
from tankside.streams import Stream

Array = NDArray[np.float64]

MICROAMPERES = Scale("µA⎓", "µA", (20.0, 200.0), 0.01, 2)
CLAMP_DIRECT = Scale("A⎓", "A", (4.0, 40.0), 0.02, 5, 4000, blind=0.01)
CLAMP_ALTERNATING = Scale("A~", "A", (4.0, 40.0, 400.0), 0.02, 5, 4000, blind=0.01)
INSULATION = Scale("MΩ", "MΩ", (2.0, 20.0, 200.0, 2000.0), 0.03, 3)
FEELER = Scale("mm", "mm", (20.0,), 0.0, 1, 200)
BUBBLES = Scale("bubbles/min", "bubbles/min", (2000.0,), 0.05, 2)
MILLIVOLTS = Scale("mV⎓", "mV", (60.0, 600.0), 0.005, 2, 6000)
BOARD_AMPERES = Scale("board A⎓", "A", (2.0,), 0.02, 2)

TEST_VOLTS = 500.0
"""V of the insulation tester at open leads."""
PROTECTION = 0.5e6
"""Ohm in series with them, so that a hand survives it."""
BUBBLE = 5e-8
"""m3 of gas in one bubble from a 5 mm tube (order of magnitude, ours)."""


@dataclass(frozen=True)
class Toolbox:
    """One technician's instruments, each with its own fixed error."""

    microammeter: Gauge
    clamp_direct: Gauge
    clamp_alternating: Gauge
    insulation: Gauge
    feeler: Gauge
    bubbles: Gauge
    board_amperes: Gauge
    millivolts: Gauge


def toolbox(seed: str) -> Toolbox:
    """The instruments that go with a work order's seed."""
    scales = (
        MICROAMPERES,
        CLAMP_DIRECT,
        CLAMP_ALTERNATING,
        INSULATION,
        FEELER,
        BUBBLES,
        BOARD_AMPERES,
        MILLIVOLTS,
    )
    return Toolbox(*(Gauge(scale, Stream(seed, "instrument", scale.id)) for scale in scales))


def megohms(network: Network, a: str, b: str) -> Array:
    """(B,) MΩ that the insulation tester finds between two terminals."""
    conductance = 1 / PROTECTION
    volts = network.direct(a, b, conductance, TEST_VOLTS * conductance)
    current = np.maximum((TEST_VOLTS - volts) * conductance, 1e-15)
    return np.maximum(volts / current, 0.0) / 1e6
