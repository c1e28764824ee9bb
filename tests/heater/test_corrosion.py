"""Does the anode wear as Faraday and the published figures say, and does the steel suffer without it?"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from tankside.heater import corrosion
from tankside.heater.model import load_model
from tankside.heater.simulation import advance
from tankside.heater.unit import Unit, make_unit
from tankside.physics.corrosion import YEAR
from tankside.physics.galvanic import Steel, galvanic_cell_si
from tests.published import row

FARADAY = 96485.33212
MAGNESIUM = row("corrosion", "capacity").values[0] * 3600.0
"""C/kg, published."""


def heater(**changed: float) -> Unit:
    """A healthy steel tank, with some numbers changed (``part__key``)."""
    unit = make_unit(load_model("grebe_12"))
    advance(unit, 0.0)
    for key, value in changed.items():
        unit.set(key.replace("__", "."), value)
    return unit


def test_charge_and_metal_balance() -> None:
    """Is the charge that the anode gave, by the published capacity, the metal that it lost?"""
    unit = heater()
    mass, _ = corrosion.metal(unit)
    for _ in range(100):
        corrosion.spend(unit, np.full(1, YEAR / 24), np.full(1, 57.0))
    lost = mass * unit["anode.used"]
    by_faraday = unit["anode.charge"] / (2 * FARADAY / 24.305e-3 * unit["anode.efficiency"])
    assert lost == pytest.approx(by_faraday, rel=1e-9)
    by_published = unit["anode.charge"] / (MAGNESIUM * unit["anode.efficiency"])
    assert lost == pytest.approx(by_published, rel=1e-3)
    shape = np.pi * unit["anode.length"] * 1738.0 * (unit["anode.radius"] ** 2 - corrosion.radius(unit) ** 2)
    assert shape == pytest.approx(lost, rel=1e-9)


@pytest.mark.parametrize("alloy", [0.0, 1.0, 2.0])
def test_wear_against_an_integration(alloy: float) -> None:
    """Does the rod's radius follow scipy's integration of dwight + mixed potential + Faraday?"""
    unit = heater(anode__alloy=alloy)
    years = 1.5
    found = corrosion.wear(unit, years, 57.0)
    rho = 1e4 / (float(unit["tank.water_conductivity"][0]) * 500.0 * (1 + 0.02 * (57.0 - 25.0)))
    area = float(corrosion.bare_steel(unit)[0])
    patch = rho / (4 * np.sqrt(area / (np.pi * 25)) * 25)
    length, new, core = (float(unit[f"anode.{key}"][0]) for key in ("length", "radius", "core"))
    per_volume = [2 / 24.305e-3 * 1738, 3 / 26.981538e-3 * 2700, 2 / 65.38e-3 * 7140][int(alloy)]
    per_volume *= FARADAY * float(unit["anode.efficiency"][0])

    def slope(_t: float, square: np.ndarray) -> np.ndarray:
        r = np.sqrt(np.maximum(square, core**2))
        ohms = rho / (2 * np.pi * length) * (np.log(8 * length / (2 * r)) - 1) + patch + 0.02
        now = galvanic_cell_si(Steel(), area, ohms, corrosion.POTENTIALS[int(alloy)])
        return -np.asarray(now.current) / (np.pi * length * per_volume)

    end = solve_ivp(slope, (0.0, years * YEAR), [new**2], rtol=1e-8, atol=1e-14)
    assert found.radius[-1] == pytest.approx(float(np.sqrt(end.y[0, -1])), rel=2e-3)


def test_bare_steel_needs_the_published_current() -> None:
    """Does the steel of a hot tank, just protected, take a current density inside the published band?"""
    unit = heater(inlet__hardness=0.0)
    low, high = row("corrosion", "bare-steel-hot").values  # mA/ft2
    unit.set("tank.temperature", 60.0)
    for film in np.geomspace(10, 1e5, 400):
        unit.set("anode.film", film)
        now = corrosion.cell(unit)
        if now.steel[0] > row("corrosion", "protection-criterion").values[0]:
            break
    per_foot = now.current[0] / corrosion.bare_steel(unit)[0] * 0.09290304 * 1e3
    assert 0.9 * low <= per_foot <= high


def test_what_takes_the_protection_away() -> None:
    """Sealant in the thread, an oxide skin, a plain plug, an anode used up: does each leave the steel bare?"""
    assert corrosion.cell(heater()).protected[0]
    for key, value in (
        ("anode_thread__resistance", 1e5),
        ("anode__film", 3e4),
        ("anode__missing", 1.0),
        ("anode__used", 1.0),
    ):
        bad = heater(**{key: value})
        assert not corrosion.cell(bad).protected[0], key
        assert (
            corrosion.wear(bad, 1.0, step=1 / 6).pit[-1]
            > 20 * corrosion.wear(heater(), 1.0, step=1 / 6).pit[-1]
        )


def test_neglect() -> None:
    """Without an anode, is the steel through within some years; with one renewed in time, far later?"""
    bare = corrosion.wear(heater(anode__missing=1.0), 8.0, step=1 / 6)
    kept = corrosion.wear(heater(), 1.5, step=1 / 6)
    assert 1.0 < bare.perforated < 6.0
    assert kept.pit[-1] < 0.05
    assert 1.0 < corrosion.wear(heater(), 6.0, step=1 / 6).life < 6.0


def test_soft_water_and_conducting_water_use_up_more() -> None:
    """As published: does softened water, and water that conducts better, use up magnesium faster?"""
    rate = corrosion.cell(heater()).current[0]
    assert corrosion.cell(heater(inlet__hardness=5.0)).current[0] > rate
    salty = heater()
    salty.set("tank.water_conductivity", 2 * salty["tank.water_conductivity"])
    assert corrosion.cell(salty).current[0] > rate


def test_aluminium_tank_needs_no_anode() -> None:
    """Does the aluminum tank without an anode outlive the steel one without an anode?"""
    light = make_unit(load_model("ouzel_23"))
    advance(light, 0.0)
    steel = corrosion.wear(heater(anode__missing=1.0), 3.0, step=1 / 4)
    assert corrosion.wear(light, 3.0, step=1 / 4).pit[-1] < 0.2 * steel.pit[-1]


def test_hours_at_the_bench_are_collected() -> None:
    """Do days that pass at the bench wear the rod as the same days in one go?"""
    unit = heater()
    advance(unit, 10 * 1440.0 + 5.0)
    other = heater()
    corrosion.spend(other, np.full(1, 10 * 86400.0), np.full(1, 52.0))
    assert unit["anode.used"][0] == pytest.approx(other["anode.used"][0], rel=0.15)
    assert unit["anode.used"][0] > 0
