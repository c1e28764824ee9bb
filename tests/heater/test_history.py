"""Does a heater's year keep its books, and is it the same heater as at the bench?"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from tankside.heater import plumbing
from tankside.heater.history import TWO_PEOPLE, Draw, Schedule, metal_charge, run, sources, tap_curve
from tankside.heater.model import load_model, model_names
from tankside.heater.plumbing import LEDGERS
from tankside.heater.simulation import advance, draw
from tankside.heater.unit import Unit, make_unit, site_of, spread_of
from tankside.physics.tank_heat import temperature_after_si
from tankside.streams import Stream
from tests.published import row

MODELS = ("grebe_12", "ouzel_23", "plover_12")
NOBODY = Schedule(())


def heater(model: str, seed: str = "") -> Unit:
    """A healthy heater at the middle of its sites, or somewhere."""
    kind = load_model(model)
    if not seed:
        return make_unit(kind)
    return make_unit(kind, site_of(kind, Stream(seed, "site")), spread_of(kind, Stream(seed, "own")))


@pytest.mark.parametrize("model", MODELS)
def test_a_year_balances(model: str) -> None:
    """Over a year of draws: is no joule and no coulomb missing, to 1e-9?"""
    year = run(heater(model), TWO_PEOPLE, 365.25)
    assert abs(year.energy_balance) < 1e-9
    assert abs(year.charge_balance) < 1e-9
    assert len(year.days["litres"]) == 366
    assert sum(year.days["mains kWh"]) == pytest.approx(year.kilowatt_hours["mains"], rel=1e-9)
    assert (np.diff(year.time) >= 0).all()


def test_two_thermostats_at_one_temperature_work_together() -> None:
    """Equal levels: does neither side go on past the level, do they share as their powers, and is the heat the same in all?"""
    heats = []
    for apart in (0.0, 0.01):
        unit = heater("plover_12")
        unit.set("dc_thermostat.opens_at", unit["thermostat.opens_at"][0] - apart)
        unit.set("dc_thermostat.closes_at", unit["thermostat.closes_at"][0] - apart)
        month = run(unit, TWO_PEOPLE, 30.0)
        assert month.temperature.max() <= unit["thermostat.opens_at"][0] + 1e-9
        heats.append(month.heat["mains"] + month.heat["gas"])
        if not apart:
            mains, gas = sources(unit)
            assert month.heat["gas"] / month.heat["mains"] == pytest.approx(gas.calls / mains.calls, rel=1e-3)
    assert heats[0] == pytest.approx(heats[1], rel=0.01)


@pytest.mark.parametrize("model", model_names())
def test_every_model_balances(model: str) -> None:
    """Every model, from a cold tank, over two months of draws and over days at the bench: is no joule and no coulomb missing?

    The year's figures: ``python3 run.py bench whole_heater``.
    """
    unit = heater(model)
    story = run(unit, TWO_PEOPLE, 60.0)
    assert sum(story.heat.values()) > 100e6
    assert abs(story.energy_balance) < 1e-9
    assert abs(story.charge_balance) < 1e-9
    if not unit.model.of_type("vessel"):
        return
    before, charge = unit.copy(), float(unit["anode.charge"][0]) if "anode.charge" in unit.values else 0.0
    advance(before, 0.0)
    after, metal = before.copy(), metal_charge(before)
    for litres in (20.0, 5.0, 30.0):
        draw(after, litres)
        advance(after, 1440.0)
    book = {key: float((after[f"ledger.{key}"] - before[f"ledger.{key}"])[0]) for key in LEDGERS}
    came, went = book["heat"], sum(book.values()) - book["heat"]
    stored = float((plumbing.stored(after) - plumbing.stored(before))[0])
    assert came > 1e6
    assert abs(came - went - stored) < 1e-9 * came
    if "anode.charge" in after.values:
        given = float(after["anode.charge"][0]) - charge
        assert given > 0
        assert abs(metal_charge(after) - metal - given) < 1e-9 * max(given, 1.0)


def test_starting_at_the_level() -> None:
    """A run that starts exactly where the thermostat opens: does it open, and not heat on to the limit?"""
    unit = heater("grebe_12")
    level = float(unit["thermostat.opens_at"][0])
    unit.set("tank.temperature", level)
    assert run(unit, NOBODY, 1.0).temperature.max() <= level + 1e-9


@pytest.mark.parametrize("model", MODELS)
def test_faults_balance_too(model: str) -> None:
    """Weeping and dripping relief valve, welded controls, a leak: does a month still balance?"""
    unit = heater(model)
    for key, value in (("relief_valve.weep", 2e-4), ("vessel.seep", 1e-4), ("cushion.volume", 0.0)):
        unit.set(key, value)
    month = run(unit, TWO_PEOPLE, 30.0)
    assert abs(month.energy_balance) < 1e-9 and month.relief > 0 and month.seep > 0
    assert "relief valve drips" in month.event
    unit.set("thermostat.welded", 1.0)
    unit.set("high_limit.welded", 1.0)
    wild = run(unit, NOBODY, 1.0)
    assert abs(wild.energy_balance) < 1e-9
    assert "relief valve opens" in wild.event
    assert wild.temperature.max() <= unit["relief_valve.opens_at"][0] + 1e-9


@pytest.mark.parametrize("model", ["grebe_12", "ouzel_23"])
@pytest.mark.parametrize("seed", ["1", "2", "3"])
def test_it_is_the_heater_of_the_bench(model: str, seed: str) -> None:
    """A day without draws, and one with a short draw: do the bench's simulation and the run agree?"""
    unit = heater(model, seed)
    slow = unit.copy()
    advance(slow, 1440.0)
    fast = run(unit, NOBODY, 1.0)
    assert fast.heat["mains"] == pytest.approx(slow["ledger.heat"][0], rel=5e-3)
    slow = unit.copy()
    advance(slow, 300.0)
    draw(slow, 15.0)
    advance(slow, 20.0)
    fast = run(unit, Schedule((Draw(300, 15, 500.0, None),)), 320 / 1440)
    assert fast.temperature[-1] == pytest.approx(slow["tank.temperature"][0], abs=1.0)


@given(
    st.floats(0.5, 4.0),
    st.floats(-5, 35),
    st.floats(3, 25),
    st.floats(2, 40),
    st.floats(1, 8),
    st.integers(0, 99),
)
@settings(max_examples=40)
def test_first_law(loss: float, room: float, cold: float, litres: float, flow: float, seed: int) -> None:
    """Whatever the site and the draw: do the books close, and does water stay between its coldest and hottest source?"""
    unit = heater("grebe_12", str(seed))
    unit.set("tank.loss", loss)
    unit.set("site.room", room)
    unit.set("site.cold_water", cold)
    unit.set("tank.temperature", cold)
    day = run(unit, Schedule((Draw(60, litres, flow, None), Draw(400, litres, flow))), 1.0)
    assert abs(day.energy_balance) < 1e-9
    assert min(cold, room) - 1e-6 <= day.temperature.min() <= day.temperature.max() < 62.0


@pytest.mark.parametrize("seed", [str(k) for k in range(10)])
def test_draw_against_an_integration(seed: str) -> None:
    """Does heating, drawing and losing at once end where scipy's integration ends?"""
    unit = heater("ouzel_23", seed)
    unit.set("tank.temperature", 55.0)
    minutes, flow = 4.0, 3.0
    found = run(unit, Schedule((Draw(0, minutes * flow, flow, None),)), minutes / 1440)
    carried = flow / 60e3 * 999.03 * 4188.1
    capacity = float(unit["tank.volume"][0]) * 999.03 * 4188.1
    u = {key: float(unit[key][0]) for key in ("tank.loss", "site.room", "site.cold_water")}
    power = float(found.power[0])

    def slope(_t: float, y: np.ndarray) -> np.ndarray:
        gone = u["tank.loss"] * (y - u["site.room"]) + carried * (y - u["site.cold_water"])
        return (power - gone) / capacity

    end = solve_ivp(slope, (0.0, minutes * 60.0), [55.0], rtol=1e-10, atol=1e-10)
    assert found.temperature[-1] == pytest.approx(float(end.y[0, -1]), abs=2e-3)


def test_one_layer_is_the_closed_form() -> None:
    """Is the layered tank with one layer the well-mixed tank, and do more layers give more hot water?"""
    unit = heater("grebe_12")
    unit.set("tank.temperature", 57.0)
    unit.set("tank.loss", 1e-9)
    at = [1.0, 2.0, 4.0, 6.0, 8.0]
    one = tap_curve(unit, at, 5.0, 1)
    carried = 5.0 / 60e3 * 999.03 * 4188.1
    capacity = float(unit["tank.volume"][0]) * 999.03 * 4188.1
    cold = float(unit["site.cold_water"][0])
    closed = temperature_after_si(np.array(at) * 60, 57.0, capacity, 0.0, 0.0, 20.0, carried, cold)
    assert one == pytest.approx(closed, abs=1e-3)
    ten = tap_curve(unit, at, 5.0, 10)
    assert (ten >= one - 1e-9).all()
    assert ten[at.index(4.0)] > 50.0
    with pytest.raises(ValueError, match="layers = 0"):
        tap_curve(unit, at, 5.0, 0)


def test_heats_up_in_the_published_time() -> None:
    """10 gal by 80 °F at 1440 W takes the published minutes."""
    published = row("water", "heat-up-electric")
    unit = heater("grebe_12")
    for key, value in (
        ("tank.volume", 10 * 3.785411784e-3),
        ("tank.loss", 1e-9),
        ("site.cold_water", 140 / 9),
    ):
        unit.set(key, value)
    unit.set("tank.temperature", 140 / 9)
    unit.set("thermostat.opens_at", 60.0)
    found = run(unit, NOBODY, 0.2)
    minutes = found.time[found.event.index("thermostat opens")] / 60 * found.power[0] / 1440
    assert published.agrees(float(minutes))


def test_anode_and_sediment_grow_old() -> None:
    """Over three years: does the rod thin for good, sediment grow, and the steel rust once the rod is gone?"""
    old = run(heater("grebe_12"), TWO_PEOPLE, 3 * 365.25)
    radius, pit = old.periods["radius"], old.periods["pit"]
    assert (np.diff(radius) <= 1e-12).all() and (np.diff(old.periods["sediment"]) >= 0).all()
    gone = radius <= 1.001 * radius.min()
    assert pit[~gone].max(initial=0.0) < 0.05
    assert abs(old.charge_balance) < 1e-9


def test_refuses() -> None:
    """Is a wrong time refused, by name?"""
    with pytest.raises(ValueError, match="days = 0"):
        run(heater("grebe_12"), days=0)
