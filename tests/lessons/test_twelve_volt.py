"""Does what lesson 5 says in words follow from what it computes?"""

from __future__ import annotations

import re

import pytest

from tankside.lessons import twelve_volt as lesson
from tankside.widgets.wire_drop import fields, wire_drop, wire_drop_calculator
from tests.published import row


def cells(text: str) -> dict[str, list[str]]:
    return {line.split(" | ")[0]: line.split(" | ")[1:] for line in text.splitlines() if " | " in line}


def first(words: str) -> float:
    return float(re.findall(r"-?\d+(?:\.\d+)?", words)[0])


def test_at_rest_all_look_good() -> None:
    found = {k: [first(v) for v in r] for k, r in cells(lesson.rest_and_load().text).items() if " V" in r[0]}
    rest = [r[0] for r in found.values()]
    assert len(found) == 3 and max(rest) - min(rest) < 0.15
    assert found["good"][1] > 12 and max(found["corroded ground"][1], found["corroded plug"][1]) < 11.5


def test_where_the_volts_go() -> None:
    """Kirchhoff: do the three shares add up to the battery; and does only the ground lose on the way back?"""
    for part in lesson.where_volts_go().text.split("; "):
        plus, kept, minus = (float(v) for v in re.findall(r"(\d+\.\d)", part))
        assert 9 < plus + kept + minus < 13.5
        assert (minus > 1) is part.startswith("corroded ground")


def test_the_battery_keeps_to_its_rule() -> None:
    """Within 0.15 V of the rule of thumb (lists.ettus.com, V2: electrical.toml, battery-at-rest)."""
    rule = row("electrical", "battery-at-rest")
    assert rule.status == "V2"
    for line in lesson.battery().text.splitlines():
        found = re.findall(r"(\d+\.\d) V", line)
        if len(found) == 2:
            assert float(found[0]) == pytest.approx(float(found[1]), abs=0.15)
            assert str(float(found[1])) in str(rule.value)


def test_saying_and_fuses() -> None:
    found = cells(lesson.saying().text)
    assert first(found["corroded ground"][0]) > 12 > 11.5 > first(found["corroded ground"][1])
    fuses = cells(lesson.new_fuse().text)
    assert (
        fuses["nothing wrong behind it"][2] == "holds"
        and fuses["a shorted solenoid behind it"][2] == "blows again"
    )


def test_same_ohms() -> None:
    """Joule's law on the shown numbers, within what rounding leaves; and is the heat on 12 V a small part of that on mains?"""
    for joint, (mains, low) in list(cells(lesson.same_ohms().text).items())[1:]:
        for words in (mains, low):
            volts, watts = (float(v) for v in re.findall(r"\d+(?:\.\d+)?", words)[:2])
            assert watts == pytest.approx(volts**2 / first(joint), rel=0.08, abs=0.006)
        assert first(low.split(", ")[1]) < 0.02 * first(mains.split(", ")[1])


def test_the_example_closes_in() -> None:
    steps = lesson.ground_example()
    left = [s.left for s in steps]
    assert left == sorted(left, reverse=True) and left[0] > 8 and left[-1] == 1
    assert not any("stops" in s.did for s in steps)


def test_the_calculator_takes_metres_from_who_reads_metres() -> None:
    """Does the length's field have the chosen unit, and do 30.48 m lose what 100 ft lose (a foot is 0.3048 m)?"""
    units = {system: fields(system)[1]["unit"] for system in ("us", "si", "both")}
    assert units == {"us": "ft", "si": "m", "both": "ft"}
    lost = [
        next(
            r
            for r in wire_drop("16", long, 1.5, 0, 12.6, system)
            if r.get("label", "").startswith("In the wire")
        )
        for long, system in ((100, "us"), (30.48, "si"))
    ]
    assert lost[0]["text"] == lost[1]["text"]
    assert "ft" in lost[0]["how"] and "30.5 m each way" in lost[1]["how"]


def test_the_calculator() -> None:
    """Handbook: 14 AWG copper has 2.525 Ω in 1000 ft at 20 °C (NBS Handbook 100); strands add two hundredths."""
    rows = {r["label"]: r["text"] for r in wire_drop("14", 50, 10, 0, 12.6) if "label" in r}
    assert first(rows["In the wire, there and back"]) == pytest.approx(2.525 * 0.1 * 10 * 1.02, rel=0.01)
    made = wire_drop_calculator()
    assert made.result["rows"] and len(fields()) == 5
    assert "can't" not in str(made.result) and "would need" in str(
        made.work_out({"gauge": "18", "length": 100, "amps": 30, "joint": 50, "supply": 12})["problems"]
    )
