"""Does the hot water calculator show published numbers, in the measures that were chosen?"""

from __future__ import annotations

import re
from typing import Any

import pytest

from tankside.widgets.hot_water import fields, hot_water, hot_water_calculator
from tests.published import row

START: dict[str, Any] = {field["id"]: field["start"] for field in fields("us")}


def shown(system: str = "us", **values: Any) -> dict[str, str]:
    first = START if system != "si" else {field["id"]: field["start"] for field in fields("si")}
    rows = hot_water(**{**first, **values}, system=system)
    return {r["label"]: r["text"] for r in rows if "label" in r}


def number(text: str) -> float:
    return float(re.findall(r"[\d.,]+", text)[0].replace(",", ""))


def test_the_published_tank() -> None:
    """10 gallons from 60 to 140 °F: 6664 BTU, 53.3 min at 7500 BTU/h, 20.6 fl oz, 0.5625 hot for 105 °F (water.toml)."""
    found = shown(tank=10, cold=60, hot=140, heat=7500, mixed=105)
    assert row("water", "heat-ten-gallons").agrees(number(found["Heat it takes"]))
    assert number(found["From cold to hot"]) == pytest.approx(row("water", "heat-up-gas").value, abs=0.51)
    assert row("water", "expansion-ten-gallons").agrees(number(found["The water grows by"]))
    assert number(found["Hot part"]) == pytest.approx(100 * float(str(row("water", "mixing").value)), abs=0.51)
    for seconds, label in (
        (row("water", "scald-cpsc").values[2], "page 1"),
        (row("water", "scald-second-degree").values[2], "page 3"),
    ):
        assert number(found[f"Burns an adult, {label}"]) == pytest.approx(seconds)


@pytest.mark.parametrize(("hot", "words"), [(100, "GROW"), (120, "hold on"), (150, "die")])
def test_germs(hot: float, words: str) -> None:
    """Growth from 25 to 45 °C, storage above 60 °C (ASHRAE Guideline 12-2000: water.toml)."""
    assert words in shown(hot=hot, mixed=95)["In the tank"]


def test_both_systems_agree() -> None:
    """The same tank typed in litres and °C: the same minutes?"""
    us = shown(tank=10, cold=50, hot=140, heat=10000, mixed=104, flow=2)
    si = shown("si", tank=37.85, cold=10, hot=60, heat=2.9307, mixed=40, flow=7.571)
    assert us["From cold to hot"] == si["From cold to hot"] and us["Lasts"] == si["Lasts"]


def test_burns_beyond_the_tables_are_said_so() -> None:
    """Is nothing read off where no table reaches?"""
    assert shown(hot=100, mixed=95)["Burns an adult, page 1"] == "slower than 5 min"
    assert shown(hot=180)["Burns an adult, page 1"] == "faster than 2 s"


def test_a_shower_hotter_than_the_tank_is_refused_in_words() -> None:
    """One clear sentence at the widget?"""
    widget = hot_water_calculator()
    found = widget.work_out({**{f["id"]: f["start"] for f in widget.fields}, "hot": 96.0, "mixed": 118.0})
    assert found["rows"] == [] and "can't come from a tank" in str(found["problems"])
