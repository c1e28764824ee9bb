"""Live, dead, live: proving the meter, proving a place dead, and what counts towards it."""

from __future__ import annotations

from typing import Any

from tankside.bench.actions import Result, action, known, text_of
from tankside.bench.hands import reach
from tankside.bench.reading_words import reading_data, shown
from tankside.bench.state import BenchState
from tankside.bench.terminals import Terminals
from tankside.bench.where_to_prove import proof_pairs
from tankside.errors import BenchError
from tankside.instruments.multimeter import Reading

KNOWN_SOURCE = 120.0
"""V of the proving unit in the toolbox."""


def is_dead(reading: Reading) -> bool:
    """True if the meter shows next to nothing on V~ (common practice, no source for the 3 V)."""
    return reading.function == "V~" and reading.value is not None and reading.value < 3.0


def note_dead(state: BenchState, red: str, black: str, reading: Reading) -> None:
    """A dead reading counts towards proof if the meter is proven; any other undoes it."""
    earths = _earths(state)
    for place in {state.place_of(red), state.place_of(black)}:
        pairs = state.dead_pairs.setdefault(place, set())
        pair = frozenset((red, black))
        if len(pair & earths) == 1:  # all grounds are one conductor: which of them is held doesn't matter
            own = {t for wanted in proof_pairs(state, place) for t in wanted} & earths
            pair = (pair - earths) | frozenset(own)
        if not is_dead(reading):
            pairs.discard(pair)
        elif state.meter_proven_at is not None:
            pairs.add(pair)


def _earths(state: BenchState) -> frozenset[str]:
    """Terminals of the ground conductor: those that a ground or bond wire joins, and the metal of tank and element."""
    joined = {
        end for w in state.model.wires.values() if w.role in ("ground", "bond") for end in (w.from_, w.to)
    }
    grounds = {t for t in joined if t.endswith((".ground", ".shell", ".sheath"))}
    metal = {f"{part}.shell" for part in state.model.of_type("tank")}
    metal |= {f"{part}.sheath" for part in state.model.of_type("element")}
    return frozenset(grounds | metal)


@action("prove meter")
def _prove_meter(state: BenchState, args: dict[str, Any]) -> Result:
    if state.function != "V~":
        raise BenchError("Set the meter to V~ first: the proving unit gives alternating volts.")
    reading = state.meter.show("V~", KNOWN_SOURCE)
    state.meter_proven_at = state.clock
    done = []
    for place, pairs in state.dead_pairs.items():
        wanted = {frozenset(pair) for pair in proof_pairs(state, place)}
        if wanted and wanted <= pairs:
            state.dead_places.add(place)
            state.once_proven.add(place)
            done.append(state.model.places[place].name)
    text = f"Proved the meter on the proving unit: {shown(reading)}."
    if done:
        text += f" Proven dead: {', '.join(done)}."
    return Result({"reading": reading_data(reading)}, text, 1)


@action("prove dead")
def _prove_dead(state: BenchState, args: dict[str, Any]) -> Result:
    place = known("place", text_of(args, "place"), list(state.model.places))
    pairs = proof_pairs(state, place)
    if not pairs:
        raise BenchError(f"There are no conductors to test at: {state.model.places[place].name}.")
    for pair in pairs:
        for terminal in pair:
            reach(state, terminal)
    state.function, state.reading = "V~", None
    network = Terminals(state.unit)
    found: list[dict[str, Any]] = []
    dead = True
    words = []
    for a, b in pairs:
        value, disturbed = state.meter.sees("V~", network, a, b)
        reading = state.meter.show("V~", float(value[0]))
        state.see_reading(reading, value, disturbed)
        found.append({"red": a, "black": b, "reading": reading_data(reading)})
        dead = dead and is_dead(reading)
        words.append(f"{state.name_of(a)} to {state.name_of(b)}: {shown(reading)}")
    proving = state.meter.show("V~", KNOWN_SOURCE)
    state.meter_proven_at = state.clock
    if dead:
        state.dead_places.add(place)
        state.once_proven.add(place)
        verdict = "It is dead."
    else:
        state.dead_places.discard(place)
        verdict = "It is NOT dead: find what still feeds it."
    text = (
        f"Live, dead, live, {state.model.places[place].name}: proving unit {shown(proving)}; "
        f"{'; '.join(words)}; proving unit {shown(proving)}. {verdict}"
    )
    return Result({"readings": found, "known": reading_data(proving), "dead": dead}, text, 5)
