"""A multimeter: volts alternating and direct, ohms, continuity.

What it shows is computed in three steps: the network's answer with the meter's own input
connected; the error of this one meter (fixed, inside its accuracy); the range, the counts and
the limits of its display. Figures are those of an ordinary invented 6000-count meter.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tankside.errors import UnknownNameError
from tankside.instruments.network import Network
from tankside.streams import Stream

Array = NDArray[np.float64]
COUNTS = 6000


@dataclass(frozen=True)
class Function:
    """One position of the meter: its ranges (full scale, in ``unit``) and accuracy ±(share + digits)."""

    id: str
    name: str
    unit: str
    ranges: tuple[float, ...]
    share: float
    digits: int

    def accuracy(self, value: float, full: float) -> float:
        """Largest error, in ``unit``, of a reading of ``value`` on the range ``full``."""
        return self.share * abs(value) + self.digits * full / COUNTS


FUNCTIONS = {
    f.id: f
    for f in (
        Function("V~", "volts, alternating", "V", (6.0, 60.0, 600.0), 0.010, 3),
        Function("V⎓", "volts, direct", "V", (6.0, 60.0, 600.0), 0.005, 2),
        Function("Ω", "ohms", "Ω", (600.0, 6e3, 60e3, 600e3, 6e6, 60e6), 0.009, 3),
        Function("continuity", "continuity", "Ω", (600.0,), 0.009, 3),
    )
}
INPUT_RESISTANCE = 10e6
"""Ω on both volt functions."""
INPUT_CAPACITANCE = 100e-12
"""F on both volt functions."""
TEST_VOLTS = 1.0
"""V at the open leads on ohms."""
LEADS = 0.2
"""Ω of both test leads together, until they are zeroed."""
BEEPS_BELOW = 30.0
"""Ω under which continuity sounds."""
DISTURBED = 2.0
"""V already on the leads above which ohms show nothing but a warning."""


@dataclass(frozen=True)
class Reading:
    """What the display shows. ``value`` is None when it shows no number."""

    function: str
    value: float | None
    full: float
    digits: str
    unit: str
    note: str = ""

    @property
    def spoken(self) -> str:
        """The reading as one would say it."""
        names = {
            "V": "volts",
            "Ω": "ohms",
            "kΩ": "kilohms",
            "MΩ": "megohms",
            "A": "amperes",
            "µA": "microamperes",
        }
        if self.value is None:
            return self.note
        kind = {"~": ", alternating", "⎓": ", direct"}.get(self.function[-1:], "")
        return f"{self.digits} {names.get(self.unit, self.unit)}{kind}" + (
            f", {self.note}" if self.note else ""
        )


class Multimeter:
    """One meter. ``stream`` fixes its errors; ``zeroed`` takes its leads off every ohms reading."""

    def __init__(self, stream: Stream) -> None:
        self._error = {
            (f.id, full): (stream.uniform(-0.6, 0.6), stream.uniform(-0.6, 0.6))
            for f in FUNCTIONS.values()
            for full in f.ranges
        }
        self.zeroed = False

    def sees(self, function: str, network: Network, a: str, b: str) -> tuple[Array, Array]:
        """(B,) what the meter's input finds before its own errors, and (B,) volts that disturb an ohms test."""
        kind = function_named(function)
        if kind.id == "V~":
            return network.alternating(a, b, 1 / INPUT_RESISTANCE, INPUT_CAPACITANCE), np.zeros(1)
        if kind.id == "V⎓":
            return network.direct(a, b, 1 / INPUT_RESISTANCE, 0.0), np.zeros(1)
        alternating = network.alternating(a, b, 1 / INPUT_RESISTANCE, INPUT_CAPACITANCE)
        direct = np.abs(network.direct(a, b, 1 / INPUT_RESISTANCE, 0.0))
        disturbed = np.maximum(alternating, direct)
        return self._ohms(kind, network, a, b), disturbed

    @staticmethod
    def _ohms(kind: Function, network: Network, a: str, b: str) -> Array:
        """A test current in parallel with the source's own conductance, on the range that the answer falls in."""
        ohms: Array | None = None
        for full in kind.ranges:
            current = TEST_VOLTS / (2 * full)
            inner = current / TEST_VOLTS
            volts = network.direct(a, b, inner, current)
            through = np.maximum(current - volts * inner, 1e-18)
            here = np.maximum(volts / through, 0.0)
            ohms = here if ohms is None else np.where(ohms > full, here, ohms)
            if np.all(ohms <= full):
                break
        assert ohms is not None
        return ohms

    def show(self, function: str, value: float, disturbed: float = 0.0) -> Reading:
        """The display for what the input finds."""
        kind = function_named(function)
        if kind.unit == "Ω":
            if disturbed > DISTURBED:
                return Reading(kind.id, None, kind.ranges[0], "- - -", "Ω", "volts on the leads")
            value = value + (0.0 if self.zeroed else LEADS)
        for full in kind.ranges:
            counts = self._counts(kind, value, full)
            if counts is not None:
                break
        else:
            unit, _ = _scaled(kind.unit, full)
            note = "open" if kind.unit == "Ω" else "over range"
            return Reading(kind.id, None, full, "OL", unit, note)
        step = full / COUNTS
        unit, scale = _scaled(kind.unit, full)
        places = max(0, 4 - len(str(int(full / scale))))
        text = f"{counts * step / scale:.{places}f}"
        note = "sounds" if kind.id == "continuity" and counts * step < BEEPS_BELOW else ""
        return Reading(kind.id, round(counts * step, 9), full, text, unit, note)

    def _counts(self, kind: Function, value: float, full: float) -> int | None:
        """What the display counts on one range; None if that is more than it can show."""
        gain, offset = self._error[kind.id, full]
        step = full / COUNTS
        if not abs(value) <= 1.1 * full:
            return None
        shown = value * (1 + gain * kind.share)
        if abs(value) > 20 * step:  # near zero a meter's own zero is good
            shown += offset * kind.digits * step
        counts = round(shown / step)
        return counts if abs(counts) <= COUNTS else None

    def read(self, function: str, network: Network, a: str, b: str) -> Reading:
        """Connect to one heater and read."""
        value, disturbed = self.sees(function, network, a, b)
        return self.show(function, float(value[0]), float(disturbed[0]))

    def agrees(self, reading: Reading, value: Array, disturbed: Array) -> tuple[Array, Array]:
        """The band [low, high] of true values that could have given this reading, as two (B,) arrays.

        Infinite where the display gave no number: an over-range reading admits everything
        above its range; a disturbed ohms reading admits everything (the volts decide).
        """
        kind = function_named(reading.function)
        ones = np.ones_like(value)
        lead = 0.0 if self.zeroed or kind.unit != "Ω" else LEADS
        if reading.value is None:
            if reading.digits == "OL":
                return ones * (reading.full * (1 - kind.share) - lead), ones * np.inf
            return -ones * np.inf, ones * np.inf
        slack = kind.accuracy(reading.value, reading.full) + reading.full / COUNTS
        return ones * (reading.value - slack - lead), ones * (reading.value + slack - lead)


def function_named(name: str) -> Function:
    """The meter's function of that name; ``UnknownNameError`` if it has none."""
    if name not in FUNCTIONS:
        raise UnknownNameError("meter function", name, list(FUNCTIONS))
    return FUNCTIONS[name]


def _scaled(unit: str, full: float) -> tuple[str, float]:
    """The display's unit and what one of it is, on a range."""
    if unit == "Ω" and full >= 1e6:
        return "MΩ", 1e6
    if unit == "Ω" and full >= 1e3:
        return "kΩ", 1e3
    return unit, 1.0
