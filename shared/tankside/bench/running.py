"""Letting time pass, and running the heater to prove that it heats."""

from __future__ import annotations

from typing import Any

from tankside.bench.actions import Result, action, minutes_of
from tankside.bench.state import BenchState
from tankside.bench.tank import THERMOMETER_STEP, degrees, thermometer
from tankside.errors import BenchError
from tankside.heater import simulation
from tankside.heater.electrics import coil_power

HOT_ALREADY = 45.0
"""°C from which a thermostat may well be open: then the water not getting warmer says nothing."""


@action("wait")
def _wait(state: BenchState, args: dict[str, Any]) -> Result:
    minutes = minutes_of(args, 600)
    return Result({}, f"Waited {minutes:g} min.", minutes)


@action("prove operation")
def _prove_operation(state: BenchState, args: dict[str, Any]) -> Result:
    """Run it and see the water get warmer. A hot tank whose thermostat is open proves nothing yet."""
    if state.unit["tank.fill"][0] < 0.98:
        raise BenchError("Fill the tank before you run it.")
    before = thermometer(state)
    idle = _run_both(state) if state.model.timing else []
    simulation.advance(state.unit, 19 if state.model.timing else 20)
    after = thermometer(state)
    state.see_positions()
    state.operated = after >= before + 2 * THERMOMETER_STEP and not idle
    verdict = "It heats." if state.operated else "It does not heat."
    if idle and after >= before + 2 * THERMOMETER_STEP:
        verdict = f"The water gets warmer, but {' and '.join(idle)} did nothing although it is switched on."
    if not state.operated and before > HOT_ALREADY:
        verdict = "No warmer, but it was hot already: run the hot tap for some minutes, then prove it again."
    text = f"Ran it for 20 min: {degrees(before)} before, {degrees(after)} after. {verdict}"
    return Result({"before": before, "after": after, "heats": state.operated, "idle": idle}, text, 2)


def _run_both(state: BenchState) -> list[str]:
    """A minute's run of a heater with two sources of heat; those that are switched on and don't heat."""
    simulation.advance(state.unit, 1)
    solution = simulation.energise(state.unit)
    on = {
        part
        for part, kind in state.model.types.items()
        if kind.positions and state.flag(f"{part}.{kind.moves}")
    }
    movable = {part for part, kind in state.model.types.items() if kind.positions}
    gas = {p for p in movable if state.model.parts[p].type in ("12 V panel switch", "pilot gas valve")}
    idle = []
    if gas <= on and not state.see_fact(state.unit["burner.lit"]):
        idle.append("the burner")
    for element in state.model.of_type("element"):
        hot = state.see_fact((coil_power(state.unit, element, solution) > 1.0).astype(float))
        if movable - gas <= on and not hot:
            idle.append("the element")
    return idle
