"""Spark, flame rectification, thermocouple against published figures, integration and their laws."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import minimize_scalar

from tankside.physics.ignition import (
    breakdown_si,
    breakdown_voltage,
    flame_signal,
    magnet_holds_si,
    rectified_si,
    spark_voltage_si,
    sparks,
    thermocouple_current_si,
    thermocouple_loaded,
    thermocouple_tip_si,
    thermocouple_voltage,
    type_k_si,
)
from tankside.units import quantity
from tests.published import row

GAP = quantity(0.125, "in")
volts, conductances = st.floats(1, 300), st.floats(1e-10, 1e-6)


def test_paschen_with_published_constants() -> None:
    """The law with the row's constants, and the straight line with its own, between flat electrodes."""
    a, b, g = row("ignition_extra", "paschen-constants").values
    torr_cm = 760.0 * 0.3
    expected = b * torr_cm / (math.log(a * torr_cm) - math.log(math.log(1 + 1 / g)))
    assert breakdown_voltage(quantity(3, "mm"), law="Paschen", tip=1.0).to("V").magnitude == pytest.approx(
        expected, rel=1e-6
    )
    slope, start = row("ignition_extra", "breakdown-straight-line").values
    assert breakdown_voltage(quantity(3, "mm"), tip=1.0).magnitude == pytest.approx(
        slope * 0.3 + start, rel=1e-9
    )


def test_published_paschen_minimum() -> None:
    """The lowest voltage that sparks in air at all."""
    best = minimize_scalar(lambda x: float(breakdown_si(math.exp(x), law="Paschen", tip=1.0)), bounds=(-12.5, -9), method="bounded")  # fmt: skip
    assert row("ignition_extra", "paschen-minimum-air").agrees(best.fun)


def test_published_igniter_can_jump_published_gap() -> None:
    """Ranges, not values: does the voltage needed over the published gaps overlap the published 8 to 10 kV?"""
    low, high = row("ignition", "spark-voltage").values
    needed = [
        breakdown_voltage(quantity(inch, "in")).magnitude for inch in row("ignition", "spark-gap").values
    ]
    assert low <= needed[1] and needed[0] <= high
    wide = breakdown_voltage(quantity(row("ignition", "spark-gap-fraction").values[1], "in")).magnitude
    assert wide > needed[1] > needed[0]


@given(st.floats(5e-4, 1.2e-2), st.floats(1.01, 3), st.sampled_from(["straight line", "Paschen"]))
def test_spark_directions(gap: float, factor: float, law: str) -> None:
    """A wider gap or denser air needs more; heat or height needs less."""
    base = float(breakdown_si(gap, law=law))  # type: ignore[arg-type]
    assert breakdown_si(gap * factor, law=law) > base  # type: ignore[arg-type]
    assert breakdown_si(gap, 101325 / factor, law=law) < base  # type: ignore[arg-type]
    assert breakdown_si(gap, temperature=293.15 * factor, law=law) < base  # type: ignore[arg-type]
    # Paschen: pressure times distance counts, and pressure stands for the gas's density.
    same = (breakdown_si(gap * factor, law=law), breakdown_si(gap, 101325 * factor, law=law), breakdown_si(gap, temperature=293.15 / factor, law=law))  # type: ignore[arg-type]  # fmt: skip
    assert same == pytest.approx([same[0]] * 3, rel=1e-9)


def test_cracked_insulator_takes_the_spark() -> None:
    """An igniter that jumps its gap no longer does when its insulator leaks."""
    igniter = {"open_voltage": quantity(14, "kV"), "gap": GAP, "source": quantity(1, "Mohm")}
    assert sparks(**igniter)  # type: ignore[arg-type]
    assert not sparks(**igniter, leak=quantity(0.5, "Mohm"))  # type: ignore[arg-type]
    assert spark_voltage_si(14e3, 1e6, 1e6) == pytest.approx(7e3)


@given(volts, conductances, st.floats(1, 50), st.floats(0, 1e8), st.floats(1e4, 1e12))
def test_rectified_against_integration(
    v: float, forward: float, ratio: float, series: float, leak: float
) -> None:
    """Direct and alternating part against a cycle summed up point by point."""
    angle = (np.arange(4000) + 0.5) / 4000 * 2 * np.pi
    wave = math.sqrt(2) * v * np.sin(angle)
    good, bad = 1 / (1 / forward + series), 1 / (ratio / forward + series)
    current = wave * np.where(wave > 0, good, bad) + wave / leak
    direct, rest = rectified_si(v, forward, forward / ratio, series, leak)
    assert direct == pytest.approx(current.mean(), rel=1e-5, abs=1e-15)
    assert rest == pytest.approx(current.std(), rel=1e-5, abs=1e-15)


@given(volts, conductances, st.floats(1.1, 50), st.floats(1e4, 1e9))
def test_leak_adds_alternating_current_alone(v: float, forward: float, ratio: float, leak: float) -> None:
    """A wet insulator can't fake a flame, and hides none: the direct part is the same with it."""
    dry, wet = rectified_si(v, forward, forward / ratio), rectified_si(v, forward, forward / ratio, 0.0, leak)
    scale = v / leak
    assert wet[0] == pytest.approx(dry[0], rel=1e-6, abs=1e-12 * scale) and wet[1] > dry[1]
    assert abs(rectified_si(v, 0.0, 0.0, 0.0, leak)[0]) <= 1e-12 * scale


@given(st.floats(1, 130), conductances, st.floats(1, 50), st.floats(1, 2.3))
def test_current_is_linear_in_voltage(v: float, forward: float, ratio: float, factor: float) -> None:
    """Published up to 130 V: twice the voltage, twice the current."""
    assert row("ignition", "propane-flame-electrics").agrees(v)
    base, more = (rectified_si(x, forward, forward / ratio)[0] for x in (v, v * factor))
    assert more == pytest.approx(base * factor, rel=1e-9)


@given(st.floats(1.1, 50), st.floats(0, 1e9), st.floats(0.05, 1))
def test_signal_directions(ratio: float, series: float, contact: float) -> None:
    """More burner area: more direct current; oxide on the rod or a flame that licks it less: less."""
    v, g = quantity(120, "V"), quantity(0.1, "microsiemens")
    base = flame_signal(v, g, area_ratio=ratio).direct.magnitude
    assert flame_signal(v, g, area_ratio=ratio + 1).direct.magnitude > base
    assert flame_signal(v, g, area_ratio=ratio, series=quantity(series, "ohm")).direct.magnitude <= base * (
        1 + 1e-12
    )
    assert flame_signal(v, g, area_ratio=ratio, contact=contact).direct.magnitude == pytest.approx(
        base * contact
    )


def test_published_currents_are_reachable() -> None:
    """Inclusion: an ordinary flame lies in the published 1 to 10 microamperes, no flame gives none."""
    v, g = quantity(120, "V"), quantity(0.1, "microsiemens")
    healthy = flame_signal(v, g).direct.magnitude
    assert row("ignition", "flame-current-direct").agrees(healthy) and row(
        "ignition", "flame-current-in-shot"
    ).agrees(healthy)
    assert flame_signal(v, g, contact=0.0).direct.magnitude == 0
    glazed = flame_signal(v, g, series=quantity(100, "Mohm")).direct.magnitude
    assert 0 < glazed < row("ignition", "flame-current-weak").value  # type: ignore[operator]
    assert flame_signal(v, g, area_ratio=1.0).direct.magnitude == 0


@settings(max_examples=30)
@given(st.floats(1, 250), st.floats(0.01, 1), st.floats(1, 50), st.floats(1e5, 1e9))
def test_meters_show_what_the_flame_passes(v: float, micro: float, ratio: float, leak: float) -> None:
    """Do both meters, in microamperes, show a cycle summed up point by point; and Ohm's law where nothing rectifies?"""
    g = quantity(micro, "microsiemens")
    wave = math.sqrt(2) * v * np.sin((np.arange(4000) + 0.5) / 4000 * 2 * np.pi)
    current = 1e6 * wave * (np.where(wave > 0, 1e-6 * micro, 1e-6 * micro / ratio) + 1 / leak)
    signal = flame_signal(quantity(v, "V"), g, area_ratio=ratio, leak=quantity(leak, "ohm"))
    assert signal.direct.to("microampere").magnitude == pytest.approx(current.mean(), rel=1e-5, abs=1e-9)
    assert signal.alternating.to("microampere").magnitude == pytest.approx(current.std(), rel=1e-5)
    clean = flame_signal(
        quantity(v, "V"), g, area_ratio=ratio, leak=quantity(leak, "ohm"), series=quantity(0, "ohm")
    )
    assert clean.direct == signal.direct and clean.alternating == signal.alternating
    even = flame_signal(quantity(v, "V"), g, area_ratio=1.0)
    assert even.alternating.magnitude == pytest.approx(v * micro)


@given(
    st.floats(300, 1600), st.floats(280, 460), st.floats(1e-3, 0.5), st.floats(1e-3, 0.5), st.floats(0, 100)
)
def test_one_loop_one_current(hot: float, cold: float, inner: float, coil: float, contact: float) -> None:
    """Kirchhoff: do inner resistance, coil and joint share the thermocouple's voltage; and does a cold tip give none?"""
    amperes = float(thermocouple_current_si(hot, cold, inner, coil, contact))
    drops = amperes * inner + amperes * coil + amperes * contact
    assert drops == pytest.approx(max(float(type_k_si(hot) - type_k_si(cold)), 0.0), abs=1e-15)
    shown = thermocouple_loaded(
        quantity(30, "mV"), quantity(inner, "ohm"), quantity(coil, "ohm"), quantity(contact, "ohm")
    )
    current = shown.to("V").magnitude / coil
    assert current * (inner + coil + contact) == pytest.approx(0.03)


def test_published_type_k() -> None:
    """The reference function's printed values."""
    published = row("ignition_extra", "type-k")
    for index, (degrees, _) in enumerate(published.pairs()):
        got = thermocouple_voltage(quantity(degrees, "degC"), quantity(0, "degC")).magnitude
        assert published.agrees(got, index)


@given(st.floats(273.15, 1640), st.floats(0.1, 5))
def test_type_k_rises(t: float, more: float) -> None:
    """Hotter tip, more voltage; about 35 to 43 microvolts a kelvin."""
    slope = (float(type_k_si(t + more)) - float(type_k_si(t))) / more
    assert 33e-6 < slope < 44e-6


def test_pilot_thermocouple_in_its_published_range() -> None:
    """A tip at 650 degC with its joint at 60 degC lies in the published open-circuit range."""
    open_voltage = thermocouple_voltage(quantity(650, "degC"), quantity(60, "degC"))
    assert row("ignition_extra", "pilot-thermocouple-open").agrees(open_voltage.magnitude)
    loaded = thermocouple_loaded(open_voltage, quantity(20, "mohm"), quantity(20, "mohm"))
    dirty = thermocouple_loaded(
        open_voltage, quantity(20, "mohm"), quantity(20, "mohm"), quantity(300, "mohm")
    )
    assert dirty.magnitude < row("ignition_extra", "pilot-thermocouple-drop-out").value < loaded.magnitude  # type: ignore[operator]


def test_magnet_holds_and_lets_go() -> None:
    """Button pressed and tip hot: held. Flame out: held while the tip cools, then let go, and it stays let go."""
    hold, drop = 0.18, 0.08
    times = np.arange(0.0, 121.0, 1.0)
    tip = thermocouple_tip_si(900.0, 300.0, 25.0, times)
    current = thermocouple_current_si(tip, 320.0, 0.02, 0.02)
    held, history = bool(magnet_holds_si(current[0], False, True, hold, drop)), []
    for now in current:
        held = bool(magnet_holds_si(now, held, False, hold, drop))
        history.append(held)
    assert history[0] and not history[-1]
    change = history.index(False)
    assert 5 < change < 100 and not any(history[change:])
    assert current[change] < drop <= current[change - 1]
    assert not magnet_holds_si(1.0, False, False, hold, drop)
    assert not magnet_holds_si(0.1, False, True, hold, drop)


def test_tip_follows_first_order() -> None:
    """After one time constant 63 % of the way; after very long, all of it."""
    assert thermocouple_tip_si(300.0, 900.0, 20.0, 20.0) == pytest.approx(300 + 600 * (1 - math.exp(-1)))
    assert thermocouple_tip_si(300.0, 900.0, 20.0, 1e4) == pytest.approx(900)


@pytest.mark.parametrize(
    "call",
    [
        lambda: breakdown_voltage(quantity(0.1, "mm")),
        lambda: breakdown_voltage(quantity(math.nan, "mm")),
        lambda: breakdown_voltage(GAP, law="Ohm"),  # type: ignore[arg-type]
        lambda: flame_signal(quantity(120, "V"), quantity(1, "S")),
        lambda: flame_signal(quantity(120, "V"), quantity(0.1, "microsiemens"), area_ratio=0.5),
        lambda: thermocouple_voltage(quantity(2000, "degC"), quantity(20, "degC")),
        lambda: thermocouple_loaded(quantity(24, "V"), quantity(20, "mohm"), quantity(20, "mohm")),
    ],
)
def test_out_of_range(call: object) -> None:
    """Refused with the value and what would be right?"""
    with pytest.raises(ValueError, match="expected"):
        call()  # type: ignore[operator]
