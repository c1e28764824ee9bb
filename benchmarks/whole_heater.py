"""A whole heater over a day and a year, and readings on the water side and the anode."""

from __future__ import annotations

from benchmarks.figure import Figure, seconds_each
from tankside.heater import corrosion, plumbing
from tankside.heater.history import TWO_PEOPLE, run
from tankside.heater.model import load_model
from tankside.heater.simulation import advance
from tankside.heater.unit import make_unit

MODELS = ("grebe_12", "ouzel_23")


def figures() -> list[Figure]:
    """One healthy unit of each model with a water side, at the middle of its sites, with draws for two people."""
    out = []
    for name in MODELS:
        unit = make_unit(load_model(name))
        advance(unit, 60.0)
        day = seconds_each(lambda unit=unit: run(unit, TWO_PEOPLE, 1.0))  # type: ignore[misc]
        year = seconds_each(lambda unit=unit: run(unit, TWO_PEOPLE, 365.25), rounds=3)  # type: ignore[misc]
        bench = seconds_each(lambda unit=unit: advance(unit.copy(), 1440.0))  # type: ignore[misc]
        tap = seconds_each(lambda unit=unit: plumbing.hot_tap(unit))  # type: ignore[misc]
        shut = seconds_each(lambda unit=unit: plumbing.pressure(unit))  # type: ignore[misc]
        out += [
            Figure(f"a day of {name} with seven draws", 1e3 * day, "ms", 20.0),
            Figure(f"a year of {name} with seven draws a day", year, "s", 2.0),
            Figure(f"a day of {name} at the bench, contact by contact", 1e3 * bench, "ms", 20.0),
            Figure(f"hot tap of {name}: flow and temperature", 1e3 * tap, "ms", 1.0),
            Figure(f"pressure in {name}'s shut tank", 1e3 * shut, "ms", 1.0),
        ]
        if unit.model.of_type("anode"):
            cell = seconds_each(lambda unit=unit: corrosion.cell(unit))  # type: ignore[misc]
            out.append(Figure(f"anode and steel of {name}: working point", 1e3 * cell, "ms", 1.0))
    return out
