"""Drawings for the lesson on the element and its supply: plain SVG, in the notebook's own light or dark colours.

Nothing here decides what is live or what a meter shows: each drawing is given what a bench found.
"""

from __future__ import annotations

import html
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from tankside.lessons.pages import unbroken

STYLE = """<style>
.tsl{max-width:720px;font-family:var(--jp-ui-font-family,system-ui,sans-serif)}
.tsl svg{width:100%;height:auto;display:block}
.tsl text{font-size:13px;fill:var(--jp-content-font-color1,#1d2428)}
.tsl .soft{fill:var(--jp-content-font-color2,#566068);font-size:12px}
.tsl .bold{font-weight:600}
.tsl .num{font-variant-numeric:tabular-nums}
.tsl .band,.tsl .box{fill:var(--jp-layout-color1,#fff);stroke:var(--jp-border-color1,#c3cac6)}
.tsl .band{fill:var(--jp-layout-color2,#f3f5f2)}
.tsl .line{fill:none;stroke:var(--jp-content-font-color1,#1d2428);stroke-width:2;stroke-linecap:round;stroke-linejoin:round}
.tsl .halo{fill:none;stroke:#f0a020;stroke-opacity:.5;stroke-width:15;stroke-linecap:round}
.tsl .case{fill:none;stroke:#8d989a;stroke-width:7}
.tsl .hot{fill:none;stroke:#15181a;stroke-width:4.5}
.tsl .neutral{fill:none;stroke:#fff;stroke-width:4.5}
.tsl .ground{fill:none;stroke:#1d7a3a;stroke-width:4.5}
.tsl .water{fill:#4aa3c7;fill-opacity:.28}
.tsl .metal{fill:#9aa5a7}
.tsl .packing{fill:#d9cfb4}
.tsl .coil{fill:none;stroke:#a8662b;stroke-width:3}
.tsl .leak{fill:none;stroke:#c0392b;stroke-width:3;stroke-dasharray:6 4}
.tsl .test{fill:none;stroke:#0d7c8f;stroke-width:3}
.tsl .screw{fill:var(--jp-layout-color1,#fff);stroke:var(--jp-content-font-color2,#566068);stroke-width:1.5}
</style>"""


def text(x: float, y: float, words: object, kind: str = "", anchor: str = "start") -> str:
    """One line of text."""
    return f'<text x="{x:g}" y="{y:g}" class="{kind}" text-anchor="{anchor}">{html.escape(str(words))}</text>'


def path(d: str, kind: str) -> str:
    """One stroke."""
    return f'<path d="{d}" class="{kind}"/>'


def picture(body: str, width: float, height: float, title: str, said: str) -> str:
    """A drawing with a caption; ``said`` is what a screen reader says of it."""
    return (
        f'{STYLE}<figure class="tsl" style="margin:0"><svg viewBox="0 0 {width:g} {height:g}" role="img" '
        f'aria-label="{html.escape(said)}">{body}</svg><figcaption style="color:var(--jp-content-font-color2,#566068)">'
        f"{html.escape(unbroken(title))}</figcaption></figure>"
    )


@dataclass(frozen=True)
class Stop:
    """One part on the way of the current: its name and place, and what was found on its two sides."""

    name: str
    place: str
    line: str
    load: str
    live_line: bool
    live_load: bool
    closed: bool = True


def way_of_current(
    supply: tuple[str, str],
    stops: Sequence[Stop],
    element: tuple[str, str],
    back: Mapping[str, str],
    live: Mapping[str, bool],
    title: str,
    said: str,
) -> str:
    """The path from the supply through every contact to the element and back.

    ``supply`` and ``element``: readings at their hot and neutral ends. ``back``: readings on the
    neutral at the junction. ``live``: for "element hot", "neutral at element", "neutral at supply".
    """
    hot, neutral, ground, row, top = 300.0, 510.0, 590.0, 54.0, 46.0
    height = top + row * (len(stops) + 2) + 60
    out = [_bands(stops, top, row)]
    wires, marks = [], []
    y = top
    wires.append(_wire(f"M{hot} {y + 12} V{y + row - 14}", "hot", True))
    marks += [_box(hot - 26, y - 16, ground - hot + 52, 28), text(hot - 40, y + 3, "supply outlet", "bold", "end")]
    marks += [text(hot, y + 3, "hot", "soft", "middle"), text(neutral, y + 3, "neutral", "soft", "middle"),
              text(ground, y + 3, "ground", "soft", "middle")]  # fmt: skip
    marks += [text(hot + 14, y + 28, supply[0], "num"), text(neutral - 14, y + 28, supply[1], "num", "end")]
    for k, stop in enumerate(stops):
        y = top + row * (k + 1)
        marks += [_box(hot - 26, y - 14, 52, 28), text(hot - 40, y + 4, stop.name, "bold", "end")]
        marks.append(_contact(hot, y, stop.closed))
        marks.append(text(hot + 34, y + 4, "closed" if stop.closed else "OPEN", "soft" if stop.closed else "bold"))
        last = k == len(stops) - 1
        end = y + row + (8 if last else -14)
        wires.append(_wire(f"M{hot} {y + 14} V{end}", "hot", stop.live_load))
        marks.append(text(hot + 14, y + 32, stop.load, "num"))
    y = top + row * (len(stops) + 1) + 26
    box = next((k for k, s in enumerate(stops) if s.name.startswith("junction")), 0)
    wires.append(_wire(f"M{neutral} {y - 18} V{top + 12}", "neutral", live["neutral at supply"]))
    if live["neutral at element"] and not live["neutral at supply"]:
        wires.append(path(f"M{neutral} {y - 18} V{top + row * (box + 1)}", "halo"))
    wires.append(_wire(f"M{ground} {y - 40} V{top + 12}", "ground", False))
    marks.append(f'<rect x="{hot - 60}" y="{y - 40}" width="{ground - hot + 86}" height="62" rx="12" class="water"/>')
    marks.append(f'<rect x="{hot - 60}" y="{y - 40}" width="{ground - hot + 86}" height="62" rx="12" class="line"/>')
    marks.append(_coil(hot, neutral, y - 18))
    marks += [text(hot - 70, y - 6, "element in the tank", "bold", "end")]
    marks += [text(hot + 6, y + 12, element[0], "num"), text(neutral - 6, y + 12, element[1], "num", "end")]
    jy = top + row * (box + 1)
    marks += [_box(neutral - 20, jy - 12, 40, 24), text(neutral - 28, jy + 4, back.get("junction", ""), "num", "end")]
    marks.append(_legend(height - 12))
    return picture("".join([*out, *wires, *marks]), 720, height, title, said)


def _bands(stops: Sequence[Stop], top: float, row: float) -> str:
    """A band behind the parts of each place, with its name."""
    out, k = [], 0
    groups: list[tuple[str, int, int]] = []
    for i, stop in enumerate(stops):
        if groups and groups[-1][0] == stop.place:
            groups[-1] = (stop.place, groups[-1][1], i)
        else:
            groups.append((stop.place, i, i))
    for k, (place, first, last) in enumerate(groups):
        start = top - 26 if k == 0 else top + row * (first + 1) - 25
        end = top + row * (last + 1) + (25 if k < len(groups) - 1 else 116)
        out.append(f'<rect x="4" y="{start:g}" width="712" height="{end - start - 4:g}" rx="8" class="band"/>')
        out += [text(12, start + 17 + 14 * j, words, "soft") for j, words in enumerate(_short(place))]
    return "".join(out)


def _short(place: str) -> list[str]:
    words, lines = place.split(), [""]
    for word in words:
        if len(lines[-1]) + len(word) > 15 and lines[-1]:
            lines.append("")
        lines[-1] = f"{lines[-1]} {word}".strip()
    return lines


def _wire(d: str, role: str, live: bool) -> str:
    return (path(d, "halo") if live else "") + path(d, "case") + path(d, role)


def _box(x: float, y: float, w: float, h: float) -> str:
    return f'<rect x="{x:g}" y="{y:g}" width="{w:g}" height="{h:g}" rx="5" class="box"/>'


def _contact(x: float, y: float, closed: bool) -> str:
    end = f"{x} {y + 9}" if closed else f"{x - 13} {y + 6}"
    return path(f"M{x} {y - 14} V{y - 9} L{end}" + (f" M{x} {y + 9} V{y + 14}"), "line")


def _coil(a: float, b: float, y: float) -> str:
    turns, step = 10, (b - a - 60) / 10
    d = f"M{a} {y - 14} V{y} H{a + 30}" + f" q{step / 2:g} -18 {step:g} 0" * turns + f" H{b} V{y - 14}"
    return path(d, "coil")


def _legend(y: float) -> str:
    return (
        path(f"M20 {y - 4} h34", "halo") + path(f"M20 {y - 4} h34", "case") + path(f"M20 {y - 4} h34", "hot")
        + text(70, y, "live: you would feel it", "soft")
        + path(f"M250 {y - 4} h34", "case") + path(f"M250 {y - 4} h34", "neutral") + text(292, y, "neutral", "soft")
        + path(f"M380 {y - 4} h34", "case") + path(f"M380 {y - 4} h34", "ground") + text(422, y, "ground", "soft")
        + text(500, y, "volts: to ground, as the meter shows", "soft")
    )  # fmt: skip


@dataclass(frozen=True)
class Panel:
    """One of several small pictures beside each other: heading, what is so, and what the meter showed."""

    heading: str
    readings: tuple[tuple[str, str], ...]
    wet: bool = True
    breached: bool = False
    landed: bool = False


def ohms_on_element(panels: Sequence[Panel], title: str, said: str) -> str:
    """The ohmmeter on the element, leads on and leads lifted: which ways its test current can take."""
    out = [_ohm_panel(panel, 6 + 358 * k) for k, panel in enumerate(panels)]
    return picture("".join(out), 720, 278, title, said)


def _ohm_panel(panel: Panel, x: float) -> str:
    left, right, y = x + 56, x + 196, 96
    out = [f'<rect x="{x}" y="4" width="350" height="268" rx="8" class="band"/>', text(x + 12, 24, panel.heading, "bold")]
    out.append(f'<rect x="{x + 22}" y="{y + 18}" width="212" height="64" rx="12" class="water"/>')
    out.append(f'<rect x="{x + 22}" y="{y + 18}" width="212" height="64" rx="12" class="line"/>')
    out.append(text(x + 30, y + 76, "tank", "soft"))
    out += [_coil(left, right, y + 48), _wire(f"M{left} {y + 34} V{y + 6}", "hot", False)]
    out.append(_wire(f"M{right} {y + 34} V{y + 6}", "neutral", False))
    link = y - 34
    if panel.landed:
        out.append(_wire(f"M{right} {y + 6} V{link} H{x + 306}", "neutral", False))
        out.append(_wire(f"M{x + 306} {link} V{y + 50} H{x + 234}", "ground", False))
        way = f"M{right} {y + 2} V{link} H{x + 306} V{y + 50} H{x + 236}"
        out += [path(way, "test"), text(x + 20, y - 20, "neutral lead on", "soft")]
        out += [text(x + 296, y - 12 + 14 * k, line, "soft", "end") for k, line in enumerate(("a way round", "outside the", "element"))]
    else:
        out.append(_wire(f"M{right + 26} {link} H{x + 306}", "neutral", False))
        out.append(_wire(f"M{x + 306} {link} V{y + 50} H{x + 234}", "ground", False))
        out.append(text(x + 20, y - 20, "no way round", "soft"))
    for px in (left, right):
        out.append(f'<circle cx="{px}" cy="{y + 4}" r="6" class="screw"/>')
    out += [text(left - 10, y + 8, "1", "bold", "end"), text(right + 10, y + 8, "2", "bold")]
    return "".join([*out, _readings(panel, x, 206)])


def _readings(panel: Panel, x: float, y: float) -> str:
    out = []
    for k, (what, shows) in enumerate(panel.readings):
        out += [text(x + 12, y + 24 * k, what), text(x + 338, y + 24 * k, shows, "bold num", "end")]
    return "".join(out)


def sheath_in_section(panels: Sequence[Panel], title: str, said: str) -> str:
    """A cut through the element: coil, packing, sheath; whole or breached; water around it or not."""
    out = [_section(panel, 4 + 240 * k) for k, panel in enumerate(panels)]
    return picture("".join(out), 724, 306, title, said)


def _section(panel: Panel, x: float) -> str:
    out = [f'<rect x="{x}" y="4" width="234" height="298" rx="8" class="band"/>']
    out += [text(x + 10, 24 + 16 * k, line, "bold") for k, line in enumerate(panel.heading.split("\n"))]
    top, bottom = 56, 196
    if panel.wet:
        out.append(f'<rect x="{x + 8}" y="{top}" width="218" height="{bottom - top}" class="water"/>')
        out.append(text(x + 14, bottom - 8, "water", "soft"))
    else:
        out.append(text(x + 14, bottom - 8, "air", "soft"))
    out.append(f'<rect x="{x + 212}" y="{top}" width="14" height="{bottom - top}" class="metal"/>')
    out.append(text(x + 206, bottom - 8, "tank", "soft", "end"))
    for y in (82.0, 138.0):
        gap = panel.breached and y > 100
        spans = ((8, 96), (116, 204)) if gap else ((8, 204),)
        out += [f'<rect x="{x + a}" y="{y}" width="{b - a}" height="9" class="metal"/>' for a, b in spans]
    out.append(f'<rect x="{x + 8}" y="91" width="196" height="47" class="packing"/>')
    out.append(path(f"M{x + 8} 114" + " q9 -22 18 0 q2 6 4 0" * 8 + f" H{x + 204}", "coil"))
    out.append(text(x + 14, 78, "sheath", "soft"))
    if panel.breached and panel.wet:
        out.append(path(f"M{x + 106} 118 V168 H{x + 208}", "leak"))
        out.append(text(x + 112, 184, "leak", "soft"))
    elif panel.breached:
        out.append(text(x + 94, 162, "hole", "soft"))
    rows = []
    for k, (what, shows) in enumerate(panel.readings):
        rows += [text(x + 10, 222 + 40 * k, what, "soft"), text(x + 10, 240 + 40 * k, shows, "bold num")]
    return "".join([*out, *rows])
