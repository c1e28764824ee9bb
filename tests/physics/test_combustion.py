"""Burning against the published rows, chemicals' solver and cantera."""

from __future__ import annotations

import math
from functools import cache
from typing import Any

import cantera as ct
import numpy as np
import pytest
from chemicals.combustion import fuel_air_spec_solver
from hypothesis import given
from hypothesis import strategies as st

from tankside.physics import _thermo
from tankside.physics.combustion import (
    DRY_AIR,
    SIMPLE_AIR,
    air_free,
    air_need,
    air_need_si,
    co2_from_oxygen,
    dew_point_si,
    dry_fractions_si,
    excess_air_from_co2,
    excess_air_from_o2_si,
    excess_air_from_oxygen,
    flue_gas,
    products_si,
    ultimate_co2,
)
from tankside.physics.fuels import fuel, fuel_names, mixture
from tankside.units import quantity
from tests.published import row

NAMES = ["methane", "propane", "butane"]
PROPANE = fuel("propane")
excesses = st.floats(0, 5)
fuels_ = st.sampled_from(fuel_names())


@pytest.mark.parametrize("id", ["air-fuel-volume", "air-fuel-mass"])
def test_published_air_need(id: str) -> None:
    """Air by volume and by mass, in the air that the row names (O2 + 3.76 N2)."""
    published = row("gas", id)
    for index, (name, _) in enumerate(published.pairs()):
        need = air_need(fuel(name), SIMPLE_AIR)
        assert published.agrees(need.volume if id.endswith("volume") else need.mass, index)


def test_trade_air_need() -> None:
    """The trade table's air for propane, in real dry air."""
    assert row("gas", "propane-air-volume-trade").agrees(air_need(PROPANE).volume)


def test_published_flue_gas() -> None:
    """Ultimate CO2, dry CO2 and O2 by excess air, dew point, the identity, the shortcut that overstates."""
    for index, (name, _) in enumerate(row("combustion", "ultimate-co2").pairs()):
        assert row("combustion", "ultimate-co2").agrees(ultimate_co2(fuel(name)).magnitude, index)
    for id, part in (("propane-dry-co2", "CO2"), ("propane-dry-o2", "O2")):
        for index, (percent, _) in enumerate(row("combustion", id).pairs()):
            assert row("combustion", id).agrees(flue_gas(PROPANE, percent / 100).dry[part].magnitude, index)
    for index, (percent, _) in enumerate(row("combustion", "propane-flue-dewpoint").pairs()):
        point = flue_gas(PROPANE, percent / 100).dew_point.to("degF").magnitude
        assert row("combustion", "propane-flue-dewpoint").agrees(point, index)
    assert row("combustion", "co2-from-o2").agrees(co2_from_oxygen(PROPANE, 0.0740).magnitude)
    shortcut = row("combustion", "excess-air-shortcut")
    assert shortcut.agrees(0.0740 / (0.2095 - 0.0740))
    assert excess_air_from_oxygen(PROPANE, 0.0740).magnitude / 100 < shortcut.value  # type: ignore[operator]


def test_published_air_free_reading() -> None:
    """87 ppm at 5 % oxygen."""
    assert row("combustion", "co-air-free").agrees(
        air_free(quantity(87, "ppm"), quantity(5, "percent")).magnitude
    )


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("excess", [0.1, 0.5, 1.5])
def test_products_against_chemicals(name: str, excess: float) -> None:
    """Does chemicals' fuel-air solver find the same dry oxygen and carbon dioxide?"""
    cas = {"methane": "74-82-8", "propane": "74-98-6", "butane": "106-97-8"}[name]
    c, h, _, _ = (int(n) for n in fuel(name).atoms)
    found = fuel_air_spec_solver(
        zs_air=[0.7905, 0.2095, 0, 0, 0], zs_fuel=[0, 0, 1, 0, 0],
        CASs=["7727-37-9", "7782-44-7", cas, "124-38-9", "7732-18-5"],
        atomss=[{"N": 2}, {"O": 2}, {"C": c, "H": h}, {"C": 1, "O": 2}, {"H": 2, "O": 1}],
        n_fuel=1.0, O2_excess=excess,
    )  # fmt: skip
    nitrogen, oxygen, _, dioxide, water = found["ns_out"]
    dry = nitrogen + oxygen + dioxide
    got = flue_gas(fuel(name), excess)
    assert got.dry["CO2"].magnitude == pytest.approx(100 * dioxide / dry, rel=1e-9)
    assert got.dry["O2"].magnitude == pytest.approx(100 * oxygen / dry, rel=1e-9)
    assert got.wet["H2O"].magnitude == pytest.approx(100 * water / (dry + water), rel=1e-9)


@given(fuels_, excesses)
def test_elements_and_mass_balance(name: str, excess: float) -> None:
    """What goes in comes out: C, H, O, N, for every fuel."""
    one = fuel(name)
    air, out = air_need_si(one) * (1 + excess), products_si(one, excess)
    c, h, o, n = one.atoms
    assert out["CO2"] == pytest.approx(c) and 2 * out["H2O"] == pytest.approx(h)
    assert 2 * out["CO2"] + out["H2O"] + 2 * out["O2"] == pytest.approx(o + 2 * air * DRY_AIR.oxygen)
    assert 2 * out["N2"] == pytest.approx(n + 2 * air * (1 - DRY_AIR.oxygen))
    assert min(float(v) for v in out.values()) >= 0


@given(fuels_, excesses)
def test_round_trip_and_identity(name: str, excess: float) -> None:
    """Excess air to oxygen and back; CO2 = CO2ult (O2air - O2)/O2air for fuels without CO2 and N2 of their own too."""
    one = fuel(name)
    co2, o2 = dry_fractions_si(one, excess)
    assert float(excess_air_from_o2_si(one, o2)) == pytest.approx(excess, abs=1e-9)
    if o2 <= 0.2:
        assert co2_from_oxygen(one, float(o2)).magnitude == pytest.approx(100 * float(co2), rel=1e-9)
        assert excess_air_from_co2(one, float(co2)).magnitude == pytest.approx(100 * excess, abs=1e-6)


@given(fuels_, st.lists(excesses, min_size=2, max_size=6, unique=True))
def test_more_air_dilutes(name: str, air: list[float]) -> None:
    """More air: less CO2, more O2, lower dew point."""
    one, ordered = fuel(name), np.array(sorted(air))
    co2, o2 = dry_fractions_si(one, ordered)
    assert np.all(np.diff(co2) <= 0) and np.all(np.diff(o2) >= 0)
    assert np.all(np.diff(dew_point_si(one, ordered)) <= 0)


@given(st.floats(0.01, 2000), st.floats(0, 0.18))
def test_air_free_never_lowers(ppm: float, oxygen: float) -> None:
    """Taking the excess air away can only raise the reading; without excess air it stays."""
    assert air_free(quantity(ppm, "ppm"), oxygen).magnitude >= ppm * (1 - 1e-12)
    assert air_free(quantity(ppm, "ppm"), 0.0).magnitude == pytest.approx(ppm)


# ---- thermodynamics behind the heat of burning ----------------------------------------------------------------------


@cache
def nasa(name: str) -> Any:
    return next(s for s in ct.Species.list_from_file("nasa_gas.yaml") if s.name == name)


@pytest.mark.parametrize("name", _thermo.species().names)
def test_enthalpy_against_cantera(name: str) -> None:
    """The committed polynomials against cantera's: enthalpy, entropy, heat capacity, 250 to 3500 K."""
    thermo, i = nasa(name).thermo, _thermo.species().index(name)
    for t in (250.0, 298.15, 700.0, 999.9, 1000.1, 2000.0, 3500.0):
        assert float(_thermo.enthalpy(name, t)) == pytest.approx(thermo.h(t) / 1e3, rel=1e-6, abs=0.5)
        assert float(_thermo.entropy_r(t)[i]) * 8.314462618 == pytest.approx(thermo.s(t) / 1e3, rel=1e-6)
        assert float(_thermo.capacity_r(t)[i]) * 8.314462618 == pytest.approx(thermo.cp(t) / 1e3, rel=1e-6)


@pytest.mark.parametrize(
    "call",
    [
        lambda: flue_gas(PROPANE, -0.1),
        lambda: flue_gas(PROPANE, math.nan),
        lambda: excess_air_from_oxygen(PROPANE, 0.21),
        lambda: excess_air_from_co2(PROPANE, 0.15),
        lambda: co2_from_oxygen(PROPANE, quantity(7, "ppm/K")),
        lambda: air_free(quantity(87, "ppm"), 0.209),
        lambda: air_free(quantity(-1, "ppm"), 0.05),
    ],
)
def test_out_of_range(call: object) -> None:
    """Refused with what would be right?"""
    with pytest.raises(ValueError, match="expected"):
        call()  # type: ignore[operator]


def test_inert_gas_needs_no_air() -> None:
    """Half nitrogen, half the air."""
    half = mixture("half", {"propane": 0.5, "nitrogen": 0.5})
    assert air_need_si(half) == pytest.approx(air_need_si(PROPANE) / 2)
