"""Drawings for the lesson on safety and the meter. Each is given what a bench found; none decides what is live."""

from __future__ import annotations

from collections.abc import Sequence

from tankside.lessons.element_drawings import path, picture, text


def _rect(x: float, y: float, w: float, h: float, kind: str) -> str:
    return f'<rect x="{x:g}" y="{y:g}" width="{w:g}" height="{h:g}" rx="8" class="{kind}"/>'


def _wire(d: str, role: str, live: bool = False) -> str:
    return (path(d, "halo") if live else "") + path(d, "case") + path(d, role)


def _dot(x: float, y: float) -> str:
    return f'<circle cx="{x:g}" cy="{y:g}" r="6" class="screw"/>'


def _meter(x: float, y: float, reading: str) -> str:
    return _rect(x - 46, y - 17, 92, 34, "box") + text(x, y + 5, reading, "bold num", "middle")


def three_pairs(readings: Sequence[str], live: Sequence[bool], title: str, said: str) -> str:
    """Hot, neutral and ground from the supply to the outlet, and a meter on each of the three pairs.

    ``readings``: hot to neutral, hot to ground, neutral to ground. ``live``: hot, neutral, ground.
    """
    ys = (52.0, 132.0, 212.0)
    names = ("hot", "neutral", "ground")
    out = [_rect(4, 4, 150, 252, "band"), text(14, 24, "supply of the site", "soft")]
    out.append(path("M78 52" + " q-26 10 0 20" * 4, "coil") + text(92, 96, "source", "soft"))
    out.append(path("M78 132 V212 M58 228 h40 M65 235 h26 M72 242 h12 M78 212 V228", "line"))
    out.append(text(90, 168, "tied to", "soft") + text(90, 183, "earth", "soft"))
    for y, name, hot in zip(ys, names, live, strict=True):
        out.append(_wire(f"M78 {y:g} H300", name, hot))
        out.append(_dot(300, y) + text(292, y - 14, name, "bold", "end"))
    out.append(text(300, 250, "outlet", "soft", "middle"))
    for x, a, b, shows in (
        (390.0, ys[0], ys[1], readings[0]),
        (516.0, ys[0], ys[2], readings[1]),
        (642.0, ys[1], ys[2], readings[2]),
    ):
        middle = (a + b) / 2
        out.append(path(f"M{x:g} {a:g} V{b:g}", "test") + _dot(x, a) + _dot(x, b) + _meter(x, middle, shows))
    for y in ys:
        out.insert(0, path(f"M310 {y:g} H700", "thin"))
    thin = "<style>.tsl .thin{fill:none;stroke:var(--jp-border-color1,#c3cac6);stroke-width:1.5}</style>"
    return picture(thin + "".join(out), 720, 262, title, said)


def live_dead_live(known: Sequence[str], found: Sequence[tuple[str, str]], title: str, said: str) -> str:
    """Three steps beside each other: known source, the heater's pairs, known source again."""
    out = []
    rows = ([("proving unit", known[0])], list(found), [("proving unit", known[1])])
    heads = ("1. LIVE", "2. DEAD", "3. LIVE")
    tells = (
        "A source that it must show.",
        "Three pairs at the heater.",
        "It still can. So the zeros were true.",
    )
    for k, (head, pairs, tell) in enumerate(zip(heads, rows, tells, strict=True)):
        x = 4 + 240.0 * k
        out += [
            _rect(x, 4, 232, 182, "band"),
            text(x + 12, 28, head, "bold"),
            text(x + 12, 172, tell, "soft"),
        ]
        for j, (name, shows) in enumerate(pairs):
            y = 62 + 34.0 * j
            out.append(text(x + 12, y + 5, name) + _meter(x + 178, y, shows))
    return picture("".join(out), 720, 190, title, said)


def ghost_wire(length: str, title: str, said: str) -> str:
    """An open switch, the wire behind it, and a live wire beside it: how volts get across with no contact."""
    out = [_wire("M20 44 H700", "hot", True), text(24, 24, "a live wire in the same cable", "bold")]
    out.append(_wire("M20 128 H150", "hot", True) + path("M150 128 L186 104", "line") + _dot(150, 128))
    out.append(_dot(196, 128) + _wire("M196 128 H560", "hot") + text(158, 158, "switch, open", "bold"))
    out.append(text(274, 158, f"cut-off wire, {length} beside the live one", "bold"))
    for x in range(250, 540, 60):
        out.append(path(f"M{x} 54 V80 M{x - 12} 80 h24 M{x - 12} 90 h24 M{x} 90 V118", "leak"))
    out.append(path("M560 128 H672 V168", "test") + _meter(672, 184, "V~ ?"))
    out.append(path("M672 200 V220 M652 220 h40 M659 227 h26", "line"))
    out.append(text(140, 190, "Dashed: what gets across with no contact,", "soft"))
    out.append(text(140, 206, "like a very thin feed.", "soft"))
    return picture("".join(out), 720, 236, title, said)
