"""Gas at a burner: orifices, heat input, altitude. (What is in the gas: ``fuels``. What feeds it: ``supply``.)

Sources
-------
[1] Bernoulli's equation through a hole; the trade writes it Q = 1658.5 K A sqrt(H/SG) with ft3/h, in2 and
    inches of water column (from memory; with K = 0.9 and SG = 1.50 it gives the table in the plumbing
    apprenticeship textbook, opentextbc.ca/plumbing3e, appendix 2, to its printed digits). From air's density at
    60 degF, 14.696 psia the constant comes out at 1655.6 (1654.8 with inches of water at 60 degF).
    Both are here; ``constant`` chooses.
[2] Two altitude rules circulate (see ``altitude_derate``). NFPA 54 table E.1.1(d), as quoted in ICM magazine,
    Sept/Oct 2015, p. 19: 4 % per 1000 ft above sea level, applied once the site is above 2000 ft. Secondary trade
    pages: 4 % per 1000 ft above 2000 ft. The maker's instructions and the local code decide.
[3] NFPA 54 table E.1.1(d), orifice sizes at high altitudes, as installation instructions for furnaces quote it: the
    sizes come out when the input at the altitude is cut by the first rule of [2], of which thin air takes a part by
    itself (57 of 60 sizes to the number, the others to the next one; without thin air's part 18 of 60).
"""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING, Any, Literal

import numpy as np

from tankside.physics._ranges import number, one_of, si
from tankside.physics.fuels import (
    AIR_MOLAR_MASS,
    DATA,
    STANDARD_PRESSURE,
    STANDARD_TEMPERATURE,
    Basis,
    Fuel,
    R,
    density_si,
    heating_value,
)
from tankside.units import quantity

if TYPE_CHECKING:
    from tankside.physics._ranges import Quantity

DISCHARGE = 0.9
"""Discharge coefficient of a drilled brass orifice, as the table of [1] takes it."""
STANDARD_AIR = AIR_MOLAR_MASS * STANDARD_PRESSURE / (R * STANDARD_TEMPERATURE)
"""kg/m3 of air at 60 degF, 14.696 psia."""
HANDBOOK = 1658.5
"""ft3/h per in2 and square root of an inch of water column [1]."""

Constant = Literal["handbook", "first principles"]
Rule = Literal["above sea level", "above 2000 ft", "none"]
RULES = ("above sea level", "above 2000 ft", "none")

_THROUGH = "an appliance's gas pressure"
_BORE = "an appliance's orifice"


def orifice_flow_si(
    diameter: Any,
    pressure: Any,
    specific_gravity: Any,
    discharge: Any = DISCHARGE,
    atmosphere: Any = STANDARD_PRESSURE,
    temperature: Any = STANDARD_TEMPERATURE,
) -> Any:
    """m3/s of gas, counted at 60 degF and 14.696 psia, through an orifice.

    Parameters
    ----------
    diameter : float or array [m, >= 0]
    pressure : float or array [Pa gauge, 0 to 20e3; less counts as 0]
    specific_gravity : float or array [> 0]
    discharge : float or array [0 to 1]
    atmosphere : float or array [Pa; thin air means thin gas: the mass falls as the square root]
    temperature : float or array [K, of the gas]
    """
    area = np.pi * np.asarray(diameter) ** 2 / 4
    squeeze = (np.asarray(atmosphere) / STANDARD_PRESSURE) * (STANDARD_TEMPERATURE / np.asarray(temperature))
    head = 2 * np.maximum(pressure, 0.0) / (specific_gravity * STANDARD_AIR)
    return discharge * area * np.sqrt(head * squeeze)


def gas_speed_si(pressure: Any, density: Any) -> Any:
    """m/s of the jet out of an orifice; Pa gauge and kg/m3 in, floats or arrays."""
    return np.sqrt(2 * np.maximum(pressure, 0.0) / density)


def altitude_derate_si(altitude: Any, rule: Rule = "above sea level") -> Any:
    """Fraction of the rated input to take off [2]; m above sea level, float or array."""
    thousand_feet = np.asarray(altitude) / 304.8
    if rule == "none":
        return 0.0 * thousand_feet
    if rule == "above 2000 ft":
        return 0.04 * np.maximum(thousand_feet - 2.0, 0.0)
    return np.where(thousand_feet > 2.0, 0.04 * thousand_feet, 0.0)[()]


def altitude_bore_si(altitude: Any, rule: Rule = "above sea level") -> Any:
    """Diameter of the orifice that the rule asks for, over that at sea level [3]; m above sea level, float or array.

    Thin air is thin gas too: an unchanged orifice loses as the square root of the air pressure. Only the rest of the
    derate is left to a smaller hole. Where thin air takes more than the rule does, the orifice stays.
    """
    from tankside.physics.boiling import atmosphere_si

    thin = np.sqrt(atmosphere_si(np.maximum(altitude, 0.0)) / STANDARD_PRESSURE)
    return np.sqrt(np.minimum((1 - altitude_derate_si(altitude, rule)) / thin, 1.0))[()]


def pressure_in(pressure: Quantity, unit: str) -> Quantity:
    """A gas pressure in another unit of the trade.

    Parameters
    ----------
    pressure : Quantity [0 to 300 psi]
        Gauge or absolute; stays what it is. An inch of water column is 249.089 Pa (water at 4 degC).
    unit : str
        For example "inWC", "psi", "ounce_force/inch**2", "mbar", "kPa".

    Returns
    -------
    Quantity [in ``unit``]

    Raises
    ------
    ValueError
        Out of range, or ``unit`` is no unit of pressure.

    Examples
    --------
    >>> print(f"{pressure_in(quantity(11, 'inWC'), 'psi'):.4f~P}")
    0.3974 psi
    """
    pascal = quantity(si("pressure", pressure, "Pa", 0.0, 300 * 6894.757293168, "cylinder to burner"), "Pa")
    try:
        return pascal.to(unit)
    except Exception:  # pint raises several kinds for a unit it can't parse or convert to
        raise ValueError(
            f"unit = {unit!r} is out of range; expected a unit of pressure such as inWC, psi, mbar"
        ) from None


def orifice_flow(
    diameter: Quantity,
    pressure: Quantity,
    specific_gravity: float,
    *,
    discharge: float = DISCHARGE,
    constant: Constant = "handbook",
    altitude: Quantity | None = None,
) -> Quantity:
    """Gas that an orifice passes. [1]

    Parameters
    ----------
    diameter : Quantity [0.005 to 0.25 in]
        Of the hole, clean.
    pressure : Quantity [gauge, 0 to 80 inWC]
        At the orifice (manifold).
    specific_gravity : float [0.3 to 2.5]
        Air is 1.
    discharge : float [0.3 to 1]
        Discharge coefficient K.
    constant : "handbook" or "first principles"
        1658.5, as the trade writes it, or 1655.6, from air's density.
    altitude : Quantity [-500 to 4500 m]
        Of the site; left out, sea level. The flow is counted at 60 degF, 14.696 psia, so thin air lowers it.

    Returns
    -------
    Quantity [cubic feet per hour, at 60 degF, 14.696 psia]

    Raises
    ------
    ValueError
        An argument out of range.

    Examples
    --------
    >>> print(f"{orifice_flow(quantity(0.033, 'in'), quantity(11, 'inWC'), 1.50).magnitude:.3f} ft3/h")
    3.457 ft3/h
    """
    d = si("diameter", diameter, "m", 0.005 * 0.0254, 0.25 * 0.0254, _BORE)
    p = si("pressure", pressure, "Pa", 0.0, 80 * 249.08891, _THROUGH)
    gravity = number("specific gravity", specific_gravity, 0.3, 2.5, "gases from hydrogen-rich to butane")
    k = number("discharge coefficient", discharge, 0.3, 1.0, "no hole passes more than the ideal flow")
    one_of("constant", constant, ("handbook", "first principles"))
    flow = orifice_flow_si(d, p, gravity, k, _atmosphere(altitude))
    if constant == "handbook":
        flow = flow * (HANDBOOK / first_principles_constant())
    return quantity(flow, "m**3/s").to("cfh")


@cache
def first_principles_constant() -> float:
    """The constant C of Q = C K A sqrt(H/SG) from air's density alone: ft3/h, in2, inches of water column at 4 degC.

    >>> round(first_principles_constant(), 1)
    1655.6
    """
    unit_flow = orifice_flow_si(np.sqrt(4 / np.pi) * 0.0254, 249.08891, 1.0, 1.0)
    return float(unit_flow / 0.3048**3 * 3600)


def orifice_diameter(
    flow: Quantity, pressure: Quantity, specific_gravity: float, *, discharge: float = DISCHARGE
) -> Quantity:
    """The hole that passes a flow: ``orifice_flow`` (handbook constant) turned round. [1]

    Parameters
    ----------
    flow : Quantity [0.05 to 500 ft3/h]
    pressure : Quantity [gauge, 0.5 to 80 inWC]
    specific_gravity : float [0.3 to 2.5]
    discharge : float [0.3 to 1]

    Returns
    -------
    Quantity [in]

    Raises
    ------
    ValueError
        An argument out of range.

    Examples
    --------
    >>> print(f"{orifice_diameter(quantity(3.457, 'cfh'), quantity(11, 'inWC'), 1.50).magnitude:.4f} in")
    0.0330 in
    """
    q = si("flow", flow, "m**3/s", 0.05 * 0.3048**3 / 3600, 500 * 0.3048**3 / 3600, _BORE)
    p = si("pressure", pressure, "Pa", 0.5 * 249.08891, 80 * 249.08891, _THROUGH)
    gravity = number("specific gravity", specific_gravity, 0.3, 2.5, "gases from hydrogen-rich to butane")
    k = number("discharge coefficient", discharge, 0.3, 1.0, "no hole passes more than the ideal flow")
    one_metre = orifice_flow_si(1.0, p, gravity, k) * HANDBOOK / first_principles_constant()
    return quantity(np.sqrt(q / one_metre), "m").to("inch")


@cache
def _drills() -> dict[int, float]:
    from tankside.datafiles import read_toml

    return {int(size): float(inch) for size, inch in read_toml(DATA / "drills.toml")["diameter"].items()}


def drill_sizes() -> list[int]:
    """The number drills that ``drill_diameter`` knows, smallest hole first (80 … 53)."""
    return list(_drills())


def drill_diameter(size: int) -> Quantity:
    """Diameter of a number drill (DMS), by which orifices are named.

    Parameters
    ----------
    size : int [53 to 80; the higher the number, the smaller the hole]

    Returns
    -------
    Quantity [in]

    Raises
    ------
    ValueError
        No such size in ``data/drills.toml``.

    Examples
    --------
    >>> print(drill_diameter(66))
    0.033 in
    """
    if isinstance(size, bool) or size not in _drills():
        raise ValueError(f"drill size = {size!r} is out of range; expected a whole number from 53 to 80: "
                         f"the number drills that gas orifices of this size are named by")  # fmt: skip
    return quantity(_drills()[size], "inch")


def nearest_drill(diameter: Quantity) -> int:
    """The number drill whose diameter is nearest.

    Parameters
    ----------
    diameter : Quantity [0.013 to 0.060 in]

    Returns
    -------
    int

    Raises
    ------
    ValueError
        Out of range.

    Examples
    --------
    >>> nearest_drill(quantity(0.0352, "in"))
    65
    """
    inch = si("diameter", diameter, "m", 0.013 * 0.0254, 0.060 * 0.0254, "number drills 80 to 53") / 0.0254
    return min(_drills(), key=lambda size: abs(_drills()[size] - inch))


def heat_input(flow: Quantity, fuel: Fuel, basis: Basis = "higher") -> Quantity:
    """Heat per hour in a gas flow: flow times heating value.

    Parameters
    ----------
    flow : Quantity [0 to 1000 ft3/h at 60 degF, 14.696 psia]
    fuel : Fuel
    basis : "higher" (as data plates state it in North America: common practice, no source) or "lower"

    Returns
    -------
    Quantity [Btu/h]

    Raises
    ------
    ValueError
        Out of range.

    Examples
    --------
    >>> from tankside.physics.fuels import fuel
    >>> print(f"{heat_input(quantity(4.0, 'cfh'), fuel('propane')).magnitude:.0f} Btu/h")
    10057 Btu/h
    """
    q = si("flow", flow, "m**3/s", 0.0, 1000 * 0.3048**3 / 3600, "an appliance's gas flow")
    return (quantity(q, "m**3/s") * heating_value(fuel, "volume", basis)).to("BTU_per_hour")


def heat_input_si(flow: Any, fuel: Fuel) -> Any:
    """W, higher heating value, of a flow in m3/s counted at 60 degF, 14.696 psia; float or array."""
    return np.asarray(flow) * density_si(fuel) / fuel.molar_mass_si * fuel.higher_si


def _atmosphere(altitude: Quantity | None) -> Any:
    if altitude is None:
        return STANDARD_PRESSURE
    from tankside.physics.boiling import atmosphere_si

    return atmosphere_si(
        si("altitude", altitude, "m", -500.0, 4500.0, "where people live and the rules were made")
    )


def altitude_derate(altitude: Quantity, rule: Rule) -> Quantity:
    """How much input to take off at a height above the sea. [2]

    The two rules differ: at 5000 ft one says 20 %, the other 12 %. Name the one that the local code and the
    maker's instructions follow. The unchanged orifice loses less by itself: it passes gas as the square root of
    the air pressure, about 9 % at 5000 ft. What is left to take off by a smaller hole: ``altitude_bore_si``.

    Parameters
    ----------
    altitude : Quantity [-500 to 4500 m]
    rule : "above sea level", "above 2000 ft" or "none"

    Returns
    -------
    Quantity [percent of the sea-level input]

    Raises
    ------
    ValueError
        Out of range.

    Examples
    --------
    >>> print(altitude_derate(quantity(5000, "ft"), "above sea level").round(6))
    20.0 %
    >>> print(altitude_derate(quantity(5000, "ft"), "above 2000 ft").round(6))
    12.0 %
    """
    one_of("rule", rule, RULES)
    height = si("altitude", altitude, "m", -500.0, 4500.0, "where people live and the rules were made")
    return quantity(100 * altitude_derate_si(height, rule), "percent")
