"""Burning as an element balance: air need, flue gas, oxygen and carbon dioxide, dew point.

Exact. Heat and temperature of the flame stand in ``combustion_heat``, what poor mixing does in ``carbon_monoxide``.

Sources
-------
[1] Element balance; air has 20.95 % oxygen, the rest counts as nitrogen (``DRY_AIR``). Textbook flames burn in
    O2 + 3.76 N2 (``SIMPLE_AIR``).
[2] IAPWS R7-97, through ``boiling``: saturation of water vapour.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from tankside.physics._ranges import number, si
from tankside.physics.boiling import saturation_temperature_si
from tankside.physics.fuels import AIR_MOLAR_MASS, STANDARD_PRESSURE, Fuel
from tankside.units import quantity

if TYPE_CHECKING:
    from tankside.physics._ranges import Quantity


@dataclass(frozen=True)
class Air:
    """Dry combustion air: mole fraction of oxygen (the rest counts as nitrogen), molar mass in kg/mol."""

    oxygen: float
    molar_mass: float


DRY_AIR = Air(0.2095, AIR_MOLAR_MASS)
SIMPLE_AIR = Air(1 / 4.76, (0.0319988 + 3.76 * 0.0280134) / 4.76)
_FLUE = "dry flue gas: less than in air"


def air_need_si(fuel: Fuel, air: Air = DRY_AIR) -> float:
    """Moles (= volumes) of air that one mole of fuel needs [1]."""
    c, h, o, _ = fuel.atoms
    return (c + h / 4 - o / 2) / air.oxygen


def products_si(fuel: Fuel, excess_air: Any, air: Air = DRY_AIR) -> dict[str, Any]:
    """Moles of CO2, H2O, O2, N2 per mole of fuel burnt completely [1]; excess air as a fraction >= 0, float or array."""
    c, h, _, n = fuel.atoms
    need = air_need_si(fuel, air)
    supplied = need * (1 + np.asarray(excess_air, dtype=float))
    return {
        "CO2": c + 0 * supplied,
        "H2O": h / 2 + 0 * supplied,
        "O2": (supplied - need) * air.oxygen,
        "N2": supplied * (1 - air.oxygen) + n / 2,
    }


def dry_fractions_si(fuel: Fuel, excess_air: Any, air: Air = DRY_AIR) -> tuple[Any, Any]:
    """Mole fractions of CO2 and O2 in dry flue gas; excess air as a fraction >= 0, float or array."""
    p = products_si(fuel, excess_air, air)
    dry = p["CO2"] + p["O2"] + p["N2"]
    return p["CO2"] / dry, p["O2"] / dry


def excess_air_from_o2_si(fuel: Fuel, oxygen: Any, air: Air = DRY_AIR) -> Any:
    """Excess air (fraction) from the mole fraction of oxygen in dry flue gas, 0 to below that of air [1]; exact."""
    p = products_si(fuel, 0.0, air)
    dry = float(p["CO2"] + p["N2"])
    return np.asarray(oxygen) * dry / (air_need_si(fuel, air) * (air.oxygen - np.asarray(oxygen)))


def air_free_si(measured: Any, oxygen: Any, oxygen_in_air: float = 0.209) -> Any:
    """A reading as it would be in flue gas without excess air; fractions of oxygen, floats or arrays."""
    return np.asarray(measured) * oxygen_in_air / (oxygen_in_air - np.asarray(oxygen))


def dew_point_si(fuel: Fuel, excess_air: Any, pressure: Any = STANDARD_PRESSURE, air: Air = DRY_AIR) -> Any:
    """K at which water begins to condense from the flue gas [2]; Pa absolute, floats or arrays."""
    p = products_si(fuel, excess_air, air)
    return saturation_temperature_si(p["H2O"] / sum(p.values()) * pressure)


@dataclass(frozen=True)
class AirNeed:
    """Air for complete burning without excess: volumes per volume of gas, and masses per mass."""

    volume: float
    mass: float


def air_need(fuel: Fuel, air: Air = DRY_AIR) -> AirNeed:
    """Air that a fuel needs to burn completely. [1]

    Parameters
    ----------
    fuel : Fuel
    air : Air

    Returns
    -------
    AirNeed (pure numbers)

    Examples
    --------
    >>> from tankside.physics.fuels import fuel
    >>> print(f"{air_need(fuel('propane')).volume:.2f} ft3 of air to a ft3 of gas")
    23.87 ft3 of air to a ft3 of gas
    """
    volume = air_need_si(fuel, air)
    return AirNeed(volume, volume * air.molar_mass / fuel.molar_mass_si)


@dataclass(frozen=True)
class FlueGas:
    """Flue gas of complete burning: mole percent, wet and dry, and water's dew point at 14.696 psia."""

    wet: dict[str, Quantity]
    dry: dict[str, Quantity]
    dew_point: Quantity


def flue_gas(fuel: Fuel, excess_air: float | Quantity, air: Air = DRY_AIR) -> FlueGas:
    """What leaves the flame when everything burns. [1] [2]

    Parameters
    ----------
    fuel : Fuel
    excess_air : float or percent [0 to 5]
        Fraction of the air need on top of it.
    air : Air

    Returns
    -------
    FlueGas (CO2, H2O, O2, N2)

    Raises
    ------
    ValueError
        Out of range.

    Examples
    --------
    >>> from tankside.physics.fuels import fuel
    >>> gas = flue_gas(fuel("propane"), 0.5)
    >>> print(f"CO2 {gas.dry['CO2'].magnitude:.2f} %, O2 {gas.dry['O2'].magnitude:.2f} %, dew point "
    ...       f"{gas.dew_point.to('degF').magnitude:.0f} °F")
    CO2 8.88 %, O2 7.40 %, dew point 117 °F
    """
    excess = number(
        "excess air", excess_air, 0.0, 5.0, "complete burning; below 0 see combustion_heat.equilibrium"
    )
    moles = products_si(fuel, float(excess), air)
    wet, dry = sum(moles.values()), sum(n for name, n in moles.items() if name != "H2O")
    return FlueGas(
        {name: quantity(float(100 * n / wet), "percent") for name, n in moles.items()},
        {name: quantity(float(100 * n / dry), "percent") for name, n in moles.items() if name != "H2O"},
        quantity(float(dew_point_si(fuel, float(excess), air=air)), "K").to("degC"),
    )


def ultimate_co2(fuel: Fuel, air: Air = DRY_AIR) -> Quantity:
    """Carbon dioxide in dry flue gas with no excess air: the most that there can be. [1]

    Parameters
    ----------
    fuel : Fuel
    air : Air

    Returns
    -------
    Quantity [percent, dry]

    Examples
    --------
    >>> from tankside.physics.fuels import fuel
    >>> print(f"{ultimate_co2(fuel('propane')).magnitude:.2f} %")
    13.72 %
    """
    return quantity(float(100 * dry_fractions_si(fuel, 0.0, air)[0]), "percent")


def co2_from_oxygen(fuel: Fuel, oxygen: float | Quantity, air: Air = DRY_AIR) -> Quantity:
    """Carbon dioxide from the oxygen reading: CO2 = CO2ult (O2air - O2) / O2air, exact. [1]

    Parameters
    ----------
    fuel : Fuel
    oxygen : float or percent [0 to 0.209, dry]
    air : Air

    Returns
    -------
    Quantity [percent, dry]

    Raises
    ------
    ValueError
        Out of range.

    Examples
    --------
    >>> from tankside.physics.fuels import fuel
    >>> print(f"{co2_from_oxygen(fuel('propane'), quantity(7.40, 'percent')).magnitude:.1f} %")
    8.9 %
    """
    o2 = number("oxygen", oxygen, 0.0, 0.209, _FLUE)
    return ultimate_co2(fuel, air) * ((air.oxygen - o2) / air.oxygen)


def excess_air_from_oxygen(fuel: Fuel, oxygen: float | Quantity, air: Air = DRY_AIR) -> Quantity:
    """Excess air from the oxygen reading, exact. [1]

    The shortcut O2 / (20.95 % - O2) overstates it: it forgets that burning changes the amount of gas.

    Parameters
    ----------
    fuel : Fuel
    oxygen : float or percent [0 to 0.2, dry]
    air : Air

    Returns
    -------
    Quantity [percent of the air need]

    Raises
    ------
    ValueError
        Out of range.

    Examples
    --------
    >>> from tankside.physics.fuels import fuel
    >>> print(f"{excess_air_from_oxygen(fuel('propane'), quantity(7.40, 'percent')).magnitude:.0f} %")
    50 %
    """
    return quantity(
        100 * excess_air_from_o2_si(fuel, number("oxygen", oxygen, 0.0, 0.2, _FLUE), air), "percent"
    )


def excess_air_from_co2(fuel: Fuel, carbon_dioxide: float | Quantity, air: Air = DRY_AIR) -> Quantity:
    """Excess air from the carbon dioxide reading, exact; true only where there is no lack of air. [1]

    Parameters
    ----------
    fuel : Fuel
    carbon_dioxide : float or percent [0.005 to the ultimate carbon dioxide, dry]
    air : Air

    Returns
    -------
    Quantity [percent of the air need]

    Raises
    ------
    ValueError
        Out of range.

    Examples
    --------
    >>> from tankside.physics.fuels import fuel
    >>> print(f"{excess_air_from_co2(fuel('propane'), quantity(8.88, 'percent')).magnitude:.0f} %")
    50 %
    """
    most = float(dry_fractions_si(fuel, 0.0, air)[0])
    co2 = number(
        "carbon dioxide", carbon_dioxide, 0.005, most, f"{fuel.label} can't make more than its ultimate CO2"
    )
    return quantity(100 * excess_air_from_o2_si(fuel, air.oxygen * (1 - co2 / most), air), "percent")


def air_free(reading: Quantity, oxygen: float | Quantity, oxygen_in_air: float = 0.209) -> Quantity:
    """A carbon monoxide reading as it would be without excess air, so that dilution can't hide it.

    Law: CO x O2air / (O2air - O2). The trade reckons with 20.9 % (hvacrschool.com).

    Parameters
    ----------
    reading : Quantity [0 to 100 000 ppm, dry]
    oxygen : float or percent [0 to 0.2, dry]
    oxygen_in_air : float [0.2 to 0.21]

    Returns
    -------
    Quantity [ppm]

    Raises
    ------
    ValueError
        Out of range.

    Examples
    --------
    >>> print(f"{air_free(quantity(87, 'ppm'), quantity(5, 'percent')).magnitude:.0f} ppm")
    114 ppm
    """
    co = si("reading", reading, "dimensionless", 0.0, 0.1, "a flue-gas analyzer's range")
    o2 = number("oxygen", oxygen, 0.0, 0.2, _FLUE)
    base = number("oxygen in air", oxygen_in_air, 0.2, 0.21, "dry air")
    return quantity(1e6 * air_free_si(co, o2, base), "ppm")
