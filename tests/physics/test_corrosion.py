"""Anodes and steel against TM 5-811-7, MIL-HDBK-1004/10, Faraday's law and scipy."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import constants
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from tankside.physics import corrosion, galvanic
from tankside.physics.corrosion import YEAR
from tankside.physics.galvanic import Steel
from tankside.units import quantity, registry
from tests.published import row, rows

METAL = st.sampled_from(sorted(corrosion.METALS))


# ---- Faraday -----------------------------------------------------------------------------------


def test_faraday_constant() -> None:
    """scipy.constants (CODATA): is F the same?"""
    assert pytest.approx(constants.physical_constants["Faraday constant"][0], rel=1e-10) == corrosion.FARADAY


@pytest.mark.parametrize(
    ("name", "metals"),
    [
        ("capacity", None),
        ("capacity-pound", ["magnesium"]),
        ("capacity-pound-printed", None),
    ],
)
def test_published_capacity(name: str, metals: list[str] | None) -> None:
    """Faraday, and Corrosion 1(2):59: is charge per mass as printed?"""
    table = row("corrosion", name)
    for index, metal in enumerate(metals or table.at or []):
        assert table.agrees(corrosion.capacity(str(metal)).to(table.unit).magnitude, index)


def test_published_consumption() -> None:
    """Magnesium per ampere-year of 8760 hours: theory to 0.1 %, the manual's S to 1 %?"""
    mass = corrosion.mass_loss("magnesium", quantity(1, "A"), quantity(8760, "hour"))
    for name in ("magnesium-consumption-theory", "magnesium-consumption"):
        assert row("corrosion", name).agrees(mass.to("lb").magnitude)


@given(METAL, st.floats(1e-6, 10), st.floats(1, 1e9), st.floats(0.1, 1))
def test_mass_loss_is_proportional(metal: str, amperes: float, seconds: float, efficiency: float) -> None:
    """Twice the current, twice the time, half the efficiency: four times the metal each?"""
    current, time = quantity(amperes, "A"), quantity(seconds, "s")
    once = corrosion.mass_loss(metal, current, time, efficiency).magnitude
    assert corrosion.mass_loss(metal, 2 * current, 2 * time, efficiency).magnitude == pytest.approx(4 * once)
    # By hand: moles of electrons over electrons an atom gives, times molar mass.
    m = corrosion.METALS[metal]
    moles = amperes * seconds / (constants.e * constants.N_A) / m.electrons
    assert once * efficiency == pytest.approx(moles * m.molar_mass, rel=1e-9)


# ---- anode design ------------------------------------------------------------------------------


def test_manual_first_example() -> None:
    """TM 5-811-7: 15 years, 0.7 A: 184.8 lb to the printed digit, 10.9 anodes of 17 lb?"""
    example = row("corrosion", "anode-weight-first")
    weight = corrosion.anode_weight(
        example.condition("current"),
        quantity(float(str(example.given["years"])), "year"),
        example.condition("consumption"),
        float(str(example.given["efficiency"])),
    )
    assert round(weight.to("lb").magnitude, 1) == example.value
    count = row("corrosion", "anode-count-first")
    assert count.agrees((weight / count.condition("each")).to("dimensionless").magnitude, 0)


def test_manual_second_example() -> None:
    """TM 5-811-7: 0.858 A: 227 lb, 26.7 mA an anode in 4500 ohm cm, 32 anodes?"""
    example = row("corrosion", "anode-weight-second")
    weight = corrosion.anode_weight(example.condition("current"), quantity(15, "year"))
    assert example.agrees(weight.to("lb").magnitude)
    each = row("corrosion", "anode-current-second")
    current = galvanic.design_current(each.condition("resistivity"))
    assert each.agrees(current.to("mA").magnitude) and round(current.to("mA").magnitude, 1) == each.value
    assert row("corrosion", "anode-count-second").value == round(0.858 / 26.7e-3)


def test_manual_defaults() -> None:
    """Are the manual's E and S what the function takes when nothing is said?"""
    weight = corrosion.anode_weight(quantity(1, "A"), quantity(1, "year")).magnitude
    consumption = row("corrosion", "magnesium-consumption").value
    assert row("corrosion", "magnesium-efficiency").agrees(float(consumption) / weight)


def test_manual_potential_factor() -> None:
    """TM 5-811-7: is y as printed, and does it fall as the structure gets more negative?"""
    table = row("corrosion", "potential-factor-magnesium")
    for index, (volts, _) in enumerate(table.pairs()):
        assert table.agrees(galvanic.potential_factor(quantity(volts, "V")), index)
    volts = [galvanic.potential_factor(quantity(v, "V")) for v in np.linspace(-1.2, -0.7, 26)]
    assert (np.diff(volts) > 0).all()


def test_published_life() -> None:
    """0.25 kg of magnesium with 2 and 5 mA: the published years?"""
    table = row("corrosion", "life-quarter-kilogram")
    for index, (milliamperes, _) in enumerate(table.pairs()):
        years = corrosion.anode_life(
            table.condition("mass"),
            quantity(milliamperes, "mA"),
            "magnesium",
            float(str(table.given["efficiency"])),
            float(str(table.given["utilisation"])),
        )
        assert table.agrees(years.to("year").magnitude, index)


@given(METAL, st.floats(0.01, 10), st.floats(1e-4, 1), st.floats(0.1, 1))
def test_life_and_loss_are_inverses(metal: str, kilograms: float, amperes: float, efficiency: float) -> None:
    """After its life, has exactly the usable metal gone?"""
    life = corrosion.anode_life(quantity(kilograms, "kg"), quantity(amperes, "A"), metal, efficiency, 1.0)
    gone = corrosion.mass_loss(metal, quantity(amperes, "A"), life, efficiency)
    assert gone.to("kg").magnitude == pytest.approx(kilograms)


@given(st.floats(0.004, 0.02), st.floats(0.1, 1), st.floats(1e-4, 1e-2), st.floats(0.05, 0.9))
def test_a_rod_loses_what_its_charge_dissolves(
    radius: float, length: float, amperes: float, part: float
) -> None:
    """Is the metal gone from the rod's shape Faraday's mass? Does the rod thin faster at its end?"""
    metal = corrosion.METALS["magnesium"]
    volume = math.pi * radius**2 * length
    life = volume * metal.density * metal.capacity * 0.5 / amperes
    after = float(corrosion.rod_radius_after_si(amperes * part * life, radius, length))
    assert (volume - math.pi * after**2 * length) / volume == pytest.approx(part)
    times = np.linspace(0, life * 0.99, 30)
    assert (np.diff(corrosion.rod_radius_after_si(amperes * times, radius, length), 2) < 0).all()
    assert corrosion.rod_radius_after_si(2 * amperes * life, radius, length, core=0.001) == 0.001


def test_perforation() -> None:
    """0.1 mm a year is 86 mA/m² on iron (Faraday by hand), and a pit six times as deep is six times as fast?"""
    density = 1e-4 * 7870 / 55.845e-3 * 2 * constants.e * constants.N_A / YEAR
    assert density == pytest.approx(0.086, rel=0.01)
    once = corrosion.perforation_time(quantity(1.5, "mm"), quantity(density, "A/m**2"))
    assert once.to("year").magnitude == pytest.approx(15.0)
    pit = corrosion.perforation_time(quantity(1.5, "mm"), quantity(density, "A/m**2"), 6.0)
    assert pit.to("year").magnitude == pytest.approx(2.5)


# ---- resistances -------------------------------------------------------------------------------


def test_dwight() -> None:
    """Dwight's formula: the computed value, and ten times below the misprinted one?"""
    example = row("corrosion", "dwight")
    ohms = galvanic.rod_resistance(
        *(example.condition(name) for name in ("resistivity", "length", "diameter"))
    )
    assert example.agrees(ohms.to("ohm").magnitude)
    assert row("corrosion", "dwight-printed").value / ohms.to("ohm").magnitude == pytest.approx(10, rel=0.005)


@given(st.floats(1, 200), st.floats(1e-5, 0.1), st.integers(1, 500))
def test_patches_in_parallel(rho: float, area: float, count: int) -> None:
    """Are n patches n single ones side by side, and is all of it proportional to resistivity?"""
    many = galvanic.patch_resistance_si(rho, area, count)
    assert many == pytest.approx(galvanic.patch_resistance_si(rho, area / count) / count)
    assert galvanic.patch_resistance_si(2 * rho, area, count) == pytest.approx(2 * many)


# ---- the cell ----------------------------------------------------------------------------------

STEEL = st.builds(
    lambda free, corrodes, more, anodic, cathodic, hydrogen: Steel(
        free, corrodes, corrodes * more, anodic, cathodic, hydrogen
    ),
    st.floats(-0.7, -0.4),
    st.floats(0.01, 0.3),
    st.floats(1.05, 3),
    st.floats(0.04, 0.12),
    st.floats(0.08, 0.2),
    st.floats(0, 1e-3),
)


def test_default_steel_needs_the_published_current() -> None:
    """MIL-HDBK-1004/10 table 1: to hold -0.85 V, does bare steel in hot water take 5 to 15 mA/ft²?"""
    criterion = row("corrosion", "protection-criterion").value
    assert criterion == galvanic.PROTECTED
    cathodic, anodic = galvanic.steel_current_si(criterion, Steel())
    needed = quantity(float(cathodic - anodic), "A/m**2").to("milliampere/foot**2").magnitude
    assert row("corrosion", "bare-steel-hot").agrees(needed)


def test_default_anode_is_within_the_published_range() -> None:
    """Is the anode's potential within 0.25 V of what the manual gives for magnesium, and steel's free one nobler?"""
    table = row("corrosion", "potential-copper-sulfate")
    assert min(abs(galvanic.MAGNESIUM_POTENTIAL - float(v)) for v in table.values[:2]) <= 0.25
    assert Steel().free > galvanic.PROTECTED > galvanic.MAGNESIUM_POTENTIAL


@given(STEEL)
def test_free_steel_balances(steel: Steel) -> None:
    """At its free potential, does oxygen feed exactly what dissolves?"""
    cathodic, anodic = galvanic.steel_current_si(steel.free, steel)
    assert cathodic == pytest.approx(steel.corrosion) and anodic == pytest.approx(steel.corrosion)


@given(STEEL, st.floats(1e-5, 1.0), st.floats(0.1, 1e5), st.floats(-1.8, -0.95), st.floats(0, 50))
def test_cell_against_brentq(steel: Steel, area: float, ohms: float, anode: float, slope: float) -> None:
    """scipy.optimize.brentq on the balance written here once more: the same potential and current?"""

    def surplus(e: float) -> float:
        over = e - steel.free
        oxygen = 1 / (
            (1 / steel.corrosion - 1 / steel.limit) * 10 ** (over / steel.cathodic) + 1 / steel.limit
        )
        level = steel.hydrogen * 10 ** (-(steel.free + 0.73) / steel.cathodic)
        hydrogen = level * (10 ** (-over / steel.cathodic) - 1)
        dissolving = steel.corrosion * 10 ** (over / steel.anodic)
        return (e - anode) / (ohms + slope) - area * (oxygen + hydrogen - dissolving)

    expected = brentq(surplus, anode, steel.free, xtol=1e-14)
    cell = galvanic.galvanic_cell_si(steel, area, ohms, anode, slope)
    assert cell.steel == pytest.approx(expected, abs=1e-9)
    assert cell.current == pytest.approx((expected - anode) / (ohms + slope), rel=1e-6)
    assert cell.anode == pytest.approx(anode + cell.current * slope)
    # Ohm's law round the loop.
    assert cell.steel - cell.anode == pytest.approx(cell.current * ohms, abs=1e-9)
    assert cell.protected == (cell.steel <= galvanic.PROTECTED)
    assert cell.dissolving <= steel.corrosion * (1 + 1e-9)


@given(STEEL, st.floats(1e-4, 0.5), st.floats(1, 100), st.floats(1.05, 3))
def test_harder_work_for_the_anode(steel: Steel, area: float, ohms: float, more: float) -> None:
    """More resistance: less current, less protection. More bare steel: more current, less protection."""
    base = galvanic.galvanic_cell_si(steel, area, ohms)
    resistive = galvanic.galvanic_cell_si(steel, area, ohms * more)
    barer = galvanic.galvanic_cell_si(steel, area * more, ohms)
    assert resistive.current <= base.current * (1 + 1e-9) and resistive.steel >= base.steel - 1e-12
    assert barer.current >= base.current * (1 - 1e-9) and barer.steel >= base.steel - 1e-12


def test_current_goes_with_one_over_resistivity() -> None:
    """TM 5-811-7: is the exponent -1 in the design formula, and near it in a tank whose water limits the current?"""
    exponent = row("corrosion", "current-against-resistivity").value
    low, high = (galvanic.design_current(quantity(rho, "ohm*cm")).magnitude for rho in (1000, 4000))
    assert math.log(high / low) / math.log(4) == pytest.approx(exponent)
    currents = [
        galvanic.galvanic_cell_si(
            Steel(),
            5e-3,
            galvanic.rod_resistance_si(r, 0.2, 0.019) + galvanic.patch_resistance_si(r, 5e-3, 20),
        ).current
        for r in (5, 20)
    ]
    assert math.log(currents[1] / currents[0]) / math.log(4) == pytest.approx(exponent, abs=0.2)


def test_softened_water_eats_the_anode() -> None:
    """ASHRAE abstract: does better conducting water consume magnesium faster? The sign only."""
    times = np.linspace(0, 3 * YEAR, 7)
    radii = [
        galvanic.rod_history_si(times, 0.0095, 0.2, rho, Steel(), 5e-3, 20)[0][-1] for rho in (8.0, 16.0)
    ]
    assert math.copysign(1, radii[1] - radii[0]) == row("corrosion", "softened-water").value


def test_rod_history_against_scipy() -> None:
    """solve_ivp on r dr/dt = -I(r)/(2 π L ρ η ε): is the stepping within 0.1 % until half of the metal is gone?"""
    length, rho, area = 0.25, 15.0, 0.01
    metal = corrosion.METALS["magnesium"]

    def shrink(_: float, r: np.ndarray) -> np.ndarray:
        ohms = galvanic.rod_resistance_si(rho, length, 2 * r) + galvanic.patch_resistance_si(rho, area, 20)
        current = galvanic.galvanic_cell_si(Steel(), area, ohms).current
        return -current / (2 * np.pi * length * r * metal.density * metal.capacity * 0.5)

    times = np.linspace(0, 2.0, 8) * YEAR
    solved = solve_ivp(shrink, (0, times[-1]), [0.0095], t_eval=times, rtol=1e-8, atol=1e-12)
    radii, currents = galvanic.rod_history_si(times, 0.0095, length, rho, Steel(), area, 20)
    assert solved.y[0, -1] < 0.0095 * 0.7
    np.testing.assert_allclose(radii, solved.y[0], rtol=1e-3)
    assert (np.diff(currents) < 0).all()


def test_a_spent_rod_gives_nothing() -> None:
    """When only the core is left, does the current stop and the steel dissolve freely again?"""
    radii, currents = galvanic.rod_history_si(
        [0, 20 * YEAR], 0.0095, 0.2, 10.0, Steel(), 0.02, 20, core=0.0015
    )
    assert radii[-1] == 0.0015 and currents[0] > 0 and currents[-1] == 0
    alone = galvanic.galvanic_cell_si(Steel(), 0.02, math.inf)
    assert (alone.current, alone.steel, bool(alone.protected)) == (0.0, Steel().free, False)
    assert alone.dissolving == pytest.approx(Steel().corrosion)


def test_a_nobler_metal_attacks_the_steel() -> None:
    """With copper in place of the anode, does the current turn round and the steel dissolve faster?"""
    cell = galvanic.galvanic_cell_si(Steel(), 0.01, 50.0, anode=-0.2)
    assert cell.current < 0 and cell.dissolving > Steel().corrosion


def test_kernel_takes_batches() -> None:
    """Do arrays over units give what each unit gives alone?"""
    areas, ohms = np.array([1e-3, 1e-2, 1e-1]), np.array([[20.0], [math.inf]])
    batch = galvanic.galvanic_cell_si(Steel(), areas, ohms)
    assert batch.current.shape == batch.protected.shape == (2, 3)
    for i, r in enumerate(ohms[:, 0]):
        for j, a in enumerate(areas):
            assert batch.current[i, j] == galvanic.galvanic_cell_si(Steel(), a, r).current


def test_public_cell_agrees_with_its_parts() -> None:
    """Is the public cell the kernel with Dwight's and the patches' resistance?"""
    rho, length, diameter = quantity(20, "ohm*m"), quantity(8, "inch"), quantity(0.75, "inch")
    steel = quantity(50, "cm**2")
    cell = galvanic.galvanic_cell(rho, length, diameter, steel, patches=20, wire=quantity(5, "ohm"))
    ohms = galvanic.rod_resistance(rho, length, diameter) + galvanic.patch_resistance(rho, steel, 20)
    kernel = galvanic.galvanic_cell_si(Steel(), 50e-4, ohms.to("ohm").magnitude + 5)
    assert cell.current.to("A").magnitude == pytest.approx(kernel.current)
    assert cell.steel.to("V").magnitude == pytest.approx(kernel.steel)
    assert cell.protected is True


@pytest.mark.parametrize(
    ("inside", "outside", "named"),
    [
        ({"free": -0.997}, {"free": -1.003}, "free"),
        ({"free": 0.199}, {"free": 0.201}, "free"),
        ({"corrosion": 1.003e-6, "limit": 1.05e-6}, {"corrosion": 0.997e-6}, "corrosion"),
        ({"corrosion": 99.7, "limit": 99.8}, {"corrosion": 100.3, "limit": 99.8}, "corrosion"),
        ({"limit": 0.0803}, {"limit": 0.0797}, "limit"),
        ({"limit": 99.7}, {"limit": 100.3}, "limit"),
        ({"anodic": 0.0201}, {"anodic": 0.0199}, "anodic"),
        ({"anodic": 0.499}, {"anodic": 0.501}, "anodic"),
        ({"cathodic": 0.0201}, {"cathodic": 0.0199}, "cathodic"),
        ({"cathodic": 0.499}, {"cathodic": 0.501}, "cathodic"),
        ({"hydrogen": 0.0}, {"hydrogen": -1e-6}, "hydrogen"),
        ({"hydrogen": 0.997}, {"hydrogen": 1.003}, "hydrogen"),
    ],
)
def test_ranges_of_steel(inside: dict[str, float], outside: dict[str, float], named: str) -> None:
    """Is each field of the steel kept to the range that its text states, at both ends?"""
    tank = (quantity(20, "ohm*m"), quantity(0.2, "m"), quantity(19, "mm"), quantity(50, "cm**2"))
    assert galvanic.galvanic_cell(*tank, steel=Steel(**inside)).current.magnitude > 0
    with pytest.raises(ValueError, match=f"steel.{named} = .*out of range"):
        galvanic.galvanic_cell(*tank, steel=Steel(**outside))


def test_public_cell_of_many_tanks() -> None:
    """Bare steel of several tanks at once: is each its own cell, and one bad steel among them refused?"""
    rho, length, diameter = quantity(20, "ohm*m"), quantity(0.2, "m"), quantity(19, "mm")
    many = galvanic.galvanic_cell(rho, length, diameter, registry().Quantity([10.0, 5000.0], "cm**2"))
    for i, area in enumerate((10.0, 5000.0)):
        one = galvanic.galvanic_cell(rho, length, diameter, quantity(area, "cm**2"))
        assert many.current[i].magnitude == pytest.approx(one.current.magnitude)
        assert bool(many.protected[i]) is one.protected
    with pytest.raises(ValueError, match="longer than wide"):
        galvanic.rod_resistance(rho, length, registry().Quantity([19.0, 300.0], "mm"))
    bad = Steel(corrosion=np.array([0.05, 0.2]), limit=np.array([0.1, 0.1]))
    with pytest.raises(ValueError, match="oxygen feeds what dissolves"):
        galvanic.galvanic_cell(rho, length, diameter, quantity(50, "cm**2"), steel=bad)


def test_wire_of_a_rod_is_in_series() -> None:
    """Does the rod's first current go through water and wire, as the cell has it?"""
    _, currents = galvanic.rod_history_si([0.0, 1.0], 0.0095, 0.2, 20.0, Steel(), 5e-3, 20, wire=300.0)
    water = galvanic.rod_resistance_si(20.0, 0.2, 0.019) + galvanic.patch_resistance_si(20.0, 5e-3, 20)
    assert currents[0] == pytest.approx(galvanic.galvanic_cell_si(Steel(), 5e-3, water + 300.0).current)


def test_refusals() -> None:
    """Are impossible rods, steels, walls and unknown metals refused in one sentence?"""
    rho, rod, thin, steel = (
        quantity(20, "ohm*m"),
        quantity(0.2, "m"),
        quantity(19, "mm"),
        quantity(50, "cm**2"),
    )
    for call in (
        lambda: corrosion.capacity("gold"),
        lambda: corrosion.mass_loss("iron", quantity(-1, "A"), quantity(1, "s")),
        lambda: corrosion.mass_loss("iron", quantity(1, "A"), quantity(1, "s"), 0.0),
        lambda: corrosion.anode_weight(quantity(math.nan, "A"), quantity(1, "year")),
        lambda: corrosion.anode_life(quantity(1, "kg"), quantity(0, "A")),
        lambda: corrosion.perforation_time(quantity(1, "mm"), quantity(0.1, "A/m**2"), 0.5),
        lambda: corrosion.rod_radius_after(
            quantity(1, "year"), thin, rod, quantity(1, "mA"), core=quantity(1, "m")
        ),
        lambda: galvanic.rod_resistance(rho, thin, rod),
        lambda: galvanic.patch_resistance(rho, quantity(0, "cm**2")),
        lambda: galvanic.potential_factor(quantity(-1.3, "V")),
        lambda: galvanic.design_current(quantity(1, "ohm*cm")),
        lambda: galvanic.galvanic_cell(rho, rod, thin, steel, anode=quantity(0, "V")),
        lambda: galvanic.galvanic_cell(rho, rod, thin, steel, steel=Steel(limit=0.05)),
        lambda: galvanic.galvanic_cell(rho, rod, thin, steel, steel=Steel(free=math.nan)),
    ):
        with pytest.raises(ValueError, match="expected"):
            call()


def test_every_hard_row_that_is_physics_is_used_here() -> None:
    """Is a row added to the file also checked? (Rows that are records or other waters are named here.)"""
    checked = {
        "capacity", "capacity-pound", "capacity-pound-printed", "magnesium-consumption", "magnesium-efficiency",
        "magnesium-consumption-theory", "anode-weight-first", "anode-count-first", "anode-weight-second",
        "anode-current-second", "anode-count-second", "potential-factor-magnesium", "bare-steel-hot",
        "protection-criterion", "life-quarter-kilogram", "potential-copper-sulfate", "current-against-resistivity",
        "softened-water", "dwight",
    }  # fmt: skip
    records = {
        "bare-steel-still", "bare-steel-moving", "bare-steel-turbulent", "protection-criterion-polarisation",
        "potential-seawater-sce", "potential-silver-chloride", "enamel-tank-anode", "enamel-tank-anode-life",
    }  # fmt: skip
    hard = {each.id for each in rows("corrosion") if each.hard and each.tolerance != "none"}
    assert hard == checked | records


def test_the_design_formula_is_a_product() -> None:
    """TM 5-811-7, i = C f y / ρ: twice the size factor, or half the potential's, is twice or half the current?"""
    soil = quantity(4500, "ohm*cm")
    one = galvanic.design_current(soil).magnitude
    assert galvanic.design_current(soil, size_factor=2.0).magnitude == pytest.approx(2 * one)
    least = galvanic.POTENTIAL_FACTOR[1][0]
    far = quantity(galvanic.POTENTIAL_FACTOR[0][0], "V")
    assert least == 0.5 and galvanic.design_current(soil, far).magnitude == pytest.approx(least * one)
    assert galvanic.design_current(soil, constant=60_000.0).magnitude == pytest.approx(one / 2)
