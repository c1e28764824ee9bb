"""Drawings for the lesson on Ohm and Watt. Each is given numbers that the library worked out."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from tankside.lessons.element_drawings import path, picture, text


def _rect(x: float, y: float, w: float, h: float, kind: str) -> str:
    return f'<rect x="{x:g}" y="{y:g}" width="{w:g}" height="{h:g}" rx="4" class="{kind}"/>'


@dataclass(frozen=True)
class Load:
    """One element at one voltage: V, A, W."""

    volts: float
    amps: float
    watts: float


def watts_as_area(loads: Sequence[Load], title: str, said: str) -> str:
    """Each load as a rectangle: as wide as its volts, as high as its amps. Its area is its watts."""
    most_v, most_a = max(load.volts for load in loads), max(load.amps for load in loads)
    slot = 708 / len(loads)
    out = []
    for k, load in enumerate(loads):
        x, base = 6 + slot * k, 210.0
        w, h = 150 * load.volts / most_v, 150 * load.amps / most_a
        left = x + 54
        out += [_rect(x, 4, slot - 8, 252, "band"), text(x + 12, 26, f"{load.volts:.0f} V", "bold")]
        out += [_rect(left, base - h, w, h, "heat"), _rect(left, base - h, w, h, "frame")]
        out.append(text(left + w / 2, base + 18, f"{load.volts:.0f} V", "soft", "middle"))
        out.append(text(left - 6, base - h / 2 + 4, f"{load.amps:.1f} A", "soft", "end"))
        out.append(text(x + 12, 248, f"area: {load.watts:.0f} W", "bold num"))
    style = (
        "<style>.tsl .heat{fill:#d9822b;fill-opacity:.35}"
        ".tsl .frame{fill:none;stroke:#d9822b;stroke-width:2}</style>"
    )
    return picture(style + "".join(out), 720, 262, title, said)


@dataclass(frozen=True)
class Mark:
    """A reading on the ohms line: where, what it says, and its row (0 is nearest to the line)."""

    ohms: float
    words: str
    row: int = 0


def ohms_line(
    low: float, plate: float, high: float, marks: Sequence[Mark], ends: tuple[float, float], title: str, said: str
) -> str:  # fmt: skip
    """The band of a good element on a line of ohms, the plate's own value, and readings above it."""
    left, right, y = 40.0, 690.0, 114.0

    def at(ohms: float) -> float:
        return left + (right - left) * (ohms - ends[0]) / (ends[1] - ends[0])

    out = [_rect(4, 4, 712, 186, "band")]
    out.append(
        f'<rect x="{at(low):g}" y="{y - 16:g}" width="{at(high) - at(low):g}" height="32" class="good"/>'
    )
    out.append(path(f"M{left:g} {y:g} H{right:g}", "line"))
    for ohms in range(math.ceil(ends[0]), math.floor(ends[1]) + 1):
        out.append(
            path(f"M{at(ohms):g} {y - 5:g} v10", "line") + text(at(ohms), y + 32, ohms, "soft", "middle")
        )
    middle = (at(low) + at(high)) / 2
    out.append(text(middle, y + 52, f"good: {low:.2f} to {high:.2f} Ω", "bold num", "middle"))
    out.append(text(middle, y + 68, f"the plate's own value: {plate:.2f} Ω", "soft", "middle"))
    out.append(path(f"M{at(plate):g} {y - 16:g} v32", "test"))
    for mark in marks:
        top = y - 34 - 30 * mark.row
        out.append(path(f"M{at(mark.ohms):g} {y - 4:g} V{top + 6:g}", "leak"))
        anchor = "end" if at(mark.ohms) > 560 else "start" if at(mark.ohms) < 160 else "middle"
        out.append(text(at(mark.ohms), top, mark.words, "bold", anchor))
    style = "<style>.tsl .good{fill:#2f8f5b;fill-opacity:.3;stroke:#2f8f5b}</style>"
    return picture(style + "".join(out), 720, 194, title, said)
