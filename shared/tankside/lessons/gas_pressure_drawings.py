"""Drawings for the lesson on gas pressure: the way of the gas from the cylinder to the jet, and water in a U-tube.

Nothing here decides what a gauge shows: each drawing is given what a computation found.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from tankside.lessons.element_drawings import path, picture, text

STYLE = """<style>
.tsl .gas{fill:none;stroke:#8a5a9c;stroke-width:4;stroke-linecap:round;stroke-linejoin:round}
.tsl .liquid{fill:#8a5a9c;fill-opacity:.35}
.tsl .vapor{fill:#8a5a9c;fill-opacity:.1}
.tsl .shell{fill:none;stroke:var(--jp-content-font-color1,#1d2428);stroke-width:2}
.tsl .fitting{fill:var(--jp-layout-color1,#fff);stroke:var(--jp-content-font-color1,#1d2428);stroke-width:2}
.tsl .blue{fill:#3f7fd0;fill-opacity:.75}
.tsl .grid{fill:none;stroke:var(--jp-border-color1,#c3cac6);stroke-width:1}
.tsl .tap{fill:#1590a5;stroke:none}
.tsl .tapnum{fill:#fff;font-weight:600}
.tsl .span{fill:none;stroke:#c0392b;stroke-width:1.5}
.tsl .column{fill:#4aa3c7;fill-opacity:.5}
</style>"""


@dataclass(frozen=True)
class Station:
    """One place on the way of the gas: its name, its test tap ("" if none), readings at rest and with the burner on."""

    name: str
    tap: str
    rest: Sequence[str]
    running: Sequence[str]


def way_of_gas(stations: Sequence[Station], title: str, said: str) -> str:
    """Cylinder, regulator, hose, cock, valve, jet, from left to right; below each of four stations its readings."""
    middles = (82.0, 262.0, 442.0, 622.0)
    deep = 208.0 + 16 * max(len(s.rest) + len(s.running) for s in stations) + 44
    body = [
        STYLE,
        # the cylinder with its liquid, and its valve
        '<rect x="34" y="60" width="72" height="96" rx="16" class="vapor"/>',
        '<path d="M34 104 H106 V140 Q106 156 90 156 H50 Q34 156 34 140 Z" class="liquid"/>',
        '<rect x="34" y="60" width="72" height="96" rx="16" class="shell"/>',
        text(70, 88, "vapor", "soft", "middle"),
        text(70, 134, "liquid", "soft", "middle"),
        path("M70 60 V46 H196", "gas"),
        '<rect x="60" y="40" width="20" height="12" class="fitting"/>',
        text(30, 32, "cylinder valve", "soft"),
        # regulator, hose, cock, valve, jet
        '<circle cx="214" cy="46" r="20" class="fitting"/>',
        path("M214 66 V80 M206 80 h16", "line"),
        text(214, 18, "regulator", "soft", "middle"),
        text(214, 96, "its vent", "soft", "middle"),
        path("M234 46 H300 q12 0 12 14 t12 14 t12 -14 t12 -14 H452", "gas"),
        text(330, 100, "hose and line", "soft", "middle"),
        '<path d="M452 36 L476 56 V36 L452 56 Z" class="fitting"/>',
        text(464, 78, "cock", "soft", "middle"),
        path("M476 46 H560", "gas"),
        '<rect x="560" y="28" width="54" height="36" rx="4" class="fitting"/>',
        text(587, 50, "valve", "", "middle"),
        path("M614 46 H646", "gas"),
        '<path d="M646 34 V58 L664 48 V44 Z" class="fitting"/>',
        text(656, 80, "jet", "soft", "middle"),
        path("M668 46 H690", "gas"),
        '<path d="M692 56 Q688 34 700 18 Q712 34 708 56 Z" class="blue"/>',
        text(700, 80, "flame", "soft", "middle"),
    ]
    for x, tap in zip((140.0, 262.0, 430.0, 536.0), stations, strict=True):
        if tap.tap:
            body += [path(f"M{x:g} 46 V66", "line"), f'<circle cx="{x:g}" cy="76" r="11" class="tap"/>']
            body.append(
                f'<text x="{x:g}" y="80.5" text-anchor="middle" class="tapnum" style="fill:#fff">{tap.tap}</text>'
            )
    for x, station in zip(middles, stations, strict=True):
        body.append(text(x, 184, station.name, "bold", "middle"))
        body.append(text(x, 201, f"tap {station.tap}" if station.tap else "no tap here", "soft", "middle"))
        y = 224.0
        for heading, lines in (("at rest", station.rest), ("burner on", station.running)):
            body.append(text(x, y, heading, "soft", "middle"))
            for line in lines:
                y += 16
                body.append(text(x, y, line, "num", "middle"))
            y += 20
    return picture("".join(body), 720, deep, title, said)


@dataclass(frozen=True)
class Tube:
    """One U-tube: words above, the pressure in inches of water, and how the learner writes it."""

    words: str
    inches: float
    shown: Sequence[str]


def u_tubes(row: Sequence[Tube], title: str, said: str) -> str:
    """Water in U-tubes: the gas pushes one leg down and the other up; the pressure is the whole difference."""
    slot, per_inch, zero = 720 / len(row), 12.0, 138.0
    body = [STYLE]
    for k, tube in enumerate(row):
        middle = slot * k + slot / 2 - 34
        left, right, half = middle - 26, middle + 26, per_inch * tube.inches / 2
        low, high = zero + half, zero - half
        body.append(text(middle, 20, tube.words, "bold", "middle"))
        for inch in range(-8, 9, 2):
            y = zero + per_inch * inch
            body.append(path(f"M{middle - 6:g} {y:g} h12", "grid"))
            body.append(text(middle, y - 2, str(abs(inch)), "soft", "middle") if inch % 4 == 0 else "")
        body.append(
            f'<path d="M{left - 8:g} {low:.1f} V248 Q{left - 8:g} 272 {middle:g} 272 Q{right + 8:g} 272 {right + 8:g} 248 '
            f"V{high:.1f} H{right - 8:g} V248 Q{right - 8:g} 256 {middle:g} 256 Q{left + 8:g} 256 {left + 8:g} 248 "
            f'V{low:.1f} Z" class="column"/>'
        )
        for x in (left - 8, left + 8, right - 8, right + 8):
            body.append(path(f"M{x:g} 40 V248", "line"))
        body.append(
            path(
                f"M{left - 8:g} 248 Q{left - 8:g} 272 {middle:g} 272 Q{right + 8:g} 272 {right + 8:g} 248",
                "line",
            )
        )
        body.append(path(f"M{left + 8:g} 248 Q{left + 8:g} 256 {middle:g} 256 Q{right - 8:g} 256 {right - 8:g} 248", "line"))  # fmt: skip
        body.append(text(left - 14, 52, "gas", "soft", "end"))
        body.append(text(right + 14, 52, "open", "soft"))
        if tube.inches > 0.5:
            body.append(
                path(
                    f"M{right + 12:g} {high:.1f} H{right + 30:g} M{left + 10:g} {low:.1f} H{right + 30:g} "
                    f"M{right + 24:g} {high:.1f} V{low:.1f}",
                    "span",
                )
            )
        for j, words in enumerate(tube.shown):
            body.append(text(right + 36, zero + 4 + 17 * j, words, "num"))
    return picture("".join(body), 720, 284, title, said)
