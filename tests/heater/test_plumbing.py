"""Does the water side keep its books, and does it do what hydraulics and an independent integration say?"""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from tankside.heater import plumbing
from tankside.heater.model import load_model
from tankside.heater.simulation import advance, draw, energise, heat_into_water
from tankside.heater.unit import Unit, make_unit
from tankside.physics.water import T0, density_si
from tankside.streams import Stream
from tests.published import row

MODELS = ("grebe_12", "ouzel_23")
PSI = 6894.757293168361


def closing(unit: Unit, began: np.ndarray) -> np.ndarray:
    """(B,) what the energy ledgers leave open, over the heat that went through."""
    ledger = {name: unit[f"ledger.{name}"] for name in plumbing.LEDGERS}
    out = sum(value for name, value in ledger.items() if name != "heat")
    return (plumbing.stored(unit) - began - ledger["heat"] + out) / np.maximum(ledger["heat"], 1e5)


def started(model: str, batch: int = 1, site: dict[str, float] | None = None) -> tuple[Unit, np.ndarray]:
    """A healthy unit that stands ready, and the energy that it begins with."""
    unit = make_unit(load_model(model), site, batch=batch)
    advance(unit, 0.0)
    return unit, plumbing.stored(unit)


def random_units(model: str, count: int, seed: str = "water") -> Unit:
    """Many units of a model, each with another water side and one of several hidden conditions."""
    unit = make_unit(load_model(model), batch=count)
    draws = [Stream(seed, str(k)) for k in range(count)]

    def spread(key: str, low: float, high: float) -> None:
        unit.set(key, np.array([s.uniform(low, high) for s in draws]))

    spread("tank.temperature", 5.0, 25.0)
    spread("tank.loss", 0.8, 4.0)
    spread("site.room", -5.0, 35.0)
    spread("vessel.insulation", 1.0, 2.5)
    spread("relief_valve.weep", 0.0, 3e-4)
    spread("vessel.seep", 0.0, 2e-4)
    spread("check_valve.leaks_back", 0.0, 1.0)
    spread("relief_valve.opens_at", 65.0, 98.0)
    unit.set("relief_valve.closes_at", unit["relief_valve.opens_at"] - 6.0)
    wild = np.array([float(s.uniform() < 0.5) for s in draws])
    unit.set("thermostat.welded", wild)
    unit.set("high_limit.welded", wild)
    return unit


def slope(watts: float, loss: float, flow: float, v: dict[str, float], capacity: float) -> Any:
    """dT/dt of one node of water, for scipy."""
    room, cold = v["site.room"], v["site.cold_water"]
    return lambda _t, y: (watts - loss * (y - room) - flow * (y - cold)) / capacity


@pytest.mark.parametrize("model", MODELS)
def test_against_an_integration_with_events(model: str) -> None:
    """Do 60 random units a model (thermostat or relief valve cycling) end where scipy's integration ends?"""
    count = 60
    unit = random_units(model, count)
    unit.set("cushion.volume", 0.004)  # nothing lifts by pressure: that has its own test
    twin = unit.copy()
    twin.set("tank.temperature", 50.0)
    power = heat_into_water(twin, energise(twin))
    begin = {key: value.copy() for key, value in unit.values.items()}
    hours = 5.0
    advance(unit, hours * 60.0)
    capacity = begin["tank.volume"] * 999.03 * 4188.1  # kg/m3 and J/(kg K) at 60 °F: handbook values
    for k in range(count):
        v = {key: float(value[k]) for key, value in begin.items()}
        loss = v["tank.loss"] * v["vessel.insulation"] + v["check_valve.siphon"] * v["check_valve.leaks_back"]
        leak = v["relief_valve.weep"] + v["vessel.seep"]
        calls, runs, now, water = True, False, 0.0, v["tank.temperature"]
        while now < hours * 3600.0:
            watts = power[k] if calls or v["thermostat.welded"] else 0.0
            flow = (leak + v["relief_valve.capacity"] * runs) * 4188.1

            marks = [
                v["thermostat.opens_at"] if calls else v["thermostat.closes_at"],
                v["relief_valve.closes_at"] if runs else v["relief_valve.opens_at"],
            ]
            events = [lambda _t, y, mark=mark: float(y[0] - mark) for mark in marks]
            for event, way in zip(events, (1 if calls else -1, -1 if runs else 1), strict=True):
                event.terminal, event.direction = True, way  # type: ignore[attr-defined]
            found = solve_ivp(
                slope(watts, loss, flow, v, capacity[k]),
                (now, hours * 3600.0),
                [water],
                events=events,
                rtol=1e-9,
                atol=1e-9,
                max_step=900,
            )
            now, water = float(found.t[-1]), float(found.y[0, -1])
            if len(found.t_events[0]):
                calls = not calls
            elif len(found.t_events[1]):
                runs = not runs
        # Power follows the coil's temperature a little in the unit, not here.
        assert unit["tank.temperature"][k] == pytest.approx(water, abs=1.2), k
        assert unit["relief_valve.open"][k] == float(runs) or v["thermostat.welded"], k


@pytest.mark.parametrize("model", MODELS)
def test_energy_and_water_balance(model: str) -> None:
    """Do heat, wall, taps, relief valve and leaks add up to what the water stores, to 1e-9?"""
    unit = random_units(model, 40)
    unit.set("cushion.volume", np.array([Stream("air", str(k)).uniform(0.0, 3e-3) for k in range(40)]))
    advance(unit, 0.0)
    began = plumbing.stored(unit)
    for litres in (0.0, 20.0, 5.0):
        draw(unit, litres)
        advance(unit, 200.0)
    assert np.abs(closing(unit, began)).max() < 1e-9
    assert (unit["relief_valve.passed"] >= 0).all() and np.isfinite(unit["tank.temperature"]).all()


def test_many_small_steps_are_one_long_step() -> None:
    """Is the time that passes all that counts, not how often one looks?"""
    whole, parts = random_units("grebe_12", 20), random_units("grebe_12", 20)
    advance(whole, 300.0)
    for _ in range(30):
        advance(parts, 10.0)
    assert parts["tank.temperature"] == pytest.approx(whole["tank.temperature"], abs=0.6)


def test_rigid_tank_against_the_published_rise() -> None:
    """Does a shut, rigid tank without air rise by the published psi for each °F at 60 °F?"""
    unit, _ = started("grebe_12")
    for key, value in (("cushion.volume", 0.0), ("vessel.stretch", 0.0), ("tank.temperature", 140 / 9)):
        unit.set(key, value)
    unit.set("vessel.mass", density_si(T0 + 140 / 9) * unit["tank.volume"])
    before = plumbing.pressure(unit)
    unit.set("tank.temperature", 140 / 9 + 5 / 9)
    assert row("water", "rigid-tank-pressure").agrees(float((plumbing.pressure(unit) - before)[0]) / PSI)


def test_spilled_water_is_the_published_expansion() -> None:
    """Without an air cushion, does the relief valve let out what 60 to 135 °F of expansion pushes out?"""
    unit, began = started("grebe_12", site={"cold_water": 140 / 9, "room": 20.0, "voltage": 120.0})
    unit.set("cushion.volume", 0.0)
    advance(unit, 200.0)
    litres = float(unit["relief_valve.passed"][0] / density_si(T0 + 50)) * 1e3
    grown = float(unit["tank.volume"][0]) * 1e3 * (density_si(T0 + 140 / 9) / density_si(T0 + 57.2) - 1)
    assert 0.5 * grown < litres < grown  # what the wall's give takes up stays in
    assert np.abs(closing(unit, began)).max() < 1e-9


@pytest.mark.parametrize("model", MODELS)
def test_relief_valve_is_set_as_published(model: str) -> None:
    """Is every model's relief valve set at or below the published pressure and temperature?"""
    unit = make_unit(load_model(model))
    assert unit["relief_valve.lifts_at"][0] <= row("water", "relief-valve-pressure").values[0] * PSI * (
        1 + 1e-9
    )
    assert unit["relief_valve.opens_at"][0] <= (210 - 32) / 1.8 + 1e-9


@pytest.mark.parametrize("model", MODELS)
def test_relief_valve_holds_a_runaway_and_a_seized_one_does_not(model: str) -> None:
    """With thermostat and limit welded: does a good valve keep the water below steam, and a seized one let it go?"""
    unit, began = started(model, 2)
    for part in ("thermostat", "high_limit"):
        unit.set(f"{part}.welded", 1.0)
    unit.set("relief_valve.seized", np.array([0.0, 1.0]))
    unit.set("cushion.volume", 0.0)
    advance(unit, 600.0)
    assert unit["tank.temperature"][0] <= unit["relief_valve.opens_at"][0] + 1e-6
    assert unit["relief_valve.passed"][0] > 10.0
    assert unit["vessel.burst"].tolist() == [0.0, 1.0]
    assert abs(closing(unit, began)[0]) < 1e-9


@given(st.floats(0, 1), st.floats(0, 1), st.floats(0, 4e-4), st.floats(5e4, 1e6))
@settings(max_examples=60)
def test_mixing_at_the_tap(jammed: float, bypass: float, crossover: float, pressure: float) -> None:
    """Is tap water a mixture by the published rule, and no tap stronger than without the fault?"""
    unit, _ = started("grebe_12")
    unit.set("tank.temperature", 57.0)
    unit.set("inlet.pressure", pressure)
    good = plumbing.hot_tap(unit)
    unit.set("check_valve.jammed", jammed)
    unit.set("bypass.open", bypass)
    unit.set("house.crossover", crossover)
    tap = plumbing.hot_tap(unit)
    cold = unit["site.cold_water"][0]
    assert cold - 1e-9 <= tap.temperature[0] <= 57.0 + 1e-9
    fraction = (tap.temperature[0] - cold) / (57.0 - cold)  # hot fraction = (M - C) / (H - C)
    assert fraction == pytest.approx(float(tap.through_tank[0]), abs=1e-9)
    only = unit.copy()
    only.set("bypass.open", 0.0)
    only.set("house.crossover", 0.0)
    assert plumbing.hot_tap(only).flow[0] <= good.flow[0] + 1e-15
    assert tap.flow[0] <= float(unit["house.passes"][0]) * np.sqrt(pressure / 1e5) + 1e-15


def test_sediment_matters_to_gas_and_not_to_the_element() -> None:
    """As the published field study found: a burner loses some percent to sediment, an element nothing."""
    unit, _ = started("grebe_12", 3)
    unit.set("vessel.sediment", np.array([0.0, 0.01, 0.03]))
    lost = plumbing.sediment_loss(unit)
    assert lost[0] == 0 and 0.02 < lost[1] < lost[2] < 0.25
    watts = heat_into_water(unit, energise(unit))
    assert np.ptp(watts) == 0


def test_ice() -> None:
    """Does a cold tank stay at 0 °C while it freezes, tear when the ice needs more room than there is, and balance?"""
    unit, began = started("ouzel_23", site={"room": -15.0, "cold_water": 8.0, "voltage": 230.0})
    unit.set("panel_switch.closed", 0.0)
    advance(unit, 2.2 * 1440.0)
    assert unit["tank.temperature"][0] == pytest.approx(0.0, abs=1e-6)
    assert 5.0 < unit["vessel.ice"][0] < plumbing.ice_limit(unit)[0]
    assert abs(closing(unit, began)[0]) < 1e-9
    unit.set("panel_switch.closed", 1.0)
    advance(unit, 90.0)
    assert unit["vessel.ice"][0] < 5.0
    assert abs(closing(unit, began)[0]) < 1e-9
    unit.set("panel_switch.closed", 0.0)
    advance(unit, 5 * 1440.0)
    assert unit["vessel.burst"][0] == 1.0
