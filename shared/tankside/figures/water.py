"""Figures of the water side: tap, mixed water, pressure, hardness, the relief valve's set point."""

from __future__ import annotations

import math
from typing import Any

from tankside.case import Case
from tankside.diagnosis.bench_tests import AS_FOUND, DRAINED
from tankside.errors import BenchError
from tankside.figures.flame import FAHRENHEIT
from tankside.figures.registry import Way, Work, number, source
from tankside.heater import plumbing
from tankside.heater.unit import Unit
from tankside.instruments.water_strip import strip

MIXED = 40.6
"""°C (105 °F) of a shower: hot and cold mixed (common practice, no source)."""
LITRES_PER_GALLON, KILOPASCALS_PER_PSI, GRAIN = 3.785411784, 6.894757293168, 17.118
RANGE_END = 4000.0
"""kPa above which the hand pump's gauge shows nothing: a relief valve that doesn't lift has no set point."""


def _degrees(celsius: float) -> float:
    return FAHRENHEIT * celsius + 32


def _bucket(work: Work, tap: str) -> dict[str, Any]:
    """The log line of bucket and thermometer at a tap that runs."""
    entry = work.first("tap test", tap=tap)
    if len(entry["result"]["readings"]) < 2:
        raise BenchError("Hardly anything comes from the tap.")
    return entry


def _tap_shown(work: Work) -> str:
    return f"{_degrees(number(_bucket(work, 'hot'), 1) or 0.0):.0f} degF"


@source("hot tap temperature", "degF", Way(AS_FOUND, _tap_shown, fresh=True))
def _tap(case: Case, unit: Unit) -> tuple[float, ...]:
    tap = plumbing.hot_tap(unit)
    return (_degrees(float(tap.temperature[0])),) if tap.flow[0] > plumbing.TRICKLE else ()


def _flow_shown(work: Work) -> str:
    return f"{(number(work.first('tap test', tap='hot')) or 0.0) / LITRES_PER_GALLON:.2f} gal/min"


@source("hot tap flow", "gpm", Way(AS_FOUND, _flow_shown))
def _flow(case: Case, unit: Unit) -> tuple[float, ...]:
    return (float(plumbing.hot_tap(unit).flow[0]) * 60e3 / LITRES_PER_GALLON,)


def mixed_gallons(capacity: float, hot: float, cold: float) -> float:
    """Gallons of mixed water at ``MIXED`` that a tank of so many gallons at ``hot`` °C gives, with ``cold`` °C to mix."""
    return max(capacity * (hot - cold) / (MIXED - cold), 0.0)


def _mixed_shown(work: Work) -> str:
    capacity = work.model.number("plate.capacity", work.model.plate.capacity, "gal")
    hot = number(_bucket(work, "hot"), 1) or 0.0
    cold = number(_bucket(work, "cold"), 1) or 0.0
    return f"{mixed_gallons(capacity, hot, cold):.1f} gal"


@source("mixed water from a tank", "gal", Way(AS_FOUND, _mixed_shown, fresh=True))
def _mixed(case: Case, unit: Unit) -> tuple[float, ...]:
    """By the hot tap's temperature as found, the cold's, and the plate's capacity."""
    tap = plumbing.hot_tap(unit)
    if tap.flow[0] <= plumbing.TRICKLE:
        return ()
    capacity = case.model.number("plate.capacity", case.model.plate.capacity, "gal")
    return (mixed_gallons(capacity, float(tap.temperature[0]), float(unit["site.cold_water"][0])),)


def _gauge(work: Work) -> str:
    return f"{(number(work.first('water pressure'), 1) or 0.0) / KILOPASCALS_PER_PSI:.0f} psi"


@source("water pressure", "psi", Way(AS_FOUND, _gauge))
def _pressure(case: Case, unit: Unit) -> tuple[float, ...]:
    """Of the supply, after a tap was opened."""
    inlet = unit.model.of_type("cold inlet")[0]
    return (float(unit[f"{inlet}.pressure"][0]) / 1e3 / KILOPASCALS_PER_PSI,)


def _strip_shown(work: Work) -> str:
    return f"{work.first('water test')['result']['hardness'] / GRAIN:.1f} gpg"


@source("hardness", "gpg", Way(AS_FOUND, _strip_shown))
def _hardness(case: Case, unit: Unit) -> tuple[float, ...]:
    """Whatever step of the strip's card the colour is nearest to, and the water's own."""
    own = float(unit[f"{unit.model.of_type('cold inlet')[0]}.hardness"][0])
    step, _, _ = strip(own)
    return own / GRAIN, step / GRAIN


def _stand(work: Work) -> str:
    shown = number(work.first("relief on the stand"))
    if shown is None:
        raise BenchError("The relief valve doesn't lift.")
    return f"{shown / KILOPASCALS_PER_PSI:.0f} psi"


@source("relief set point", "psi", Way(DRAINED, _stand))
def _relief(case: Case, unit: Unit) -> tuple[float, ...]:
    valve = unit.model.of_type("relief valve")[0]
    lifts = float(unit[f"{valve}.lifts_at"][0]) / 1e3
    free = unit[f"{valve}.seized"][0] <= 0 and math.isfinite(lifts) and lifts < RANGE_END
    return (lifts / KILOPASCALS_PER_PSI,) if free else ()
