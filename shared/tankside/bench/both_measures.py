"""An amount in the log's sentences in both systems of measures: people of both habits read one log."""

from __future__ import annotations

from tankside.units import quantity

_FIRST = {
    "°C": ("degC", "degF", "°F", 1),
    "L/min": ("liter/minute", "gpm", "gal/min", 2),
    "mL/min": ("milliliter/minute", "fl_oz/minute", "fl oz/min", 1),
    "mL": ("milliliter", "fl_oz", "fl oz", 1),
    "mm": ("millimeter", "inch", "in.", 3),
    "cm²": ("centimeter^2", "inch^2", "in²", 1),
    "kg": ("kilogram", "pound", "lb", 1),
    "m": ("meter", "foot", "ft", 0),
    "kPa": ("kilopascal", "psi", "psi", 1),
    "mg/L": ("milligram/liter", "gpg", "gpg", 1),
}
"""What an instrument shows -> its unit, and the U.S. customary one: unit, sign, digits after the point."""
_GALLON = 3785.0
"""mL from which water is told in gallons."""
_SECOND = {"psi": ("psi", "bar", "bar", 2), "in. WC": ("inWC", "mbar", "mbar", 1)}


def both_measures(value: float, unit: str, said: str) -> str:
    """``said``, an amount in ``unit``, with the same amount in the other system; U.S. customary stands first.

    Nothing at all is the same in both, and so is a unit that both use: these stay as they are.
    """
    if (value == 0 and unit != "°C") or unit not in _FIRST | _SECOND:
        return said
    own, wanted, sign, places = (_FIRST | _SECOND)[unit]
    if unit == "mL" and value >= _GALLON:
        wanted, sign, places = "gallon", "gal", 2
    if unit == "°C":  # degrees are much of a size: no finer than the instrument
        places = len(said.split()[0].partition(".")[2])
    other = f"{float(quantity(value, own).to(wanted).magnitude):,.{places}f} {sign}"
    return f"{other} ({said})" if unit in _FIRST else f"{said} ({other})"
