"""The test-by-fault table as a picture: which test tells which fault from the healthy heater. Plain SVG."""

from __future__ import annotations

import html
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tankside.diagnosis.situations import SITUATIONS
from tankside.diagnosis.table import Table
from tankside.faults.catalogue import fault_named

NEVER, SOMETIMES, ALWAYS = 0, 1, 2
"""How a test tells a fault: not at all, at some severities, at every severity."""
_CELL, _TOP, _GAP, _FOOT = 11, 52, 14, 30
_LETTER = 5.0
"""Width of a letter, on the safe side."""
_FEW = 8


@dataclass(frozen=True)
class Kin:
    """Tests of one situation that tell the same faults."""

    situation: int
    names: tuple[str, ...]
    minutes: float
    """Of the quickest."""
    tells: tuple[int, ...]
    """For each fault: ``NEVER``, ``SOMETIMES`` or ``ALWAYS``."""


def fault_names(table: Table) -> tuple[str, ...]:
    """The faults of a table that are faults, in its order."""
    return tuple(dict.fromkeys(cell.fault for cell in table.cells if cell.fault not in ("", "no-fault")))


def kin(table: Table) -> list[Kin]:
    """The tests that tell anything, those alike put together; by situation, the most telling first."""
    apart = (table.low[:-1] > table.high[-1]) | (table.high[:-1] < table.low[-1])
    rows = [table.of_fault(name) for name in fault_names(table)]
    found: dict[tuple[int, tuple[int, ...]], list[tuple[float, str]]] = {}
    for test in table.tests:
        columns = [j for _, j in test.columns]
        shows: NDArray[np.bool_] = apart[:, columns].any(axis=1)
        tells = tuple(int(shows[mine].any()) + int(shows[mine].all()) for mine in rows)
        if any(tells):
            found.setdefault((test.situation, tells), []).append((test.minutes, test.name))
    out = [
        Kin(situation, tuple(dict.fromkeys(name for _, name in tests)), min(tests)[0], tells)
        for (situation, tells), tests in found.items()
    ]
    return sorted(out, key=lambda k: (k.situation, -sum(k.tells), k.minutes, k.names))


def picture(table: Table) -> str:
    """An SVG: a row a fault, a column for tests that tell the same, a full square for always, a small one for sometimes."""
    names, columns = fault_names(table), kin(table)
    words_of = [fault_named(name).name for name in names]
    left = round(24 + _LETTER * max((len(words) for words in words_of), default=0))
    places, heads, x = [], [], float(left)
    for k, one in enumerate(columns):
        if k == 0 or one.situation != columns[k - 1].situation:
            x += _GAP if k else 0
            heads.append((x, SITUATIONS[one.situation]))
        places.append(x)
        x += _CELL
    width, height = max(x + 20, left + 420), _TOP + _CELL * len(names) + _FOOT
    rows = "".join(
        f"<text x='{left - 8}' y='{_TOP + _CELL * (i + 0.8):.1f}' text-anchor='end'>{html.escape(said)}</text>"
        for i, said in enumerate(words_of)
    )
    lines = "".join(
        f"<line x1='{left}' x2='{x:.0f}' y1='{_TOP + _CELL * i}' y2='{_TOP + _CELL * i}' stroke='currentColor' stroke-opacity='.12'/>"
        for i in range(len(names) + 1)
    )
    # Headings of narrow situations take turns on two lines, so that none runs into the next.
    words = "".join(
        f"<text x='{at:.0f}' y='{18 + 18 * (k % 2)}'>{html.escape(said)}</text>"
        f"<path d='M{at - 3:.0f} {10 + 18 * (k % 2)}V{_TOP + _CELL * len(names)}' stroke='currentColor' stroke-opacity='.4'/>"
        for k, (at, said) in enumerate(heads)
    )
    marks = "".join(_column(one, at) for one, at in zip(columns, places, strict=True))
    low = height - 10
    legend = (
        f"<rect x='{left}' y='{low - 9}' width='9' height='9'/><text x='{left + 16}' y='{low}'>told at every severity</text>"
        f"<rect x='{left + 183}' y='{low - 7}' width='5' height='5'/><text x='{left + 196}' y='{low}'>told at some</text>"
    )
    title = (
        f"Which tests tell which of {len(names)} faults of {table.model.name} from the healthy heater: "
        f"{sum(len(one.names) for one in columns)} tests in {len(columns)} groups."
    )
    return (
        f"<svg xmlns='http://www.w3.org/2000/svg' viewBox='0 0 {width:.0f} {height}' width='{width:.0f}' height='{height}' "
        f"role='img' font-family='sans-serif' font-size='10'><title>{html.escape(title)}</title>"
        f"<g fill='currentColor'>{rows}{words}{marks}{legend}</g>{lines}</svg>"
    )


def _column(one: Kin, x: float) -> str:
    """A group's squares, with its tests' names for whoever points at it."""
    some = "; ".join(one.names[:_FEW])
    more = f"; and {len(one.names) - _FEW} more" if len(one.names) > _FEW else ""
    said = f"{some}{more} ({one.minutes:g} min)"
    squares = "".join(
        f"<rect x='{x + size[0]:.0f}' y='{_TOP + _CELL * i + size[0]}' width='{size[1]}' height='{size[1]}'/>"
        for i, tells in enumerate(one.tells)
        if tells
        for size in [(1, 9) if tells == ALWAYS else (3, 5)]
    )
    return f"<g><title>{html.escape(said)}</title>{squares}</g>"
