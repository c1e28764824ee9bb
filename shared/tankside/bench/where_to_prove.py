"""Between which terminals a place is tested before it counts as dead."""

from __future__ import annotations

from tankside.bench.state import BenchState


def proof_pairs(state: BenchState, place: str) -> list[tuple[str, str]]:
    """The pairs to test at a place: hot-neutral, hot-ground, neutral-ground where it has those conductors.

    Where no ground comes, it is a ground elsewhere: with the neutral open, hot to neutral shows nothing, however live
    both are. Where only hot conductors come, as at a switch, each is tested to that ground: across a closed switch a
    meter shows nothing either.
    """
    terminals = state.terminals_at(place)
    wires = state.model.wires.values()
    ground = [
        t
        for t in terminals
        if t.endswith((".ground", ".shell", ".sheath"))
        and any(w.role in ("ground", "bond") and t in (w.from_, w.to) for w in wires)
    ][:1]
    neutral = [
        w.to if w.to in terminals else w.from_
        for w in wires
        if w.role == "neutral" and {w.to, w.from_} & set(terminals)
    ][:1]
    hot = [
        w.to if w.to in terminals else w.from_
        for w in wires
        if w.role in ("hot", "switched hot") and {w.to, w.from_} & set(terminals)
    ]
    if hot and not ground and not neutral:
        return [(h, elsewhere) for h in dict.fromkeys(hot) for elsewhere in _reachable_ground(state)]
    ground = ground or _reachable_ground(state)
    out = [(h, other) for h in hot[:1] for other in (*neutral, *ground)]
    return out + [(n, g) for n in neutral for g in ground] if hot or neutral else []


def _reachable_ground(state: BenchState) -> list[str]:
    """A ground terminal to hold a lead on from anywhere: one that no cover hides, where there is one."""
    grounds = [t for t in state.model.terminals if t.endswith(".ground")]
    return sorted(grounds, key=lambda t: state.model.places[state.place_of(t)].cover)[:1]
