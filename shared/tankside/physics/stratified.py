"""A tank as a stack of layers: hot water stays on top, cold comes in below.

Node 0 is the bottom. Between two moments of mixing every node follows

    C/n dT/dt = P f - (UA/n) (T - Ta) + W (T below - T) + K (T above - T) + K (T below - T)

with the inlet "below" the bottom node: a linear system with constant coefficients, solved by its
matrix exponential, exactly and for a whole batch of tanks at once. Where a lower node has become
warmer than the one above it, water turns over: the nodes mix to their common mean. With one node
this is ``tank_heat`` to the last digits. Heat in, lost, drawn and stored come from the same
exponential, so that they balance.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike, NDArray

from tankside.physics._ranges import number, si
from tankside.physics.tank_heat import heat_capacity_si
from tankside.physics.water import BOILING, FREEZING, T0
from tankside.units import registry

if TYPE_CHECKING:
    from tankside.physics._ranges import Quantity

Array = NDArray[np.float64]

NODES_AT_MOST = 50


@dataclass(frozen=True)
class TankStep:
    """Where a time step ended. ``temperature`` has the nodes (bottom first) as its last axis."""

    temperature: Array
    """K."""
    added: Array
    """J into the water by heating."""
    lost: Array
    """J through the wall."""
    drawn: Array
    """J carried off by the draw, above the inlet's temperature."""
    outlet: Array
    """K, mean temperature of the top node: what the tap got, if it got anything."""


def _expm(matrix: Array) -> Array:
    """exp of a batch of small matrices: scaling, Taylor to rounding error, squaring."""
    norm = float(np.abs(matrix).sum(axis=-1).max(initial=0.0))
    halvings = max(0, math.ceil(math.log2(norm / 0.25))) if norm > 0.25 else 0
    scaled = matrix / 2.0**halvings
    total = np.broadcast_to(np.eye(matrix.shape[-1]), matrix.shape).copy()
    term = total.copy()
    for k in range(1, 15):  # 0.25^14/14! is below 1e-19
        term = term @ scaled / k
        total += term
    for _ in range(halvings):
        total = total @ total
    return total


def turn_over_si(temperature: ArrayLike) -> Array:
    """Mix what lies warm under cold: equal nodes to the nearest order that rises upwards, same mean.

    Parameters
    ----------
    temperature : array, last axis the nodes from the bottom up [K]

    Returns
    -------
    array [K]
    """
    t = np.array(temperature, dtype=float)
    if not (t[..., 1:] < t[..., :-1]).any():
        return t
    n = t.shape[-1]
    sums = np.concatenate([np.zeros_like(t[..., :1]), np.cumsum(t, axis=-1)], axis=-1)
    # Isotonic regression: each node gets the largest, over lower starts, of the least mean upwards.
    best = np.full(t.shape, -np.inf)
    for low in range(n):
        means = (sums[..., low + 1 :] - sums[..., low : low + 1]) / np.arange(1, n - low + 1)
        least = np.minimum.accumulate(means[..., ::-1], axis=-1)[..., ::-1]
        best[..., low:] = np.maximum(best[..., low:], least)
    return best


def stratified_step_si(
    time: float,
    start: ArrayLike,
    capacity: ArrayLike,
    power: ArrayLike,
    heated: ArrayLike,
    loss: ArrayLike,
    ambient: ArrayLike,
    draw: ArrayLike = 0.0,
    inlet: ArrayLike = 288.15,
    mixing: ArrayLike = 0.0,
    substep: float = 60.0,
) -> TankStep:
    """A batch of layered tanks after a time. All arguments but the times broadcast over the batch.

    Parameters
    ----------
    time : float [s, 0 or more]
    start : array (..., n) [K]
        Temperature of the nodes, bottom first.
    capacity : float or array (...) [J/K, above 0]
        Heat capacity of the whole tank, shared equally.
    power : float or array (...) [W]
        Heating of the whole tank.
    heated : array (..., n) or (n,) [1, each 0 to 1, sum 1]
        Part of the power that each node gets.
    loss : float or array (...) [W/K, 0 or more]
        UA of the whole tank, shared equally.
    ambient : float or array (...) [K]
        Outside the wall.
    draw : float or array (...) [W/K, 0 or more]
        Heat capacity flow of the water drawn from the top.
    inlet : float or array (...) [K]
        Of the water that comes in at the bottom.
    mixing : float or array (...) [W/K, 0 or more]
        Conductance between neighbouring nodes.
    substep : float [s, above 0]
        Nodes turn over at least this often.

    Returns
    -------
    TankStep
        Arrays over the batch; its temperatures (..., n).
    """
    t = np.asarray(start, dtype=float)
    n = t.shape[-1]
    parts = [np.asarray(v, dtype=float) for v in (capacity, power, loss, ambient, draw, inlet, mixing)]
    batch = np.broadcast_shapes(t.shape[:-1], np.shape(heated)[:-1], *(p.shape for p in parts))
    node, watts, ua, outside, flow, cold, between = (np.broadcast_to(p, batch) for p in parts)
    node, ua = node / n, ua / n
    share = np.broadcast_to(np.asarray(heated, dtype=float), (*batch, n))
    t = np.broadcast_to(t, (*batch, n)).copy()
    base = t.mean(axis=-1)  # temperatures are carried as differences from here, for accuracy

    steps = max(1, math.ceil(time / substep - 1e-9))
    dt = time / steps
    # d/dt of (T, its integral, 1): x' = M x
    m = np.zeros((*batch, 2 * n + 1, 2 * n + 1))
    i = np.arange(n)
    m[..., i, i] = -(ua + flow)[..., None]
    m[..., i[1:], i[:-1]] += (flow + between)[..., None]
    m[..., i[:-1], i[1:]] += between[..., None]
    m[..., i[1:], i[1:]] -= between[..., None]
    m[..., i[:-1], i[:-1]] -= between[..., None]
    m[..., i, 2 * n] = watts[..., None] * share + (ua * (outside - base))[..., None]
    m[..., 0, 2 * n] += flow * (cold - base)
    m[..., :n, :] /= node[..., None, None]
    m[..., n + i, i] = 1.0
    exponential = _expm(m * dt)

    x = np.concatenate([t - base[..., None], np.zeros_like(t), np.ones((*batch, 1))], axis=-1)[..., None]
    for _ in range(steps):
        x = exponential @ x
        x[..., :n, 0] = turn_over_si(x[..., :n, 0])
    integral = x[..., n : 2 * n, 0]
    return TankStep(
        temperature=x[..., :n, 0] + base[..., None],
        added=watts * share.sum(axis=-1) * time,
        lost=(ua[..., None] * (integral - ((outside - base) * time)[..., None])).sum(axis=-1),
        drawn=flow * (integral[..., -1] - (cold - base) * time),
        outlet=base + (integral[..., -1] / time if time > 0 else x[..., n - 1, 0]),
    )


def stratified_after(
    time: Quantity,
    start: Quantity,
    volume: Quantity,
    power: Quantity,
    loss: Quantity,
    ambient: Quantity,
    flow: Quantity | None = None,
    inlet: Quantity | None = None,
    heated: ArrayLike | None = None,
    mixing: Quantity | None = None,
) -> Quantity:
    """Temperatures of a tank's layers after a time of heating, cooling or drawing.

    The layers of the module's head: heat goes in at the bottom unless ``heated`` says otherwise, hot
    water is drawn from the top. Drawing smears the boundary between hot and cold over some layers:
    more layers keep it sharper. [1]_

    Parameters
    ----------
    time : Quantity [s, 0 or more, one value]
        How long.
    start : Quantity of n values [°C, 0 to 100; n from 1 to 50]
        Temperatures of the layers, bottom first.
    volume : Quantity [L, above 0]
        Of the tank.
    power : Quantity [W, 0 or more]
        Into the water.
    loss : Quantity [W/K, 0 or more]
        UA of the whole wall.
    ambient : Quantity [°C, -50 to 60]
        Outside the wall.
    flow : Quantity [L/min, 0 or more]
        Drawn; nothing if not given.
    inlet : Quantity [°C, 0 to 100]
        Of the water that replaces it; needed with ``flow``.
    heated : n numbers [1, each 0 to 1, sum 1]
        Part of the power that each layer gets; all to the bottom one if not given.
    mixing : Quantity [W/K, 0 or more]
        Conductance between neighbouring layers; none if not given.

    Returns
    -------
    Quantity of n values [°C], bottom first

    Raises
    ------
    ValueError
        An argument out of range, or ``flow`` without ``inlet``.

    Examples
    --------
    >>> from tankside.units import quantity, registry
    >>> layers = stratified_after(quantity(3, "minute"), registry().Quantity([60.0] * 5, "degC"),
    ...     quantity(20, "L"), quantity(0, "W"), quantity(0, "W/delta_degC"), quantity(20, "degC"),
    ...     quantity(4, "L/minute"), quantity(10, "degC"))
    >>> print(" ".join(f"{t:.0f}" for t in layers.magnitude))
    12 20 31 42 51

    References
    ----------
    .. [1] Multi-node tank, e.g. Duffie and Beckman, Solar Engineering of Thermal Processes (from memory).
    """
    seconds = float(si("time", time, "s", 0.0, math.inf, "time runs forward"))
    liquid = "liquid water at atmospheric pressure"
    kelvin = np.atleast_1d(si("start", start, "kelvin", FREEZING, BOILING, liquid))
    n = kelvin.shape[-1]
    number("start: layers", n, 1, NODES_AT_MOST, "layers of one tank")
    parts = np.asarray([1.0] + [0.0] * (n - 1) if heated is None else heated, dtype=float)
    number("heated", parts, 0.0, 1.0, "a part of the power")
    if parts.shape != (n,) or abs(parts.sum() - 1.0) > 1e-9:
        raise ValueError(f"heated = {parts.tolist()} is out of range; expected {n} parts whose sum is 1")
    if flow is not None and inlet is None:
        raise ValueError(
            "inlet is missing; expected the temperature of the water that replaces what is drawn"
        )
    step = stratified_step_si(
        seconds,
        kelvin,
        heat_capacity_si(si("volume", volume, "m**3", 1e-6, math.inf, "a tank holds something")),
        si("power", power, "W", 0.0, math.inf, "a heater only adds heat"),
        parts,
        si("loss", loss, "W/delta_degC", 0.0, math.inf, "heat goes from warm to cold"),
        si("ambient", ambient, "kelvin", 223.15, 333.15, "a place where a heater stands"),
        0.0
        if flow is None
        else heat_capacity_si(si("flow", flow, "m**3/s", 0.0, math.inf, "water is drawn")),
        288.15 if inlet is None else si("inlet", inlet, "kelvin", FREEZING, BOILING, liquid),
        0.0
        if mixing is None
        else si("mixing", mixing, "W/delta_degC", 0.0, math.inf, "layers exchange heat"),
    )
    result: Quantity = registry().Quantity(step.temperature - T0, "degC")
    return result
