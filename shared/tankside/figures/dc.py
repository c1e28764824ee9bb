"""Figures of the 12 V side and the ignition: volts under load, where they are lost, the flame's current."""

from __future__ import annotations

from tankside.bench.terminals import Terminals
from tankside.case import Case
from tankside.diagnosis.bench_tests import AS_FOUND, CALLING, sniff_first
from tankside.errors import BenchError
from tankside.figures.mains import METER, probed, written
from tankside.figures.registry import Way, Work, reading, source
from tankside.figures.states import alight, cooled, in_trial
from tankside.heater.model import HeaterModel
from tankside.heater.unit import Unit
from tankside.instruments import senses

AIRING = 10.0
"""min after which what hangs about from a start that failed is gone (ours)."""


def nose(work: Work) -> None:
    """Smell for gas at the burner; air once, and smell again. ``BenchError`` where it still smells: nobody lights it."""
    for verb, args in sniff_first(work.model):
        for _ in range(2):
            if work.act(verb, **args)["result"]["smell"] == senses.NOSE.words[0]:
                return
            work.act("wait", minutes=AIRING)
        raise BenchError("Nobody lights a burner where gas is smelt.")


def _pair(model: HeaterModel, one: tuple[str, str], two: tuple[str, str]) -> tuple[str, str]:
    """Terminals by part type and terminal."""
    return f"{model.of_type(one[0])[0]}.{one[1]}", f"{model.of_type(two[0])[0]}.{two[1]}"


def _has_board(model: HeaterModel) -> None:
    """``BenchError`` on a heater that no board starts: it has no trial, no valve volts, no flame current."""
    if not model.of_type("control board"):
        raise BenchError("This heater has no control board.")


def _watched(one: tuple[str, str], two: tuple[str, str]) -> Way:
    """Volts in the trial of a start; as it stands, where the heater was found switched off or smells of gas."""

    def get(work: Work) -> str:
        _has_board(work.model)
        red, black = _pair(work.model, one, two)
        try:
            nose(work)
            return written(reading(work.act("watch start", meter="volts", red=red, black=black)))
        except BenchError:
            return written(probed(work, "V⎓", red, black))

    return Way(CALLING, get)


def _direct(unit: Unit, one: tuple[str, str], two: tuple[str, str]) -> tuple[float, ...]:
    """V in the trial of a start; as it stands, where nobody starts it. None on a heater that no board starts."""
    if not unit.model.of_type("control board"):
        return ()
    red, black = _pair(unit.model, one, two)
    stands = in_trial(unit) or cooled(unit)
    return (float(METER.sees("V⎓", Terminals(stands.copy()), red, black)[0][0]),)


BATTERY = ("battery", "plus"), ("battery", "minus")
BOARD = ("control board", "supply"), ("control board", "ground")
WAY_IN = ("battery", "plus"), ("control board", "supply")
WAY_BACK = ("control board", "ground"), ("battery", "minus")
VALVE = ("gas valve", "coil_1"), ("gas valve", "ground")


@source("battery volts under call", "V", _watched(*BATTERY))
def _battery(case: Case, unit: Unit) -> tuple[float, ...]:
    return _direct(unit, *BATTERY)


@source("board volts under call", "V", _watched(*BOARD))
def _board(case: Case, unit: Unit) -> tuple[float, ...]:
    return _direct(unit, *BOARD)


@source("volts lost on the way in under call", "V", _watched(*WAY_IN))
def _way_in(case: Case, unit: Unit) -> tuple[float, ...]:
    return _direct(unit, *WAY_IN)


@source("volts lost on the ground under call", "V", _watched(*WAY_BACK))
def _ground(case: Case, unit: Unit) -> tuple[float, ...]:
    return _direct(unit, *WAY_BACK)


@source("valve volts under call", "V", _watched(*VALVE))
def _valve(case: Case, unit: Unit) -> tuple[float, ...]:
    return _direct(unit, *VALVE)


def _battery_at_rest(work: Work) -> str:
    return written(probed(work, "V⎓", *_pair(work.model, *BATTERY)))


@source("battery volts at rest", "V", Way(AS_FOUND, _battery_at_rest))
def _rest(case: Case, unit: Unit) -> tuple[float, ...]:
    """With the 12 V side idle, and as found."""
    idle = unit.copy()
    for part in unit.model.of_type("12 V panel switch"):
        idle.set(f"{part}.closed", 0.0)
    return tuple(
        float(METER.sees("V⎓", Terminals(u), *_pair(unit.model, *BATTERY))[0][0]) for u in (unit.copy(), idle)
    )


def _microamperes(work: Work) -> str:
    _has_board(work.model)
    nose(work)
    shown = reading(work.act("watch start", meter="flame"))
    return f"{shown['digits']} µA"


@source("flame microamps", "uA", Way(CALLING, _microamperes))
def _flame(case: Case, unit: Unit) -> tuple[float, ...]:
    """While the trial lasts; nothing flows without a flame. None where nobody lights it, or no board watches the flame."""
    if not unit.model.of_type("control board"):
        return ()
    stands = alight(unit)
    return (
        ()
        if stands is None
        else (float(stands[f"{unit.model.of_type('control board')[0]}.flame_current"][0]),)
    )
