"""Gas that escapes: flow through a small hole, and what a leak test's gauge shows.

Sources
-------
[1] Isentropic flow of an ideal gas through a nozzle, choked above the critical pressure ratio: any textbook of gas
    dynamics.
[2] A closed pipe at low gauge pressure that loses gas through a small hole, isothermal: V dp/dt = -p_air Q with
    Q as sqrt(p), so sqrt(p) falls in a straight line. Derived here.
[3] Ideal gas at constant volume: pressure goes with absolute temperature.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from tankside.physics._ranges import number, si
from tankside.physics.fuels import STANDARD_PRESSURE, STANDARD_TEMPERATURE, Fuel, R, density_si
from tankside.units import quantity

if TYPE_CHECKING:
    from tankside.physics._ranges import Quantity

SHARP = 0.6
"""Discharge coefficient of a sharp-edged, ragged hole."""
_GAUGE = "a low-pressure leak test"


def hole_flow_si(
    area: Any,
    inside: Any,
    outside: Any,
    molar_mass: Any,
    temperature: Any = STANDARD_TEMPERATURE,
    gamma: Any = 1.13,
    discharge: Any = SHARP,
) -> Any:
    """kg/s through a small hole [1].

    Parameters
    ----------
    area : float or array [m2]
    inside, outside : float or array [Pa absolute; no flow where inside is not above outside]
    molar_mass : float or array [kg/mol]
    temperature : float or array [K]
    gamma : float or array [ratio of heat capacities: propane 1.13, air 1.40]
    discharge : float or array [0 to 1]
    """
    inside = np.asarray(inside, dtype=float)
    ratio = np.clip(np.asarray(outside) / inside, 0.0, 1.0)
    critical = (2 / (gamma + 1)) ** (gamma / (gamma - 1))
    r = np.maximum(ratio, critical)
    function = np.sqrt(
        2 * gamma / (gamma - 1) * np.maximum(r ** (2 / gamma) - r ** ((gamma + 1) / gamma), 0.0)
    )
    return discharge * area * inside * np.sqrt(molar_mass / (R * temperature)) * function


def gauge_after_si(start: Any, leak: Any, volume: Any, time: Any, atmosphere: Any = STANDARD_PRESSURE) -> Any:
    """Pa gauge left after ``time`` s in ``volume`` m3 that leaks ``leak`` m3/s (at air pressure) at ``start`` Pa [2]."""
    start = np.asarray(start, dtype=float)
    fall = atmosphere * np.asarray(leak) * time / (2 * np.asarray(volume) * start)
    return start * np.maximum(1 - fall, 0.0) ** 2


def leak_flow(
    hole: Quantity,
    pressure: Quantity,
    fuel: Fuel,
    *,
    temperature: Quantity | None = None,
    discharge: float = SHARP,
) -> Quantity:
    """Gas that leaks through a small hole into the room. [1]

    Parameters
    ----------
    hole : Quantity [0.001 to 5 mm]
        Diameter.
    pressure : Quantity [gauge, 0 to 300 psi]
        Inside.
    fuel : Fuel
    temperature : Quantity [230 to 330 K]
        Of the gas; left out, 60 degF.
    discharge : float [0.3 to 1]

    Returns
    -------
    Quantity [ft3/h at 60 degF, 14.696 psia]

    Raises
    ------
    ValueError
        Out of range.

    Examples
    --------
    >>> from tankside.physics.fuels import fuel
    >>> print(f"{leak_flow(quantity(0.3, 'mm'), quantity(11, 'inWC'), fuel('propane')).magnitude:.3f} ft3/h")
    0.291 ft3/h
    """
    d = si("hole", hole, "m", 1e-6, 5e-3, "a small hole beside the pipe")
    p = si("pressure", pressure, "Pa", 0.0, 300 * 6894.757293168, "cylinder to burner")
    t = STANDARD_TEMPERATURE
    if temperature is not None:
        t = si("temperature", temperature, "K", 230.0, 330.0, "where cylinders stand")
    k = number("discharge coefficient", discharge, 0.3, 1.0, "no hole passes more than the ideal flow")
    mass = hole_flow_si(
        np.pi * d**2 / 4, STANDARD_PRESSURE + p, STANDARD_PRESSURE, fuel.molar_mass_si, t, discharge=k
    )
    return quantity(mass / density_si(fuel), "m**3/s").to("cfh")


def leak_test_pressure(start: Quantity, leak: Quantity, volume: Quantity, time: Quantity) -> Quantity:
    """What the gauge shows on a closed line that leaks. [2]

    Parameters
    ----------
    start : Quantity [gauge, 1 inWC to 15 psi]
    leak : Quantity [0 to 100 ft3/h]
        At the start pressure, counted at air pressure.
    volume : Quantity [0.01 to 1000 L]
        Of the closed line.
    time : Quantity [0 to 24 h]

    Returns
    -------
    Quantity [gauge, inches of water column]

    Raises
    ------
    ValueError
        Out of range.

    Examples
    --------
    >>> after = leak_test_pressure(quantity(8, "inWC"), quantity(0.002, "cfh"), quantity(2, "L"), quantity(3, "minute"))
    >>> print(f"{after.magnitude:.2f} inWC")
    7.43 inWC
    """
    p = si("start pressure", start, "Pa", 249.0, 15 * 6894.757293168, _GAUGE)
    q = si("leak", leak, "m**3/s", 0.0, 100 * 0.3048**3 / 3600, _GAUGE)
    v = si("volume", volume, "m**3", 1e-5, 1.0, "the line of one home, boat or vehicle")
    t = si("time", time, "s", 0.0, 86400.0, _GAUGE)
    return quantity(gauge_after_si(p, q, v, t), "Pa").to("inWC")


def leak_from_test(start: Quantity, end: Quantity, volume: Quantity, time: Quantity) -> Quantity:
    """The leak at the start pressure that explains a fall on the gauge: ``leak_test_pressure`` turned round. [2]

    Parameters
    ----------
    start : Quantity [gauge, 1 inWC to 15 psi]
    end : Quantity [inWC gauge, 0 to the start pressure]
    volume : Quantity [0.01 to 1000 L]
    time : Quantity [1 s to 24 h]

    Returns
    -------
    Quantity [ft3/h, counted at air pressure]; where the gauge fell to zero, the least that it can have been

    Raises
    ------
    ValueError
        Out of range.

    Examples
    --------
    >>> lost = leak_from_test(quantity(8, "inWC"), quantity(7.43, "inWC"), quantity(2, "L"), quantity(3, "minute"))
    >>> print(f"{lost.magnitude:.4f} ft3/h")
    0.0020 ft3/h
    """
    p = si("start pressure", start, "Pa", 249.0, 15 * 6894.757293168, _GAUGE)
    p1 = si("end pressure", end, "Pa", 0.0, float(p), "a line without supply can't gain gas")
    v = si("volume", volume, "m**3", 1e-5, 1.0, "the line of one home, boat or vehicle")
    t = si("time", time, "s", 1.0, 86400.0, _GAUGE)
    return quantity(2 * v * p / (STANDARD_PRESSURE * t) * (1 - np.sqrt(p1 / p)), "m**3/s").to("cfh")


def warmed_gauge(
    start: Quantity, cold: Quantity, warm: Quantity, atmosphere: Quantity | None = None
) -> Quantity:
    """What the gauge shows on a tight line whose gas changes temperature: a fall that is no leak. [3]

    Parameters
    ----------
    start : Quantity [gauge, 0 to 15 psi]
    cold : Quantity [230 to 340 K]
        At the start.
    warm : Quantity [230 to 340 K]
        At the end.
    atmosphere : Quantity [60 to 110 kPa]
        Left out, 14.696 psi.

    Returns
    -------
    Quantity [gauge, inches of water column]

    Raises
    ------
    ValueError
        Out of range.

    Examples
    --------
    >>> after = warmed_gauge(quantity(8, "inWC"), quantity(70, "degF"), quantity(68, "degF"))
    >>> print(f"{after.magnitude:.2f} inWC")
    6.43 inWC
    """
    p = si("start pressure", start, "Pa", 0.0, 15 * 6894.757293168, _GAUGE)
    t0 = si("cold", cold, "K", 230.0, 340.0, "outdoors")
    t1 = si("warm", warm, "K", 230.0, 340.0, "outdoors")
    air = STANDARD_PRESSURE
    if atmosphere is not None:
        air = si("atmosphere", atmosphere, "Pa", 6e4, 1.1e5, "air pressure where people live")
    return quantity((p + air) * t1 / t0 - air, "Pa").to("inWC")
