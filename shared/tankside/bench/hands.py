"""What hands can reach, what they would feel there, and the rules that they break by touching it."""

from __future__ import annotations

from tankside.bench.out_of_reach import out_of_reach
from tankside.bench.state import BenchState
from tankside.bench.terminals import Terminals
from tankside.bench.where_to_prove import proof_pairs
from tankside.errors import BenchError
from tankside.heater.model import Wire
from tankside.heater.wiring import loose_end

LIVE_12V = 3.0
"""V direct from which a lead of the 12 V side counts as live (ours)."""


def reach(state: BenchState, terminal: str) -> str:
    """The terminal, if no cover hides it and it isn't under its screw; else a ``BenchError``."""
    place = state.place_of(terminal)
    if state.model.places[place].cover and place not in state.open_covers:
        raise out_of_reach(state.name_of(terminal), state.model.places[place].name)
    if terminal.endswith(".end") and not state.lifted(terminal.removesuffix(".end")):
        raise BenchError(
            f"That lead is on its terminal. Probe the terminal itself: {state.name_of(terminal)}."
        )
    return terminal


def hands_on(state: BenchState, terminals: list[str]) -> tuple[list[str], bool]:
    """Rules broken by bare hands on these terminals; True if the hands met a live one."""
    if felt_live(state, terminals):
        return ["hands-on-live"], True
    broke = []
    if state.locked is None:
        broke.append("no-lock-out")
    places = {state.place_of(terminal) for terminal in terminals}
    if not {place for place in places if proof_pairs(state, place)} <= state.dead_places:
        broke.append("not-proven-dead")
    return broke, False


def on_lead(state: BenchState, wire: Wire, terminals: list[str]) -> tuple[list[str], bool]:
    """The same for a lead. Where only direct current comes, its own, gentler rule stands in for lock and proof."""
    if wire.role not in ("dc+", "dc-") or any(proof_pairs(state, state.place_of(t)) for t in terminals):
        return hands_on(state, terminals)
    if felt_live(state, terminals):
        return ["hands-on-live"], True
    return (["lifted-live-12v"] if _live_12v(state, terminals) else []), False


def _live_12v(state: BenchState, terminals: list[str]) -> bool:
    """True if one of them stands at volts of the 12 V side, or the board sparks into its lead."""
    unit = state.unit.take([0])
    network = Terminals(unit)
    returns = [f"{part}.minus" for part in state.model.of_type("battery")]
    volts = [abs(float(network.direct(t, r, 1e-7, 0.0)[0])) for t in terminals for r in returns]
    sparks = any(
        unit[f"{board}.sparking"][0] > 0 and f"{board}.spark" in (wire.from_, wire.to)
        for board in state.model.of_type("control board")
        for wire in state.model.wires.values()
        if {wire.from_, wire.to, loose_end(wire.id)} & set(terminals)
    )
    return sparks or any(v > LIVE_12V for v in volts)


def felt_live(state: BenchState, terminals: list[str]) -> list[str]:
    """Those that a hand would feel; the hand is at the first variant."""
    return Terminals(state.unit.take([0])).felt(terminals)
