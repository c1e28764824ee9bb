"""The heater with every subsystem in one unit: do gas, 12 V, mains, water and anode act together as they do apart?"""

from __future__ import annotations

import numpy as np
import pytest
from iapws import IAPWS97
from scipy.integrate import solve_ivp

from tankside.heater import burner, corrosion, plumbing
from tankside.heater.history import TWO_PEOPLE, run, tap_curve
from tankside.heater.model import load_model
from tankside.heater.simulation import advance, draw, energise, heat_into_water
from tankside.heater.unit import Unit, make_unit, site_of, spread_of
from tankside.streams import Stream
from tests.heater.test_plumbing import PSI, closing
from tests.published import row

MODEL = "plover_12"
MAINS, GAS = "panel_switch.closed", "dc_panel_switch.closed"
WAYS = {"mains": (1.0, 0.0), "gas": (0.0, 1.0), "both": (1.0, 1.0)}
MINUTES = 30.0
FOOT = 0.3048


def heater(way: str = "both", seed: str = "", batch: int = 1) -> Unit:
    """A healthy unit that heats by mains, by gas or by both; drawn from its model where a seed is given."""
    model = load_model(MODEL)
    site = site_of(model, Stream(seed, "site")) if seed else None
    own = spread_of(model, Stream(seed, "own")) if seed else None
    unit = make_unit(model, site, own, batch)
    for key, on in zip((MAINS, GAS), WAYS[way], strict=True):
        unit.set(key, on)
    return unit


def watts(unit: Unit) -> float:
    """W into the water now."""
    return float(heat_into_water(unit, energise(unit))[0])


def burning(way: str, temperature: float, seed: str = "") -> float:
    """W into the water at a temperature, once the burner, if it is on, has proven its flame."""
    unit = heater(way, seed)
    unit.set("tank.temperature", temperature)
    advance(unit, 0.5)
    unit.set("tank.temperature", temperature)
    return watts(unit)


def test_the_plate() -> None:
    """Does each side take what the plate says, and do the parts of every subsystem sit in the one unit?"""
    model = load_model(MODEL)
    for kind in ("element", "battery", "control board", "gas cylinder", "burner", "flue", "cold inlet", "check valve",
                 "winter bypass", "relief valve", "air cushion", "vessel", "anode"):  # fmt: skip
        assert model.of_type(kind), kind
    unit = heater("gas")
    advance(unit, 1.0)
    assert float(burner.fire(unit).input[0]) == pytest.approx(model.gas_input, rel=0.02)
    ohms = model.nominal["element.resistance"]
    low, high = row("electrical", "element-1440-band").values
    assert low < ohms < high
    published = dict(row("gas", "orifice-flow").pairs())[62]
    assert float(burner.fire(unit).flow[0]) * 3600 / FOOT**3 == pytest.approx(published, rel=0.02)


@pytest.mark.parametrize("temperature", [8.0, 25.0, 50.0])
def test_two_fires_under_one_tank(temperature: float) -> None:
    """At the same water: is what both sides give the sum of what each gives alone?"""
    alone = burning("mains", temperature) + burning("gas", temperature)
    assert burning("both", temperature) == pytest.approx(alone, rel=1e-6)  # to which a hot coil is settled
    assert burning("mains", temperature) > 1000 and burning("gas", temperature) > 2000


@pytest.mark.parametrize("way", WAYS)
@pytest.mark.parametrize("seed", ["", "1", "2"])
def test_heats_as_water_does(way: str, seed: str) -> None:
    """Heated from cold: is the water where an integration with steam-table water (IAPWS-97) puts it, within 0.4 K?"""
    unit = heater(way, seed)
    cold, room, volume = (float(unit[key][0]) for key in ("site.cold_water", "site.room", "tank.volume"))
    loss = float(unit["tank.loss"][0])
    marks = np.arange(1.0, 60.0, 3.0)
    heats = [burning(way, float(t), seed) for t in marks]
    lights = 4.0 if way != "mains" else 0.0  # purge and lighting by the model's file: 3 s + 1 s
    mass = volume * IAPWS97(T=cold + 273.15, P=0.4).rho  # as filled

    def slope(time: float, y: np.ndarray) -> list[float]:
        heat = float(np.interp(y[0], marks, heats))
        if time < lights:
            heat = burning("mains", cold, seed) if way == "both" else 0.0
        joules = 1e3 * IAPWS97(T=float(y[0]) + 273.15, P=0.4).cp
        return [(heat - loss * (y[0] - room)) / (mass * joules)]

    found = solve_ivp(slope, (0.0, MINUTES * 60.0), [cold], rtol=1e-8, atol=1e-8, max_step=120.0)
    advance(unit, MINUTES)
    assert unit["tank.temperature"][0] == pytest.approx(found.y[0, -1], abs=0.4)
    assert unit["tank.temperature"][0] - cold > (5.0 if way == "mains" else 15.0)


def test_the_gas_that_is_gone() -> None:
    """Is the heat from the gas the cylinder's lost weight, times propane's heating value, times what a flue leaves?"""
    unit = heater("gas")
    advance(unit, 0.0)
    before, start = float(unit["cylinder.mass"][0]), plumbing.stored(unit)
    advance(unit, MINUTES)
    burnt = before - float(unit["cylinder.mass"][0])
    values = dict(row("gas", "hhv-mass").pairs())
    into = float(unit["ledger.heat"][0])
    assert into / (burnt * 1e6 * float(values["propane"])) == pytest.approx(
        float(burner.fire(unit).efficiency[0]), abs=0.02
    )
    assert abs(closing(unit, start)[0]) < 1e-9


@pytest.mark.parametrize("way", WAYS)
def test_books(way: str) -> None:
    """A day with draws on units of every kind of leak, weld and scale: do heat in and heat out agree to 1e-9?"""
    count = 6
    unit = heater(way, batch=count)
    draws = [Stream("books", str(k)) for k in range(count)]
    for key, low, high in (
        ("tank.loss", 1.0, 4.0), ("relief_valve.weep", 0.0, 2e-4), ("vessel.seep", 0.0, 1e-4),
        ("vessel.sediment", 0.0, 0.04), ("check_valve.leaks_back", 0.0, 1.0), ("cushion.volume", 1e-5, 2e-3),
        ("flue.blocked", 0.0, 0.8),
    ):  # fmt: skip
        unit.set(key, np.array([s.uniform(low, high) for s in draws]))
    wild = np.arange(count) % 2.0
    for part in ("thermostat", "high_limit", "dc_thermostat", "dc_high_limit"):
        unit.set(f"{part}.welded", wild)
    advance(unit, 0.0)
    start = plumbing.stored(unit)
    for _ in range(3):
        advance(unit, 470.0)
        draw(unit, 15.0)
        advance(unit, 10.0)
    assert np.abs(closing(unit, start)).max() < 1e-9
    assert (unit["ledger.relief"][wild > 0] > 0).all()


def test_nothing_holds_but_the_relief_valve() -> None:
    """Thermostats and limits of both sides welded: does the relief valve hold the tank at its plate's figures?"""
    unit = heater("both")
    for part in ("thermostat", "high_limit", "dc_thermostat", "dc_high_limit"):
        unit.set(f"{part}.welded", 1.0)
    hottest = highest = 0.0
    for _ in range(60):
        advance(unit, 5.0)
        hottest = max(hottest, float(unit["tank.temperature"][0]))
        highest = max(highest, float(plumbing.pressure(unit)[0]))
    assert hottest <= unit["relief_valve.opens_at"][0] + 1e-6
    assert highest <= unit["relief_valve.lifts_at"][0] + 10.0
    assert unit["relief_valve.passed"][0] > 10.0  # kg: it runs, and cold water follows
    assert highest / PSI <= row("water", "relief-valve-pressure").value + 0.01


def test_one_side_fails_the_other_goes_on() -> None:
    """Fuse, flue and gas stop the gas alone, breaker and element the mains alone: is the other side's heat untouched?"""
    gas, mains = burning("gas", 30.0), burning("mains", 30.0)
    for key, value, left in (
        ("fuse.blown", 1.0, mains),
        ("gas_cock.open", 0.0, mains),
        ("orifice.blocked", 0.99, mains),
        ("breaker.closed", 0.0, gas),
        ("element.resistance", 1e9, gas),
    ):
        unit = heater("both")
        unit.set(key, value)
        unit.set("tank.temperature", 30.0)
        advance(unit, 3.0)
        unit.set("tank.temperature", 30.0)
        assert watts(unit) == pytest.approx(left, rel=2e-3), key


def test_scale_is_the_gas_sides() -> None:
    """With sediment on the bottom: is gas slower, by no more than a field study found in twenty years, and mains as before?"""
    for way, clean in (("gas", burning("gas", 30.0)), ("mains", burning("mains", 30.0))):
        unit = heater(way)
        unit.set("vessel.sediment", 0.006)
        unit.set("tank.temperature", 30.0)
        advance(unit, 0.5)
        unit.set("tank.temperature", 30.0)
        lost = 1.0 - watts(unit) / clean
        assert (0.005 < lost < 0.10) if way == "gas" else abs(lost) < 1e-9


def test_layers_give_more_than_a_mixed_tank() -> None:
    """After heating by both: does a tank in layers give hot water for longer, with the mixed one as its limit?"""
    unit = heater("both")
    advance(unit, 120.0)
    minutes = [2.0, 4.0, 6.0]
    mixed, layered = tap_curve(unit, minutes, 5.0, 1), tap_curve(unit, minutes, 5.0, 10)
    assert (layered > mixed).all() and layered[0] == pytest.approx(unit["tank.temperature"][0], abs=1.5)
    # One node is the closed form: what is left of the difference falls by exp(-litres/volume).
    litres = np.array(minutes) * 5.0
    cold, hot, volume = (
        float(unit[key][0]) for key in ("site.cold_water", "tank.temperature", "tank.volume")
    )
    expected = cold + (hot - cold) * np.exp(-litres / 1000.0 / volume)
    assert np.abs(mixed - expected).max() < 0.3  # the wall's loss in six minutes


def test_a_year_on_both() -> None:
    """A year with two people, thermostats a little apart: energy and charge to 1e-9, the anode and the bottom older?"""
    unit = heater("both", "1")
    assert unit["thermostat.opens_at"][0] != unit["dc_thermostat.opens_at"][0]
    year = run(unit, TWO_PEOPLE, 365.25)
    assert abs(year.energy_balance) < 1e-9 and abs(year.charge_balance) < 1e-9
    assert set(year.kilowatt_hours) == {"mains", "gas"} and min(year.kilowatt_hours.values()) > 1.0
    assert 1000 < sum(year.kilowatt_hours.values()) < 5000
    new = float(corrosion.radius(unit)[0])
    assert year.periods["radius"][-1] < new and year.periods["sediment"][-1] > 0
