"""Layered tanks against the one-node closed form, scipy's integrator and isotonic regression."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from scipy.integrate import solve_ivp
from scipy.optimize import isotonic_regression

from tankside.physics import tank_heat
from tankside.physics.stratified import NODES_AT_MOST, stratified_after, stratified_step_si, turn_over_si
from tankside.units import quantity, registry

KELVIN = st.floats(275, 350)
TANK = st.fixed_dictionaries(
    {
        "capacity": st.floats(2e4, 5e5),
        "power": st.floats(0, 5000),
        "loss": st.floats(0, 20),
        "ambient": st.floats(260, 310),
        "draw": st.floats(0, 800),
        "inlet": st.floats(275, 300),
    }
)


@given(TANK, arrays(float, 4, elements=KELVIN), st.floats(1, 7200))
def test_one_node_is_the_closed_form(tank: dict[str, float], start: np.ndarray, seconds: float) -> None:
    """Is a stack of one layer the well-mixed tank, also as a batch of four?"""
    step = stratified_step_si(seconds, start[:, None], heated=[1.0], **tank)
    np.testing.assert_allclose(
        step.temperature[:, 0], tank_heat.temperature_after_si(seconds, start, **tank), rtol=0, atol=1e-8
    )
    np.testing.assert_allclose(
        step.outlet, tank_heat.mean_temperature_si(seconds, start, **tank), rtol=0, atol=1e-8
    )


@given(TANK, arrays(float, st.tuples(st.integers(1, 3), st.integers(1, 8)), elements=KELVIN), st.floats(1, 7200),
       st.floats(0, 5), st.integers(0, 7))  # fmt: skip
@settings(max_examples=60)
def test_energy_balances(
    tank: dict[str, float], start: np.ndarray, seconds: float, mixing: float, where: int
) -> None:
    """Is heat in minus lost minus drawn what is stored, to 1e-9, turning over or not?"""
    n = start.shape[-1]
    step = stratified_step_si(seconds, start, heated=np.eye(n)[where % n], mixing=mixing, **tank)
    stored = tank["capacity"] / n * (step.temperature - start).sum(axis=-1)
    turned_over = np.abs(step.added) + np.abs(step.lost) + np.abs(step.drawn) + tank["capacity"]
    assert (np.abs(step.added - step.lost - step.drawn - stored) <= 1e-9 * turned_over).all()
    assert (np.diff(step.temperature, axis=-1) >= -1e-9).all()


def test_against_scipy() -> None:
    """solve_ivp on six layers that never turn over: are temperatures and energies the same?"""
    n, c, ua, ta, w, ti, k = 6, 9e4, 3.0, 288.0, 120.0, 284.0, 0.8
    start = np.array([290.0, 300, 315, 330, 333, 335])

    def balance(_: float, y: np.ndarray) -> np.ndarray:
        t = y[:n]
        below = np.concatenate([[ti], t[:-1]])
        flux = -(ua / n) * (t - ta) + w * (below - t)
        flux[1:] += k * (t[:-1] - t[1:])
        flux[:-1] += k * (t[1:] - t[:-1])
        return np.concatenate([flux / (c / n), [ua / n * (t - ta).sum(), w * (t[-1] - ti)]])

    solved = solve_ivp(balance, (0, 900), [*start, 0, 0], method="DOP853", rtol=1e-11, atol=1e-9).y[:, -1]
    step = stratified_step_si(900.0, start, c, 0.0, np.eye(n)[0], ua, ta, w, ti, k)
    np.testing.assert_allclose(step.temperature, solved[:n], rtol=0, atol=1e-6)
    assert step.lost == pytest.approx(solved[n], rel=1e-8)
    assert step.drawn == pytest.approx(solved[n + 1], rel=1e-8)


@pytest.mark.parametrize(
    ("draw", "seconds", "c"), [(5.0, 120, 2e4), (60.0, 120, 2e4), (800.0, 120, 2e4), (1200.0, 3, 14769.0)]
)
def test_small_layers_that_are_flushed_many_times(draw: float, seconds: float, c: float) -> None:
    """A flow that changes a small layer's water up to twenty times a minute: does solve_ivp find the same temperatures?"""
    n, ti = 8, 285.0
    start = np.linspace(295.0, 335.0, n)

    def flushed(_: float, y: np.ndarray) -> np.ndarray:
        return draw * (np.concatenate([[ti], y[:-1]]) - y) / (c / n)

    solved = solve_ivp(flushed, (0, seconds), start, method="DOP853", rtol=1e-13, atol=1e-11).y[:, -1]
    step = stratified_step_si(seconds, start, c, 0.0, np.eye(n)[0], 0.0, 290.0, draw, ti)
    np.testing.assert_allclose(step.temperature, solved, rtol=0, atol=1e-8)
    assert step.drawn == pytest.approx(c / n * (start - solved).sum(), rel=1e-9)


@given(arrays(float, st.integers(1, 12), elements=KELVIN))
def test_turning_over_is_isotonic_regression(start: np.ndarray) -> None:
    """scipy.optimize.isotonic_regression: is the mixed order the nearest one that rises upwards?"""
    np.testing.assert_allclose(turn_over_si(start), isotonic_regression(start).x, rtol=1e-12)


def test_heat_from_below_mixes_and_heat_on_top_stays() -> None:
    """Does heating the bottom layer warm the tank evenly, heating the top layer only the top?"""
    start = np.full(5, 290.0)
    below = stratified_step_si(1800.0, start, 8e4, 1500.0, np.eye(5)[0], 0.0, 290.0, substep=5.0).temperature
    above = stratified_step_si(1800.0, start, 8e4, 1500.0, np.eye(5)[4], 0.0, 290.0).temperature
    assert np.ptp(below) < 0.5
    assert above[:4] == pytest.approx(start[:4]) and above[4] > 400


def test_more_layers_keep_hot_water_longer() -> None:
    """Drawing half a tank: does the outlet stay hotter the more layers there are, always above the mixed tank?"""
    outlets = [
        stratified_step_si(
            300.0, np.full(n, 333.0), 8e4, 0.0, np.eye(n)[0], 0.0, 290.0, 8e4 / 600, 283.0
        ).outlet
        for n in (1, 2, 5, 20)
    ]
    assert outlets == sorted(outlets) and outlets[-1] < 333.0


def test_no_time_changes_nothing() -> None:
    """After no time, do layers that lie rightly stay, does the tap get the top one, and is no energy moved?"""
    start = np.array([290.0, 300.0, 333.0])
    step = stratified_step_si(0.0, start, 8e4, 1500.0, np.eye(3)[0], 3.0, 290.0, 50.0, 285.0)
    assert step.temperature == pytest.approx(start, abs=1e-9) and step.outlet == pytest.approx(333.0)
    assert [float(v) for v in (step.added, step.lost, step.drawn)] == pytest.approx([0.0] * 3, abs=1e-6)
    tank = {"capacity": 2e4, "power": 3000.0, "loss": 5.0, "ambient": 290.0, "draw": 400.0, "inlet": 285.0}
    for seconds in (0.01, 0.5, 1.0, 1.5):
        brief = stratified_step_si(seconds, [330.0], heated=[1.0], **tank)
        assert brief.outlet == pytest.approx(tank_heat.mean_temperature_si(seconds, 330.0, **tank), abs=1e-8)


def test_what_is_left_out_is_none() -> None:
    """Without flow, mixing, loss and power, do layers stay for a day; and does heat go into the bottom one?"""
    start, room = registry().Quantity([20.0, 30.0, 60.0], "degC"), quantity(20, "degC")
    none, tight, day = quantity(0, "W"), quantity(0, "W/delta_degC"), quantity(1, "day")
    left = stratified_after(day, start, quantity(20, "L"), none, tight, room)
    assert left.to("degC").magnitude == pytest.approx([20.0, 30.0, 60.0], abs=1e-6)
    warmed = stratified_after(quantity(1, "minute"), start, quantity(20, "L"), quantity(1, "kW"), tight, room)
    gained = 60e3 / tank_heat.heat_capacity_si(20e-3 / 3)
    assert warmed.to("degC").magnitude == pytest.approx([20 + gained, 30.0, 60.0], abs=1e-6)


@pytest.mark.parametrize("minutes", [0.5, 40.0])
def test_one_layer_in_quantities_is_the_mixed_tank(minutes: float) -> None:
    """Heated, losing and drawn from: does one layer give what the well-mixed tank gives?"""
    tank = (quantity(20, "L"), quantity(1, "kW"), quantity(2, "W/delta_degC"), quantity(18, "degC"), quantity(1, "L/minute"), quantity(9, "degC"))  # fmt: skip
    one = stratified_after(quantity(minutes, "minute"), registry().Quantity([55.0], "degC"), *tank)
    mixed = tank_heat.temperature_after(quantity(minutes, "minute"), quantity(55, "degC"), *tank)
    assert one.to("degC").magnitude == pytest.approx([mixed.to("degC").magnitude], abs=1e-6)


def test_conductance_between_two_layers() -> None:
    """Two layers alone: does their difference fall as exp(-2 K t / C), C each, and their mean stay?"""
    start, each = registry().Quantity([20.0, 60.0], "degC"), tank_heat.heat_capacity_si(10e-3)
    tight, room = quantity(0, "W/delta_degC"), quantity(20, "degC")
    after = stratified_after(quantity(1, "hour"), start, quantity(20, "L"), quantity(0, "W"), tight, room, mixing=quantity(4, "W/delta_degC"))  # fmt: skip
    low, high = after.to("degC").magnitude
    assert high - low == pytest.approx(40 * np.exp(-2 * 4 * 3600 / each), rel=1e-9)
    assert high + low == pytest.approx(80.0)


def test_public_edge() -> None:
    """Do quantities in °C give quantities in °C, and is what lies outside refused?"""
    start, volume, room = (
        registry().Quantity([20.0, 30.0, 60.0], "degC"),
        quantity(20, "L"),
        quantity(20, "degC"),
    )
    none, loss = quantity(0, "W"), quantity(1, "W/delta_degC")
    minute, flow = quantity(1, "minute"), quantity(1, "L/minute")
    after = stratified_after(minute, start, volume, none, loss, room)
    assert after.shape == (3,) and 59 < after[2].to("degC").magnitude < 60
    for call in (
        lambda: stratified_after(minute, start, volume, none, loss, room, flow),
        lambda: stratified_after(minute, start, volume, none, loss, room, heated=[0.5, 0.4, 0.0]),
        lambda: stratified_after(minute, start, volume, none, loss, room, heated=[1.0]),
        lambda: stratified_after(quantity(-1, "s"), start, volume, none, loss, room),
        lambda: stratified_after(
            minute, registry().Quantity([20.0, float("nan")], "degC"), volume, none, loss, room
        ),
        lambda: stratified_after(
            minute, registry().Quantity([20.0] * (NODES_AT_MOST + 1), "degC"), volume, none, loss, room
        ),
    ):
        with pytest.raises(ValueError, match="expected"):
            call()
