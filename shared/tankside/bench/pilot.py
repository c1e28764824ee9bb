"""What hands and eyes do about a standing pilot and its thermocouple."""

from __future__ import annotations

from typing import Any

import numpy as np

from tankside.bench.actions import Result, action
from tankside.bench.out_of_reach import out_of_reach
from tankside.bench.reading_words import reading_data, shown
from tankside.bench.state import BenchState
from tankside.bench.terminals import Terminals
from tankside.errors import BenchError
from tankside.heater import simulation

RAN = 1.5
"""min that lighting and looking afterwards let pass."""
REACHES = 300.0
"""°C that a tip gets to from which one sees the flame around it (our figure)."""
HOLD = 60.0
"""s that the button is held in after the pilot burns (common practice: half a minute to a minute, no source)."""


def _valve(state: BenchState) -> tuple[str, str]:
    """Ids of the valve and the thermocouple, if hands can get at them."""
    valves, couples = state.model.of_type("pilot gas valve"), state.model.of_type("thermocouple")
    if not valves or not couples:
        raise BenchError("This heater has no standing pilot with a thermocouple.")
    place = state.model.places[state.model.parts[valves[0]].place]
    if place.cover and place.id not in state.open_covers:
        raise out_of_reach(state.model.parts[valves[0]].name, place.name)
    if not state.flag(f"{valves[0]}.knob"):
        raise BenchError("The gas valve's knob is off. Turn it on first.")
    return valves[0], couples[0]


def _press_and_light(state: BenchState, valve: str) -> float:
    """Button in, flame to the pilot, hold; whether a pilot burns while the button is held."""
    state.unit.set(f"{valve}.pressed", 1.0)
    simulation.energise(state.unit)
    state.unit.set(f"{valve}.pilot", 1.0)
    simulation.advance(state.unit, HOLD / 60.0)
    simulation.energise(state.unit)
    return state.see_fact(state.unit[f"{valve}.pilot"])


def _let_go(state: BenchState, valve: str) -> tuple[float, float]:
    """Button out; whether the pilot stays, and whether the main burner lights."""
    state.unit.set(f"{valve}.pressed", 0.0)
    simulation.energise(state.unit)
    simulation.advance(state.unit, 0.5)
    simulation.energise(state.unit)
    return state.see_fact(state.unit[f"{valve}.pilot"]), state.see_fact(state.unit["burner.lit"])


@action("light pilot")
def _light_pilot(state: BenchState, args: dict[str, Any]) -> Result:
    """Hold the button, light, wait a minute, let go, look."""
    valve, couple = _valve(state)
    burns = _press_and_light(state, valve)
    around = state.unit[f"{couple}.in_flame"] >= REACHES
    reaches = state.see_fact((around & (state.unit[f"{valve}.pilot"] > 0)).astype(float))
    stays, main = _let_go(state, valve)
    text = "Held the button and brought a flame: " + ("the pilot burns" if burns else "no pilot flame")
    if burns:
        text += (
            ", around the thermocouple's tip" if reaches else ", small, and doesn't reach the thermocouple"
        )
    if burns:
        text += "; let go after a minute: " + ("it stays lit" if stays else "it goes out")
        text += ", and the main burner lights." if main else ", and the main burner stays off."
    else:
        text += "."
    return Result(
        {"pilot": bool(burns), "reaches": bool(reaches), "stays": bool(stays), "main": bool(main)},
        text,
        2 - RAN,
        ran=RAN,
    )


@action("thermocouple test")
def _thermocouple(state: BenchState, args: dict[str, Any]) -> Result:
    """Millivolts with the button held and the pilot lit: across the magnet, then open with the lead lifted."""
    valve, couple = _valve(state)
    wire = next(
        (w for w in state.model.wires.values() if w.lifts_at and f"{couple}.lead" in (w.from_, w.to)), None
    )
    burns = _press_and_light(state, valve)
    network = Terminals(state.unit)
    gauge = state.tools.millivolts
    loaded = state.see_gauge(gauge, 1e3 * network.direct(f"{valve}.magnet", f"{valve}.body", 1e-7, 0.0))
    readings = [loaded]
    words = f"{shown(loaded)} across the magnet"
    if wire is not None:
        before = state.unit[f"{wire.id}.lifted"].copy()
        state.unit.set(f"{wire.id}.lifted", 1.0)
        volts = Terminals(state.unit).direct(f"{couple}.lead", f"{couple}.sheath", 1e-7, 0.0)
        state.unit.values[f"{wire.id}.lifted"] = before
        simulation.energise(state.unit)  # the lead is back while the button still holds the armature
        readings.append(state.see_gauge(gauge, 1e3 * np.asarray(volts)))
        words += f", {shown(readings[1])} open"
    stays, _ = _let_go(state, valve)
    flame = "with the pilot lit" if burns else "but no pilot flame"
    data = {
        "readings": [{"reading": reading_data(r)} for r in readings],
        "pilot": bool(burns),
        "stays": bool(stays),
    }
    return Result(data, f"Thermocouple, {flame}: {words}.", 4 - RAN, ran=RAN)
