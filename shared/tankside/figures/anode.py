"""Figures of anode and tank: what the rod has left, what it gives, how long it lasts."""

from __future__ import annotations

from typing import Any

import numpy as np

from tankside.case import Case
from tankside.diagnosis.bench_tests import DRAINED
from tankside.figures.mains import probed
from tankside.figures.registry import NONE, OPEN_ABOVE, Way, Work, number, reading, source
from tankside.heater import corrosion
from tankside.heater.unit import REFERENCE_CONDUCTIVITY, Unit, make_unit
from tankside.physics.corrosion import METALS, YEAR

WARM = 57.0
"""°C of the water over the year, for which currents and years are counted (135 °F)."""
LONG = 50.0
"""years beyond which nobody counts."""
IDLE = 3e-4
"""A below which a rod is taken to do nothing: then there are no years to count."""
WORN = 0.08
"""Share of the metal under which a caliper can't say what is left on the wire."""
SKIN = 2e4
"""Film on a rod under a hard gray skin, for a calculation: its current is then next to nothing."""


def _left(unit: Unit) -> float:
    """Metal on the rod as a share of the model's new one, by its diameter: a thin or a wrong rod has less from the start."""
    rod, sheet = unit.model.of_type("anode")[0], unit.model.nominal
    return _by_radius(float(corrosion.radius(unit)[0]), sheet[f"{rod}.radius"], sheet[f"{rod}.core"])


def _by_radius(now: float, new: float, core: float) -> float:
    return float(np.clip((now**2 - core**2) / (new**2 - core**2), 0.0, 1.0))


def _amperes(unit: Unit) -> float:
    return max(float(np.atleast_1d(corrosion.cell(unit, np.full(unit.batch, WARM)).current)[0]), 0.0)


def _years(unit: Unit) -> float:
    """The metal that is left over what the current takes away in a year, by Faraday's law; 0 without a rod."""
    rod = unit.model.of_type("anode")[0]
    mass, per_kilo = corrosion.metal(unit)
    coulombs = float(mass[0] * per_kilo[0] * (1.0 - min(unit[f"{rod}.used"][0], 1.0)))
    amperes = _amperes(unit)
    return min(coulombs / amperes / YEAR, LONG) if amperes > 0 and coulombs > 0 else 0.0


def _share_left(work: Work, entry: dict[str, Any]) -> float:
    """Of the metal, from the diameter by the caliper and the new rod's by its data sheet."""
    rod, sheet = work.model.of_type("anode")[0], work.model.nominal
    return _by_radius((number(entry) or 0.0) / 2000, sheet[f"{rod}.radius"], sheet[f"{rod}.core"])


def _percent_left(work: Work) -> str:
    entry = work.first("look at anode")
    if not entry["result"]["rod"]:
        return "0 %"
    return f"{100 * _share_left(work, entry):.0f} %"


@source("anode left", "percent", Way(DRAINED, _percent_left))
def _anode_left(case: Case, unit: Unit) -> tuple[float, ...]:
    return (100 * _left(unit),)


def _calculated(work: Work) -> Unit | None:
    """A heater of this model with what strip, conductivity meter, caliper, scales and lamp showed; None without a rod."""
    out = make_unit(work.model)
    rod, vessel, inlet = (work.model.of_type(kind)[0] for kind in ("anode", "vessel", "cold inlet"))
    taken = work.first("look at anode")
    if not taken["result"]["rod"]:
        return None
    out.set(f"{rod}.used", 1.0 - _share_left(work, taken))
    if taken["result"]["skin"]:
        out.set(f"{rod}.film", SKIN)
    readings = taken["result"]["readings"]
    if len(readings) > 1:
        weighed = float(reading(taken, 1)["value"] or 0.0)
        kinds = [abs(METALS[name].density / 1e3 - weighed) for name in corrosion.ALLOYS]
        out.set(f"{rod}.alloy", float(np.argmin(kinds)))
    for wire in work.model.wires.values():
        if f"{rod}.head" in (wire.from_, wire.to):
            ohms = probed(work, "Ω", f"{rod}.head", f"{work.model.of_type('tank')[0]}.shell")["value"]
            out.set(f"{wire.id}.resistance", float(str(ohms)) if ohms is not None else OPEN_ABOVE)
    lamp = work.first("lamp in tank")
    out.set(f"{vessel}.bare_area", (number(lamp, 1) or 0.0) / 1e4)
    water = work.first("water test")
    out.set(f"{inlet}.hardness", water["result"]["hardness"])
    conductivity = number(water) or REFERENCE_CONDUCTIVITY
    out.set("tank.water_conductivity", conductivity / REFERENCE_CONDUCTIVITY)
    out.set("tank.covered", 1.0)
    return out


def _milliamperes(work: Work) -> str:
    found = _calculated(work)
    return "0 mA" if found is None else f"{1000 * _amperes(found):.2f} mA"


@source("anode current", "mA", Way(DRAINED, _milliamperes))
def _current(case: Case, unit: Unit) -> tuple[float, ...]:
    """With the tank full, at ``WARM``; what a calculation from strip, caliper and lamp should come near to."""
    now = 1000 * _amperes(unit)
    return (0.0, now) if 0.0 < _left(unit) < WORN else (now,)


def _idle(unit: Unit) -> bool:
    """True for a rod with metal left that gives next to no current."""
    return _left(unit) >= WORN and _amperes(unit) < IDLE


def _years_shown(work: Work) -> str:
    found = _calculated(work)
    if found is None:
        return "0 years"
    return NONE if _idle(found) else f"{_years(found):.1f} years"


@source("years of anode left", "years", Way(DRAINED, _years_shown))
def _years_left(case: Case, unit: Unit) -> tuple[float, ...]:
    """None where a rod that is there gives no current: it doesn't wear, and it protects nothing."""
    return () if _idle(unit) else (_years(unit),)
