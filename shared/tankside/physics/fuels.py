"""Fuel gases as data: composition in, heating value, specific gravity, Wobbe index, flammability out.

Pure gases stand in ``data/gases.toml``, named mixtures in ``data/fuels.toml``. Gas volumes are
at the trade's reference, 60 degF and 14.696 psia, unless another temperature is asked for.
Gases mix ideally; ``state="real"`` adds the second virial coefficient of the pure gases [3].

Sources
-------
[1] ``chemicals`` 1.5: molar masses, heats of combustion at 298.15 K, flammability limits.
[2] H. Le Chatelier's rule for the flammability of mixtures (cited from memory).
[3] C. Tsonopoulos, AIChE J. 20 (1974) 263: second virial coefficient (cited from memory;
    checked against CoolProp).
[4] F. Herning, L. Zipperer (1936): viscosity of a gas mixture (cited from memory).
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache, cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

import numpy as np

from tankside.errors import UnknownNameError
from tankside.physics._ranges import number, one_of, si
from tankside.units import quantity

if TYPE_CHECKING:
    from tankside.physics._fuel_files import Gas
    from tankside.physics._ranges import Quantity

Basis = Literal["higher", "lower"]
Per = Literal["volume", "mass", "mole"]
State = Literal["ideal", "real"]

R = 8.31446261815324
"""J/(mol K)."""
STANDARD_PRESSURE = 101325.0
"""Pa: 14.696 psia."""
STANDARD_TEMPERATURE = 288.7055555555556
"""K: 60 degF."""
AIR_MOLAR_MASS = 0.0289652
"""kg/mol, dry air."""
DATA = Path(__file__).parent / "data"


@cache
def _gases() -> dict[str, Gas]:
    from tankside.physics._fuel_files import read_gases

    return read_gases(DATA / "gases.toml")


@dataclass(frozen=True)
class Fuel:
    """A fuel gas: what its molecules are. Numbers ending in ``_si`` are per mole of the mixture, in SI units."""

    name: str
    label: str
    composition: tuple[tuple[str, float], ...]

    def _mean(self, field: str) -> float:
        return sum(share * getattr(_gases()[gas], field) for gas, share in self.composition)

    @cached_property
    def atoms(self) -> tuple[float, float, float, float]:
        """Atoms of C, H, O, N in a mean molecule."""
        c, h, o, n = (
            sum(share * _gases()[gas].atoms[i] for gas, share in self.composition) for i in range(4)
        )
        return c, h, o, n

    @cached_property
    def molar_mass_si(self) -> float:
        """kg/mol."""
        return self._mean("molar_mass") / 1000

    @cached_property
    def higher_si(self) -> float:
        """Higher heating value, J/mol, at 298.15 K."""
        return self._mean("higher")

    @cached_property
    def lower_si(self) -> float:
        """Lower heating value, J/mol, at 298.15 K."""
        return self._mean("lower")

    @cached_property
    def formation_si(self) -> float:
        """Enthalpy of formation, J/mol, at 298.15 K."""
        return self._mean("formation")

    @cached_property
    def specific_gravity_si(self) -> float:
        """Density over that of air at the same temperature and pressure, both ideal."""
        return self.molar_mass_si / AIR_MOLAR_MASS

    @cached_property
    def viscosity_si(self) -> float:
        """Pa s of the gas at 15 degC [4]."""
        weights = [(share * math.sqrt(_gases()[gas].molar_mass), gas) for gas, share in self.composition]
        return sum(w * _gases()[gas].viscosity for w, gas in weights) / sum(w for w, _ in weights)

    @property
    def burnable(self) -> dict[str, float]:
        """The gases in it that burn."""
        return {gas: share for gas, share in self.composition if _gases()[gas].higher > 0}


@cache
def _named() -> dict[str, Fuel]:
    from tankside.physics._fuel_files import read_fuels

    file = DATA / "fuels.toml"
    return {
        row.name: mixture(row.name, row.composition, row.label) for row in read_fuels(file, set(_gases()))
    }


def fuel_names() -> list[str]:
    """The names that ``fuel`` knows.

    >>> "propane" in fuel_names()
    True
    """
    return list(_named())


def fuel(name: str) -> Fuel:
    """A fuel from ``data/fuels.toml``.

    Parameters
    ----------
    name : one of ``fuel_names()``

    Raises
    ------
    UnknownNameError
        when there is no such fuel; names the nearest.

    >>> fuel("propane").atoms
    (3.0, 8.0, 0.0, 0.0)
    """
    try:
        return _named()[name]
    except KeyError:
        raise UnknownNameError("fuel", name, fuel_names()) from None


def mixture(name: str, composition: Mapping[str, float], label: str = "") -> Fuel:
    """A fuel of one's own.

    Parameters
    ----------
    name : what to call it
    composition : mole (= gas volume) fractions of gases in ``data/gases.toml``; each 0 to 1, adding up to 1 within 1e-6
    label : how to write it to a reader; left out, the name

    Raises
    ------
    ValueError
        when a fraction is out of range, the fractions don't add up, or nothing in it burns.
    UnknownNameError
        when a gas is unknown.

    >>> round(mixture("half", {"propane": 0.5, "butane": 0.5}).atoms[0], 3)
    3.5
    """
    for gas, share in composition.items():
        if gas not in _gases():
            raise UnknownNameError("gas", gas, list(_gases()))
        number(f"share of {gas}", share, 0.0, 1.0, "a mole fraction")
    total = sum(composition.values())
    if not abs(total - 1) <= 1e-6:
        raise ValueError(f"composition of {name!r} = {total:.6g} in all is out of range; expected 1: the shares are "
                         f"all there is")  # fmt: skip
    made = Fuel(
        name, label or name, tuple((gas, share / total) for gas, share in composition.items() if share > 0)
    )
    if not made.burnable:
        raise ValueError(f"composition of {name!r} burns 0 of 1; expected at least one gas that burns")
    return made


def second_virial_si(gas: str, temperature: Any) -> Any:
    """Second virial coefficient of a pure gas, m3/mol, at ``temperature`` (K, float or array) [3]; 0 for N2, CO2."""
    data = _gases()[gas]
    if data.critical is None or data.acentric is None:
        return 0.0 * np.asarray(temperature)
    tr = np.asarray(temperature) / data.critical[0]
    simple = 0.1445 - 0.330 / tr - 0.1385 / tr**2 - 0.0121 / tr**3 - 0.000607 / tr**8
    shape = 0.0637 + 0.331 / tr**2 - 0.423 / tr**3 - 0.008 / tr**8
    return R * data.critical[0] / data.critical[1] * (simple + data.acentric * shape)


def compressibility_si(fuel: Fuel, temperature: Any, pressure: Any = STANDARD_PRESSURE) -> Any:
    """Z = 1 + B p/(R T), K and Pa absolute in, below about 5 bar; B mixes by mole fraction."""
    b = sum(share * second_virial_si(gas, temperature) for gas, share in fuel.composition)
    return 1 + b * pressure / (R * np.asarray(temperature))


def density_si(fuel: Fuel, temperature: Any = STANDARD_TEMPERATURE, pressure: Any = STANDARD_PRESSURE) -> Any:
    """kg/m3 of the gas, ideal; K and Pa absolute, floats or arrays."""
    return fuel.molar_mass_si * pressure / (R * np.asarray(temperature))


def molar_mass(fuel: Fuel) -> Quantity:
    """Molar mass of a fuel. [1]

    Parameters
    ----------
    fuel : the fuel

    Returns
    -------
    Quantity [g/mol]

    Examples
    --------
    >>> round(molar_mass(fuel("propane")).magnitude, 2)
    44.1
    """
    return quantity(fuel.molar_mass_si * 1000, "g/mol")


def heating_value(
    fuel: Fuel,
    per: Per = "volume",
    basis: Basis = "higher",
    *,
    temperature: Quantity | None = None,
    state: State = "ideal",
) -> Quantity:
    """Heat set free by burning a fuel completely, products back at 25 degC [1].

    Parameters
    ----------
    fuel : the fuel
    per : "volume" (Btu/ft3 at 14.696 psia), "mass" (MJ/kg) or "mole" (kJ/mol)
    basis : "higher" (water condensed) or "lower" (water as vapour)
    temperature : of the gas volume, 0 to 40 degC; left out, 60 degF
    state : "ideal", or "real": a cubic foot of real propane holds about 1.8 % more gas

    Returns
    -------
    Quantity [Btu/ft3, MJ/kg or kJ/mol]

    Raises
    ------
    ValueError
        An argument out of range.

    Examples
    --------
    >>> round(heating_value(fuel("propane")).to("Btu/ft**3").magnitude)
    2514
    """
    one_of("per", per, ("volume", "mass", "mole"))
    one_of("basis", basis, ("higher", "lower"))
    one_of("state", state, ("ideal", "real"))
    molar = fuel.higher_si if basis == "higher" else fuel.lower_si
    if per == "mole":
        return quantity(molar / 1e3, "kJ/mol")
    if per == "mass":
        return quantity(molar / fuel.molar_mass_si / 1e6, "MJ/kg")
    t = STANDARD_TEMPERATURE
    if temperature is not None:
        t = si("temperature", temperature, "K", 273.15, 313.15, "a gas meter's surroundings")
    z = compressibility_si(fuel, t) if state == "real" else 1.0
    return quantity(float(molar * STANDARD_PRESSURE / (R * t * z)), "J/m**3").to("Btu/ft**3")


def specific_gravity(fuel: Fuel, state: State = "ideal") -> float:
    """Density of the fuel gas over that of dry air at 60 degF, 14.696 psia.

    Parameters
    ----------
    fuel : the fuel
    state : "ideal", or "real" with the second virial coefficient [3] (air's Z = 0.9996)

    Returns
    -------
    float (air is 1)

    Raises
    ------
    ValueError
        Unknown state.

    Examples
    --------
    >>> round(specific_gravity(fuel("propane")), 3), round(specific_gravity(fuel("propane"), "real"), 2)
    (1.522, 1.55)
    """
    one_of("state", state, ("ideal", "real"))
    if state == "ideal":
        return fuel.specific_gravity_si
    return float(fuel.specific_gravity_si * 0.9996 / compressibility_si(fuel, STANDARD_TEMPERATURE))


def wobbe_index(fuel: Fuel, basis: Basis = "higher") -> Quantity:
    """Heating value per volume over the square root of the specific gravity: the heat that one orifice passes.

    Parameters
    ----------
    fuel : the fuel
    basis : "higher" or "lower"

    Returns
    -------
    Quantity [Btu/ft3 at 60 degF, 14.696 psia]

    Raises
    ------
    ValueError
        Unknown basis.

    Examples
    --------
    >>> round(wobbe_index(fuel("methane")).magnitude, -1)
    1360.0
    """
    return heating_value(fuel, "volume", basis) / math.sqrt(fuel.specific_gravity_si)


def flammable_range(
    fuel: Fuel, source: Literal["IEC 60079-20-1", "NFPA 497"] = "IEC 60079-20-1"
) -> tuple[float, float]:
    """Lower and upper limit of flammability in air, as volume fractions [1], mixtures by Le Chatelier's rule [2].

    The two published tables differ; name the one you use. Inert gas only dilutes here.

    Parameters
    ----------
    fuel : the fuel
    source : "IEC 60079-20-1" or "NFPA 497"

    Returns
    -------
    (lower, upper), volume fractions

    Raises
    ------
    ValueError
        Unknown source.

    Examples
    --------
    >>> flammable_range(fuel("propane")), flammable_range(fuel("propane"), "NFPA 497")
    ((0.017, 0.109), (0.021, 0.095))
    """
    one_of("source", source, ("IEC 60079-20-1", "NFPA 497"))
    field = "flammable_iec" if source == "IEC 60079-20-1" else "flammable_nfpa"
    ends = []
    for end in (0, 1):
        ends.append(
            1 / sum(share / getattr(_gases()[gas], field)[end] for gas, share in fuel.burnable.items())
        )
    return round(ends[0], 6), round(ends[1], 6)
