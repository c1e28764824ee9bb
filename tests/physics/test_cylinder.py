"""The cylinder against CoolProp, chemicals, the trade's charts, and its own energy balance."""

from __future__ import annotations

import math

import numpy as np
import pytest
from chemicals.vapor_pressure import Psat_data_WagnerMcGarry, Wagner_original
from CoolProp.CoolProp import PropsSI
from hypothesis import given
from hypothesis import strategies as st

from tankside.physics import cylinder
from tankside.physics.cylinder import (
    boiling_point,
    cylinder_draw,
    latent_heat,
    latent_heat_si,
    liquid_density,
    liquid_density_si,
    liquid_heat_capacity_si,
    liquid_temperature_si,
    saturation_temperature_si,
    vapour_composition,
    vapour_pressure,
    vapour_pressure_si,
    wetted_area,
)
from tankside.physics.fuels import fuel, mixture
from tankside.units import quantity
from tests.published import row

PURE = {"propane": "Propane", "butane": "n-Butane", "isobutane": "IsoButane"}
GRID = np.linspace(220.0, 345.0, 26)
ATMOSPHERE = 14.696


@pytest.mark.parametrize("name", PURE)
def test_pure_liquids_against_coolprop(name: str) -> None:
    """Vapour pressure within 0.2 %, density within 0.2 %, latent heat within 0.5 %, heat capacity within 1 %?"""
    one, other = fuel(name), PURE[name]
    assert vapour_pressure_si(one, GRID) == pytest.approx(
        [PropsSI("P", "T", t, "Q", 0, other) for t in GRID], rel=2e-3
    )
    assert liquid_density_si(one, GRID) == pytest.approx(
        [PropsSI("D", "T", t, "Q", 0, other) for t in GRID], rel=2e-3
    )
    latent = [PropsSI("H", "T", t, "Q", 1, other) - PropsSI("H", "T", t, "Q", 0, other) for t in GRID]
    assert latent_heat_si(one, GRID) == pytest.approx(latent, rel=5e-3)
    capacity = [PropsSI("C", "T", t, "Q", 0, other) for t in GRID]
    assert liquid_heat_capacity_si(one, GRID) == pytest.approx(capacity, rel=1e-2)


@pytest.mark.parametrize(
    ("name", "cas"), [("propane", "74-98-6"), ("butane", "106-97-8"), ("isobutane", "75-28-5")]
)
def test_pure_vapour_pressure_against_chemicals(name: str, cas: str) -> None:
    """A second, independent table (McGarry's Wagner coefficients in chemicals): within 1 %?"""
    c = Psat_data_WagnerMcGarry.loc[cas]
    other = [Wagner_original(t, c.Tc, c.Pc, c.A, c.B, c.C, c.D) for t in GRID]
    assert vapour_pressure_si(fuel(name), GRID) == pytest.approx(other, rel=1e-2)


@pytest.mark.parametrize("share", [0.1, 0.3, 0.5, 0.7, 0.9])
def test_mixture_against_coolprop(share: float) -> None:
    """Bubble pressure of propane and butane within 1 % of the mixture's equation of state, 220 to 335 K?"""
    mixed = mixture("mixed", {"propane": share, "butane": 1 - share})
    for t in (220.0, 240.0, 273.15, 288.7, 310.0, 335.0):
        other = PropsSI("P", "T", t, "Q", 0, f"Propane[{share}]&n-Butane[{1 - share}]")
        assert float(vapour_pressure_si(mixed, t)) == pytest.approx(other, rel=1e-2)


@pytest.mark.parametrize("id", ["propane-vapour-pressure", "butane-vapour-pressure"])
def test_published_vapour_pressure(id: str) -> None:
    """The published gauge pressures: absolute within 1 %."""
    published = row("gas", id)
    for degrees, psi in published.pairs():
        got = vapour_pressure(fuel(id.split("-")[0]), quantity(degrees, "degF")).to("psi").magnitude
        assert got == pytest.approx(psi + ATMOSPHERE, rel=0.01)


def test_trade_chart_and_commercial_propane() -> None:
    """Is the trade chart within 8 %, and does commercial propane run above pure propane?"""
    chart = row("gas", "propane-vapour-pressure-chart")
    for index, (degrees, _) in enumerate(chart.pairs()):
        pure = vapour_pressure(fuel("propane"), quantity(degrees, "degF")).magnitude - ATMOSPHERE
        assert chart.agrees(pure, index), degrees
    warm = quantity(70, "degF")
    assert vapour_pressure(fuel("commercial propane"), warm) > vapour_pressure(fuel("propane"), warm)
    assert row("gas", "propane-vapour-pressure-commercial").value > 110.2


def test_published_liquid() -> None:
    """Density and latent heat at 60 degF, boiling point of butane."""
    at, propane = quantity(60, "degF"), fuel("propane")
    assert row("gas", "propane-liquid-density").agrees(liquid_density(propane, at).magnitude)
    for id in ("propane-liquid-density-pound", "propane-liquid-density-trade"):
        assert row("gas", id).agrees(liquid_density(propane, at).to("lb/gal").magnitude)
    assert row("gas", "propane-heat-of-vaporisation").agrees(latent_heat(propane, at).magnitude)
    assert row("gas", "butane-boiling-point").agrees(boiling_point(fuel("butane")).magnitude)


@pytest.mark.parametrize(
    ("id", "pounds"), [("cylinder-draw-full", 100), ("cylinder-draw-half", 50), ("cylinder-draw-low", 10)]
)
def test_capacity_against_the_trades_draw_table(id: str, pounds: float) -> None:
    """Is the energy balance, liquid cooling to its boiling point, within 35 % of the draw table?"""
    published, propane = row("gas_extra", id), fuel("propane")
    diameter = published.given["diameter_inch"] * 0.0254  # type: ignore[operator]
    per_kg = propane.higher_si / propane.molar_mass_si
    for index, (degrees, _) in enumerate(published.pairs()):
        t = quantity(degrees, "degF").to("K").magnitude
        depth = pounds * 0.45359237 / float(liquid_density_si(propane, t)) / (math.pi * diameter**2 / 4)
        area = math.pi * diameter * depth + math.pi * diameter**2 / 4
        watts = float(cylinder.vaporisation_capacity_si(propane, t, area, 101325.0)) * per_kg
        assert published.agrees(quantity(watts, "W").to("BTU_per_hour").magnitude, index), degrees


@given(st.floats(235, 320), st.floats(0.02, 2), st.floats(0, 2e4))
def test_steady_draw_balances(ambient: float, area: float, watts: float) -> None:
    """In steady state, is the heat through the wall the heat that boils?"""
    propane = fuel("propane")
    draw = watts / (propane.higher_si / propane.molar_mass_si)
    t = float(liquid_temperature_si(propane, ambient, draw, area, 5.0, ambient, math.inf))
    assert t <= ambient
    if t > 220.0:
        assert cylinder.WALL * area * (ambient - t) == pytest.approx(draw * float(latent_heat_si(propane, ambient)), rel=1e-9, abs=1e-6)  # fmt: skip


@given(st.floats(240, 310), st.floats(0, 3e-4), st.lists(st.floats(0, 1e5), min_size=2, max_size=5))
def test_cooling_is_monotone_and_bounded(ambient: float, draw: float, times: list[float]) -> None:
    """Does a drawn cylinder only cool, and never past its steady state?"""
    propane = fuel("propane")
    run = liquid_temperature_si(propane, ambient, draw, 0.3, 6.0, ambient, np.array(sorted(times)))
    end = liquid_temperature_si(propane, ambient, draw, 0.3, 6.0, ambient, math.inf)
    assert np.all(np.diff(run) <= 1e-9) and np.all(run >= end - 1e-9) and np.all(run <= ambient + 1e-9)


@given(st.floats(222, 343), st.sampled_from(["propane", "butane", "propane-butane 40/60"]))
def test_saturation_round_trip(t: float, name: str) -> None:
    """Temperature to pressure and back."""
    one = fuel(name)
    assert float(saturation_temperature_si(one, vapour_pressure_si(one, t))) == pytest.approx(t, abs=1e-6)


@given(st.floats(221, 344), st.floats(0.1, 1.0))
def test_vapour_pressure_rises_with_temperature_and_propane(t: float, share: float) -> None:
    """Warmer, or more propane: more pressure."""
    less, more = mixture("a", {"propane": share * 0.9, "butane": 1 - share * 0.9}), mixture("b", {"propane": share, "butane": 1 - share + 0.0})  # fmt: skip
    assert float(vapour_pressure_si(more, t)) > float(vapour_pressure_si(less, t))
    assert float(vapour_pressure_si(more, t + 1)) > float(vapour_pressure_si(more, t))


def test_lighter_gas_boils_first() -> None:
    """Is the vapour richer in propane than the liquid?"""
    liquid = fuel("propane-butane 40/60")
    assert dict(vapour_composition(liquid, quantity(20, "degC")).composition)["propane"] > 0.4


def test_small_cold_cylinder_is_not_enough() -> None:
    """A nearly empty butane cylinder in frost, and a full propane one in spring."""
    area = wetted_area(quantity(12, "in"), quantity(18, "in"), 0.05)
    lowest, heat = quantity(20, "psi"), quantity(12000, "BTU_per_hour")
    frost = cylinder_draw(fuel("butane"), heat, quantity(25, "degF"), area, lowest)
    spring = cylinder_draw(fuel("propane"), heat, quantity(60, "degF"), wetted_area(quantity(12, "in"), quantity(18, "in"), 0.8), lowest)  # fmt: skip
    assert not frost.enough and frost.capacity.magnitude == 0
    assert spring.enough and spring.pressure > lowest


@pytest.mark.parametrize(
    "call",
    [
        lambda: vapour_pressure(fuel("propane"), quantity(400, "K")),
        lambda: vapour_pressure(fuel("propane"), quantity(math.nan, "K")),
        lambda: vapour_pressure(fuel("propane"), quantity(1, "m")),
        lambda: vapour_pressure(fuel("methane"), quantity(280, "K")),
        lambda: vapour_pressure(fuel("commercial propane"), quantity(320, "K")),
        lambda: wetted_area(quantity(12, "in"), quantity(18, "in"), 0.9),
    ],
)
def test_out_of_range(call: object) -> None:
    """Refused with what would be right?"""
    with pytest.raises(ValueError, match="expected"):
        call()  # type: ignore[operator]


def test_a_mixture_is_good_where_all_its_liquids_are() -> None:
    """Ethane is near its critical point at 302 K (305.3 K, CoolProp): does a mixture with it end before, and propane not?"""
    mixed = mixture("mixed", {"propane": 0.95, "ethane": 0.05})
    low, high = cylinder.liquid_range_si(mixed)
    assert low == 220.0 and high == pytest.approx(302, abs=0.5) and high < PropsSI("Tcrit", "Ethane")
    assert high < cylinder.liquid_range_si(fuel("propane"))[1] < PropsSI("Tcrit", "Propane")
    with pytest.raises(ValueError, match="out of range"):
        cylinder.vapour_pressure(mixed, quantity(303, "K"))
    pressures = [cylinder.vapour_pressure(gas, quantity(301, "K")) for gas in (fuel("propane"), mixed)]
    assert pressures[0] < pressures[1]


def test_wetted_area_by_hand() -> None:
    """Half of a cylinder of 12 by 18 in: pi x 1 ft x 0.75 ft of wall, and pi/4 ft² of bottom?"""
    area = cylinder.wetted_area(quantity(12, "in"), quantity(18, "in"), 0.5)
    assert area.to("ft**2").magnitude == pytest.approx(math.pi * 0.75 + math.pi / 4)
    bottom = cylinder.wetted_area(quantity(2, "ft"), quantity(18, "in"), 0)
    assert bottom.to("ft**2").magnitude == pytest.approx(math.pi)
