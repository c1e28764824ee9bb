"""Lifting leads and putting them back; bridging a part, which is never right."""

from __future__ import annotations

from typing import Any

from tankside.bench.actions import Result, action, known, text_of
from tankside.bench.hands import felt_live, on_lead, reach
from tankside.bench.state import BenchState
from tankside.errors import BenchError
from tankside.heater.wiring import loose_end

GUARDS = ("thermostat", "high limit", "link bar")
"""How the types of the parts end that nobody bridges."""


@action("lift lead")
def _lift(state: BenchState, args: dict[str, Any]) -> Result:
    wire = _liftable(state, args)
    end = wire.to if wire.lifts_at == "to" else wire.from_
    reach(state, end)
    if state.lifted(wire.id):
        raise BenchError(f"That lead is off already: {wire.name}.")
    broke, shocked = on_lead(state, wire, [end])
    if shocked:
        return Result({}, f"You reached for the lead {wire.name}, and it was live.", 1, broke, blocked=True)
    state.unit.set(f"{wire.id}.lifted", 1.0)
    # A neutral under load is harmless until it comes off: then its screw stands at the line's volts, under the hand.
    if felt_live(state, [end, loose_end(wire.id)]):
        state.unit.set(f"{wire.id}.lifted", 0.0)
        return Result(
            {}, f"As the lead came off, it was live: {wire.name}.", 1, ["hands-on-live"], blocked=True
        )
    return Result({}, f"Lifted the lead: {wire.name}.", 4, broke)


@action("land lead")
def _land(state: BenchState, args: dict[str, Any]) -> Result:
    wire = _liftable(state, args)
    end = wire.to if wire.lifts_at == "to" else wire.from_
    reach(state, end)
    if not state.lifted(wire.id):
        raise BenchError(f"That lead is on its terminal: {wire.name}.")
    broke, shocked = on_lead(state, wire, [end, f"{wire.id}.end"])
    if shocked:
        return Result({}, f"You reached for the lead {wire.name}, and it was live.", 1, broke, blocked=True)
    state.unit.set(f"{wire.id}.lifted", 0.0)
    for lead in ("red", "black"):
        if getattr(state, lead) == f"{wire.id}.end":
            setattr(state, lead, None)
            state.reading = None
    return Result({}, f"Put the lead back: {wire.name}.", 4, broke)


def _liftable(state: BenchState, args: dict[str, Any]) -> Any:
    wires = {w.id: w for w in state.model.wires.values() if w.lifts_at}
    return wires[known("lead that comes off", text_of(args, "wire"), list(wires))]


@action("jumper")
def _jumper(state: BenchState, args: dict[str, Any]) -> Result:
    guarded = [part for part, kind in state.model.types.items() if kind.name.endswith(GUARDS)]
    part = known("part to bridge", text_of(args, "part"), guarded)
    name = state.model.parts[part].name
    return Result({}, f"You went to bridge the {name}.", 1, ["bridged-safety"], blocked=True)
