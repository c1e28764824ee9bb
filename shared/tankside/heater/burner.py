"""Burner, flame and flue: what burns, how well, where the heat goes.

A subsystem of ``tankside.heater.simulation``. What the flame is like follows from the gas that the
orifice would pass with the valve open, the primary air that its jet drags in, and the air that the
flue's draught brings. It sets ``burner.ready``, ``holds``, ``cover`` and ``heat``; who lights it
(``burner.lit``) is the ignition, or a hand valve's pilot.

Sources
-------
[1] Draught: buoyancy of the hot column against the loss of a narrow way, m^3 proportional to A^2 times the heat:
    total air goes with A^(2/3) Q^(1/3). Derived here; constants are the flue's own (``excess``).
[2] Heat exchange: flue = water + (flame - water) exp(-NTU), the flame adiabatic. NTU falls a little with the flow,
    with soot and without the baffle: a teaching model of ours.
[3] Flame and carbon monoxide: ``physics.flame``, ``physics.carbon_monoxide`` (teaching models, see there).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

from tankside.heater import gas
from tankside.heater.memo import Answers, remembered, replayed, stacked
from tankside.heater.model import HeaterModel
from tankside.heater.unit import Unit
from tankside.physics.boiling import atmosphere_si
from tankside.physics.carbon_monoxide import (
    CLEAN_QUENCH,
    CLEAN_SPREAD,
    air_free_monoxide_si,
    room_monoxide_si,
    unburnt_carbon_si,
)
from tankside.physics.circuit import Solution
from tankside.physics.combustion import DRY_AIR, dry_fractions_si
from tankside.physics.combustion_heat import complete_flame_temperature_si, efficiency_si
from tankside.physics.flame import (
    KINDS,
    Burner,
    flame_numbers_si,
    primary_air_si,
    yellow_limit_si,
)
from tankside.physics.fuels import STANDARD_PRESSURE, Fuel, flammable_range, fuel
from tankside.physics.gas import heat_input_si

Array = NDArray[np.float64]

WATER_STEP = 10.0
"""K of water between which the heat into it is taken as constant."""
PILOT_FLOW = 0.03
"""Share of the burner's gas that a standing pilot takes (order of magnitude, ours)."""
CHAMBER = 8e-3
"""m3 of a combustion chamber (our figure)."""
VENT = 3e-4
"""m3/s of air that drifts through a cold chamber (our figure)."""
ROOM, CHANGES = 15.0, 0.5 / 3600
"""m3 of the cabin and its air changes a second, where a blocked flue spills (our figures)."""
SOOT_RATE = 0.5 / 360e3
"""mm of soot a second from a fully sooting flame (order of magnitude, ours)."""
_SOOT_STEP = 0.1
BURNS = tuple(KINDS.index(kind) for kind in ("steady blue", "lazy orange", "lifting"))


@dataclass(frozen=True)
class Fire:
    """The flame with the valve open, (B,) each; meaningless while no gas burns."""

    kind: Array
    """Index into ``physics.flame.KINDS``."""
    aeration: Array
    excess: Array
    soot: Array
    cover: Array
    oxygen: Array
    """Mole fraction in dry flue gas."""
    dioxide: Array
    monoxide: Array
    """Mole fraction as measured, dry."""
    air_free: Array
    flue: Array
    """K."""
    efficiency: Array
    input: Array
    """W, higher heating value."""
    noise: Array
    """Burning velocity that the ports' speed exceeds, as a ratio to the lift-off gradient: what an ear hears."""
    ready: Array
    unburnt: Array
    """Share of the carbon that leaves as carbon monoxide."""
    flow: Array
    """m3/s of gas."""


_INPUTS = (
    "cylinder.fuel", "orifice.diameter", "orifice.blocked", "orifice.discharge", "burner.throat",
    "burner.ports", "burner.port_diameter", "burner.shutter", "burner.opening", "burner.web", "burner.rust",
    "burner.askew", "burner.altitude", "burner.rated_flow", "flue.excess", "flue.transfer", "flue.blocked",
    "flue.baffle", "flue.inlet", "site.room",
)  # fmt: skip


def has_burner(unit: Unit) -> bool:
    """True if the model's burner is computed in full."""
    return _has_burner(unit.model)


@cache
def _has_burner(model: HeaterModel) -> bool:
    return all(model.of_type(kind) for kind in ("gas cylinder", "gas orifice", "burner", "flue"))


def fire(unit: Unit, exact: bool = True) -> Fire:
    """The flame as it would be with the valve open; ``exact=False`` takes the water's temperature in steps."""
    water = unit["tank.temperature"]
    if not exact:
        water = (np.floor(water / WATER_STEP) + 0.5) * WATER_STEP
    soot = np.round(unit["flue.soot"] / _SOOT_STEP) * _SOOT_STEP
    flow = gas.flow(unit, 1.0).burner
    return Fire(*(*_fire(unit, flow, soot, water), flow))


@replayed
def _fire(unit: Unit, flow: Array, soot: Array, water: Array) -> Answers:
    """``_burn`` for a unit's burner and flue."""
    return _burn(stacked([*(unit[key] for key in _INPUTS), flow, soot, water]))


@remembered
def _burn(inputs: Array) -> Answers:
    v = dict(zip((*_INPUTS, "flow", "soot", "water"), inputs, strict=True))
    return gas.by_fuel(v["cylinder.fuel"], lambda one: _burn_one(one, v))


def way_out(v: dict[str, Array]) -> Array:
    """Narrowness of the air's way through grille and flue: 1 as it should be."""
    flue = (1 - v["flue.blocked"]) * np.maximum(1 - 0.08 * v["soot"], 0.1)
    flue = flue * np.where(v["flue.baffle"] > 0, 1.3, 1.0)
    return np.sqrt(2.0 / (flue**-2 + v["flue.inlet"] ** -2))


def with_its_rust(v: dict[str, Array] | Unit) -> Burner:
    """The burner with the ports that rust leaves open, (B,) each."""
    ports = v["burner.ports"] * (1 - v["burner.rust"])
    return Burner(v["burner.throat"], ports, v["burner.port_diameter"], v["burner.shutter"])


def _burn_one(one: Fuel, v: dict[str, Array]) -> Answers:
    flow = np.maximum(v["flow"], 0.0)
    alight = flow > 1e-9
    watts, nominal = heat_input_si(flow, one), heat_input_si(v["burner.rated_flow"], fuel("propane"))
    share = np.clip(watts / nominal, 1e-3, 50.0)
    thin = atmosphere_si(v["burner.altitude"]) / STANDARD_PRESSURE
    air = (1 + v["flue.excess"]) * way_out(v) ** (2 / 3) * share ** (1 / 3) * thin ** (2 / 3)
    excess = np.clip(air / share - 1, -0.98, 20.0)
    burner = with_its_rust(v)
    clear = v["orifice.diameter"] * np.sqrt(1 - v["orifice.blocked"])
    primary = primary_air_si(
        one.specific_gravity_si, clear, burner, v["burner.opening"], v["burner.web"], v["orifice.discharge"]
    ) * (1 - 0.6 * v["burner.askew"])
    n = flame_numbers_si(one, flow, primary, burner, excess)
    kind = np.broadcast_to(np.asarray(n.code, dtype=float), flow.shape)
    lazy = np.clip(1 - n.aeration / yellow_limit_si(one), 0.0, 1.0)
    over = np.maximum(share - 1.25, 0.0)
    spread = CLEAN_SPREAD * (1 + 2.5 * lazy + 1.0 * v["burner.askew"])
    lifts = np.where(kind == KINDS.index("lifting"), 8.0, 0.0)
    quench = np.clip(CLEAN_QUENCH * (1 + 25 * v["burner.askew"] + 20 * over**2 + 4 * lazy + lifts), 0.0, 0.3)
    air_free = air_free_monoxide_si(one, excess, spread, quench)
    carbon = unburnt_carbon_si(one, excess, spread, quench)
    enough = np.maximum(excess, 0.0)
    dioxide, oxygen = dry_fractions_si(one, enough)
    monoxide = air_free * (1 - oxygen / DRY_AIR.oxygen)
    load = np.clip((1 + excess) * share / 1.5, 0.05, 20.0)
    number = (
        v["flue.transfer"] * np.where(v["flue.baffle"] > 0, 0.55, 1.0) / (1 + 0.12 * v["soot"]) * load**-0.3
    )
    room, water = v["site.room"] + 273.15, np.clip(v["water"], 0.5, 99.0) + 273.15
    flame = _flame_temperature(one, enough) + (room - 298.15)
    leaving = np.clip(water + (flame - water) * np.exp(-number), 280.0, 1500.0)
    # Short of air, what air there is burns as completely as where it just suffices; the rest of the gas leaves unburnt.
    lost = air_free_monoxide_si(one, enough, spread, quench) * (1 - oxygen / DRY_AIR.oxygen)
    kept, _, _ = efficiency_si(one, leaving, enough, room, lost)
    kept = np.clip(kept * np.minimum(1 + excess, 1.0), 0.0, 1.0)
    lean = 1 / (1 + primary) < flammable_range(one)[0]
    ready = alight & (v["flow"] > 0.05 * v["burner.rated_flow"]) & ~lean
    cover = n.contact * (1 - 0.6 * v["burner.askew"])
    noise = np.clip(n.gradient / np.maximum(n.lift, 1e-9), 0.0, 50.0)
    outs = (kind, n.aeration, excess, n.soot, cover, oxygen, dioxide, monoxide, air_free, leaving, kept, watts,
            noise, ready, carbon)  # fmt: skip
    return tuple(np.broadcast_to(np.asarray(out, dtype=float), flow.shape).copy() for out in outs)


@cache
def _flame_grid(name: str) -> tuple[Array, Array]:
    excess = np.linspace(0.0, 20.0, 401) ** 2 / 20.0
    return excess, np.asarray(complete_flame_temperature_si(fuel(name), excess))


def _flame_temperature(one: Fuel, excess: Array) -> Array:
    """K of the adiabatic flame that burns completely, air at 25 °C; from a fine table, within 1 K."""
    return np.interp(excess, *_flame_grid(one.name))


def settle(unit: Unit) -> None:
    """Whether gas could burn at the ports, would stay there, and what it would give; a hand valve's pilot and flame."""
    if not has_burner(unit):
        return
    now = unit.kept["fire"] = fire(unit, exact=False)
    clean = unit["hose.air"] < 0.5 + 1e-9
    unit.values["burner.ready"] = now.ready * clean
    unit.values["burner.holds"] = _burning(now.kind).astype(float)
    unit.values["burner.cover"] = now.cover.copy()
    unit.values["burner.heat"] = np.maximum(now.input * now.efficiency, 0.0)
    if gas.part(unit, "hand gas valve"):
        _hand_valve(unit, now, clean)
    elif gas.part(unit, "pilot gas valve"):
        drawn = np.where(unit["gas_valve.open"] > 0, 1.0, PILOT_FLOW)
        unit.values["burner.feeds"] = (clean & (gas.line(unit, drawn).inlet >= gas.PILOT_HOLDS)).astype(float)


def _burning(kind: Array) -> NDArray[np.bool_]:
    """(B,) whether a flame of that kind stays on the ports."""
    out = kind == BURNS[0]
    for one in BURNS[1:]:
        out |= kind == one
    return out


def _hand_valve(unit: Unit, now: Fire, clean: NDArray[np.bool_]) -> None:
    """The bulb calls, the pilot's flame holds the valve; without a pilot it is shut, until someone lights it."""
    valve, water = "gas_valve", unit["tank.temperature"]
    calls = np.where(water >= unit[f"{valve}.opens_at"] - 1e-6, 0.0, unit[f"{valve}.calls"])
    calls = np.where(water <= unit[f"{valve}.closes_at"] + 1e-6, 1.0, calls)
    feeds = gas.line(unit, np.where(calls > 0, 1.0, unit[f"{valve}.pilot_flow"])).inlet >= gas.PILOT_HOLDS
    smothered = (calls > 0) & (now.excess < -0.4)
    pilot = (unit[f"{valve}.pilot"] > 0) & (unit[f"{valve}.knob"] > 0) & feeds & clean & ~smothered
    is_open = pilot & (calls > 0)
    unit.values[f"{valve}.calls"] = calls
    unit.values[f"{valve}.pilot"] = pilot.astype(float)
    unit.values[f"{valve}.open"] = is_open.astype(float)
    lit = is_open & (unit["burner.ready"] > 0) & (unit["burner.holds"] > 0)
    unit.values["burner.lit"] = lit.astype(float)


def burns(unit: Unit) -> NDArray[np.bool_]:
    """(B,) True where the main flame burns now."""
    if not has_burner(unit):
        return np.zeros(unit.batch, dtype=bool)
    return (unit["burner.lit"] > 0) & (unit["burner.holds"] > 0) & (unit["gas_valve.open"] > 0)


def heat(unit: Unit, solution: Solution) -> Array:
    """(B,) W into the water from the flame."""
    if not has_burner(unit):
        return np.zeros(unit.batch)
    full = unit["tank.fill"] > 0.02
    return np.where(burns(unit) & full, unit["burner.heat"], 0.0)


def horizon(unit: Unit, solution: Solution, until: Callable[[Array], Array]) -> Array:
    """(B,) s until the hand valve's bulb acts, or the water has changed enough to change the heat into it."""
    out = np.full(unit.batch, np.inf)
    if not has_burner(unit):
        return out
    water = unit["tank.temperature"]
    if gas.part(unit, "hand gas valve"):
        calls = unit["gas_valve.calls"] > 0
        out = until(np.where(calls, unit["gas_valve.opens_at"], unit["gas_valve.closes_at"]))
    above = (np.floor(water / WATER_STEP + 1e-9) + 1) * WATER_STEP
    return np.where(burns(unit), np.minimum(out, np.maximum(until(above + 1e-6), 1e-3)), out)


@replayed
def spill(unit: Unit) -> Array:
    """(B,) share of the flue gas that comes back into the room: none while the flue is at least half open."""
    return np.clip((unit["flue.blocked"] - 0.5) / 0.4, 0.0, 1.0)


def age(unit: Unit, solution: Solution, step: Array) -> None:
    """(B,) s: raw gas gathers in the chamber or drifts out, soot grows, a spilling flue fills the room."""
    if not has_burner(unit):
        return
    now, alight = unit.kept["fire"], burns(unit)
    pilot = unit["gas_valve.pilot"] if "gas_valve.pilot" in unit.values else np.zeros(unit.batch)
    raw = np.where(alight | (pilot > 0), 0.0, unit.kept["flow"].burner) * (1 - unit["hose.air"])
    unit.values["burner.chamber"] = chamber_after(unit["burner.chamber"], raw, step)
    unit.values["burner.chamber"] = np.where(alight, 0.0, unit["burner.chamber"])
    unit.values["flue.soot"] = np.minimum(
        unit["flue.soot"] + np.where(alight, now.soot * SOOT_RATE * step, 0.0), 10.0
    )
    made = np.where(alight, now.flow * _carbon(unit) * now.unburnt * spill(unit), 0.0)
    unit.values["burner.room_co"] = np.asarray(
        room_monoxide_si(made, ROOM, CHANGES, step, unit["burner.room_co"])
    )


@replayed
def _carbon(unit: Unit) -> Array:
    """(B,) atoms of carbon in a molecule of the gas."""
    return gas.by_fuel(unit["cylinder.fuel"], lambda one: (np.full(unit.batch, float(one.atoms[0])),))[0]


def chamber_after(start: Array, raw: Array, time: Array) -> Array:
    """(B,) share of raw gas in the chamber after ``time`` s of ``raw`` m3/s while air drifts through: well mixed."""
    through = VENT + raw
    end = raw / through
    return end + (start - end) * np.exp(-through * time / CHAMBER)


def reasons(unit: Unit, row: int = 0) -> tuple[str, ...]:
    """Why one variant's flame looks as it does, in words: for lessons and debriefing, never at the bench."""
    from tankside.physics.flame import flame_picture
    from tankside.units import quantity

    now, one = fire(unit), fuel(gas.FUELS[int(unit["cylinder.fuel"][row])])
    all_rows = with_its_rust(unit)
    burner = Burner(
        *(float(getattr(all_rows, k)[row]) for k in ("throat", "ports", "port_diameter", "shutter"))
    )
    picture = flame_picture(
        one,
        quantity(float(gas.line(unit, 1.0).burner[row]), "m**3/s"),
        float(np.clip(now.aeration[row], 0.0, 3.0)),
        burner,
        float(np.clip(now.excess[row], -0.9, 5.0)),
    )
    return picture.reasons


def stack(unit: Unit) -> tuple[Array, Array, Array, Array, Array]:
    """(B,) at the flue's sampling hole: O2, CO2, CO (mole fractions, dry), gas and room air (K). Air where nothing burns."""
    now, alight = fire(unit), burns(unit)
    room = unit["site.room"] + 273.15
    return (
        np.where(alight, now.oxygen, DRY_AIR.oxygen),
        np.where(alight, now.dioxide, 4e-4),
        np.where(alight, now.monoxide, unit["burner.room_co"]),
        np.where(alight, now.flue, room + 0.5 * (unit["tank.temperature"] + 273.15 - room)),
        room,
    )
