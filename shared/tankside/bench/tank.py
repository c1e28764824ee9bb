"""Draining and filling the tank, running the hot tap and measuring how hot it runs."""

from __future__ import annotations

from typing import Any

from tankside.bench.actions import Result, action, minutes_of
from tankside.bench.both_measures import both_measures
from tankside.bench.power_on import dry_elements
from tankside.bench.rules import SCALDS_ABOVE
from tankside.bench.state import BenchState
from tankside.errors import BenchError
from tankside.heater import simulation
from tankside.heater.plumbing import TRICKLE, hot_tap, litres_a_minute

TAP_LITRES_PER_MINUTE = 5.0
THERMOMETER_STEP = 0.5
"""K between two marks of the thermometer; it is right to one mark either way."""


@action("drain")
def _drain(state: BenchState, args: dict[str, Any]) -> Result:
    if state.unit["tank.fill"][0] < 0.02:
        raise BenchError("The tank is empty already.")
    broke = ["scald"] if state.unit["tank.temperature"][0] > SCALDS_ABOVE else []
    simulation.drain(state.unit)
    broke += dry_elements(state)
    return Result({}, "Shut the water off and drained the tank.", 15, broke)


@action("fill")
def _fill(state: BenchState, args: dict[str, Any]) -> Result:
    if state.unit["tank.fill"][0] > 0.98:
        raise BenchError("The tank is full already.")
    simulation.fill(state.unit)
    return Result({}, "Filled the tank and ran a hot tap until it flowed without air.", 10)


@action("run tap")
def _run_tap(state: BenchState, args: dict[str, Any]) -> Result:
    minutes = minutes_of(args, 30)
    if state.unit["tank.fill"][0] < 0.98:
        raise BenchError("Nothing runs: the tank isn't full.")
    simulation.draw(state.unit, minutes * litres_a_minute(state.unit, TAP_LITRES_PER_MINUTE))
    return Result({}, f"Ran the hot tap for {minutes:g} min.", minutes)


@action("temperature")
def _temperature(state: BenchState, args: dict[str, Any]) -> Result:
    if state.unit["tank.fill"][0] < 0.98:
        raise BenchError("There is no water at the tap to measure.")
    value = thermometer(state)
    runs = hot_tap(state.unit).flow > TRICKLE
    if runs[0]:
        return Result({"temperature": value}, f"Hot water at the tap: {degrees(value)}.", 1)
    # A thermometer under a tap that hardly runs shows nothing; the words say so, and so the witness is told as well.
    state.see_fact(runs.astype(float))
    text = f"Hardly anything comes from the hot tap. At the heater's hot outlet: {degrees(value)}."
    return Result({"temperature": value}, text, 1)


def degrees(celsius: float) -> str:
    """A temperature in °C as the log says it."""
    return both_measures(celsius, "°C", f"{celsius:.1f} °C")


def thermometer(state: BenchState) -> float:
    """°C at the hot tap, to the thermometer's mark; the witness is told."""
    value = round(float(hot_tap(state.unit).temperature[0]) / THERMOMETER_STEP) * THERMOMETER_STEP
    state.see_temperature(value, THERMOMETER_STEP)
    return value
