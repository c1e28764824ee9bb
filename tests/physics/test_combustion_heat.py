"""Flame temperature, equilibrium and stack loss against cantera and the published rows."""

from __future__ import annotations

import math
from functools import cache
from typing import Any

import cantera as ct
import numpy as np
import pytest
from CoolProp.CoolProp import PropsSI
from hypothesis import given, settings
from hypothesis import strategies as st

from tankside.physics import _thermo
from tankside.physics.combustion import DRY_AIR, SIMPLE_AIR, air_need_si, dew_point_si, products_si
from tankside.physics.combustion_heat import (
    complete_flame_temperature_si,
    efficiency_si,
    equilibrium,
    equilibrium_si,
    flame_temperature,
    stack_loss,
)
from tankside.physics.fuels import fuel, fuel_names, mixture
from tankside.units import quantity
from tests.published import row

PROPANE = fuel("propane")
FUEL_SPECIES = {"methane": "CH4", "propane": "C3H8", "butane": "C4H10,n-butane"}
PHI = np.array([0.6, 0.75, 0.9, 1.0, 1.05, 1.2, 1.4])
BLENDS = {
    "methane": {"methane": 1.0},
    "propane": {"propane": 1.0},
    "butane": {"butane": 1.0},
    "70/30": {"propane": 0.7, "butane": 0.3},
    "40/60": {"propane": 0.4, "butane": 0.6},
    "thirds": {"methane": 1 / 3, "propane": 1 / 3, "butane": 1 / 3},
    "half": {"methane": 0.5, "propane": 0.5},
    "trace": {"methane": 0.95, "propane": 0.05},
}


@cache
def reference() -> Any:
    """cantera's gas from NASA's polynomials: the fuels and the flue-gas species."""
    names = {*_thermo.species().names, *FUEL_SPECIES.values()}
    return ct.Solution(
        thermo="ideal-gas", species=[s for s in ct.Species.list_from_file("nasa_gas.yaml") if s.name in names]
    )


def mixed(blend: dict[str, float], phi: float, temperature: float | None = None) -> Any:
    gas = reference()
    composition = {FUEL_SPECIES[name]: share for name, share in blend.items()}
    gas.TP = 298.15 if temperature is None else temperature, 101325
    gas.set_equivalence_ratio(phi, composition, "O2:1,N2:3.76")
    gas.equilibrate("HP" if temperature is None else "TP")
    return gas


@pytest.mark.parametrize("blend", BLENDS)
def test_flame_against_cantera(blend: str) -> None:
    """56 adiabatic flames: temperature within 3 K, CO, CO2, O2, H2, NO within 2 % or 30 ppm of cantera's."""
    t, x = equilibrium_si(mixture(blend, BLENDS[blend]), PHI, air=SIMPLE_AIR)
    for i, phi in enumerate(PHI):
        other = mixed(BLENDS[blend], float(phi))
        assert t[i] == pytest.approx(other.T, abs=3)
        for name in ("CO", "CO2", "O2", "H2", "H2O", "NO"):
            assert x[name][i] == pytest.approx(other[name].X[0], rel=0.02, abs=3e-5), (phi, name)


@pytest.mark.parametrize("temperature", [1100.0, 1500.0, 2100.0])
def test_equilibrium_at_given_temperature_against_cantera(temperature: float) -> None:
    """24 mixtures at a fixed temperature: all species within 0.5 % or 1 ppm."""
    for blend in BLENDS:
        _, x = equilibrium_si(mixture(blend, BLENDS[blend]), PHI[[0, 3, 5]], temperature, air=SIMPLE_AIR)
        for i, phi in enumerate(PHI[[0, 3, 5]]):
            other = mixed(BLENDS[blend], float(phi), temperature)
            for name in _thermo.species().names:
                assert x[name][i] == pytest.approx(other[name].X[0], rel=5e-3, abs=1e-6), (blend, phi, name)


@pytest.mark.parametrize("pressure", [6e4, 3e5])
def test_equilibrium_at_other_pressures_against_cantera(pressure: float) -> None:
    """Thin mountain air dissociates more, compressed gas less: cantera's CO and temperature."""
    gas = reference()
    gas.TP = 298.15, pressure
    gas.set_equivalence_ratio(1.0, "C3H8", "O2:1,N2:3.76")
    gas.equilibrate("HP")
    t, x = equilibrium_si(PROPANE, 1.0, pressure=pressure, air=SIMPLE_AIR)
    assert t == pytest.approx(gas.T, abs=1)
    assert x["CO"] == pytest.approx(gas["CO"].X[0], rel=5e-3)


def test_flame_against_gri30() -> None:
    """The other mechanism file: methane and propane within 10 K."""
    gas = ct.Solution("gri30.yaml")
    for name, species in (("methane", "CH4"), ("propane", "C3H8")):
        for phi in (0.7, 1.0, 1.3):
            gas.TP = 298.15, 101325
            gas.set_equivalence_ratio(phi, species, "O2:1,N2:3.76")
            gas.equilibrate("HP")
            assert equilibrium(fuel(name), phi, air=SIMPLE_AIR).temperature.magnitude == pytest.approx(
                gas.T, abs=10
            )


@pytest.mark.parametrize(
    ("id", "dissociation"), [("flame-temperature-equilibrium", True), ("flame-temperature-complete", False)]
)
def test_published_flame_temperature(id: str, dissociation: bool) -> None:
    """With and without dissociation: both published figures, by parameter."""
    published = row("combustion", id)
    for index, (name, _) in enumerate(published.pairs()):
        got = flame_temperature(fuel(name), dissociation=dissociation, air=SIMPLE_AIR).to("K").magnitude
        assert published.agrees(got, index), name


def test_published_flame_temperature_with_excess_air() -> None:
    """Propane at 25, 50 and 100 % excess air."""
    published = row("combustion", "propane-flame-temperature-excess-air")
    for index, (percent, _) in enumerate(published.pairs()):
        got = flame_temperature(PROPANE, quantity(percent, "percent"), air=SIMPLE_AIR).magnitude
        assert published.agrees(got, index)


@settings(max_examples=25)
@given(st.sampled_from(fuel_names()), st.floats(0.55, 1.9))
def test_equilibrium_keeps_elements_and_enthalpy(name: str, phi: float) -> None:
    """The flame's products hold what went in: elements and heat."""
    one, names = fuel(name), _thermo.species().names
    t, x = equilibrium_si(one, phi)
    fractions = np.array([x[n] for n in names])
    c, h, o, n = one.atoms
    air = air_need_si(one) / phi
    elements = np.array([c, h, o + 2 * air * DRY_AIR.oxygen, n + 2 * air * (1 - DRY_AIR.oxygen)])
    moles = c / (fractions @ _thermo.species().atoms)[0]
    assert moles * (fractions @ _thermo.species().atoms) == pytest.approx(elements, rel=1e-6)
    products = moles * sum(x[n] * _thermo.enthalpy(n, t) for n in names)
    oxygen, nitrogen = _thermo.enthalpy("O2", 298.15), _thermo.enthalpy("N2", 298.15)
    reactants = one.formation_si + air * (DRY_AIR.oxygen * oxygen + (1 - DRY_AIR.oxygen) * nitrogen)
    assert float(products) == pytest.approx(float(reactants), abs=1e-5 * one.higher_si)
    assert sum(x.values()) == pytest.approx(1, abs=1e-9)


def test_complete_burning_is_hotter_and_air_cools() -> None:
    """Dissociation only cools; more air cools; warm air heats."""
    air = np.linspace(0, 1, 11)
    complete = complete_flame_temperature_si(PROPANE, air)
    real = equilibrium_si(PROPANE, 1 / (1 + air))[0]
    assert np.all(complete > real) and np.all(np.diff(complete) < 0) and np.all(np.diff(real) < 0)
    warm = flame_temperature(PROPANE, inlet=quantity(500, "K"))
    assert warm > flame_temperature(PROPANE)


@pytest.mark.parametrize("flue", [350.0, 450.0, 600.0, 1000.0])
@pytest.mark.parametrize("excess", [0.0, 0.5, 1.2])
def test_stack_loss_against_cantera(flue: float, excess: float) -> None:
    """Above the dew point: heat given off between cold mixture and flue gas, from cantera's enthalpies, within 0.3 points."""
    assert flue > float(dew_point_si(PROPANE, excess, air=SIMPLE_AIR))
    gas, moles = reference(), products_si(PROPANE, excess, SIMPLE_AIR)
    gas.TP = 298.15, 101325
    gas.set_equivalence_ratio(1 / (1 + excess), "C3H8", "O2:1,N2:3.76")
    cold, per_mole_fuel = gas.enthalpy_mole / 1e3, 1 / gas["C3H8"].X[0]
    gas.TPX = flue, 101325, {name: float(n) for name, n in moles.items()}
    given_off = cold * per_mole_fuel - gas.enthalpy_mole / 1e3 * float(sum(moles.values()))
    kept, _, condensed = efficiency_si(PROPANE, flue, excess, air=SIMPLE_AIR)
    assert float(kept) == pytest.approx(given_off / PROPANE.higher_si, abs=0.003)
    assert condensed == 0


def test_stack_loss_limits() -> None:
    """Flue gas cooled to the room: all of the higher heating value, but for the vapour that cold flue gas holds."""
    for name in ("methane", "propane", "butane"):
        kept, _, condensed = efficiency_si(fuel(name), 298.15, 0.0)
        assert 0.97 < kept < 1.0 and 0.8 < condensed < 1
        kept_dry, _, none = efficiency_si(fuel(name), 380.0, 0.0)
        lower = fuel(name).lower_si / fuel(name).higher_si
        assert none == 0 and lower - 0.06 < kept_dry < lower


@given(st.floats(285, 1200), st.floats(0, 3), st.floats(0, 0.01), st.floats(1, 200))
def test_hotter_flue_more_air_or_more_monoxide_lose_more(
    flue: float, excess: float, monoxide: float, hotter: float
) -> None:
    """Efficiency falls with flue temperature, with excess air (above the room's temperature) and with CO."""
    base = float(efficiency_si(PROPANE, flue, excess, 280.0, monoxide)[0])
    assert float(efficiency_si(PROPANE, flue + hotter, excess, 280.0, monoxide)[0]) < base + 1e-9
    assert float(efficiency_si(PROPANE, flue, excess + 0.1, 280.0, monoxide)[0]) < base + 1e-9
    assert float(efficiency_si(PROPANE, flue, excess, 280.0, monoxide + 1e-3)[0]) < base
    assert base < 1.0


def test_stack_loss_bases() -> None:
    """On the lower heating value the figure is higher by the ratio of the heating values."""
    args = (PROPANE, quantity(400, "degF"), quantity(7.4, "percent"))
    higher, lower = stack_loss(*args), stack_loss(*args, basis="lower")
    assert (lower.efficiency / higher.efficiency).magnitude == pytest.approx(
        PROPANE.higher_si / PROPANE.lower_si
    )
    assert higher.excess_air.magnitude == pytest.approx(50, abs=0.1)


@pytest.mark.parametrize(
    "call",
    [
        lambda: flame_temperature(PROPANE, -0.1),
        lambda: flame_temperature(PROPANE, math.nan),
        lambda: flame_temperature(PROPANE, inlet=quantity(900, "K")),
        lambda: equilibrium(PROPANE, 2.5),
        lambda: equilibrium(PROPANE, 1.0, temperature=quantity(500, "K")),
        lambda: stack_loss(PROPANE, quantity(5000, "K"), 0.05),
        lambda: stack_loss(PROPANE, quantity(450, "K"), 0.05, carbon_monoxide=quantity(5, "percent")),
        lambda: stack_loss(PROPANE, quantity(450, "K"), 0.05, basis="gross"),  # type: ignore[arg-type]
    ],
)
def test_out_of_range(call: object) -> None:
    """Refused with what would be right?"""
    with pytest.raises(ValueError, match="expected"):
        call()  # type: ignore[operator]


@pytest.mark.parametrize("excess", [0.25, 0.5, 1.0])
@pytest.mark.parametrize("inlet", [270.0, 400.0])
def test_complete_burning_with_excess_air_against_cantera(excess: float, inlet: float) -> None:
    """Nothing dissociates: do fuel and air bring the enthalpy that cantera gives the flue gas at the flame's temperature?"""
    gas, supplied = reference(), air_need_si(PROPANE, SIMPLE_AIR) * (1 + excess)
    gas.TPX = inlet, 101325, "O2:1, N2:3.76"
    brought = gas.enthalpy_mole / 1e3 * supplied
    gas.TPX = 298.15, 101325, "C3H8:1"
    brought += gas.enthalpy_mole / 1e3
    gas.HPX = 0.0, 101325, "N2:1"
    moles = products_si(PROPANE, excess, SIMPLE_AIR)
    flame = float(complete_flame_temperature_si(PROPANE, excess, inlet, SIMPLE_AIR))
    gas.TPX = flame, 101325, {name: float(n) for name, n in moles.items()}
    carried = gas.enthalpy_mole / 1e3 * float(sum(moles.values()))
    assert carried == pytest.approx(brought, abs=0.003 * PROPANE.higher_si)


@pytest.mark.parametrize("flue", [290.0, 305.0, 315.0])
def test_what_condenses_against_coolprop(flue: float) -> None:
    """Below the dew point: does the dry flue gas keep as much vapour as CoolProp's saturation pressure lets it?"""
    moles = products_si(PROPANE, 0.5, SIMPLE_AIR)
    dry = 3 + 0.5 * 5 + 1.5 * 5 * 3.76  # C3H8 + 5 O2 -> 3 CO2 + 4 H2O, half as much air again, 3.76 N2 to one O2
    assert float(sum(moles.values())) == pytest.approx(dry + 4, rel=1e-3)
    saturated = PropsSI("P", "T", flue, "Q", 0, "Water")
    kept = dry * saturated / (101325 - saturated)
    _, _, condensed = efficiency_si(PROPANE, flue, 0.5, air=SIMPLE_AIR)
    assert float(condensed) == pytest.approx(1 - kept / 4, abs=0.002)
