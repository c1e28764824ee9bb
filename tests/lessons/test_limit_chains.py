"""Does what lesson 4 says in words follow from what it computes?"""

from __future__ import annotations

import re

import pytest

from tankside.lessons import limit_chains as lesson
from tankside.lessons.worked import chain_example
from tankside.widgets.limit_chain import FIELDS, limit_chain, limit_chain_builder
from tests.published import row


def cells(text: str) -> dict[str, list[str]]:
    return {line.split(" | ")[0]: line.split(" | ")[1:] for line in text.splitlines() if " | " in line}


def volts(words: str) -> float:
    return float(re.findall(r"-?[\d.]+(?= V)", words)[0])


def test_the_volts_end_at_the_break() -> None:
    """One gate further each row; and do they go all the way when the element is open?"""
    found = [[volts(v) > 100 for v in r] for name, r in cells(lesson.each_break().text).items() if name.startswith("open")]  # fmt: skip
    assert [sum(r) for r in found] == [0, 1, 2, 3, 4]
    assert all(r == sorted(r, reverse=True) for r in found)


def test_across() -> None:
    found = {
        name: [volts(v) for v in r] for name, r in cells(lesson.across_each().text).items() if " V" in r[0]
    }
    assert max(found["all closed: it heats"]) < 1
    assert [v > 100 for v in found["link bar open"]] == [False, False, True, False]
    assert max(found["link bar open and the switch off"]) < 10


def test_satisfied_and_stuck_look_alike_until_the_tap_has_run() -> None:
    found = cells(lesson.satisfied_or_stuck().text)
    assert volts(found["good"][0]) > 100 and volts(found["stuck open"][0]) > 100
    assert volts(found["good"][1]) < 1 and volts(found["stuck open"][1]) > 100


def test_a_welded_thermostat_ends_at_the_limit() -> None:
    """Good: below its level all day. Welded: the limit opens, hours before the half day ends."""
    text = lesson.half_a_day().text
    good, welded = (float(f) for f in re.findall(r"(\d+) °F", text)[:2])
    assert good < 150 < welded and 0.3 < float(re.findall(r"after ([\d.]+) hours", text)[0]) < 4


def test_a_half_bad_contact() -> None:
    """Ohm's law on the shown numbers: heat is volts times volts by ohms, within what the rounding leaves."""
    burnt = cells(lesson.half_bad().text)["burnt"]
    ohms = float(re.findall(r"[\d.]+(?= Ω)", burnt[1])[0])
    heat = float(re.findall(r"[\d.]+(?= W)", burnt[2])[0])
    assert heat == pytest.approx(volts(burnt[0]) ** 2 / ohms, rel=0.03)


def test_tests_needed_are_the_published_ones() -> None:
    """Mean tests for 8 and 16 parts (references: diagnosis, mean-tests-half-split and -sequential)."""
    found = cells(lesson.tests_needed().text)
    for k, n in enumerate(("8", "16")):
        assert float(found[n][0]) == pytest.approx(
            row("diagnosis", "mean-tests-sequential").value[k], abs=0.0051
        )
        assert float(found[n][2]) == row("diagnosis", "mean-tests-half-split").value[k]


def test_what_trips() -> None:
    """Is the saying right for the aged limit and wrong for the welded thermostat?"""
    found = cells(lesson.what_trips().text)
    assert "stays closed" in found["high limit tripped although the thermostat is good"][0]
    assert "again" in found["thermostat contact welded shut"][0]


def test_the_example_closes_in() -> None:
    steps = chain_example()
    left = [s.left for s in steps]
    assert left == sorted(left, reverse=True) and left[0] > 8 and left[-1] == 1
    assert next(s.left for s in steps if "link bar load" in s.did) == 1


def test_the_builder() -> None:
    """Does the builder count as the published figures do, and refuse in words what can't be?"""
    rows = {r["label"]: r["text"] for r in limit_chain(8, 6) if "label" in r}
    assert rows["By halves"] == "3 tests" and rows["One by one, on average"] == "4.38 tests"
    made = limit_chain_builder()
    assert made.result["rows"] and len(FIELDS) == 2
    assert "beyond the row" in str(made.work_out({"contacts": 4, "broken": 5})["problems"])
    assert "whole" in str(made.work_out({"contacts": 4.5, "broken": 2})["problems"])
