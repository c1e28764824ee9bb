"""Drawings for the lesson on ignition: the flame's current, its path, the spark's gap, the pilot's thermocouple.

Each is given numbers that the library or a bench worked out.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from tankside.lessons.element_drawings import path, picture, text
from tankside.lessons.ignition_charts import STYLE, Frame
from tankside.lessons.scales import Scale


@dataclass(frozen=True)
class Waves:
    """One panel of half-waves: conductance each way (any unit), and what meters show."""

    heading: str
    there: float
    back: float
    direct: str
    alternating: str


def half_waves(panels: Sequence[Waves], title: str, said: str) -> str:
    """The board's alternating volts push current through a flame, a dirty rod's flame and a wet insulator."""
    most = max(max(p.there, p.back) for p in panels)
    out = []
    for k, panel in enumerate(panels):
        x = 4 + 240 * k
        frame = Frame(x + 14, 52, 206, 108, (0.0, 2.0), (-1.0, 1.0))
        out.append(f'<rect x="{x}" y="4" width="234" height="232" rx="8" class="band"/>')
        out.append(text(x + 12, 26, panel.heading, "bold"))
        out.append(path(f"M{frame.left:g} {frame.y(0):g} h206", "base"))
        points = []
        for step in range(121):
            t = 2.0 * step / 120
            push = math.sin(2 * math.pi * t)
            points.append((t, push * (panel.there if push > 0 else panel.back) / most))
        out.append(frame.curve(points))
        mean = (panel.there - panel.back) / most / math.pi
        out.append(path(f"M{frame.left:g} {frame.y(mean):.1f} h206", "second"))
        out += [text(x + 12, 190, "direct", "soft"), text(x + 222, 190, panel.direct, "bold num", "end")]
        out += [text(x + 12, 216, "alternating", "soft"), text(x + 222, 216, panel.alternating, "num", "end")]
    out.append(
        path("M14 254 h30", "curve") + text(52, 258, "current, two turns of the alternating volts", "soft")
    )
    out.append(path("M400 254 h30", "second") + text(438, 258, "what is left over: the direct part", "soft"))
    return picture(STYLE + "".join(out), 724, 268, title, said)


def flame_loop(shows: str, spots: Sequence[str], title: str, said: str) -> str:
    """The path of the flame's current with the meter in it; numbered spots where it can be lost."""
    out = ['<rect x="4" y="4" width="712" height="296" rx="8" class="band"/>']
    out.append('<rect x="24" y="60" width="120" height="150" rx="8" class="box"/>')
    out += [text(84, 90, "control board", "bold", "middle"), text(136, 116, "sense", "soft", "end")]
    out.append(text(136, 196, "ground", "soft", "end"))
    out.append(path("M144 112 H228 M300 112 H420 V150", "line"))
    out.append('<rect x="228" y="88" width="72" height="48" rx="6" class="box"/>')
    out += [text(264, 108, "meter", "soft", "middle"), text(264, 127, shows, "bold num", "middle")]
    out.append('<rect x="404" y="136" width="32" height="22" rx="3" class="packing"/>')
    out.append(path("M420 150 V186 H520", "coil") + text(398, 152, "insulator", "soft", "end"))
    out.append(text(410, 184, "flame rod", "soft", "end"))
    for x in (500, 540, 580):
        out.append(
            f'<path d="M{x} 232 c-26 -26 -4 -40 0 -66 c6 26 26 40 0 66z" class="flame" fill-opacity=".55"/>'
        )
    out.append('<rect x="470" y="232" width="140" height="18" rx="4" class="metal"/>')
    out.append(text(618, 246, "burner", "soft"))
    out.append(path("M540 250 V272 H180 V190 H144", "ground"))
    out.append(text(330, 290, "bracket, case, ground wire: the way back", "soft", "middle"))
    places = ((350, 112), (470, 200), (420, 136), (560, 196), (540, 262), (84, 140))
    for k, (x, y) in enumerate(places[: len(spots)]):
        out.append(
            f'<circle cx="{x}" cy="{y}" r="10" class="screw"/>' + text(x, y + 4, k + 1, "bold", "middle")
        )
    for k, words in enumerate(spots):
        out.append(text(24 + 350 * (k % 2), 328 + 22 * (k // 2), f"{k + 1}  {words}"))
    return picture(STYLE + "".join(out), 720, 320 + 22 * math.ceil(len(spots) / 2), title, said)


@dataclass(frozen=True)
class Gap:
    """One igniter in the picture of the gap: mm, kV that reach its tip, what it is, and whether gas lights."""

    millimetres: float
    kilovolts: float
    words: str
    lights: bool


def spark_chart(
    curves: Sequence[tuple[str, Sequence[tuple[float, float]]]],
    gaps: Sequence[Gap],
    quench: float,
    title: str,
    said: str,
) -> str:
    """Kilovolts that a gap needs, by two published laws, and igniters as they were found."""
    frame = Frame(60, 44, 640, 240, (0.0, 9.0), (0.0, 26.0))
    scales = Scale(0.0, 9.0, "mm", "small length").systems()
    deep = 17 * (len(scales) - 1)
    out = [f'<rect x="4" y="4" width="712" height="{326 + deep}" rx="8" class="band"/>']
    width = frame.x(quench) - frame.x(0)
    out.append(f'<rect x="60" y="44" width="{width:g}" height="240" class="danger"/>')
    for k, words in enumerate(("too narrow:", "cold metal puts", "the flame out")):
        out.append(text(66, 64 + 16 * k, words, "soft"))
    out.append(frame.levels([0.0, 5.0, 10.0, 15.0, 20.0, 25.0], "kV"))
    for row, (sign, marks) in enumerate(scales):
        if row == 0:
            out += [path(f"M{frame.x(value):.1f} 44 V288", "grid") for value, _ in marks]
        out += [text(frame.x(value), 301 + 17 * row, words, "soft num", "middle") for value, words in marks]
        out.append(text(708, 301 + 17 * row, sign, "soft", "end"))
    out.append(text(700, 317 + deep, "gap", "soft", "end"))
    for k, ((name, points), kind) in enumerate(zip(curves, ("curve", "second"), strict=True)):
        out.append(frame.curve(points, kind))
        out.append(path(f"M{170 + 270 * k} 22 h30", kind) + text(208 + 270 * k, 26, name, "soft"))
    for gap in gaps:
        x, y = frame.x(gap.millimetres), frame.y(gap.kilovolts)
        fill = "flame" if gap.lights else "power"
        out.append(f'<circle cx="{x:.1f}" cy="{y:.1f}" r="6" class="{fill}"/>')
        out.append(text(x, y + (24 if gap.millimetres > 5 else -12), gap.words, "bold", "middle"))
    return picture(STYLE + "".join(out), 720, 336 + deep, title, said)


@dataclass(frozen=True)
class Tip:
    """One thermocouple in time: its name, and (s, mV across the magnet)."""

    words: str
    points: Sequence[tuple[float, float]]


def pilot_chart(
    tips: Sequence[Tip],
    holds: float,
    drops: float,
    blown_out: float,
    seconds: float,
    marks: Sequence[tuple[float, float, str]],
    title: str,
    said: str,
) -> str:
    """Millivolts across the magnet while a pilot is lit and after it is blown out, with the two levels that matter."""
    frame = Frame(60, 44, 640, 210, (0.0, seconds), (0.0, 14.0))
    out = ['<rect x="4" y="4" width="712" height="298" rx="8" class="band"/>']
    out.append(frame.levels([0.0, 5.0, 10.0], "mV across the magnet"))
    out.append(
        frame.ticks([float(v) for v in range(0, int(seconds) + 1, 20)], "seconds after the pilot is lit")
    )
    end = frame.x(blown_out) - 8
    out.append(frame.limit(holds, f"from {holds:.1f} mV a new pilot is held", end))
    out.append(frame.limit(drops, f"below {drops:.1f} mV the magnet lets go", end))
    out.append(
        path(f"M{frame.x(blown_out):g} 44 V254", "limit")
        + text(frame.x(blown_out) + 6, 58, "pilot blown out", "soft")
    )
    for k, (tip, kind) in enumerate(zip(tips, ("curve", "second"), strict=True)):
        out.append(frame.curve(tip.points, kind))
        at = tip.points[len(tip.points) * 3 // 8]
        out.append(text(frame.x(at[0]), frame.y(at[1]) + (-8 if k == 0 else 17), tip.words, "bold", "middle"))
    for when, level, words in marks:
        x, y = frame.x(when), frame.y(level)
        out.append(
            f'<circle cx="{x:.1f}" cy="{y:.1f}" r="5" class="flame"/>' + text(x + 9, y - 6, words, "bold")
        )
    return picture(STYLE + "".join(out), 720, 308, title, said)
