"""The multimeter: its functions, its leads, a reading between two terminals."""

from __future__ import annotations

from typing import Any

from tankside.bench.actions import Result, action, text_of
from tankside.bench.hands import reach
from tankside.bench.proving_dead import note_dead
from tankside.bench.reading_words import reading_data, shown
from tankside.bench.state import BenchState
from tankside.bench.terminals import Terminals
from tankside.errors import BenchError
from tankside.instruments.multimeter import function_named


@action("meter")
def _meter(state: BenchState, args: dict[str, Any]) -> Result:
    kind = function_named(text_of(args, "function"))
    state.function = kind.id
    state.reading = None
    return Result({}, f"Set the meter to {kind.name}.", 0.2)


@action("zero leads")
def _zero_leads(state: BenchState, args: dict[str, Any]) -> Result:
    if function_named(state.function).unit != "Ω":
        raise BenchError("Set the meter to ohms, then hold the lead tips together.")
    reading = state.meter.show("Ω", 0.0)
    state.meter.zeroed = True
    return Result(
        {"reading": reading_data(reading)}, f"Held the lead tips together: {shown(reading)}. Zeroed.", 0.5
    )


@action("probe")
def _probe(state: BenchState, args: dict[str, Any]) -> Result:
    red, black = text_of(args, "red"), text_of(args, "black")
    for terminal in (red, black):
        reach(state, terminal)
    if red == black:
        raise BenchError("Both leads are on the same terminal. Put one of them somewhere else.")
    network = Terminals(state.unit)
    value, disturbed = state.meter.sees(state.function, network, red, black)
    reading = state.meter.show(state.function, float(value[0]), float(disturbed[0]))
    state.see_reading(reading, value, disturbed)
    state.red, state.black, state.reading = red, black, reading_data(reading)
    broke = ["ohms-on-live"] if reading.note == "volts on the leads" else []
    if broke:
        state.meter_proven_at = None
    note_dead(state, red, black, reading)
    text = f"{shown(reading)} between {state.name_of(red)} and {state.name_of(black)}."
    return Result({"reading": reading_data(reading)}, text, 1, broke)
