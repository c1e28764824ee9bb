"""Figures of flame and flue, as the analyzer finds them once the burner has run a while."""

from __future__ import annotations

import math
from typing import Any

from tankside.case import Case
from tankside.diagnosis.bench_tests import CALLING
from tankside.errors import BenchError
from tankside.figures.registry import Way, Work, number, source
from tankside.figures.states import called, with_water
from tankside.heater import burner
from tankside.heater.unit import Unit
from tankside.instruments.flue_gas_analyzer import MONOXIDE, MOST_OXYGEN
from tankside.physics.combustion import air_free_si

HOT = 57.0
"""°C of a tank that is nearly hot: what is measured on the way there lies between cold water and this."""
OXYGEN, STACK = 0, 2
"""Places of the readings in the analyzer's log line."""
FAHRENHEIT = 1.8
OVER_RANGE = "over range"
"""What one writes where an instrument shows that there is more than it can count."""


def lit_by_hand(work: Work) -> None:
    """The pilot lit, where a hand lights it and it is out; ``BenchError`` where it can't be."""
    seen = work.act("look at flame")["result"]["seen"] if work.model.of_type("hand gas valve") else []
    if "the pilot is out" in seen:
        work.act("light")


def _analysed(work: Work) -> dict[str, Any]:
    """The analyzer's log line with the burner on."""
    entry = work.first("flue gas")
    if _is_air(entry):
        lit_by_hand(work)
        entry = work.act("flue gas")
    if _is_air(entry):
        raise BenchError("There is no flue gas to analyze.")
    return entry


def _is_air(entry: dict[str, Any]) -> bool:
    """Whether the analyzer found so much oxygen that nothing burns before it."""
    return (number(entry, OXYGEN) or 0.0) > MOST_OXYGEN


def _burning(unit: Unit) -> tuple[Unit, ...]:
    """The heater with its burner on, the water cold and hot; none if it doesn't burn."""
    cold = called(unit)
    return (cold, with_water(cold, HOT)) if burner.burns(cold)[0] else ()


def _oxygen_shown(work: Work) -> str:
    return f"{number(_analysed(work), OXYGEN):.1f} %"


@source("oxygen in the flue", "percent", Way(CALLING, _oxygen_shown))
def _oxygen(case: Case, unit: Unit) -> tuple[float, ...]:
    return tuple(100 * float(burner.fire(u).oxygen[0]) for u in _burning(unit))


def _air_free_shown(work: Work) -> str:
    shown = _analysed(work)["result"]["air free"]
    return OVER_RANGE if shown is None else f"{shown:.0f} ppm"


@source("carbon monoxide air-free", "ppm", Way(CALLING, _air_free_shown))
def _air_free(case: Case, unit: Unit) -> tuple[float, ...]:
    """As it is; where the gas is over the cell's range, whatever is no less than the cell's end tells."""
    out: list[float] = []
    for one in _burning(unit):
        now = burner.fire(one)
        if _over_range(now):
            out += [float(air_free_si(MONOXIDE.ranges[-1], float(now.oxygen[0]))), math.inf]
        else:
            out.append(1e6 * float(now.air_free[0]))
    return tuple(out)


def _over_range(now: burner.Fire) -> bool:
    """Whether the flue gas holds more carbon monoxide than the analyzer's cell can count."""
    return 1e6 * float(now.monoxide[0]) > MONOXIDE.ranges[-1]


def _stack_shown(work: Work) -> str:
    return f"{FAHRENHEIT * (number(_analysed(work), STACK) or 0.0) + 32:.0f} degF"


@source("stack temperature", "degF", Way(CALLING, _stack_shown))
def _stack(case: Case, unit: Unit) -> tuple[float, ...]:
    return tuple(FAHRENHEIT * (float(burner.fire(u).flue[0]) - 273.15) + 32 for u in _burning(unit))


def _efficiency_shown(work: Work) -> str:
    entry = _analysed(work)
    if entry["result"]["air free"] is None:
        raise BenchError("The analyzer gives no efficiency: there is more CO than its cell can count.")
    text = entry["text"]
    return f"{text.rpartition('efficiency ')[2].split()[0]} %"


@source("combustion efficiency", "percent", Way(CALLING, _efficiency_shown))
def _efficiency(case: Case, unit: Unit) -> tuple[float, ...]:
    fires = [burner.fire(one) for one in _burning(unit)]
    return tuple(100 * float(now.efficiency[0]) for now in fires if not _over_range(now))
