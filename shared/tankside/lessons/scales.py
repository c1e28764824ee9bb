"""One chart whose scales are in the learner's own measures: both systems at once if that is what they read."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tankside.lessons.element_drawings import path, picture, text
from tankside.measures import KINDS, chosen
from tankside.units import quantity

Array = NDArray[np.float64]

STYLE = """<style>
.tsl .grid{fill:none;stroke:var(--jp-border-color1,#c3cac6);stroke-width:1}
.tsl .limit{fill:none;stroke:#c0392b;stroke-width:1.5;stroke-dasharray:6 4}
.tsl .one{fill:none;stroke:#1590a5;stroke-width:2.6;stroke-linejoin:round}
.tsl .two{fill:none;stroke:#c0702a;stroke-width:2.6;stroke-dasharray:8 4;stroke-linejoin:round}
.tsl .three{fill:none;stroke:#9a6bb0;stroke-width:2.6;stroke-dasharray:2 4;stroke-linejoin:round}
.tsl .four{fill:none;stroke:#6f8f2f;stroke-width:2.6;stroke-dasharray:10 3 2 3;stroke-linejoin:round}
.tsl .heats{fill:#e8861a;fill-opacity:.85}
</style>"""
LINES = ("one", "two", "three", "four")


@dataclass(frozen=True)
class Scale:
    """A scale from ``low`` to ``high`` in ``unit``. ``kind``: of ``measures.KINDS``, or "" with marks of one's own.

    ``marks``: (value, words), for a scale that both systems share. ``log``: it counts in tens.
    """

    low: float
    high: float
    unit: str
    kind: str = ""
    words: str = ""
    marks: tuple[tuple[float, str], ...] = ()
    log: bool = False

    def at(self, value: float) -> float:
        """0 at the low end, 1 at the high end, held inside."""
        low, high, here = self.low, self.high, value
        if self.log:
            low, high, here = math.log(low), math.log(high), math.log(max(value, 1e-12))
        return min(max((here - low) / (high - low), 0.0), 1.0)

    def systems(self) -> list[tuple[str, list[tuple[float, str]]]]:
        """For each system that the learner reads: its sign, and its marks as (value in ``unit``, words)."""
        if not self.kind:
            return [(self.unit, list(self.marks))]
        names = ("us", "si") if chosen() == "both" else (chosen(),)
        return [self._marked(*getattr(KINDS[self.kind], name)) for name in names]

    def _marked(self, wanted: str, sign: str) -> tuple[str, list[tuple[float, str]]]:
        low, high = (float(quantity(v, self.unit).to(wanted).magnitude) for v in (self.low, self.high))
        step = next(s for s in _steps() if (high - low) / s <= 6)
        first = math.ceil(low / step - 1e-9)
        values = [step * k for k in range(first, math.floor(high / step + 1e-9) + 1)]
        return sign, [(float(quantity(v, wanted).to(self.unit).magnitude), f"{v:,g}") for v in values]


def _steps() -> list[float]:
    return [m * 10.0**e for e in range(-3, 6) for m in (1, 2, 5)]


@dataclass(frozen=True)
class Line:
    """One curve in the scales' units, and what it is."""

    x: Sequence[float] | Array
    y: Sequence[float] | Array
    words: str


def chart(
    heading: str,
    across: Scale,
    up: Scale,
    lines: Sequence[Line],
    title: str,
    said: str,
    limits: Sequence[tuple[float, str]] = (),
    limits_at: str = "left",
    bars: Sequence[tuple[float, float]] = (),
    high: float = 190.0,
) -> str:
    """Curves over one scale, their names above; ``limits`` are dashed levels, ``bars`` stretches marked at the foot.

    ``limits_at``: where the levels' names stand: "left", "right", or "below" at the left.
    """
    left, right, top = 56.0, 664.0, 62.0 if any(line.words for line in lines) else 40.0
    wide, foot = right - left, top + high
    verticals = up.systems()
    signs = " left, ".join(sign for sign, _ in verticals) + (" right" if len(verticals) > 1 else "")
    out = [STYLE, text(left - 48, 18, f"{heading}, {signs}" if signs else heading, "bold")]
    x = left
    for kind, line in zip(LINES, lines, strict=False):
        if line.words:
            out += [path(f"M{x:g} 40 h34", kind), text(x + 40, 44, line.words, "soft")]
            x += 64 + 6.3 * len(line.words)
    for side, (_, marks) in enumerate(verticals):
        for value, words in marks:
            y = foot - high * up.at(value)
            if side == 0:
                out.append(path(f"M{left:g} {y:.1f} H{right:g}", "grid"))
            place, anchor = (left - 6, "end") if side == 0 else (right + 6, "start")
            out.append(text(place, y + 4, words, "soft num", anchor))
    for row, (sign, marks) in enumerate(across.systems()):
        y = foot + 18 + 17 * row
        for value, words in marks:
            here = left + wide * across.at(value)
            out.append(text(here, y, words, "soft num", "middle"))
            if row == 0:
                out.append(path(f"M{here:.1f} {foot:g} v4", "line"))
        out.append(text(right + 14, y, sign, "soft"))
    for begin, end in bars:
        a, b = (left + wide * across.at(v) for v in (begin, end))
        out.append(f'<rect x="{a:.1f}" y="{foot - 9:g}" width="{max(b - a, 1.5):.1f}" height="8" class="heats"/>')
    for value, words in limits:
        y = foot - high * up.at(value)
        place, anchor = (right - 6, "end") if limits_at == "right" else (left + 8, "start")
        out.append(path(f"M{left:g} {y:.1f} H{right:g}", "limit"))
        out.append(text(place, y + (15 if limits_at == "below" else -5), words, "soft", anchor))
    for kind, line in zip(LINES, lines, strict=False):
        points = [
            f"{left + wide * across.at(float(a)):.1f} {foot - high * up.at(float(b)):.1f}"
            for a, b in zip(line.x, line.y, strict=True)
        ]
        out.append(path("M" + " L".join(points), kind))
    out.append(path(f"M{left:g} {top:g} V{foot:g} H{right:g}", "line"))
    deep = foot + 26 + 17 * (len(across.systems()) - 1)
    if across.words:
        out.append(text((left + right) / 2, deep + 14, across.words, "soft", "middle"))
    return picture("".join(out), 720, deep + 22, title, said)
