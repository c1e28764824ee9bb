"""From cylinder to burner: regulator, hose or pipe, and the point where supply and burners agree.

Pressures are gauge unless said otherwise; flows are counted at 60 degF, 14.696 psia.

Sources
-------
[1] Darcy-Weisbach with S. W. Churchill's friction factor (Chem. Eng. 84 (24), 1977, 91), one curve from laminar to
    turbulent flow (form from memory; checked against the ``fluids`` library).
[2] Spitzglass's low-pressure formula, Q = 3550 sqrt(dH d^5 / (SG L (1 + 3.6/d + 0.03 d))), ft3/h, in, ft, inWC
    (from memory; checked against ``fluids.Spitzglass_low``, which follows GPSA).
[3] Regulator: a teaching model of ours with the trade's words: lock-up at no flow, set point at a trickle, a
    straight droop to the rated flow, and a fully open seat that passes choked flow in proportion to the inlet's
    absolute pressure (form of the open seat: ISO 6358, critical pressure ratio 0.5; from memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal

import numpy as np

from tankside.physics._ranges import number, one_of, si
from tankside.physics._roots import falling_root
from tankside.physics.fuels import STANDARD_PRESSURE, STANDARD_TEMPERATURE, Fuel, density_si
from tankside.physics.gas import DISCHARGE, orifice_flow_si
from tankside.units import quantity

if TYPE_CHECKING:
    from tankside.physics._ranges import Quantity

INWC = 249.08891
"""Pa in an inch of water column at 4 degC."""
_CRITICAL = 0.5
_LOCKING = 0.02  # share of the rated flow within which the seat closes from set point to lock-up


@dataclass(frozen=True)
class Regulator:
    """A low-pressure regulator in SI units [3]; floats, or arrays for a batch.

    ``set_pressure`` Pa at a trickle; ``lock_up`` Pa at no flow, at least the set pressure; ``droop`` Pa lost from a
    trickle to ``rated_flow`` (m3/s); ``open_flow`` m3/s that the fully open seat passes at ``open_inlet`` (Pa
    absolute); ``seat_leak`` m3/s past a seat that can't close; ``relief`` Pa at which its relief valve holds the
    outlet then.
    """

    set_pressure: Any
    lock_up: Any
    droop: Any
    rated_flow: Any
    open_flow: Any
    open_inlet: Any
    seat_leak: Any = 0.0
    relief: Any = 20 * INWC


def regulator_outlet_si(
    regulator: Regulator, flow: Any, inlet: Any, atmosphere: Any = STANDARD_PRESSURE
) -> Any:
    """Pa gauge behind a regulator; falls as the flow grows.

    Parameters
    ----------
    regulator : Regulator
    flow : float or array [m3/s, >= 0]
    inlet : float or array [Pa absolute, e.g. the cylinder's vapour pressure]
    atmosphere : float or array [Pa]
    """
    r, flow = regulator, np.asarray(flow, dtype=float)
    net = flow - r.seat_leak
    locking = (r.lock_up - r.set_pressure) * np.exp(-np.maximum(net, 0.0) / (_LOCKING * r.rated_flow))
    held = r.set_pressure + locking - r.droop * np.maximum(net, 0.0) / r.rated_flow
    held = np.where(net < 0, r.relief, held)
    share = flow * r.open_inlet / (r.open_flow * np.maximum(inlet, 1.0))
    ratio = _CRITICAL + (1 - _CRITICAL) * np.sqrt(np.maximum(1 - share**2, 0.0)) - np.maximum(share - 1, 0.0)
    wide_open = ratio * inlet - atmosphere
    return np.minimum(held, wide_open)


def friction_factor_si(reynolds: Any, roughness: Any = 0.0) -> Any:
    """Darcy's friction factor by Churchill [1]; ``roughness`` over diameter; floats or arrays, Reynolds > 0."""
    re = np.maximum(np.asarray(reynolds, dtype=float), 1e-9)
    # Churchill writes the logarithm of the inverse: the even power takes the sign away.
    a = (2.457 * np.log((7 / re) ** 0.9 + 0.27 * np.asarray(roughness))) ** 16
    b = (37530 / re) ** 16
    return 8 * ((8 / re) ** 12 + (a + b) ** -1.5) ** (1 / 12)


def pipe_drop_si(
    flow: Any,
    diameter: Any,
    length: Any,
    density: Any,
    viscosity: Any,
    roughness: Any = 1.5e-6,
    fittings: Any = 0.0,
) -> Any:
    """Pa lost by gas in a hose or pipe [1], where the loss is small beside the absolute pressure.

    Parameters
    ----------
    flow : float or array [m3/s as it flows]
    diameter, length : float or array [m, inside, > 0]
    density : float or array [kg/m3]
    viscosity : float or array [Pa s]
    roughness : float or array [m; 1.5e-6 drawn tube, 45e-6 steel pipe]
    fittings : float or array [sum of loss coefficients of bends and valves]
    """
    speed = 4 * np.asarray(flow, dtype=float) / (np.pi * np.asarray(diameter) ** 2)
    friction = friction_factor_si(
        density * np.abs(speed) * diameter / viscosity, roughness / np.asarray(diameter)
    )
    return (friction * length / diameter + fittings) * density * speed**2 / 2


def _agreed(
    regulator: Regulator, inlet: Any, demand: Any, pipe: Any, exponent: float, atmosphere: Any, most: Any
) -> Any:
    """m3/s between 0 and ``most`` at which what the regulator gives is what pipe and orifices take.

    Every variant gets the same bits alone and in a batch.
    """
    r = regulator
    low, high = np.zeros(most.shape), most

    def over(q: Any) -> tuple[Any, Any]:
        """Pa that the regulator gives more than is taken, and its slope."""
        net = q - r.seat_leak
        passing = np.maximum(net, 0.0)
        locking = (r.lock_up - r.set_pressure) * np.exp(-passing / (_LOCKING * r.rated_flow))
        held = np.where(net < 0, r.relief, r.set_pressure + locking - r.droop * passing / r.rated_flow)
        falls = np.where(net < 0, 0.0, (locking / _LOCKING + r.droop) / r.rated_flow)
        grows = r.open_inlet / (r.open_flow * np.maximum(inlet, 1.0))
        share = q * grows
        root, beyond = np.sqrt(np.maximum(1 - share**2, 0.0)), share > 1
        ratio = _CRITICAL + (1 - _CRITICAL) * root - np.where(beyond, share - 1, 0.0)
        wide_open = ratio * inlet - atmosphere
        steep = np.where(beyond, 1.0, (1 - _CRITICAL) * share / np.maximum(root, 1e-9)) * grows * inlet
        taken = pipe * q**exponent + (q / demand) ** 2
        slope = (pipe * exponent * q**exponent + 2 * (q / demand) ** 2) / np.maximum(q, 1e-300)
        return np.minimum(held, wide_open) - taken, np.where(held < wide_open, falls, steep) + slope

    high = np.where(inlet > atmosphere, high, 0.0)
    leaks = np.broadcast_to(np.asarray(r.seat_leak) > 0, most.shape)
    if leaks.any():  # the curve jumps where the seat begins to regulate: look at both sides of it
        at = np.minimum(np.broadcast_to(r.seat_leak, most.shape), high)
        before = np.nextafter(at, 0.0)
        follows = over(at)[0] > 0
        jumps = ~follows & (over(before)[0] > 0)
        low = np.where(leaks & follows, at, np.where(leaks & jumps, before, low))
        high = np.where(leaks & ~follows, np.where(jumps, at, before), high)
    # Where the seat regulates and doesn't lock, set pressure less droop is a square of the flow: nearly the answer.
    droop = r.droop / r.rated_flow
    square = np.maximum(demand, 1e-140) ** -2.0 + pipe * np.where(most > 0, most, 1.0) ** (exponent - 2.0)
    q = 2 * r.set_pressure / (droop + np.sqrt(droop**2 + 4 * square * r.set_pressure))
    return falling_root(over, low, high, np.broadcast_to(q, most.shape))


def supply_si(
    regulator: Regulator,
    inlet: Any,
    demand: Any,
    pipe: Any = 0.0,
    exponent: float = 1.75,
    atmosphere: Any = STANDARD_PRESSURE,
) -> tuple[Any, Any, Any]:
    """Where regulator, pipe and burners agree: flow, pressure at the regulator, pressure at the burners.

    Parameters
    ----------
    regulator : Regulator
    inlet : float or array [Pa absolute]
    demand : float or array [m3/s per square root of Pa: all open orifices; 0 = all shut]
    pipe : float or array [Pa per (m3/s)^exponent]
    exponent : float [1 laminar to 2 rough turbulent]
    atmosphere : float or array [Pa]

    Returns
    -------
    (flow m3/s, Pa gauge at the regulator, Pa gauge at the burners)
    """
    demand = np.asarray(demand, dtype=float)
    shape = np.broadcast_shapes(
        demand.shape, np.shape(inlet), np.shape(pipe), np.shape(atmosphere), np.shape(regulator.set_pressure)
    )
    highest = np.maximum(regulator.lock_up, regulator.relief)
    safe = np.where(demand > 0, demand, 1.0)
    flow = _agreed(
        regulator,
        inlet,
        safe,
        pipe,
        exponent,
        atmosphere,
        np.broadcast_to(demand * np.sqrt(highest), shape).copy(),
    )
    flow = np.where(flow > 1e-12 * demand * np.sqrt(highest), flow, 0.0)  # no inlet pressure: no flow at all
    at_burner = (flow / safe) ** 2
    at_regulator = np.where(
        demand > 0, at_burner + pipe * flow**exponent, regulator_no_flow_si(regulator, inlet, atmosphere)
    )
    at_burner = np.where(demand > 0, at_burner, at_regulator)
    return flow[()], at_regulator[()], at_burner[()]


def regulator_no_flow_si(regulator: Regulator, inlet: Any, atmosphere: Any = STANDARD_PRESSURE) -> Any:
    """Pa gauge with everything shut: lock-up, or the relief's pressure when the seat leaks; never above the inlet."""
    closed = np.where(np.asarray(regulator.seat_leak) > 0, regulator.relief, regulator.lock_up)
    return np.maximum(np.minimum(closed, np.asarray(inlet) - atmosphere), 0.0)


def make_regulator(
    set_pressure: Quantity,
    rated: Quantity,
    fuel: Fuel,
    *,
    lock_up: Quantity | None = None,
    droop: Quantity | None = None,
    spare: float = 1.5,
    lowest_inlet: Quantity | None = None,
) -> Regulator:
    """A regulator from what its plate says. [3] Its relief valve holds twice the set pressure, at least the lock-up.

    Parameters
    ----------
    set_pressure : Quantity [gauge, 2 to 60 inWC]
        Outlet at a trickle.
    rated : Quantity [1000 to 1 000 000 Btu/h, higher heating value]
    fuel : Fuel
    lock_up : Quantity [gauge, set pressure to 4 times it]
        Left out, 1.15 times the set pressure.
    droop : Quantity [inWC, 0 to the set pressure]
        Lost from a trickle to the rated flow; left out, 10 % of the set pressure.
    spare : float [1 to 10]
        What the open seat passes at ``lowest_inlet``, over the rated flow.
    lowest_inlet : Quantity [absolute, 1.1 to 10 bar]
        Left out, 2 bar.

    Returns
    -------
    Regulator

    Raises
    ------
    ValueError
        Out of range.

    Examples
    --------
    >>> from tankside.physics.fuels import fuel
    >>> round(make_regulator(quantity(11, "inWC"), quantity(100000, "BTU_per_hour"), fuel("propane")).set_pressure)
    2740
    """
    p = si("set pressure", set_pressure, "Pa", 2 * INWC, 60 * INWC, "low-pressure gas")
    watts = si("rated", rated, "W", 293.0, 293.1e3, "regulators of homes, boats and vehicles")
    top = (
        1.15 * p
        if lock_up is None
        else si("lock-up", lock_up, "Pa", p, 4 * p, "never under the set pressure")
    )
    fall = 0.1 * p if droop is None else si("droop", droop, "Pa", 0.0, p, "it can't lose more than it holds")
    inlet = (
        2e5
        if lowest_inlet is None
        else si("lowest inlet", lowest_inlet, "Pa", 1.1e5, 1e6, "absolute, a cold cylinder")
    )
    extra = number("spare", spare, 1.0, 10.0, "a regulator passes at least its rated flow")
    flow = float(watts / (fuel.higher_si * density_si(fuel) / fuel.molar_mass_si))
    return Regulator(
        float(p),
        float(top),
        float(fall),
        flow,
        flow * extra,
        float(inlet),
        0.0,
        max(2 * float(p), float(top)),
    )


def pipe_drop(
    heat: Quantity,
    fuel: Fuel,
    diameter: Quantity,
    length: Quantity,
    *,
    formula: Literal["Darcy", "Spitzglass"] = "Darcy",
    roughness: Quantity | None = None,
    fittings: float = 0.0,
) -> Quantity:
    """Pressure that low-pressure gas loses in a hose or pipe. [1] [2]

    Parameters
    ----------
    heat : Quantity [0 to 1 000 000 Btu/h, higher heating value]
        What the burners behind it draw.
    fuel : Fuel
    diameter : Quantity [inside, 0.1 to 4 in; Spitzglass was made for pipes from about 0.5 in]
    length : Quantity [0 to 500 ft]
    formula : "Darcy" or "Spitzglass"
    roughness : Quantity [0 to 0.3 mm]
        For Darcy; left out, 1.5 micrometre (drawn tube).
    fittings : float [0 to 200]
        For Darcy: sum of the loss coefficients of bends and valves.

    Returns
    -------
    Quantity [inches of water column]

    Raises
    ------
    ValueError
        Out of range.

    Examples
    --------
    >>> from tankside.physics.fuels import fuel
    >>> drop = pipe_drop(quantity(30000, "BTU_per_hour"), fuel("propane"), quantity(0.375, "in"), quantity(20, "ft"))
    >>> print(f"{drop.magnitude:.2f} inWC")
    0.18 inWC
    """
    watts = si("heat", heat, "W", 0.0, 293.1e3, "burners of a home, a boat or a vehicle")
    d = si("diameter", diameter, "m", 0.00254, 0.1016, "gas tubes and pipes")
    run = si("length", length, "m", 0.0, 152.4, "one building, boat or vehicle")
    rough = (
        1.5e-6 if roughness is None else si("roughness", roughness, "m", 0.0, 3e-4, "drawn tube to old steel")
    )
    bends = number("fittings", fittings, 0.0, 200.0, "a run of pipe")
    one_of("formula", formula, ("Darcy", "Spitzglass"))
    flow = watts / (fuel.higher_si * density_si(fuel) / fuel.molar_mass_si)
    if formula == "Spitzglass":
        inch, cubic_feet = d / 0.0254, flow / 0.3048**3 * 3600
        shape = 1 + 3.6 / inch + 0.03 * inch
        return quantity(
            (cubic_feet / 3550) ** 2 * fuel.specific_gravity_si * run / 0.3048 * shape / inch**5, "inWC"
        )
    return quantity(
        pipe_drop_si(flow, d, run, density_si(fuel), fuel.viscosity_si, rough, bends) / INWC, "inWC"
    )


@dataclass(frozen=True)
class SupplyPoint:
    """What gauges show: at the regulator, at the burners; and the heat that flows."""

    regulator: Quantity
    burner: Quantity
    heat: Quantity


def supply_point(
    regulator: Regulator,
    inlet: Quantity,
    fuel: Fuel,
    orifices: Sequence[Quantity],
    *,
    diameter: Quantity,
    length: Quantity,
    fittings: float = 0.0,
) -> SupplyPoint:
    """Flow equilibrium: the regulator's droop, the pipe's loss and the orifices' square root agree on one flow.

    Parameters
    ----------
    regulator : Regulator
    inlet : Quantity [absolute, 0.3 to 30 bar]
    fuel : Fuel
    orifices : list of Quantity [each 0.005 to 0.25 in]
        Diameters of the orifices that are open; none = everything shut.
    diameter : Quantity [0.1 to 4 in]
        Inside, of the pipe between regulator and burners.
    length : Quantity [0 to 500 ft]
        Of that pipe.
    fittings : float [0 to 200]
        Sum of the loss coefficients of bends and valves.

    Returns
    -------
    SupplyPoint (inches of water column, Btu/h)

    Raises
    ------
    ValueError
        Out of range.

    Examples
    --------
    >>> from tankside.physics.fuels import fuel
    >>> gas = fuel("propane")
    >>> one = make_regulator(quantity(11, "inWC"), quantity(100000, "BTU_per_hour"), gas)
    >>> run = dict(diameter=quantity(0.375, "in"), length=quantity(20, "ft"))
    >>> shut = supply_point(one, quantity(100, "psi"), gas, [], **run)
    >>> print(f"{shut.burner.magnitude:.1f} inWC")
    12.6 inWC
    """
    p = si("inlet", inlet, "Pa", 0.3e5, 30e5, "a cylinder's pressure, absolute")
    holes = [
        si("orifice", hole, "m", 0.005 * 0.0254, 0.25 * 0.0254, "an appliance's orifice") for hole in orifices
    ]
    d = si("diameter", diameter, "m", 0.00254, 0.1016, "gas tubes and pipes")
    run = si("length", length, "m", 0.0, 152.4, "one building, boat or vehicle")
    bends = number("fittings", fittings, 0.0, 200.0, "a run of pipe")
    demand = sum(float(orifice_flow_si(hole, 1.0, fuel.specific_gravity_si, DISCHARGE)) for hole in holes)
    # The pipe's law is replaced by a power law through the loss at the flow that is found; two rounds settle it.
    flow, pipe, density = regulator.rated_flow, 0.0, density_si(fuel, STANDARD_TEMPERATURE)
    at_regulator = at_burner = 0.0
    for _ in range(6):
        if demand > 0:
            pipe = (
                pipe_drop_si(flow, d, run, density, fuel.viscosity_si, fittings=bends)
                / max(flow, 1e-12) ** 1.75
            )
        flow, at_regulator, at_burner = supply_si(regulator, p, demand, pipe)
    heat = flow * density / fuel.molar_mass_si * fuel.higher_si
    return SupplyPoint(
        quantity(float(at_regulator) / INWC, "inWC"),
        quantity(float(at_burner) / INWC, "inWC"),
        quantity(float(heat), "W").to("BTU_per_hour"),
    )
