"""What a storage water heater is rated by: recovery, first hour, a day's energy."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from tankside.physics._ranges import number, si
from tankside.physics.tank_heat import heat_capacity_si
from tankside.physics.water import BOILING, FREEZING, density_si, specific_heat_si
from tankside.units import quantity

if TYPE_CHECKING:
    from tankside.physics._ranges import Quantity

_INF = math.inf
_LIQUID = "liquid water at atmospheric pressure"
_AIR = "a place where a heater stands"


def recovery_rate(power: Quantity, rise: Quantity, efficiency: float = 1.0) -> Quantity:
    """Volume of water that a heater warms in an hour: efficiency × P / (ρ cp ΔT), water at 60 °F. [1]_

    Parameters
    ----------
    power : Quantity [W, 0 or more]
        Electric power, or gas input.
    rise : Quantity [K, 1 to 100]
        Temperature rise, as a difference (delta_degF, delta_degC).
    efficiency : float [1, above 0, to 1]
        Recovery efficiency: heat into the water over power.

    Returns
    -------
    Quantity [gallon/hour]

    Raises
    ------
    ValueError
        An argument out of range.

    Examples
    --------
    >>> print(f"{recovery_rate(quantity(1440, 'W'), quantity(90, 'delta_degF')).magnitude:.2f} gal/h")
    6.55 gal/h

    References
    ----------
    .. [1] The trade's BTU / (8.33 × °F), with CoolProp's density and specific heat in place of 8.33.
    """
    watts = si("power", power, "W", 0.0, _INF, "a heater only adds heat")
    kelvin = si("rise", rise, "delta_degC", 1.0, 100.0, "liquid water that is warmed")
    part = number("efficiency", efficiency, 1e-6, 1.0, "a part of the power")
    return quantity(part * watts / heat_capacity_si(1.0) / kelvin, "m**3/s").to("gallon/hour")


def first_hour_rating(volume: Quantity, recovery: Quantity, usable: float = 0.70) -> Quantity:
    """Hot water that a full hot tank gives in its first hour: usable × V + recovery × 1 h. [1]_

    Parameters
    ----------
    volume : Quantity [gallon, 0 or more]
        Stored.
    recovery : Quantity [gallon/hour, 0 or more]
        As ``recovery_rate`` gives it.
    usable : float [1, 0 to 1]
        Part of the stored volume that comes out hot; 0.70 is common.

    Returns
    -------
    Quantity [gallon]

    Raises
    ------
    ValueError
        An argument out of range.

    Examples
    --------
    >>> print(f"{first_hour_rating(quantity(10, 'gallon'), quantity(6.55, 'gallon/hour')).magnitude:.2f} gal")
    13.55 gal

    References
    ----------
    .. [1] Estimate used in the trade; 0.70 from secondary pages. The rating proper is a test with draws.
    """
    stored = si("volume", volume, "gallon", 0.0, _INF, "a tank's volume")
    hourly = si("recovery", recovery, "gallon/hour", 0.0, _INF, "a heater only adds heat")
    return quantity(number("usable", usable, 0.0, 1.0, "a part of the volume") * stored + hourly, "gallon")


def daily_energy(
    volume: Quantity,
    tank: Quantity,
    inlet: Quantity,
    ambient: Quantity,
    recovery_efficiency: float,
    loss: Quantity,
    power: Quantity,
    density: Quantity | None = None,
    specific_heat: Quantity | None = None,
) -> Quantity:
    """Energy that a storage water heater takes in a day (the WHAM equation).

    Q = V ρ cp (Tt - Ti) / RE × (1 - UA (Tt - Ta) / Pon) + 24 h × UA (Tt - Ta). [1]_

    Parameters
    ----------
    volume : Quantity [gallon, 0 or more]
        Hot water drawn in the day.
    tank : Quantity [°C, 0 to 100]
        Tank temperature Tt.
    inlet : Quantity [°C, 0 to ``tank``]
        Inlet temperature Ti.
    ambient : Quantity [°C, -50 to 60, and not above ``tank``]
        Temperature around the tank, Ta.
    recovery_efficiency : float [1, above 0, to 1]
        RE: heat into the water over rated input, while it heats.
    loss : Quantity [W/K, 0 or more; UA (Tt - Ta) below ``power``]
        Standby heat loss coefficient UA.
    power : Quantity [W, above 0]
        Rated input Pon.
    density : Quantity [kg/m³, 900 to 1001]
        Of water; at the mean of tank and inlet if not given.
    specific_heat : Quantity [J/(kg K), 4100 to 4300]
        Of water; at the mean of tank and inlet if not given.

    Returns
    -------
    Quantity [Btu]

    Raises
    ------
    ValueError
        An argument out of range.

    Examples
    --------
    >>> q = daily_energy(quantity(64.3, "gallon"), quantity(135, "degF"), quantity(58, "degF"),
    ...                  quantity(67.5, "degF"), 0.76, quantity(14, "Btu/hour/delta_degF"),
    ...                  quantity(40000, "Btu/hour"))
    >>> print(f"{q.magnitude:.0f} BTU")
    75336 BTU

    References
    ----------
    .. [1] J. D. Lutz et al., WHAM, Lawrence Berkeley Laboratory, hes-documentation.lbl.gov.
    """
    drawn = si("volume", volume, "m**3", 0.0, _INF, "hot water drawn")
    hot = si("tank", tank, "kelvin", FREEZING, BOILING, _LIQUID)
    cold = si("inlet", inlet, "kelvin", FREEZING, float(np.min(hot)), "water that is warmed")
    outside = si("ambient", ambient, "kelvin", 223.15, float(min(np.min(hot), 333.15)), _AIR)
    part = number("recovery_efficiency", recovery_efficiency, 1e-6, 1.0, "a part of the input")
    watts = si("power", power, "W", 1e-3, _INF, "a heater that heats")
    coefficient = si("loss", loss, "W/delta_degC", 0.0, _INF, "heat goes from warm to cold")
    if np.any(coefficient * (hot - outside) >= watts):
        raise ValueError(f"loss = {loss:~P} is out of range; expected less heat lost at {tank:~P} than the "
                         f"power of {power:~P}: otherwise the tank can't hold its temperature")  # fmt: skip
    middle = (hot + cold) / 2.0
    rho, cp = density_si(middle), specific_heat_si(middle)
    if density is not None:
        rho = si("density", density, "kg/m**3", 900.0, 1001.0, "liquid water")
    if specific_heat is not None:
        cp = si("specific_heat", specific_heat, "J/kg/delta_degC", 4100.0, 4300.0, "liquid water")
    standing = coefficient * (hot - outside)
    joules = drawn * rho * cp * (hot - cold) / part * (1.0 - standing / watts) + 86_400.0 * standing
    return quantity(joules, "J").to("Btu")
