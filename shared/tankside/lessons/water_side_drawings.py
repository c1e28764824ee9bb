"""Drawings for the lesson on the water side: a heater in section, tanks in layers, curves. Plain SVG.

Nothing here decides how warm water is: each drawing is given what the physics library or a heater worked out.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tankside.heater.model import HeaterModel
from tankside.lessons.element_drawings import path, picture, text

Array = NDArray[np.float64]

STYLE = """<style>
.tsl .pipe{fill:none;stroke:#7c878c;stroke-width:11;stroke-linejoin:round}
.tsl .run{fill:none;stroke-width:6;stroke-linejoin:round}
.tsl .cold{stroke:#4a90d9}
.tsl .warm{stroke:#e08a2a}
.tsl .arrow{fill:none;stroke:var(--jp-content-font-color1,#1d2428);stroke-width:1.8}
.tsl .valve{fill:var(--jp-layout-color1,#fff);stroke:var(--jp-content-font-color1,#1d2428);stroke-width:1.8}
.tsl .jacket{fill:none;stroke:#b59a6a;stroke-width:7;stroke-dasharray:3 3}
.tsl .shell{fill:none;stroke:#566068;stroke-width:4}
.tsl .air{fill:var(--jp-layout-color1,#fff);stroke:#566068;stroke-width:1}
.tsl .rod{fill:#9aa5a7;stroke:#566068;stroke-width:1}
.tsl .flame{fill:#3f7fd0;fill-opacity:.75}
.tsl .mud{fill:#8a6a45;fill-opacity:.75}
.tsl .mark{fill:var(--jp-layout-color1,#fff);stroke:#0d7c8f;stroke-width:2}
.tsl .feel{fill:#0d7c8f;stroke:#0d7c8f}
.tsl .inverse{fill:#fff;font-weight:700}
</style>"""

COLD, HOT = (74, 144, 217), (224, 138, 42)
"""Colours of the coldest and of the hottest water drawn."""


def tint(share: float) -> str:
    """The colour of water between the coldest (0) and the hottest (1)."""
    part = min(max(share, 0.0), 1.0)
    red, green, blue = (round(c + part * (h - c)) for c, h in zip(COLD, HOT, strict=True))
    return f"rgb({red},{green},{blue})"


def layers(x: float, y: float, wide: float, high: float, shares: Sequence[float]) -> str:
    """A tank's water in layers, bottom first; each share is 0 for the coldest colour and 1 for the hottest."""
    step = high / len(shares)
    return "".join(
        f'<rect x="{x:g}" y="{y + high - step * (k + 1):.2f}" width="{wide:g}" height="{step + 0.3:.2f}" '
        f'style="fill:{tint(share)};fill-opacity:.6"/>'
        for k, share in enumerate(shares)
    )


def _spot(x: float, y: float, words: str, kind: str = "mark") -> str:
    inside = "inverse" if kind == "feel" else "bold"
    return f'<circle cx="{x:g}" cy="{y:g}" r="11" class="{kind}"/>' + text(x, y + 4.5, words, inside, "middle")


def _pipe(d: str, kind: str) -> str:
    return path(d, "pipe") + path(d, f"run {kind}")


def _valve(x: float, y: float, upright: bool = False) -> str:
    d = (
        f"M{x - 9} {y - 11} h18 L{x - 9} {y + 11} h18 Z"
        if upright
        else f"M{x - 11} {y - 9} v18 L{x + 11} {y - 9} v18 Z"
    )
    return path(d, "valve")


def in_section(
    model: HeaterModel, air: float, sediment: float, shares: Sequence[float], title: str, said: str
) -> str:
    """A heater cut open from its front (left) to the house's pipes (right), with numbers 1 to 11 and places A, B, C.

    Only what the model has is drawn. ``air``: share of the tank's room that is air cushion; ``sediment``: share of its
    height; ``shares``: its layers, bottom first, 0 for the coldest colour and 1 for the hottest. 1 cold inlet, 2 hot
    outlet, 3 check valve, 4 winter bypass, 5 taps, 6 relief valve, 7 air cushion, 8 drain plug, 9 thermostat,
    10 element, 11 burner.
    """
    top, bottom, left, right = 64.0, 284.0, 190.0, 470.0
    high = bottom - top
    gap = high * air
    body = [STYLE]
    body.append(
        _pipe("M560 88 V176", "warm")
        + _pipe("M560 176 V256", "cold")
        + _pipe("M712 256 H470", "cold")
        + _pipe("M470 88 H712", "warm")
    )
    body.append(_pipe("M660 256 V196", "cold") + _pipe("M660 88 V156", "warm"))
    body.append(path(f"M190 100 H140 V{bottom + 34:g}", "pipe"))
    body.append(f'<rect x="{left - 9:g}" y="{top - 9:g}" width="298" height="{high + 18:g}" rx="34" class="jacket"/>')
    body.append(
        f'<clipPath id="tsl-tank"><rect x="{left:g}" y="{top:g}" width="280" height="{high:g}" rx="28"/></clipPath>'
        f'<g clip-path="url(#tsl-tank)">{layers(left, top + gap, right - left, high - gap, shares)}'
        f'<rect x="{left:g}" y="{top:g}" width="280" height="{gap:.2f}" class="air"/>'
        f'<rect x="{left:g}" y="{bottom - sediment * high:.2f}" width="280" height="{sediment * high:.2f}" class="mud"/></g>'
    )
    body.append(f'<rect x="{left:g}" y="{top:g}" width="280" height="{high:g}" rx="28" class="shell"/>')
    # The heater's shut-off lies behind the bypass's tee: shut, it leaves the bypass its water.
    # Valves: shut-off and bypass are bow ties, the check valve has its flap, the relief valve its spring.
    body.append(_valve(520, 256) + _valve(560, 176, upright=True))
    body.append('<rect x="490" y="74" width="34" height="28" rx="4" class="valve"/>' + path("M497 78 L512 97 M497 98 V78", "line"))
    body.append('<rect x="146" y="86" width="34" height="28" rx="4" class="valve"/>' + path("M152 100 l5 -7 l5 14 l5 -14 l5 7", "line"))
    body.append('<rect x="634" y="156" width="52" height="40" rx="6" class="valve"/>' + path("M660 176 H626 V192", "line"))
    body += [path(f"M{x} {y} l{8 * s} 0 m0 0 l{-6 * s} -5 m{6 * s} 5 l{-6 * s} 5", "arrow") for x, y, s in ((620, 256, -1), (496, 256, -1), (530, 88, 1), (600, 88, 1))]  # fmt: skip
    body.append(path("M140 250 v10 m0 0 l-5 -6 m5 6 l5 -6", "arrow"))
    out: list[tuple[float, float, str]] = [
        (520, 230, "1"),
        (452, 104, "2"),
        (507, 56, "3"),
        (534, 176, "4"),
        (702, 176, "5"),
        (163, 66, "6"),
        (168, 262, "8"),
    ]
    if model.of_type("air cushion"):
        out.append((330, 42, "7"))
        body.append(path(f"M330 53 V{top + gap / 2:.1f}", "line"))
    if model.of_type("anode"):
        body.append('<rect x="190" y="256" width="110" height="12" rx="3" class="rod"/>')
    body.append('<rect x="178" y="252" width="14" height="20" rx="2" class="rod"/>')
    body.append('<rect x="176" y="168" width="12" height="26" rx="2" class="valve"/>')
    out.append((158, 181, "9"))
    if model.of_type("element"):
        body.append(path("M190 216 H330 a9 9 0 0 1 0 18 H190", "coil"))
        out.append((366, 225, "10"))
    if model.of_type("burner"):
        body += [
            f'<path d="M{x:g} {bottom + 40:g} q-7 -12 0 -24 q7 12 0 24 Z" class="flame"/>'
            for x in (296, 316, 336, 356)
        ]
        body.append(path(f"M282 {bottom + 44:g} H372", "line"))
        out.append((400, bottom + 34, "11"))
    body += [_spot(x, y, words) for x, y, words in out]
    body += [_spot(x, 118, words, "feel") for x, words in ((536, "A"), (612, "B"))]
    body.append(_spot(626, 206, "C", "feel"))
    body += [
        text(712, 284, "cold from the house", "soft", "end"),
        text(712, 66, "hot to the house", "soft", "end"),
        text(140, bottom + 52, "open end, in sight", "soft", "middle"),
        text(8, 20, "front", "bold"),
        text(712, 20, "the house's pipes", "bold", "end"),
    ]
    return picture("".join(body), 720, 346, title, said)


@dataclass(frozen=True)
class Tank:
    """A tank to draw: its layers (bottom first, 0 cold to 1 hot), words above it, words below it."""

    shares: Sequence[float]
    above: Sequence[str]
    below: Sequence[str]


def tanks(row: Sequence[Tank], title: str, said: str) -> str:
    """Tanks side by side, all one size."""
    slot = 720 / len(row)
    body = [STYLE]
    for k, tank in enumerate(row):
        x, wide = slot * k + 14, slot - 28
        body += [text(x + wide / 2, 18 + 17 * j, words, "num", "middle") for j, words in enumerate(tank.above)]
        body.append(layers(x, 44, wide, 130, tank.shares))
        body.append(f'<rect x="{x:g}" y="44" width="{wide:g}" height="130" rx="4" class="shell"/>')
        body += [
            text(x + wide / 2, 194 + 17 * j, words, "soft num", "middle")
            for j, words in enumerate(tank.below)
        ]
    return picture("".join(body), 720, 222, title, said)
