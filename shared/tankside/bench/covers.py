"""Taking covers off and putting them back."""

from __future__ import annotations

from typing import Any

from tankside.bench.actions import Result, action, known, text_of
from tankside.bench.state import BenchState
from tankside.errors import BenchError


@action("open cover")
def _open_cover(state: BenchState, args: dict[str, Any]) -> Result:
    place = known("place", text_of(args, "place"), list(state.model.places))
    if not state.model.places[place].cover or place in state.open_covers:
        raise BenchError(f"{state.model.places[place].name.capitalize()} is open already.")
    state.open_covers.add(place)
    return Result({}, f"Took the cover off: {state.model.places[place].name}.", 3)


@action("close cover")
def _close_cover(state: BenchState, args: dict[str, Any]) -> Result:
    place = known("place", text_of(args, "place"), list(state.model.places))
    if place not in state.open_covers:
        raise BenchError(f"There is no open cover at: {state.model.places[place].name}.")
    state.open_covers.discard(place)
    for lead in ("red", "black"):
        terminal = getattr(state, lead)
        if terminal and state.place_of(terminal) == place:
            setattr(state, lead, None)
            state.reading = None
    return Result({}, f"Put the cover back: {state.model.places[place].name}.", 2)
