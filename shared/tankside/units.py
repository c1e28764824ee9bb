"""One pint registry for the whole project, the trade's units, and how quantities are written.

``ureg`` and ``Quantity`` are made on first use: building the registry takes about a tenth of
a second, which a notebook that only opens a bench need not wait for.
"""

from __future__ import annotations

import re
from functools import cache
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import pint

# Trade units that pint doesn't carry, and short names that the trade writes.
_TRADE_UNITS = (
    "BTU_per_hour = Btu / hour = BTUH",
    "inWC = inch_H2O = in_WC",
    "fl_oz = fluid_ounce",
    "cfh = foot ** 3 / hour",
    "gph = gallon / hour",
    "gpm = gallon / minute",
    "grain_per_gallon = 17.118 * milligram / liter = gpg",
)


@cache
def registry() -> pint.UnitRegistry[Any]:
    """The one registry. Offset units (°F, °C) convert to base units when multiplied."""
    import pint

    ureg: pint.UnitRegistry[Any] = pint.UnitRegistry(autoconvert_offset_to_baseunit=True)
    for definition in _TRADE_UNITS:
        ureg.define(definition)
    pint.set_application_registry(ureg)
    ureg.formatter.default_format = "~P"
    return ureg


def __getattr__(name: str) -> Any:
    if name == "ureg":
        return registry()
    if name == "Quantity":
        return registry().Quantity
    raise AttributeError(name)


def quantity(value: float | str, unit: str | None = None) -> pint.Quantity[Any]:
    """``quantity(120, "V")`` or ``quantity("120 V")``."""
    if unit is None:
        return registry().Quantity(value)
    return registry().Quantity(value, unit)


_NUMBER = re.compile(r"\s*([-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d{1,3})?)\s*((?:[^\W\d_][^.]*?)?)\s*")
_PLAIN: dict[str, tuple[str, float, float]] = {
    "V": ("V", 1.0, 0.0), "A": ("A", 1.0, 0.0), "W": ("W", 1.0, 0.0), "kW": ("W", 1e3, 0.0),
    "ohm": ("ohm", 1.0, 0.0), "kohm": ("ohm", 1e3, 0.0), "Mohm": ("ohm", 1e6, 0.0),
    "Hz": ("1/s", 1.0, 0.0), "s": ("s", 1.0, 0.0), "min": ("s", 60.0, 0.0),
    "degC": ("K", 1.0, 273.15), "degF": ("K", 5 / 9, 459.67 * 5 / 9),
    "m": ("m", 1.0, 0.0), "mm": ("m", 1e-3, 0.0), "ft": ("m", 0.3048, 0.0), "in": ("m", 0.0254, 0.0),
    "m^3": ("m^3", 1.0, 0.0), "gal": ("m^3", 0.003785411784, 0.0), "L": ("m^3", 1e-3, 0.0),
    "W/K": ("W/K", 1.0, 0.0), "K/W": ("K/W", 1.0, 0.0), "J/K": ("J/K", 1.0, 0.0),
    "uS/cm": ("S/m", 1e-4, 0.0), "F/m": ("F/m", 1.0, 0.0), "pF/ft": ("F/m", 1e-12 / 0.3048, 0.0),
    "mA": ("A", 1e-3, 0.0), "uA": ("A", 1e-6, 0.0), "mV": ("V", 1e-3, 0.0), "kV": ("V", 1e3, 0.0),
    "BTU/hour": ("W", 1055.056 / 3600, 0.0), "BTU_per_hour": ("W", 1055.056 / 3600, 0.0), "S": ("S", 1.0, 0.0),
    "Pa": ("Pa", 1.0, 0.0), "kPa": ("Pa", 1e3, 0.0), "psi": ("Pa", 6894.757293168363, 0.0),
    "inWC": ("Pa", 249.08891, 0.0), "kg": ("kg", 1.0, 0.0), "g": ("kg", 1e-3, 0.0), "lb": ("kg", 0.45359237, 0.0),
    "m^2": ("m^2", 1.0, 0.0), "mm^2": ("m^2", 1e-6, 0.0), "m^3/s": ("m^3/s", 1.0, 0.0),
    "cfh": ("m^3/s", 0.3048**3 / 3600, 0.0),
    "": ("", 1.0, 0.0),
}  # fmt: skip
"""Units of the data files that need no registry: dimension, factor and offset to SI. A test holds them against pint."""


def number_in(text: str, unit: str) -> float:
    """The number that ``text`` ("6 gal") is in ``unit`` ("m^3"): one number and one unit, nothing else.

    Raises
    ------
    ValueError
        The text is no number with a unit, or its unit is of another kind.
    """
    found = _NUMBER.fullmatch(text)
    if not found:
        raise ValueError(f"{text!r} is no number with a unit")
    number, written = float(found[1]), found[2]
    if written in _PLAIN and unit in _PLAIN:
        kind, factor, offset = _PLAIN[written]
        wanted, scale, zero = _PLAIN[unit]
        if kind != wanted:
            raise ValueError(f"{written!r} can't be given in {unit!r}")
        return number if written == unit else (number * factor + offset - zero) / scale
    import pint

    try:
        return float(
            registry().Quantity(number, written or "dimensionless").to(unit or "dimensionless").magnitude
        )
    except (pint.PintError, AttributeError, ArithmeticError, TypeError, ValueError) as error:
        raise ValueError(f"{text!r} can't be given in {unit!r}: {error}") from None


def significant(value: float, digits: int = 3) -> str:
    """``value`` with so many significant digits, without exponent for everyday sizes."""
    if value == 0 or value != value or value in (float("inf"), float("-inf")):
        return f"{value:g}"
    from math import floor, log10

    places = digits - 1 - floor(log10(abs(value)))
    rounded = round(value, places)
    return f"{rounded:,.{max(places, 0)}f}" if abs(rounded) < 1e7 else f"{rounded:.{digits - 1}e}"
