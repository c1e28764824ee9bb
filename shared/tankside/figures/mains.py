"""Figures of the mains side: supply, plate, element."""

from __future__ import annotations

import math
from functools import lru_cache

from tankside.bench.terminals import Terminals
from tankside.case import Case
from tankside.diagnosis.bench_tests import AS_FOUND, LIFTED
from tankside.figures.registry import OPEN_ABOVE, PLATE, Way, Work, reading, source
from tankside.heater.model import HeaterModel
from tankside.heater.unit import Unit
from tankside.instruments.multimeter import LEADS, Multimeter
from tankside.streams import Stream
from tankside.units import significant

METER = Multimeter(Stream("0", "any"))
"""What its input finds is asked for, before the errors of any one meter."""


def written(shown: dict[str, object]) -> str:
    """A meter's reading as one writes it into an answer: tens of megohms are no circuit, so they are "open"."""
    value = shown["value"]
    if not isinstance(value, int | float) or (shown["function"] == "Ω" and value > OPEN_ABOVE):
        return "open"
    unit = {"Ω": "ohm", "kΩ": "kohm", "MΩ": "megohm"}.get(str(shown["unit"]), str(shown["unit"]))
    return f"{shown['digits']} {unit}"


def probed(work: Work, function: str, red: str, black: str) -> dict[str, object]:
    """The meter set and both leads on; what it shows."""
    work.act("meter", function=function)
    if function == "Ω":
        work.act("zero leads")
    return reading(work.act("probe", red=red, black=black))


def _supply(one: str, two: str) -> Way:
    def get(work: Work) -> str:
        part = work.model.of_type("mains supply")[0]
        return written(probed(work, "V~", f"{part}.{one}", f"{part}.{two}"))

    return Way(AS_FOUND, get)


@lru_cache(maxsize=2)
def _loaded_or_not(unit: Unit) -> tuple[Terminals, ...]:
    """As found; with the heater's load on the line (thermostat closed); and without any load."""
    loaded, idle = unit.copy(), unit.copy()
    for part in unit.model.of_type("thermostat"):
        loaded.set(
            "tank.temperature", min(float(unit["site.cold_water"][0]), float(unit[f"{part}.closes_at"][0]))
        )
    for part in unit.model.of_type("breaker"):
        idle.set(f"{part}.closed", 0.0)
    return tuple(Terminals(u) for u in (unit.copy(), loaded, idle))


def _volts(unit: Unit, one: str, two: str) -> tuple[float, ...]:
    """Between two terminals of the supply outlet, in each of these three ways."""
    part = unit.model.of_type("mains supply")[0]
    a, b = f"{part}.{one}", f"{part}.{two}"
    return tuple(float(METER.sees("V~", way, a, b)[0][0]) for way in _loaded_or_not(unit))


@source("supply hot to neutral", "V", _supply("hot", "neutral"))
def _hot_neutral(case: Case, unit: Unit) -> tuple[float, ...]:
    return _volts(unit, "hot", "neutral")


@source("supply hot to ground", "V", _supply("hot", "ground"))
def _hot_ground(case: Case, unit: Unit) -> tuple[float, ...]:
    return _volts(unit, "hot", "ground")


@source("supply neutral to ground", "V", _supply("neutral", "ground"))
def _neutral_ground(case: Case, unit: Unit) -> tuple[float, ...]:
    return _volts(unit, "neutral", "ground")


def _plate(model: HeaterModel) -> tuple[float, float]:
    """W, V."""
    plate = model.plate
    return model.number("plate.wattage", plate.wattage, "W"), model.number(
        "plate.voltage", plate.voltage, "V"
    )


def _plate_amperes(work: Work) -> str:
    watts, volts = _plate(work.model)
    return f"{significant(watts / volts)} A"


@source("plate current", "A", Way(PLATE, _plate_amperes))
def _plate_current(case: Case, unit: Unit) -> tuple[float, ...]:
    watts, volts = _plate(case.model)
    return (watts / volts,)


def _plate_ohms(work: Work) -> str:
    watts, volts = _plate(work.model)
    return f"{significant(volts**2 / watts)} ohm"


@source("plate resistance", "ohm", Way(PLATE, _plate_ohms))
def _plate_resistance(case: Case, unit: Unit) -> tuple[float, ...]:
    watts, volts = _plate(case.model)
    return (volts**2 / watts,)


def _watts_here(work: Work) -> str:
    watts, volts = _plate(work.model)
    part = work.model.of_type("mains supply")[0]
    found = probed(work, "V~", f"{part}.hot", f"{part}.neutral")["value"]
    return f"{watts * (float(str(found)) / volts) ** 2:.0f} W"


@source("plate power at the measured voltage", "W", Way(AS_FOUND, _watts_here))
def _power_here(case: Case, unit: Unit) -> tuple[float, ...]:
    watts, volts = _plate(case.model)
    return tuple(watts * (measured / volts) ** 2 for measured in _volts(unit, "hot", "neutral"))


@lru_cache(maxsize=2)
def _isolated(unit: Unit) -> Terminals:
    """The unit with its plug out and the element's leads lifted; kept, because a lab asks for several of its figures."""
    out = unit.copy()
    for supply in unit.model.of_type("mains supply"):
        out.set(f"{supply}.plugged", 0.0)
    for wire in unit.model.wires.values():
        if wire.lifts_at:
            out.set(f"{wire.id}.lifted", 1.0)
    return Terminals(out)


def _ohms(unit: Unit, a: str, b: str) -> float:
    value, _ = METER.sees("Ω", _isolated(unit), a, b)
    ohms = float(value[0])
    return math.inf if ohms > OPEN_ABOVE else ohms


def _element_ohms(work: Work) -> str:
    part = work.model.of_type("element")[0]
    return written(probed(work, "Ω", f"{part}.1", f"{part}.2"))


def _element_to_shell(work: Work) -> str:
    part, tank = work.model.of_type("element")[0], work.model.of_type("tank")[0]
    return written(probed(work, "Ω", f"{part}.1", f"{tank}.shell"))


@source("element resistance", "ohm", Way(LIFTED, _element_ohms))
def _element(case: Case, unit: Unit) -> tuple[float, ...]:
    part = unit.model.of_type("element")[0]
    ohms = _ohms(unit, f"{part}.1", f"{part}.2")
    return ohms, ohms + LEADS


@source("element to tank", "ohm", Way(LIFTED, _element_to_shell))
def _element_to_tank(case: Case, unit: Unit) -> tuple[float, ...]:
    """From either terminal."""
    part, tank = unit.model.of_type("element")[0], unit.model.of_type("tank")[0]
    return tuple(_ohms(unit, f"{part}.{end}", f"{tank}.shell") for end in ("1", "2"))
