"""Heating elements: Ohm's and Joule's laws, the band in which an element is good, hot and cold resistance."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from tankside.physics._ranges import number, one_of, si
from tankside.units import quantity

if TYPE_CHECKING:
    from tankside.physics._ranges import Quantity

POWER_OVER = 0.05
POWER_UNDER = 0.10
"""A heating element may take +5/-10 % of its rated power (IEC 60335-1 clause 10.1, from memory; the
upper end also in UL 174, secondary page)."""

NICHROME: dict[str, tuple[tuple[float, ...], tuple[float, ...]]] = {
    "Ni80Cr20": (
        (20.0, 100.0, 200.0, 300.0, 400.0, 500.0, 600.0),
        (1.000, 1.006, 1.012, 1.018, 1.025, 1.026, 1.018),
    ),
    "Ni60Cr15": (
        (20.0, 100.0, 200.0, 300.0, 400.0, 500.0),
        (1.000, 1.011, 1.024, 1.038, 1.052, 1.064),
    ),
}
"""Alloy -> temperatures (°C) and resistance over resistance at 20 °C (alloy table, secondary page)."""

_VOLTAGE = "low voltage, up to 1000 V"
_CURRENT = "a branch circuit"
_RESISTANCE = "above zero: a dead short has no working point"
_RATING = "a heating element of a household appliance"
_INF = float("inf")


def nichrome_factor_si(temperature: Any, alloy: str = "Ni80Cr20") -> Any:
    """Resistance over resistance at 20 °C; outside its table the nearest value holds.

    Parameters
    ----------
    temperature : float or array [K, 293.15 to 873.15]
        Of the wire.
    alloy : str [one of the keys of NICHROME]
        "Ni80Cr20" or "Ni60Cr15".

    Returns
    -------
    float or array [1]
    """
    celsius, factor = NICHROME[alloy]
    return np.interp(np.asarray(temperature) - 273.15, celsius, factor)[()]


def power_si(voltage: Any, resistance: Any) -> Any:
    """Heat of a resistor, U² / R.

    Parameters
    ----------
    voltage : float or array [V]
        Across it, r.m.s.
    resistance : float or array [ohm, above 0]
        Of it, at its working temperature.

    Returns
    -------
    float or array [W]
    """
    return voltage * voltage / resistance


def current_through(voltage: Quantity, resistance: Quantity) -> Quantity:
    """Current through a resistor: I = U / R (Ohm's law).

    Parameters
    ----------
    voltage : Quantity [V, 0 to 1000]
        Across it, r.m.s. or direct.
    resistance : Quantity [ohm, above 0]
        Of it.

    Returns
    -------
    Quantity [A]

    Raises
    ------
    ValueError
        Voltage or resistance out of range.

    Examples
    --------
    >>> print(f"{current_through(quantity(120, 'V'), quantity(10, 'ohm')):.1f~P}")
    12.0 A
    """
    volts = si("voltage", voltage, "V", 0.0, 1000.0, _VOLTAGE)
    return quantity(volts / si("resistance", resistance, "ohm", 1e-9, _INF, _RESISTANCE), "A")


def resistance_from(voltage: Quantity, current: Quantity) -> Quantity:
    """Resistance from a voltage and the current it drives: R = U / I (Ohm's law).

    Parameters
    ----------
    voltage : Quantity [V, 0 to 1000]
        Across it, r.m.s. or direct.
    current : Quantity [A, above 0, to 1000]
        Through it.

    Returns
    -------
    Quantity [ohm]

    Raises
    ------
    ValueError
        Voltage or current out of range.

    Examples
    --------
    >>> print(f"{resistance_from(quantity(12, 'V'), quantity(5, 'A')):.1f~P}")
    2.4 Ω
    """
    volts = si("voltage", voltage, "V", 0.0, 1000.0, _VOLTAGE)
    return quantity(volts / si("current", current, "A", 1e-9, 1000.0, _CURRENT), "ohm")


def voltage_across(current: Quantity, resistance: Quantity) -> Quantity:
    """Voltage across a resistor: U = I R (Ohm's law).

    Parameters
    ----------
    current : Quantity [A, 0 to 1000]
        Through it.
    resistance : Quantity [ohm, 0 or more]
        Of it.

    Returns
    -------
    Quantity [V]

    Raises
    ------
    ValueError
        Current or resistance out of range.

    Examples
    --------
    >>> print(f"{voltage_across(quantity(2, 'mA'), quantity(1, 'kohm')):.1f~P}")
    2.0 V
    """
    amperes = si("current", current, "A", 0.0, 1000.0, _CURRENT)
    return quantity(amperes * si("resistance", resistance, "ohm", 0.0, _INF, "a passive part"), "V")


def power_from(
    voltage: Quantity | None = None, current: Quantity | None = None, resistance: Quantity | None = None
) -> Quantity:
    """Power from two of voltage, current and resistance: P = U I = U² / R = I² R (Joule's law).

    Parameters
    ----------
    voltage : Quantity [V, 0 to 1000]
        Across the load, r.m.s. or direct.
    current : Quantity [A, 0 to 1000]
        Through the load.
    resistance : Quantity [ohm, above 0]
        Of the load.

    Returns
    -------
    Quantity [W]

    Raises
    ------
    ValueError
        Not exactly two of the three are given, or one is out of range.

    Examples
    --------
    >>> print(f"{power_from(voltage=quantity(12, 'V'), current=quantity(5, 'A')):.0f~P}")
    60 W
    """
    given = [name for name, value in
             (("voltage", voltage), ("current", current), ("resistance", resistance)) if value is not None]  # fmt: skip
    if len(given) != 2:
        raise ValueError(
            f"expected two of voltage, current and resistance, got {' and '.join(given) or 'none'}"
        )
    volts = si("voltage", voltage, "V", 0.0, 1000.0, _VOLTAGE) if voltage is not None else None
    amperes = si("current", current, "A", 0.0, 1000.0, _CURRENT) if current is not None else None
    if volts is not None and amperes is not None:
        return quantity(volts * amperes, "W")
    assert resistance is not None
    ohms = si("resistance", resistance, "ohm", 1e-9, _INF, _RESISTANCE)
    if amperes is not None:
        return quantity(amperes * amperes * ohms, "W")
    return quantity(power_si(volts, ohms), "W")


def element_resistance(power: Quantity, voltage: Quantity) -> Quantity:
    """Nominal resistance of an element from its rating: R = U² / P.

    Parameters
    ----------
    power : Quantity [W, 1 to 100 000]
        On the data plate.
    voltage : Quantity [V, 1 to 1000]
        On the data plate.

    Returns
    -------
    Quantity [ohm]

    Raises
    ------
    ValueError
        Power or voltage out of range.

    Examples
    --------
    >>> print(f"{element_resistance(quantity(1440, 'W'), quantity(120, 'V')):.2f~P}")
    10.00 Ω
    """
    volts = si("voltage", voltage, "V", 1.0, 1000.0, _VOLTAGE)
    return quantity(volts * volts / si("power", power, "W", 1.0, 1e5, _RATING), "ohm")


def element_current(power: Quantity, voltage: Quantity) -> Quantity:
    """Nominal current of an element from its rating: I = P / U.

    Parameters
    ----------
    power : Quantity [W, 1 to 100 000]
        On the data plate.
    voltage : Quantity [V, 1 to 1000]
        On the data plate.

    Returns
    -------
    Quantity [A]

    Raises
    ------
    ValueError
        Power or voltage out of range.

    Examples
    --------
    >>> print(f"{element_current(quantity(1400, 'W'), quantity(120, 'V')):.2f~P}")
    11.67 A
    """
    watts = si("power", power, "W", 1.0, 1e5, _RATING)
    return quantity(watts / si("voltage", voltage, "V", 1.0, 1000.0, _VOLTAGE), "A")


def power_at(power: Quantity, rated: Quantity, voltage: Quantity) -> Quantity:
    """Power of an element at another than its rated voltage: P' = P (U' / U)².

    The element's resistance is taken as constant: from cold to hot nichrome changes by 1 to 3 %.

    Parameters
    ----------
    power : Quantity [W, 1 to 100 000]
        On the data plate.
    rated : Quantity [V, 1 to 1000]
        Voltage on the data plate.
    voltage : Quantity [V, 0 to 1000]
        At the element's terminals.

    Returns
    -------
    Quantity [W]

    Raises
    ------
    ValueError
        Power or a voltage out of range.

    Examples
    --------
    >>> print(f"{power_at(quantity(1440, 'W'), quantity(120, 'V'), quantity(114, 'V')):.1f~P}")
    1299.6 W
    """
    ohms = element_resistance(power, rated).magnitude
    return quantity(power_si(si("voltage", voltage, "V", 0.0, 1000.0, _VOLTAGE), ohms), "W")


def resistance_band(
    power: Quantity, voltage: Quantity, over: float = POWER_OVER, under: float = POWER_UNDER
) -> tuple[Quantity, Quantity]:
    """Lowest and highest resistance of a good element: U² / (P (1 + over)), U² / (P (1 - under)).

    The power tolerance is that of heating above 200 W, +5/-10 %. [1]_ More power means less
    resistance, so the band reaches further up than down.

    Parameters
    ----------
    power : Quantity [W, 1 to 100 000]
        On the data plate.
    voltage : Quantity [V, 1 to 1000]
        On the data plate.
    over : float [1, 0 to 0.5]
        Part of its power that it may take too much.
    under : float [1, 0 to 0.5]
        Part of its power that it may take too little.

    Returns
    -------
    tuple of two Quantity [ohm]

    Raises
    ------
    ValueError
        Power, voltage or a tolerance out of range.

    Examples
    --------
    >>> low, high = resistance_band(quantity(1440, "W"), quantity(120, "V"))
    >>> print(f"{low:.3f~P} to {high:.3f~P}")
    9.524 Ω to 11.111 Ω

    References
    ----------
    .. [1] IEC 60335-1 clause 10.1 table 1 (from memory); UL 174 for +5 % (secondary page).
    """
    nominal = element_resistance(power, voltage)
    number("over", over, 0.0, 0.5, "a tolerance, as a part of the power")
    number("under", under, 0.0, 0.5, "a tolerance, as a part of the power")
    return nominal / (1.0 + over), nominal / (1.0 - under)


def nichrome_factor(temperature: Quantity, alloy: str = "Ni80Cr20") -> Any:
    """Resistance of an element's wire over its resistance at 20 °C, from a table with straight lines between.

    The table of Ni80Cr20 rises to 500 °C and falls above: the factor does not tell the temperature. [1]_

    Parameters
    ----------
    temperature : Quantity [°C, 20 to 600 (Ni80Cr20), 20 to 500 (Ni60Cr15)]
        Of the wire.
    alloy : str [one of the keys of NICHROME]
        "Ni80Cr20" or "Ni60Cr15".

    Returns
    -------
    float [1]

    Raises
    ------
    ValueError
        Temperature outside the table, or no such alloy.

    Examples
    --------
    >>> print(f"{nichrome_factor(quantity(250, 'degC')):.3f}")
    1.015

    References
    ----------
    .. [1] Alloy table of a wire page (secondary).
    """
    celsius = NICHROME[one_of("alloy", alloy, tuple(NICHROME))][0]
    low, high = celsius[0] + 273.15, celsius[-1] + 273.15
    return nichrome_factor_si(si("temperature", temperature, "kelvin", low, high, "the alloy's table"), alloy)


def hot_resistance(cold: Quantity, temperature: Quantity, alloy: str = "Ni80Cr20") -> Quantity:
    """Resistance of a hot element from its resistance at 20 °C: R = Ct(T) R20. [1]_

    Parameters
    ----------
    cold : Quantity [ohm, 0 or more]
        Measured at 20 °C.
    temperature : Quantity [°C, 20 to 600 (Ni80Cr20), 20 to 500 (Ni60Cr15)]
        Of the wire.
    alloy : str [one of the keys of NICHROME]
        "Ni80Cr20" or "Ni60Cr15".

    Returns
    -------
    Quantity [ohm]

    Raises
    ------
    ValueError
        Resistance or temperature out of range, or no such alloy.

    Examples
    --------
    >>> print(f"{hot_resistance(quantity(10, 'ohm'), quantity(400, 'degC')):.2f~P}")
    10.25 Ω

    References
    ----------
    .. [1] Alloy table of a wire page (secondary).
    """
    ohms = si("cold", cold, "ohm", 0.0, _INF, "a passive part")
    return quantity(ohms * nichrome_factor(temperature, alloy), "ohm")
