"""Hot water in use: heat to warm it, mixing at the tap, scald time, legionella."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any, Literal, cast

import numpy as np

from tankside.physics._ranges import number, one_of, si
from tankside.physics.water import BOILING, FREEZING, T0, density_si, enthalpy_si
from tankside.units import quantity

if TYPE_CHECKING:
    from tankside.physics._ranges import Quantity

LegionellaRange = Literal["cold", "cool", "growth", "warm", "hot store"]


def _fahrenheit(*degrees: float) -> tuple[float, ...]:
    return tuple((f - 32.0) / 1.8 + T0 for f in degrees)


SCALD: dict[str, tuple[tuple[float, ...], tuple[float, ...]]] = {
    "cpsc": (_fahrenheit(120, 130, 140, 150), (300.0, 30.0, 6.0, 2.0)),
    "second degree": ((T0 + 49, T0 + 55, T0 + 60), (480.0, 17.0, 3.0)),
    "third degree": ((T0 + 49, T0 + 55, T0 + 60), (600.0, 30.0, 5.0)),
    "other": (_fahrenheit(125, 135, 155), (90.0, 10.0, 1.0)),
}
"""Table -> temperatures (K) and times (s), adults. "cpsc": third-degree burn, CPSC figures as printed on a
medical page; the others circulate beside it ("other" takes the shorter end of "1.5 to 2 minutes").
They disagree: children and the old burn sooner than any of them says."""

STORE_ABOVE, RETURN_ABOVE, COLD_BELOW = T0 + 60.0, T0 + 51.0, T0 + 20.0
GROWTH = (T0 + 25.0, T0 + 45.0)
"""K, legionella: ASHRAE Guideline 12-2000 section 4.1.6 (secondary pages)."""

_LIQUID = "liquid water at atmospheric pressure"


def heat_to_warm_si(volume: Any, cold: Any, hot: Any) -> Any:
    """Heat to warm a volume of water, measured cold.

    Parameters
    ----------
    volume : float or array [m³]
        At the cold temperature.
    cold : float or array [K, 273.15 to 373.15]
        Before.
    hot : float or array [K, 273.15 to 373.15]
        After.

    Returns
    -------
    float or array [J]
    """
    return volume * density_si(cold) * (enthalpy_si(hot) - enthalpy_si(cold))


def mixed_temperature_si(hot: Any, cold: Any, hot_fraction: Any) -> Any:
    """Temperature of mixed water.

    Parameters
    ----------
    hot : float or array [K]
        Of the hot stream.
    cold : float or array [K]
        Of the cold stream.
    hot_fraction : float or array [1, 0 to 1]
        Hot part of the mixture, by mass.

    Returns
    -------
    float or array [K]
    """
    return cold + (hot - cold) * hot_fraction


def scald_time_si(temperature: Any, table: str = "cpsc") -> Any:
    """Time to a burn; beyond its table's ends the end's value holds, as "at least" below and "at most" above.

    Parameters
    ----------
    temperature : float or array [K]
        At the skin.
    table : str [one of the keys of SCALD]
        Which figures.

    Returns
    -------
    float or array [s]
    """
    kelvin, seconds = SCALD[table]
    return np.exp(np.interp(temperature, kelvin, np.log(seconds)))[()]


def heat_to_warm(volume: Quantity, cold: Quantity, hot: Quantity) -> Quantity:
    """Heat to warm water: Q = V ρ(cold) (h(hot) - h(cold)). [1]_

    The trade's 8.33 × gallons × °F is this law with one density and one specific heat: within 1 %.

    Parameters
    ----------
    volume : Quantity [L, 0 or more]
        Of the water when cold.
    cold : Quantity [°C, 0 to 100]
        Before.
    hot : Quantity [°C, ``cold`` to 100]
        After.

    Returns
    -------
    Quantity [J]

    Raises
    ------
    ValueError
        Volume or a temperature out of range, or ``hot`` below ``cold``.

    Examples
    --------
    >>> heat = heat_to_warm(quantity(10, "gallon"), quantity(60, "degF"), quantity(140, "degF"))
    >>> print(f"{heat.to('Btu').magnitude:.0f} BTU")
    6661 BTU

    References
    ----------
    .. [1] First law, with ``water.density`` and the integral of ``water.specific_heat``.
    """
    cubic_metres = si("volume", volume, "m**3", 0.0, math.inf, "a volume of water")
    low = si("cold", cold, "kelvin", FREEZING, BOILING, _LIQUID)
    high = si("hot", hot, "kelvin", float(np.max(low)), BOILING, "water that is warmed, and stays liquid")
    return quantity(heat_to_warm_si(cubic_metres, low, high), "J")


def mixed_temperature(hot: Quantity, cold: Quantity, hot_fraction: float) -> Quantity:
    """Temperature at the tap: M = C + f (H - C), with one specific heat for both streams. [1]_

    Parameters
    ----------
    hot : Quantity [°C, 0 to 100]
        Of the hot stream.
    cold : Quantity [°C, 0 to 100]
        Of the cold stream.
    hot_fraction : float [1, 0 to 1]
        Hot part of the mixture.

    Returns
    -------
    Quantity [°C]

    Raises
    ------
    ValueError
        A temperature or the fraction out of range.

    Examples
    --------
    >>> tap = mixed_temperature(quantity(140, "degF"), quantity(60, "degF"), 0.5625)
    >>> print(f"{tap.to('degF'):.1f~P}")
    105.0 °F

    References
    ----------
    .. [1] Heat balance; specific heat changes by 0.3 % between 10 and 60 °C.
    """
    kelvin = mixed_temperature_si(
        si("hot", hot, "kelvin", FREEZING, BOILING, _LIQUID),
        si("cold", cold, "kelvin", FREEZING, BOILING, _LIQUID),
        number("hot_fraction", hot_fraction, 0.0, 1.0, "a part of the mixture"),
    )
    return quantity(kelvin - T0, "degC")


def hot_fraction(hot: Quantity, cold: Quantity, mixed: Quantity) -> Any:
    """Hot part of mixed water: (M - C) / (H - C). [1]_

    Parameters
    ----------
    hot : Quantity [°C, above ``cold``, to 100]
        Of the hot stream.
    cold : Quantity [°C, 0 to 100]
        Of the cold stream.
    mixed : Quantity [°C, ``cold`` to ``hot``]
        At the tap.

    Returns
    -------
    float [1]

    Raises
    ------
    ValueError
        A temperature out of range.

    Examples
    --------
    >>> print(f"{hot_fraction(quantity(140, 'degF'), quantity(60, 'degF'), quantity(105, 'degF')):.4f}")
    0.5625

    References
    ----------
    .. [1] Heat balance.
    """
    low = si("cold", cold, "kelvin", FREEZING, BOILING, _LIQUID)
    high = si(
        "hot", hot, "kelvin", float(np.max(low)) + 1e-6, BOILING, "the hot stream is above the cold one"
    )
    reason = "a mixture lies between its streams"
    between = si("mixed", mixed, "kelvin", float(np.max(low)), float(np.min(high)), reason)
    return (between - low) / (high - low)


def scald_time(temperature: Quantity, table: str = "cpsc") -> Quantity:
    """Time in which water at a temperature burns an adult's skin.

    Between the rows of the table a straight line in the logarithm of time. Published tables
    disagree; take none of them as a safe time. [1]_

    Parameters
    ----------
    temperature : Quantity [°F, the table's ends: "cpsc" 120 to 150, "other" 125 to 155, else 49 to 60 °C]
        At the skin.
    table : str [one of the keys of SCALD]
        "cpsc", "second degree", "third degree" or "other".

    Returns
    -------
    Quantity [s]

    Raises
    ------
    ValueError
        Temperature outside the table, or no such table. Above the table it burns faster than its last row.

    Examples
    --------
    >>> print(f"{scald_time(quantity(140, 'degF')):.0f~P}, {scald_time(quantity(135, 'degF')):.0f~P}")
    6 s, 13 s

    References
    ----------
    .. [1] CPSC figures as printed on a medical page; the others from secondary pages.
    """
    kelvin = SCALD[one_of("table", table, tuple(SCALD))][0]
    reason = f"the ends of the table {table!r}; hotter water burns faster still"
    return quantity(
        scald_time_si(si("temperature", temperature, "kelvin", kelvin[0], kelvin[-1], reason), table), "s"
    )


def legionella_range(temperature: Quantity) -> LegionellaRange:
    """Which of the ranges for legionella a water temperature lies in. [1]_

    "cold": below 20 °C, as cold water should be kept. "growth": 25 to 45 °C. "hot store": above
    60 °C, as hot water should be stored. "cool" and "warm" lie between. Hot enough against
    legionella is hot enough to scald: a mixing valve at the tap answers both.

    Parameters
    ----------
    temperature : Quantity [°C, 0 to 100]
        Of the water, one value.

    Returns
    -------
    str

    Raises
    ------
    ValueError
        Temperature out of range.

    Examples
    --------
    >>> legionella_range(quantity(40, "degC"))
    'growth'

    References
    ----------
    .. [1] ASHRAE Guideline 12-2000 section 4.1.6 (secondary pages).
    """
    return legionella_range_si(float(si("temperature", temperature, "kelvin", FREEZING, BOILING, _LIQUID)))


def legionella_range_si(temperature: float) -> LegionellaRange:
    """Which of the ranges for legionella a water temperature lies in.

    Parameters
    ----------
    temperature : float [K]
        Of the water.

    Returns
    -------
    str
        "cold", "cool", "growth", "warm" or "hot store"
    """
    if temperature < COLD_BELOW:
        name = "cold"
    elif temperature < GROWTH[0]:
        name = "cool"
    elif temperature <= GROWTH[1]:
        name = "growth"
    else:
        name = "hot store" if temperature > STORE_ABOVE else "warm"
    return cast(LegionellaRange, name)
