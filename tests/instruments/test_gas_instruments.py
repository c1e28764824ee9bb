"""Do manometer, analyzer and senses show what is there, within what they promise?"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tankside.bench.both_measures import both_measures
from tankside.instruments import manometer, senses
from tankside.instruments.flue_gas_analyzer import MONOXIDE, OXYGEN, ROOM, STACK, FlueGasAnalyzer
from tankside.instruments.gauge import Gauge, Scale
from tankside.instruments.manometer import HIGH, LOW, PASCAL, WEIGHT, Manometer
from tankside.physics.fuels import flammable_range, fuel
from tankside.streams import Stream
from tests.published import row

SCALES = (LOW, HIGH, WEIGHT, OXYGEN, MONOXIDE, STACK, ROOM)


class Taps:
    """One tap at a pressure."""

    def __init__(self, pascal: float) -> None:
        self.pascal = pascal

    def pressure(self, tap: str) -> manometer.Array:
        """Pa at any tap."""
        return np.array([self.pascal])


def test_eleven_inches() -> None:
    """Is 11 in. WC 2739.98 Pa and 27.40 mbar here too?"""
    published = dict(row("gas", "eleven-inches-water").pairs())
    assert 11 * PASCAL["in. WC"] == pytest.approx(published["Pa"], rel=1e-4)
    assert 11 * PASCAL["in. WC"] / PASCAL["psi"] == pytest.approx(published["psi"], rel=1e-3)
    assert both_measures(11.0, "in. WC", "") == f" ({published['mbar']:.1f} mbar)"


@settings(max_examples=200, deadline=None)
@given(st.sampled_from(SCALES), st.integers(0, 10_000), st.floats(0.0, 1.0))
def test_the_truth_is_in_the_band(scale: Scale, seed: int, share: float) -> None:
    """Whatever one instrument's error: does the band of what it admits hold the true value?"""
    gauge = Gauge(scale, Stream(str(seed)))
    value = share * scale.ranges[-1] * 0.98
    reading = gauge.show(value)
    low, high = gauge.agrees(reading, np.array([value]))
    assert low[0] <= value <= high[0]
    if reading.value is not None:
        assert (
            abs(reading.value - value)
            <= scale.share * value + (scale.digits + 1) * reading.full / scale.counts
        )


@given(st.floats(-5000.0, 14000.0))
def test_a_manometer_reads_its_tap(pascal: float) -> None:
    """Does it read the tap's pressure within 1 % and two tenths, and nothing below nothing?"""
    tools = Manometer("7")
    gauge, value = tools.sees(Taps(pascal), "line")
    assert value[0] == pytest.approx(max(pascal, 0.0) / PASCAL["in. WC"])
    shown = gauge.show(float(value[0]))
    assert shown.value == pytest.approx(max(pascal, 0.0) / PASCAL["in. WC"], rel=0.01, abs=0.2)


@pytest.mark.parametrize("excess", [25, 50, 100])
def test_the_analyzer_computes_as_published(excess: int) -> None:
    """From propane's published O2, does it compute the published CO2 and the excess air behind it?"""
    o2 = dict(row("combustion", "propane-dry-o2").pairs())[excess]
    co2 = dict(row("combustion", "propane-dry-co2").pairs())[excess]
    one = FlueGasAnalyzer("1")
    readings = [gauge.show(value) for gauge, value in zip(
        (one.oxygen, one.monoxide, one.stack, one.room), (o2, 87.0, 200.0, 20.0), strict=True)]  # fmt: skip
    made = one.computes(*readings)
    assert made.dioxide == pytest.approx(co2, abs=0.25)  # the oxygen cell is right to 0.2 points
    assert made.excess_air == pytest.approx(excess, abs=2 + 0.06 * excess)


def test_air_free_as_published() -> None:
    """87 ppm at 5 % O2: 114 ppm air-free?"""
    found = row("combustion", "co-air-free")
    one = FlueGasAnalyzer("1")
    exact = [
        Gauge(Scale(s.id, s.unit, s.ranges, 0.0, 0, s.counts), Stream("1"))
        for s in (OXYGEN, MONOXIDE, STACK, ROOM)
    ]
    readings = [gauge.show(value) for gauge, value in zip(exact, (5.0, 87.0, 200.0, 20.0), strict=True)]
    made = one.computes(*readings)
    assert made.air_free is not None and found.agrees(made.air_free)


def test_thin_gas_computes_nothing() -> None:
    """With the probe in plain air: no efficiency, no CO2, instead of wild numbers?"""
    one = FlueGasAnalyzer("1")
    channels = one.channels(*(np.array([x]) for x in (0.2095, 0.0, 293.0, 293.0)))
    made = one.computes(*(gauge.show(float(value[0])) for gauge, value in channels))
    assert made.dioxide is made.efficiency is made.air_free is None


def test_a_cell_over_its_range_says_so() -> None:
    """More carbon monoxide than the cell can count: over range, and no number for what would need it?"""
    one = FlueGasAnalyzer("1")
    channels = one.channels(*(np.array([x]) for x in (0.0, 0.09, 600.0, 293.0)))
    readings = [gauge.show(float(value[0])) for gauge, value in channels]
    assert readings[1].value is None
    made = one.computes(*readings)
    assert made.air_free is made.efficiency is None
    assert made.dioxide is not None and made.excess_air is not None
    just = [gauge.show(value) for gauge, value in zip((one.oxygen, one.monoxide, one.stack, one.room),
                                                      (0.0, MONOXIDE.ranges[-1], 600.0, 20.0), strict=True)]  # fmt: skip
    assert one.computes(*just).air_free == pytest.approx(MONOXIDE.ranges[-1], rel=0.05)


def test_the_nose_meets_the_rule() -> None:
    """Is gas noticed well below a fifth of the lower flammable limit (the rule is from memory)?"""
    lower = flammable_range(fuel("propane"))[0]
    assert senses.NOSE.says(np.array([lower / 5])) != senses.NOSE.words[0]
    assert senses.NOSE.says(np.array([0.0])) == senses.NOSE.words[0]


@given(st.lists(st.floats(0.0, 1.0), min_size=2, max_size=2))
def test_senses_rise(values: list[float]) -> None:
    """Does more of something never give an earlier word?"""
    low, high = sorted(values)
    for sense in (senses.NOSE, senses.TUBE, senses.BUBBLES, senses.WAY):
        assert sense.classes(np.array([low]))[0] <= sense.classes(np.array([high]))[0]


def test_a_sense_that_makes_no_sense() -> None:
    """Are words and steps that don't fit refused?"""
    with pytest.raises(ValueError, match="one word more"):
        senses.Sense(("a", "b"), (0.1, 0.2))
