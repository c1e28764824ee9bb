"""Copper conductors: gauge, area, resistance, voltage drop."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from tankside.physics._ranges import number, si
from tankside.units import quantity

if TYPE_CHECKING:
    from tankside.physics._ranges import Quantity

RESISTIVITY_20 = 1.7241e-8
"""ohm m, annealed copper at 20 °C (NBS Handbook 100, quoted in a secondary page)."""
COEFFICIENT_20 = 0.00393
"""1/K, of copper's resistance, referred to 20 °C (handbook page)."""
T20 = 293.15
STRANDING = 1.02
"""Stranded wire is this much longer inside than outside (ASTM B8's 2 % allowance, from memory)."""
METRIC_SIZES = (0.5, 0.75, 1.0, 1.5, 2.5, 4.0, 6.0, 10.0, 16.0, 25.0)
"""mm², nominal areas that are sold (IEC 60228, from memory)."""

_GAUGE = "AWG runs from 4/0 (-3) to 40 in whole numbers"
_LENGTH = "a run of wire in or near a building"
_WIRE_TEMPERATURE = "copper's resistance is a straight line in temperature there"
_AREA = "a single conductor up to 300 mm²"


def awg_diameter_si(gauge: Any) -> Any:
    """Diameter of a solid wire.

    Parameters
    ----------
    gauge : float or array [AWG, -3 to 40]
        Gauge number; 00 is -1, 000 is -2, 0000 is -3.

    Returns
    -------
    float or array [m]
    """
    return 0.005 * 0.0254 * 92.0 ** ((36.0 - gauge) / 39.0)


def awg_area_si(gauge: Any) -> Any:
    """Copper area of a wire.

    Parameters
    ----------
    gauge : float or array [AWG, -3 to 40]
        Gauge number; 00 is -1, 000 is -2, 0000 is -3.

    Returns
    -------
    float or array [m²]
    """
    return math.pi / 4.0 * awg_diameter_si(gauge) ** 2


def copper_resistivity_si(temperature: Any) -> Any:
    """Resistivity of copper.

    Parameters
    ----------
    temperature : float or array [K, 233.15 to 473.15]
        Of the copper.

    Returns
    -------
    float or array [ohm m]
    """
    return RESISTIVITY_20 * (1.0 + COEFFICIENT_20 * (temperature - T20))


def wire_resistance_si(area: Any, length: Any, temperature: Any = T20, lay: Any = 1.0) -> Any:
    """Resistance of one conductor.

    Parameters
    ----------
    area : float or array [m²]
        Copper area.
    length : float or array [m]
        Of the conductor: a run there and back is twice its length.
    temperature : float or array [K, 233.15 to 473.15]
        Of the copper.
    lay : float or array [1, 1 to 1.1]
        Length of the strands over length of the wire.

    Returns
    -------
    float or array [ohm]
    """
    return copper_resistivity_si(temperature) * lay * length / area


def _gauge(gauge: float | str) -> int:
    """The gauge as a whole number; "2/0" and "00" are both -1."""
    text = str(gauge).strip().upper().removesuffix("AWG").strip().removeprefix("#")
    if isinstance(gauge, str) and text in ("00", "000", "0000"):
        return 1 - len(text)
    if text.endswith("/0") and text[:-2] in ("1", "2", "3", "4"):
        return 1 - int(text[:-2])
    try:
        value = float(text)
    except ValueError:
        raise ValueError(f"gauge = {gauge!r} is no gauge; expected one like 14 or '2/0': {_GAUGE}") from None
    number("gauge", value, -3, 40, _GAUGE)
    if value != int(value):
        raise ValueError(f"gauge = {gauge} is out of range; expected a whole number: {_GAUGE}")
    return int(value)


def awg_diameter(gauge: int | str) -> Quantity:
    """Diameter of a solid round wire by American Wire Gauge.

    d = 0.005 in × 92^((36 - n) / 39): 39 equal ratios between gauge 36 and gauge 0000. [1]_

    Parameters
    ----------
    gauge : int or str [AWG, 4/0 to 40]
        14, "14", "14 AWG"; "00" or "2/0" or -1 for the sizes above 0.

    Returns
    -------
    Quantity [mm]

    Raises
    ------
    ValueError
        No such gauge.

    Examples
    --------
    >>> print(f"{awg_diameter(14):.3f~P}")
    1.628 mm

    References
    ----------
    .. [1] ASTM B258, as quoted in a secondary page (text unread).
    """
    return quantity(awg_diameter_si(_gauge(gauge)) * 1e3, "mm")


def awg_area(gauge: int | str) -> Quantity:
    """Copper area of a wire by American Wire Gauge, solid or stranded: A = π d² / 4. [1]_

    Parameters
    ----------
    gauge : int or str [AWG, 4/0 to 40]
        14, "14", "14 AWG"; "00" or "2/0" or -1 for the sizes above 0.

    Returns
    -------
    Quantity [mm²]

    Raises
    ------
    ValueError
        No such gauge.

    Examples
    --------
    >>> print(f"{awg_area(12):.3f~P}")
    3.309 mm²

    References
    ----------
    .. [1] ASTM B258, as quoted in a secondary page (text unread).
    """
    return quantity(awg_area_si(_gauge(gauge)) * 1e6, "mm**2")


def conductor_area(size: int | str | Quantity) -> Quantity:
    """Copper area of a conductor given as a gauge or as a metric size.

    A metric size is a name: a real "1.5 mm²" conductor may hold a little less copper and is judged
    by its resistance. [1]_

    Parameters
    ----------
    size : int, str or Quantity [AWG 4/0 to 40, or mm², 0.005 to 300]
        14, "14 AWG", "2.5 mm2", or an area.

    Returns
    -------
    Quantity [mm²]

    Raises
    ------
    ValueError
        No such size.

    Examples
    --------
    >>> print(f"{conductor_area('2.5 mm2'):.1f~P}")
    2.5 mm²
    >>> print(f"{conductor_area('14 AWG'):.2f~P}")
    2.08 mm²

    References
    ----------
    .. [1] IEC 60228 (from memory).
    """
    if isinstance(size, str):
        text = size.lower().replace("mm²", "mm2").replace("mm^2", "mm2").strip()
        if not text.endswith("mm2"):
            return awg_area(size)
        try:
            size = quantity(float(text.removesuffix("mm2")), "mm**2")
        except ValueError:
            raise ValueError(f"size = {size!r} is no size; expected one like '14 AWG' or '2.5 mm2'") from None
    if not isinstance(size, int | float):
        return quantity(si("size", size, "mm**2", 0.005, 300.0, _AREA), "mm**2")
    return quantity(awg_area_si(_gauge(size)) * 1e6, "mm**2")


def copper_resistivity(temperature: Quantity) -> Quantity:
    """Resistivity of annealed copper: ρ = ρ20 (1 + α20 (t - 20 °C)). [1]_

    Parameters
    ----------
    temperature : Quantity [°C, -40 to 200]
        Of the copper.

    Returns
    -------
    Quantity [ohm mm²/m]

    Raises
    ------
    ValueError
        Temperature out of range.

    Examples
    --------
    >>> print(f"{copper_resistivity(quantity(20, 'degC')).magnitude:.6f}")
    0.017241

    References
    ----------
    .. [1] NBS Handbook 100 for ρ20 = 0.017241 ohm mm²/m, a handbook page for α20 = 0.00393/K.
    """
    kelvin = si("temperature", temperature, "kelvin", 233.15, 473.15, _WIRE_TEMPERATURE)
    return quantity(copper_resistivity_si(kelvin) * 1e6, "ohm*mm**2/m")


def wire_resistance(
    size: int | str | Quantity, length: Quantity, temperature: Quantity | None = None, stranded: bool = False
) -> Quantity:
    """Resistance of one copper conductor: R = ρ(t) L / A, 2 % more when stranded. [1]_

    Parameters
    ----------
    size : int, str or Quantity [AWG 4/0 to 40, or mm², 0.005 to 300]
        14, "14 AWG", "2.5 mm2", or an area.
    length : Quantity [m, 0 to 10 000]
        Of this one conductor.
    temperature : Quantity [°C, -40 to 200]
        Of the copper; 20 °C if not given.
    stranded : bool [True or False]
        Strands run in a spiral and are longer than the wire.

    Returns
    -------
    Quantity [ohm]

    Raises
    ------
    ValueError
        Size, length or temperature out of range.

    Examples
    --------
    >>> print(f"{wire_resistance(14, quantity(1000, 'ft'), quantity(75, 'degC')):.3f~P}")
    3.071 Ω

    References
    ----------
    .. [1] ASTM B258 and NBS Handbook 100 for solid wire; ASTM B8 for the 2 % (from memory).
    """
    area = si("size", conductor_area(size), "m**2", 0.0, 3e-4, _AREA)
    metres = si("length", length, "m", 0.0, 1e4, _LENGTH)
    kelvin = T20
    if temperature is not None:
        kelvin = si("temperature", temperature, "kelvin", 233.15, 473.15, _WIRE_TEMPERATURE)
    return quantity(wire_resistance_si(area, metres, kelvin, STRANDING if stranded else 1.0), "ohm")


def voltage_drop(
    size: int | str | Quantity,
    length: Quantity,
    current: Quantity,
    temperature: Quantity | None = None,
    stranded: bool = False,
) -> Quantity:
    """Voltage lost in a two-wire run, there and back: U = 2 I R. [1]_

    Reactance is left out: below a few hundred amperes and in small sizes it is less than 1 % of R.

    Parameters
    ----------
    size : int, str or Quantity [AWG 4/0 to 40, or mm², 0.005 to 300]
        14, "14 AWG", "2.5 mm2", or an area.
    length : Quantity [m, 0 to 10 000]
        One way, from the panel to the load.
    current : Quantity [A, 0 to 1000]
        Drawn by the load.
    temperature : Quantity [°C, -40 to 200]
        Of the copper; 75 °C, a fully loaded wire, if not given.
    stranded : bool [True or False]
        Strands run in a spiral and are longer than the wire.

    Returns
    -------
    Quantity [V]

    Raises
    ------
    ValueError
        Size, length, current or temperature out of range.

    Examples
    --------
    >>> drop = voltage_drop(14, quantity(50, "ft"), quantity(11.667, "A"))
    >>> print(f"{drop:.2f~P}, {drop.magnitude / 120:.2%}")
    3.58 V, 2.99%

    References
    ----------
    .. [1] Ohm's law. NEC 210.19(A) advises 3 % in a branch circuit, 5 % in all: a note, not a rule.
    """
    amperes = si("current", current, "A", 0.0, 1000.0, "a branch circuit")
    if temperature is None:
        temperature = quantity(75.0, "degC")
    one_way = wire_resistance(size, length, temperature, stranded)
    return quantity(2.0 * amperes * one_way.magnitude, "V")
