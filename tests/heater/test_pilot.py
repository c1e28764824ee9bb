"""Does a standing pilot hold its valve, let go in time, and light again only by a hand on the button?"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tankside.heater.model import load_model
from tankside.heater.simulation import advance, energise
from tankside.heater.unit import Unit, make_unit
from tankside.physics.ignition import thermocouple_voltage
from tankside.units import quantity

MODEL = "dipper_6"


def unit_with(batch: int = 1, **numbers: float) -> Unit:
    """A healthy unit on gas alone, pilot burning."""
    unit = make_unit(load_model(MODEL), batch=batch)
    unit.set("panel_switch.closed", 0.0)
    for key, value in numbers.items():
        unit.set(key.replace("__", "."), value)
    energise(unit)
    return unit


def at(unit: Unit, seconds: float) -> Unit:
    """After so many seconds, with its network solved."""
    advance(unit, seconds / 60.0)
    energise(unit)
    return unit


def light(unit: Unit, seconds: float) -> Unit:
    """Button in, a match, so many seconds, button out."""
    unit.set("gas_valve.pressed", 1.0)
    energise(unit)
    unit.set("gas_valve.pilot", 1.0)
    at(unit, seconds)
    unit.set("gas_valve.pressed", 0.0)
    energise(unit)
    return unit


def test_the_magnet_gets_what_the_table_says() -> None:
    """Is the magnet's current the type K table's voltage over the loop's resistance?"""
    unit = unit_with()
    room = unit["site.room"][0]
    emf = thermocouple_voltage(quantity(640.0, "degC"), quantity(float(room), "degC")).to("V").magnitude
    # couple, joint, magnet, contact, three wires and one screw
    loop = 0.015 + 0.002 + 0.015 + 0.002 + 3 * 0.001 + 0.001
    assert unit["gas_valve.current"][0] == pytest.approx(emf / loop, rel=0.01)


def test_flame_failure() -> None:
    """When the pilot blows out, does the valve let go after the time that the tip's cooling takes, and not before?"""
    unit = unit_with()
    unit.set("gas_valve.pilot", 0.0)
    energise(unit)
    room, loop = unit["site.room"][0], 0.038
    grid = np.arange(30.0, 640.0, 0.05)
    volts = np.array(
        thermocouple_voltage(quantity(grid, "degC"), quantity(float(room), "degC")).to("V").magnitude
    )
    lets_go = float(np.interp(0.12 * loop, volts, grid))
    expected = 12.0 * np.log((640.0 - room) / (lets_go - room))
    assert at(unit, expected * 0.96)["gas_valve.held"][0] == 1
    assert at(unit, expected * 0.08)["gas_valve.held"][0] == 0
    assert unit["gas_valve.open"][0] == 0
    at(unit, 3600)
    assert unit["gas_valve.held"][0] == 0


@pytest.mark.parametrize("flame", [60.0, 85.0, 110.0, 120.0])
def test_one_long_wait_or_many_short(flame: float) -> None:
    """Does a flame too small to hold the magnet drop it whether one looks once an hour or each second?"""
    once = at(unit_with(thermocouple__in_flame=flame), 3600)
    often = unit_with(thermocouple__in_flame=flame)
    for _ in range(240):
        at(often, 1)
    assert once["gas_valve.held"][0] == often["gas_valve.held"][0] == 0
    assert once["tank.temperature"][0] == pytest.approx(at(often, 3360)["tank.temperature"][0], abs=0.05)


@pytest.mark.parametrize(("seconds", "stays"), [(1.0, 0), (60.0, 1)])
def test_how_long_the_button_is_held(seconds: float, stays: int) -> None:
    """Does the pilot stay after a minute on the button, and go out after a second?"""
    unit = unit_with(thermocouple__tip=20.0, gas_valve__held=0.0, gas_valve__pilot=0.0)
    light(unit, seconds)
    assert unit["gas_valve.pilot"][0] == stays


def test_no_gas_while_the_button_is_in() -> None:
    """Does the main burner stay off until the button is let go?"""
    unit = unit_with()
    unit.set("gas_valve.pressed", 1.0)
    energise(unit)
    assert unit["burner.lit"][0] == 0
    unit.set("gas_valve.pressed", 0.0)
    energise(unit)
    assert unit["burner.lit"][0] == 1


def test_the_limit_takes_the_pilot() -> None:
    """Does an open high limit drop the valve at once, and keep it from being lit?"""
    unit = unit_with(pilot_limit__stuck_open=1.0)
    assert unit["gas_valve.held"][0] == 0
    light(unit, 90.0)
    assert unit["gas_valve.pilot"][0] == 0


def test_it_heats_and_stops() -> None:
    """Does the water come to the valve's setting and stay between its two temperatures?"""
    unit = at(unit_with(), 3 * 3600)
    for _ in range(24):
        at(unit, 3600)
        assert unit["pilot_thermostat.closes_at"][0] - 0.01 <= unit["tank.temperature"][0]
        assert unit["tank.temperature"][0] <= unit["pilot_thermostat.opens_at"][0] + 0.01


@settings(max_examples=30, deadline=None)
@given(st.floats(0, 1), st.floats(-3, 2), st.floats(30, 900), st.floats(1, 200))
def test_safe_side(strength: float, joint: float, flame: float, seconds: float) -> None:
    """Whatever the couple, the joint and the pilot are like: gas only while the magnet is held and a pilot burns?"""
    unit = unit_with(
        thermocouple__strength=strength,
        gas_valve__joint_resistance=10.0**joint,
        thermocouple__in_flame=max(flame, 100.0),
    )
    for action in (lambda: at(unit, seconds), lambda: light(unit, seconds), lambda: at(unit, seconds)):
        action()
        if unit["gas_valve.open"][0]:
            assert unit["gas_valve.held"][0] == 1
        if unit["burner.lit"][0]:
            assert unit["gas_valve.pilot"][0] == 1
        if unit["gas_valve.held"][0]:
            assert unit["gas_valve.current"][0] >= 0.12 - 1e-9
