"""Where water boils: saturation curve, air pressure with altitude."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from tankside.physics._ranges import si
from tankside.units import quantity

if TYPE_CHECKING:
    from tankside.physics._ranges import Quantity

T0 = 273.15
CRITICAL = 647.096
"""K, water's critical point."""
ATMOSPHERE = 101_325.0
"""Pa, at sea level."""

# IAPWS R7-97, region 4 (equations 30 and 31).
_N4 = (1167.0521452767, -724213.16703206, -17.073846940092, 12020.824702470, -3232555.0322333,
       14.915108613530, -4823.2657361591, 405113.40542057, -0.23855557567849, 650.17534844798)  # fmt: skip

_CURVE = "water boils between its freezing and its critical point"
_LAYER = "the lowest layer of the standard atmosphere"


def saturation_pressure_si(temperature: Any) -> Any:
    """Pressure at which water boils.

    Parameters
    ----------
    temperature : float or array [K, 273.15 to 647.096]

    Returns
    -------
    float or array [Pa, absolute]
    """
    n = _N4
    theta = temperature + n[8] / (temperature - n[9])
    a = theta * theta + n[0] * theta + n[1]
    b = n[2] * theta * theta + n[3] * theta + n[4]
    c = n[5] * theta * theta + n[6] * theta + n[7]
    return 1e6 * (2.0 * c / (-b + np.sqrt(b * b - 4.0 * a * c))) ** 4


def saturation_temperature_si(pressure: Any) -> Any:
    """Temperature at which water boils.

    Parameters
    ----------
    pressure : float or array [Pa absolute, 611.213 to 22.064e6]

    Returns
    -------
    float or array [K]
    """
    n = _N4
    beta = (pressure / 1e6) ** 0.25
    e = beta * beta + n[2] * beta + n[5]
    f = n[0] * beta * beta + n[3] * beta + n[6]
    g = n[1] * beta * beta + n[4] * beta + n[7]
    d = 2.0 * g / (-f - np.sqrt(f * f - 4.0 * e * g))
    return (n[9] + d - np.sqrt((n[9] + d) ** 2 - 4.0 * (n[8] + n[9] * d))) / 2.0


def atmosphere_si(altitude: Any) -> Any:
    """Air pressure at a height above the sea in the standard atmosphere.

    Parameters
    ----------
    altitude : float or array [m, -500 to 11 000]

    Returns
    -------
    float or array [Pa]
    """
    return ATMOSPHERE * (1.0 - 0.0065 * altitude / 288.15) ** (9.80665 * 0.0289644 / (8.31432 * 0.0065))


def saturation_pressure(temperature: Quantity) -> Quantity:
    """Absolute pressure at which water boils at a temperature. [1]_

    Parameters
    ----------
    temperature : Quantity [°C, 0 to 373.946]
        Of the water.

    Returns
    -------
    Quantity [kPa, absolute]

    Raises
    ------
    ValueError
        Temperature out of range.

    Examples
    --------
    >>> print(f"{saturation_pressure(quantity(100, 'degC')):.1f~P}")
    101.4 kPa

    References
    ----------
    .. [1] IAPWS R7-97 (2012), equation 30.
    """
    return quantity(
        saturation_pressure_si(si("temperature", temperature, "kelvin", T0, CRITICAL, _CURVE)) / 1e3, "kPa"
    )


def saturation_temperature(pressure: Quantity) -> Quantity:
    """Temperature at which water boils at an absolute pressure. [1]_

    Parameters
    ----------
    pressure : Quantity [kPa absolute, 0.611213 to 22 064]
        Gauge pressure plus air pressure.

    Returns
    -------
    Quantity [°C]

    Raises
    ------
    ValueError
        Pressure out of range.

    Examples
    --------
    >>> print(f"{saturation_temperature(quantity(150 + 14.696, 'psi')).to('degF'):.1f~P}")
    365.9 °F

    References
    ----------
    .. [1] IAPWS R7-97 (2012), equation 31.
    """
    return quantity(
        saturation_temperature_si(si("pressure", pressure, "Pa", 611.213, 22.064e6, _CURVE)) - T0, "degC"
    )


def atmospheric_pressure(altitude: Quantity) -> Quantity:
    """Air pressure at a height in the standard atmosphere. [1]_

    Parameters
    ----------
    altitude : Quantity [m, -500 to 11 000]
        Above sea level.

    Returns
    -------
    Quantity [kPa]

    Raises
    ------
    ValueError
        Altitude out of range.

    Examples
    --------
    >>> print(f"{atmospheric_pressure(quantity(5000, 'ft')):.1f~P}")
    84.3 kPa

    References
    ----------
    .. [1] ISO 2533 / US Standard Atmosphere 1976, lowest layer (constants from memory).
    """
    return quantity(atmosphere_si(si("altitude", altitude, "m", -500.0, 11_000.0, _LAYER)) / 1e3, "kPa")


def boiling_temperature(altitude: Quantity) -> Quantity:
    """Temperature at which water in an open vessel boils at a height above the sea. [1]_

    Parameters
    ----------
    altitude : Quantity [m, -500 to 11 000]
        Above sea level.

    Returns
    -------
    Quantity [°C]

    Raises
    ------
    ValueError
        Altitude out of range.

    Examples
    --------
    >>> print(f"{boiling_temperature(quantity(5000, 'ft')).to('degF'):.1f~P}")
    202.8 °F

    References
    ----------
    .. [1] ``atmospheric_pressure`` and ``saturation_temperature``.
    """
    return saturation_temperature(atmospheric_pressure(altitude))
