"""Switches, breaker and plug: moving them, locking them out, looking at them, and making safe."""

from __future__ import annotations

from typing import Any

from tankside.bench.actions import SWITCH_CHECKS, Result, action, known, text_of
from tankside.bench.out_of_reach import out_of_reach
from tankside.bench.power_on import powered
from tankside.bench.state import BenchState
from tankside.errors import BenchError
from tankside.heater import simulation
from tankside.heater.ignition import lamp_glows


@action("switch")
def _switch(state: BenchState, args: dict[str, Any]) -> Result:
    movable = {part: kind for part, kind in state.model.types.items() if kind.positions}
    part = known("switch", text_of(args, "part"), list(movable))
    kind = movable[part]
    position = known("position", text_of(args, "position"), list(kind.positions))
    name = state.model.parts[part].name
    if state.hidden(part):
        raise out_of_reach(name, state.model.places[state.model.parts[part].place].name)
    if state.locked == part:
        raise BenchError(f"Your lock is on it: {name}. Take the lock off first.")
    made = position == kind.positions[0]
    warned = [rule for check in SWITCH_CHECKS for rule in check(state, part)] if made else []
    state.unit.set(f"{part}.{kind.moves}", float(made))
    if "heat" in kind.states:
        state.unit.set(f"{part}.heat", 0.0)
        state.unit.set(f"{part}.tripped", 0.0)
    simulation.energise(state.unit)
    broke = [*warned, *powered(state)] if made else []
    where = {
        "in": "Plugged in",
        "out": "Pulled the plug",
        "on": "Switched on",
        "off": "Switched off",
        "open": "Opened",
        "shut": "Shut",
    }[position]
    seen = state.switches()[part]
    after = f" It is {seen} now." if seen not in (position,) else ""
    state.see_positions()
    minutes = 3 if "dry-fire" in broke else 1  # it takes a while to notice that nothing boils
    return Result({"positions": state.seen_switches()}, f"{where}: {name}.{after}", minutes, broke)


NO_ISOLATOR = "This heater has no mains supply, so there is nothing to lock off."


@action("lock out")
def _lock_out(state: BenchState, args: dict[str, Any]) -> Result:
    if state.locked:
        raise BenchError(f"Your lock is already on: {state.model.parts[state.locked].name}.")
    isolators = [*state.model.of_type("breaker"), *state.model.of_type("mains supply")]
    if not isolators:
        raise BenchError(NO_ISOLATOR)
    wanted = args.get("part")
    candidates = [known("isolator", str(wanted), isolators)] if wanted else isolators
    positions = state.seen_switches()
    part = next((p for p in candidates if positions.get(p) in ("off", "out", "tripped")), None)
    if part is None:
        raise BenchError(
            "A lock goes on an isolator that is off. Switch the breaker off or pull the plug first."
        )
    state.locked = part
    return Result({"part": part}, f"Put your lock and tag on: {state.model.parts[part].name}.", 3)


@action("unlock")
def _unlock(state: BenchState, args: dict[str, Any]) -> Result:
    if state.locked is None:
        raise BenchError("There is no lock to take off.")
    name = state.model.parts[state.locked].name
    state.locked = None
    return Result({}, f"Took your lock off: {name}.", 2)


@action("look")
def _look(state: BenchState, args: dict[str, Any]) -> Result:
    positions = state.seen_switches()
    state.see_positions()
    words = [f"{state.model.parts[part].name} {position}" for part, position in positions.items()]
    unseen = [state.model.parts[part].name for part in state.switches() if part not in positions]
    for part in state.model.of_type("12 V panel switch"):
        glows = state.see_fact(lamp_glows(state.unit))
        words.append(f"fault lamp {'lit' if glows else 'dark'}")
        positions = {**positions, f"{part}.lamp": "lit" if glows else "dark"}
    behind = f" Not seen, behind a cover: {', '.join(unseen)}." if unseen else ""
    return Result({"positions": positions}, f"Looked around: {', '.join(words) or 'no switch'}.{behind}", 1)


@action("make safe")
def _make_safe(state: BenchState, args: dict[str, Any]) -> Result:
    for part in state.model.of_type("mains supply"):
        if state.locked != part:
            state.unit.set(f"{part}.plugged", 0.0)
    gas = state.model.of_type("gas cylinder")
    for part in gas:
        state.unit.set(f"{part}.valve", 0.0)
    done = (["pulled the plug"] if state.model.of_type("mains supply") else []) + (
        ["shut the cylinder"] if gas else []
    )
    did = " and ".join(done).capitalize() or "Stepped back"
    state.stopped = None
    return Result({"positions": state.seen_switches()}, f"{did}, stood back and thought it over.", 10)
