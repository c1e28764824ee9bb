"""Do the other instruments keep what their scales promise, and do their bands hold the truth?"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tankside.instruments.gauge import Gauge, Scale
from tankside.instruments.service import (
    BOARD_AMPERES,
    BUBBLES,
    CLAMP_ALTERNATING,
    CLAMP_DIRECT,
    FEELER,
    INSULATION,
    MICROAMPERES,
    MILLIVOLTS,
    megohms,
    toolbox,
)
from tankside.streams import Stream
from tests.published import row

SCALES = (
    MICROAMPERES, CLAMP_DIRECT, CLAMP_ALTERNATING, INSULATION, FEELER, BUBBLES, BOARD_AMPERES, MILLIVOLTS,
)  # fmt: skip


@settings(max_examples=200, deadline=None)
@given(st.sampled_from(SCALES), st.integers(0, 50), st.floats(0, 1.2), st.integers(0, 3))
def test_the_truth_is_in_the_band(scale: Scale, number: int, share: float, power: int) -> None:
    """Whatever one instrument's error: is the true value in the band of its reading, and the band no wider than due?"""
    true = share * scale.ranges[-1] / 10**power
    gauge = Gauge(scale, Stream(f"{number}", "gauge"))
    reading = gauge.show(true)
    low, high = gauge.agrees(reading, np.array([true]))
    assert low[0] <= true <= high[0]
    if reading.value is None:
        assert true > scale.ranges[-1]
        return
    step = reading.full / scale.counts
    most = 2 * (scale.share * abs(reading.value) + (scale.digits + 1) * step) + 2 * scale.blind
    assert high[0] - low[0] <= 2 * most
    assert float(reading.digits) == pytest.approx(reading.value, abs=step)


def test_same_seed_same_instruments() -> None:
    """Does an order's seed fix the instruments' errors, and another seed other errors?"""
    shown = [toolbox(seed).microammeter.show(3.0).value for seed in ("a1", "a1", "b2", "c3", "d4", "e5")]
    assert shown[0] == shown[1]
    assert len(set(shown)) > 1


class OneResistor:
    """A network of one resistor, solved by hand."""

    def __init__(self, ohm: float) -> None:
        self.ohm = ohm

    def direct(self, a: str, b: str, conductance: float, current: float) -> np.ndarray:
        """The tester's current divides between its own conductance and the resistor."""
        return np.array([current / (conductance + 1 / self.ohm)])

    alternating = direct


@pytest.mark.parametrize("megohm", [0.01, 0.3, 1.0, 2.0, 100.0, 900.0])
def test_insulation_of_one_resistor(megohm: float) -> None:
    """Does the insulation tester find a known resistor, around the published limits as well?"""
    assert megohms(OneResistor(megohm * 1e6), "a", "b")[0] == pytest.approx(megohm, rel=1e-6)  # type: ignore[arg-type]


def test_ranges_hold_what_is_published() -> None:
    """Do the scales cover the published flame currents and thermocouple voltages with a digit to spare?"""
    low, high = row("ignition", "flame-current-direct").value  # type: ignore[misc]
    assert MICROAMPERES.full(float(high)) == 20.0  # type: ignore[arg-type]
    assert 20.0 / MICROAMPERES.counts < 0.05 * float(low)  # type: ignore[arg-type]
    assert MILLIVOLTS.full(30.0) == 60.0
