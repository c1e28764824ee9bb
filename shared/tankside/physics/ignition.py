"""Spark, flame rectification, thermocouple: how a burner is lit and how it knows that it burns.

Sources
-------
[1] Paschen's law V = B p d / (ln(A p d) - ln ln(1 + 1/g)) with A = 15 /(cm Torr), B = 365 V/(cm Torr), g = 0.01; and
    the straight line V = 30 kV/(cm atm) p d + 1.35 kV for gaps around a millimetre and more. Both as quoted on
    neasmn.org/ben/Paschen's-Law.htm (V2). They differ by a fifth at 3 mm; ``law`` chooses. Both hold for flat
    electrodes; a sharp tip sparks at less: ``tip``, 0.8 by default, is ours.
[2] A flame between a small rod and a large burner conducts better one way: ions are slow, electrons fast, the
    electrodes' areas differ (Wikipedia, citing Jones 1990). Up to 130 V the current is proportional to the voltage
    (Linkoeping thesis urn:nbn:se:liu:diva-488, abstract). The conductances are inputs; the default area ratio's effect
    (reverse current = forward current over the ratio of areas) is a teaching model of ours.
[3] Type K thermocouple, ITS-90 reference function, 0 to 1372 degC (NIST Monograph 175; coefficients as in NIST's
    its90 type K table). Safety thermocouples are of several alloys; type K stands for them here.
[4] "Drop-out about 2 mV", "20 to 30 mV open circuit": trade pages (V2); the hold and drop-out currents are inputs.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal

import numpy as np

from tankside.physics._ranges import number, one_of, si
from tankside.units import quantity

if TYPE_CHECKING:
    from tankside.physics._ranges import Quantity

Law = Literal["straight line", "Paschen"]
TIP = 0.8
_TORR = 133.32236842105263
_AIR = "air where people live"

# ITS-90 type K, mV from degC, 0 to 1372 degC: polynomial, then a0 exp(a1 (t - a2)^2).
_TYPE_K = (
    -0.176004136860e-1, 0.389212049750e-1, 0.185587700320e-4, -0.994575928740e-7, 0.318409457190e-9,
    -0.560728448890e-12, 0.560750590590e-15, -0.320207200030e-18, 0.971511471520e-22, -0.121047212750e-25,
)  # fmt: skip
_TYPE_K_BUMP = (0.118597600000, -0.118343200000e-3, 0.126968600000e3)


def breakdown_si(
    gap: Any, pressure: Any = 101325.0, temperature: Any = 293.15, law: Law = "straight line", tip: Any = TIP
) -> Any:
    """V at which a spark jumps [1].

    Parameters
    ----------
    gap : float or array [m]
    pressure : float or array [Pa]
    temperature : float or array [K; hot air is thin air]
    law : "straight line" or "Paschen"
    tip : float or array [share of the flat electrodes' voltage]
    """
    dense = np.asarray(pressure) * 293.15 / np.asarray(temperature)
    if law == "Paschen":
        pd = dense / _TORR * np.asarray(gap) * 100
        return tip * 365 * pd / (np.log(15 * pd) - np.log(np.log(1 + 1 / 0.01)))
    pd = dense / 101325.0 * np.asarray(gap) * 100
    return tip * 1000 * (30 * pd + 1.35)


def spark_voltage_si(open_voltage: Any, source: Any, leak: Any = np.inf) -> Any:
    """V that a spark generator keeps at the electrode when a wet or cracked insulator leaks (ohm) to ground."""
    return np.asarray(open_voltage) / (1 + source / np.asarray(leak, dtype=float))


def rectified_si(
    voltage: Any, forward: Any, reverse: Any, series: Any = 0.0, leak: Any = np.inf
) -> tuple[Any, Any]:
    """Current between flame rod and burner: direct part and alternating part, in A [2].

    Parameters
    ----------
    voltage : float or array [V r.m.s., sine]
    forward, reverse : float or array [S, conductance of the flame each way; 0 = no flame]
    series : float or array [ohm, in the rod's path: oxide, silica, a bad burner ground]
    leak : float or array [ohm, rod to ground beside the flame; stiff source: it adds alternating current alone]

    Returns
    -------
    (A direct, A r.m.s. of the alternating rest)
    """
    peak = np.sqrt(2.0) * np.asarray(voltage, dtype=float)
    aside = 1 / np.asarray(leak, dtype=float)
    there = np.asarray(forward) / (1 + np.asarray(forward) * series) + aside
    back = np.asarray(reverse) / (1 + np.asarray(reverse) * series) + aside
    direct = peak / np.pi * (there - back)
    total = peak**2 / 4 * (there**2 + back**2)
    return direct, np.sqrt(np.maximum(total - direct**2, 0.0))


def type_k_si(temperature: Any) -> Any:
    """V of a type K thermocouple against 0 degC [3]; K, 273.15 to 1645.15, float or array."""
    t = np.asarray(temperature, dtype=float) - 273.15
    total = np.zeros_like(t)
    for coefficient in reversed(_TYPE_K):
        total = total * t + coefficient
    a0, a1, a2 = _TYPE_K_BUMP
    return (total + a0 * np.exp(a1 * (t - a2) ** 2)) / 1000


def thermocouple_current_si(hot: Any, cold: Any, inner: Any, coil: Any, contact: Any = 0.0) -> Any:
    """A through the electromagnet: thermocouple voltage over all resistances in its loop; K and ohm, floats or arrays."""
    return np.maximum(type_k_si(hot) - type_k_si(cold), 0.0) / (inner + coil + contact)


def thermocouple_tip_si(start: Any, surroundings: Any, time_constant: Any, time: Any) -> Any:
    """K of the tip ``time`` s after flame on or off: first order towards ``surroundings``; floats or arrays."""
    return surroundings + (np.asarray(start) - surroundings) * np.exp(-np.asarray(time) / time_constant)


def magnet_holds_si(current: Any, was_held: Any, pressed: Any, hold: Any, drop_out: Any) -> Any:
    """Does the safety valve's magnet hold after this moment? bool, or an array of them.

    Parameters
    ----------
    current : float or array [A, from the thermocouple]
    was_held : bool or array [held until now]
    pressed : bool or array [the pilot's button is pressed: that seats the armature, the current alone can't]
    hold : float or array [A that keeps a freshly seated armature]
    drop_out : float or array [A below which a held one lets go; at most ``hold``]
    """
    current = np.asarray(current, dtype=float)
    seated = np.logical_and(pressed, current >= hold)
    kept = np.logical_and(was_held, current >= drop_out)
    return np.logical_or(seated, kept)[()]


def breakdown_voltage(
    gap: Quantity,
    *,
    pressure: Quantity | None = None,
    temperature: Quantity | None = None,
    law: Law = "straight line",
    tip: float = TIP,
) -> Quantity:
    """Voltage at which a spark jumps a gap in air. [1]

    Parameters
    ----------
    gap : Quantity [0.5 to 12 mm]
    pressure : Quantity [55 to 105 kPa]
        Air pressure; left out, sea level. Thin mountain air sparks at less.
    temperature : Quantity [230 to 1000 K]
        Of the air in the gap; left out, 20 degC.
    law : "straight line" or "Paschen"
        The two published forms differ by about a fifth at 3 mm.
    tip : float [0.3 to 1]
        1 for flat electrodes, less for a sharp tip.

    Returns
    -------
    Quantity [kV, peak]

    Raises
    ------
    ValueError
        Out of range.

    Examples
    --------
    >>> print(f"{breakdown_voltage(quantity(0.125, 'in')).magnitude:.1f} kV")
    8.7 kV
    """
    d = si("gap", gap, "m", 5e-4, 12e-3, "where both published forms hold")
    p = 101325.0 if pressure is None else si("pressure", pressure, "Pa", 5.5e4, 1.05e5, _AIR)
    t = (
        293.15
        if temperature is None
        else si("temperature", temperature, "K", 230.0, 1000.0, "air near a burner")
    )
    one_of("law", law, ("straight line", "Paschen"))
    share = number("tip", tip, 0.3, 1.0, "sharp to flat")
    return quantity(breakdown_si(d, p, t, law, share) / 1e3, "kV")


def sparks(open_voltage: Quantity, gap: Quantity, *, source: Quantity, leak: Quantity | None = None) -> bool:
    """Does the igniter jump its gap, with what a leaking insulator leaves of its voltage? [1]

    Parameters
    ----------
    open_voltage : Quantity [0 to 40 kV, peak]
    gap : Quantity [0.5 to 12 mm]
    source : Quantity [1 kohm to 100 Mohm]
        Inner resistance of the generator.
    leak : Quantity [1 ohm to 1 Tohm]
        Electrode to ground over a dirty, wet or cracked insulator; left out, none.

    Returns
    -------
    bool

    Raises
    ------
    ValueError
        Out of range.

    Examples
    --------
    >>> igniter = dict(open_voltage=quantity(14, "kV"), source=quantity(1, "Mohm"))
    >>> sparks(gap=quantity(0.125, "in"), **igniter), sparks(gap=quantity(0.25, "in"), **igniter)
    (True, False)
    """
    volts = si("open voltage", open_voltage, "V", 0.0, 4e4, "a small igniter")
    inner = si("source", source, "ohm", 1e3, 1e8, "a small igniter")
    aside = (
        np.inf if leak is None else si("leak", leak, "ohm", 1.0, 1e12, "an insulator from bridged to clean")
    )
    needed = breakdown_voltage(gap).to("V").magnitude
    return bool(spark_voltage_si(volts, inner, aside) >= needed)


@dataclass(frozen=True)
class FlameSignal:
    """What meters show: direct current (microamperes, meter in series), alternating rest (r.m.s.)."""

    direct: Quantity
    alternating: Quantity


def flame_signal(
    voltage: Quantity,
    conductance: Quantity,
    *,
    area_ratio: float = 4.0,
    contact: float = 1.0,
    series: Quantity | None = None,
    leak: Quantity | None = None,
) -> FlameSignal:
    """Flame rectification: the direct current that proves a flame. [2]

    A leak over a wet insulator passes both half-waves alike: it adds alternating current and can't fake a flame.

    Parameters
    ----------
    voltage : Quantity [0 to 300 V r.m.s.]
        Alternating, between rod and burner.
    conductance : Quantity [0 to 1 microsiemens]
        Of the flame from rod to burner in the good direction, rod well wrapped.
    area_ratio : float [1 to 100]
        Burner area over rod area that the flame touches; 1 rectifies nothing. 4 and more is common practice, no source.
    contact : float [0 to 1]
        Share of the rod that the flame wraps; 0 = no flame.
    series : Quantity [0 to 1 Gohm]
        Oxide or silica on the rod, a bad burner ground; left out, none.
    leak : Quantity [1 kohm to 1 Tohm]
        Rod to ground beside the flame; left out, none.

    Returns
    -------
    FlameSignal (microamperes)

    Raises
    ------
    ValueError
        Out of range.

    Examples
    --------
    >>> signal = flame_signal(quantity(120, "V"), quantity(0.1, "microsiemens"))
    >>> print(f"{signal.direct.magnitude:.1f} microamperes")
    4.1 microamperes
    """
    volts = si("voltage", voltage, "V", 0.0, 300.0, "flame detection from the mains")
    good = si("conductance", conductance, "S", 0.0, 1e-6, "a small gas flame")
    ratio = number("area ratio", area_ratio, 1.0, 100.0, "burner to rod")
    wrapped = number("contact", contact, 0.0, 1.0, "none to well wrapped")
    dirt = 0.0 if series is None else si("series", series, "ohm", 0.0, 1e9, "a clean to a glazed rod")
    aside = np.inf if leak is None else si("leak", leak, "ohm", 1e3, 1e12, "an insulator from wet to clean")
    direct, rest = rectified_si(volts, good * wrapped, good * wrapped / ratio, dirt, aside)
    return FlameSignal(quantity(1e6 * direct, "microampere"), quantity(1e6 * rest, "microampere"))


def thermocouple_voltage(hot: Quantity, cold: Quantity) -> Quantity:
    """Open-circuit voltage of a type K thermocouple. [3]

    Parameters
    ----------
    hot : Quantity [0 to 1372 degC]
        Tip.
    cold : Quantity [0 to 200 degC]
        Where it joins copper.

    Returns
    -------
    Quantity [mV]

    Raises
    ------
    ValueError
        Out of range.

    Examples
    --------
    >>> print(f"{thermocouple_voltage(quantity(600, 'degC'), quantity(60, 'degC')).magnitude:.1f} mV")
    22.5 mV
    """
    t = si("hot", hot, "K", 273.15, 1645.15, "the reference function")
    t0 = si("cold", cold, "K", 273.15, 473.15, "a joint away from the flame")
    return quantity((type_k_si(t) - type_k_si(t0)) * 1e3, "mV")


def thermocouple_loaded(
    open_voltage: Quantity, inner: Quantity, coil: Quantity, contact: Quantity | None = None
) -> Quantity:
    """What a meter shows across the magnet's coil with the valve connected: the voltage divider. [4]

    Parameters
    ----------
    open_voltage : Quantity [0 to 60 mV]
    inner : Quantity [1 to 500 mohm]
        Of the thermocouple and its lead.
    coil : Quantity [1 to 500 mohm]
        Of the magnet.
    contact : Quantity [0 to 100 ohm]
        Of a dirty or loose joint; left out, none.

    Returns
    -------
    Quantity [mV]

    Raises
    ------
    ValueError
        Out of range.

    Examples
    --------
    >>> print(f"{thermocouple_loaded(quantity(24, 'mV'), quantity(20, 'mohm'), quantity(20, 'mohm')).magnitude:.1f} mV")
    12.0 mV
    """
    volts = si("open voltage", open_voltage, "V", 0.0, 0.06, "one thermocouple")
    r0 = si("inner", inner, "ohm", 1e-3, 0.5, "a thermocouple and its lead")
    r1 = si("coil", coil, "ohm", 1e-3, 0.5, "a safety magnet")
    r2 = 0.0 if contact is None else si("contact", contact, "ohm", 0.0, 100.0, "clean to hardly touching")
    return quantity(1e3 * volts * r1 / (r0 + r1 + r2), "mV")
