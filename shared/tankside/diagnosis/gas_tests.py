"""The gas side's tests as columns of the test-by-fault table, and how each is made at the bench.

A column's ``function`` is the bench's verb; ``red`` says of what (with its part, if a cover may hide it); ``black``
names one of several things that the same look shows. What eyes, ears and nose say is a class; what a gauge says
has the gauge's accuracy. The burner isn't taken apart here: the survey does that.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tankside.bench.bench import perform
from tankside.bench.gas_points import JOINTS, LOOKS, TAPS, GasPoints
from tankside.bench.state import BenchState
from tankside.heater import burner
from tankside.heater.model import HeaterModel
from tankside.heater.simulation import energise
from tankside.heater.unit import Unit
from tankside.instruments import senses
from tankside.instruments.flue_gas_analyser import FlueGasAnalyser
from tankside.instruments.gauge import Gauge
from tankside.instruments.manometer import Manometer

Array = NDArray[np.float64]


@dataclass(frozen=True)
class GasTest:
    """One test: verb and arguments, (B,) what it finds, the gauge (None for a class), and minutes."""

    situation: int
    verb: str
    args: dict[str, Any]
    red: str
    black: str
    finds: Callable[[Unit], Array]
    gauge: Gauge | None
    minutes: float


def _tests(model: HeaterModel) -> Iterator[GasTest]:
    tools, analyser = Manometer("0"), FlueGasAnalyser("0")
    for place in dict.fromkeys(model.parts[part].place for part in ("cylinder", "gas_cock", "burner")):
        yield GasTest(0, "sniff", {"place": place}, place, "", lambda u, p=place: senses.NOSE.classes(GasPoints(u).smell(p)), None, 1)  # type: ignore[misc]  # fmt: skip
    yield GasTest(0, "weigh cylinder", {}, "cylinder.weight", "", lambda u: u["cylinder.mass"] + u["cylinder.tare"], tools.weight, 3)  # fmt: skip
    yield GasTest(0, "altitude", {}, "altitude", "", lambda u: np.maximum(u["burner.altitude"], 0.0), tools.altitude, 1)  # fmt: skip
    for tap, where in TAPS.items():
        for draw in ("no", "yes"):
            yield GasTest(
                0, "gas pressure", {"tap": tap, "draw": draw}, f"{where.part}.{tap}", draw,
                lambda u, t=tap, d=draw, h=where.high: _pressure(u, t, d, h),  # type: ignore[misc]
                tools.high if where.high else tools.low, 3,
            )  # fmt: skip
    for part in ("cylinder", "hose", "gas_cock"):
        yield _soap(0, part)
    for part, look in LOOKS.items():
        if look.apart:
            continue
        for key, sense in look.senses:
            yield GasTest(0, "inspect", {"part": part}, f"{part}.{key}", "", lambda u, k=key, s=sense: s.classes(GasPoints(u).value(k)), None, look.minutes)  # type: ignore[misc]  # fmt: skip
        for key, gauge in look.gauges:
            yield GasTest(0, "inspect", {"part": part}, f"{part}.{key}", "", lambda u, k=key: GasPoints(u).value(k), gauge, look.minutes)  # type: ignore[misc]  # fmt: skip
    if model.of_type("hand gas valve"):
        yield GasTest(0, "look at flame", {}, "burner.pilot", "", lambda u: u["gas_valve.pilot"].copy(), None, 1)
    yield GasTest(1, "look at flame", {}, "burner.flame", "", lambda u: np.where(burner.burns(u), burner.fire(u).kind + 1, 0.0), None, 1)  # fmt: skip
    for k, gauge in enumerate((analyser.oxygen, analyser.monoxide)):
        yield GasTest(1, "flue gas", {}, "flue.gas", gauge.scale.id, lambda u, k=k: _flue(u, k), gauge, 5)  # type: ignore[misc]  # fmt: skip
    yield _soap(1, "orifice")


def _soap(situation: int, part: str) -> GasTest:
    assert part in JOINTS
    return GasTest(situation, "soap test", {"part": part}, f"{part}.joint", "", lambda u: senses.BUBBLES.classes(GasPoints(u).escapes(part)), None, 2)  # fmt: skip


def _pressure(unit: Unit, tap: str, draw: str, high: bool) -> Array:
    points = GasPoints(unit)
    points.drawn = draw == "yes"
    return Manometer("0").sees(points, tap, high)[1]


def _flue(unit: Unit, channel: int) -> Array:
    oxygen, _, monoxide, hot, room = burner.stack(unit)
    return FlueGasAnalyser("0").channels(oxygen, monoxide, hot, room)[channel][1]


@cache
def gas_tests(model: HeaterModel) -> dict[tuple[int, str, str, str], GasTest]:
    """Every test of a model's gas side by its column; none on a model without one."""
    if not model.of_type("gas cylinder"):
        return {}
    return {(t.situation, t.verb, t.red, t.black): t for t in _tests(model)}


def outcomes(unit: Unit, situation: int) -> list[tuple[tuple[int, str, str, str], Array]]:
    """(B,) what each test of a situation finds."""
    found = {key: test for key, test in gas_tests(unit.model).items() if test.situation == situation}
    if found:
        energise(unit)
    return [(key, np.array(test.finds(unit), dtype=float)) for key, test in found.items()]


def slack(test: GasTest, value: Array) -> Array:
    """By how much a reading may lie beside the truth: nothing for a class."""
    if test.gauge is None:
        return np.zeros_like(value)
    scale = test.gauge.scale
    full = np.full(value.shape, scale.ranges[-1])
    for end in reversed(scale.ranges):
        full = np.where(np.abs(value) <= end, end, full)
    return scale.share * np.abs(value) + (scale.digits + 1) * full / scale.counts


def make(state: BenchState, test: GasTest) -> tuple[float, str]:
    """Make a test at the bench; its number, and what one sees."""
    value = float(test.finds(state.unit)[0])
    text = perform(state, test.verb, test.args).text
    return value, text

