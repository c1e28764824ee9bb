"""Fuels against chemicals, CoolProp and the published rows."""

from __future__ import annotations

import math

import pytest
from chemicals.acentric import omega
from chemicals.combustion import combustion_data
from chemicals.critical import Pc, Tc
from chemicals.identifiers import MW
from chemicals.reaction import Hfg
from chemicals.safety import LFL, UFL
from chemicals.virial import BVirial_Tsonopoulos
from CoolProp.CoolProp import PropsSI
from hypothesis import given
from hypothesis import strategies as st

from tankside.errors import DataFileError, UnknownNameError
from tankside.physics import _fuel_files, fuels
from tankside.physics.fuels import (
    compressibility_si,
    flammable_range,
    fuel,
    fuel_names,
    heating_value,
    mixture,
    molar_mass,
    second_virial_si,
    specific_gravity,
    wobbe_index,
)
from tankside.units import quantity
from tests.published import row

BURNING = ["methane", "ethane", "propylene", "propane", "isobutane", "butane"]
COOLPROP = {"methane": "Methane", "propane": "Propane", "butane": "n-Butane", "isobutane": "IsoButane"}
shares = st.lists(st.floats(0.01, 1), min_size=2, max_size=6)


@pytest.mark.parametrize(
    ("id", "law"),
    [
        ("molar-mass", lambda f: molar_mass(f).to("g/mol")),
        ("hhv-mass", lambda f: heating_value(f, "mass").to("MJ/kg")),
        ("lhv-mass", lambda f: heating_value(f, "mass", "lower").to("MJ/kg")),
        ("hhv-pound", lambda f: heating_value(f, "mass").to("Btu/lb")),
        ("hhv-cubic-foot", heating_value),
        ("lhv-cubic-foot", lambda f: heating_value(f, "volume", "lower")),
        ("hhv-cubic-metre", lambda f: heating_value(f, temperature=quantity(15, "degC")).to("MJ/m**3")),
        ("wobbe", wobbe_index),
    ],
)
def test_published_fuels(id: str, law: object) -> None:
    """Do methane, propane and butane have their published figures?"""
    published = row("gas", id)
    for index, (name, _) in enumerate(published.pairs()):
        assert published.agrees(law(fuel(name)).magnitude, index), name  # type: ignore[operator]


@pytest.mark.parametrize(
    ("id", "state"), [("specific-gravity-ideal", "ideal"), ("specific-gravity-real", "real")]
)
def test_published_specific_gravity(id: str, state: fuels.State) -> None:
    """Both published specific gravities, ideal and real, by parameter."""
    published = row("gas", id)
    for index, (name, _) in enumerate(published.pairs()):
        assert published.agrees(specific_gravity(fuel(name), state), index), name


def test_trade_figures_of_propane() -> None:
    """Are the trade table's cubic foot, pound and real cubic foot within what they allow?"""
    propane = fuel("propane")
    assert row("gas", "propane-hhv-cubic-foot-trade").agrees(heating_value(propane).magnitude)
    assert row("gas", "propane-hhv-cubic-foot-real").agrees(heating_value(propane, state="real").magnitude)
    assert row("gas", "propane-hhv-pound-trade").agrees(heating_value(propane, "mass").to("Btu/lb").magnitude)


@pytest.mark.parametrize("name", BURNING)
def test_gases_file_against_chemicals(name: str) -> None:
    """Is the committed table what chemicals says?"""
    gas = fuels._gases()[name]
    c, h, _, _ = gas.atoms
    burn = combustion_data(formula=f"C{c}H{h}", Hf=gas.formation)
    assert gas.molar_mass == pytest.approx(MW(gas.cas), rel=1e-6)
    assert gas.higher == pytest.approx(-burn.HHV, rel=1e-6)
    assert gas.lower == pytest.approx(-burn.LHV, rel=1e-6)
    for ends, method in [
        (gas.flammable_iec, "IEC 60079-20-1 (2010)"),
        (gas.flammable_nfpa, "NFPA 497 (2008)"),
    ]:
        assert ends == (LFL(CASRN=gas.cas, method=method), UFL(CASRN=gas.cas, method=method))


@pytest.mark.parametrize(
    ("id", "source"), [("flammability-iec", "IEC 60079-20-1"), ("flammability-nfpa", "NFPA 497")]
)
def test_published_flammability(id: str, source: str) -> None:
    """Two tables disagree: does the parameter choose?"""
    published = row("gas", id)
    got = [
        100 * end for name in ("methane", "propane", "butane") for end in flammable_range(fuel(name), source)
    ]  # type: ignore[arg-type]
    assert got == pytest.approx(published.values, rel=1e-9)


@pytest.mark.parametrize("name", COOLPROP)
def test_compressibility_against_coolprop(name: str) -> None:
    """Is the real gas at 60 degF within 0.3 %, and the second virial coefficient within 5 %?"""
    for t in (275.0, 288.7, 310.0):
        z = PropsSI("Z", "T", t, "P", 101325.0, COOLPROP[name])
        assert float(compressibility_si(fuel(name), t)) == pytest.approx(z, rel=3e-3)
        assert float(second_virial_si(name, t)) == pytest.approx(PropsSI("Bvirial", "T", t, "P", 1.0, COOLPROP[name]), rel=0.05)  # fmt: skip


@pytest.mark.parametrize("name", COOLPROP)
@pytest.mark.parametrize("t", [240.0, 288.7, 330.0, 500.0])
def test_second_virial_is_tsonopoulos(name: str, t: float) -> None:
    """Is it chemicals' Tsonopoulos with chemicals' critical point and acentric factor, term by term?"""
    cas = fuels._gases()[name].cas
    expected = BVirial_Tsonopoulos(t, Tc(cas), Pc(cas), omega(cas))
    assert float(second_virial_si(name, t)) == pytest.approx(expected, rel=2e-3)


@pytest.mark.parametrize("name", COOLPROP)
def test_viscosity_against_coolprop(name: str) -> None:
    """Viscosity of the gas at 15 degC, CoolProp 8."""
    assert fuel(name).viscosity_si == pytest.approx(
        PropsSI("V", "T", 288.15, "P", 101325.0, COOLPROP[name]), rel=2e-3
    )


@given(shares)
def test_mixtures_lie_between_their_gases(parts: list[float]) -> None:
    """Does a mixture's every mean lie between its gases', and higher above lower heating value?"""
    names = BURNING[: len(parts)]
    mixed = mixture("any", {name: part / sum(parts) for name, part in zip(names, parts, strict=True)})
    pure = [mixture(name, {name: 1.0}) for name in names]
    for field in ("molar_mass_si", "higher_si", "lower_si", "specific_gravity_si", "viscosity_si"):
        values = [getattr(p, field) for p in pure]
        assert min(values) * (1 - 1e-9) <= getattr(mixed, field) <= max(values) * (1 + 1e-9)
    low, high = flammable_range(mixed)
    assert min(flammable_range(p)[0] for p in pure) - 1e-6 <= low < high
    assert mixed.higher_si - mixed.lower_si == pytest.approx(44004.0 * mixed.atoms[1] / 2, rel=2e-3)


@pytest.mark.parametrize("off", [-9e-7, 0.0, 9e-7])
def test_shares_are_all_there_is(off: float) -> None:
    """Typed shares may be a millionth off: do those of the fuel add up to one all the same?"""
    made = mixture("typed", {"propane": 0.6 + off, "butane": 0.3, "nitrogen": 0.1})
    assert sum(share for _, share in made.composition) == pytest.approx(1.0, abs=1e-12)


@pytest.mark.parametrize(
    ("composition", "says"),
    [
        ({"propane": 0.5}, "adds|expected 1"),
        ({"propane": math.nan}, "NaN"),
        ({"propane": 1.5, "butane": -0.5}, "share of propane"),
        ({"nitrogen": 1.0}, "burns"),
    ],
)
def test_bad_mixtures(composition: dict[str, float], says: str) -> None:
    """Is each bad composition refused in one sentence?"""
    with pytest.raises(ValueError, match=says):
        mixture("bad", composition)


def test_unknown_names() -> None:
    """Does a misspelt fuel or gas get the nearest right name?"""
    with pytest.raises(UnknownNameError, match="propane"):
        fuel("propan")
    with pytest.raises(UnknownNameError, match="butane"):
        mixture("bad", {"buthane": 1.0})


def test_every_named_fuel_is_complete() -> None:
    """Can every figure be had of every fuel in the file?"""
    for name in fuel_names():
        one = fuel(name)
        assert 600 < heating_value(one, basis="lower").magnitude < heating_value(one).magnitude < 3400
        assert 0 < flammable_range(one, "NFPA 497")[0] < 0.06


def test_bad_fuel_file(tmp_path: object) -> None:
    """Does a composition that doesn't add up name its file, fuel and key?"""
    file = tmp_path / "fuels.toml"  # type: ignore[operator]
    text = '[[fuel]]\nname = "x"\nlabel = "x"\nsource = "ours"\ncomposition = {{ {} }}\n'
    for composition in ("propane = 0.9", "phlogiston = 1.0"):
        file.write_text(text.format(composition), encoding="utf-8")
        with pytest.raises(DataFileError, match="fuel x: composition"):
            _fuel_files.read_fuels(file, set(fuels._gases()))


@pytest.mark.parametrize(
    ("name", "formula", "cas"),
    [("propane", "C3H8", "74-98-6"), ("butane", "C4H10", "106-97-8"), ("methane", "CH4", "74-82-8")],
)
def test_heat_of_a_mole(name: str, formula: str, cas: str) -> None:
    """Is the heat of a mole, in kJ, what chemicals computes from its own heats of formation, within 0.2 %?"""
    burn = combustion_data(formula=formula, Hf=Hfg(cas))
    assert heating_value(fuel(name), per="mole").to("kJ/mol").magnitude == pytest.approx(
        -burn.HHV / 1e3, rel=2e-3
    )
    lower = heating_value(fuel(name), per="mole", basis="lower").to("kJ/mol").magnitude
    assert lower == pytest.approx(-burn.LHV / 1e3, rel=2e-3)
