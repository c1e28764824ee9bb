"""Carrying out a repair: what it asks for first, the hand on live parts, the cure."""

from __future__ import annotations

from typing import Any

from tankside.bench.actions import REPAIR_CHECKS, Result, action, text_of
from tankside.bench.hands import hands_on, reach
from tankside.bench.power_on import powered
from tankside.bench.state import BenchState
from tankside.errors import BenchError
from tankside.faults.catalogue import apart, remedies_for, remedy_named
from tankside.faults.effects import cure
from tankside.heater import simulation


@action("repair")
def _repair(state: BenchState, args: dict[str, Any]) -> Result:
    remedy = remedy_named(text_of(args, "remedy"))
    if len(each := apart(remedy.id)) > 1:
        named = ", then ".join(f"“{remedy_named(one).name}”" for one in each)
        raise BenchError(f"Hands make one repair at a time. Do them one after the other: {named}.")
    if state.locked and any(on == f"{state.model.parts[state.locked].type}.closed" for on in remedy.renews):
        raise BenchError(
            f"Your lock is on it: {state.model.parts[state.locked].name}. Take the lock off first."
        )
    parts = {on.rpartition(".")[0] for on in remedy.renews}
    ids = [p for p, r in state.model.parts.items() if r.type in parts or f"@{p}" in parts]
    wires = [wire for wire in state.model.wires.values() if f"@{wire.id}" in parts]
    if remedy not in remedies_for(state.model):
        raise BenchError(f"This heater has nothing to {remedy.name[0].lower()}{remedy.name[1:]}.")
    broke: list[str] = []
    if remedy.hands_on:
        ends = {end for wire in wires for end in (wire.from_, wire.to)}
        terminals = [t for t in state.model.terminals if t.split(".")[0] in ids or t in ends]
        for terminal in terminals:
            reach(state, terminal)
        broke, shocked = hands_on(state, terminals)
        if shocked:
            return Result({}, f"You put a hand to it and it was live: {remedy.name}.", 1, broke, blocked=True)
    if remedy.needs_empty_tank and state.unit["tank.fill"][0] > 0.02:
        broke.append("flood")
    for check in REPAIR_CHECKS:
        broke += check(state, remedy, ids)
    before = state.switches()
    cure(state.unit, remedy, state.healthy)
    simulation.energise(state.unit)
    if state.switches() != before:
        broke += powered(state)
    state.repaired.append(remedy.id)
    state.operated = False
    return Result({"remedy": remedy.id}, f"{remedy.name}: done.", remedy.minutes, broke)
