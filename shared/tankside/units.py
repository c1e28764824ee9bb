"""One pint registry for the whole project, the trade's units, and how quantities are written.

``ureg`` and ``Quantity`` are made on first use: building the registry takes about a tenth of
a second, which a notebook that only opens a bench need not wait for.
"""

from __future__ import annotations

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


def to_si(value: pint.Quantity[Any], unit: str) -> float | Any:
    """The magnitude of ``value`` in ``unit``; a ``pint.DimensionalityError`` if it isn't one."""
    return value.to(unit).magnitude


def significant(value: float, digits: int = 3) -> str:
    """``value`` with so many significant digits, without exponent for everyday sizes."""
    if value == 0 or value != value or value in (float("inf"), float("-inf")):
        return f"{value:g}"
    from math import floor, log10

    places = digits - 1 - floor(log10(abs(value)))
    rounded = round(value, places)
    return f"{rounded:,.{max(places, 0)}f}" if abs(rounded) < 1e7 else f"{rounded:.{digits - 1}e}"
