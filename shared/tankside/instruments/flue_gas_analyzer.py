"""A flue-gas analyzer: oxygen and carbon monoxide by cells, temperature by a probe, the rest computed from them.

It measures O2, CO, flue and room temperature; carbon dioxide, excess air, CO air-free and the efficiency are
computed from those for the fuel that it is set to, as such an instrument does. Set to the wrong fuel it computes
wrong numbers, and shows them with the same confidence. What needs the carbon monoxide it leaves blank where there is
more of it than the cell can count.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tankside.instruments.gauge import Gauge, Scale
from tankside.instruments.multimeter import Reading
from tankside.physics.combustion import DRY_AIR, air_free_si, dry_fractions_si, excess_air_from_o2_si
from tankside.physics.combustion_heat import efficiency_si
from tankside.physics.fuels import fuel
from tankside.streams import Stream

Array = NDArray[np.float64]

OXYGEN = Scale("O2", "%", (25.0,), 0.0, 2, 250)
MONOXIDE = Scale("CO", "ppm", (10000.0,), 0.05, 5, 10000)
STACK = Scale("flue", "°C", (1000.0,), 0.005, 2, 1000)
ROOM = Scale("room", "°C", (100.0,), 0.0, 5, 1000)
MOST_OXYGEN = 18.0
"""% above which the gas is so thin that nothing is computed from it."""


@dataclass(frozen=True)
class Computed:
    """What the instrument works out from its own readings, in %, ppm air-free; None where the gas is too thin.

    CO air-free and efficiency are None too where the CO cell is over its range.
    """

    dioxide: float | None
    excess_air: float | None
    air_free: float | None
    efficiency: float | None


class FlueGasAnalyzer:
    """One analyzer with its own fixed errors. ``fuel`` is what it is set to."""

    def __init__(self, seed: str, fuel_name: str = "propane") -> None:
        self.fuel = fuel_name
        self.oxygen, self.monoxide, self.stack, self.room = (
            Gauge(scale, Stream(seed, "instrument", scale.id)) for scale in (OXYGEN, MONOXIDE, STACK, ROOM)
        )

    def channels(self, oxygen: Array, monoxide: Array, flue: Array, room: Array) -> list[tuple[Gauge, Array]]:
        """Each cell or probe with (B,) what it finds, in its unit, from mole fractions and kelvins."""
        top = MONOXIDE.ranges[-1]
        return [
            (self.oxygen, 100 * oxygen),
            (self.monoxide, np.minimum(1e6 * monoxide, 2 * top)),
            (self.stack, flue - 273.15),
            (self.room, room - 273.15),
        ]

    def computes(self, oxygen: Reading, monoxide: Reading, flue: Reading, room: Reading) -> Computed:
        """The computed part of the display."""
        o2, hot, air = (
            reading.full if reading.value is None else reading.value for reading in (oxygen, flue, room)
        )
        if o2 > MOST_OXYGEN:
            return Computed(None, None, None, None)
        one, share = fuel(self.fuel), max(o2, 0.0) / 100
        excess = float(excess_air_from_o2_si(one, share))
        dioxide = float(dry_fractions_si(one, 0.0)[0]) * (1 - share / DRY_AIR.oxygen)
        shown = round(100 * dioxide, 1), round(100 * excess, 0)
        if monoxide.value is None:
            return Computed(*shown, None, None)
        co = max(monoxide.value, 0.0)
        stack = min(max(hot + 273.15, 280.0), 1500.0)
        kept, _, _ = efficiency_si(one, stack, excess, air + 273.15, min(co * 1e-6, 0.02))
        return Computed(*shown, round(float(air_free_si(co, share)), 0), round(100 * float(kept), 1))
