"""The test-by-fault table, cold: every fault, every test, every situation, for one heater at its site."""

from __future__ import annotations

import time

from benchmarks.figure import Figure
from tankside.diagnosis.bench_tests import bench_tests
from tankside.diagnosis.situations import places_for
from tankside.diagnosis.table import make_table
from tankside.faults.catalogue import faults
from tankside.heater.model import HeaterModel, load_model, model_names

AIM = 250.0
"""ms, for the largest model."""
ROUNDS = 3


def figures() -> list[Figure]:
    """Each model with all of its faults: one heater, and (as the reference path needs it) all heaters of the model."""
    sizes = {name: len(load_model(name).terminals) + len(load_model(name).parts) for name in model_names()}
    out = []
    for name in sorted(sizes, key=lambda n: sizes[n]):
        model = load_model(name)
        scope = tuple(fault.id for fault in faults().values() if fault.applies_to(model))
        bench_tests(model)
        for situation in range(5):
            places_for(model, situation)
        one = min(_milliseconds(model, scope, True) for _ in range(ROUNDS))
        every = _milliseconds(model, scope, False)
        largest = sizes[name] == max(sizes.values())
        words = f"table of {name}, {len(scope)} faults"
        out += [
            Figure(f"{words}, one heater", one, "ms", AIM if largest else None),
            Figure(f"{words}, every heater and site", every, "ms"),
        ]
    return out


def _milliseconds(model: HeaterModel, scope: tuple[str, ...], one: bool) -> float:
    from tankside.case import draw_case

    case = draw_case(model.name, scope, "ab" * 16) if one else None
    began = time.perf_counter()
    make_table(model, scope, case)
    return 1e3 * (time.perf_counter() - began)
