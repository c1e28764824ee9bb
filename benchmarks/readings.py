"""A meter's reading, and networks solved a thousand at a time."""

from __future__ import annotations

import numpy as np

from benchmarks.figure import Figure, seconds_each
from tankside.bench.terminals import Terminals
from tankside.case import variants
from tankside.heater.unit import Unit
from tankside.instruments.multimeter import Multimeter
from tankside.labs import load_lab
from tankside.physics.circuit import Load
from tankside.practice import practice_order
from tankside.streams import Stream

BATCH = 1000
METER = (Load("element.1", "element.2", 1e-7, 1e-10),)


def figures() -> list[Figure]:
    """One reading as the bench takes it (state, solve, instrument), and batched solves of the whole network."""
    order = practice_order(load_lab("lab03"))
    found = variants(order.case(), order.scope).unit
    one = found.take([0])
    many = Unit(found.model, {key: np.resize(value, BATCH) for key, value in found.values.items()})
    meter = Multimeter(Stream("0", "meter"))
    reading = seconds_each(lambda: meter.read("V~", Terminals(one), "element.1", "element.2"))
    ohms = seconds_each(lambda: meter.read("Ω", Terminals(one), "element.1", "element.2"))
    real = seconds_each(lambda: many.wiring.solve(many.values, "alternating", coupled=False))
    phasors = seconds_each(lambda: many.wiring.solve(many.values, "alternating", METER))
    size = len(many.wiring.circuit.nodes)
    return [
        Figure("one reading of volts", 1e3 * reading, "ms", 1.0),
        Figure("one reading of ohms", 1e3 * ohms, "ms"),
        Figure(f"mains network, {size} nodes, real, batched", BATCH / real, "solves/s", 20_000, True),
        Figure(f"mains network, {size} nodes, phasors under a meter, batched", BATCH / phasors, "solves/s"),
    ]
