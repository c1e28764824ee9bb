"""Figures of a standing pilot: what its thermocouple gives alone, and what of it reaches the valve's magnet."""

from __future__ import annotations

from tankside.bench.pilot import HOLD
from tankside.bench.terminals import Terminals
from tankside.case import Case
from tankside.diagnosis.bench_tests import CALLING
from tankside.errors import BenchError
from tankside.figures.registry import Way, Work, reading, source
from tankside.figures.states import cooled
from tankside.heater.simulation import advance, energise
from tankside.heater.unit import Unit

ACROSS, OPEN = 0, 1
"""Places of the readings in the bench's log line."""


def _millivolts(which: int) -> Way:
    def get(work: Work) -> str:
        valves = work.model.of_type("pilot gas valve")
        if not valves:
            raise BenchError("This heater has no standing pilot with a thermocouple.")
        try:
            entry = work.first("thermocouple test")
        except BenchError:  # its knob was found off, and the button works only when it is on
            for valve in valves:
                work.act("switch", part=valve, position="on")
            entry = work.act("thermocouple test")
        return f"{reading(entry, which)['digits']} mV"

    return Way(CALLING, get)


def _held(unit: Unit) -> Unit | None:
    """The button held in and a flame brought to the pilot, a minute long; None on a heater without a standing pilot."""
    valves = unit.model.of_type("pilot gas valve")
    if not valves or not unit.model.of_type("thermocouple"):
        return None
    out = cooled(unit)
    out.set(f"{valves[0]}.knob", 1.0)
    out.set(f"{valves[0]}.pressed", 1.0)
    energise(out)
    out.set(f"{valves[0]}.pilot", 1.0)
    advance(out, HOLD / 60.0)
    energise(out)
    return out


def _lead(unit: Unit) -> str:
    """The wire that a hand unscrews at the valve."""
    couple = unit.model.of_type("thermocouple")[0]
    return next(w.id for w in unit.model.wires.values() if w.lifts_at and f"{couple}.lead" in (w.from_, w.to))


@source("thermocouple millivolts open", "mV", _millivolts(OPEN))
def _alone(case: Case, unit: Unit) -> tuple[float, ...]:
    """With its lead lifted, the pilot lit; none where there is no thermocouple."""
    stands = _held(unit)
    if stands is None:
        return ()
    stands.set(f"{_lead(stands)}.lifted", 1.0)
    couple = unit.model.of_type("thermocouple")[0]
    return (1e3 * float(Terminals(stands).direct(f"{couple}.lead", f"{couple}.sheath", 1e-7, 0.0)[0]),)


@source("thermocouple millivolts at the magnet", "mV", _millivolts(ACROSS))
def _loaded(case: Case, unit: Unit) -> tuple[float, ...]:
    """With the magnet connected, the pilot lit; likewise."""
    stands = _held(unit)
    if stands is None:
        return ()
    valve = unit.model.of_type("pilot gas valve")[0]
    return (1e3 * float(Terminals(stands).direct(f"{valve}.magnet", f"{valve}.body", 1e-7, 0.0)[0]),)
