"""The water side: ways for water to the tap, pressure of a shut tank, relief valve, sediment, ice.

A subsystem of ``tankside.heater.simulation``; it does nothing on a model without a "cold inlet".
Nothing here knows a fault.

The laws
--------
[1] Ways: flow = k sqrt(pressure drop), ways side by side add their k, ways in series their 1/k² (turbulent flow).
[2] Shut tank: what the water grows by squeezes the air cushion (Boyle), the water and the wall (their compliance).
[3] Relief valve: opens at a temperature or a pressure and shuts again lower. A lift by pressure is over in an instant;
    what it lets out is taken as replaced by cold water at once, so that energy and water balance at every moment.
[4] Sediment: a layer in series with the bottom's share of a burner's heat exchange (number of transfer units).
    Sheath heaters give their heat to the water whatever lies on the bottom. Conductivity of wet scale from memory.
[5] Ice: at 0 °C the heat that leaves freezes water; ice takes 9 % more room.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

from tankside.heater import burner, ignition
from tankside.heater.memo import replayed, stacked
from tankside.heater.model import HeaterModel
from tankside.heater.unit import Unit
from tankside.physics.boiling import ATMOSPHERE, saturation_temperature_si
from tankside.physics.circuit import Solution
from tankside.physics.tank_heat import heat_capacity_si, mean_temperature_si
from tankside.physics.water import T0, density_si, specific_heat_si

Array = NDArray[np.float64]

REFERENCE = 100e3
"""Pa at which the ways' flows are stated."""
CUSHION_AT = 310e3
"""Pa of water above the air's at which an air cushion's volume is stated."""
COMPRESSES = 4.5e-10
"""1/Pa, water near 45 °C (Kell; ``physics.water.compressibility_si`` is within 12 % from 0 to 100 °C)."""
SCALE = 1.0
"""W/(m K) of wet scale and grit (from memory, 0.5 to 2)."""
TRICKLE = 0.5e-3 / 60.0
"""m³/s at a tap, half a liter a minute: below it one says that hardly anything comes (figure of ours)."""
MELTING = 333.55e3
"""J/kg of ice (from memory)."""
ICE_GROWS = 0.0907
"""By which share ice is larger than its water (density 916.7 kg/m3, from memory)."""
CEILING = 99.9
"""°C above which water isn't followed: what would heat it further leaves as steam."""
LEDGERS = ("heat", "loss", "drawn", "relief", "seep", "steam")
"""J since the unit was made: in by heating; out by the wall, taps, relief valve, leaks, steam."""
NEVER = 1e6
"""°C that no water reaches."""
_NEAR = 1e-6
_PASCAL = 10.0
KILO = float(specific_heat_si(T0 + 140 / 9))
"""J/(kg K) of water at 60 °F, which the tank's heat capacity uses as well."""
_DEGREES = np.linspace(4.0, 110.0, 10_601)
_DENSITIES = np.asarray(density_si(_DEGREES + T0))


@cache
def _part(model: HeaterModel, kind: str) -> str | None:
    return next(iter(model.of_type(kind)), None)


def _one(unit: Unit, kind: str) -> str | None:
    return _part(unit.model, kind)


def has_plumbing(unit: Unit) -> bool:
    """True if the model has a water side."""
    return _one(unit, "cold inlet") is not None


def _get(unit: Unit, kind: str, key: str, default: float = 0.0) -> Array:
    """(B,) a part's number, or the default on a model without the part."""
    part = _one(unit, kind)
    return unit[f"{part}.{key}"] if part else np.full(unit.batch, default)


def full(unit: Unit) -> NDArray[np.bool_]:
    """(B,) whether the tank is full."""
    return unit["tank.fill"] > 0.98


# Ways to the tap ------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Tap:
    """A hot tap that is fully open: (B,) m³/s, the share of it that comes through the tank, and °C."""

    flow: Array
    through_tank: Array
    temperature: Array


def hot_tap(unit: Unit, inlet_open: bool = True) -> Tap:
    """What an open hot tap gives; ``inlet_open=False`` with the heater's own shut-off closed."""
    if not has_plumbing(unit):
        ones = np.ones(unit.batch)
        return Tap(ones * 5e-3 / 60.0, ones, unit["tank.temperature"].copy())
    passes = _get(unit, "cold inlet", "passes")
    check = _one(unit, "check valve")
    if check:
        straight = unit[f"{check}.passes"] * np.maximum(1.0 - unit[f"{check}.jammed"], 1e-6)
        back = unit[f"{check}.passes"] * np.maximum(unit[f"{check}.leaks_back"], 1e-6)
        valve = np.where(_get(unit, "cold inlet", "crossed") > 0, back, straight)
        passes = 1.0 / np.sqrt(passes**-2.0 + valve**-2.0)
    passes = np.where(full(unit), passes, 0.0) * float(inlet_open)
    past = _get(unit, "winter bypass", "passes") * _get(unit, "winter bypass", "open")
    past = past + _get(unit, "house taps", "crossover")
    tap = _get(unit, "house taps", "passes", 6e-5) * np.maximum(
        1.0 - _get(unit, "house taps", "blocked"), 1e-6
    )
    ways = passes + past
    flow = tap * np.sqrt(_get(unit, "cold inlet", "pressure") / REFERENCE * ways**2 / (ways**2 + tap**2))
    share = np.divide(passes, ways, out=np.zeros(unit.batch), where=ways > 0)
    cold = unit["site.cold_water"]
    return Tap(flow, share, cold + (unit["tank.temperature"] - cold) * share)


def cold_tap(unit: Unit) -> Array:
    """(B,) m³/s that an open cold tap beside the heater gives."""
    pressure = _get(unit, "cold inlet", "pressure", CUSHION_AT)
    return _get(unit, "house taps", "passes", 6e-5) * np.sqrt(pressure / REFERENCE)


def litres_a_minute(unit: Unit, usual: float) -> float | Array:
    """What an open hot tap gives: (B,) on a model with a water side, else the usual."""
    return hot_tap(unit).flow * 60e3 if has_plumbing(unit) else usual


def drawn(unit: Unit, litres: Array) -> None:
    """So much is drawn at the hot tap at once: the tank's part of it is replaced by cold water, and mixes."""
    cold, before = unit["site.cold_water"], unit["tank.temperature"]
    share = litres * hot_tap(unit).through_tank / 1000.0 / unit["tank.volume"]
    mixed = np.where(full(unit), cold + (before - cold) * np.exp(-share), before)
    _book(unit, "drawn", heat_capacity(unit) * (before - mixed))
    unit.values["tank.temperature"] = mixed
    refilled(unit, full(unit))


def hot_line(unit: Unit) -> Array:
    """(B,) °C of the hot pipe an arm's length above the tank after an hour without a draw."""
    leak = _get(unit, "check valve", "leaks_back")
    room, siphon = unit["site.room"], _get(unit, "check valve", "siphon") * leak
    pipe = 0.35  # W/K of the pipe up to there, bare copper in still air (order of magnitude, ours)
    return room + (unit["tank.temperature"] - room) * siphon / (siphon + pipe)


# Heat and water that leave --------------------------------------------------------------------------------------


@replayed
def standing(unit: Unit) -> tuple[Array, Array | float, Array | float]:
    """(B,) W/K through the wall, W/K carried off by water that leaves, °C of what replaces it."""
    if not has_plumbing(unit):
        return unit["tank.loss"], 0.0, 0.0
    loss = unit["tank.loss"] * _get(unit, "vessel", "insulation", 1.0)
    loss = loss + _get(unit, "check valve", "siphon") * _get(unit, "check valve", "leaks_back")
    return loss, (_relief_flow(unit) + _seep(unit)) * KILO, unit["site.cold_water"]


@replayed
def _relief_flow(unit: Unit) -> Array:
    """(B,) kg/s through the relief valve."""
    running = np.maximum(_get(unit, "relief valve", "open"), _get(unit, "relief valve", "lever"))
    flow = _get(unit, "relief valve", "weep") + running * _get(unit, "relief valve", "capacity")
    return np.where(full(unit), flow, 0.0)


@replayed
def _seep(unit: Unit) -> Array:
    leaks = (
        _get(unit, "vessel", "seep") + _get(unit, "anode", "joint_leak") + _get(unit, "check valve", "split")
    )
    return np.where(full(unit), leaks, 0.0)


@replayed
def heat_capacity(unit: Unit) -> Array:
    """(B,) J/K of the water in the tank."""
    return np.asarray(heat_capacity_si(np.maximum(unit["tank.fill"], 0.02) * unit["tank.volume"]))


def _book(unit: Unit, ledger: str, joules: Array) -> None:
    key = f"ledger.{ledger}"
    before = unit.values.get(key)
    unit.values[key] = (np.zeros(unit.batch) if before is None else before) + joules


def follow(unit: Unit, step: Array, warmed: Array, heat: Array, capacity: Array) -> Array:
    """(B,) °C after the step, with ice and the ceiling; what came in and went out is booked."""
    start, room = unit["tank.temperature"], unit["site.room"]
    loss, draw, cold = standing(unit)
    net = heat - loss * (start - room) - draw * (start - cold)
    ice = _get(unit, "vessel", "ice")
    frozen = (start <= _NEAR) & ((ice > 0) | (net < 0)) & full(unit)
    steams = (start >= CEILING - _NEAR) & (net > 0)
    kept = frozen | steams
    mean = np.where(kept, start, mean_temperature_si(step, start, capacity, heat, loss, room, draw, cold))
    unit.values["tank.mean"] = mean
    _book(unit, "heat", heat * step)
    _book(unit, "loss", loss * (mean - room) * step)
    for ledger, flow in (("relief", _relief_flow(unit)), ("seep", _seep(unit))):
        _book(unit, ledger, flow * KILO * (mean - cold) * step)
    _book(unit, "steam", np.where(steams, net * step, 0.0))
    vessel = _one(unit, "vessel")
    if vessel:
        grown = ice - np.where(frozen, net * step, 0.0) / MELTING
        unit.values[f"{vessel}.ice"] = np.where(grown > 1e-9, grown, 0.0)
    return np.where(kept, start, warmed)


def stored(unit: Unit) -> Array:
    """(B,) J above 0 °C in the water; ice counts below zero."""
    return heat_capacity(unit) * unit["tank.temperature"] - _get(unit, "vessel", "ice") * MELTING


# The shut tank --------------------------------------------------------------------------------------------------


@replayed
def _room(unit: Unit) -> tuple[Array, Array, Array, Array]:
    """(B,) Pa absolute at the inlet, m³ of air and of water at that pressure, m³/Pa of wall and water."""
    inlet = _get(unit, "cold inlet", "pressure") + ATMOSPHERE
    air = _get(unit, "air cushion", "volume") * (CUSHION_AT + ATMOSPHERE) / inlet
    volume = unit["tank.volume"]
    return (
        inlet,
        air,
        np.maximum(volume - air, 0.5 * volume),
        volume * (COMPRESSES + _get(unit, "vessel", "stretch")),
    )


def water_room(unit: Unit) -> float:
    """m³ of water that the first variant's tank holds at the inlet's pressure."""
    return float(_room(unit)[2][0])


def _grown_at(unit: Unit, pressure: Array) -> Array:
    """(B,) m³ by which the water has outgrown its room when the tank stands at a gauge pressure."""
    inlet, air, _, give = _room(unit)
    absolute = pressure + ATMOSPHERE
    return air * (1.0 - inlet / absolute) + give * (absolute - inlet)


def pressure(unit: Unit, density: Array | None = None) -> Array:
    """(B,) Pa in the tank above the air's, taps shut; ``density`` (kg/m³) of its water, if it is known already."""
    inlet, air, water, give = _room(unit)
    mass = _get(unit, "vessel", "mass")
    density = density_si(_kelvin(unit)) if density is None else density
    grown = np.where(mass > 0, mass / density, water) - water
    b = air - grown - give * inlet
    root = np.sqrt(b * b + 4.0 * give * air * inlet)
    high = np.where(b < 0, (root - b) / (2.0 * give), 2.0 * air * inlet / np.maximum(b + root, 1e-300))
    held = (_get(unit, "cold inlet", "held") > 0) & full(unit)
    return np.where(held, np.maximum(high, inlet), np.where(full(unit), inlet, ATMOSPHERE)) - ATMOSPHERE


def _kelvin(unit: Unit) -> Array:
    return np.clip(unit["tank.temperature"], 0.0, 110.0) + T0


def warm_to(unit: Unit, target: Array) -> Array:
    """(B,) °C at which a shut tank reaches a gauge pressure; far beyond steam if water can't."""
    vessel = _one(unit, "vessel")
    assert vessel is not None
    _, _, water, _ = _room(unit)
    density = unit[f"{vessel}.mass"] / (water + _grown_at(unit, target))
    degrees = np.interp(-density, -_DENSITIES, _DEGREES, right=NEVER)
    fine = degrees < NEVER
    guess = np.where(fine, degrees, 50.0)
    for _ in range(2):  # Newton: the table is already right to a millionth of a kelvin
        slope = (density_si(guess + T0 + 1e-3) - density_si(guess + T0 - 1e-3)) / 2e-3
        guess = guess - (density_si(guess + T0) - density) / slope
    return np.where(fine & (_get(unit, "cold inlet", "held") > 0), guess, NEVER)


def cushion(unit: Unit) -> Array:
    """(B,) m³ of air above the water, at the pressure at which cushions are stated; none on a model without one."""
    return _get(unit, "air cushion", "volume")


def refilled(unit: Unit, where: NDArray[np.bool_]) -> None:
    """The inlet's pressure again, in the variants where a tap was open."""
    vessel = _one(unit, "vessel")
    if vessel:
        fresh = density_si(_kelvin(unit)) * _room(unit)[2]
        unit.values[f"{vessel}.mass"] = np.where(where, fresh, unit[f"{vessel}.mass"])


# The subsystem --------------------------------------------------------------------------------------------------


def settle(unit: Unit) -> None:
    """Relief valve, mass of water, bursting: what follows at once from temperature and pressure."""
    for part in unit.model.of_type("anode"):
        unit.values[f"{part}.covered"] = unit["tank.covered"].copy()
    vessel, valve = _one(unit, "vessel"), _one(unit, "relief valve")
    if not has_plumbing(unit) or vessel is None:
        return
    for ledger in LEDGERS:
        if f"ledger.{ledger}" not in unit.values:
            unit.values[f"ledger.{ledger}"] = np.zeros(unit.batch)
    mass = unit[f"{vessel}.mass"]
    density = density_si(_kelvin(unit))
    least = density * _room(unit)[2]
    open_line = _get(unit, "cold inlet", "held") <= 0
    unit.values[f"{vessel}.mass"] = np.where(
        full(unit), np.where(open_line, least, np.maximum(mass, least)), 0.0
    )
    if valve:
        temperature = unit["tank.temperature"]
        free = (unit[f"{valve}.seized"] <= 0) & full(unit)
        runs = (unit[f"{valve}.open"] > 0) & (temperature > unit[f"{valve}.closes_at"] + _NEAR)
        runs |= temperature >= unit[f"{valve}.opens_at"] - _NEAR
        runs |= unit[f"{valve}.lifts_at"] <= _get(unit, "cold inlet", "pressure") + _PASCAL
        unit.values[f"{valve}.open"] = (runs & free).astype(float)
        if runs.any():
            refilled(unit, runs & free)
        now = pressure(unit, density)
        lifts = free & ~runs & (now >= unit[f"{valve}.lifts_at"] - _PASCAL)
        if lifts.any():
            lift(unit, vessel, valve, lifts)
            now = pressure(unit)
    else:
        now = pressure(unit, density)
    _burst(unit, vessel, now)


def lift(unit: Unit, vessel: str, valve: str, lifts: NDArray[np.bool_]) -> None:
    """The relief valve opens by pressure, lets a little out and shuts again."""
    rests = np.maximum(
        unit[f"{valve}.reseats"] * unit[f"{valve}.lifts_at"], _get(unit, "cold inlet", "pressure")
    )
    after = density_si(_kelvin(unit)) * (_room(unit)[2] + _grown_at(unit, rests))
    mass = unit[f"{vessel}.mass"]
    out = np.where(lifts, np.maximum(mass - after, 0.0), 0.0)
    cold, temperature = unit["site.cold_water"], unit["tank.temperature"]
    joules = out * KILO * (temperature - cold)
    _book(unit, "relief", joules)
    unit.values["tank.temperature"] = temperature - joules / heat_capacity(unit)
    unit.values[f"{vessel}.mass"] = mass - out
    unit.values[f"{valve}.passed"] = unit[f"{valve}.passed"] + out


def ice_limit(unit: Unit) -> Array:
    """(B,) kg of ice that the cushion and the give of the wall find room for."""
    return 1000.0 * (_room(unit)[1] + 0.01 * unit["tank.volume"]) / ICE_GROWS


def _burst(unit: Unit, vessel: str, now: Array) -> None:
    bursts = now >= unit[f"{vessel}.bursts_at"] - _PASCAL
    if unit[f"{vessel}.ice"].any():
        bursts |= unit[f"{vessel}.ice"] >= ice_limit(unit) * (1.0 - _NEAR)
    unit.values[f"{vessel}.burst"] = np.maximum(unit[f"{vessel}.burst"], bursts.astype(float))
    torn = unit[f"{vessel}.burst"] > 0
    if not torn.any():
        return
    unit.values["tank.fill"] = np.where(torn, 0.0, unit["tank.fill"])
    unit.values[f"{vessel}.ice"] = np.where(torn, 0.0, unit[f"{vessel}.ice"])
    unit.values[f"{vessel}.mass"] = np.where(torn, 0.0, unit[f"{vessel}.mass"])


def heat(unit: Unit, solution: Solution) -> Array:
    """(B,) W that sediment keeps a burner from giving to the water: zero or below."""
    if not has_plumbing(unit) or not _one(unit, "vessel"):
        return np.zeros(unit.batch)
    fire = burner.heat(unit, solution) + ignition.heat(unit, solution)
    return -fire * sediment_loss(unit) if fire.any() else np.zeros(unit.batch)


@replayed
def sediment_loss(unit: Unit) -> Array:
    """(B,) share of a burner's heat that sediment keeps from the water."""
    units = _get(unit, "vessel", "transfer_units", 1.4)
    share = _get(unit, "vessel", "bottom_share")
    watts = unit.model.gas_input or 3000.0
    clean = units * watts / 1900.0  # W/K: flue gas that cools by 1900 K carries the input
    layer = _get(unit, "vessel", "sediment") / (SCALE * _get(unit, "vessel", "bottom", 0.05))
    left = units * (1.0 - share + share / (1.0 + clean * share * layer))
    return 1.0 - np.expm1(-left) / np.expm1(-units)


def bottom_temperature(unit: Unit, solution: Solution) -> Array:
    """(B,) °C of the steel below the sediment while the burner burns."""
    fire = burner.heat(unit, solution) + ignition.heat(unit, solution)
    flux = fire * (1.0 - sediment_loss(unit)) * _get(unit, "vessel", "bottom_share")
    return (
        unit["tank.temperature"]
        + flux / _get(unit, "vessel", "bottom", 0.05) * _get(unit, "vessel", "sediment") / SCALE
    )


def rumbles(unit: Unit, solution: Solution) -> NDArray[np.bool_]:
    """(B,) whether water boils under the sediment: the noise of a kettle."""
    boils = np.asarray(saturation_temperature_si(pressure(unit) + ATMOSPHERE)) - T0
    return bottom_temperature(unit, solution) > boils


def horizon(unit: Unit, solution: Solution, until: Callable[[Array], Array]) -> Array:
    """(B,) s until the relief valve moves, ice begins or ends, the water stops getting hotter, or the tank bursts."""
    out = np.full(unit.batch, np.inf)
    vessel, valve = _one(unit, "vessel"), _one(unit, "relief valve")
    if not has_plumbing(unit) or vessel is None:
        return out
    temperature = unit["tank.temperature"]
    free, ready, turns_at, lifts_at, tears_at = _marks(unit)
    lifts_at, tears_at = np.maximum(lifts_at, temperature), np.maximum(tears_at, temperature)
    steams_at = np.full(unit.batch, CEILING)
    turn, lift, tears, steam = until(stacked([turns_at, lifts_at, tears_at, steams_at]))
    if valve:
        out = np.where(free, np.minimum(out, turn), out)
        out = np.where(ready, np.minimum(out, lift), out)
    out = np.where(full(unit), np.minimum(out, tears), out)
    return np.where(temperature < CEILING - _NEAR, np.minimum(out, steam), out)


@replayed
def _marks(unit: Unit) -> tuple[NDArray[np.bool_], NDArray[np.bool_], Array, Array, Array]:
    """(B,) whether the relief valve can move, and lift; °C at which it turns, at which it lifts, at which the tank tears."""
    vessel, valve = _one(unit, "vessel"), _one(unit, "relief valve")
    tears_at = warm_to(unit, unit[f"{vessel}.bursts_at"])
    if not valve:
        no, never = np.zeros(unit.batch, dtype=bool), np.full(unit.batch, NEVER)
        return no, no, never, never, tears_at
    free = (unit[f"{valve}.seized"] <= 0) & full(unit)
    runs = unit[f"{valve}.open"] > 0
    turns_at = np.where(runs, unit[f"{valve}.closes_at"], unit[f"{valve}.opens_at"])
    ready = free & ~runs & (unit[f"{valve}.lifts_at"] > _get(unit, "cold inlet", "pressure") + _PASCAL)
    return free, ready, turns_at, warm_to(unit, unit[f"{valve}.lifts_at"]), tears_at


def ice_event(unit: Unit, heat: Array, until: Callable[[Array], Array]) -> Array:
    """(B,) s until water with so many W into it begins to freeze, is thawed, or tears the tank."""
    vessel = _one(unit, "vessel")
    if not has_plumbing(unit) or vessel is None:
        return np.full(unit.batch, np.inf)
    temperature, ice = unit["tank.temperature"], unit[f"{vessel}.ice"]
    above = temperature > _NEAR
    begins = until(np.zeros(unit.batch))
    if above.all():
        return begins
    loss, draw, cold = standing(unit)
    net = heat - loss * (temperature - unit["site.room"]) - draw * (temperature - cold)
    joules = np.where(net > 0, ice, np.maximum(ice_limit(unit) - ice, 0.0)) * MELTING
    still = np.divide(joules, np.abs(net), out=np.full(unit.batch, np.inf), where=np.abs(net) > 1e-12)
    still = np.where((net > 0) & (ice <= 0), np.inf, still)
    return np.where(above, begins, np.where(full(unit), still, np.inf))


def age(unit: Unit, solution: Solution, step: Array) -> None:
    """(B,) s of time pass: water that ran out is added up."""
    valve, vessel = _one(unit, "relief valve"), _one(unit, "vessel")
    if valve:
        unit.values[f"{valve}.passed"] = unit[f"{valve}.passed"] + _relief_flow(unit) * step
    if vessel:
        unit.values[f"{vessel}.seeped"] = unit[f"{vessel}.seeped"] + _seep(unit) * step
