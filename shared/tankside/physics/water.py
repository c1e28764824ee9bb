"""Water as it is in a tank: density, heat, expansion, pressure in a closed tank.

Liquid water is taken at one atmosphere. At a mains pressure of 10 bar its density is 0.05 % higher,
its specific heat 0.1 % lower: nothing at the bench sees that.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import numpy as np

from tankside.physics._ranges import si
from tankside.units import quantity

if TYPE_CHECKING:
    from tankside.physics._ranges import Quantity

T0 = 273.15
FREEZING, BOILING = 273.15, 373.15
"""K."""

# Kell's rational function for kg/m³ (t in °C), J. Chem. Eng. Data 20 (1975) 97, coefficients from memory,
# and his isothermal compressibility for 1e-11/Pa. Checked against CoolProp: 0.002 % and 0.015 %.
_DENSITY = (999.83952, 16.945176, -7.9870401e-3, -46.170461e-6, 105.56302e-9, -280.54253e-12)
_DENSITY_BELOW = 16.879850e-3
_COMPRESSIBILITY = (50.88496, 0.6163813, 1.459187e-3, 20.08438e-6, -58.47727e-9, 410.4110e-12)
_COMPRESSIBILITY_BELOW = 19.67348e-3
# Own fit to IAPWS-95 (by CoolProp) at 101.325 kPa, J/kg K, in t / 100 °C; within 0.004 %.
_HEAT = (4219.3, -334.4, 1117.6, -2035.6, 2260.8, -1354.1, 342.2)

_LIQUID = "liquid water at atmospheric pressure"
_INF = math.inf


def _polynomial(coefficients: tuple[float, ...], x: Any) -> Any:
    total: Any = 0.0
    for coefficient in reversed(coefficients):
        total = total * x + coefficient
    return total


def density_si(temperature: Any) -> Any:
    """Density of liquid water at 101.325 kPa.

    Parameters
    ----------
    temperature : float or array [K, 273.15 to 373.15]

    Returns
    -------
    float or array [kg/m³]
    """
    t = temperature - T0
    return _polynomial(_DENSITY, t) / (1.0 + _DENSITY_BELOW * t)


def specific_heat_si(temperature: Any) -> Any:
    """Specific heat of liquid water at 101.325 kPa.

    Parameters
    ----------
    temperature : float or array [K, 273.15 to 373.15]

    Returns
    -------
    float or array [J/(kg K)]
    """
    return _polynomial(_HEAT, (temperature - T0) / 100.0)


def enthalpy_si(temperature: Any) -> Any:
    """Heat in liquid water above 0 °C: the integral of its specific heat.

    Parameters
    ----------
    temperature : float or array [K, 273.15 to 373.15]

    Returns
    -------
    float or array [J/kg]
    """
    s = (temperature - T0) / 100.0
    return 100.0 * s * _polynomial(tuple(c / (i + 1) for i, c in enumerate(_HEAT)), s)


def expansion_coefficient_si(temperature: Any) -> Any:
    """Thermal expansion coefficient of liquid water, -(dρ/dt)/ρ; below 0 under 4 °C.

    Parameters
    ----------
    temperature : float or array [K, 273.15 to 373.15]

    Returns
    -------
    float or array [1/K]
    """
    t = temperature - T0
    slope = _polynomial(tuple(i * c for i, c in enumerate(_DENSITY))[1:], t)
    return _DENSITY_BELOW / (1.0 + _DENSITY_BELOW * t) - slope / _polynomial(_DENSITY, t)


def compressibility_si(temperature: Any) -> Any:
    """Isothermal compressibility of liquid water.

    Parameters
    ----------
    temperature : float or array [K, 273.15 to 373.15]

    Returns
    -------
    float or array [1/Pa]
    """
    t = temperature - T0
    return 1e-11 * _polynomial(_COMPRESSIBILITY, t) / (1.0 + _COMPRESSIBILITY_BELOW * t)


def closed_tank_pressure_rise_si(cold: Any, hot: Any, compliance: Any = 0.0) -> Any:
    """Pressure rise of a tank that is full, shut and heated: the integral of α / (κ + compliance).

    Parameters
    ----------
    cold : float or array [K, 273.15 to 373.15]
        When the tank was shut.
    hot : float or array [K, 273.15 to 373.15]
        After heating.
    compliance : float or array [1/Pa, 0 or more]
        By how much of its volume the tank stretches per pascal; 0 is a rigid tank.

    Returns
    -------
    float or array [Pa]
    """
    x, weight = np.polynomial.legendre.leggauss(8)
    cold, hot, compliance = (np.asarray(v, dtype=float)[..., None] for v in (cold, hot, compliance))
    t = cold + (hot - cold) * (x + 1.0) / 2.0
    slope = expansion_coefficient_si(t) / (compressibility_si(t) + compliance)
    return (slope * weight / 2.0 * (hot - cold)).sum(axis=-1)[()]


def _kelvin(name: str, temperature: Quantity) -> Any:
    return si(name, temperature, "kelvin", FREEZING, BOILING, _LIQUID)


def density(temperature: Quantity) -> Quantity:
    """Density of liquid water at 101.325 kPa, within 0.002 % of IAPWS-95. [1]_

    Parameters
    ----------
    temperature : Quantity [°C, 0 to 100]
        Of the water.

    Returns
    -------
    Quantity [kg/m³]

    Raises
    ------
    ValueError
        Temperature out of range.

    Examples
    --------
    >>> print(f"{density(quantity(60, 'degF')).to('lb/gallon').magnitude:.3f} lb/gal")
    8.337 lb/gal

    References
    ----------
    .. [1] G. S. Kell, J. Chem. Eng. Data 20 (1975) 97 (from memory; checked against CoolProp and iapws).
    """
    return quantity(density_si(_kelvin("temperature", temperature)), "kg/m**3")


def specific_heat(temperature: Quantity) -> Quantity:
    """Specific heat of liquid water at 101.325 kPa, within 0.004 % of IAPWS-95. [1]_

    Parameters
    ----------
    temperature : Quantity [°C, 0 to 100]
        Of the water.

    Returns
    -------
    Quantity [J/(kg K)]

    Raises
    ------
    ValueError
        Temperature out of range.

    Examples
    --------
    >>> print(f"{specific_heat(quantity(60, 'degF')).magnitude:.0f} J/kg K")
    4188 J/kg K

    References
    ----------
    .. [1] Own polynomial, fitted to IAPWS-95 by CoolProp.
    """
    return quantity(specific_heat_si(_kelvin("temperature", temperature)), "J/(kg*delta_degC)")


def expansion(cold: Quantity, hot: Quantity) -> Any:
    """Part by which water grows when it is warmed: ρ(cold) / ρ(hot) - 1. [1]_

    Parameters
    ----------
    cold : Quantity [°C, 0 to 100]
        Before.
    hot : Quantity [°C, 0 to 100]
        After; may be below ``cold``, then the result is below zero.

    Returns
    -------
    float [1]

    Raises
    ------
    ValueError
        A temperature out of range.

    Examples
    --------
    >>> print(f"{expansion(quantity(60, 'degF'), quantity(140, 'degF')):.3%}")
    1.609%

    References
    ----------
    .. [1] Conservation of mass, with ``density``.
    """
    return density_si(_kelvin("cold", cold)) / density_si(_kelvin("hot", hot)) - 1.0


def expanded_volume(volume: Quantity, cold: Quantity, hot: Quantity) -> Quantity:
    """Volume that a tankful pushes out when it is warmed: V (ρ(cold) / ρ(hot) - 1). [1]_

    Parameters
    ----------
    volume : Quantity [L, 0 or more]
        Of the cold water.
    cold : Quantity [°C, 0 to 100]
        Before.
    hot : Quantity [°C, 0 to 100]
        After.

    Returns
    -------
    Quantity [L]

    Raises
    ------
    ValueError
        Volume or a temperature out of range.

    Examples
    --------
    >>> more = expanded_volume(quantity(10, "gallon"), quantity(60, "degF"), quantity(140, "degF"))
    >>> print(f"{more.to('fl_oz').magnitude:.1f} fl oz")
    20.6 fl oz

    References
    ----------
    .. [1] Conservation of mass, with ``density``.
    """
    return quantity(si("volume", volume, "L", 0.0, _INF, "a volume of water") * expansion(cold, hot), "L")


def closed_tank_pressure_rise(cold: Quantity, hot: Quantity, compliance: Quantity | None = None) -> Quantity:
    """Pressure rise of a tank that is full, shut off on both sides and heated.

    dp/dT = α / (κ + c): water expands by α and is squeezed by κ, the tank stretches by c. [1]_
    With a rigid tank this is an upper bound: long before it is reached, a relief valve must open.
    Why a relief valve is never plugged: a few degrees are enough.

    Parameters
    ----------
    cold : Quantity [°C, 4 to 100]
        When the tank was shut.
    hot : Quantity [°C, ``cold`` to 100]
        After heating.
    compliance : Quantity [1/Pa, 0 or more]
        Stretch of the tank, part of its volume per pressure; rigid if not given.

    Returns
    -------
    Quantity [kPa]

    Raises
    ------
    ValueError
        A temperature or the stretch out of range, or ``hot`` below ``cold``.

    Examples
    --------
    >>> rise = closed_tank_pressure_rise(quantity(60, "degF"), quantity(61, "degF"))
    >>> print(f"{rise.to('psi').magnitude:.1f} psi")
    27.8 psi

    References
    ----------
    .. [1] Kell 1975 for α and κ; within 10 % of CoolProp's water at constant density over 80 °F.
    """
    start = si("cold", cold, "kelvin", T0 + 4.0, BOILING, "liquid water, which shrinks on warming below 4 °C")
    end = si("hot", hot, "kelvin", float(np.max(start)), BOILING, "liquid water that is warmed")
    stretch = 0.0
    if compliance is not None:
        stretch = si("compliance", compliance, "1/Pa", 0.0, _INF, "a tank stretches under pressure")
    return quantity(closed_tank_pressure_rise_si(start, end, stretch) / 1e3, "kPa")
