"""The gas cylinder: vapour pressure of the liquid, and how boiling off vapour cools it.

Mixtures boil by Raoult's law, corrected for the vapour with the second virial coefficient of the
pure gases; within 1 % of the reference equations of state from 220 to 335 K (checked in the tests).
The heat to boil comes through the wetted wall: capacity = U A (ambient - liquid) / latent heat.

Sources
-------
[1] Fits in ``data/gases.toml`` to CoolProp 8 (propane: Lemmon, McLinden, Wagner 2009; butane:
    Buecker, Wagner 2006).
[2] Raoult's law with vapour fugacity, as in any textbook of thermodynamics.
[3] U = 10 W/(m2 K): a bare steel cylinder in still air. With it, and liquid that may cool to its boiling point,
    the capacity lies within 35 % of the trade's draw table for a 100 lb cylinder
    (flameengineering.com/pages/propane-information; checked in the tests). Wind, frost and rain change it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from tankside.physics import fuels
from tankside.physics._ranges import number, si
from tankside.physics.fuels import STANDARD_PRESSURE, Fuel, R, mixture
from tankside.units import quantity

if TYPE_CHECKING:
    from tankside.physics._fuel_files import Liquid
    from tankside.physics._ranges import Quantity

WALL = 10.0
"""W/(m2 K), heat transfer from still air to the liquid [3]."""


def _liquid(gas: str) -> Liquid:
    liquid = fuels._gases()[gas].liquid
    if liquid is None:
        raise ValueError(f"{gas} = a gas that no cylinder of this kind holds as liquid; expected propane, butane "
                         f"or a mixture of them")  # fmt: skip
    return liquid


def liquid_range_si(fuel: Fuel) -> tuple[float, float]:
    """K: where all fits of this fuel's liquid hold."""
    ranges = [_liquid(gas).range for gas, _ in fuel.composition]
    return max(low for low, _ in ranges), min(high for _, high in ranges)


def _pure_pressure(liquid: Liquid, t: Any) -> Any:
    tau = 1 - np.asarray(t) / liquid.critical[0]
    a, b, c, d = liquid.vapour_pressure
    log = (a * tau + b * tau**1.5 + c * tau**2.5 + d * tau**5) * liquid.critical[0] / t
    return liquid.critical[1] * np.exp(log)


def _pure_density(liquid: Liquid, t: Any) -> Any:
    tau = 1 - np.asarray(t) / liquid.critical[0]
    a, b, c, d = liquid.density
    return liquid.critical[2] * (1 + a * tau**0.35 + b * tau + c * tau**2 + d * tau**3)


def _pure_latent(liquid: Liquid, t: Any) -> Any:
    tau = 1 - np.asarray(t) / liquid.critical[0]
    a, b, c = liquid.latent_heat
    return a * tau**0.38 + b * tau**1.38 + c * tau**2.38


def _pure_heat_capacity(liquid: Liquid, t: Any) -> Any:
    tau = 1 - np.asarray(t) / liquid.critical[0]
    a, b, c, d = liquid.heat_capacity
    return a / tau + b + c * tau + d * tau**2


def partial_pressures_si(fuel: Fuel, temperature: Any) -> dict[str, Any]:
    """Pa absolute that each gas adds over the liquid ``fuel`` at ``temperature`` (K, float or array) [1][2]."""
    t = np.asarray(temperature, dtype=float)
    pure = {gas: _pure_pressure(_liquid(gas), t) for gas, _ in fuel.composition}
    if len(pure) == 1:
        return pure
    lift = {
        gas: (
            fuels.second_virial_si(gas, t)
            - fuels._gases()[gas].molar_mass / 1e3 / _pure_density(_liquid(gas), t)
        )
        / (R * t)
        for gas in pure
    }
    total = sum(share * pure[gas] for gas, share in fuel.composition)
    parts: dict[str, Any] = {}
    for _ in range(12):  # the correction is a few percent: each round gains about two digits
        parts = {g: share * pure[g] * np.exp(lift[g] * (pure[g] - total)) for g, share in fuel.composition}
        total = sum(parts.values())
    return parts


def vapour_pressure_si(fuel: Fuel, temperature: Any) -> Any:
    """Pa absolute over the liquid; K, float or array."""
    return sum(partial_pressures_si(fuel, temperature).values())


def _by_mass(fuel: Fuel) -> list[tuple[str, float]]:
    return [
        (gas, share * fuels._gases()[gas].molar_mass / 1e3 / fuel.molar_mass_si)
        for gas, share in fuel.composition
    ]


def liquid_density_si(fuel: Fuel, temperature: Any) -> Any:
    """kg/m3 of the saturated liquid; volumes add; K, float or array."""
    return 1 / sum(share / _pure_density(_liquid(gas), temperature) for gas, share in _by_mass(fuel))


def latent_heat_si(fuel: Fuel, temperature: Any) -> Any:
    """J/kg to boil the liquid, weighed by mass; K, float or array."""
    return sum(share * _pure_latent(_liquid(gas), temperature) for gas, share in _by_mass(fuel))


def liquid_heat_capacity_si(fuel: Fuel, temperature: Any) -> Any:
    """J/(kg K) of the saturated liquid, weighed by mass; K, float or array."""
    return sum(share * _pure_heat_capacity(_liquid(gas), temperature) for gas, share in _by_mass(fuel))


def saturation_temperature_si(fuel: Fuel, pressure: Any) -> Any:
    """K at which the liquid's vapour pressure is ``pressure`` (Pa absolute, float or array); clipped to the fits' range."""
    p = np.asarray(pressure, dtype=float)
    low, high = (np.full(p.shape, end) for end in liquid_range_si(fuel))
    for _ in range(50):
        middle = (low + high) / 2
        below = vapour_pressure_si(fuel, middle) < p
        low, high = np.where(below, middle, low), np.where(below, high, middle)
    return ((low + high) / 2)[()]


def vaporisation_capacity_si(
    fuel: Fuel, ambient: Any, wetted_area: Any, lowest_pressure: Any, wall: Any = WALL
) -> Any:
    """kg/s that boil for ever while the vapour stays above ``lowest_pressure`` (Pa absolute); 0 when it can't."""
    coldest = saturation_temperature_si(fuel, lowest_pressure)
    heat = wall * wetted_area * np.maximum(np.asarray(ambient) - coldest, 0.0)
    return heat / latent_heat_si(fuel, coldest)


def liquid_temperature_si(
    fuel: Fuel, ambient: Any, draw: Any, wetted_area: Any, mass: Any, start: Any, time: Any, wall: Any = WALL
) -> Any:
    """K of the liquid after ``time`` s of drawing ``draw`` kg/s of vapour from ``mass`` kg that began at ``start`` K.

    Closed form with the wall, the liquid's mass, latent heat and heat capacity held at their start:
    m c dT/dt = U A (ambient - T) - draw * latent. ``time`` may be infinite: the steady state.
    """
    latent = latent_heat_si(fuel, start)
    conductance = wall * np.asarray(wetted_area)
    end = ambient - draw * latent / conductance
    rate = conductance / (np.asarray(mass) * liquid_heat_capacity_si(fuel, start))
    low = liquid_range_si(fuel)[0]
    return np.maximum(end + (start - end) * np.exp(-rate * time), low)


def _temperature(fuel: Fuel, value: Quantity, name: str = "temperature") -> Any:
    low, high = liquid_range_si(fuel)
    return si(name, value, "K", low, high, f"where the fits for liquid {fuel.label} hold")


def vapour_pressure(fuel: Fuel, temperature: Quantity) -> Quantity:
    """Absolute pressure over a liquid fuel, before any vapour is drawn.

    Law: Wagner's form for a pure gas [1]; Raoult's law with vapour fugacity for a mixture [2].

    Parameters
    ----------
    fuel : propane, butane or a mixture of stored liquids; the composition is the liquid's
    temperature : of the liquid, 220 to 345 K (with ethane in it to 302 K)

    Returns
    -------
    absolute pressure in psi; take off the atmosphere's for a gauge

    Raises
    ------
    ValueError
        out of range, or a gas that isn't stored as liquid.

    >>> from tankside.physics.fuels import fuel
    >>> print(f'{vapour_pressure(fuel("propane"), quantity(60, "degF")).magnitude - 14.696:.1f} psi gauge')
    93.0 psi gauge
    """
    return quantity(vapour_pressure_si(fuel, _temperature(fuel, temperature)), "Pa").to("psi")


def vapour_composition(fuel: Fuel, temperature: Quantity) -> Fuel:
    """What boils off first from a liquid mixture: richer in the lighter gas [2].

    Parameters
    ----------
    fuel : the liquid
    temperature : of the liquid, 220 to 345 K

    Returns
    -------
    Fuel, the vapour's composition

    Raises
    ------
    ValueError
        Out of range, or a gas that isn't stored as liquid.

    Examples
    --------
    >>> from tankside.physics.fuels import fuel
    >>> boiled = vapour_composition(fuel("propane-butane 40/60"), quantity(10, "degC"))
    >>> print(f'{dict(boiled.composition)["propane"]:.2f}')
    0.71
    """
    parts = {gas: float(p) for gas, p in partial_pressures_si(fuel, _temperature(fuel, temperature)).items()}
    total = sum(parts.values())
    return mixture(
        f"vapor of {fuel.name}", {gas: p / total for gas, p in parts.items()}, f"vapor of {fuel.label}"
    )


def boiling_point(fuel: Fuel, pressure: Quantity | None = None) -> Quantity:
    """Temperature at which the liquid boils.

    Parameters
    ----------
    fuel : the liquid
    pressure : absolute, 0.7 to 5 bar; left out, 14.696 psi

    Returns
    -------
    Quantity [degF]

    Raises
    ------
    ValueError
        Out of range, or a gas that isn't stored as liquid.

    Examples
    --------
    >>> from tankside.physics.fuels import fuel
    >>> round(boiling_point(fuel("butane")).to("degF").magnitude, 1)
    31.1
    """
    p = STANDARD_PRESSURE
    if pressure is not None:
        p = si("pressure", pressure, "Pa", 0.7e5, 5e5, "where the fits hold for every stored fuel")
    return quantity(float(saturation_temperature_si(fuel, p)), "K").to("degF")


def liquid_density(fuel: Fuel, temperature: Quantity) -> Quantity:
    """Density of the stored liquid [1].

    Parameters
    ----------
    fuel : the liquid
    temperature : 220 to 345 K

    Returns
    -------
    Quantity [kg/m3]

    Raises
    ------
    ValueError
        Out of range, or a gas that isn't stored as liquid.

    Examples
    --------
    >>> from tankside.physics.fuels import fuel
    >>> print(f'{liquid_density(fuel("propane"), quantity(60, "degF")).to("lb/gal").magnitude:.2f} lb/gal')
    4.23 lb/gal
    """
    return quantity(liquid_density_si(fuel, _temperature(fuel, temperature)), "kg/m**3")


def latent_heat(fuel: Fuel, temperature: Quantity) -> Quantity:
    """Heat to boil the stored liquid [1].

    Parameters
    ----------
    fuel : the liquid
    temperature : 220 to 345 K

    Returns
    -------
    Quantity [kJ/kg]

    Raises
    ------
    ValueError
        Out of range, or a gas that isn't stored as liquid.

    Examples
    --------
    >>> from tankside.physics.fuels import fuel
    >>> round(latent_heat(fuel("propane"), quantity(60, "degF")).magnitude)
    352
    """
    return quantity(latent_heat_si(fuel, _temperature(fuel, temperature)) / 1e3, "kJ/kg")


@dataclass(frozen=True)
class Draw:
    """What a steady draw does to a cylinder."""

    liquid_temperature: Quantity
    pressure: Quantity  # absolute
    capacity: Quantity  # the heat that it could give for ever at the lowest pressure
    enough: bool


def cylinder_draw(
    fuel: Fuel,
    heat: Quantity,
    ambient: Quantity,
    wetted_area: Quantity,
    lowest_pressure: Quantity,
    wall: Quantity | None = None,
) -> Draw:
    """Steady state of a cylinder that feeds a burner: does it boil off enough?

    Law: heat through the wetted wall = draw times latent heat. Says nothing about frost, wind or sun.

    Parameters
    ----------
    fuel : the liquid
    heat : input of all burners that run, higher heating value, 0 to 100 kW
    ambient : air at the cylinder, 235 to 320 K
    wetted_area : wall below the liquid's level, 0.01 to 10 m2
    lowest_pressure : absolute, that the regulator still needs, 1.02 to 5 bar
    wall : heat transfer, 2 to 60 W/(m2 K); left out, 10 (still air, bare steel [3])

    Raises
    ------
    ValueError
        out of range.

    >>> from tankside.physics.fuels import fuel
    >>> still = cylinder_draw(fuel("propane"), quantity(12000, "BTU_per_hour"), quantity(40, "degF"),
    ...                       quantity(0.3, "m**2"), quantity(25, "psi"))
    >>> still.enough
    True
    """
    watts = si("heat", heat, "W", 0.0, 1e5, "burners of a home, a boat or a vehicle")
    t = si("ambient", ambient, "K", 235.0, 320.0, "where cylinders stand")
    area = si("wetted area", wetted_area, "m**2", 0.01, 10.0, "portable cylinders and small tanks")
    lowest = si("lowest pressure", lowest_pressure, "Pa", 1.02e5, 5e5, "what a regulator needs, absolute")
    u = WALL if wall is None else si("wall", wall, "W/(m**2*K)", 2.0, 60.0, "from sheltered to windy")
    per_kg = fuel.higher_si / fuel.molar_mass_si
    liquid = liquid_temperature_si(fuel, t, watts / per_kg, area, 1.0, t, np.inf, u)
    capacity = vaporisation_capacity_si(fuel, t, area, lowest, u) * per_kg
    return Draw(
        quantity(float(liquid), "K"),
        quantity(float(vapour_pressure_si(fuel, liquid)), "Pa").to("psi"),
        quantity(float(capacity), "W").to("BTU_per_hour"),
        bool(capacity >= watts),
    )


def wetted_area(diameter: Quantity, height: Quantity, fill: float) -> Quantity:
    """Wall and bottom of an upright cylinder below the liquid's level.

    Parameters
    ----------
    diameter : 0.05 to 2 m
    height : of the whole shell, 0.1 to 3 m
    fill : fraction of the height that holds liquid, 0 to 0.8 (the usual filling limit is 80 %: common practice,
        no source)

    Returns
    -------
    Quantity [m2]

    Raises
    ------
    ValueError
        Out of range.

    Examples
    --------
    >>> print(f'{wetted_area(quantity(12, "in"), quantity(18, "in"), 0.5).to("ft**2").magnitude:.2f} ft2')
    3.14 ft2
    """
    d = si("diameter", diameter, "m", 0.05, 2.0, "portable cylinders and small tanks")
    h = si("height", height, "m", 0.1, 3.0, "portable cylinders and small tanks")
    share = number("fill", fill, 0.0, 0.8, "the liquid needs room to expand")
    return quantity(np.pi * d * h * share + np.pi * d**2 / 4, "m**2")
