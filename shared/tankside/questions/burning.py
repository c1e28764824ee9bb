"""One heater's flame with some of its numbers changed: what lessons and questions ask of the burner."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tankside.heater import burner, gas
from tankside.heater.model import load_model
from tankside.heater.simulation import energise
from tankside.heater.unit import make_unit
from tankside.physics.flame import KINDS, Burner, FlamePicture, flame_picture
from tankside.physics.fuels import fuel
from tankside.units import quantity

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Burning:
    """What a burner does, (B,) each: air as shares of the air need, gas readings dry, temperatures in °C."""

    kind: tuple[str, ...]
    aeration: Array
    excess: Array
    oxygen: Array
    """%, dry; likewise ``dioxide``."""
    dioxide: Array
    monoxide: Array
    """ppm as measured, dry."""
    air_free: Array
    """ppm."""
    flue: Array
    efficiency: Array
    """%."""
    input: Array
    """W, higher heating value."""
    soot: Array
    """0 none to 1."""
    pull: Array
    """Speed gradient at the ports over the one that lifts the flame."""
    spilled: Array
    """m3/s of carbon monoxide that come back into the room."""
    flow: Array
    """m3/s of gas."""
    pressure: Array
    """Pa at the heater's gas valve."""


def burning(model: str, changed: Mapping[str, float | Array], batch: int = 1) -> Burning:
    """The flame of a model's nominal heater with the numbers of ``changed`` (by ``part.parameter``), burner on."""
    unit = make_unit(load_model(model), batch=batch)
    energise(unit)
    for key, value in changed.items():
        unit.set(key, value)
    now, line = burner.fire(unit), gas.line(unit, 1.0)
    (carbon,) = gas.by_fuel(unit["cylinder.fuel"], lambda one: (np.full(batch, one.atoms[0]),))
    return Burning(
        tuple(KINDS[int(code)] for code in now.kind),
        now.aeration,
        now.excess,
        100 * now.oxygen,
        100 * now.dioxide,
        1e6 * now.monoxide,
        1e6 * now.air_free,
        now.flue - 273.15,
        100 * now.efficiency,
        now.input,
        now.soot,
        now.noise,
        now.flow * carbon * now.unburnt * burner.spill(unit),
        now.flow,
        line.inlet,
    )


def picture(model: str, changed: Mapping[str, float]) -> FlamePicture:
    """The flame of ``burning`` with the reasons for its look, as the physics library gives them."""
    unit = make_unit(load_model(model))
    energise(unit)
    for key, value in changed.items():
        unit.set(key, value)
    now = burner.fire(unit)
    one = fuel(gas.FUELS[int(unit["cylinder.fuel"][0])])
    ports = float(unit["burner.ports"][0]) * (1 - float(unit["burner.rust"][0]))
    throat, diameter, shutter = (
        float(unit[f"burner.{key}"][0]) for key in ("throat", "port_diameter", "shutter")
    )
    return flame_picture(
        one,
        quantity(float(now.flow[0]), "m**3/s"),
        float(np.clip(now.aeration[0], 0.0, 3.0)),
        Burner(throat, ports, diameter, shutter),
        float(np.clip(now.excess[0], -0.9, 5.0)),
    )
