"""Does what lesson 8 says in words follow from what it computes?"""

from __future__ import annotations

import re

import numpy as np
import pytest

from tankside.lessons import air_and_fuel as lesson
from tankside.lessons import air_and_fuel_readings as readings
from tankside.lessons.air_and_fuel_drawings import Axis, Chart, Curve, charts
from tankside.lessons.air_and_fuel_worked import web_example
from tankside.questions.burning import burning
from tests.published import row

LOW, HIGH = (
    float(str(row("combustion", f"co-limit-{name}").value)) for name in ("water-heater", "vented-heating")
)


def test_each_of_the_five_flames_is_the_one_it_is_called() -> None:
    """Does the physics give that kind for that cause, and is none marked as doubtful?"""
    for kind, (_, changed) in lesson.FIVE.items():
        assert burning(readings.MODEL, changed).kind == (kind,)
    assert "?" not in lesson.five_flames().text
    # A foot is 0.3048 m (the international foot): the same speed stands in both measures.
    speeds = re.findall(r"([\d.]+) ft/s \(([\d.]+) m/s\)", lesson.five_flames().text)
    assert len(speeds) == 3
    assert all(float(feet) * 0.3048 == pytest.approx(float(metres), rel=0.01) for feet, metres in speeds)


def test_the_cabin_fills_behind_a_blue_flame() -> None:
    """Blue, spilling, over the strictest alarm point within the hour; and does a window slow it down?"""
    now = burning(readings.MODEL, lesson.FILLING)
    assert now.kind == ("steady blue",) and now.spilled[0] > 0
    rows = dict(line.split(" | ", 1) for line in lesson.closed_cabin().text.splitlines() if "| after" in line)
    assert set(rows) == {"35 ppm", "70 ppm", "150 ppm", "200 ppm", "400 ppm"}
    assert "not in four hours" in rows["70 ppm"]
    # UL 2034's points as the published rows have them: reached, and then so many minutes at the most.
    said = re.search(
        r"silent for (\d+) min: (\d+) ppm are there after (\d+) min, and then it may take (\d+) min",
        lesson.closed_cabin().text,
    )
    assert said
    whole, level, at, more = map(int, said.groups())
    assert whole == at + more and rows[f"{level} ppm"].startswith(f"after {at} min")
    latest = {int(ppm): int(last) for ppm, last in row("carbon_monoxide", "co-alarm-latest").pairs()}
    assert more == latest[level]
    reached = {int(k.split()[0]): int(v.split()[1]) for k, v in rows.items()}
    assert whole == min(reached[ppm] + last for ppm, last in latest.items() if ppm in reached)


def test_saying_about_yellow() -> None:
    """Yellow with the plate's gas where air is missing; blue with too much gas, until no oxygen is left."""
    found = [burning(readings.MODEL, changed) for _, changed in readings.YELLOW]
    good, web, shutter, *more_gas, last = found
    for starved in (web, shutter):
        assert starved.kind == ("lazy orange",) and starved.input[0] == pytest.approx(good.input[0], rel=1e-6)
    for rich in more_gas:
        assert rich.kind == ("steady blue",) and rich.input[0] > 1.15 * good.input[0]
    assert last.kind == ("lazy orange",) and last.oxygen[0] == 0
    assert more_gas[-1].air_free[0] > HIGH


def test_saying_about_blue() -> None:
    """All blue, and is only the first under both limits?"""
    found = [burning(readings.MODEL, changed) for _, changed in readings.BLUE]
    assert {now.kind for now in found} == {("steady blue",)}
    assert [now.air_free[0] <= LOW for now in found] == [True] + [False] * 5


def test_web_and_shutter_leave_the_oxygen_alone_and_the_flue_does_not() -> None:
    """The lesson's rule for reading O2 and CO together; does the shown efficiency rise while the CO passes the limits?"""
    for key, values in (("burner.web", (0.0, 0.8)), ("burner.opening", (0.6, 0.1))):
        now = burning(readings.MODEL, {key: np.array(values)}, 2)
        assert now.oxygen[1] == pytest.approx(now.oxygen[0], abs=0.2) and now.air_free[1] > HIGH
    now = burning(readings.MODEL, {"flue.blocked": np.array([0.0, 0.45])}, 2)
    assert now.oxygen[1] < now.oxygen[0] - 3 and now.air_free[1] > HIGH and now.kind[1] == "steady blue"
    shown = readings._shown(now)
    assert shown[1] > shown[0]


def test_thinned_sample_keeps_the_air_free_number() -> None:
    """Does the bare reading fall to a quarter while the air-free one stays within 2 %? (hvacrschool.com's formula.)"""
    rows = re.findall(
        r"^\d+ % \| ([\d.]+) % \| (\d+) ppm \| (\d+) ppm$", readings.thinned().text, re.MULTILINE
    )
    shown, free = [float(r[1]) for r in rows], [float(r[2]) for r in rows]
    assert len(rows) == 4 and shown[-1] == pytest.approx(shown[0] / 4, rel=0.01)
    assert max(free) / min(free) < 1.02
    for oxygen, bare, without in rows:
        assert float(without) == pytest.approx(float(bare) * 20.9 / (20.9 - float(oxygen)), rel=0.02)


def test_example_ends_with_one_fault_and_a_proof() -> None:
    """Do the faults left only get fewer, down to the web, and is CO air-free over the limits before and under after?"""
    steps = web_example()
    left = [step.left for step in steps]
    assert left == sorted(left, reverse=True) and left[0] > 3 and left[-1] == 1
    free = [float(m[1]) for step in steps if (m := re.search(r"CO air-free (\d+) ppm", step.did))]
    assert len(free) == 2 and free[0] > HIGH and free[1] < LOW


def test_limits_and_alarms_are_all_shown() -> None:
    """Do the limits that disagree stand side by side (combustion.toml, carbon_monoxide.toml)?"""
    text = readings.limits().text
    for id in (
        "co-osha-pel",
        "co-niosh-rel",
        "co-acgih-tlv",
        "co-limit-water-heater",
        "co-limit-vented-heating",
    ):
        assert re.search(rf"\| {row('combustion', id).value:g} ppm \|", text), id
    for minutes in row("carbon_monoxide", "co-alarm-latest").values:
        assert f"to {minutes:g} min" in text


def test_a_chart_puts_values_where_they_belong() -> None:
    """Is the middle of a scale drawn in the middle, by tens on a log scale, and what lies outside held at the edge?"""
    plain, tens = Axis(60, 0, ()), Axis(10, 1000, (), log=True)
    assert plain.at(30) == 0.5 and plain.at(60) == 0 and tens.at(100) == pytest.approx(0.5)
    assert tens.at(0) == 0 and tens.at(1e9) == 1
    drawn = charts([[Chart("heading", plain, tens, (Curve([60, 0], [10, 1000], "end"),))]], "title", "said")
    assert "heading" in drawn and 'aria-label="said"' in drawn and "nan" not in drawn
