"""Leaks against an independent integration, closed limits and round trips."""

from __future__ import annotations

import math

import numpy as np
import pytest
from CoolProp.CoolProp import PropsSI
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp
from scipy.optimize import minimize_scalar

from tankside.physics.fuels import fuel
from tankside.physics.leaks import (
    gauge_after_si,
    hole_flow_si,
    leak_flow,
    leak_from_test,
    leak_test_pressure,
    warmed_gauge,
)
from tankside.units import quantity

AIR = 101325.0
EIGHT = quantity(8, "inWC")


def test_small_pressure_is_bernoulli() -> None:
    """At low pressure the nozzle law becomes Q = Cd A sqrt(2 dp rho)."""
    area, dp, m, t = 1e-7, 500.0, 0.0441, 288.7
    density = (AIR + dp) * m / (8.314462618 * t)
    assert float(hole_flow_si(area, AIR + dp, AIR, m, t)) == pytest.approx(
        0.6 * area * math.sqrt(2 * dp * density), rel=5e-3
    )


def test_choked_flow_is_the_most_that_any_throat_pressure_gives() -> None:
    """Independent check of the choked limit: maximise the isentropic throat flow with scipy, air from CoolProp."""
    inside, t = 8e5, 290.0
    entropy, enthalpy = (PropsSI(key, "P", inside, "T", t, "Air") for key in ("S", "H"))

    def per_area(p: float) -> float:
        density, h = (PropsSI(key, "P", p, "S", entropy, "Air") for key in ("D", "H"))
        return float(density * math.sqrt(2 * max(enthalpy - h, 0.0)))

    best = minimize_scalar(lambda p: -per_area(p), bounds=(2e5, 7.9e5), method="bounded")
    assert float(hole_flow_si(1.0, inside, AIR, 0.0289652, t, 1.4, 1.0)) == pytest.approx(-best.fun, rel=0.01)


@given(st.floats(1.001, 20), st.floats(1.0, 2.0))
def test_more_pressure_more_leak(ratio: float, factor: float) -> None:
    """Never less flow for more pressure inside; none backwards."""
    one, two = (float(hole_flow_si(1e-8, AIR * r, AIR, 0.0441)) for r in (ratio, ratio * factor))
    assert two >= one * (1 - 1e-12) and one > 0
    assert float(hole_flow_si(1e-8, AIR, AIR * ratio, 0.0441)) == 0


@pytest.mark.parametrize(
    ("start", "leak", "volume"), [(2000.0, 2e-8, 2e-3), (2000.0, 1e-6, 5e-3), (68000.0, 1e-6, 1e-2)]
)
def test_fall_against_integration(start: float, leak: float, volume: float) -> None:
    """The closed form against scipy's integration of V dp/dt = -p_air Q0 sqrt(p/p0)."""
    times = np.linspace(0, 0.8 * 2 * volume * start / (AIR * leak), 6)
    run = solve_ivp(
        lambda t, p: -AIR / volume * leak * np.sqrt(np.maximum(p, 0) / start),
        (0, times[-1]), [start], t_eval=times, rtol=1e-10, atol=1e-8,
    )  # fmt: skip
    assert gauge_after_si(start, leak, volume, times) == pytest.approx(run.y[0], rel=1e-6)


def test_an_emptied_line() -> None:
    """Past the time in which a line loses all, is its gauge at zero; and does zero tell the least leak that did it?"""
    start, leak, volume = 2000.0, 1e-6, 2e-3
    empties = 2 * volume * start / (AIR * leak)
    assert gauge_after_si(start, leak, volume, np.array([1.0, 5.0]) * empties) == pytest.approx(
        [0.0, 0.0], abs=1e-9
    )
    least = leak_from_test(
        quantity(start, "Pa"), quantity(0, "Pa"), quantity(volume, "m**3"), quantity(empties, "s")
    )
    assert least.to("m**3/s").magnitude == pytest.approx(leak)


@pytest.mark.parametrize("kelvin", [230.0, 330.0])
def test_cold_gas_leaks_more(kelvin: float) -> None:
    """By weight, and so by volume at 60 degF, the leak goes with the root of the gas's density."""
    usual, other = (leak_flow(quantity(0.3, "mm"), EIGHT, fuel("propane"), **of).magnitude
                    for of in ({}, {"temperature": quantity(kelvin, "K")}))  # fmt: skip
    assert other / usual == pytest.approx(math.sqrt(288.7056 / kelvin), rel=1e-6)


@given(st.floats(1, 20), st.floats(1e-5, 5e-3), st.floats(0.2, 30), st.floats(1, 15))
def test_leak_round_trip(column: float, leak: float, litres: float, minutes: float) -> None:
    """Leak to gauge and back, as long as the gauge isn't empty."""
    args = (
        quantity(column, "inWC"),
        quantity(leak, "cfh"),
        quantity(litres, "L"),
        quantity(minutes, "minute"),
    )
    end = leak_test_pressure(*args)
    assert 0 <= end.magnitude <= column * (1 + 1e-9)
    if end.magnitude > 0.01 * column:
        assert leak_from_test(args[0], end, args[2], args[3]).magnitude == pytest.approx(
            leak, rel=1e-4, abs=1e-9
        )


def test_leak_at_low_pressure_is_bernoulli_with_coolprops_density() -> None:
    """A 0.3 mm hole at 11 inches of water: is it Cd A sqrt(2 dp / rho), propane's density from CoolProp, within 2 %?"""
    dp, hole = 11 * 249.08891, 0.3e-3
    density = PropsSI("D", "T", 288.7056, "P", AIR, "Propane")
    expected = 0.6 * math.pi * hole**2 / 4 * math.sqrt(2 * dp / density)
    found = leak_flow(quantity(0.3, "mm"), quantity(11, "inWC"), fuel("propane"))
    assert found.to("m**3/s").magnitude == pytest.approx(expected, rel=0.02)
    half = leak_flow(quantity(0.3, "mm"), quantity(11, "inWC"), fuel("propane"), discharge=0.3)
    assert half.magnitude == pytest.approx(found.magnitude / 2)


def test_hole_scales_with_its_square() -> None:
    """Twice the hole, four times the leak; four times the pressure, about twice."""
    small, big = (leak_flow(quantity(d, "mm"), EIGHT, fuel("propane")).magnitude for d in (0.2, 0.4))
    assert big / small == pytest.approx(4.0)
    fourfold = leak_flow(quantity(0.2, "mm"), 4 * EIGHT, fuel("propane")).magnitude
    assert fourfold / small == pytest.approx(2.0, rel=0.03)


@given(st.floats(0, 1e5), st.floats(260, 310), st.floats(260, 310))
def test_warming_is_ideal_gas(gauge: float, cold: float, warm: float) -> None:
    """Absolute pressure over absolute temperature stays."""
    after = warmed_gauge(quantity(gauge, "Pa"), quantity(cold, "K"), quantity(warm, "K")).to("Pa").magnitude
    assert (after + AIR) / warm == pytest.approx((gauge + AIR) / cold, rel=1e-9)
    high = quantity(84556.0, "Pa")  # the standard atmosphere at 1500 m
    after = (
        warmed_gauge(quantity(gauge, "Pa"), quantity(cold, "K"), quantity(warm, "K"), high).to("Pa").magnitude
    )
    assert (after + 84556.0) / warm == pytest.approx((gauge + 84556.0) / cold, rel=1e-9)


@pytest.mark.parametrize(
    "call",
    [
        lambda: leak_flow(quantity(math.nan, "mm"), EIGHT, fuel("propane")),
        lambda: leak_flow(quantity(20, "mm"), EIGHT, fuel("propane")),
        lambda: leak_test_pressure(EIGHT, quantity(-1, "cfh"), quantity(2, "L"), quantity(3, "minute")),
        lambda: leak_from_test(EIGHT, quantity(9, "inWC"), quantity(2, "L"), quantity(3, "minute")),
        lambda: warmed_gauge(EIGHT, quantity(100, "K"), quantity(290, "K")),
    ],
)
def test_out_of_range(call: object) -> None:
    """Refused with what would be right?"""
    with pytest.raises(ValueError, match="expected"):
        call()  # type: ignore[operator]
