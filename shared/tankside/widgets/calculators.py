"""Calculators for lessons. Each is a view of the library's own functions; it has no formula of its own."""

from __future__ import annotations

from typing import Any

from tankside.physics.resistance_heating import (
    current_through,
    element_current,
    element_resistance,
    power_from,
    resistance_band,
)
from tankside.units import quantity, significant
from tankside.widgets.calculator import Calculator

FIELDS: tuple[dict[str, Any], ...] = (
    {"id": "plate_watts", "label": "Watts on the plate", "unit": "W", "low": 100, "high": 6000, "step": 10, "start": 1440},
    {"id": "plate_volts", "label": "Volts on the plate", "unit": "V", "low": 6, "high": 480, "step": 1, "start": 120},
    {"id": "volts", "label": "Volts measured across the element", "unit": "V", "low": 0, "high": 480, "step": 0.1, "start": 120},
    {"id": "ohms", "label": "Ohms measured, dead", "unit": "Ω", "low": 0.5, "high": 200, "step": 0.1, "start": 10},
)  # fmt: skip
"""What is typed: its unit, lowest and highest value, and where it starts."""


def ohm_watt(plate_watts: float, plate_volts: float, volts: float, ohms: float) -> list[dict[str, Any]]:
    """Rows of the calculator: label, text, and how it was worked out.

    Parameters
    ----------
    plate_watts : 100 to 6000 W
    plate_volts : 6 to 480 V
    volts : 0 to 480 V, measured across the element while it heats
    ohms : 0.5 to 200 Ω, measured with the element dead and its leads lifted

    Raises
    ------
    ValueError
        A value out of range; says which.
    """
    rating = quantity(plate_watts, "W"), quantity(plate_volts, "V")
    across, element = quantity(volts, "V"), quantity(ohms, "ohm")
    low, high = resistance_band(*rating)
    nominal = element_resistance(*rating)
    current = current_through(across, element)
    power = power_from(voltage=across, resistance=element)
    inside = low <= element <= high
    side = "inside the band" if inside else "below the band" if element < low else "above the band"

    def row(label: str, value: Any, unit: str, how: str, mark: str = "") -> dict[str, Any]:
        return {"label": label, "text": f"{significant(value.to(unit).magnitude)} {value.to(unit).units:~P}", "how": how, "mark": mark}  # fmt: skip

    share = power.to("W").magnitude / plate_watts
    return [
        {"group": "From the plate"},
        row("Amps", element_current(*rating), "A", "watts ÷ volts"),
        row("Ohms", nominal, "ohm", "volts × volts ÷ watts"),
        {
            "label": "A good element reads",
            "text": f"{significant(low.magnitude)} to {significant(high.magnitude)} Ω",
            "how": "the plate's watts, 5 % more to 10 % less",
            "mark": "",
        },
        {"group": "As measured"},
        {
            "label": "These ohms are",
            "text": side,
            "how": f"{significant(ohms)} Ω against that band",
            "mark": "good" if inside else "bad",
        },
        row("Amps", current, "A", "volts ÷ ohms"),
        row("Watts", power, "W", f"volts × amps; {100 * share:.0f} % of the plate's"),
    ]


def ohm_watt_calculator() -> Calculator:
    """The calculator of lesson 2: volts, ohms, amps and watts of an element."""
    return Calculator("Calculator for volts, amps, ohms and watts", FIELDS, ohm_watt)
