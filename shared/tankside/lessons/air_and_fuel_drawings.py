"""Drawings for the lesson on air and fuel: boxes of air, a burner in section, flames, curves. Plain SVG.

Nothing here decides what burns: each drawing is given numbers that the physics library or a bench worked out.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tankside.lessons.element_drawings import path, picture, text

STYLE = """<style>
.tsl .blue{fill:#3f7fd0;fill-opacity:.75}
.tsl .mantle{fill:#7fb0ea;fill-opacity:.35;stroke:#3f7fd0;stroke-width:1}
.tsl .orange{fill:#e8861a;fill-opacity:.85}
.tsl .ghost{fill:none;stroke:var(--jp-content-font-color2,#566068);stroke-width:1.5;stroke-dasharray:4 4}
.tsl .air{fill:none;stroke:#1590a5;stroke-width:2.5}
.tsl .gas{fill:none;stroke:#8a5a9c;stroke-width:3}
.tsl .web{fill:none;stroke:var(--jp-content-font-color2,#566068);stroke-width:1.2}
.tsl .o2{fill:#0d7c8f;fill-opacity:.4}
.tsl .n2{fill:#8d989a;fill-opacity:.25}
.tsl .fuel{fill:#8a5a9c;fill-opacity:.45}
.tsl .co2{fill:#b5651d;fill-opacity:.4}
.tsl .h2o{fill:#4aa3c7;fill-opacity:.4}
.tsl .cell{stroke:var(--jp-content-font-color2,#566068);stroke-width:1}
.tsl .grid{fill:none;stroke:var(--jp-border-color1,#c3cac6);stroke-width:1}
.tsl .limit{fill:none;stroke:#c0392b;stroke-width:1.5;stroke-dasharray:6 4}
.tsl .curve{fill:none;stroke:#1590a5;stroke-width:2.5;stroke-linejoin:round}
.tsl .curve2{fill:none;stroke:#b5651d;stroke-width:2.5;stroke-dasharray:7 4;stroke-linejoin:round}
.tsl .small{font-size:11px}
</style>"""

Boxes = Sequence[tuple[str, str, float]]
"""(letters in the box, class, how many) in drawing order."""


def air_boxes(gas: str, air: Boxes, out: Boxes, title: str, said: str) -> str:
    """One box of gas and the boxes of air that it burns with, and what becomes of them: all boxes one size."""
    body = [STYLE, text(8, 24, "goes in", "bold"), text(420, 24, "comes out", "bold")]
    body += [text(8, 48, "gas"), _box(60, 32, 1.0, "fuel", gas), text(8, 84, "air")]
    body += [_boxes(60, 68, air), path("M352 110 H396 m-9 -6 l9 6 l-9 6", "line"), _boxes(420, 38, out)]
    x = 8.0
    for letters, kind, words in (
        (gas, "fuel", "gas"),
        ("O₂", "o2", "oxygen"),
        ("N₂", "n2", "nitrogen: along for the ride"),
        ("CO₂", "co2", "carbon dioxide"),
        ("H₂O", "h2o", "water, as vapor"),
    ):
        body += [_box(x, 200, 1.0, kind, letters), text(x + 36, 217, words, "soft")]
        x += 44 + 6.4 * len(words) + 12
    return picture("".join(body), 720, 240, title, said)


def _box(x: float, y: float, share: float, kind: str, letters: str) -> str:
    out = f'<rect x="{x:g}" y="{y:g}" width="{30 * share:g}" height="26" class="cell {kind}"/>'
    return out + (text(x + 15, y + 18, letters, "small", "middle") if share > 0.6 else "")


def _boxes(x: float, y: float, rows: Boxes) -> str:
    """Boxes eight to a row; a part of a box is drawn as a part."""
    out, k = [], 0
    for letters, kind, count in rows:
        left = count
        while left > 0.02:
            out.append(_box(x + 34 * (k % 8), y + 30 * (k // 8), min(left, 1.0), kind, letters))
            left, k = left - 1.0, k + 1
    return "".join(out)


def burner_in_section(primary: str, secondary: str, blue: float, web: bool, title: str, said: str) -> str:
    """A burner from the jet to the ports, its chamber and flue, and the two ways in for the air.

    ``primary``, ``secondary``: what to write at them. ``blue``: primary air over what keeps the flame blue.
    """
    body = [
        STYLE,
        '<rect x="330" y="96" width="240" height="176" class="band"/>',
        path("M330 272 V236 M330 204 V96 H420 V28 M480 28 V96 H570 V272", "line"),
        path("M570 272 H516 M384 272 H330", "line"),
        text(450, 22, "flue", "bold", "middle"),
        text(450, 72, "out", "soft", "middle"),
        path("M450 60 V36 m-5 8 l5 -8 l5 8", "air"),
        # jet, tube and head
        path("M14 214 H84 M14 226 H84 M84 208 V232 M84 208 L96 218 M84 232 L96 222", "line"),
        text(14, 200, "gas", "bold"),
        path("M22 220 H150", "gas"),
        text(96, 252, "jet", "soft", "middle"),
        path("M120 196 H160 Q200 208 240 206 H356", "line"),
        path("M120 244 H160 Q200 232 240 234 H356", "line"),
        path("M120 196 V206 M120 234 V244", "line"),
        text(236, 196, "burner tube", "bold", "middle"),
        path("M356 206 V192 H552 V248 H356 V234", "line"),
    ]
    tall = 24.0 if blue >= 1 else 40.0
    body += [_tongue(377 + 22 * k, 190.0, tall - 4 * (k % 2) * (blue < 1), 11.0, blue) for k in range(8)]
    body += [
        text(584, 196, "ports", "soft"),
        path("M580 192 H556", "grid"),
        path("M104 160 Q112 190 134 208 m-9 -3 l9 3 l-3 -9", "air"),
        path("M104 280 Q112 250 134 232 m-9 3 l9 -3 l-3 9", "air"),
        text(20, 132, "primary air", "bold"),
        text(20, 150, primary, "num"),
        text(20, 296, "through the shutter,", "soft"),
        text(20, 312, "dragged in by the jet", "soft"),
        path("M430 312 V262 H340 V180 m-5 9 l5 -9 l5 9", "air"),
        path("M470 312 V262 H561 V180 m-5 9 l5 -9 l5 9", "air"),
        text(584, 264, "secondary air", "bold"),
        text(584, 282, secondary, "num"),
        text(584, 300, "through the grille,", "soft"),
        text(584, 316, "drawn in by the flue", "soft"),
        text(450, 330, "air grille", "soft", "middle"),
    ]
    if web:
        body.append(
            path("M262 207 L292 233 M276 207 L268 233 M258 216 H300 M262 226 Q280 214 298 224", "web")
        )
        body += [text(318, 262, "a web sits here", "soft", "end"), path("M276 250 L280 236", "line")]
    return picture("".join(body), 720, 344, title, said)


def _tongue(x: float, base: float, height: float, width: float, blue: float) -> str:
    """One flame: mantle around an inner cone; what isn't ``blue`` (0 to 1) of it burns orange, from the tip down."""
    half = width / 2
    mantle = f"M{x - half} {base} Q{x - half - 1} {base - 0.6 * height} {x} {base - height} Q{x + half + 1} {base - 0.6 * height} {x + half} {base} Z"
    if blue >= 1:
        cone = f"M{x - half + 1} {base} L{x} {base - 0.55 * height} L{x + half - 1} {base} Z"
        return f'<path d="{mantle}" class="mantle"/><path d="{cone}" class="blue"/>'
    foot = base - 0.45 * height * blue
    tip = f"M{x - half} {foot} Q{x - half - 3} {foot - 0.5 * (foot - base + height)} {x + 3} {base - height} Q{x + half + 3} {foot - 0.4 * (foot - base + height)} {x + half} {foot} Z"
    low = f"M{x - half} {base} L{x - half} {foot} Q{x} {foot - 14} {x + half} {foot} L{x + half} {base} Z"
    return f'<path d="{tip}" class="orange"/><path d="{low}" class="mantle"/><path d="{low}" class="blue" style="fill-opacity:.35"/>'


@dataclass(frozen=True)
class Flame:
    """One flame to draw: its kind, primary air over what keeps it blue, and how hard it pulls at its ports (1 lifts)."""

    kind: str
    blue: float
    pull: float
    note: tuple[str, ...]


def flames(row: Sequence[Flame], title: str, said: str) -> str:
    """Flames side by side on the same piece of burner."""
    slot = 720 / len(row)
    body = [STYLE]
    for k, flame in enumerate(row):
        x = slot * k + 4
        body += [f'<rect x="{x:g}" y="4" width="{slot - 8:g}" height="216" rx="8" class="band"/>']
        body.append(text(x + 10, 26, flame.kind, "bold"))
        body.append(_flame(flame, x + (slot - 8) / 2))
        body += [
            text(x + (slot - 8) / 2, 188 + 16 * j, words, "soft", "middle")
            for j, words in enumerate(flame.note)
        ]
    return picture("".join(body), 720, 224, title, said)


def _flame(flame: Flame, middle: float) -> str:
    base, ports = 142.0, [middle + 22.0 * k for k in (-2, -1, 0, 1, 2)]
    out = [f'<rect x="{middle - 58:g}" y="{base:g}" width="116" height="26" rx="3" class="box"/>']
    out += [path(f"M{p - 5:g} {base} h10", "line") for p in ports]
    if flame.kind == "drop-out":
        out += [
            f'<path d="M{p - 5:g} {base} Q{p - 6:g} {base - 24} {p:g} {base - 40} Q{p + 6:g} {base - 24} {p + 5:g} {base} Z" '
            'class="ghost"/>'
            for p in ports
        ]
    elif flame.kind == "flashback":
        out += [_tongue(p, base + 24, 20.0, 12.0, 1.0) for p in (middle - 34, middle + 2, middle + 36)]
    elif flame.kind == "lifting":
        gap = 8.0 + 30.0 * min(max(flame.pull - 1.0, 0.0), 1.0)
        out += [_tongue(p, base - gap, 42.0, 11.0, 1.0) for p in ports]
    elif flame.kind == "lazy orange":
        tall = 52.0 + 34.0 * (1 - min(flame.blue, 1.0))
        out += [
            _tongue(p, base, tall - 6 * (k % 2), 15.0, min(flame.blue, 0.95)) for k, p in enumerate(ports)
        ]
    else:
        out += [_tongue(p, base, 26.0 + 26.0 * min(flame.pull, 1.0), 11.0, 1.0) for p in ports]
    return "".join(out)


@dataclass(frozen=True)
class Axis:
    """A scale from low to high; ``log`` for one that counts in tens. Marks are (value, words)."""

    low: float
    high: float
    marks: tuple[tuple[float, str], ...]
    log: bool = False

    def at(self, value: float) -> float:
        """0 at the low end, 1 at the high end, held inside."""
        low, high, here = self.low, self.high, value
        if self.log:
            low, high, here = math.log(low), math.log(high), math.log(max(value, self.low))
        return min(max((here - low) / (high - low), 0.0), 1.0)


@dataclass(frozen=True)
class Curve:
    """One line of a chart: its points, and the words at its right end."""

    x: Sequence[float] | NDArray[np.float64]
    y: Sequence[float] | NDArray[np.float64]
    words: str = ""
    kind: str = "curve"


@dataclass(frozen=True)
class Chart:
    """One small chart; ``limits`` are (value, words) across it; ``strip`` names stretches (from, to, words) above it."""

    heading: str
    across: Axis
    up: Axis
    curves: tuple[Curve, ...]
    below: str = ""
    limits: tuple[tuple[float, str], ...] = ()
    strip: tuple[tuple[float, float, str], ...] = ()


def charts(
    grid: Sequence[Sequence[Chart]], title: str, said: str, high: float = 120.0, end: float = 16.0
) -> str:
    """Charts in rows. ``end`` is the room kept at the right of each for the words of its curves."""
    body, columns = [STYLE], max(len(row) for row in grid)
    y = 0.0
    for row in grid:
        strip = 22.0 if any(chart.strip for chart in row) else 0.0
        foot = 46.0 if any(chart.below for chart in row) else 26.0
        for k, chart in enumerate(row):
            x = 720 / columns * k + 52
            body.append(_chart(chart, x, y + 26 + strip, 720 / columns - 56 - end, high))
        y += 26 + strip + high + foot
    return picture("".join(body), 720, y, title, said)


def _chart(chart: Chart, x: float, y: float, wide: float, high: float) -> str:
    a, u = chart.across, chart.up
    out = [text(x - 46, y - (32 if chart.strip else 10), chart.heading, "bold")]
    for value, words in u.marks:
        at = y + high * (1 - u.at(value))
        out += [path(f"M{x:g} {at:.1f} h{wide:g}", "grid"), text(x - 6, at + 4, words, "soft num", "end")]
    for value, words in a.marks:
        at = x + wide * a.at(value)
        out += [
            path(f"M{at:.1f} {y + high} v4", "line"),
            text(at, y + high + 18, words, "soft num", "middle"),
        ]
    for low, top, words in chart.strip:
        left, right = sorted((x + wide * a.at(low), x + wide * a.at(top)))
        out.append(f'<rect x="{left:.1f}" y="{y - 24}" width="{right - left:.1f}" height="18" class="box"/>')
        if right - left > 7 * len(words):
            out.append(text((left + right) / 2, y - 11, words, "small", "middle"))
    out += _limits(chart, x, y, wide, high)
    for curve in chart.curves:
        points = [
            f"{x + wide * a.at(p):.1f} {y + high * (1 - u.at(q)):.1f}"
            for p, q in zip(curve.x, curve.y, strict=True)
        ]
        out.append(path("M" + " L".join(points), curve.kind))
        if curve.words:
            last = y + high * (1 - u.at(curve.y[-1]))
            out.append(text(x + wide + 6, last + 4, curve.words, "small"))
    out.append(path(f"M{x:g} {y} V{y + high} h{wide:g}", "line"))
    if chart.below:
        out.append(text(x + wide / 2, y + high + 36, chart.below, "soft", "middle"))
    return "".join(out)


def _limits(chart: Chart, x: float, y: float, wide: float, high: float) -> list[str]:
    """Dashed lines across; their words stand at the end that the curves leave free, and not on each other."""
    out, before = [], -99.0
    for value, words in sorted(chart.limits, reverse=True):
        at = y + high * (1 - chart.up.at(value))
        out.append(path(f"M{x:g} {at:.1f} h{wide:g}", "limit"))
        room = []
        for side in ((0.0, 0.45), (0.55, 1.0)):
            near = [
                abs(y + high * (1 - chart.up.at(q)) - (at - 8))
                for curve in chart.curves
                for p, q in zip(curve.x, curve.y, strict=True)
                if side[0] <= chart.across.at(p) <= side[1]
            ]
            room.append(min(near, default=0.0))
        below = at - before < 14
        place, anchor = (x + 6, "start") if room[0] > room[1] else (x + wide - 6, "end")
        out.append(text(place, at + (13 if below else -4), words, "small", anchor))
        before = at
    return out
