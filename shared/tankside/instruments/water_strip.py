"""What one carries for the water side: strip, conductivity meter, bucket and watch, gauge, caliper, scales, lamp.

Figures are those of ordinary invented instruments. The strip has steps; everything else is a ``Gauge``.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tankside.instruments.gauge import Gauge, Scale
from tankside.instruments.thermometer import thermometers
from tankside.streams import Stream

Array = NDArray[np.float64]

STEPS = (0.0, 50.0, 125.0, 200.0, 300.0, 425.0)
"""mg/L of hardness that the strip's colour card shows."""
CONDUCTIVITY = Scale("µS/cm", "µS/cm", (2000.0, 20000.0), 0.02, 3)
BUCKET = Scale("L/min", "L/min", (20.0,), 0.04, 2, 400)
DRIPS = Scale("mL/min", "mL/min", (200.0, 20000.0), 0.05, 2, 400)
CAUGHT = Scale("mL", "mL", (2000.0, 200000.0), 0.03, 2, 2000)
PRESSURE = Scale("kPa", "kPa", (1600.0, 4000.0), 0.01, 2, 320)
CALIPER = Scale("mm", "mm", (150.0,), 0.0, 2, 1500)
DENSITY = Scale("kg/L", "kg/L", (20.0,), 0.03, 3, 400)
DEPTH = Scale("mm deep", "mm", (100.0,), 0.05, 1, 200)
AREA = Scale("cm² bare", "cm²", (200.0, 20000.0), 0.2, 1, 100)


@dataclass(frozen=True)
class WaterTools:
    """One technician's instruments for the water side, each with its own fixed error."""

    water: Gauge
    surface: Gauge
    conductivity: Gauge
    bucket: Gauge
    drips: Gauge
    caught: Gauge
    pressure: Gauge
    caliper: Gauge
    density: Gauge
    depth: Gauge
    area: Gauge


def water_tools(seed: str) -> WaterTools:
    """The instruments that go with a work order's seed."""
    scales = (CONDUCTIVITY, BUCKET, DRIPS, CAUGHT, PRESSURE, CALIPER, DENSITY, DEPTH, AREA)
    rest = (Gauge(scale, Stream(seed, "instrument", scale.id)) for scale in scales)
    return WaterTools(*thermometers(seed), *rest)


def strip(hardness: float) -> tuple[float, float, float]:
    """mg/L: the step that the strip's colour is nearest to, and the band of hardness that looks like it."""
    k = int(np.argmin([abs(hardness - step) for step in STEPS]))
    low = -np.inf if k == 0 else (STEPS[k - 1] + STEPS[k]) / 2 - 10.0
    high = np.inf if k == len(STEPS) - 1 else (STEPS[k] + STEPS[k + 1]) / 2 + 10.0
    return STEPS[k], float(low), float(high)
