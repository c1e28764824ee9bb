"""What hands, ears and eyes do about the water side, the tank and the anode."""

from __future__ import annotations

from typing import Any

import numpy as np

from tankside.bench.actions import Result, action, known, text_of
from tankside.bench.both_measures import both_measures
from tankside.bench.out_of_reach import out_of_reach
from tankside.bench.reading_words import reading_data, shown
from tankside.bench.rules import SCALDS_ABOVE
from tankside.bench.state import Array, BenchState
from tankside.errors import BenchError
from tankside.heater import corrosion, plumbing, simulation
from tankside.instruments.multimeter import Reading
from tankside.instruments.water_strip import strip
from tankside.physics.corrosion import METALS
from tankside.physics.hot_water import scald_time_si
from tankside.physics.water import T0

TEST_MINUTES = 2.0
"""min that a tap runs for a bucket and a thermometer."""
TOUCH = 8.0
"""W/(m² K) from a warm jacket to still air (from memory)."""
JACKET_PER_LITRE = 0.012
"""m² of jacket for each litre of tank (ours)."""


def _part(state: BenchState, kind: str) -> str:
    parts = state.model.of_type(kind)
    if not parts:
        raise BenchError(f"This heater has no {kind}.")
    place = state.model.places[state.model.parts[parts[0]].place]
    if place.cover and place.id not in state.open_covers:
        raise out_of_reach(state.model.parts[parts[0]].name, place.name)
    return parts[0]


def _taken_out(state: BenchState, kind: str) -> tuple[str, list[str]]:
    """A fitting that is unscrewed from the tank, and the rules that this breaks: pressure, water, scald."""
    part = _part(state, kind)
    broke: list[str] = []
    if state.unit["tank.fill"][0] > 0.02:
        broke.append("under-pressure")
        if state.unit["tank.temperature"][0] > SCALDS_ABOVE:
            broke.append("scald")
    return part, broke


def _refused(name: str, broke: list[str]) -> Result:
    return Result({}, f"You put a wrench to the {name} with the tank full.", 1, broke, blocked=True)


def _result(
    text: str, readings: list[Reading], minutes: float, broke: list[str] | None = None, **data: Any
) -> Result:
    listed = [{"reading": reading_data(r)} for r in readings]
    return Result({"readings": listed, **data}, text, minutes, broke or [])


def _full(state: BenchState) -> None:
    if state.unit["tank.fill"][0] < 0.98:
        raise BenchError("The tank isn't full.")


def _judged(state: BenchState, value: Array, slack: float) -> float:
    """A share that eyes judge, to the nearest tenth."""
    seen = round(float(value[0]), 1)
    if state.witness:
        state.witness.number(value, seen - 0.05 - slack, seen + 0.05 + slack)
    return seen


@action("tap test")
def _tap_test(state: BenchState, args: dict[str, Any]) -> Result:
    """A bucket, a watch and a thermometer at the ``tap``: "hot" or "cold"."""
    tap = known("tap", text_of(args, "tap"), ["hot", "cold"])
    _part(state, "house taps")
    _full(state)
    if tap == "cold":
        flow = state.see_gauge(state.water.bucket, plumbing.cold_tap(state.unit) * 60e3)
        warm = state.see_gauge(state.water.water, state.unit["site.cold_water"])
        return _result(f"Cold tap: {shown(flow)}, {shown(warm)}.", [flow, warm], 2)
    hot = plumbing.hot_tap(state.unit)
    flow = state.see_gauge(state.water.bucket, hot.flow * 60e3)
    runs = hot.flow > plumbing.TRICKLE
    if not runs[0]:
        state.see_fact(runs.astype(float))
        return _result(f"Hot tap: {shown(flow)}. Hardly anything comes.", [flow], 2)
    warm = state.see_gauge(state.water.water, hot.temperature)
    plumbing.drawn(state.unit, hot.flow * TEST_MINUTES * 60e3)
    degrees = warm.value if warm.value is not None else 0.0
    burns = (
        f" It burns an adult's skin in about {scald_time_si(degrees + T0):.0f} s."
        if degrees > SCALDS_ABOVE
        else ""
    )
    return _result(f"Hot tap: {shown(flow)}, {shown(warm)}.{burns}", [flow, warm], 2)


@action("shut-off test")
def _shut_off(state: BenchState, args: dict[str, Any]) -> Result:
    """The heater's own cold shut-off closed, a hot tap open: what still runs comes past the heater."""
    _part(state, "cold inlet")
    _full(state)
    past = plumbing.hot_tap(state.unit, inlet_open=False).flow * 60e3
    reading = state.see_gauge(state.water.bucket, past)
    runs = f"{shown(reading)} still runs" if reading.value else "nothing runs"
    return _result(f"Heater's cold shut-off closed, hot tap open: {runs}.", [reading], 4)


@action("drain flow")
def _drain_flow(state: BenchState, args: dict[str, Any]) -> Result:
    """How fast cold water pushes out of the tank's drain: the way in, without the hot side."""
    part = _part(state, "cold inlet")
    _full(state)
    flow = state.unit[f"{part}.passes"] * np.sqrt(state.unit[f"{part}.pressure"] / plumbing.REFERENCE) * 60e3
    reading = state.see_gauge(state.water.bucket, np.minimum(flow * 0.2, 19.0))
    litres = np.minimum(flow * 0.2, 19.0) * 0.5
    plumbing.drawn(state.unit, litres / np.maximum(plumbing.hot_tap(state.unit).through_tank, 1e-9))
    return _result(f"Drain cock a quarter open for half a minute: {shown(reading)}.", [reading], 3)


@action("trace lines")
def _trace(state: BenchState, args: dict[str, Any]) -> Result:
    """Follow the pipes by hand: which goes where, and how the winter bypass stands."""
    inlet = _part(state, "cold inlet")
    crossed = state.see_fact(state.unit[f"{inlet}.crossed"])
    words = "the cold line goes to the HOT port" if crossed else "the cold line goes to the cold port"
    share = 0.0
    for bypass in state.model.of_type("winter bypass"):
        share = _judged(state, state.unit[f"{bypass}.open"], 0.05)
        words += (
            f", the bypass handle stands {'shut' if share < 0.05 else ('across' if share < 0.8 else 'open')}"
        )
    return Result({"crossed": bool(crossed), "bypass": share}, f"Followed the lines: {words}.", 4)


@action("feel hot line")
def _feel(state: BenchState, args: dict[str, Any]) -> Result:
    """The hot pipe an arm's length above the tank, after a while without a draw."""
    _part(state, "check valve")
    reading = state.see_gauge(state.water.surface, plumbing.hot_line(state.unit))
    return _result(f"Hot line above the check valve, at rest: {shown(reading)}.", [reading], 2)


@action("catch drips")
def _drips(state: BenchState, args: dict[str, Any]) -> Result:
    """A cup under the relief valve's pipe, one under the anode's plug, a tray under the tank; and the owner's bucket."""
    valve, vessel = _part(state, "relief valve"), _part(state, "vessel")
    simulation.settle(state.unit)
    full = state.unit["tank.fill"] > 0.98
    weep = state.unit[f"{valve}.weep"] + state.unit[f"{valve}.open"] * state.unit[f"{valve}.capacity"]
    cup = state.see_gauge(state.water.drips, np.where(full, weep, 0.0) * 60e3)
    pail = state.see_gauge(state.water.caught, np.minimum(state.unit[f"{valve}.passed"] * 1e3, 1.9e5))
    tray = state.see_gauge(state.water.drips, np.where(full, state.unit[f"{vessel}.seep"], 0.0) * 60e3)
    words = f"From the relief valve's pipe {shown(cup)}, {shown(pail)} in the bucket; under the tank {shown(tray)}"
    readings = [cup, pail, tray]
    for anode in state.model.of_type("anode"):
        joint = np.where(full, state.unit[f"{anode}.joint_leak"], 0.0) * 60e3
        readings.append(state.see_gauge(state.water.drips, joint))
        words += f"; at the anode's plug {shown(readings[-1])}"
    for check in state.model.of_type("check valve"):
        body = np.where(full, state.unit[f"{check}.split"], 0.0) * 60e3
        readings.append(state.see_gauge(state.water.drips, body))
        words += f"; at the check valve {shown(readings[-1])}"
    return _result(f"{words}.", readings, 6)


@action("water pressure")
def _pressure(state: BenchState, args: dict[str, Any]) -> Result:
    """A gauge on the drain cock: taps shut as found, then with a tap just run."""
    inlet = _part(state, "cold inlet")
    _full(state)
    simulation.settle(state.unit)
    shut = state.see_gauge(state.water.pressure, plumbing.pressure(state.unit) / 1e3)
    supply = state.see_gauge(state.water.pressure, state.unit[f"{inlet}.pressure"] / 1e3)
    plumbing.refilled(state.unit, plumbing.full(state.unit))
    return _result(f"Taps shut {shown(shut)}; after a tap was opened {shown(supply)}.", [shut, supply], 4)


@action("cushion test")
def _cushion(state: BenchState, args: dict[str, Any]) -> Result:
    """Shut the cold, open the drain: an air cushion pushes some litres out before it stops."""
    part = _part(state, "air cushion")
    _full(state)
    reading = state.see_gauge(
        state.water.caught, state.unit[f"{part}.volume"] * 1e6 * plumbing.CUSHION_AT / 101325.0
    )
    return _result(f"Cold shut, drain open: {shown(reading)} came out before it stopped.", [reading], 5)


@action("lift relief lever")
def _lever(state: BenchState, args: dict[str, Any]) -> Result:
    """The relief valve's test lever, for a few seconds."""
    valve = _part(state, "relief valve")
    _full(state)
    broke = ["scald"] if state.unit["tank.temperature"][0] > SCALDS_ABOVE else []
    moves = state.see_fact((state.unit[f"{valve}.seized"] <= 0).astype(float))
    if not moves:
        return Result({"flows": False}, "Lifted the relief valve's lever: it doesn't move, nothing comes.", 2)
    out = np.where(state.unit[f"{valve}.seized"] <= 0, 5.0 * state.unit[f"{valve}.capacity"], 0.0)
    tap = plumbing.hot_tap(state.unit)
    plumbing.drawn(state.unit, out / np.maximum(tap.through_tank, 1e-9))
    return Result(
        {"flows": True},
        "Lifted the relief valve's lever: water rushes out, and stops when it shuts.",
        2,
        broke,
    )


@action("plug relief valve")
def _plug(state: BenchState, args: dict[str, Any]) -> Result:
    """Never."""
    name = state.model.parts[_part(state, "relief valve")].name
    return Result({}, f"You went to put a plug in the {name}.", 1, ["plugged-relief"], blocked=True)


@action("relief on the stand")
def _stand(state: BenchState, args: dict[str, Any]) -> Result:
    """The relief valve out of the tank: a hand pump, then a bath that is warmed."""
    valve, broke = _taken_out(state, "relief valve")
    if broke:
        return _refused("relief valve", broke)
    free = state.unit[f"{valve}.seized"] <= 0
    lifts = np.where(free, state.unit[f"{valve}.lifts_at"] / 1e3, 4500.0)
    warm = np.where(free, state.unit[f"{valve}.opens_at"], 250.0)
    pressure = state.see_gauge(state.water.pressure, lifts)
    bath = state.see_gauge(state.water.water, warm)
    return _result(
        f"Relief valve on the stand: opens at {shown(pressure)}, and at {shown(bath)}.", [pressure, bath], 25
    )


@action("winterise")
def _winterise(state: BenchState, args: dict[str, Any]) -> Result:
    """Leave the heater so that frost can do nothing: both sources off, drained, valves and taps open, bypass open."""
    _part(state, "cold inlet")
    _full(state)
    if _could_heat(state):
        raise BenchError("Someone could switch it on dry. Switch the breaker off, and the 12 V side, first.")
    broke = ["scald"] if state.unit["tank.temperature"][0] > SCALDS_ABOVE else []
    simulation.drain(state.unit)
    for part in state.model.of_type("winter bypass"):
        state.unit.set(f"{part}.open", 1.0)
    state.see_positions()
    text = (
        "Drained the tank, opened the winter bypass, the taps and the relief valve's lever, blew the check valve dry. "
        "Put a note on the panel: tank empty, fill before switching on."
    )
    return Result({"positions": state.switches()}, text, 25, broke)


def _could_heat(state: BenchState) -> bool:
    """True while a hand elsewhere needs only a thermostat's call to heat a dry tank."""
    breakers = [state.flag(f"{part}.closed") for part in state.model.of_type("breaker")]
    plugs = [state.flag(f"{part}.plugged") for part in state.model.of_type("mains supply")]
    panel = [state.flag(f"{part}.closed") for part in state.model.of_type("12 V panel switch")]
    knobs = [
        state.flag(f"{part}.knob")
        for kind in ("pilot gas valve", "hand gas valve")
        for part in state.model.of_type(kind)
    ]
    mains = bool(state.model.of_type("element")) and all([*breakers, *plugs])
    return mains or any(panel) or any(knobs)


@action("look at check valve")
def _check_valve(state: BenchState, args: dict[str, Any]) -> Result:
    """The check valve out of the hot line: flap, spring, seat, body."""
    part, broke = _taken_out(state, "check valve")
    if broke:
        return _refused("check valve", broke)
    jam = _judged(state, state.unit[f"{part}.jammed"], 0.05)
    leak = _judged(state, state.unit[f"{part}.leaks_back"], 0.05)
    words = f"{jam:.0%} of its bore blocked by its own parts" if jam else "its bore is clear"
    words += f", the flap leaves {leak:.0%} open" if leak else ", the flap shuts"
    cracked = bool(state.see_fact((state.unit[f"{part}.split"] > 0).astype(float)))
    words += ", its body is cracked" if cracked else ""
    return Result({"blocked": jam, "open": leak, "cracked": cracked}, f"Check valve out: {words}.", 15)


@action("look at anode")
def _anode(state: BenchState, args: dict[str, Any]) -> Result:
    """The anode out: caliper, scales, eyes."""
    part, broke = _taken_out(state, "anode")
    if broke:
        return _refused("anode", broke)
    missing = state.see_fact(state.unit[f"{part}.missing"])
    if missing:
        return Result({"rod": False}, "Took the plug out: a plain plug, no rod on it.", 10)
    across = np.where(state.unit[f"{part}.missing"] > 0, 0.0, 2e3 * corrosion.radius(state.unit))
    size = state.see_gauge(state.water.caliper, across)
    core = state.unit[f"{part}.used"] > 0.95
    shows = state.see_fact(core.astype(float))
    readings, words = [size], f"rod {shown(size)} across"
    if not shows:
        which = state.unit[f"{part}.alloy"].round().astype(int)
        heavy = np.array([METALS[name].density for name in corrosion.ALLOYS])[which] / 1e3
        readings.append(state.see_gauge(state.water.density, heavy))
        words += f", {shown(readings[-1])}"
    skin = state.see_fact((state.unit[f"{part}.film"] > 500.0).astype(float))
    words += ", the steel wire shows" if shows else ""
    words += ", under a hard gray skin" if skin else ""
    return _result(f"Took the anode out: {words}.", readings, 12, rod=True, core=bool(shows), skin=bool(skin))


@action("lamp in tank")
def _lamp(state: BenchState, args: dict[str, Any]) -> Result:
    """A lamp and a mirror through the plug's hole: what lies on the bottom, the lining, pits."""
    part, broke = _taken_out(state, "vessel")
    if broke:
        return _refused("drain plug", broke)
    mud = state.see_gauge(state.water.depth, state.unit[f"{part}.sediment"] * 1e3)
    bare = state.see_gauge(state.water.area, state.unit[f"{part}.bare_area"] * 1e4)
    pit = state.see_gauge(state.water.depth, state.unit[f"{part}.pit"] * state.unit[f"{part}.wall"] * 1e3)
    words = f"{shown(mud)} of sediment, {shown(bare)} of bare metal, deepest pit {shown(pit)}"
    return _result(f"Lamp in the tank: {words}.", [mud, bare, pit], 10)


@action("water test")
def _water_test(state: BenchState, args: dict[str, Any]) -> Result:
    """A strip for hardness and a conductivity meter in a cup of cold water."""
    inlet = _part(state, "cold inlet")
    hardness = state.unit[f"{inlet}.hardness"]
    step, low, high = strip(float(hardness[0]))
    if state.witness:
        state.witness.number(hardness, low, high)
    hard = both_measures(step, "mg/L", f"{step:g} mg/L")
    meter = state.see_gauge(state.water.conductivity, state.unit["tank.water_conductivity"] * 500.0)
    return _result(f"Strip: hardness about {hard}. Meter: {shown(meter)}.", [meter], 3, hardness=step)


@action("feel jacket")
def _jacket(state: BenchState, args: dict[str, Any]) -> Result:
    """A surface probe on the tank's jacket."""
    vessel = _part(state, "vessel")
    area = JACKET_PER_LITRE * state.unit["tank.volume"] * 1e3
    loss = state.unit["tank.loss"] * state.unit[f"{vessel}.insulation"]
    room = state.unit["site.room"]
    warm = room + (state.unit["tank.temperature"] - room) * loss / (loss + TOUCH * area)
    reading = state.see_gauge(state.water.surface, warm)
    return _result(f"Jacket: {shown(reading)}.", [reading], 2)


@action("listen to tank")
def _listen(state: BenchState, args: dict[str, Any]) -> Result:
    """An ear at the tank while it heats."""
    _part(state, "vessel")
    noise = state.see_fact(plumbing.rumbles(state.unit, simulation.energise(state.unit)).astype(float))
    return Result({"rumbles": bool(noise)}, "It rumbles like a kettle." if noise else "The tank is quiet.", 2)


def water_actions(state: BenchState) -> list[tuple[str, str, float, str]]:
    """Verb, label, minutes and why not, of what can be done without naming a target."""
    if not state.model.of_type("cold inlet"):
        return []
    full = bool(state.unit["tank.fill"][0] > 0.98)
    wet, dry = ("" if full else "Fill the tank first."), ("Drain the tank first." if full else "")
    rows = [
        ("shut-off test", "Shut the heater's cold, open a hot tap", 4.0, wet),
        ("drain flow", "Open the drain cock", 3.0, wet),
        ("trace lines", "Follow the water lines", 4.0, ""),
        ("feel hot line", "Feel the hot line at rest", 2.0, ""),
        ("catch drips", "Catch drips", 6.0, ""),
        ("water pressure", "Measure the water pressure", 4.0, wet),
        ("cushion test", "Test the air cushion", 5.0, wet),
        ("lift relief lever", "Lift the relief valve's lever", 2.0, wet),
        ("water test", "Test the water", 3.0, ""),
        ("feel jacket", "Feel the jacket", 2.0, ""),
        ("listen to tank", "Listen to the tank", 2.0, ""),
        ("relief on the stand", "Relief valve on the stand", 25.0, dry),
        ("look at check valve", "Take the check valve out and look", 15.0, dry),
        ("winterise", "Leave it for the winter: drained, bypass open", 25.0, wet),
        ("lamp in tank", "Lamp in the tank", 10.0, dry),
    ]
    if state.model.of_type("anode"):
        rows.append(("look at anode", "Take the anode out and look", 12.0, dry))
    return rows
