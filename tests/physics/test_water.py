"""Water against CoolProp, iapws and the published rows."""

from __future__ import annotations

import math

import CoolProp.CoolProp as coolprop  # noqa: N813
import fluids
import iapws
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tankside.physics import boiling, hot_water, water, water_quality
from tankside.units import quantity, registry
from tests.published import row, rows

KELVIN = np.linspace(273.2, 373.1, 200)
LIQUID = st.floats(0.0, 100.0)


def of_water(output: str, t: float, pressure: float = 101_325.0) -> float:
    """CoolProp's property of water."""
    return float(coolprop.PropsSI(output, "T", t, "P", pressure, "Water"))


# ---- properties --------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("kernel", "output", "tolerance"),
    [
        (water.density_si, "D", 5e-4),
        (water.specific_heat_si, "C", 5e-4),
        (water.compressibility_si, "ISOTHERMAL_COMPRESSIBILITY", 1e-3),
    ],
)
def test_against_coolprop(kernel: object, output: str, tolerance: float) -> None:
    """CoolProp (IAPWS-95): within 0.05 % from 0 to 100 °C?"""
    expected = [of_water(output, t) for t in KELVIN]
    np.testing.assert_allclose(kernel(KELVIN), expected, rtol=tolerance)  # type: ignore[operator]


def test_expansion_coefficient_against_coolprop() -> None:
    """CoolProp: within 1e-6/K from 0 to 100 °C, below 0 under 4 °C?"""
    expected = [of_water("ISOBARIC_EXPANSION_COEFFICIENT", t) for t in KELVIN]
    np.testing.assert_allclose(water.expansion_coefficient_si(KELVIN), expected, atol=1e-6)
    assert water.expansion_coefficient_si(275.15) < 0 < water.expansion_coefficient_si(279.15)


def test_against_iapws() -> None:
    """iapws: within 0.05 % of IAPWS-95? IF97 itself differs from it by up to 0.053 % in specific heat."""
    for t in KELVIN[::10]:
        industrial = iapws.IAPWS97(T=t, P=0.101325)
        assert water.density_si(t) == pytest.approx(industrial.rho, rel=5e-4)
        assert water.specific_heat_si(t) == pytest.approx(industrial.cp * 1e3, rel=6e-4)
    for t in (280.0, 333.15, 360.0):
        scientific = iapws.IAPWS95(T=t, P=0.101325)
        assert water.density_si(t) == pytest.approx(scientific.rho, rel=5e-4)
        assert water.specific_heat_si(t) == pytest.approx(scientific.cp * 1e3, rel=5e-4)


def test_enthalpy_is_the_integral_of_specific_heat() -> None:
    """CoolProp: is heat between any two temperatures within 0.05 %?"""
    ends = [(275.0, 300.0), (288.0, 333.0), (333.0, 373.0)]
    for low, high in ends:
        expected = of_water("H", high) - of_water("H", low)
        assert water.enthalpy_si(high) - water.enthalpy_si(low) == pytest.approx(expected, rel=5e-4)


@pytest.mark.parametrize(
    ("name", "function"), [("density", water.density), ("specific-heat", water.specific_heat)]
)
def test_published_properties(name: str, function: object) -> None:
    """Are the rows in trade units met?"""
    table = row("water", name)
    for index, (t, _) in enumerate(table.pairs()):
        value = function(quantity(t, table.at_unit))  # type: ignore[operator]
        assert table.agrees(value.to(table.unit).magnitude, index)


def test_published_expansion() -> None:
    """Is the expansion to 140 °F, and of ten gallons, as printed?"""
    table = row("water", "expansion")
    for index, (t, _) in enumerate(table.pairs()):
        part = water.expansion(quantity(t, table.at_unit), table.condition("to"))
        assert table.agrees(part * 100, index)
    ten = row("water", "expansion-ten-gallons")
    more = water.expanded_volume(ten.condition("volume"), ten.condition("from"), ten.condition("to"))
    assert ten.agrees(more.to(ten.unit).magnitude)


@given(LIQUID, LIQUID)
def test_expansion_undoes_itself(a: float, b: float) -> None:
    """Warm and cool again: is the volume what it was?"""
    there = 1 + water.expansion(quantity(a, "degC"), quantity(b, "degC"))
    back = 1 + water.expansion(quantity(b, "degC"), quantity(a, "degC"))
    assert there * back == pytest.approx(1, abs=1e-12)


@given(st.floats(5, 99), st.floats(0.1, 10))
def test_warmer_water_is_lighter(celsius: float, more: float) -> None:
    """Above 4 °C, does density fall with temperature?"""
    assert water.density_si(273.15 + min(celsius + more, 100)) < water.density_si(273.15 + celsius)


# ---- closed tank -------------------------------------------------------------------------------


def test_published_rigid_tank() -> None:
    """Is the rise for the first degree at 60 °F as published?"""
    published = row("water", "rigid-tank-pressure")
    start = published.condition("temperature")
    rise = water.closed_tank_pressure_rise(start, start + quantity(0.1, "delta_degF"))
    assert published.agrees(rise.to("psi").magnitude / 0.1)


@pytest.mark.parametrize(("cold", "hot"), [(15, 20), (15, 60), (5, 30), (40, 60), (80, 95)])
def test_rigid_tank_against_coolprop(cold: float, hot: float) -> None:
    """CoolProp, water heated at constant density: within 10 % for rises up to 45 °C?"""
    rho = of_water("D", 273.15 + cold)
    end = coolprop.PropsSI("P", "T", 273.15 + hot, "D", rho, "Water")
    rise = water.closed_tank_pressure_rise(quantity(cold, "degC"), quantity(hot, "degC"))
    assert rise.to("Pa").magnitude == pytest.approx(end - 101_325, rel=0.1)


@pytest.mark.parametrize("stretch", [2e-9, 1e-8, 1e-7])
def test_a_stretching_tank_takes_up_the_expansion(stretch: float) -> None:
    """Water from 15 to 60 °C: do tank and water together give way by what CoolProp's density says, within 1 %?"""
    ratio = math.log(of_water("D", 288.15) / of_water("D", 333.15))
    squeeze = of_water("ISOTHERMAL_COMPRESSIBILITY", 318.15)
    rise = float(water.closed_tank_pressure_rise_si(288.15, 333.15, stretch))
    assert rise * (stretch + squeeze) == pytest.approx(ratio, rel=0.01)


@given(st.floats(5, 90), st.floats(0.01, 10), st.floats(0, 1e-8))
def test_a_tank_that_stretches_keeps_less_pressure(cold: float, more: float, stretch: float) -> None:
    """Is the rigid tank the upper bound, and does more heat mean more pressure?"""
    a, b = 273.15 + cold, 273.15 + cold + more
    rigid = water.closed_tank_pressure_rise_si(a, b)
    assert 0 < water.closed_tank_pressure_rise_si(a, b, stretch) <= rigid
    assert water.closed_tank_pressure_rise_si(a, b + 0.1) > rigid
    parts = water.closed_tank_pressure_rise_si(a, a + more / 3) + water.closed_tank_pressure_rise_si(
        a + more / 3, b
    )
    assert parts == pytest.approx(rigid, rel=1e-6)


# ---- boiling -----------------------------------------------------------------------------------


def test_saturation_against_iapws_and_coolprop() -> None:
    """IAPWS-IF97 region 4, both ways, and CoolProp's IAPWS-95 within 0.1 %?"""
    for t in np.linspace(274, 620, 40):
        assert boiling.saturation_pressure_si(t) == pytest.approx(iapws.IAPWS97(T=t, x=0).P * 1e6, rel=1e-8)
        assert boiling.saturation_pressure_si(t) == pytest.approx(
            coolprop.PropsSI("P", "T", t, "Q", 0, "Water"), rel=1e-3
        )
        assert boiling.saturation_temperature_si(boiling.saturation_pressure_si(t)) == pytest.approx(
            t, abs=1e-4
        )


def test_saturation_release_check_values() -> None:
    """IAPWS R7-97 tables 35 and 36 (from memory; iapws gives the same digits): are the check values met?"""
    for t, megapascal in [(300, 0.353658941e-2), (500, 0.263889776e1), (600, 0.123443146e2)]:
        assert pytest.approx(megapascal, rel=1e-8) == iapws.IAPWS97(T=t, x=0).P
        assert boiling.saturation_pressure_si(t) / 1e6 == pytest.approx(megapascal, rel=1e-8)


def test_published_saturation() -> None:
    """Does water at the relief valve's 150 psi boil where published?"""
    published = row("water", "saturation-150-psig")
    absolute = published.condition("gauge_pressure") + published.condition("atmosphere")
    assert published.agrees(boiling.saturation_temperature(absolute).to("degF").magnitude)


@pytest.mark.parametrize("metres", [-400, 0, 500, 1524, 3000, 8000])
def test_altitude_against_fluids(metres: float) -> None:
    """fluids' US Standard Atmosphere 1976: is pressure within 0.1 %? (fluids takes geometric height.)"""
    assert boiling.atmosphere_si(metres) == pytest.approx(fluids.ATMOSPHERE_1976(metres).P, rel=2e-3)
    boils = boiling.boiling_temperature(quantity(metres, "m")).to("kelvin").magnitude
    expected = coolprop.PropsSI("T", "P", fluids.ATMOSPHERE_1976(metres).P, "Q", 0, "Water")
    assert boils == pytest.approx(expected, abs=0.06)


# ---- hot water in use --------------------------------------------------------------------------


def test_published_heat() -> None:
    """8.33 × gallons × °F: is the heat for ten gallons within half a percent of the trade's rule?"""
    published = row("water", "heat-ten-gallons")
    cold = quantity(60, "degF")
    heat = hot_water.heat_to_warm(published.condition("volume"), cold, cold + published.condition("rise"))
    assert published.agrees(heat.to("Btu").magnitude)
    expected = 37.854117e-3 * of_water("D", 288.70556) * (of_water("H", 333.15) - of_water("H", 288.70556))
    assert heat.to("J").magnitude == pytest.approx(expected, rel=5e-4)


@given(LIQUID, LIQUID, st.floats(0, 1))
def test_mixing(a: float, b: float, part: float) -> None:
    """Does the mixture lie between its streams, and give its hot part back?"""
    cold, hot = min(a, b), max(a, b) + 0.0
    mixed = hot_water.mixed_temperature(quantity(hot, "degC"), quantity(cold, "degC"), part)
    assert cold - 1e-9 <= mixed.magnitude <= hot + 1e-9
    if hot - cold > 1.0:
        back = hot_water.hot_fraction(quantity(hot, "degC"), quantity(cold, "degC"), mixed)
        assert back == pytest.approx(part, abs=1e-9)


def test_the_hottest_cold_and_the_coldest_hot_bind() -> None:
    """Many units at once: is a temperature refused that fits some of them only?"""
    cold, hot = registry().Quantity([10.0, 40.0], "degC"), registry().Quantity([50.0, 90.0], "degC")
    with pytest.raises(ValueError, match="expected 40 to 100 °C: water that is warmed"):
        hot_water.heat_to_warm(quantity(1, "L"), cold, quantity(30, "degC"))
    for mixed in (30, 60):  # colder than a cold stream, hotter than a hot one
        with pytest.raises(ValueError, match="expected 40 to 50 °C: a mixture lies between its streams"):
            hot_water.hot_fraction(hot, cold, quantity(mixed, "degC"))
    with pytest.raises(ValueError, match="the hot stream is above the cold one"):
        hot_water.hot_fraction(quantity(30, "degC"), cold, quantity(30, "degC"))
    with pytest.raises(ValueError, match="the hot stream is above the cold one"):
        hot_water.hot_fraction(quantity(30, "degC"), quantity(30, "degC"), quantity(30, "degC"))
    assert hot_water.hot_fraction(hot, cold, quantity(45, "degC")) == pytest.approx([35 / 40, 5 / 50])


def test_published_mixing() -> None:
    """140 and 60 °F to 105 °F: is the hot part 0.5625?"""
    published = row("water", "mixing")
    part = hot_water.hot_fraction(*(published.condition(name) for name in ("hot", "cold", "mixed")))
    assert published.agrees(part)


@pytest.mark.parametrize(
    ("name", "table"),
    [
        ("scald-cpsc", "cpsc"),
        ("scald-second-degree", "second degree"),
        ("scald-third-degree", "third degree"),
        ("scald-other", "other"),
    ],
)
def test_published_scald(name: str, table: str) -> None:
    """Does each table give its own rows, to the printed digit?"""
    published = row("water", name)
    for index, (t, _) in enumerate(published.pairs()):
        seconds = hot_water.scald_time(quantity(t, published.at_unit), table)
        assert published.agrees(seconds.to("s").magnitude, index)


def test_scald_between_rows() -> None:
    """Is the middle of two rows their geometric mean, and the other table's 125 °F inside its range?"""
    middle = hot_water.scald_time(quantity(125, "degF")).magnitude
    assert middle == pytest.approx(math.sqrt(300 * 30))
    assert row("water", "scald-other-125").agrees(
        hot_water.scald_time(quantity(125, "degF"), "other").magnitude
    )


@pytest.mark.parametrize("table", list(hot_water.SCALD))
def test_hotter_scalds_faster(table: str) -> None:
    """Does time fall all along every table, and hold its end's value beyond (kernel)?"""
    kelvin = hot_water.SCALD[table][0]
    times = hot_water.scald_time_si(np.linspace(kelvin[0], kelvin[-1], 50), table)
    assert (np.diff(times) < 0).all()
    assert hot_water.scald_time_si(400.0, table) == pytest.approx(hot_water.SCALD[table][1][-1])
    with pytest.raises(ValueError, match="hotter water burns faster"):
        hot_water.scald_time(quantity(kelvin[-1] + 0.1, "kelvin"), table)


def test_published_legionella() -> None:
    """ASHRAE Guideline 12-2000 (secondary pages): do the bounds lie where printed?"""
    names = {t: hot_water.legionella_range(quantity(t, "degC")) for t in (19.9, 20, 25, 45, 45.1, 60, 60.1)}
    assert names == {
        19.9: "cold",
        20: "cool",
        25: "growth",
        45: "growth",
        45.1: "warm",
        60: "warm",
        60.1: "hot store",
    }
    growth = row("water", "legionella-growth")
    assert pytest.approx(tuple(v + 273.15 for v in growth.values)) == hot_water.GROWTH
    for name, bound in [
        ("store", hot_water.STORE_ABOVE),
        ("return", hot_water.RETURN_ABOVE),
        ("cold", hot_water.COLD_BELOW),
    ]:
        assert row("water", f"legionella-{name}").agrees(round(bound - 273.15, 9))


# ---- what is dissolved -------------------------------------------------------------------------


@given(st.floats(0, 99), st.sampled_from(sorted(water_quality.HARDNESS_UNITS)))
def test_hardness_round_trip(amount: float, unit: str) -> None:
    """Does a hardness come back in the unit it was written in?"""
    assert water_quality.hardness_in(water_quality.hardness(amount, unit), unit) == pytest.approx(
        amount, abs=1e-9
    )


def test_hardness_units_agree_with_pint_and_chemistry() -> None:
    """Is a grain per (US, Imperial) gallon a grain over a gallon, 1 °dH 10 mg/L CaO, 1 mmol/L a molar mass?"""
    grain = quantity(1, "grain/gallon").to("mg/L").magnitude
    assert water_quality.hardness(1, "gpg").magnitude == pytest.approx(grain, rel=1e-4)
    imperial = quantity(1, "grain/imperial_gallon").to("mg/L").magnitude
    assert water_quality.hardness(1, "°e").magnitude == pytest.approx(imperial, rel=1e-3)
    carbonate, oxide = 40.078 + 12.011 + 3 * 15.999, 40.078 + 15.999  # IUPAC atomic masses
    assert water_quality.hardness(1, "mmol/L").magnitude == pytest.approx(carbonate, rel=1e-3)
    assert water_quality.hardness(1, "°dH").magnitude == pytest.approx(10 * carbonate / oxide, rel=1e-3)


@given(st.floats(10, 5000), st.floats(0, 99))
def test_conductivity(micro: float, celsius: float) -> None:
    """1000 µS/cm is 10 ohm m; do more salt and more warmth both lower the resistivity?"""

    def ohm_metres(conductivity: float, t: float) -> float:
        return float(water_quality.resistivity_from_conductivity(
            quantity(conductivity, "microsiemens/cm"), quantity(t, "degC")).magnitude)  # fmt: skip

    at_25 = quantity(1.0, "") / quantity(micro, "microsiemens/cm")
    assert ohm_metres(micro, 25) == pytest.approx(at_25.to("ohm*m").magnitude)
    assert ohm_metres(micro * 1.1, celsius) < ohm_metres(micro, celsius)
    assert ohm_metres(micro, celsius + 1) < ohm_metres(micro, celsius)
    # The rule as it is stated: 2 % of the conductivity at 25 degC for each degree.
    assert ohm_metres(micro, 25) / ohm_metres(micro, celsius) == pytest.approx(1 + (celsius - 25) / 50)
    solids = quantity(micro * 0.65, "mg/L") if micro * 0.65 >= 1 else quantity(1, "mg/L")
    assert water_quality.resistivity_from_solids(solids).magnitude == pytest.approx(ohm_metres(micro, 25))


# ---- refusals ----------------------------------------------------------------------------------


@pytest.mark.parametrize("celsius", [-0.1, 100.1, math.nan, math.inf])
def test_only_liquid_water(celsius: float) -> None:
    """Are ice, steam and NaN refused everywhere?"""
    bad, good = quantity(celsius, "degC"), quantity(50, "degC")
    for call in (
        lambda: water.density(bad),
        lambda: water.specific_heat(bad),
        lambda: water.expansion(good, bad),
        lambda: water.closed_tank_pressure_rise(good, bad),
        lambda: hot_water.heat_to_warm(quantity(1, "L"), bad, good),
        lambda: hot_water.mixed_temperature(good, bad, 0.5),
        lambda: hot_water.legionella_range(bad),
    ):
        with pytest.raises(ValueError, match="expected"):
            call()


def test_more_refusals() -> None:
    """Are cooling 'heat', a mixture outside its streams, negative volumes and wrong names refused?"""
    warm, cool = quantity(60, "degC"), quantity(20, "degC")
    for call in (
        lambda: hot_water.heat_to_warm(quantity(1, "L"), warm, cool),
        lambda: hot_water.heat_to_warm(quantity(-1, "L"), cool, warm),
        lambda: hot_water.hot_fraction(warm, cool, quantity(70, "degC")),
        lambda: hot_water.hot_fraction(cool, cool, cool),
        lambda: hot_water.mixed_temperature(warm, cool, 1.5),
        lambda: hot_water.scald_time(warm, "no such table"),
        lambda: water.closed_tank_pressure_rise(warm, cool),
        lambda: water.closed_tank_pressure_rise(cool, warm, quantity(-1e-9, "1/Pa")),
        lambda: water_quality.hardness(-1, "gpg"),
        lambda: water_quality.hardness(1, "spoons"),
        lambda: water_quality.resistivity_from_solids(quantity(0, "mg/L")),
        lambda: boiling.saturation_temperature(quantity(0, "Pa")),
        lambda: boiling.saturation_pressure(quantity(400, "degC")),
        lambda: boiling.atmospheric_pressure(quantity(20, "km")),
    ):
        with pytest.raises(ValueError, match="expected"):
            call()


def test_every_hard_water_row_that_is_physics_is_used_here_or_in_the_tank_tests() -> None:
    """Is a row added to the file also checked? (Rows that are records, not laws, are named here.)"""
    checked = {
        "density", "specific-heat", "expansion", "expansion-ten-gallons", "rigid-tank-pressure", "heat-ten-gallons",
        "saturation-150-psig", "scald-cpsc", "scald-second-degree", "scald-third-degree", "scald-other",
        "scald-other-125", "legionella-store", "legionella-return", "legionella-cold", "legionella-growth", "mixing",
        "heat-up-electric", "heat-up-gas", "recovery-electric", "recovery-gas", "first-hour-fraction", "wham-day",
    }  # fmt: skip
    records = {"relief-valve-pressure", "relief-valve-probe", "relief-valve-temperature-chicago"}
    hard = {each.id for each in rows("water") if each.hard and each.tolerance != "none"}
    assert hard == checked | records
