"""Metal that goes into solution: Faraday's law, anodes' weight and life, steel's loss of wall."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from tankside.physics._ranges import number, one_of, si
from tankside.units import quantity

if TYPE_CHECKING:
    from tankside.physics._ranges import Quantity

FARADAY = 96_485.33212
"""C/mol (CODATA 2018, exact)."""
HOUR = 3600.0
YEAR = 365.25 * 24.0 * HOUR
MAGNESIUM_TAKES = 8.8
"""lb of magnesium for an ampere and a year, in theory: TM 5-811-7."""
"""s, as pint's year; anode design uses 8760 hours, 0.07 % less."""


@dataclass(frozen=True)
class Metal:
    """A metal that dissolves: kg/mol, electrons given by each atom, kg/m³ (from memory)."""

    molar_mass: float
    electrons: int
    density: float

    @property
    def capacity(self) -> float:
        """C/kg: charge that a kilogram gives when it dissolves."""
        return self.electrons * FARADAY / self.molar_mass


METALS: dict[str, Metal] = {
    "magnesium": Metal(24.305e-3, 2, 1738.0),
    "aluminum": Metal(26.981538e-3, 3, 2700.0),
    "zinc": Metal(65.38e-3, 2, 7140.0),
    "iron": Metal(55.845e-3, 2, 7870.0),
}

_CURRENT = "a tank's anode gives a few milliamperes, a large structure some amperes"
_EFFICIENCY = "a part of the charge reaches the structure, the rest is lost to self-corrosion"
_INF = math.inf


def mass_loss_si(charge: Any, metal: str, efficiency: Any = 1.0) -> Any:
    """Metal dissolved by a charge.

    Parameters
    ----------
    charge : float or array [C]
        Current times time.
    metal : str [one of the keys of METALS]
    efficiency : float or array [1, above 0, to 1]
        Useful part of the charge.

    Returns
    -------
    float or array [kg]
    """
    return charge / (METALS[metal].capacity * efficiency)


def penetration_rate_si(current_density: Any, metal: str = "iron") -> Any:
    """Speed at which a dissolving surface recedes.

    Parameters
    ----------
    current_density : float or array [A/m²]
        Leaving the surface.
    metal : str [one of the keys of METALS]

    Returns
    -------
    float or array [m/s]
    """
    return current_density / (METALS[metal].capacity * METALS[metal].density)


def rod_radius_after_si(
    charge: Any, radius: Any, length: Any, metal: str = "magnesium", efficiency: Any = 0.5, core: Any = 0.0
) -> Any:
    """Radius of a rod after it gave a charge, wearing evenly; never below its core.

    Parameters
    ----------
    charge : float or array [C, 0 or more]
        Given to the structure.
    radius : float or array [m]
        Before.
    length : float or array [m, above 0]
        Of the rod; its ends are left out.
    metal : str [one of the keys of METALS]
    efficiency : float or array [1, above 0, to 1]
        Part of the dissolved metal's charge that reaches the structure.
    core : float or array [m, 0 or more]
        Radius of the steel wire inside.

    Returns
    -------
    float or array [m]
    """
    lost = mass_loss_si(charge, metal, efficiency) / METALS[metal].density
    left = np.asarray(radius) ** 2 - lost / (math.pi * np.asarray(length))
    return np.sqrt(np.maximum(left, np.asarray(core) ** 2))[()]


def capacity(metal: str) -> Quantity:
    """Charge that a mass of metal gives when it dissolves: z F / M. [1]_

    Parameters
    ----------
    metal : str [one of the keys of METALS]
        "magnesium", "aluminum", "zinc" or "iron".

    Returns
    -------
    Quantity [A h/kg]

    Raises
    ------
    ValueError
        No such metal.

    Examples
    --------
    >>> print(f"{capacity('magnesium').magnitude:.1f} A h/kg")
    2205.4 A h/kg

    References
    ----------
    .. [1] Faraday's law; Corrosion 1(2):59 prints 1000 A h/lb for magnesium.
    """
    return quantity(METALS[one_of("metal", metal, tuple(METALS))].capacity / HOUR, "A*hour/kg")


def mass_loss(metal: str, current: Quantity, time: Quantity, efficiency: float = 1.0) -> Quantity:
    """Metal dissolved by a current: m = I t M / (z F η). [1]_

    Parameters
    ----------
    metal : str [one of the keys of METALS]
        "magnesium", "aluminum", "zinc" or "iron".
    current : Quantity [A, 0 to 100]
        Leaving the metal.
    time : Quantity [year, 0 or more]
        How long.
    efficiency : float [1, above 0, to 1]
        Useful part of the charge; 1 if not given: the least that must dissolve.

    Returns
    -------
    Quantity [kg]

    Raises
    ------
    ValueError
        No such metal, or an argument out of range.

    Examples
    --------
    >>> print(f"{mass_loss('iron', quantity(1, 'mA'), quantity(8760, 'hour')).to('g'):.2f~P}")
    9.13 g

    References
    ----------
    .. [1] Faraday's law.
    """
    one_of("metal", metal, tuple(METALS))
    charge = si("current", current, "A", 0.0, 100.0, _CURRENT) * si(
        "time", time, "s", 0.0, _INF, "time runs forward"
    )
    return quantity(
        mass_loss_si(charge, metal, number("efficiency", efficiency, 1e-3, 1.0, _EFFICIENCY)), "kg"
    )


def anode_weight(
    current: Quantity, life: Quantity, consumption: Quantity | None = None, efficiency: float = 0.50
) -> Quantity:
    """Weight of anodes for a structure: W = Y S I / E. [1]_

    Parameters
    ----------
    current : Quantity [A, 0 to 100]
        That the structure needs, I.
    life : Quantity [year, 0 to 100]
        Wanted, Y.
    consumption : Quantity [lb/(A year), 1 to 30]
        Of the metal, in theory, S; 8.8 lb/(A year), magnesium, if not given.
    efficiency : float [1, above 0, to 1]
        Useful part of the charge, E.

    Returns
    -------
    Quantity [lb]

    Raises
    ------
    ValueError
        An argument out of range.

    Examples
    --------
    >>> print(f"{anode_weight(quantity(0.7, 'A'), quantity(15, 'year')).magnitude:.1f} lb")
    184.8 lb

    References
    ----------
    .. [1] TM 5-811-7, Electrical Design, Cathodic Protection; MIL-HDBK-1004/10.
    """
    amperes = si("current", current, "A", 0.0, 100.0, _CURRENT)
    years = si("life", life, "year", 0.0, 100.0, "an anode's life")
    pounds = MAGNESIUM_TAKES
    if consumption is not None:
        pounds = si("consumption", consumption, "lb/A/year", 1.0, 30.0, "from aluminum to zinc")
    return quantity(years * pounds * amperes / number("efficiency", efficiency, 1e-3, 1.0, _EFFICIENCY), "lb")


def anode_life(
    mass: Quantity,
    current: Quantity,
    metal: str = "magnesium",
    efficiency: float = 0.50,
    utilisation: float = 0.85,
) -> Quantity:
    """Life of an anode: m u ε / I, with its practical capacity ε = η z F / M. [1]_

    Parameters
    ----------
    mass : Quantity [kg, 0 to 1000]
        Of the anode's metal, without its core.
    current : Quantity [A, above 0, to 100]
        Mean over its life.
    metal : str [one of the keys of METALS]
        "magnesium", "aluminum", "zinc" or "iron".
    efficiency : float [1, above 0, to 1]
        Useful part of the charge, η.
    utilisation : float [1, above 0, to 1]
        Part of the metal that is used before the anode is done, u.

    Returns
    -------
    Quantity [year]

    Raises
    ------
    ValueError
        No such metal, or an argument out of range.

    Examples
    --------
    >>> print(f"{anode_life(quantity(0.25, 'kg'), quantity(2, 'mA')).magnitude:.1f} years")
    13.4 years

    References
    ----------
    .. [1] The form of DNV-RP-B401, as cited in a design report.
    """
    kilograms = si("mass", mass, "kg", 0.0, 1000.0, "an anode")
    amperes = si("current", current, "A", 1e-9, 100.0, _CURRENT)
    useful = number("efficiency", efficiency, 1e-3, 1.0, _EFFICIENCY)
    used = number("utilisation", utilisation, 1e-3, 1.0, "a part of the metal")
    seconds = kilograms * used * useful * METALS[one_of("metal", metal, tuple(METALS))].capacity / amperes
    return quantity(seconds / YEAR, "year")


def rod_radius_after(
    time: Quantity,
    radius: Quantity,
    length: Quantity,
    current: Quantity,
    metal: str = "magnesium",
    efficiency: float = 0.50,
    core: Quantity | None = None,
) -> Quantity:
    """Radius of an anode rod after a time under a steady current: r² = r0² - I t / (η ε ρ π L). [1]_

    A rod that wears evenly thins faster and faster at its end: the same metal leaves an ever
    smaller round. A real rod wears in craters; its steel core shows earlier.

    Parameters
    ----------
    time : Quantity [year, 0 or more]
        How long.
    radius : Quantity [mm, above 0, to 500]
        When new.
    length : Quantity [m, above 0, to 10]
        Of the rod.
    current : Quantity [A, 0 to 100]
        Given to the structure.
    metal : str [one of the keys of METALS]
        "magnesium", "aluminum", "zinc" or "iron".
    efficiency : float [1, above 0, to 1]
        Useful part of the charge, η.
    core : Quantity [mm, 0 to ``radius``]
        Radius of the steel wire inside; none if not given.

    Returns
    -------
    Quantity [mm]

    Raises
    ------
    ValueError
        No such metal, or an argument out of range.

    Examples
    --------
    >>> left = rod_radius_after(quantity(3, "year"), quantity(0.375, "inch"), quantity(8, "inch"), quantity(2, "mA"))
    >>> print(f"{2 * left.to('inch').magnitude:.2f} in across")
    0.54 in across

    References
    ----------
    .. [1] Faraday's law on a cylinder; density of magnesium 1738 kg/m³ (from memory).
    """
    one_of("metal", metal, tuple(METALS))
    metres = si("radius", radius, "m", 1e-5, 0.5, "an anode rod")
    inner = (
        0.0 if core is None else si("core", core, "m", 0.0, float(np.min(metres)), "a wire inside the rod")
    )
    seconds = si("time", time, "s", 0.0, _INF, "time runs forward")
    charge = si("current", current, "A", 0.0, 100.0, _CURRENT) * seconds
    rod = si("length", length, "m", 1e-3, 10.0, "an anode rod")
    useful = number("efficiency", efficiency, 1e-3, 1.0, _EFFICIENCY)
    return quantity(rod_radius_after_si(charge, metres, rod, metal, useful, inner) * 1e3, "mm")


def perforation_time(wall: Quantity, current_density: Quantity, pitting: float = 1.0) -> Quantity:
    """Time until bare steel is eaten through: t = wall × ρ z F / (M i × pitting). [1]_

    Parameters
    ----------
    wall : Quantity [mm, 0 to 50]
        Thickness of the steel.
    current_density : Quantity [A/m², above 0, to 1000]
        Of the dissolving steel, mean over the bare surface.
    pitting : float [1, 1 to 50]
        Deepest pit over mean loss. It ranges widely; bare patches in glass lining pit (from memory).

    Returns
    -------
    Quantity [year]

    Raises
    ------
    ValueError
        An argument out of range.

    Examples
    --------
    >>> print(f"{perforation_time(quantity(1.8, 'mm'), quantity(0.1, 'A/m**2'), 6.0).magnitude:.1f} years")
    2.6 years

    References
    ----------
    .. [1] Faraday's law; density of iron 7870 kg/m³ (from memory).
    """
    metres = si("wall", wall, "m", 0.0, 0.05, "a tank's wall")
    density = si(
        "current_density", current_density, "A/m**2", 1e-9, 1000.0, "steel that corrodes freely in water"
    )
    factor = number("pitting", pitting, 1.0, 50.0, "the deepest pit is at least the mean loss")
    return quantity(metres / (penetration_rate_si(density) * factor) / YEAR, "year")
