"""Benches for lesson 5 and its questions: the 12 V side of a heater, called for heat, at any point that a meter reaches."""

from __future__ import annotations

import hashlib
from datetime import date
from functools import cache
from typing import Any

from tankside.bench import Bench
from tankside.workorder import WorkOrder

MODEL = "teal_10"
COVERS = ("panel", "heater-front", "burner-bay")
POINTS = (
    "battery.plus", "fuse.load", "dc_panel_switch.load", "harness_plug.supply_out", "dc_thermostat.load",
    "dc_link_bar.load", "dc_high_limit.load", "control_board.supply",
)  # fmt: skip
"""The plus side from the battery to the board."""
MINUS, STUD, BOARD, EARTH = (
    "battery.minus",
    "ground_stud.heater",
    "control_board.supply",
    "control_board.ground",
)


def opened(fault: str, number: int = 1, cold: bool = True) -> Bench:
    """Covers off, the meter on direct volts; with ``cold`` the water has been drawn, so that the board is called."""
    order = WorkOrder(
        order=f"CHECK-{number}",
        lab="lesson",
        seed=hashlib.sha256(f"12 V bench {fault} {number}".encode()).hexdigest()[:32],
        model=MODEL,
        scope=(fault,),
        issued=date(2026, 1, 1),
        complaint="",
    )
    bench = Bench(order)
    for place in COVERS:
        bench.open_cover(place)
    bench.meter("V⎓")
    if cold:
        bench.run_tap(15)
    return bench


def volts(bench: Bench, red: str, black: str) -> float:
    """What the meter shows, V."""
    value: Any = bench.probe(red, black).readings[0]["value"]
    return float(value)


@cache
def readings(fault: str, number: int = 1) -> dict[str, float]:
    """Volts of every point to the battery's minus, of the board on its own two wires, and of the ground stud; under load."""
    bench = opened(fault, number)
    found = {point: volts(bench, point, MINUS) for point in POINTS}
    found["board"] = volts(bench, BOARD, EARTH)
    found["stud"] = volts(bench, STUD, MINUS)
    return found


def amperes(bench: Bench, wire: str = "supply_lead") -> float:
    """The clamp around a wire, A."""
    reading: Any = bench.do("clamp", wire=wire).entry["result"]["reading"]
    return float(reading["value"] or 0.0)
