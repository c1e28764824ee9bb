"""Does what lesson 2 computes of wire follow from published ohms and from a plain divider?"""

from __future__ import annotations

import re

import pytest

from tankside.lessons import ohm_watt as lesson
from tests.published import row


def test_wire_and_element_share_the_volts() -> None:
    """100 ft of 14 AWG, there and back: 200 ft of the published ohms per 1000 ft (ASTM B258: electrical.toml), 10 Ω in the loop."""
    line = next(text for text in lesson.wires().text.splitlines() if text.startswith("100 ft"))
    lost, watts = (float(n) for n in re.findall(r"\| ([\d.]+) [VW]", line)[:2])
    wire = row("electrical", "copper-solid-20c").value[0] * 200 / 1000  # type: ignore[index,operator]
    amps = 120.0 / (120.0**2 / 1440 + wire)
    assert lost == pytest.approx(amps * wire, abs=0.06)
    assert watts == pytest.approx(amps**2 * 10.0, abs=2.0)
