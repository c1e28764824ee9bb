"""Spark ignition on 12 V: supply, board, solenoids, spark, flame and its proof, in time.

A subsystem of ``tankside.heater.simulation``. What the board does is the table in
``tankside.heater.sequence``; whether it *can* do it follows from the direct side of the
network: volts at the board under its load, current through each solenoid, a spark that jumps
or doesn't, microamperes through the flame. Nothing here knows a fault.

Shared with the burner: it sets ``burner.ready``, ``burner.holds``, ``burner.cover`` and
``burner.heat``; without one, gas is there, the flame stays, bathes the rod, and heats by the plate.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from tankside.heater import pilot
from tankside.heater.electrics import branch_current, side
from tankside.heater.parts import OPEN
from tankside.heater.sequence import NUMBER, RESPONDS, TIMED, among, follow
from tankside.heater.unit import Unit
from tankside.physics.circuit import Solution
from tankside.physics.ignition import breakdown_si, rectified_si, spark_voltage_si

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]

FUSE_OPENS = 1.5
"""Times its rating at which a fuse is taken to open at once, and below which never.

A simplification: a real one takes time. UL 248-14 only asks for it to open within an hour at 1.35 and within two
minutes at twice its rating; quick blade fuses open in seconds at twice, in tenths of a second at 3.5 times (ISO 8820-3,
from memory). It doesn't mislead here: nothing on the 12 V side draws between 1 and 1.9 times the rating, and a
shorted coil is on for a whole trial of some seconds, three times over. A test holds that.
"""
STRAY = 1e-11
"""F of a high-voltage lead and its electrode (order of magnitude, ours): what a pulse must charge through the lead."""
_NEAR = 1e-6
_PASSES = 60
_BURNER = {"ready": 1.0, "holds": 1.0, "cover": 1.0, "lit": 0.0}


def settle(unit: Unit) -> None:
    """Let the board, the valve and the flame follow the supply until nothing moves any more."""
    pilot.settle(unit)
    for board in unit.model.of_type("control board"):
        _share(unit)
        for _ in range(_PASSES):
            if not _pass(unit, board):
                return
        raise RuntimeError(f"{unit.model.name}: the control board doesn't come to rest")


def heat(unit: Unit, solution: Solution) -> Array:
    """(B,) W into the water from the flame, unless the model has a burner that is computed in full."""
    if not unit.model.timing or unit.model.of_type("burner"):
        return np.zeros(unit.batch)
    _share(unit)
    return np.where(unit["burner.lit"] > 0, unit["burner.heat"], 0.0)


def horizon(unit: Unit, solution: Solution, until: Callable[[Array], Array]) -> Array:
    """(B,) s until the board's timer runs out, the gas in a trial catches, or a pilot's magnet acts."""
    out = pilot.horizon(unit, solution, until)
    for board in unit.model.of_type("control board"):
        timer = unit[f"{board}.timer"]
        timed = among(unit[f"{board}.state"], tuple(TIMED))
        out = np.where(timed, timer, out)
        catches = timer - _catches_at(unit)
        soon = among(unit[f"{board}.state"], ("trial",)) & (catches > _NEAR)
        out = np.where(soon, np.minimum(out, catches), out)
    return np.maximum(out, 0.0)


def age(unit: Unit, solution: Solution, step: Array) -> None:
    """(B,) s pass on the board's timer and at a thermocouple's tip."""
    pilot.age(unit, solution, step)
    for board in unit.model.of_type("control board"):
        unit.values[f"{board}.timer"] = np.maximum(unit[f"{board}.timer"] - step, 0.0)


def _share(unit: Unit) -> None:
    """What the burner would set, where a model has none."""
    for key, value in _BURNER.items():
        if f"burner.{key}" not in unit.values:
            unit.set(f"burner.{key}", value)
    if "burner.heat" not in unit.values:
        ignition = unit.model.data.ignition
        unit.set("burner.heat", unit.model.gas_input * (ignition.efficiency if ignition else 0.0))


def _catches_at(unit: Unit) -> float:
    """What a trial's timer shows when the gas has reached the spark, s."""
    return unit.model.timing["trial"] - unit.model.timing["lights_in"]


def _pass(unit: Unit, board: str) -> bool:
    """One round: outputs, network, fuse, valve, flame, board. Whether anything moved."""
    values = unit.values
    state = values[f"{board}.state"]
    values[f"{board}.relay"] = _yes(among(state, RESPONDS["valve"]) & (values[f"{board}.relay_fails"] <= 0))
    values[f"{board}.sparking"] = _yes(among(state, RESPONDS["spark"]) & (values[f"{board}.no_spark"] <= 0))
    values[f"{board}.lamp_on"] = _yes(among(state, RESPONDS["lamp"]))
    solution = side(unit, "direct")
    if _fuses(unit, solution):
        return True
    volts = np.real(solution.between(f"{board}.supply", f"{board}.ground"))
    values[f"{board}.volts"] = np.asarray(volts, dtype=float)
    _valves(unit, solution)
    values[f"{board}.spark_jumps"] = _yes(_spark(unit, board))
    _flame(unit, board)
    values[f"{board}.flame_current"] = flame_current(unit, board)
    needed = np.where(state == NUMBER["off"], values[f"{board}.start_volts"], values[f"{board}.min_volts"])
    power = (volts >= needed) & (values[f"{board}.dead"] <= 0)
    seen = values[f"{board}.flame_current"] >= values[f"{board}.sense_threshold"]
    seen &= values[f"{board}.sense_failed"] <= 0
    ignition = unit.model.data.ignition
    assert ignition is not None  # a board without [ignition] is refused when the model is read
    after = follow(
        state,
        {
            "power": power,
            "no power": ~power,
            "time up": values[f"{board}.timer"] <= _NEAR,
            "flame": seen,
            "no flame": ~seen,
            "last try": values[f"{board}.tries"] >= ignition.tries,
            "no relight left": values[f"{board}.relights"] >= ignition.relights,
        },
    )
    moved = after != state
    if not moved.any():
        return False
    _enter(unit, board, state, after, moved)
    return True


def _enter(unit: Unit, board: str, before: Array, after: Array, moved: Flags) -> None:
    """Set the timer and the counters that go with the state just entered."""
    values = unit.values
    timer = values[f"{board}.timer"]
    for name, time in TIMED.items():
        timer = np.where(moved & (after == NUMBER[name]), unit.model.timing[time], timer)
    fresh = moved & (after == NUMBER["purge"])
    tries, relights = values[f"{board}.tries"], values[f"{board}.relights"]
    tries = np.where(fresh, 0.0, tries + (moved & (after == NUMBER["trial"])))
    lost = moved & (before == NUMBER["doubt"]) & (after == NUMBER["wait"])
    proven = moved & (before == NUMBER["trial"]) & (after == NUMBER["run"])
    values[f"{board}.relights"] = np.where(fresh, 0.0, relights + lost)
    values[f"{board}.tries"] = np.where(proven, 0.0, tries)
    values[f"{board}.timer"] = timer
    values[f"{board}.state"] = after


def _fuses(unit: Unit, solution: Solution) -> bool:
    """Open the fuses that carry too much; whether any did."""
    any_blew = False
    for fuse in unit.model.of_type("fuse"):
        blows = branch_current(unit, f"{fuse}: fuse", solution) > FUSE_OPENS * unit[f"{fuse}.rating"]
        blows &= unit[f"{fuse}.blown"] <= 0
        unit.values[f"{fuse}.blown"] = np.maximum(unit[f"{fuse}.blown"], _yes(blows))
        any_blew |= bool(blows.any())
    return any_blew


def _valves(unit: Unit, solution: Solution) -> None:
    """Plungers lift and drop with the current through their coils; gas passes where both seats are open."""
    for valve in unit.model.of_type("gas valve"):
        through = np.ones(unit.batch, dtype=bool)
        for seat in ("1", "2"):
            current = branch_current(unit, f"{valve}: coil {seat}", solution)
            held = (unit[f"{valve}.pulled_{seat}"] > 0) & (current >= unit[f"{valve}.hold_current"])
            pulled = held | (current >= unit[f"{valve}.pull_current"])
            unit.values[f"{valve}.pulled_{seat}"] = _yes(pulled)
            lets = (pulled & (unit[f"{valve}.stuck_shut_{seat}"] <= 0)) | (
                unit[f"{valve}.stuck_open_{seat}"] > 0
            )
            through &= lets
        unit.values[f"{valve}.open"] = _yes(through)


def spark_kilovolts(unit: Unit, board: str) -> Array:
    """(B,) kV that the board's pulse brings to the igniter's tip while it sparks; 0 while it doesn't."""
    share = np.clip(unit[f"{board}.volts"] / unit[f"{board}.full_volts"], 0.0, 1.1)
    volts = unit[f"{board}.spark_volts"] * share * unit[f"{board}.sparking"]
    for igniter in unit.model.of_type("igniter"):
        series = unit[f"{board}.spark_source"] + _lead(unit, "hv_lead")
        kept = -np.expm1(-unit[f"{board}.pulse"] / (series * STRAY))
        volts = spark_voltage_si(volts, series, unit[f"{igniter}.insulator"]) * kept
    return np.asarray(volts / 1e3)


def _spark(unit: Unit, board: str) -> Flags:
    """Whether the spark jumps its gap."""
    jumps = np.zeros(unit.batch, dtype=bool)
    for igniter in unit.model.of_type("igniter"):
        needed = breakdown_si(np.clip(unit[f"{igniter}.gap"], 0.05, 12.0) / 1e3)
        jumps |= 1e3 * spark_kilovolts(unit, board) >= needed
    return jumps


def _flame(unit: Unit, board: str) -> None:
    """A spark across a gap that doesn't quench lights gas that is there; without gas the flame is gone."""
    values = unit.values
    valve = unit.model.of_type("gas valve")[0]
    gas = (values[f"{valve}.open"] > 0) & (values["burner.ready"] > 0)
    kindles = values[f"{board}.spark_jumps"] > 0
    for igniter in unit.model.of_type("igniter"):
        kindles &= values[f"{igniter}.gap"] >= values[f"{igniter}.quench"]
    kindles &= among(values[f"{board}.state"], ("trial",))
    kindles &= values[f"{board}.timer"] <= _catches_at(unit) + _NEAR
    lit = ((values["burner.lit"] > 0) | kindles) & gas & (values["burner.holds"] > 0)
    values["burner.lit"] = _yes(lit)


def flame_current(unit: Unit, board: str) -> Array:
    """(B,) µA direct that the flame rectifies between rod and burner, as the board's sensing circuit gets it."""
    out = np.zeros(unit.batch)
    for sensor in unit.model.of_type("flame sensor"):
        leak = unit[f"{sensor}.insulator"]
        volts = spark_voltage_si(unit[f"{board}.sense_volts"], unit[f"{board}.sense_source"], leak)
        series = unit[f"{sensor}.fouling"] + unit[f"{sensor}.burner_ground"] + _lead(unit, "sense_lead")
        forward = unit[f"{sensor}.flame"] * unit["burner.cover"] * unit["burner.lit"]
        direct, _ = rectified_si(volts, forward, forward / unit[f"{sensor}.area_ratio"], series, leak)
        out += 1e6 * np.maximum(direct, 0.0)
    return out


def _lead(unit: Unit, wire: str) -> Array:
    """(B,) ohm of a lead, with an end that was lifted."""
    ohms = unit[f"{wire}.resistance"]
    lifted = unit.values.get(f"{wire}.lifted")
    return ohms if lifted is None else np.where(lifted > 0, 1.0 / OPEN, ohms)


def lamp_glows(unit: Unit) -> Array:
    """(B,) 1 where the fault lamp on the panel is seen to be lit."""
    out = np.zeros(unit.batch)
    solution = side(unit, "direct")
    for switch in unit.model.of_type("12 V panel switch"):
        current = branch_current(unit, f"{switch}: lamp", solution)
        out = np.maximum(out, _yes(current >= unit[f"{switch}.lights_from"]))
    return out


def _yes(flags: Flags) -> Array:
    return flags.astype(float)
