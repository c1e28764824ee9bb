"""Drawings for the lesson on corrosion: the cell in the tank, metals in a row, a rod as it wears, three ways to test it.

Nothing here decides how thick a rod is or what a meter shows: each drawing is given what was computed.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tankside.lessons.element_drawings import path, picture, text

STYLE = """<style>
.tsl .steel{fill:#566068}
.tsl .glass{fill:none;stroke:#e7efe9;stroke-width:6}
.tsl .glassedge{fill:none;stroke:#7fa39a;stroke-width:1}
.tsl .bare{fill:none;stroke:#b5532a;stroke-width:7}
.tsl .rod{fill:#9aa5a7;stroke:#566068;stroke-width:1.5}
.tsl .core{fill:#3b4246}
.tsl .plug{fill:#b08d57;stroke:#6d5528;stroke-width:1.5}
.tsl .seal{fill:#e3c7e8;stroke:#9a6bb0;stroke-width:1.5}
.tsl .gone{fill:none;stroke:#8d989a;stroke-width:1.5;stroke-dasharray:5 4}
.tsl .flows{fill:none;stroke:var(--jp-content-font-color1,#1d2428);stroke-width:2.4;stroke-dasharray:7 4}
.tsl .wire{fill:none;stroke:#c0702a;stroke-width:2.6}
.tsl .mark{fill:var(--jp-layout-color1,#fff);stroke:#0d7c8f;stroke-width:2}
.tsl .range{fill:#1590a5}
</style>"""


def _rect(x: float, y: float, wide: float, high: float, kind: str, round_by: float = 0) -> str:
    return f'<rect x="{x:.2f}" y="{y:.2f}" width="{wide:.2f}" height="{high:.2f}" rx="{round_by:g}" class="{kind}"/>'


def _spot(x: float, y: float, words: str) -> str:
    return f'<circle cx="{x:g}" cy="{y:g}" r="11" class="mark"/>' + text(x, y + 4.5, words, "bold", "middle")


def cell_in_the_tank(rod: str, current: str, bare: str, title: str, said: str) -> str:
    """A lined tank cut open, its anode in the plug at the right; ``rod``, ``current`` and ``bare`` stand beside them."""
    left, top, wide, high = 70.0, 40.0, 400.0, 210.0
    body = [
        STYLE,
        _rect(left - 14, top - 14, wide + 28, high + 28, "steel", 26),
        _rect(left, top, wide, high, "band", 18),
        _rect(left, top, wide, high, "water", 18),
        _rect(left + 3, top + 3, wide - 6, high - 6, "glass", 15),
        _rect(left + 6, top + 6, wide - 12, high - 12, "glassedge", 13),
    ]
    spots = (
        f"M{left + 3} 96 v24",
        f"M190 {top + 3} h26",
        f"M160 {top + high - 3} h26",
        f"M330 {top + 3} h20",
    )
    body += [path(d, "bare") for d in spots]
    body += [
        _rect(250, 194, 226, 24, "rod", 3),
        _rect(250, 204, 226, 4, "core"),
        _rect(470, 188, 34, 36, "plug", 3),
        _rect(504, 196, 12, 20, "plug", 2),
        path("M262 192 Q200 130 84 110 m10 -4 l-10 4 l8 7", "flows"),
        path("M280 192 Q240 120 205 54 m-1 11 l1 -11 l8 7", "flows"),
        path("M252 206 Q210 214 176 236 m10 0 l-10 0 l4 -9", "flows"),
        path("M340 192 Q346 120 341 54 m-5 9 l5 -9 l6 9", "flows"),
        path("M356 33 H440 Q487 33 487 110 V184 m-5 -9 l5 9 l5 -9", "wire"),
        path("M220 33 H330 m-9 -5 l9 5 l-9 5", "wire"),
    ]
    body += [
        _spot(300, 206, "1"),
        _spot(288, 122, "2"),
        _spot(112, 96, "3"),
        _spot(420, 62, "4"),
        _spot(487, 132, "5"),
    ]
    for row, (number, words, more) in enumerate(
        (
            ("1", "the rod dissolves", rod),
            ("2", "through the water", current),
            ("3", "bare steel", bare),
            ("4", "glass lining", ""),
            ("5", "through the metal", "thread and wall"),
        )
    ):
        y = 46 + 44 * row
        body += [
            _spot(534, y, number),
            text(554, y + (0 if more else 5), words, "bold"),
            text(554, y + 16, more, "soft num"),
        ]
    return picture("".join(body), 720, 286, title, said)


@dataclass(frozen=True)
class Potential:
    """A metal's potential in V: from ``low`` to ``high``."""

    name: str
    low: float
    high: float


def metals_in_a_row(rows: Sequence[Potential], title: str, said: str) -> str:
    """Metals from the one that gives itself up first to the one that keeps itself, over one scale of volts."""
    left, right, low, high = 180.0, 690.0, -1.9, 0.1

    def at(volts: float) -> float:
        return left + (right - left) * (volts - low) / (high - low)

    foot = 40.0 + 34 * len(rows)
    body = [
        STYLE,
        text(left, 20, "← dissolves for the others", "bold"),
        text(right, 20, "is kept →", "bold", "end"),
    ]
    for tenth in range(-18, 1, 3):
        volts = tenth / 10
        body += [
            path(f"M{at(volts):.1f} 32 V{foot:g}", "grid"),
            text(at(volts), foot + 18, f"{volts:g} V", "soft num", "middle"),
        ]
    for k, metal in enumerate(rows):
        y = 44 + 34 * k
        body.append(text(12, y + 13, metal.name, "bold"))
        body.append(_rect(at(metal.low) - 4, y, at(metal.high) - at(metal.low) + 8, 16, "range", 8))
        span = f"{metal.low:g} V" if metal.low == metal.high else f"{metal.low:g} to {metal.high:g} V"
        body.append(text(at(metal.high) + 12, y + 13, span, "soft num"))
    return picture(
        "".join(body).replace('class="grid"', 'class="line" style="stroke-width:.6;opacity:.4"'),
        720,
        foot + 28,
        title,
        said,
    )


@dataclass(frozen=True)
class Aged:
    """A rod at one age: when, m of radius, and what to write beside it."""

    when: str
    radius: float
    words: str


def rods(aged: Sequence[Aged], new: float, core: float, length: float, title: str, said: str) -> str:
    """Rods at some ages below each other: dashed the new one, dark the wire. Across true to scale, along about half."""
    across, along = 24.0 / new, 330.0 / length
    body = [STYLE]
    for k, rod in enumerate(aged):
        y = 40.0 + 72.0 * k
        outline = rod_outline(rod.radius, new, core, length)
        upper = " ".join(f"{150 + a * along:.1f},{y - b * across:.1f}" for a, b in outline)
        lower = " ".join(f"{150 + a * along:.1f},{y + b * across:.1f}" for a, b in reversed(outline))
        body.append(_rect(150, y - new * across, 330, 2 * new * across, "gone"))
        if rod.radius > core * 1.0001:
            body.append(f'<polygon points="{upper} {lower}" class="rod"/>')
        body += [
            _rect(150, y - core * across, 330, 2 * core * across, "core"),
            _rect(124, y - 22, 26, 44, "plug", 4),
            text(10, y + 5, rod.when, "bold num"),
        ]
        first, _, second = rod.words.partition("; ")
        body += [text(492, y - 3 if second else y + 5, first, "num"), text(492, y + 15, second, "num")]
    return picture("".join(body), 720, 12 + 72 * len(aged), title, said)


@dataclass(frozen=True)
class Test:
    """A way to test a rod: what the panel is called, the meter's reading, whether sealant is in the thread."""

    name: str
    reading: str
    sealed: bool
    series: bool = False


def ways_to_test(tests: Sequence[Test], title: str, said: str) -> str:
    """Rod, plug and wall with a meter: across the thread, or in the current's way with the plug held off the wall."""
    body = [STYLE]
    for k, test in enumerate(tests):
        x = 10 + 240.0 * k
        body += [
            text(x, 20, test.name, "bold"),
            _rect(x + 96, 44, 16, 60, "steel"),
            _rect(x + 96, 138, 16, 50, "steel"),
            _rect(x, 113, 122, 16, "rod", 2),
            _rect(x, 119, 122, 4, "core"),
            _rect(x + 90, 104, 52, 34, "plug", 3),
        ]
        if test.sealed or test.series:
            body += [_rect(x + 92, 99, 24, 6, "seal", 2), _rect(x + 92, 137, 24, 6, "seal", 2)]
        body += [
            path(f"M{x + 142} 121 H{x + 190} V150", "wire"),
            path(f"M{x + 104} 182 V210 H{x + 150}", "wire"),
            path(f"M{x + 190} 190 V210 H{x + 190}", "wire"),
            _rect(x + 150, 150, 80, 60, "box", 6),
            text(x + 190, 176, test.reading, "bold num", "middle"),
            text(x + 190, 196, "in series" if test.series else "ohms", "soft", "middle"),
        ]
        body.append(text(x, 60, "water" if test.series else "drained", "soft"))
    return picture("".join(body), 10 + 240 * len(tests), 224, title, said)


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


def _mean(values: NDArray[np.float64], x: NDArray[np.float64]) -> float:
    return float(np.trapezoid(values, x) / (x[-1] - x[0]))
