"""Small drawings as inline SVG: they take the page's colours, and say in words what they show."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import Any

from markupsafe import Markup, escape

WIDTH, HEIGHT = 680, 240
_LEFT, _RIGHT, _TOP, _BOTTOM = 56, 16, 18, 44


def candidates_picture(path: Sequence[dict[str, Any]], unsafe_lines: Sequence[int] = ()) -> Markup:
    """How many faults were still possible after each log line, as a falling staircase.

    ``path`` rows have ``seq`` and ``left``; ``unsafe_lines`` are marked with a cross. Fewer than two rows: nothing.
    """
    if len(path) < 2:
        return Markup("")
    most = max(max(row["left"] for row in path), 1)
    last = max(int(path[-1]["seq"]), 1)

    def x(seq: float) -> float:
        return round(_LEFT + (WIDTH - _LEFT - _RIGHT) * seq / last, 1)

    def y(left: float) -> float:
        return round(_TOP + (HEIGHT - _TOP - _BOTTOM) * (1 - left / most), 1)

    steps = [f"M{x(path[0]['seq'])} {y(path[0]['left'])}"]
    steps += [f"H{x(row['seq'])}V{y(row['left'])}" for row in path[1:]]
    marks, free = "", -100.0
    for row in path:
        if row["seq"] in unsafe_lines:
            at = x(row["seq"])
            # Words beside each other would run into one another: the first of a cluster has the word.
            marks += _cross(at, y(row["left"]), "unsafe" if at - free > 48 else "")
            free = at if at - free > 48 else free
    rows = "".join(
        f'<line x1="{_LEFT}" x2="{WIDTH - _RIGHT}" y1="{y(n)}" y2="{y(n)}" stroke="currentColor" stroke-opacity=".2"/>'
        f'<text x="{_LEFT - 8}" y="{y(n) + 4}" text-anchor="end">{n}</text>'
        for n in _ticks(most)
    )
    columns = "".join(
        f'<text x="{x(n)}" y="{HEIGHT - _BOTTOM + 18}" text-anchor="middle">{n}</text>' for n in _ticks(last)
    )
    return Markup(
        f'<svg viewBox="0 0 {WIDTH} {HEIGHT}" width="{WIDTH}" height="{HEIGHT}" role="img" '
        f'aria-label="{escape(described(path, unsafe_lines))}" font-family="system-ui, sans-serif" font-size="12" '
        f'fill="currentColor">{rows}{columns}'
        f'<path d="{"".join(steps)}" fill="none" stroke="currentColor" stroke-width="2.5"/>{marks}'
        f'<text x="{_LEFT}" y="{HEIGHT - 6}">line of your log</text>'
        f'<text x="12" y="{HEIGHT - _BOTTOM}" transform="rotate(-90 12 {HEIGHT - _BOTTOM})">faults still possible</text>'
        "</svg>"
    )


def described(path: Sequence[dict[str, Any]], unsafe_lines: Sequence[int] = ()) -> str:
    """The same picture in words, for who can't see it."""
    falls = [
        f"line {b['seq']}: {b['left']}" for a, b in pairwise(path) if b["left"] < a["left"]
    ]
    text = f"Faults still possible: {path[0]['left']} at first"
    text += f", then after {'; after '.join(falls)}." if falls else f", and still {path[-1]['left']} at the end."
    return text + (f" Unsafe acts at line {', '.join(map(str, unsafe_lines))}." if unsafe_lines else "")


def _cross(x: float, y: float, word: str) -> str:
    return (
        f'<path d="M{x - 6} {y - 6}l12 12m0 -12l-12 12" stroke="currentColor" stroke-width="3" fill="none"/>'
        f'<text x="{x}" y="{max(y - 10, 12)}" text-anchor="middle">{word}</text>'
    )


def _ticks(most: int) -> list[int]:
    step = max(1, -(-most // 6))
    return list(range(0, most + 1, step))
