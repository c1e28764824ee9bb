"""Proving a heater model: it loads, and a healthy unit heats."""

from __future__ import annotations

from tankside.errors import TanksideError
from tankside.heater.model import HeaterModel
from tankside.heater.simulation import advance
from tankside.heater.unit import make_unit

HEAT_WITHIN = 600.0
"""min in which a healthy heater must bring cold water to its thermostat's setting."""
SATISFIED = (
    ("thermostat", "closed"),
    ("12 V thermostat", "closed"),
    ("pilot thermostat", "closed"),
    ("hand gas valve", "calls"),
)
"""What ends a call for heat, and its state that is then 0."""


def check_model(model: HeaterModel) -> float:
    """Minutes that a healthy unit takes to its thermostat's setting; ``TanksideError`` if it never gets there."""
    unit = make_unit(model)
    for minutes in range(10, int(HEAT_WITHIN) + 1, 10):
        advance(unit, 10.0)
        if any(unit[f"{part}.{state}"][0] == 0 for kind, state in SATISFIED for part in model.of_type(kind)):
            return float(minutes)
    raise TanksideError(
        f"{model.file.name}: a healthy unit doesn't reach its thermostat's setting in {HEAT_WITHIN:g} min; "
        f"it stands at {unit['tank.temperature'][0]:.1f} °C. Is an element wired between hot and neutral, or does gas reach the burner?"
    )
