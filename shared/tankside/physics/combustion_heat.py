"""Heat of burning: adiabatic flame, chemical equilibrium, stack loss.

Enthalpies are NASA's polynomials; the equilibrium is solved (no table), see ``_thermo`` and ``_equilibrium``.

Sources
-------
[1] Element balance, through ``combustion``.
[2] NASA TM-4513 (1993), in ``data/thermo.toml``: enthalpy and entropy of flue-gas species.
[3] IAPWS R7-97, through ``boiling``: saturation of water vapour.
[4] chemicals 1.5, in ``data/gases.toml``: heats of combustion and formation.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from tankside.physics import _thermo
from tankside.physics._equilibrium import equilibrium as _solve
from tankside.physics._ranges import number, one_of, si
from tankside.physics.boiling import saturation_pressure_si
from tankside.physics.combustion import DRY_AIR, Air, air_need_si, excess_air_from_o2_si, products_si
from tankside.physics.fuels import STANDARD_PRESSURE, Basis, Fuel
from tankside.units import quantity

if TYPE_CHECKING:
    from tankside.physics._ranges import Quantity

T25 = 298.15
_FLUE = "dry flue gas that a burner can make"


def _reactants(fuel: Fuel, supplied: Any, inlet: Any, air: Air) -> Any:
    """J per mole of fuel (at 25 degC) and its air (at ``inlet`` K), formation included."""
    oxygen, nitrogen = _thermo.enthalpy("O2", inlet), _thermo.enthalpy("N2", inlet)
    return fuel.formation_si + supplied * (air.oxygen * oxygen + (1 - air.oxygen) * nitrogen)


def complete_flame_temperature_si(fuel: Fuel, excess_air: Any, inlet: Any = T25, air: Air = DRY_AIR) -> Any:
    """K of an adiabatic flame that burns completely, nothing dissociates [2]; floats or arrays."""
    moles = products_si(fuel, excess_air, air)
    goal = _reactants(fuel, air_need_si(fuel, air) * (1 + np.asarray(excess_air)), inlet, air)
    low, high = np.full(np.shape(goal), 300.0), np.full(np.shape(goal), 4000.0)
    for _ in range(40):
        t = (low + high) / 2
        cold = sum(n * _thermo.enthalpy(name, t) for name, n in moles.items()) < goal
        low, high = np.where(cold, t, low), np.where(cold, high, t)
    return ((low + high) / 2)[()]


def equilibrium_si(
    fuel: Fuel,
    equivalence: Any,
    temperature: Any = None,
    pressure: Any = STANDARD_PRESSURE,
    inlet: Any = T25,
    air: Air = DRY_AIR,
) -> tuple[Any, dict[str, Any]]:
    """Flue gas in chemical equilibrium [2]: temperature in K and mole fractions by species.

    Parameters
    ----------
    fuel : Fuel
    equivalence : float or array [fuel over air, over what burns out exactly; 0.3 to 2]
    temperature : float or array [K, 1000 to 3500; None: the adiabatic flame's own]
    pressure : float or array [Pa]
    inlet : float or array [K, of the air; the fuel comes at 25 degC]
    air : Air
    """
    parts = np.broadcast_arrays(equivalence, pressure, inlet, T25 if temperature is None else temperature)
    shape = parts[0].shape
    phi, p, t_in, t = (np.array(part, dtype=float).reshape(-1) for part in parts)
    c, h, o, n = fuel.atoms
    supplied = air_need_si(fuel, air) / phi
    oxygen, nitrogen = o + 2 * supplied * air.oxygen, n + 2 * supplied * (1 - air.oxygen)
    elements = np.stack([np.full_like(phi, c), np.full_like(phi, h), oxygen, nitrogen], axis=1)
    enthalpy = _reactants(fuel, supplied, t_in, air) if temperature is None else None
    moles, found = _solve(elements, p, np.full_like(phi, 2000.0) if temperature is None else t, enthalpy)
    fractions = moles / moles.sum(axis=1, keepdims=True)
    by_name = {name: fractions[:, i].reshape(shape)[()] for i, name in enumerate(_thermo.species().names)}
    return found.reshape(shape)[()], by_name


def efficiency_si(
    fuel: Fuel,
    flue: Any,
    excess_air: Any,
    inlet: Any = T25,
    carbon_monoxide: Any = 0.0,
    pressure: Any = STANDARD_PRESSURE,
    air: Air = DRY_AIR,
) -> tuple[Any, Any, Any]:
    """Steady-state share of the higher heating value that stays in the appliance, and where the rest goes.

    Parameters
    ----------
    fuel : Fuel
    flue : float or array [K, flue gas as it leaves, 280 to 1500]
    excess_air : float or array [fraction, >= 0]
    inlet : float or array [K, of the air]
    carbon_monoxide : float or array [mole fraction in dry flue gas: its heat is lost unburnt]
    pressure : float or array [Pa]
    air : Air

    Returns
    -------
    (efficiency, share lost unburnt as CO, share of the water that condenses)
    """
    moles = products_si(fuel, excess_air, air)
    dry = moles["CO2"] + moles["O2"] + moles["N2"]
    wet_limit = np.minimum(saturation_pressure_si(np.minimum(flue, 640.0)) / pressure, 0.999999)
    vapour = np.where(
        np.asarray(flue) < 373.15, np.minimum(moles["H2O"], dry * wet_limit / (1 - wet_limit)), moles["H2O"]
    )
    liquid = moles["H2O"] - vapour
    leaving = sum(n * _thermo.enthalpy(name, flue) for name, n in moles.items()) - liquid * _latent(flue)
    entering = _reactants(fuel, air_need_si(fuel, air) * (1 + np.asarray(excess_air)), inlet, air)
    burnt = _thermo.enthalpy("CO2", T25) - _thermo.enthalpy(
        "CO", T25
    )  # less than nothing: heat that CO still holds
    unburnt = -np.asarray(carbon_monoxide) * dry * burnt / fuel.higher_si
    return (entering - leaving) / fuel.higher_si - unburnt, unburnt, liquid / moles["H2O"]


def _latent(t: Any) -> Any:
    """J/mol to boil water at ``t`` K, from 25 degC by Watson's rule."""
    return _thermo.LATENT_25 * np.maximum((647.096 - np.asarray(t)) / (647.096 - T25), 0.0) ** 0.38


@dataclass(frozen=True)
class Equilibrium:
    """Flue gas in chemical equilibrium: temperature and mole fractions (wet) by species."""

    temperature: Quantity
    fractions: dict[str, float]


def equilibrium(
    fuel: Fuel,
    equivalence: float,
    *,
    temperature: Quantity | None = None,
    inlet: Quantity | None = None,
    air: Air = DRY_AIR,
) -> Equilibrium:
    """Flue gas that had all the time it wanted, at a given temperature or in the adiabatic flame. [2]

    Ten species: CO2, H2O, CO, H2, OH, H, O, O2, N2, NO; 14.696 psia. No soot: below twice the fuel that the air
    can burn.

    Parameters
    ----------
    fuel : Fuel
    equivalence : float [0.5 to 2]
        Fuel over air, relative to exact burning; 1/(1 + excess air).
    temperature : Quantity [1000 to 3000 K]
        Left out, the adiabatic flame's.
    inlet : Quantity [230 to 600 K]
        Of the air, for the adiabatic flame; left out, 25 degC.
    air : Air

    Returns
    -------
    Equilibrium

    Raises
    ------
    ValueError
        Out of range.

    Examples
    --------
    >>> from tankside.physics.combustion import SIMPLE_AIR
    >>> from tankside.physics.fuels import fuel
    >>> print(f"{equilibrium(fuel('propane'), 1.0, air=SIMPLE_AIR).temperature.magnitude:.0f} K")
    2266 K
    """
    phi = number("equivalence", equivalence, 0.5, 2.0, "no soot, and hot enough for an equilibrium")
    t = None
    if temperature is not None:
        t = float(si("temperature", temperature, "K", 1000.0, 3000.0, "hot enough for an equilibrium"))
    cold = T25 if inlet is None else si("inlet", inlet, "K", 230.0, 600.0, "air, at most well preheated")
    found, fractions = equilibrium_si(fuel, float(phi), t, inlet=float(cold), air=air)
    return Equilibrium(quantity(float(found), "K"), {name: float(x) for name, x in fractions.items()})


def flame_temperature(
    fuel: Fuel,
    excess_air: float | Quantity = 0.0,
    *,
    dissociation: bool = True,
    inlet: Quantity | None = None,
    air: Air = DRY_AIR,
) -> Quantity:
    """Adiabatic flame temperature: all heat stays in the flue gas. [2] [4]

    Parameters
    ----------
    fuel : Fuel
    excess_air : float or percent [0 to 1]
    dissociation : bool
        True: products in equilibrium. False: complete burning, which is up to 130 K too hot.
    inlet : Quantity [230 to 600 K]
        Of the air; left out, 25 degC.
    air : Air

    Returns
    -------
    Quantity [K]

    Raises
    ------
    ValueError
        Out of range.

    Examples
    --------
    >>> from tankside.physics.combustion import SIMPLE_AIR
    >>> from tankside.physics.fuels import fuel
    >>> print(f"{flame_temperature(fuel('propane'), 0.5, air=SIMPLE_AIR).magnitude:.0f} K")
    1821 K
    """
    excess = float(number("excess air", excess_air, 0.0, 1.0, "a flame with up to twice its air"))
    cold = float(
        T25 if inlet is None else si("inlet", inlet, "K", 230.0, 600.0, "air, at most well preheated")
    )
    if dissociation:
        return quantity(float(equilibrium_si(fuel, 1 / (1 + excess), inlet=cold, air=air)[0]), "K")
    return quantity(float(complete_flame_temperature_si(fuel, excess, cold, air)), "K")


@dataclass(frozen=True)
class StackLoss:
    """Steady-state combustion efficiency and its losses, as percent of the heating value on ``basis``."""

    efficiency: Quantity
    unburnt: Quantity
    condensed: Quantity  # share of the flue gas's water that condensed
    excess_air: Quantity
    basis: str


def stack_loss(
    fuel: Fuel,
    flue_temperature: Quantity,
    oxygen: float | Quantity,
    *,
    room: Quantity | None = None,
    carbon_monoxide: Quantity | None = None,
    basis: Basis = "higher",
    air: Air = DRY_AIR,
) -> StackLoss:
    """Combustion efficiency from flue temperature and oxygen: what doesn't leave by the flue. [1] [2] [4]

    Law: heat of the fuel and air coming in less heat of the flue gas going out, enthalpies from NASA's polynomials.
    Below the dew point water condenses down to saturation and gives its heat back. The tank's standing loss and
    the burner's cycling are not in it.

    Parameters
    ----------
    fuel : Fuel
    flue_temperature : Quantity [280 to 1300 K]
    oxygen : float or percent [0 to 0.18, dry]
    room : Quantity [230 to 330 K]
        Combustion air; left out, 25 degC.
    carbon_monoxide : Quantity [0 to 20 000 ppm, dry]
        Left out, none.
    basis : "higher" or "lower"
    air : Air

    Returns
    -------
    StackLoss

    Raises
    ------
    ValueError
        Out of range.

    Examples
    --------
    >>> from tankside.physics.fuels import fuel
    >>> loss = stack_loss(fuel("propane"), quantity(400, "degF"), quantity(7.4, "percent"), room=quantity(70, "degF"))
    >>> print(f"{loss.efficiency.magnitude:.1f} %")
    82.5 %
    """
    flue = si("flue temperature", flue_temperature, "K", 280.0, 1300.0, "flue gas behind a heat exchanger")
    o2 = number("oxygen", oxygen, 0.0, 0.18, _FLUE)
    inlet = T25 if room is None else si("room", room, "K", 230.0, 330.0, "combustion air")
    co = 0.0
    if carbon_monoxide is not None:
        co = si("carbon monoxide", carbon_monoxide, "dimensionless", 0.0, 0.02, "a flue-gas analyzer's range")
    one_of("basis", basis, ("higher", "lower"))
    excess = excess_air_from_o2_si(fuel, o2, air)
    kept, unburnt, condensed = efficiency_si(fuel, flue, excess, inlet, co, air=air)
    scale = 100.0 if basis == "higher" else 100.0 * fuel.higher_si / fuel.lower_si
    return StackLoss(
        quantity(float(kept) * scale, "percent"),
        quantity(float(unburnt) * scale, "percent"),
        quantity(float(condensed) * 100, "percent"),
        quantity(float(excess) * 100, "percent"),
        basis,
    )
