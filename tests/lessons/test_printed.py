"""Do the lessons' worked-again examples print what was published, and does our own figure agree within its tolerance?"""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest

from tankside.lessons import printed
from tankside.notebook import Page
from tests.published import row


def lines(page: Page) -> list[str]:
    return [text for text in page.text.splitlines() if "|" in text]


def last_two(text: str) -> tuple[float, float]:
    """Printed and worked out: the last two numbers of a table's line."""
    found = [float(n.replace(",", "")) for n in re.findall(r"\d[\d,]*(?:\.\d+)?", text)]
    return found[-2], found[-1]


def test_the_meters_reading() -> None:
    """120 V through 1 MΩ into 10 MΩ (ibex.tech): 109.1 V?"""
    want = row("electrical", "meter-loading")
    assert want.given["input_resistance"] == "10 Mohm"
    said, ours = last_two(lines(printed.meter_in_the_way())[-1])
    assert said == want.value and want.agrees(ours)


def test_ohms_and_watts() -> None:
    """12 V and 5 A (calcady.com): 2.4 Ω, 60 W?"""
    want = row("electrical", "ohm-watt-worked")
    found = [last_two(text) for text in lines(printed.four_numbers())[-2:]]
    assert [said for said, _ in found] == want.value == [ours for _, ours in found]


def test_the_codes_wire_table() -> None:
    """NEC chapter 9 table 8 (voltdropcalc.com): does each printed figure stand there, and ours within half a percent?"""
    want = row("electrical", "copper-solid-75c-code")
    found = [last_two(text) for text in lines(printed.wire_table())[-3:]]
    assert [said for said, _ in found] == want.value
    assert all(ours == pytest.approx(said, rel=0.005) for said, ours in found)


def test_halving_a_million() -> None:
    """2^20 parts (troubleshooters.com): 20 tests? And of 4, 8 and 16 parts the planner's longest way: 2, 3, 4 (log2)?"""
    want = row("diagnosis", "tests-for-a-million")
    rows = lines(printed.halving())
    assert last_two(rows[-1]) == (want.value, want.value) and f"{int(str(want.given['parts']).partition('.')[0]):,}" in rows[-1]
    assert [last_two(text)[1] for text in rows[-4:-1]] == [2, 3, 4]


@pytest.mark.parametrize(
    "page", [printed.meter_in_the_way, printed.four_numbers, printed.wire_table, printed.halving]
)
def test_printed_and_ours_are_told_apart(page: Callable[[], Page]) -> None:
    """Has each table a column for the printed figure and one for ours?"""
    text = page().text
    assert "worked out here" in text and ("printed" in text or "code's table" in text)
