"""The unit as found, brought to the state in which a figure is measured; each on a copy."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from tankside.bench import pilot
from tankside.bench.gas import HOLD
from tankside.bench.gas_points import GasPoints
from tankside.bench.ignition import SETTLES
from tankside.heater import gas
from tankside.heater.simulation import advance, energise
from tankside.heater.unit import Unit
from tankside.instruments import senses

WARMED = 1.0
"""min of heating after which a flame and a flue are measured."""


def cooled(unit: Unit) -> Unit:
    """As found, with cold water in the tank: what the thermostats call for heat with."""
    out = unit.copy()
    out.values["tank.temperature"] = unit["site.cold_water"].copy()
    return out


def smells(unit: Unit) -> bool:
    """True if gas can be smelt at the burner: then nobody lights it."""
    if not gas.has_gas(unit):
        return False
    energise(unit)
    share = GasPoints(unit).smell(unit.model.parts[unit.model.of_type("burner")[0]].place)
    return bool(senses.NOSE.classes(share)[0] > 0)


def switched_on(unit: Unit) -> bool:
    """True if the 12 V panel switch was found on."""
    return all(unit[f"{part}.closed"][0] > 0 for part in unit.model.of_type("12 V panel switch"))


@lru_cache(maxsize=4)
def in_trial(unit: Unit) -> Unit | None:
    """A start in the middle of its first trial for ignition, valve and spark on; None where nobody starts it.

    Kept for the last few units, because a lab asks for several of its figures: use it, don't change it.
    """
    if not unit.model.timing or not switched_on(unit) or smells(unit.copy()):
        return None
    times = unit.model.timing
    return _started(unit, times["pre_purge"] + times["lights_in"] / 2)


@lru_cache(maxsize=4)
def alight(unit: Unit) -> Unit | None:
    """A start when the flame should be there, before the trial ends; likewise."""
    if not unit.model.timing or not switched_on(unit) or smells(unit.copy()):
        return None
    times = unit.model.timing
    return _started(unit, times["pre_purge"] + times["lights_in"] + SETTLES)


def _started(unit: Unit, seconds: float) -> Unit:
    out = cooled(unit)
    for closed in (0.0, 1.0):
        for part in out.model.of_type("12 V panel switch"):
            out.set(f"{part}.closed", closed)
        energise(out)
    advance(out, seconds / 60.0)
    energise(out)
    return out


@lru_cache(maxsize=4)
def called(unit: Unit) -> Unit:
    """As found, hot water drawn off and some minutes passed: the burner runs, if it will. Likewise kept."""
    out = cooled(unit)
    energise(out)
    if not smells(unit.copy()):
        lit(out)
    advance(out, WARMED)
    energise(out)
    return out


def lit(unit: Unit) -> None:
    """A pilot that a hand lights, lit if its knob is on and it is out: nobody measures a heater that isn't lit."""
    for valve in unit.model.of_type("hand gas valve"):
        if unit[f"{valve}.knob"][0] > 0 and unit[f"{valve}.pilot"][0] <= 0:
            unit.set(f"{valve}.pilot", 1.0)
            flow = gas.line(unit, unit[f"{valve}.pilot_flow"])
            gone = flow.burner * HOLD * 60 / gas.line_volume(unit)
            unit.values["hose.air"] = np.maximum(unit["hose.air"] - gone, 0.0)
    for valve in unit.model.of_type("pilot gas valve"):
        if unit[f"{valve}.knob"][0] > 0 and unit[f"{valve}.pilot"][0] <= 0:
            unit.set(f"{valve}.pressed", 1.0)
            energise(unit)
            unit.set(f"{valve}.pilot", 1.0)
            advance(unit, pilot.HOLD / 60.0)
            unit.set(f"{valve}.pressed", 0.0)
    energise(unit)


def with_water(unit: Unit, celsius: float) -> Unit:
    """The same with the tank at another temperature, °C."""
    out = unit.copy()
    out.values["tank.temperature"] = np.full(unit.batch, celsius)
    energise(out)
    return out
