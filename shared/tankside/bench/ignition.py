"""What hands, ears and eyes do about a burner's ignition and its 12 V side."""

from __future__ import annotations

from typing import Any

import numpy as np

from tankside.bench.actions import Result, action, known, text_of
from tankside.bench.gas import BLOCKED, before_flame, dry_burner, refused
from tankside.bench.gas_points import GasPoints
from tankside.bench.hands import reach
from tankside.bench.out_of_reach import out_of_reach
from tankside.bench.reading_words import reading_data, shown
from tankside.bench.state import Array, BenchState
from tankside.bench.terminals import Terminals
from tankside.errors import BenchError
from tankside.heater import ignition, simulation
from tankside.heater.electrics import side
from tankside.heater.gas import has_gas
from tankside.instruments.multimeter import DISTURBED, Reading
from tankside.instruments.service import BUBBLE, megohms
from tankside.physics.ignition import breakdown_si

WATCH = 2.0
"""min that watching a start takes, unless the control's own times are longer."""
SETTLES = 0.5
"""s after the flame should be there, when one looks and reads."""
PROPANE = 93.85e6
"""J/m3 of propane gas, higher heating value at 15 °C (references, section 2)."""
BOARD_TEST_GAP = 6.0
"""mm, the spark gap of the board test set."""
BOARD_TEST_FLAME = 3.0
"""µA that the board test set sends into the sensing input as a flame would."""


def _one(state: BenchState, kind: str) -> str:
    parts = state.model.of_type(kind)
    if not parts:
        raise BenchError(f"This heater has no {kind}.")
    return parts[0]


def _at(state: BenchState, part: str) -> None:
    place = state.model.places[state.model.parts[part].place]
    if place.cover and place.id not in state.open_covers:
        raise out_of_reach(state.model.parts[part].name, place.name)


def _let(state: BenchState, seconds: float) -> None:
    simulation.advance(state.unit, seconds / 60.0)
    simulation.energise(state.unit)


@action("watch start")
def _watch_start(state: BenchState, args: dict[str, Any]) -> Result:
    """Switch the 12 V side off and on again, then listen and look, with the meter's leads where one wants them.

    ``meter``: "none", "volts" between ``red`` and ``black``, or "flame" (microamperes in the flame rod's lead).
    A start brings a flame to the burner, as lighting by hand does, and the same is asked before it. What isn't asked is
    five minutes between two starts: the board changes the air itself before each, and locks out after its last try.
    """
    board, switch = _one(state, "control board"), _one(state, "12 V panel switch")
    meter = args.get("meter", "none")
    known("way to connect the meter", str(meter), ["none", "volts", "flame"])
    if not state.flag(f"{switch}.closed"):
        raise BenchError("The 12 V panel switch is off. Switch it on first.")
    red, black = "", ""
    if meter == "volts":
        red, black = reach(state, text_of(args, "red")), reach(state, text_of(args, "black"))
        if red == black:
            raise BenchError("Both leads are on the same terminal. Put one of them somewhere else.")
    if meter == "flame":
        _at(state, _one(state, "flame sensor"))
    broke = before_flame(state, GasPoints(state.unit)) if has_gas(state.unit) else dry_burner(state)
    if set(BLOCKED) & set(broke):
        return Result({}, refused(broke), 1, broke, blocked=True)
    times = state.model.timing
    rounds = state.model.data.ignition.tries if state.model.data.ignition else 1
    seen: dict[str, float] = {}
    state.unit.set(f"{switch}.closed", 0.0)
    simulation.energise(state.unit)
    state.unit.set(f"{switch}.closed", 1.0)
    simulation.energise(state.unit)
    seen["lamp at first"] = state.see_fact(ignition.lamp_glows(state.unit))
    _let(state, times["pre_purge"] + times["lights_in"] / 2)
    seen["spark"] = state.see_fact(state.unit[f"{board}.spark_jumps"])
    seen["clicks"] = state.see_fact(_clicks(state))
    readings = [_reading(state, red, black)] if meter == "volts" else []
    _let(state, times["lights_in"] / 2 + SETTLES)
    seen["flame"] = state.see_fact(state.unit["burner.lit"])
    if meter == "flame":
        readings.append(state.see_gauge(state.tools.microammeter, _flame(state, board)))
    _let(state, times["trial"])
    seen["flame stays"] = state.see_fact(state.unit["burner.lit"])
    _let(state, (rounds - 1) * (times["trial"] + times["between_tries"]) + SETTLES)
    seen["lamp at last"] = state.see_fact(ignition.lamp_glows(state.unit))
    if meter == "volts":
        readings.append(_reading(state, red, black))
    data: dict[str, Any] = {"seen": seen, "readings": [{"reading": reading_data(r)} for r in readings]}
    words = _words(seen)
    if meter == "volts":
        names = f"between {state.name_of(red)} and {state.name_of(black)}"
        words += f" {shown(readings[0])} in the trial and {shown(readings[1])} afterwards, {names}."
    elif meter == "flame":
        words += f" {shown(readings[0])} in the flame rod's lead."
    ran = times["pre_purge"] + times["lights_in"] + times["trial"] + 2 * SETTLES
    ran += (rounds - 1) * (times["trial"] + times["between_tries"])
    return Result(data, words, max(WATCH - ran / 60.0, 0.0), broke, ran=ran / 60.0)


def _clicks(state: BenchState) -> Array:
    """(B,) how many plungers are heard to move."""
    valve = _one(state, "gas valve")
    out = np.zeros(state.unit.batch)
    for seat in ("1", "2"):
        moves = state.unit[f"{valve}.pulled_{seat}"] > 0
        moves &= (state.unit[f"{valve}.stuck_shut_{seat}"] <= 0) & (
            state.unit[f"{valve}.stuck_open_{seat}"] <= 0
        )
        out += moves
    return out


def _flame(state: BenchState, board: str) -> Array:
    lifted = state.unit.values.get("sense_lead.lifted")
    current = state.unit[f"{board}.flame_current"]
    return current if lifted is None else np.where(lifted > 0, 0.0, current)


def _reading(state: BenchState, red: str, black: str) -> Reading:
    value, disturbed = state.meter.sees("V⎓", Terminals(state.unit), red, black)
    reading = state.meter.show("V⎓", float(value[0]))
    state.see_reading(reading, value, disturbed)
    return reading


def _words(seen: dict[str, float]) -> str:
    clicks = {
        0.0: "no click from the valve",
        1.0: "one click from the valve",
        2.0: "two clicks from the valve",
    }
    parts = [
        "the lamp glows while the board starts" if seen["lamp at first"] else "no lamp at first",
        "spark at the igniter" if seen["spark"] else "no spark",
        clicks[seen["clicks"]],
    ]
    if seen["flame"]:
        parts.append("flame on" + ("" if seen["flame stays"] else ", but it goes out with the trial"))
    else:
        parts.append("no flame")
    parts.append("fault lamp on at the end" if seen["lamp at last"] else "fault lamp dark at the end")
    return f"Switched the 12 V side off and on and watched: {', '.join(parts)}."


@action("clamp")
def _clamp(state: BenchState, args: dict[str, Any]) -> Result:
    """The clamp around one wire: direct or alternating current."""
    wire_id = known("wire", text_of(args, "wire"), list(state.model.wires))
    wire = state.model.wires[wire_id]
    places = {state.place_of(wire.from_), state.place_of(wire.to)}
    if not any(not state.model.places[p].cover or p in state.open_covers for p in places):
        raise BenchError(f"You can't get at it with the covers on: {wire.name}.")
    simulation.energise(state.unit)
    drive = "direct" if wire.role in ("dc+", "dc-") else "alternating"
    net = state.unit.wiring.sides[drive]  # type: ignore[index]
    k = net.circuit.branch.get(f"{wire.id}: {wire.name}")
    if k is None:
        value = np.zeros(state.unit.batch)
    else:
        branch = net.circuit.conductances[k]
        solution = side(state.unit, drive)  # type: ignore[arg-type]
        value = np.abs(solution.between(branch.a, branch.b)) * solution.conductance[:, k]
    gauge = state.tools.clamp_direct if drive == "direct" else state.tools.clamp_alternating
    reading = state.see_gauge(gauge, value)
    return Result({"reading": reading_data(reading)}, f"{shown(reading)} through {wire.name}.", 1)


@action("insulation test")
def _insulation(state: BenchState, args: dict[str, Any]) -> Result:
    """500 V direct between two terminals. It ruins electronics that it reaches."""
    red, black = reach(state, text_of(args, "red")), reach(state, text_of(args, "black"))
    if red == black:
        raise BenchError("Both leads are on the same terminal. Put one of them somewhere else.")
    network = Terminals(state.unit)
    standing, _ = state.meter.sees("V~", network, red, black)
    direct, _ = state.meter.sees("V⎓", network, red, black)
    disturbed = np.maximum(standing, np.abs(direct))
    if disturbed[0] > DISTURBED:
        state.see_fact((disturbed > DISTURBED).astype(float))
        return Result({}, "The insulation tester refuses: there are volts on its leads.", 1, ["ohms-on-live"])
    reading = state.see_gauge(state.tools.insulation, megohms(network, red, black))
    broke = []
    for board in state.model.of_type("control board"):
        if _reaches_board(state, board, red, black):
            state.unit.set(f"{board}.dead", 1.0)
            broke.append("board-overvoltage")
    text = f"{shown(reading)} at 500 V between {state.name_of(red)} and {state.name_of(black)}."
    return Result({"reading": reading_data(reading)}, text, 1, broke)


def _reaches_board(state: BenchState, board: str, red: str, black: str) -> bool:
    """True if the leads stand on the board, or on what a lead that isn't lifted joins to it."""
    touched = {red, black}
    for wire in state.model.wires.values():
        if wire.lifts_at and state.lifted(wire.id):
            continue
        ends = {wire.from_, wire.to}
        if ends & touched and any(end.split(".")[0] == board for end in ends):
            return any(end.split(".")[0] == board and not end.endswith(".ground") for end in ends)
    return any(t.split(".")[0] == board and not t.endswith(".ground") for t in touched)


@action("gap gauge")
def _gap(state: BenchState, args: dict[str, Any]) -> Result:
    """Feeler blades in the igniter's gap."""
    igniter = _one(state, "igniter")
    _at(state, igniter)
    reading = state.see_gauge(state.tools.feeler, state.unit[f"{igniter}.gap"])
    return Result({"reading": reading_data(reading)}, f"Igniter's gap: {shown(reading)}.", 2)


@action("board test")
def _board_test(state: BenchState, args: dict[str, Any]) -> Result:
    """The control board on the board test set: own 12 V, own spark gap, own valve load, a made flame signal."""
    board = _one(state, "control board")
    _at(state, board)
    unit = state.unit
    alive = unit[f"{board}.dead"] <= 0
    amperes = np.where(alive, 12.0 / unit[f"{board}.idle_resistance"], 0.0)
    needed = breakdown_si(BOARD_TEST_GAP / 1e3, tip=0.5)
    sparks = alive & (unit[f"{board}.no_spark"] <= 0) & (unit[f"{board}.spark_volts"] >= needed)
    relay = alive & (unit[f"{board}.relay_fails"] <= 0)
    sees = (
        alive & (unit[f"{board}.sense_failed"] <= 0) & (unit[f"{board}.sense_threshold"] <= BOARD_TEST_FLAME)
    )
    reading = state.see_gauge(state.tools.board_amperes, amperes)
    facts = {
        name: bool(state.see_fact(value.astype(float)))
        for name, value in (("spark", sparks), ("valve output", relay), ("sees a flame signal", sees))
    }
    words = ", ".join(f"{name} {'yes' if ok else 'NO'}" for name, ok in facts.items())
    data = {"reading": reading_data(reading), "facts": facts}
    return Result(data, f"Board on its test set: draws {shown(reading)}, {words}.", 8)


@action("bubble test")
def _bubbles(state: BenchState, args: dict[str, Any]) -> Result:
    """With the burner off: what passes the shut gas valve, counted as bubbles."""
    valve = next((v for kind in ("gas valve", "pilot gas valve") for v in state.model.of_type(kind)), None)
    if valve is None:
        raise BenchError("This heater has no gas valve.")
    _at(state, valve)
    simulation.energise(state.unit)
    if state.flag("burner.lit") or state.flag(f"{valve}.open"):
        raise BenchError("The burner is on. Switch the 12 V side off first.")
    full = state.model.gas_input / PROPANE
    shut = state.unit[f"{valve}.open"] <= 0
    flow = np.where(shut, state.unit[f"{valve}.leak_by"], 1.0) * full
    reading = state.see_gauge(state.tools.bubbles, np.minimum(flow / BUBBLE * 60.0, 1e6))
    return Result({"reading": reading_data(reading)}, f"Bubbles behind the shut valve: {shown(reading)}.", 5)


def ignition_actions(state: BenchState) -> list[tuple[str, str, float, str]]:
    """Rows for a screen: the actions without a target, with minutes and why one can't be done now."""
    rows: list[tuple[str, str, float, str]] = []
    for board in state.model.of_type("control board"):
        switch = _one(state, "12 V panel switch")
        off = "" if state.flag(f"{switch}.closed") else "The 12 V panel switch is off."
        cover = _why_not(state, board)
        rows += [
            ("watch start", "12 V off and on, and watch a start", WATCH, off),
            ("gap gauge", "Feeler gauge in the igniter's gap", 2, cover),
            ("board test", "Control board on its test set", 8, cover),
        ]
    for kind in ("gas valve", "pilot gas valve"):
        for valve in state.model.of_type(kind):
            on = state.flag(f"{valve}.open")
            why = _why_not(state, valve) or ("The burner is on. Switch it off first." if on else "")
            rows.append(("bubble test", "Bubble test behind the shut gas valve", 5, why))
    for valve in state.model.of_type("pilot gas valve"):
        off = "" if state.flag(f"{valve}.knob") else "The gas valve's knob is off."
        why = _why_not(state, valve) or off
        rows.append(("light pilot", "Light the pilot", 2, why))
        rows.append(("thermocouple test", "Millivolts of the thermocouple", 4, why))
    return rows


def _why_not(state: BenchState, part: str) -> str:
    place = state.model.places[state.model.parts[part].place]
    return (
        f"Take the cover off first: {place.name}."
        if place.cover and place.id not in state.open_covers
        else ""
    )
