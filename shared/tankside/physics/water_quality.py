"""What is dissolved in the water: hardness, solids, how well it conducts."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from tankside.physics._ranges import number, one_of, si
from tankside.units import quantity

if TYPE_CHECKING:
    from tankside.physics._ranges import Quantity

HARDNESS_UNITS: dict[str, float] = {
    "mg/L": 1.0, "ppm": 1.0, "gpg": 17.118, "grain/gallon": 17.118, "°dH": 17.848, "°fH": 10.0, "°e": 14.254,
    "mmol/L": 100.09,
}  # fmt: skip
"""Unit -> mg/L as calcium carbonate (definitions; molar mass of CaCO3 100.09 g/mol)."""


def resistivity_si(conductivity: Any, temperature: Any = 298.15) -> Any:
    """Resistivity of water from its conductivity at 25 °C, 2 % of that more for each degree.

    Parameters
    ----------
    conductivity : float or array [µS/cm at 25 °C, above 0]
        What a conductivity meter shows.
    temperature : float or array [K, 273.15 to 373.15]
        Of the water.

    Returns
    -------
    float or array [ohm m]
    """
    return 1e4 / (conductivity * (1.0 + 0.02 * (temperature - 298.15)))


def hardness(amount: float, unit: str) -> Quantity:
    """Hardness of water in any of the units it is written in, as mg/L of calcium carbonate. [1]_

    Parameters
    ----------
    amount : float [``unit``, 0 to 10 000 mg/L]
        As read from the strip or the report.
    unit : str [one of the keys of HARDNESS_UNITS]
        "gpg", "ppm", "mg/L", "°dH", "°fH", "°e" or "mmol/L".

    Returns
    -------
    Quantity [mg/L]

    Raises
    ------
    ValueError
        Amount out of range, or no such unit.

    Examples
    --------
    >>> print(f"{hardness(10, 'gpg'):.1f~P}")
    171.2 mg/l

    References
    ----------
    .. [1] Definitions of the units (from memory).
    """
    factor = HARDNESS_UNITS[one_of("unit", unit, tuple(HARDNESS_UNITS))]
    return quantity(
        number("amount", amount, 0.0, 1e4 / factor, f"hardness of water in {unit}") * factor, "mg/L"
    )


def hardness_in(hardness: Quantity, unit: str) -> Any:
    """Hardness as a number in one of the units it is written in. [1]_

    Parameters
    ----------
    hardness : Quantity [mg/L, 0 to 10 000]
        As calcium carbonate.
    unit : str [one of the keys of HARDNESS_UNITS]
        "gpg", "ppm", "mg/L", "°dH", "°fH", "°e" or "mmol/L".

    Returns
    -------
    float [``unit``]

    Raises
    ------
    ValueError
        Hardness out of range, or no such unit.

    Examples
    --------
    >>> print(f"{hardness_in(quantity(171.18, 'mg/L'), '°dH'):.1f}")
    9.6

    References
    ----------
    .. [1] Definitions of the units (from memory).
    """
    factor = HARDNESS_UNITS[one_of("unit", unit, tuple(HARDNESS_UNITS))]
    return si("hardness", hardness, "mg/L", 0.0, 1e4, "hardness of water") / factor


def resistivity_from_solids(
    solids: Quantity, temperature: Quantity | None = None, factor: float = 0.65
) -> Quantity:
    """Resistivity of water from its dissolved solids.

    Conductivity at 25 °C in µS/cm = solids in mg/L / factor; it rises by 2 % of that for each °C. [1]_
    A rule of thumb: for the same solids, waters differ by 20 % and more.

    Parameters
    ----------
    solids : Quantity [mg/L, 1 to 10 000]
        Total dissolved solids.
    temperature : Quantity [°C, 0 to 100]
        Of the water; 25 °C if not given.
    factor : float [(mg/L)/(µS/cm), 0.5 to 0.9]
        Solids over conductivity at 25 °C.

    Returns
    -------
    Quantity [ohm m]

    Raises
    ------
    ValueError
        Solids, temperature or factor out of range.

    Examples
    --------
    >>> print(f"{resistivity_from_solids(quantity(325, 'mg/L')):.1f~P}")
    20.0 m·Ω

    References
    ----------
    .. [1] Rules of thumb of water analysis, 0.55 to 0.75 and 2 %/°C (from memory).
    """
    milligrams = si("solids", solids, "mg/L", 1.0, 1e4, "fresh and brackish water")
    number("factor", factor, 0.5, 0.9, "solids over conductivity of natural waters")
    kelvin = (
        298.15
        if temperature is None
        else si("temperature", temperature, "kelvin", 273.15, 373.15, "liquid water")
    )
    return quantity(resistivity_si(milligrams / factor, kelvin), "ohm*m")


def resistivity_from_conductivity(conductivity: Quantity, temperature: Quantity | None = None) -> Quantity:
    """Resistivity of water at its temperature from a conductivity that was read at (or corrected to) 25 °C.

    It conducts better by 2 % of its conductivity at 25 °C for each degree. [1]_

    Parameters
    ----------
    conductivity : Quantity [µS/cm at 25 °C, 1 to 20 000]
        What a conductivity meter with temperature correction shows.
    temperature : Quantity [°C, 0 to 100]
        Of the water; 25 °C if not given.

    Returns
    -------
    Quantity [ohm m]

    Raises
    ------
    ValueError
        Conductivity or temperature out of range.

    Examples
    --------
    >>> read = quantity(500, "microsiemens/cm")
    >>> print(f"{resistivity_from_conductivity(read, quantity(60, 'degC')).magnitude:.1f} ohm m")
    11.8 ohm m

    References
    ----------
    .. [1] Rule of thumb of water analysis (from memory); true within 10 % up to about 60 °C.
    """
    micro = si("conductivity", conductivity, "microsiemens/cm", 1.0, 2e4, "from rain water to brackish water")
    kelvin = 298.15
    if temperature is not None:
        kelvin = si("temperature", temperature, "kelvin", 273.15, 373.15, "liquid water")
    return quantity(resistivity_si(micro, kelvin), "ohm*m")
