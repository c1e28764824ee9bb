"""Do the pictures of anode and tank show what was computed, and only that?"""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET

import numpy as np
import pytest

from tankside.heater.corrosion import wear
from tankside.heater.history import TWO_PEOPLE, run
from tankside.heater.model import load_model
from tankside.heater.simulation import advance
from tankside.heater.unit import Unit, make_unit
from tankside.lessons.water_drawings import anode_picture, day_chart, rod_outline, wear_chart


def heater(**changed: float) -> Unit:
    """A healthy steel tank, with some numbers of its anode changed."""
    unit = make_unit(load_model("grebe_12"))
    advance(unit, 0.0)
    for key, value in changed.items():
        unit.set(f"anode.{key}", value)
    return unit


def drawn(html: str) -> ET.Element:
    """The drawing, if it is well-formed and has a name for screen readers."""
    found = re.search(r"<svg.*</svg>", html, re.DOTALL)
    assert found
    svg = ET.fromstring(found[0])
    assert svg.get("aria-label")
    return svg


@pytest.mark.parametrize("share", [0.0, 0.2, 0.5, 0.8, 0.97])
def test_outline_holds_the_metal_that_is_left(share: float) -> None:
    """Is the volume of the drawn rod the computed one, with no crater below the wire or above the new rod?"""
    new, core, length = 9.5e-3, 1.5e-3, 0.23
    radius = np.sqrt(new**2 - share * (new**2 - core**2))
    x, r = np.array(rod_outline(float(radius), new, core, length)).T
    assert np.trapezoid(np.pi * r**2, x) == pytest.approx(np.pi * radius**2 * length, rel=2e-3)
    assert core - 1e-9 <= r.min() <= r.max() <= new + 1e-9


def test_anode_picture() -> None:
    """Does the picture name each age with the computed diameter, and say so when the rod is gone or missing?"""
    found = wear(heater(), 4.0, step=1 / 6)
    svg = drawn(anode_picture(found, (0.0, 1.0, 4.0)))
    words = [t.text for t in svg.iter() if t.tag.endswith("text")]
    one = 2e3 * float(np.interp(1.0, found.years, found.radius))
    assert (
        f"{2e3 * found.radius[0]:.1f} mm" in str(words[1])
        and f"{one:.1f} mm" in str(words[3])
        and words[5] == "used up"
    )
    assert "plain plug" in anode_picture(wear(heater(missing=1.0), 0.5, step=0.25))
    with pytest.raises(ValueError, match="years"):
        anode_picture(found, (-1.0,))


def test_charts() -> None:
    """Do the charts of wear and of a day name the computed numbers?"""
    found = wear(heater(), 6.0, step=1 / 6)
    assert f"{found.life:.1f} years" in str(drawn(wear_chart(found)).get("aria-label"))
    day = run(heater(), TWO_PEOPLE, 2.0)
    said = str(drawn(day_chart(day, 24.0, 24.0)).get("aria-label"))
    last = day.temperature[day.time >= 86400.0]
    assert f"{last.max():.0f} °C" in said
    with pytest.raises(ValueError, match="first = 90"):
        day_chart(day, 90.0)
