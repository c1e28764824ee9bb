"""What a good meter shows on a healthy heater, against common practice and the published bands; ghost volts."""

from __future__ import annotations

import math

import numpy as np
import pytest

from tankside.bench.terminals import FELT, Terminals
from tankside.heater.model import load_model
from tankside.heater.unit import Unit, make_unit, site_of, spread_of
from tankside.instruments.multimeter import FUNCTIONS, INPUT_CAPACITANCE, INPUT_RESISTANCE, Multimeter
from tankside.streams import Stream
from tests.published import row

MODEL = load_model("heron_6")
HEATERS = 600


def many(count: int) -> Unit:
    """So many healthy heaters at their sites, as one batch."""
    units = [
        make_unit(
            MODEL, site_of(MODEL, Stream(str(k), "site")), spread_of(MODEL, Stream(str(k), "own figures"))
        )
        for k in range(count)
    ]
    return Unit(MODEL, {key: np.concatenate([unit[key] for unit in units]) for key in units[0].values})


def test_a_good_element_reads_within_its_band() -> None:
    """Leads lifted: are 600 healthy elements within 9.524 to 11.111 ohm, and shown so by 600 meters?

    What is shown may lie outside by the meter's stated accuracy: 3 digits of 0.1 ohm are 3 % of 10 ohm.
    The common "about 10.8 ohm is good" (common practice, no source) must lie inside that band too.
    """
    low, high = row("electrical", "element-1440-band").values
    assert low < float(row("practice", "element-reading").value) < high
    unit = many(HEATERS)
    unit.set("supply.plugged", 0.0)
    for wire in ("W10", "W11"):
        unit.set(f"{wire}.lifted", 1.0)
    ohms, _ = Multimeter(Stream("0", "x")).sees("Ω", Terminals(unit), "element.1", "element.2")
    assert low <= ohms.min() and ohms.max() <= high
    assert ohms.max() - ohms.min() > 0.4  # they aren't all one heater
    for k in range(HEATERS):
        for zeroed in (True, False):
            meter = Multimeter(Stream(str(k), "multimeter"))
            meter.zeroed = zeroed
            shown = meter.show("Ω", float(ohms[k])).value
            slack = FUNCTIONS["Ω"].accuracy(10.0, 600.0)
            assert shown is not None and low - slack <= shown <= high + slack


def test_about_120_volts() -> None:
    """Loaded: is the voltage at the element "about 120 V" (common practice), within the published outlet's band?"""
    unit = many(HEATERS)
    volts, _ = Multimeter(Stream("0", "x")).sees("V~", Terminals(unit), "element.1", "element.2")
    assert all(row("electrical", "outlet-voltage").agrees(value) for value in (volts.min(), volts.max()))
    assert volts.mean() == pytest.approx(float(row("practice", "mains-at-element").value), rel=0.05)


def test_watts_at_the_published_voltages() -> None:
    """At 114 V and 126 V: does a 10 ohm element, cold, take the published watts?"""
    for volts, watts in row("electrical", "element-1440-power-at-voltage").pairs():
        assert volts**2 / MODEL.nominal["element.resistance"] == pytest.approx(watts, rel=1e-3)


def floating() -> Unit:
    """Panel switch and the heater's switch off: the switched hot between them hangs in the air beside its neighbours."""
    unit = make_unit(MODEL, {"voltage": 120.0})
    for switch in ("panel_switch", "heater_switch"):
        unit.set(f"{switch}.closed", 0.0)
    return unit


FEET = 1e-12  # the data file's capacitances are in pF for each foot
BESIDE_HOT = 14 * 25 * FEET
BESIDE_THE_REST = (14 * 25 + 14 * 20 + 3 * 25) * FEET


def expected_volts(conductance: float, capacitance: float) -> float:
    """The capacitive divider on paper: 120 V through one cable's capacitance into the others and the meter."""
    omega = 2 * math.pi * 60
    feed = 1j * omega * BESIDE_HOT
    return abs(120 * feed / (feed + 1j * omega * (BESIDE_THE_REST + capacitance) + conductance))


def test_ghost_volts() -> None:
    """With the switch off, what does a 10 Mohm meter find on the floating switched hot? (On paper: 36 V or so.)"""
    value, _ = Multimeter(Stream("0", "x")).sees(
        "V~", Terminals(floating()), "junction_box.hot_in", "junction_box.neutral_in"
    )
    paper = expected_volts(1 / INPUT_RESISTANCE, INPUT_CAPACITANCE)
    assert value[0] == pytest.approx(paper, rel=5e-3)
    assert 20 < paper < 60


def test_a_low_impedance_load_takes_ghosts_away() -> None:
    """What is left of the ghost when a lamp of 3 kohm, or the element itself, hangs on it?"""
    terminals = Terminals(floating())
    lamp = terminals.alternating("junction_box.hot_in", "junction_box.neutral_in", 1 / 3000, 0.0)[0]
    assert lamp == pytest.approx(expected_volts(1 / 3000, 0.0), rel=5e-3)
    assert lamp < 0.1
    closed = floating()
    closed.set("heater_switch.closed", 1.0)  # the element pulls the conductor to neutral
    value, _ = Multimeter(Stream("0", "x")).sees(
        "V~", Terminals(closed), "junction_box.hot_in", "junction_box.neutral_in"
    )
    assert value[0] < 0.01


def test_a_ghost_is_not_felt() -> None:
    """Would a hand feel the ghost? And would it feel the same conductor with the switch on?"""
    assert Terminals(floating()).touch("junction_box.hot_in")[0] < FELT
    on = floating()
    on.set("panel_switch.closed", 1.0)
    assert Terminals(on).touch("junction_box.hot_in")[0] == pytest.approx(120 / 1500, rel=0.01)


def test_wet_element_claim() -> None:
    """Can an element be ohm-tested with water in the tank? (Said: no. Computed: yes, unless its sheath is breached.)"""
    assert row("practice", "ohm-test-wet-element").value == "true only where the sheath is breached"
    readings = {}
    for breached in (0.0, 1.0):
        for fill in (0.0, 1.0):
            unit = make_unit(MODEL)
            unit.set("supply.plugged", 0.0)
            for wire in ("W10", "W11"):
                unit.set(f"{wire}.lifted", 1.0)
            unit.set("element.breached", breached)
            unit.set("element.breach_wet", 5.0)  # an open breach right beside the coil
            unit.set("tank.fill", fill)
            meter = Multimeter(Stream("0", "x"))
            ohms, _ = meter.sees("Ω", Terminals(unit), "element.1", "element.2")
            ground, _ = meter.sees("Ω", Terminals(unit), "element.1", "tank.shell")
            readings[breached, fill] = float(ohms[0]), float(ground[0])
    assert readings[0.0, 0.0][0] == pytest.approx(readings[0.0, 1.0][0], rel=1e-6)
    assert readings[1.0, 0.0][1] > 1e8 > 100 > readings[1.0, 1.0][1]
