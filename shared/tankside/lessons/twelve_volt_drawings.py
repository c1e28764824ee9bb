"""Drawings for the lesson on the 12 V side: the ring of the current, and where the volts go. Plain SVG.

Nothing here knows a heater: each drawing is given names and what a meter showed.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from tankside.lessons.element_drawings import path, picture, text

_STYLE = (
    "<style>.tsl .plus{fill:none;stroke:#c0392b;stroke-width:4}.tsl .minus{fill:none;stroke:#15181a;stroke-width:4}"
    ".tsl .rim{fill:none;stroke:#8d989a;stroke-width:7}.tsl .lost{fill:#b5651d}.tsl .lost2{fill:#8a5cc2}"
    ".tsl .kept{fill:#1590a5}.tsl .onbar{fill:#fff;font-weight:600}</style>"
)


@dataclass(frozen=True)
class Spot:
    """One point of the ring: its name, and what the meter showed from it to the battery's minus."""

    name: str
    shown: str


def ring(plus: Sequence[Spot], minus: Sequence[Spot], load: str, across: str, title: str, said: str) -> str:
    """The current's way: down the plus side, through the load, and back along the minus side."""
    left, right, step, top = 250.0, 530.0, 38.0, 34.0
    bottom = top + step * len(plus)
    out = [_STYLE]
    for kind in ("rim", "plus"):
        out.append(path(f"M{left:g} {top:g} V{bottom:g} H{(left + right) / 2 - 60:g}", kind))
    for kind in ("rim", "minus"):
        out.append(path(f"M{right:g} {top:g} V{bottom:g} H{(left + right) / 2 + 60:g}", kind))
    out.append(
        f'<rect x="{(left + right) / 2 - 64:g}" y="{bottom - 24:g}" width="128" height="48" rx="8" class="box"/>'
    )
    out.append(text((left + right) / 2, bottom - 4, load, "bold", "middle"))
    out.append(text((left + right) / 2, bottom + 14, across, "num", "middle"))
    for side, spots, anchor, shift in ((left, plus, "end", -14.0), (right, minus, "start", 14.0)):
        for k, spot in enumerate(spots):
            y = top + k * (bottom - top - step) / max(len(spots) - 1, 1)
            out.append(f'<circle cx="{side:g}" cy="{y:g}" r="6" class="screw"/>')
            out.append(text(side + shift, y + 4, spot.name, "", anchor))
            out.append(
                text(side - shift, y + 4, spot.shown, "num soft", "start" if anchor == "end" else "end")
            )
    return picture("".join(out), 720, bottom + 40, title, said)


@dataclass(frozen=True)
class Share:
    """Where the volts of one heater go: lost on the plus side, kept by the board, lost on the minus side."""

    name: str
    plus: float
    kept: float
    minus: float


def shares(rows: Sequence[Share], title: str, said: str) -> str:
    """One bar a heater, as long as the battery's volts; the losses are cut off at its ends."""
    left, width, high = 190.0, 500.0, 30.0
    most = max(r.plus + r.kept + r.minus for r in rows)
    scale, y, out = width / most, 44.0, [_STYLE]
    for k, (kind, words) in enumerate(
        (
            ("lost", "lost on the plus side"),
            ("kept", "left for the board"),
            ("lost2", "lost on the ground side"),
        )
    ):
        out.append(f'<rect x="{left + 170 * k:g}" y="8" width="14" height="14" class="{kind}"/>')
        out.append(text(left + 170 * k + 20, 20, words, "soft"))
    for row in rows:
        x = left
        out.append(text(left - 12, y + 20, row.name, "bold", "end"))
        for kind, volts in (("lost", row.plus), ("kept", row.kept), ("lost2", row.minus)):
            wide = volts * scale
            out.append(f'<rect x="{x:.1f}" y="{y:g}" width="{wide:.1f}" height="{high:g}" class="{kind}"/>')
            if wide > 48:
                out.append(text(x + wide / 2, y + 20, f"{volts:.1f} V", "onbar num", "middle"))
            x += wide
        y += high + 14
    return picture("".join(out), 720, y + 2, title, said)
