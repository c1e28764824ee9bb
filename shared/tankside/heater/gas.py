"""The gas supply in time: cylinder, regulator, hose, cock, up to the orifice.

A subsystem of ``tankside.heater.simulation``. The supply is solved twice, with the burner's gas
valve open and shut; which of the two the gauges show follows from the valve (``gas_valve.open``,
set by the ignition or by a hand valve). The liquid cools as vapour is drawn and warms by the room;
the line's air is driven out by the gas that follows.

Pressures in Pa gauge, flows in m3/s at 60 degF and 14.696 psia, liquid in °C.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

from tankside.heater.memo import Answers, remembered, replayed, stacked
from tankside.heater.model import HeaterModel
from tankside.heater.unit import Unit
from tankside.physics.boiling import atmosphere_si
from tankside.physics.circuit import Solution
from tankside.physics.cylinder import (
    liquid_density_si,
    liquid_range_si,
    liquid_temperature_si,
    vapour_pressure_si,
)
from tankside.physics.fuels import STANDARD_PRESSURE, Fuel, density_si, fuel
from tankside.physics.gas import altitude_bore_si, orifice_flow_si
from tankside.physics.leaks import SHARP, hole_flow_si
from tankside.physics.supply import INWC, Regulator, pipe_drop_si, regulator_no_flow_si, supply_si

Array = NDArray[np.float64]

FUELS = ("propane", "butane")
"""By the number that a cylinder's ``fuel`` holds."""
OPEN_INLET = 2e5
"""Pa absolute at which a regulator's open seat and a cylinder's passage are stated."""
AMPLE = 6e5
"""Pa absolute above which the cylinder's pressure makes no difference behind a regulator that isn't starved."""
RELIEF = 20 * INWC
"""Pa at which a regulator's relief holds the outlet when its seat leaks (our figure; makers differ)."""
PILOT_HOLDS = 1.0 * INWC
"""Pa at the heater below which a pilot goes out (our figure)."""
FULL = 0.97
"""Share of a cylinder's volume from which its relief valve spits (our figure; the filling limit is 80 %)."""
SPITS = 2e-6
"""m3/s that a spitting relief lets out (order of magnitude, ours)."""
SPARE_LIQUID = 0.02
"""kg below which a cylinder counts as empty."""
_COOLING_STEP = 900.0
_STARVED_STEP = 180.0


@dataclass(frozen=True)
class Line:
    """What gauges would show along the line, (B,) each."""

    cylinder: Array
    pigtail: Array
    regulator: Array
    before_cock: Array
    inlet: Array
    burner: Array
    """m3/s through the burner's orifice."""
    total: Array
    """m3/s out of the cylinder through the regulator."""


def part(unit: Unit, kind: str) -> str | None:
    """The id of the model's part of a type, if it has one."""
    return _part(unit.model, kind)


@cache
def _part(model: HeaterModel, kind: str) -> str | None:
    return next(iter(model.of_type(kind)), None)


def has_gas(unit: Unit) -> bool:
    """True if the model's gas supply is computed."""
    return part(unit, "gas cylinder") is not None and part(unit, "gas orifice") is not None


def by_fuel(code: Array, function: Callable[[Fuel], Answers]) -> Answers:
    """``function`` of each variant's own fuel. Loops over the fuels there are, not over variants."""
    if (code == code[0]).all():
        return function(fuel(FUELS[int(code[0])]))
    found: Answers | None = None
    for number in np.unique(code):
        fresh = function(fuel(FUELS[int(number)]))
        here = code == number
        found = (
            fresh
            if found is None
            else tuple(np.where(here, new, old) for new, old in zip(fresh, found, strict=True))
        )
    assert found is not None
    return found


def cylinder_pressure(unit: Unit) -> Array:
    """(B,) Pa absolute of the vapour in the cylinder; the air's when it is empty."""
    (vapour,) = _vapour(stacked([unit["cylinder.fuel"], unit["cylinder.liquid"]]))
    return np.where(unit["cylinder.mass"] > SPARE_LIQUID, vapour, atmosphere(unit))


@remembered
def _vapour(inputs: Array) -> Answers:
    code, liquid = inputs

    def pressure(gas: Fuel) -> Answers:
        low, high = liquid_range_si(gas)
        return (vapour_pressure_si(gas, np.minimum(np.maximum(liquid + 273.15, low), high)),)

    return by_fuel(code, pressure)


def cylinder_fill(unit: Unit) -> Array:
    """(B,) share of the shell's volume that the liquid takes, 0 to 1."""
    liquid, mass, code = (unit[f"cylinder.{key}"] for key in ("liquid", "mass", "fuel"))

    def density(gas: Fuel) -> Answers:
        low, high = liquid_range_si(gas)
        return (liquid_density_si(gas, np.clip(liquid + 273.15, low, high)),)

    return np.clip(mass / by_fuel(code, density)[0] / unit["cylinder.volume"], 0.0, 1.0)


@replayed
def atmosphere(unit: Unit) -> Array:
    """(B,) Pa of the air where the heater stands."""
    if "burner.altitude" in unit.values:
        return np.asarray(atmosphere_si(unit["burner.altitude"]))
    return np.full(unit.batch, STANDARD_PRESSURE)


_INPUTS = (
    "cylinder.fuel", "cylinder.passage", "regulator.set_pressure", "regulator.lock_up", "regulator.droop",
    "regulator.rated_flow", "regulator.open_flow", "regulator.seat_leak", "regulator.vent", "hose.bore",
    "hose.length", "hose.open_share", "hose.leak", "gas_cock.bore", "gas_cock.turned", "gas_cock.leak",
    "gas_cock.open", "orifice.diameter", "orifice.discharge", "orifice.blocked", "orifice.leak",
    "orifice.made_for",
)  # fmt: skip


def bore(unit: Unit) -> Array:
    """(B,) m, the orifice's clear diameter."""
    return unit["orifice.diameter"] * np.sqrt(1 - unit["orifice.blocked"])


def line(unit: Unit, valve: Array | float | None = None) -> Line:
    """The line as it stands, or with the burner's valve so far open (0 to 1)."""
    air, vapour = atmosphere(unit), cylinder_pressure(unit)
    fed = _fed(unit)
    inlet = np.where(fed, vapour, air)
    regulator, before, at_inlet, burner, total = _along(unit, inlet, air, valve)
    share = total * OPEN_INLET / (unit["cylinder.passage"] * np.maximum(inlet, 1.0))
    share = np.minimum(np.maximum(share, 0.0), 1.0)
    pigtail = np.maximum(inlet * np.sqrt(1 - share**2) - air, regulator)
    return Line(vapour - air, np.where(fed, pigtail, 0.0), regulator, before, at_inlet, burner, total)


@dataclass(frozen=True)
class Flow:
    """What time does to a line, (B,) each: Pa absolute in the cylinder, m3/s through the burner's orifice and in all."""

    vapour: Array
    burner: Array
    total: Array


def flow(unit: Unit, valve: Array | float | None = None) -> Flow:
    """The part of ``line`` that the next minutes depend on."""
    air, vapour = atmosphere(unit), cylinder_pressure(unit)
    _, _, _, burner, total = _along(unit, np.where(_fed(unit), vapour, air), air, valve)
    return Flow(vapour, burner, total)


def _fed(unit: Unit) -> NDArray[np.bool_]:
    """(B,) whether vapour gets out of the cylinder."""
    return (unit["cylinder.valve"] > 0) & (unit["cylinder.mass"] > SPARE_LIQUID)


def _along(unit: Unit, inlet: Array, air: Array, valve: Array | float | None) -> Answers:
    """``_solve`` for a unit's line with so many Pa absolute before its regulator."""
    opened = valve_flow(unit) if valve is None else np.full(unit.batch, valve, dtype=float)
    return _behind(unit, np.minimum(inlet, AMPLE), opened, air)


def valve_flow(unit: Unit) -> Array:
    """(B,) how far the burner's valve is open, with what leaks by and what a pilot takes."""
    valve = "gas_valve"
    if f"{valve}.open" not in unit.values:
        return np.zeros(unit.batch)
    out = np.maximum(unit[f"{valve}.open"], unit[f"{valve}.leak_by"])
    if part(unit, "hand gas valve"):
        out = np.maximum(out, unit[f"{valve}.pilot_flow"] * unit[f"{valve}.pilot"] * unit[f"{valve}.knob"])
    return out


@replayed
def _behind(unit: Unit, inlet: Array, valve: Array, air: Array) -> Answers:
    """``_solve`` for a unit's line with so much before its regulator."""
    return _solve(stacked([*(unit[key] for key in _INPUTS), inlet, valve, air]))


@remembered
def _solve(inputs: Array) -> Answers:
    """Pressure at the regulator, before and behind the cock, flow to the burner and in all."""
    v = dict(zip((*_INPUTS, "inlet", "valve", "air"), inputs, strict=True))
    return by_fuel(v["cylinder.fuel"], lambda gas: _solve_for(gas, v))


def _solve_for(gas: Fuel, v: dict[str, Array]) -> Answers:
    gravity, density = gas.specific_gravity_si, density_si(gas)
    shut_vent = 1 - v["regulator.vent"]
    open_flow = (v["regulator.open_flow"] ** -2 + v["cylinder.passage"] ** -2) ** -0.5
    set_pressure = v["regulator.set_pressure"]
    # A diaphragm that can't breathe follows late: it sags under load and overshoots at no flow (a model of ours).
    regulator = Regulator(
        set_pressure,
        set_pressure * (v["regulator.lock_up"] + 0.5 * shut_vent),
        v["regulator.droop"] * (1 + 60 * shut_vent) * set_pressure,
        v["regulator.rated_flow"],
        open_flow,
        OPEN_INLET,
        v["regulator.seat_leak"],
        np.maximum(RELIEF, set_pressure * v["regulator.lock_up"]),
    )
    diameter = v["orifice.diameter"] * np.sqrt(1 - v["orifice.blocked"])
    burner = v["valve"] * orifice_flow_si(diameter, 1.0, gravity, v["orifice.discharge"], v["air"])
    behind = _gap(v["gas_cock.leak"], gravity) + v["valve"] * _gap(v["orifice.leak"], gravity)
    is_open = v["gas_cock.open"] > 0
    before = _gap(v["hose.leak"], gravity)
    demand = before + np.where(is_open, burner + behind, 0.0)
    usual = np.maximum(demand, 1e-12) * np.sqrt(set_pressure)
    hose = pipe_drop_si(usual, v["hose.bore"], v["hose.length"], density, gas.viscosity_si,
                        fittings=_narrow(v["hose.open_share"])) / usual**2  # fmt: skip
    cock = np.where(is_open, pipe_drop_si(1.0, v["gas_cock.bore"], 1e-9, density, gas.viscosity_si,
                                          fittings=_narrow(v["gas_cock.turned"])), 0.0)  # fmt: skip
    flow, at_regulator, end = supply_si(regulator, v["inlet"], demand, hose + cock, 2.0, v["air"])
    end = np.where(demand > 0, end, regulator_no_flow_si(regulator, v["inlet"], v["air"]))
    ahead = end + cock * flow**2
    at_inlet = np.where(is_open, end, 0.0)
    return at_regulator, ahead, at_inlet, burner * np.sqrt(at_inlet), flow


def _gap(square_mm: Array, gravity: float) -> Array:
    """m3/s for each square root of a Pa out of a gap."""
    return np.asarray(orifice_flow_si(np.sqrt(4e-6 * square_mm / np.pi), 1.0, gravity, SHARP))


def _narrow(share: Array) -> Array:
    """Loss coefficient of a narrowed bore on its full speed: contraction to 0.62, then Borda-Carnot's widening."""
    return (1 / (share * (0.62 + 0.38 * share**3)) - 1) ** 2


def leaks(unit: Unit) -> dict[str, Array]:
    """(B,) m3/s that escape at each joint, as the line stands; names are parts."""
    now = line(unit)
    burning = (unit["burner.lit"] > 0) if "burner.lit" in unit.values else np.zeros(unit.batch, dtype=bool)
    spits = np.where(cylinder_fill(unit) >= FULL, SPITS, 0.0)
    air = atmosphere(unit)
    inside = np.maximum(now.pigtail, 0.0) + air

    def escapes(gas: Fuel) -> Answers:
        gravity = gas.specific_gravity_si
        high = hole_flow_si(unit["cylinder.leak"] * 1e-6, inside, air, gas.molar_mass_si)
        return (
            high / density_si(gas) + spits,
            _gap(unit["hose.leak"], gravity) * np.sqrt(np.maximum(now.before_cock, 0.0)),
            _gap(unit["gas_cock.leak"], gravity) * np.sqrt(np.maximum(now.inlet, 0.0)),
            _gap(unit["orifice.leak"], gravity)
            * np.sqrt(np.maximum(now.inlet, 0.0))
            * np.where(valve_flow(unit) > 0, 1.0, 0.0)
            * np.where(burning, 0.5, 1.0),
        )

    names = ("cylinder", "hose", "gas_cock", "orifice")
    return dict(zip(names, by_fuel(unit["cylinder.fuel"], escapes), strict=True))


def leaks_at(unit: Unit, pressure: Array) -> Array:
    """(B,) m3/s that the low-pressure line loses at so many Pa, its burner's valve shut: joints and what leaks by."""
    cock_open = unit["gas_cock.open"] > 0

    def lost(one: Fuel) -> Answers:
        gravity = one.specific_gravity_si
        through = orifice_flow_si(bore(unit), 1.0, gravity, unit["orifice.discharge"], atmosphere(unit))
        behind = _gap(unit["gas_cock.leak"], gravity) + unit["gas_valve.leak_by"] * through
        return ((_gap(unit["hose.leak"], gravity) + np.where(cock_open, behind, 0.0)) * np.sqrt(pressure),)

    return by_fuel(unit["cylinder.fuel"], lost)[0]


@replayed
def line_volume(unit: Unit) -> Array:
    """(B,) m3 inside hose and pipe."""
    return np.pi / 4 * unit["hose.bore"] ** 2 * unit["hose.length"]


def proper_bore(unit: Unit) -> Array:
    """(B,) m, the hole that the altitude asks for: once the heater stands above 2000 ft, its input is cut by 4 % for
    each 1000 ft above the sea, thin air's own part included (sources [2] and [3] of ``physics.gas``)."""
    stands, chosen = (altitude_bore_si(unit[key]) for key in ("burner.altitude", "orifice.made_for"))
    return unit["orifice.diameter"] * stands / chosen


def settle(unit: Unit) -> None:
    """A cylinder can't hold less than nothing."""
    if has_gas(unit):
        unit.values["cylinder.mass"] = np.maximum(unit["cylinder.mass"], 0.0)
        unit.values["hose.air"] = np.where(unit["hose.air"] < 1e-6, 0.0, np.minimum(unit["hose.air"], 1.0))


def heat(unit: Unit, solution: Solution) -> Array:
    """(B,) W: a supply heats no water."""
    return np.zeros(unit.batch)


def _draw(unit: Unit, now: Flow) -> Array:
    """(B,) kg/s of vapour out of the cylinder."""
    return np.where(_fed(unit), now.total * _density(unit), 0.0)


@replayed
def _density(unit: Unit) -> Array:
    """(B,) kg/m3 of the gas at the conditions at which flows are counted."""
    return by_fuel(unit["cylinder.fuel"], lambda gas: (np.full(unit.batch, density_si(gas)),))[0]


def horizon(unit: Unit, solution: Solution, until: Callable[[Array], Array]) -> Array:
    """(B,) s until the line's air is out, the cylinder is empty, or its pressure has changed enough to matter."""
    out = np.full(unit.batch, np.inf)
    if not has_gas(unit):
        return out
    now = unit.kept["flow"] = flow(unit)
    air, passes = unit["hose.air"], np.where(unit["hose.air"] > 0, now.burner, 0.0)
    for level in (
        (0.5, 0.0) if passes.any() else ()
    ):  # at half, the mixture lights; at none, the line is clean
        here = (passes > 0) & (air > level + 1e-9)
        out = np.where(
            here, np.minimum(out, (air - level) * line_volume(unit) / np.maximum(passes, 1e-15)), out
        )
    draw = _draw(unit, now)
    drawn = draw > 0
    if not drawn.any():
        return np.maximum(out, 1e-6)
    out = np.where(
        drawn, np.minimum(out, (unit["cylinder.mass"] - 0.5 * SPARE_LIQUID) / np.maximum(draw, 1e-15)), out
    )
    pressure = (now.vapour - atmosphere(unit)) + atmosphere(unit)
    out = np.where(drawn & (pressure < 2 * OPEN_INLET), np.minimum(out, _COOLING_STEP), out)
    starved = drawn & (pressure < AMPLE / 4)
    return np.maximum(np.where(starved, np.minimum(out, _STARVED_STEP), out), 1e-6)


def age(unit: Unit, solution: Solution, step: Array) -> None:
    """(B,) s of drawing vapour: less fuel, colder liquid, less air in the line."""
    if not has_gas(unit):
        return
    now: Flow = unit.kept["flow"]
    draw, air, mass = _draw(unit, now), unit["site.room"], unit["cylinder.mass"]

    def cooled(gas: Fuel) -> Answers:
        low, high = liquid_range_si(gas)
        start = np.minimum(np.maximum(unit["cylinder.liquid"] + 273.15, low), high)
        held = np.maximum(mass, 0.2)
        wetted = np.minimum(np.maximum(mass / unit["cylinder.volume"] / 430.0, 0.05), 1.0)
        room = np.minimum(np.maximum(air + 273.15, low), high)
        after = liquid_temperature_si(
            gas, room, draw, unit["cylinder.wetted_area"] * wetted, held, start, step
        )
        return (np.minimum(np.maximum(after, low), high) - 273.15,)

    unit.values["cylinder.liquid"] = by_fuel(unit["cylinder.fuel"], cooled)[0]
    unit.values["cylinder.mass"] = np.maximum(mass - draw * step, 0.0)
    gone = now.burner * step / line_volume(unit)
    unit.values["hose.air"] = np.maximum(unit["hose.air"] - gone, 0.0)
