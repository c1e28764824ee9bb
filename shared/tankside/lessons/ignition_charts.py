"""Charts in time for the lesson on ignition: what was on from when to when, and curves with their limits.

Everything drawn was recorded from a simulation; nothing here knows a heater.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from tankside.lessons.element_drawings import path, picture, text

Span = tuple[float, float]

LANES = ("power", "spark", "gas", "flame", "lamp")
STYLE = (
    "<style>.tsl .power{fill:#7c878c}.tsl .spark{fill:#8a5cc2}.tsl .gas{fill:#2f86b5}.tsl .flame{fill:#d9822b}"
    ".tsl .lamp{fill:#c0392b}.tsl .grid{stroke:var(--jp-border-color1,#c3cac6);stroke-width:1;fill:none}"
    ".tsl .base{stroke:var(--jp-content-font-color2,#566068);stroke-width:1;fill:none}"
    ".tsl .curve{stroke:#d9822b;stroke-width:2.5;fill:none}.tsl .second{stroke:#2f86b5;stroke-width:2.5;fill:none}"
    ".tsl .limit{stroke:#c0392b;stroke-width:1.5;stroke-dasharray:6 4;fill:none}"
    ".tsl .danger{fill:#c0392b;fill-opacity:.16}.tsl .step{fill:var(--jp-layout-color1,#fff);"
    "stroke:var(--jp-border-color1,#c3cac6)}.tsl .small{font-size:11px}</style>"
)


@dataclass(frozen=True)
class Frame:
    """A plotting field: where it lies, and which numbers its edges stand for."""

    left: float
    top: float
    width: float
    height: float
    x_ends: tuple[float, float]
    y_ends: tuple[float, float] = (0.0, 1.0)

    def x(self, value: float) -> float:
        """Where a number lies across."""
        low, high = self.x_ends
        return self.left + self.width * (value - low) / (high - low)

    def y(self, value: float) -> float:
        """Where a number lies upwards; beyond the edges, at the edge."""
        low, high = self.y_ends
        share = min(max((value - low) / (high - low), 0.0), 1.0)
        return self.top + self.height * (1 - share)

    def ticks(self, values: Sequence[float], words: str, places: int = 0) -> str:
        """Marks and numbers below, with what they are."""
        bottom = self.top + self.height
        out = [path(f"M{self.x(v):g} {self.top:g} V{bottom + 4:g}", "grid") for v in values]
        out += [text(self.x(v), bottom + 17, f"{v:.{places}f}", "soft num", "middle") for v in values]
        out.append(text(self.left + self.width, bottom + 33, words, "soft", "end"))
        return "".join(out)

    def levels(self, values: Sequence[float], words: str, places: int = 0) -> str:
        """Marks and numbers on the left, with what they are above them."""
        out = []
        for v in values:
            out.append(path(f"M{self.left:g} {self.y(v):g} H{self.left + self.width:g}", "grid"))
            out.append(text(self.left - 6, self.y(v) + 4, f"{v:.{places}f}", "soft num", "end"))
        out.append(text(self.left - 40, self.top - 10, words, "soft"))
        return "".join(out)

    def curve(self, points: Sequence[tuple[float, float]], kind: str = "curve") -> str:
        """A line through points."""
        return path("M" + " L".join(f"{self.x(a):.1f} {self.y(b):.1f}" for a, b in points), kind)

    def limit(self, value: float, words: str, at: float = 0.0, anchor: str = "end") -> str:
        """A dashed level with its name above it, which ends (or starts) at ``at``."""
        y = self.y(value)
        line = path(f"M{self.left:g} {y:g} H{self.left + self.width:g}", "limit")
        return line + (text(at, y - 6, words, "soft", anchor) if words else "")


@dataclass(frozen=True)
class Start:
    """One start in time: the board's steps, what was on, and the flame's current.

    ``on``: lane -> spans in s. ``current``: (s, µA). ``believes``: µA from which the board believes a flame.
    """

    steps: Sequence[tuple[str, float, float]]
    on: Mapping[str, Sequence[Span]]
    current: Sequence[tuple[float, float]]
    believes: float
    begins: float
    seconds: float


NAMES = {
    "power": "12 V at the board",
    "spark": "spark jumps",
    "gas": "gas valve open",
    "flame": "flame burns",
    "lamp": "fault lamp lit",
}


def timing_chart(start: Start, title: str, said: str) -> str:
    """The sequence of operation in time: one lane a thing that is on or off, the board's step above, microamps below."""
    lane, top = 34.0, 62.0
    frame = Frame(158, top, 548, lane * len(LANES), (start.begins, start.seconds))
    meter = Frame(158, top + lane * len(LANES) + 26, 548, 54, frame.x_ends, (0.0, 4.0))
    every = 5 if start.seconds <= 40 else 10
    marks = [float(v) for v in range(0, int(start.seconds) + 1, every)]
    out = [f'<rect x="4" y="4" width="712" height="{meter.top + 98:g}" rx="8" class="band"/>']
    out.append(text(14, 42, "the board's step", "bold"))
    for name, begin, end in start.steps:
        out.append(_step(frame, name, max(begin, start.begins), min(end, start.seconds)))
    out += [path(f"M{frame.x(v):g} {top:g} V{meter.top + meter.height:g}", "grid") for v in marks]
    for k, key in enumerate(LANES):
        y = top + lane * k
        out.append(text(14, y + 24, NAMES[key], "bold"))
        out.append(path(f"M{frame.left:g} {y + 28:g} H{frame.left + frame.width:g}", "base"))
        out += [_bar(frame, span, y + 9, 19, key) for span in start.on.get(key, ())]
    out.append(
        text(14, meter.top + 24, "flame current", "bold") + text(14, meter.top + 41, "µA direct", "soft")
    )
    out.append(meter.curve(start.current))
    out.append(meter.limit(start.believes, ""))
    note = f"dashed: from {start.believes:g} µA the board believes a flame"
    out.append(text(14, meter.top + meter.height + 33, note, "soft"))
    out.append(meter.ticks(marks, "seconds after the 12 V came on"))
    return picture(STYLE + "".join(out), 720, meter.top + 106, title, said)


def _step(frame: Frame, name: str, begin: float, end: float) -> str:
    x, w = frame.x(begin), frame.x(end) - frame.x(begin)
    if w <= 0:
        return ""
    box = f'<rect x="{x:g}" y="28" width="{w:g}" height="22" rx="3" class="step"/>'
    words = {"lockout": "LOCKOUT"}.get(name, name)
    if w >= (8.4 if words.isupper() else 6.4) * len(words):
        return box + text(x + w / 2, 43, words, "small", "middle")
    return box + text(x + w / 2, 22, words, "small", "middle")


def _bar(frame: Frame, span: Span, y: float, height: float, kind: str) -> str:
    x = frame.x(max(span[0], frame.x_ends[0]))
    w = max(frame.x(min(span[1], frame.x_ends[1])) - x, 1.5)
    return f'<rect x="{x:.1f}" y="{y:g}" width="{w:.1f}" height="{height:g}" rx="2" class="{kind}"/>'


@dataclass(frozen=True)
class Row:
    """One pattern in the picture of patterns: its words, how many faults show it, and what was on."""

    words: str
    count: int
    on: Mapping[str, Sequence[Span]]


SHORT = (("spark", "spark"), ("gas", "gas"), ("flame", "flame"), ("lamp", "lamp"))


def pattern_chart(rows: Sequence[Row], seconds: float, title: str, said: str) -> str:
    """Starts below each other on one scale of time, four thin lanes each."""
    high, top = 84.0, 8.0
    frame = Frame(64, top, 640, high * len(rows), (0.0, seconds))
    ticks = [float(v) for v in range(0, int(seconds) + 1, 10)]
    out = [f'<rect x="4" y="4" width="712" height="{high * len(rows) + 48:g}" rx="8" class="band"/>']
    out.append(frame.ticks(ticks, "seconds after the 12 V came on"))
    for k, row in enumerate(rows):
        y = top + high * k
        out.append(f'<rect x="8" y="{y + 2:g}" width="704" height="22" class="step"/>')
        out.append(text(14, y + 17, f"{chr(65 + k)}  {row.words}", "bold"))
        out.append(text(706, y + 17, f"{row.count} fault" + ("s" if row.count != 1 else ""), "soft", "end"))
        for j, (key, name) in enumerate(SHORT):
            at = y + 28 + 13 * j
            out.append(text(58, at + 10, name, "small", "end"))
            out.append(path(f"M{frame.left:g} {at + 11:g} H{frame.left + frame.width:g}", "grid"))
            out += [_bar(frame, span, at + 1, 9, key) for span in row.on.get(key, ())]
    return picture(STYLE + "".join(out), 720, high * len(rows) + 58, title, said)


def raw_gas_chart(
    points: Sequence[tuple[float, float]],
    burns: tuple[float, float],
    trials: Sequence[Span],
    minutes: float,
    title: str,
    said: str,
) -> str:
    """Unburnt gas in the burner's chamber over minutes: percent, with the range that burns and the trials marked."""
    most = max(5.0, 1.15 * max(p for _, p in points))
    frame = Frame(64, 40, 640, 190, (0.0, minutes), (0.0, most))
    out = ['<rect x="4" y="4" width="712" height="274" rx="8" class="band"/>']
    top, bottom = frame.y(burns[1]), frame.y(burns[0])
    out.append(f'<rect x="64" y="{top:g}" width="640" height="{bottom - top:g}" class="danger"/>')
    out.append(text(698, top + 18, "here one spark lights all of it at once", "bold", "end"))
    out.append(frame.levels([float(v) for v in range(int(most) + 1)], "% gas in the air of the chamber"))
    out.append(frame.ticks([float(v) for v in range(int(minutes) + 1)], "minutes"))
    out += [_bar(frame, (a, b), frame.top + frame.height - 8, 8, "gas") for a, b in trials]
    out.append(frame.curve(points))
    return picture(STYLE + "".join(out), 720, 282, title, said)
