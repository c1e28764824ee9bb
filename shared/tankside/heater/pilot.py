"""A standing pilot: its flame heats a thermocouple, whose current holds the gas valve open. No electricity beside it.

Part of the ignition subsystem (``tankside.heater.ignition``); it does nothing on a model without a pilot gas valve.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from tankside.heater.electrics import branch_current, side
from tankside.heater.unit import Unit
from tankside.physics.circuit import Solution
from tankside.physics.ignition import magnet_holds_si, thermocouple_tip_si, type_k_si

Array = NDArray[np.float64]

_KELVIN = 273.15
_LOOK_AGAIN = 0.1
"""s after which to look again where a crossing was met to within the table's rounding."""
_GRID = np.linspace(0.0, 1300.0, 651)
_VOLTS = np.asarray(type_k_si(_GRID + _KELVIN))


def settle(unit: Unit) -> None:
    """The magnet, the pilot and the main flame, as the tip's temperature and the bulb have it now."""
    for valve in unit.model.of_type("pilot gas valve"):
        values = unit.values
        for couple in unit.model.of_type("thermocouple"):
            values[f"{couple}.joint"] = values["site.room"].copy()
        current = branch_current(unit, f"{valve}: magnet", side(unit, "direct"))
        pressed = values[f"{valve}.pressed"] > 0
        held = magnet_holds_si(
            current,
            values[f"{valve}.held"] > 0,
            pressed,
            _hold(unit, valve),
            values[f"{valve}.drop_current"],
        )
        on = values[f"{valve}.knob"] > 0
        feeds = on & (held | pressed) & (values[f"{valve}.pilot_blocked"] <= 0)
        feeds &= values.get("burner.feeds", np.ones(unit.batch)) > 0
        pilot = (values[f"{valve}.pilot"] > 0) & feeds
        calls = on.copy()
        for bulb in unit.model.of_type("pilot thermostat"):
            closed = (values[f"{bulb}.closed"] > 0) & (values[f"{bulb}.stuck_open"] <= 0)
            calls &= closed | (values[f"{bulb}.welded"] > 0)
        is_open = calls & held & ~pressed & (values[f"{valve}.stuck_shut_1"] <= 0)
        values[f"{valve}.current"] = np.asarray(current, dtype=float)
        values[f"{valve}.held"] = (held & on).astype(float)
        values[f"{valve}.pilot"] = pilot.astype(float)
        values[f"{valve}.open"] = is_open.astype(float)
        ready = unit.values.get("burner.ready", np.ones(unit.batch))
        holds = unit.values.get("burner.holds", np.ones(unit.batch))
        values["burner.lit"] = (is_open & pilot & (ready > 0) & (holds > 0)).astype(float)


def _hold(unit: Unit, valve: str) -> Array:
    """(B,) A that catches a freshly seated armature: never less than what a held one lets go at."""
    return np.maximum(unit[f"{valve}.hold_current"], unit[f"{valve}.drop_current"])


def _target(unit: Unit, couple: str) -> Array:
    """(B,) °C that the tip goes to: the flame's, or the room's."""
    valve = unit.model.of_type("pilot gas valve")[0]
    return np.where(unit[f"{valve}.pilot"] > 0, unit[f"{couple}.in_flame"], unit["site.room"])


def _tip_for(unit: Unit, valve: str, couple: str, current: Array) -> Array:
    """(B,) °C of the tip at which the magnet gets a current, as the loop stands; above the grid if never."""
    emf = unit[f"{couple}.strength"] * (
        type_k_si(unit[f"{couple}.tip"] + _KELVIN) - type_k_si(unit[f"{couple}.joint"] + _KELVIN)
    )
    now = unit[f"{valve}.current"]
    flows = (emf > 1e-5) & (now > 1e-6)
    loop = np.where(flows, emf / np.where(flows, now, 1.0), np.inf)
    strength = np.maximum(unit[f"{couple}.strength"], 1e-9)
    needed = np.where(np.isfinite(loop), current * loop, 1.0) / strength
    return np.interp(needed + type_k_si(unit[f"{couple}.joint"] + _KELVIN), _VOLTS, _GRID, right=1e4)


def horizon(unit: Unit, solution: Solution, until: Callable[[Array], Array]) -> Array:
    """(B,) s until a cooling tip lets the magnet go, or a warming one with the button pressed can hold it."""
    out = np.full(unit.batch, np.inf)
    for valve in unit.model.of_type("pilot gas valve"):
        for couple in unit.model.of_type("thermocouple"):
            tip, target, tau = unit[f"{couple}.tip"], _target(unit, couple), unit[f"{couple}.time_constant"]
            held = unit[f"{valve}.held"] > 0
            level = np.where(held, unit[f"{valve}.drop_current"], _hold(unit, valve))
            goal = _tip_for(unit, valve, couple, level)
            falls = held & (target < goal)
            # Above room temperature by little, the loop's resistance isn't known yet: look again soon.
            unknown = (unit[f"{valve}.pressed"] > 0) & ~held & (unit[f"{valve}.current"] <= 1e-6)
            rises = (unit[f"{valve}.pressed"] > 0) & ~held & (target > goal)
            crosses = falls | rises
            gone = np.where(crosses, (tip - target) / np.where(crosses, goal - target, 1.0), 1.0)
            time = np.maximum(tau * np.log(np.maximum(gone, 1.0)), _LOOK_AGAIN)
            out = np.minimum(out, np.where(crosses, time, np.inf))
            out = np.where(unknown & (target > tip + 1.0), np.minimum(out, 1.0), out)
    return out


def age(unit: Unit, solution: Solution, step: Array) -> None:
    """(B,) s in which the tip warms or cools."""
    for couple in unit.model.of_type("thermocouple"):
        unit.values[f"{couple}.tip"] = np.asarray(
            thermocouple_tip_si(
                unit[f"{couple}.tip"], _target(unit, couple), unit[f"{couple}.time_constant"], step
            )
        )
