"""Figures of anode and tank: what the rod has left, what it gives, how long it lasts."""

from __future__ import annotations

from typing import Any

import numpy as np

from tankside.case import Case
from tankside.diagnosis.bench_tests import DRAINED
from tankside.errors import BenchError
from tankside.figures.registry import Way, Work, number, reading, source
from tankside.heater import corrosion
from tankside.heater.unit import REFERENCE_CONDUCTIVITY, Unit, make_unit
from tankside.physics.corrosion import METALS, YEAR

WARM = 57.0
"""°C of the water over the year, for which currents and years are counted (135 °F)."""
LONG = 50.0
"""years beyond which nobody counts."""


def _left(unit: Unit) -> float:
    """Share of the rod's metal that is left."""
    rod = unit.model.of_type("anode")[0]
    return 0.0 if unit[f"{rod}.missing"][0] > 0 else 1.0 - min(float(unit[f"{rod}.used"][0]), 1.0)


def _amperes(unit: Unit) -> float:
    return max(float(np.atleast_1d(corrosion.cell(unit, np.full(unit.batch, WARM)).current)[0]), 0.0)


def _years(unit: Unit) -> float:
    """The metal that is left over what the current takes away in a year, by Faraday's law."""
    mass, per_kilo = corrosion.metal(unit)
    coulombs = float(mass[0] * per_kilo[0]) * _left(unit)
    amperes = _amperes(unit)
    return min(coulombs / amperes / YEAR, LONG) if amperes > 0 and coulombs > 0 else 0.0


def _rod(work: Work) -> dict[str, Any]:
    """The log line of the anode taken out; nothing to measure where there is a plain plug."""
    entry = work.act("look at anode")
    if not entry["result"]["rod"]:
        raise BenchError("There is no rod on the plug.")
    return entry


def _share_left(work: Work, entry: dict[str, Any]) -> float:
    """Of the metal, from the diameter by the calliper and the new rod's by its data sheet."""
    rod, sheet = work.model.of_type("anode")[0], work.model.nominal
    new, core = sheet[f"{rod}.radius"], sheet[f"{rod}.core"]
    now = (number(entry) or 0.0) / 2000
    return float(np.clip((now**2 - core**2) / (new**2 - core**2), 0.0, 1.0))


def _percent_left(work: Work) -> str:
    entry = work.act("look at anode")
    if not entry["result"]["rod"]:
        return "0 %"
    return f"{100 * _share_left(work, entry):.0f} %"


@source("anode left", "percent", Way(DRAINED, _percent_left))
def _anode_left(case: Case, unit: Unit) -> tuple[float, ...]:
    return (100 * _left(unit),)


def _calculated(work: Work) -> Unit:
    """A heater of this model with what strip, conductivity meter, calliper, scales and lamp showed: the calculation's."""
    out = make_unit(work.model)
    rod, vessel, inlet = (work.model.of_type(kind)[0] for kind in ("anode", "vessel", "cold inlet"))
    taken = _rod(work)
    out.set(f"{rod}.used", 1.0 - _share_left(work, taken))
    readings = taken["result"]["readings"]
    if len(readings) > 1:
        weighed = float(reading(taken, 1)["value"] or 0.0)
        kinds = [abs(METALS[name].density / 1e3 - weighed) for name in corrosion.ALLOYS]
        out.set(f"{rod}.alloy", float(np.argmin(kinds)))
    lamp = work.act("lamp in tank")
    out.set(f"{vessel}.bare_area", (number(lamp, 1) or 0.0) / 1e4)
    water = work.act("water test")
    out.set(f"{inlet}.hardness", water["result"]["hardness"])
    conductivity = number(water) or REFERENCE_CONDUCTIVITY
    out.set("tank.water_conductivity", conductivity / REFERENCE_CONDUCTIVITY)
    out.set("tank.covered", 1.0)
    return out


def _milliamperes(work: Work) -> str:
    return f"{1000 * _amperes(_calculated(work)):.2f} mA"


@source("anode current", "mA", Way(DRAINED, _milliamperes))
def _current(case: Case, unit: Unit) -> tuple[float, ...]:
    """With the tank full, at ``WARM``; what a calculation from strip, calliper and lamp should come near to."""
    return (1000 * _amperes(unit),) if _left(unit) > 0 else ()


def _years_shown(work: Work) -> str:
    return f"{_years(_calculated(work)):.1f} years"


@source("years of anode left", "years", Way(DRAINED, _years_shown))
def _years_left(case: Case, unit: Unit) -> tuple[float, ...]:
    return (_years(unit),) if _left(unit) > 0 else ()
