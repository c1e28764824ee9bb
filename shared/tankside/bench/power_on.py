"""What comes of power coming on: which proof lapses, which rules that breaks, an element that stands dry."""

from __future__ import annotations

from tankside.bench.hands import felt_live
from tankside.bench.state import BenchState
from tankside.heater import simulation
from tankside.heater.electrics import coil_power
from tankside.heater.wiring import loose_end


def powered(state: BenchState) -> list[str]:
    """After something was switched on: proof lapses where it is live now; the rules that this broke."""
    ends = [*state.model.terminals, *(loose_end(w.id) for w in state.loose())]
    live = {state.place_of(terminal) for terminal in felt_live(state, ends)}
    state.dead_places -= live
    state.dead_pairs = {place: pairs for place, pairs in state.dead_pairs.items() if place not in live}
    open_ends = any(state.place_of(loose_end(wire.id)) in live for wire in state.loose())
    return (["energised-open"] if open_ends else []) + dry_elements(state)


def dry_elements(state: BenchState) -> list[str]:
    """Draining while the element is on is a dry start too."""
    solution = simulation.energise(state.unit)
    for element in state.model.of_type("element"):
        hot = coil_power(state.unit, element, solution)[0] > 1.0
        if hot and not state.flag(f"{element}.covered"):
            return ["dry-fire"]
    return []
