"""The debrief as a picture: how many faults were left as the minutes went by, on both paths. Plain SVG."""

from __future__ import annotations

import html
from collections.abc import Sequence
from itertools import pairwise

from tankside.diagnosis.coach import Debrief, Point

_WIDTH, _HEIGHT, _LEFT, _RIGHT, _TOP, _BOTTOM = 720, 300, 56, 20, 34, 44


def picture(found: Debrief) -> str:
    """An SVG that reads in light and dark: the learner's path solid, the reference path dashed."""
    longest = max((p.at for p in (*found.learner, *found.reference)), default=1.0) or 1.0
    most = max((p.faults for p in (*found.learner, *found.reference)), default=1)

    def x(at: float) -> float:
        return _LEFT + (_WIDTH - _LEFT - _RIGHT) * at / longest

    def y(faults: float) -> float:
        return _HEIGHT - _BOTTOM - (_HEIGHT - _TOP - _BOTTOM) * faults / most

    def path(points: Sequence[Point]) -> str:
        out = f"M{x(points[0].at):.1f} {y(points[0].faults):.1f}"
        for before, point in pairwise(points):
            out += f"L{x(point.at):.1f} {y(before.faults):.1f}L{x(point.at):.1f} {y(point.faults):.1f}"
        return out

    step = max(1, round(most / 5))
    rows = "".join(
        f"<line x1='{_LEFT}' x2='{_WIDTH - _RIGHT}' y1='{y(n):.1f}' y2='{y(n):.1f}' stroke='currentColor' stroke-opacity='.18'/>"
        f"<text x='{_LEFT - 8}' y='{y(n) + 4:.1f}' text-anchor='end'>{n}</text>"
        for n in range(0, most + 1, step)
    )
    wide = next((w for w in (1, 2, 5, 10, 15, 30, 60, 120, 240) if longest / w <= 9), 480)
    columns = "".join(
        f"<text x='{x(m):.1f}' y='{_HEIGHT - _BOTTOM + 18}' text-anchor='middle'>{m}</text>"
        for m in range(0, int(longest) + 1, wide)
    )
    dots = "".join(
        f"<circle cx='{x(p.at):.1f}' cy='{y(p.faults):.1f}' r='3.5' fill='currentColor' stroke='none'>"
        f"<title>{p.at:.0f} min, {p.faults} left: {html.escape(p.text)}</title></circle>"
        for before, p in pairwise(found.learner)
        if p.faults < before.faults
    )
    return (
        f"<svg viewBox='0 0 {_WIDTH} {_HEIGHT}' role='img' width='100%' style='max-width:{_WIDTH}px' "
        f"stroke='currentColor' fill='none' font-family='sans-serif' font-size='13'>"
        f"<title>{html.escape(in_words(found))}</title>"
        f"<g stroke='none' fill='currentColor'>{rows}{columns}"
        f"<text x='{_LEFT}' y='18'>faults still possible</text>"
        f"<text x='{_WIDTH - _RIGHT}' y='{_HEIGHT - 8}' text-anchor='end'>minutes</text></g>"
        f"<path d='{path(found.reference)}' stroke-width='2' stroke-dasharray='7 5'/>"
        f"<path d='{path(found.learner)}' stroke-width='2.5'/>{dots}"
        f"<g stroke-width='2.5'><path d='M330 14h34'/><path d='M500 14h34' stroke-width='2' stroke-dasharray='7 5'/></g>"
        f"<g stroke='none' fill='currentColor'><text x='370' y='18'>your path</text>"
        f"<text x='540' y='18'>reference path</text></g></svg>"
    )


def _settled(points: Sequence[Point]) -> Point:
    """Where a path came down to what it left in the end: repair and proof after that rule nothing out."""
    at = len(points) - 1
    while at and points[at - 1].faults == points[at].faults:
        at -= 1
    return points[at]


def in_words(found: Debrief) -> str:
    """The same in a sentence or two."""
    mine, theirs = _settled(found.learner), _settled(found.reference)
    first = found.learner[0].faults
    return (
        f"Your path: {first} {'fault' if first == 1 else 'faults'} possible at first, {mine.faults} after {mine.at:.0f} min. "
        f"The reference path comes down to {theirs.faults} after {theirs.at:.0f} min."
    )
