"""Drawings for the lessons on tank, anode and water: plain SVG, in the notebook's own light or dark colours.

Nothing here decides how thick a rod is or how hot a tank: each drawing is given what was computed.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from tankside.heater.corrosion import Wear
from tankside.heater.history import History
from tankside.lessons.element_drawings import path, picture, text

Array = NDArray[np.float64]

_ROD = "fill:#9aa5a7;stroke:#566068;stroke-width:1.5"
_CORE = "fill:#3b4246"
_PLUG = "fill:#b08d57;stroke:#6d5528;stroke-width:1.5"
_GONE = "fill:none;stroke:#8d989a;stroke-width:1.5;stroke-dasharray:5 4"


def _box(x: float, y: float, width: float, height: float, style: str, round_by: float = 2) -> str:
    return f'<rect x="{x:.2f}" y="{y:.2f}" width="{width:.2f}" height="{height:.2f}" rx="{round_by:g}" style="{style}"/>'


def rod_outline(
    radius: float, new: float, core: float, length: float, points: int = 48
) -> list[tuple[float, float]]:
    """(m from the plug, m of radius) along a worn rod; its volume is that of an even rod of ``radius``.

    A real rod wears in craters. Their shape here is ours; how much metal is left is computed.
    """
    x = np.linspace(0.0, length, points)
    worn = new**2 - radius**2
    craters = (
        1.0 + 0.5 * np.sin(2 * math.pi * 5 * x / length + 0.7) + 0.3 * np.sin(2 * math.pi * 11 * x / length)
    )
    lost = worn * craters
    most = new**2 - core**2
    for _ in range(40):  # what a crater can't lose, because the wire is reached, the rest loses
        lost = np.clip(lost, 0.0, most)
        lost = lost + (worn - _mean(lost, x))
    square = np.clip(new**2 - np.clip(lost, 0.0, most), core**2, new**2)
    return [(float(a), float(b)) for a, b in zip(x, np.sqrt(square), strict=True)]


def _mean(values: Array, x: Array) -> float:
    return float(np.trapezoid(values, x) / (x[-1] - x[0]))


def anode_picture(wear: Wear, years: Sequence[float] = (0.0, 0.5, 1.0, 1.5, 2.0)) -> str:
    """The rod at some ages, drawn to scale across (ten times less along), with the wire inside and what is left in grams.

    ``wear`` comes from ``heater.corrosion.wear``. Ages beyond its last are drawn as that one.
    """
    if not years or min(years) < 0:
        raise ValueError(f"years = {list(years)} is out of range; expected ages of 0 or more")
    new = float(wear.radius[0])
    if new <= 0:
        body = text(20, 34, "A plain plug: there is no rod to draw.")
        return picture(body, 720, 60, "The anode", "A plain plug without a rod.")
    across, along, rows, said = 26.0 / new, 430.0 / wear.length, [], []
    for k, age in enumerate(years):
        radius = float(np.interp(age, wear.years, wear.radius))
        grams = 1e3 * float(np.interp(age, wear.years, wear.mass))
        y = 48.0 + 78.0 * k
        outline = rod_outline(radius, new, wear.core, wear.length)
        above = " ".join(f"{110 + a * along:.1f},{y - b * across:.1f}" for a, b in outline)
        below = " ".join(f"{110 + a * along:.1f},{y + b * across:.1f}" for a, b in reversed(outline))
        rows.append(_box(110, y - new * across, 430, 2 * new * across, _GONE))
        if radius > wear.core * 1.0001:
            rows.append(f'<polygon points="{above} {below}" style="{_ROD}"/>')
        rows.append(_box(110, y - wear.core * across, 430, 2 * wear.core * across, _CORE, 0))
        rows.append(_box(84, y - 22, 26, 44, _PLUG, 4))
        spent = radius <= wear.core * 1.0001
        label = "used up" if spent else f"{2e3 * radius:.1f} mm, {grams:.0f} g"
        rows.append(text(10, y + 5, f"{age:g} years", "bold num"))
        rows.append(text(556, y + 5, label, "num"))
        said.append(f"after {age:g} years {label}")
    caption = "The anode rod as it wears: dashed, the new rod; dark, its steel wire. Computed from the cell's current."
    return picture("".join(rows), 720, 20 + 78 * len(years), caption, f"Anode rod: {'; '.join(said)}.")


def wear_chart(wear: Wear) -> str:
    """The rod's metal and the deepest pit over the years: when the one ends, the other begins."""
    years = float(wear.years[-1]) or 1.0
    rod = wear.mass / max(float(wear.mass[0]), 1e-9)
    body = _axes(years, "years", ("0", "half", "all"))
    body += _line(wear.years / years, rod, "test") + _line(wear.years / years, wear.pit, "leak")
    body += text(70, 24, "metal left on the rod (solid)") + text(290, 24, "share of the wall eaten (dashed)")
    life = f"used up after {wear.life:.1f} years" if math.isfinite(wear.life) else "not used up"
    through = (
        f"through after {wear.perforated:.1f} years" if math.isfinite(wear.perforated) else "not through"
    )
    return picture(body, 720, 270, f"Anode {life}; steel {through}.", f"Anode {life}, steel {through}.")


def day_chart(history: History, first: float = 0.0, hours: float = 24.0) -> str:
    """The tank's temperature over some hours of a run, and when it was heated."""
    if hours <= 0:
        raise ValueError(f"hours = {hours} is out of range; expected above 0")
    t = history.time / 3600.0 - first
    inside = (t >= -1e-9) & (t <= hours)
    if inside.sum() < 2:
        raise ValueError(f"first = {first} h is out of range; the run has {history.time[-1] / 3600:.1f} h")
    top = max(70.0, 10.0 * math.ceil(float(history.temperature[inside].max()) / 10.0))
    body = _axes(hours, "hours", ("0 °C", f"{top / 2:.0f}", f"{top:.0f}"))
    for a, b, watts in zip(t[:-1], t[1:], history.power[:-1], strict=True):
        left, right = max(a, 0.0), min(b, hours)
        if watts > 1 and right > left:
            body += _box(70 + 620 * left / hours, 222, 620 * (right - left) / hours, 8, "fill:#f0a020", 0)
    at = np.unique(np.concatenate([t[inside], np.clip([0.0, hours], t[0], t[-1])]))
    body += _line(at / hours, np.interp(at, t, history.temperature) / top, "test")
    body += text(70, 24, "water in the tank; the bar below shows when it is heated")
    coldest, hottest = history.temperature[inside].min(), history.temperature[inside].max()
    said = f"The tank goes between {coldest:.0f} and {hottest:.0f} °C."
    return picture(body, 720, 270, said, said)


def _axes(end: float, unit: str, marks: tuple[str, str, str]) -> str:
    out = path("M70,40 V230 H690", "line")
    for k, mark in enumerate(marks):
        out += text(62, 235 - 95 * k, mark, "soft num", "end")
    for k in range(5):
        out += text(70 + 155 * k, 250, f"{end * k / 4:.3g}", "soft num", "middle")
    return out + text(690, 266, unit, "soft", "end")


def _line(x: Array, y: Array, kind: str) -> str:
    points = [
        f"{70 + 620 * a:.1f},{230 - 190 * min(max(b, 0.0), 1.0):.1f}" for a, b in zip(x, y, strict=True)
    ]
    return path("M" + " L".join(points), kind)
