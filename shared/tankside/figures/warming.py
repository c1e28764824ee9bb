"""Figures of a whole heater: how fast it warms on gas and on mains, where its thermostat stops it, what a repair costs."""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache

from tankside.case import Case
from tankside.diagnosis.bench_tests import CALLING
from tankside.errors import BenchError
from tankside.faults.catalogue import Remedy, remedy_named
from tankside.figures.dc import nose
from tankside.figures.flame import FAHRENHEIT, lit_by_hand
from tankside.figures.registry import DECIDED, Way, Work, source
from tankside.figures.states import cooled, lit, smells
from tankside.heater.model import HeaterModel
from tankside.heater.plumbing import hot_tap
from tankside.heater.simulation import advance, energise
from tankside.heater.unit import Unit
from tankside.quoting import quote_for

RISE = 40.0
"""°F for which minutes are asked."""
COLD = 10.0
"""min that the hot tap runs until the water is cold."""
WATCHED = 20.0
"""min over which a technician watches the thermometer."""
NEARLY = 42.0
"""°C from which one looks every minute or two."""
LONGEST = 300.0
"""min after which one stops waiting."""
STEP = 5.0
"""min between two looks of the computed run."""
WARMS = 0.05
"""K a minute below which water can't be said to warm."""
GAS, MAINS = "gas", "mains"


def _off(model: HeaterModel, kept: str) -> Iterator[tuple[str, str, str]]:
    """Part, its switched state, and its position that is off, of the other source of heat than the one that is kept."""
    kinds = ("breaker",) if kept == GAS else ("12 V panel switch", "pilot gas valve", "hand gas valve")
    for kind in kinds:
        for part in model.of_type(kind):
            yield part, model.types[part].moves, "off"


@lru_cache(maxsize=8)
def _run(unit: Unit, kept: str) -> tuple[float, ...]:
    """°C at the tap every ``STEP`` minutes from cold water on, on one source of heat, as found otherwise.

    It ends when the water has stopped getting warmer; it is empty where nobody lights the burner.
    """
    out = cooled(unit)
    if kept == GAS and smells(unit.copy()):
        return ()
    for part, moves, _ in _off(unit.model, kept):
        out.set(f"{part}.{moves}", 0.0)
    energise(out)
    if kept == GAS:
        lit(out)
    found = [float(hot_tap(out).temperature[0])]
    while len(found) * STEP <= LONGEST and (len(found) < 6 or found[-1] > min(found[-4:-1])):
        advance(out, STEP)
        found.append(float(hot_tap(out).temperature[0]))
    return tuple(found)


def _warms(run: tuple[float, ...]) -> bool:
    """True if water got warmer by more than a cabin warms it."""
    return bool(run) and run[int(WATCHED / STEP)] - run[0] >= WARMS * WATCHED


def _minutes(unit: Unit, kept: str) -> tuple[float, ...]:
    """Minutes for the rise, by the first stretch and by the whole: the tank loses a little more as it warms."""
    run = _run(unit, kept)
    if not _warms(run):
        return ()
    wanted = RISE / FAHRENHEIT
    first = wanted * WATCHED / (run[int(WATCHED / STEP)] - run[0])
    above = next((k for k, now in enumerate(run) if now >= run[0] + wanted), None)
    if above is None:
        return (first,)
    share = (run[0] + wanted - run[above - 1]) / (run[above] - run[above - 1])
    return first, STEP * (above - 1 + share)


def _alone(work: Work, kept: str) -> None:
    """Only one source of heat on. Where gas is smelt, nothing is left to light."""
    if kept == GAS:
        nose(work)
        for _ in work.model.of_type("pilot gas valve"):
            work.act("light pilot")
        lit_by_hand(work)
    for part, _, position in _off(work.model, kept):
        work.act("switch", part=part, position=position)


def _again(work: Work, kept: str) -> None:
    """The other source as it was."""
    for part, _, _ in _off(work.model, kept):
        work.act("switch", part=part, position=work.model.types[part].positions[0])


def _thermometer(work: Work) -> float:
    return float(work.act("temperature")["result"]["temperature"])


def _timed(kept: str) -> Way:
    def get(work: Work) -> str:
        _alone(work, kept)
        try:
            work.act("run tap", minutes=COLD)
            before = _thermometer(work)
            work.act("wait", minutes=WATCHED - 1)
            rise = _thermometer(work) - before
        finally:
            _again(work, kept)
        if rise < WARMS * WATCHED:
            raise BenchError("The water doesn't get warmer.")
        return f"{RISE / FAHRENHEIT * WATCHED / rise:.0f} min"

    return Way(CALLING, get)


@source("minutes to warm by 40 degF on gas", "min", _timed(GAS))
def _on_gas(case: Case, unit: Unit) -> tuple[float, ...]:
    return _minutes(unit, GAS)


@source("minutes to warm by 40 degF on mains", "min", _timed(MAINS))
def _on_mains(case: Case, unit: Unit) -> tuple[float, ...]:
    return _minutes(unit, MAINS)


def _stops(kept: str) -> Way:
    """Let it heat, look every few minutes, and near the end every minute, until it gets no warmer."""

    def get(work: Work) -> str:
        _alone(work, kept)
        try:
            started = highest = _thermometer(work)
            work.act("wait", minutes=WATCHED - 1)
            waited, still = WATCHED, 0
            while still < 4 and waited < LONGEST:
                now = _thermometer(work)
                if waited == WATCHED and now - started < WARMS * WATCHED:
                    raise BenchError("The water doesn't get warmer.")
                still = 0 if now > highest else still + 1
                highest = max(now, highest)
                pause = 9.0 if highest < NEARLY else 1.0
                work.act("wait", minutes=pause)
                waited += pause + 1
        finally:
            _again(work, kept)
        return f"{FAHRENHEIT * highest + 32:.0f} degF"

    return Way(CALLING, get)


def _highest(unit: Unit, kept: str) -> tuple[float, ...]:
    run = _run(unit, kept)
    return (FAHRENHEIT * max(run) + 32,) if _warms(run) else ()


@source("water when gas stops", "degF", _stops(GAS))
def _gas_stops(case: Case, unit: Unit) -> tuple[float, ...]:
    """Where the burner's thermostat opens, or whatever else stops it."""
    return _highest(unit, GAS)


@source("water when mains stops", "degF", _stops(MAINS))
def _mains_stops(case: Case, unit: Unit) -> tuple[float, ...]:
    """Where the element's thermostat opens, or whatever else stops it."""
    return _highest(unit, MAINS)


def quote(remedy: Remedy) -> float:
    """$ for a visit with this repair, by the workshop's price list (``tankside.quoting``)."""
    return quote_for(remedy).total


def _quoted(work: Work) -> str:
    if work.remedy is None:
        raise BenchError("No repair has been decided.")
    return f"{quote(work.remedy):.2f} USD"


@source("repair quote", "USD", Way(DECIDED, _quoted))
def _repair(case: Case, unit: Unit) -> tuple[float, ...]:
    return (quote(remedy_named(case.fault.remedy)),)
