"""A tank as one well-mixed body of water: heating, cooling, drawing.

C dT/dt = P - UA (T - Ta) - W (T - Ti), with the heat capacity C, the heating power P, the loss UA
to an ambient at Ta, and a draw whose heat capacity flow is W = flow × ρ × cp, fed in at Ti. With
constant coefficients the solution is exponential; it is written with (1 - exp(-x))/x so that a
tank without loss or draw is no special case.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from tankside.physics._ranges import si
from tankside.physics.water import BOILING, FREEZING, T0, density_si, specific_heat_si
from tankside.units import quantity

if TYPE_CHECKING:
    from tankside.physics._ranges import Quantity

_INF = math.inf
_LIQUID = "liquid water at atmospheric pressure"
_AIR = "a place where a heater stands"
_REFERENCE = T0 + 15.555555555555555
"""60 °F: where the trade's 8.33 lb/gal and 1 BTU/lb °F belong."""


def _decay(x: Any) -> Any:
    """(1 - exp(-x)) / x, 1 at x = 0."""
    x = np.asarray(x, dtype=float)
    small = np.abs(x) < 1e-9
    return np.where(small, 1.0 - x / 2.0, -np.expm1(-x) / np.where(small, 1.0, x))


def _decay_mean(x: Any) -> Any:
    """(x - 1 + exp(-x)) / x², 1/2 at x = 0: the mean of ``_decay`` on the way, for energies."""
    x = np.asarray(x, dtype=float)
    small = np.abs(x) < 1e-2
    series = 1 / 2 - x / 6 + x**2 / 24 - x**3 / 120 + x**4 / 720 - x**5 / 5040
    safe = np.where(small, 1.0, x)
    return np.where(small, series, (safe + np.expm1(-safe)) / safe**2)


def heat_capacity_si(volume: Any, temperature: Any = _REFERENCE) -> Any:
    """Heat capacity of a volume of water.

    Parameters
    ----------
    volume : float or array [m³]
        Of the water at ``temperature``.
    temperature : float or array [K, 273.15 to 373.15]
        Where density and specific heat are taken; 60 °F if not given.

    Returns
    -------
    float or array [J/K]
    """
    return volume * density_si(temperature) * specific_heat_si(temperature)


def temperature_after_si(
    time: Any,
    start: Any,
    capacity: Any,
    power: Any,
    loss: Any,
    ambient: Any,
    draw: Any = 0.0,
    inlet: Any = 0.0,
) -> Any:
    """Temperature of a well-mixed tank after a time. Arguments broadcast.

    Parameters
    ----------
    time : float or array [s, 0 or more]
    start : float or array [K]
        Temperature at the beginning.
    capacity : float or array [J/K, above 0]
        Heat capacity of tank and water.
    power : float or array [W]
        Into the water.
    loss : float or array [W/K, 0 or more]
        Through the wall, UA.
    ambient : float or array [K]
        Outside the wall.
    draw : float or array [W/K, 0 or more]
        Heat capacity flow of the water drawn.
    inlet : float or array [K]
        Of the water that replaces it.

    Returns
    -------
    float or array [K]
    """
    net = power - loss * (np.asarray(start) - ambient) - draw * (np.asarray(start) - inlet)
    return (start + net * time / capacity * _decay((loss + draw) * np.asarray(time) / capacity))[()]


def mean_temperature_si(
    time: Any,
    start: Any,
    capacity: Any,
    power: Any,
    loss: Any,
    ambient: Any,
    draw: Any = 0.0,
    inlet: Any = 0.0,
) -> Any:
    """Mean over the time of a well-mixed tank's temperature: gives heat lost and drawn. Arguments broadcast.

    Parameters
    ----------
    time : float or array [s, 0 or more]
    start : float or array [K]
        Temperature at the beginning.
    capacity : float or array [J/K, above 0]
        Heat capacity of tank and water.
    power : float or array [W]
        Into the water.
    loss : float or array [W/K, 0 or more]
        Through the wall, UA.
    ambient : float or array [K]
        Outside the wall.
    draw : float or array [W/K, 0 or more]
        Heat capacity flow of the water drawn.
    inlet : float or array [K]
        Of the water that replaces it.

    Returns
    -------
    float or array [K]
    """
    net = power - loss * (np.asarray(start) - ambient) - draw * (np.asarray(start) - inlet)
    return (start + net * time / capacity * _decay_mean((loss + draw) * np.asarray(time) / capacity))[()]


def time_to_temperature_si(
    target: Any,
    start: Any,
    capacity: Any,
    power: Any,
    loss: Any,
    ambient: Any,
    draw: Any = 0.0,
    inlet: Any = 0.0,
) -> Any:
    """Time until a well-mixed tank reaches a temperature; infinite if it never does. Arguments broadcast.

    Parameters
    ----------
    target : float or array [K]
        Temperature to reach, from below or from above.
    start : float or array [K]
        Temperature at the beginning.
    capacity : float or array [J/K, above 0]
        Heat capacity of tank and water.
    power : float or array [W]
        Into the water.
    loss : float or array [W/K, 0 or more]
        Through the wall, UA.
    ambient : float or array [K]
        Outside the wall.
    draw : float or array [W/K, 0 or more]
        Heat capacity flow of the water drawn.
    inlet : float or array [K]
        Of the water that replaces it.

    Returns
    -------
    float or array [s]
    """
    return arrival_si(start, capacity, power, loss, ambient, draw, inlet)(target)[()]


def arrival_si(
    start: Any, capacity: Any, power: Any, loss: Any, ambient: Any, draw: Any = 0.0, inlet: Any = 0.0
) -> Callable[[Any], NDArray[np.float64]]:
    """``time_to_temperature_si`` of a tank as it stands, as a function of the target: for many targets.

    Parameters
    ----------
    start : float or array [K, 250 to 450]
        Temperature of the water now.
    capacity : float or array [J/K, above 0]
    power : float or array [W, 0 or more]
    loss : float or array [W/K, 0 or more]
    ambient : float or array [K, 230 to 330]
    draw : float or array [W/K, 0 or more]
        Heat capacity of the water that is drawn in a second.
    inlet : float or array [K, 273 to 330]

    Returns
    -------
    function of a target (float or array, K) that gives s, an array
    """
    start, capacity = np.asarray(start, dtype=float), np.asarray(capacity, dtype=float)
    net = (power - loss * (start - ambient) - draw * (start - inlet)) / capacity
    slows = (loss + draw) / capacity

    def until(target: Any) -> NDArray[np.float64]:
        rise = np.asarray(target, dtype=float) - start
        moving = rise * net > 0.0
        if not moving.any():
            never: NDArray[np.float64] = np.where(rise == 0.0, 0.0, np.full(moving.shape, np.inf))
            return never
        straight = np.divide(rise, net, out=np.full(moving.shape, np.inf), where=moving)
        x = slows * np.where(moving, straight, 0.0)
        # The straight-line time is stretched by -ln(1 - x)/x; from x = 1 on the tank settles before the target.
        inside = (x > 1e-9) & (x < 1.0)
        safe = np.where(inside, x, 0.5)
        stretch = np.where(inside, -np.log1p(-safe) / safe, np.where(x < 1.0, 1.0 + x / 2.0, np.inf))
        found: NDArray[np.float64] = np.where(rise == 0.0, 0.0, straight * stretch)
        return found

    return until


def settling_temperature_si(power: Any, loss: Any, ambient: Any, draw: Any = 0.0, inlet: Any = 0.0) -> Any:
    """Temperature that a well-mixed tank settles at. Arguments broadcast.

    Parameters
    ----------
    power : float or array [W]
        Into the water.
    loss : float or array [W/K; ``loss`` + ``draw`` above 0]
        Through the wall, UA.
    ambient : float or array [K]
        Outside the wall.
    draw : float or array [W/K, 0 or more]
        Heat capacity flow of the water drawn.
    inlet : float or array [K]
        Of the water that replaces it.

    Returns
    -------
    float or array [K]
    """
    return (power + loss * ambient + draw * inlet) / (loss + draw)


def _tank(
    start: Quantity, volume: Quantity, power: Quantity, loss: Quantity, ambient: Quantity,
    flow: Quantity | None, inlet: Quantity | None,
) -> tuple[Any, Any, Any, Any, Any, Any, Any]:  # fmt: skip
    """The tank's arguments, checked, in the kernels' order: start, capacity, power, loss, ambient, draw, inlet."""
    kelvin = si("start", start, "kelvin", FREEZING, BOILING, _LIQUID)
    capacity = heat_capacity_si(si("volume", volume, "m**3", 1e-6, _INF, "a tank holds something"))
    watts = si("power", power, "W", 0.0, _INF, "a heater only adds heat")
    coefficient = si("loss", loss, "W/delta_degC", 0.0, _INF, "heat goes from warm to cold")
    outside = si("ambient", ambient, "kelvin", 223.15, 333.15, _AIR)
    if flow is None:
        return kelvin, capacity, watts, coefficient, outside, 0.0, kelvin
    if inlet is None:
        raise ValueError(
            "inlet is missing; expected the temperature of the water that replaces what is drawn"
        )
    draw = heat_capacity_si(si("flow", flow, "m**3/s", 0.0, _INF, "water is drawn, not pushed back"))
    cold = si("inlet", inlet, "kelvin", FREEZING, BOILING, _LIQUID)
    return kelvin, capacity, watts, coefficient, outside, draw, cold


def temperature_after(
    time: Quantity,
    start: Quantity,
    volume: Quantity,
    power: Quantity,
    loss: Quantity,
    ambient: Quantity,
    flow: Quantity | None = None,
    inlet: Quantity | None = None,
) -> Quantity:
    """Temperature of a well-mixed tank after a time of heating, cooling or drawing.

    T(t) = T∞ + (T0 - T∞) exp(-t (UA + W) / C): the closed form of the balance at the module's
    head, with water's density and specific heat at 60 °F. [1]_

    Parameters
    ----------
    time : Quantity [s, 0 or more]
        How long.
    start : Quantity [°C, 0 to 100]
        Temperature at the beginning.
    volume : Quantity [L, above 0]
        Of the tank.
    power : Quantity [W, 0 or more]
        Into the water.
    loss : Quantity [W/K, 0 or more]
        Through the wall, UA.
    ambient : Quantity [°C, -50 to 60]
        Outside the wall.
    flow : Quantity [L/min, 0 or more]
        Drawn; nothing if not given.
    inlet : Quantity [°C, 0 to 100]
        Of the water that replaces it; needed with ``flow``.

    Returns
    -------
    Quantity [°C]
        Above 100 °C it says that the water would boil: the law knows no steam.

    Raises
    ------
    ValueError
        An argument out of range, or ``flow`` without ``inlet``.

    Examples
    --------
    >>> hot = temperature_after(quantity(1, "hour"), quantity(60, "degF"), quantity(10, "gallon"),
    ...                         quantity(1440, "W"), quantity(0, "W/delta_degC"), quantity(60, "degF"))
    >>> print(f"{hot.to('degF'):.1f~P}")
    118.9 °F

    References
    ----------
    .. [1] First law for one well-mixed node; any heat transfer text.
    """
    seconds = si("time", time, "s", 0.0, _INF, "time runs forward")
    kelvin = temperature_after_si(seconds, *_tank(start, volume, power, loss, ambient, flow, inlet))
    return quantity(kelvin - T0, "degC")


def time_to_temperature(
    target: Quantity,
    start: Quantity,
    volume: Quantity,
    power: Quantity,
    loss: Quantity,
    ambient: Quantity,
    flow: Quantity | None = None,
    inlet: Quantity | None = None,
) -> Quantity:
    """Time until a well-mixed tank reaches a temperature, heating up or cooling down.

    t = -C / (UA + W) × ln((target - T∞) / (T0 - T∞)), the inverse of ``temperature_after``. [1]_

    Parameters
    ----------
    target : Quantity [°C, 0 to 100]
        Temperature to reach.
    start : Quantity [°C, 0 to 100]
        Temperature at the beginning.
    volume : Quantity [L, above 0]
        Of the tank.
    power : Quantity [W, 0 or more]
        Into the water.
    loss : Quantity [W/K, 0 or more]
        Through the wall, UA.
    ambient : Quantity [°C, -50 to 60]
        Outside the wall.
    flow : Quantity [L/min, 0 or more]
        Drawn; nothing if not given.
    inlet : Quantity [°C, 0 to 100]
        Of the water that replaces it; needed with ``flow``.

    Returns
    -------
    Quantity [min]

    Raises
    ------
    ValueError
        An argument out of range, or the tank never gets there.

    Examples
    --------
    >>> wait = time_to_temperature(quantity(140, "degF"), quantity(60, "degF"), quantity(10, "gallon"),
    ...                            quantity(1440, "W"), quantity(0, "W/delta_degC"), quantity(60, "degF"))
    >>> print(f"{wait:.1f~P}")
    81.5 min

    References
    ----------
    .. [1] First law for one well-mixed node; any heat transfer text.
    """
    kelvin = si("target", target, "kelvin", FREEZING, BOILING, _LIQUID)
    tank = _tank(start, volume, power, loss, ambient, flow, inlet)
    seconds = time_to_temperature_si(kelvin, *tank)
    if not np.isfinite(seconds).all():
        raise ValueError(f"target = {target:~P} is out of range; the tank never gets there: "
                         "what goes in and what goes out settle before it, or lead away from it")  # fmt: skip
    return quantity(seconds / 60.0, "minute")


def settling_temperature(
    power: Quantity,
    loss: Quantity,
    ambient: Quantity,
    flow: Quantity | None = None,
    inlet: Quantity | None = None,
) -> Quantity:
    """Temperature at which a well-mixed tank settles: (P + UA Ta + W Ti) / (UA + W). [1]_

    Parameters
    ----------
    power : Quantity [W, 0 or more]
        Into the water.
    loss : Quantity [W/K, 0 or more]
        Through the wall, UA.
    ambient : Quantity [°C, -50 to 60]
        Outside the wall.
    flow : Quantity [L/min, 0 or more]
        Drawn; nothing if not given.
    inlet : Quantity [°C, 0 to 100]
        Of the water that replaces it; needed with ``flow``.

    Returns
    -------
    Quantity [°C]
        Above 100 °C it says that the water would boil: the law knows no steam.

    Raises
    ------
    ValueError
        An argument out of range, or neither loss nor flow: then nothing settles.

    Examples
    --------
    >>> shower = settling_temperature(quantity(1440, "W"), quantity(0, "W/delta_degC"), quantity(20, "degC"),
    ...                               quantity(1, "gallon/minute"), quantity(60, "degF"))
    >>> print(f"{shower.to('degF'):.1f~P}")
    69.8 °F

    References
    ----------
    .. [1] First law for one well-mixed node; any heat transfer text.
    """
    anything = quantity(20.0, "degC")
    _, _, watts, coefficient, outside, draw, cold = _tank(
        anything, quantity(1.0, "L"), power, loss, ambient, flow, inlet
    )
    if np.any(np.asarray(coefficient + draw) <= 0.0):
        raise ValueError("loss and flow are both 0; expected one above 0: without a way out nothing settles")
    return quantity(settling_temperature_si(watts, coefficient, outside, draw, cold) - T0, "degC")


def temperature_after_draw(drawn: Quantity, volume: Quantity, start: Quantity, inlet: Quantity) -> Quantity:
    """Temperature of a well-mixed, unheated tank after a volume was drawn: Ti + (T0 - Ti) exp(-drawn/V). [1]_

    The worst case: a tank that keeps its hot water on top gives more of it.

    Parameters
    ----------
    drawn : Quantity [L, 0 or more]
        Volume drawn and replaced.
    volume : Quantity [L, above 0]
        Of the tank.
    start : Quantity [°C, 0 to 100]
        Temperature at the beginning.
    inlet : Quantity [°C, 0 to 100]
        Of the water that replaces it.

    Returns
    -------
    Quantity [°C]

    Raises
    ------
    ValueError
        An argument out of range.

    Examples
    --------
    >>> left = temperature_after_draw(quantity(6, "gallon"), quantity(6, "gallon"),
    ...                               quantity(140, "degF"), quantity(60, "degF"))
    >>> print(f"{left.to('degF'):.1f~P}")
    89.4 °F

    References
    ----------
    .. [1] Heat balance of one well-mixed node.
    """
    turns = si("drawn", drawn, "m**3", 0.0, _INF, "water is drawn, not pushed back")
    turns = turns / si("volume", volume, "m**3", 1e-6, _INF, "a tank holds something")
    cold = si("inlet", inlet, "kelvin", FREEZING, BOILING, _LIQUID)
    hot = si("start", start, "kelvin", FREEZING, BOILING, _LIQUID)
    return quantity(cold + (hot - cold) * np.exp(-turns) - T0, "degC")
