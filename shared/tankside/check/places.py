"""The eighteen places where a technician looks: faults, instruments, published checks, and how small a fault shows."""

from __future__ import annotations

import tomllib
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from tankside.check.observations import OWNER
from tankside.check.work import Proven
from tankside.datafiles import Record, load
from tankside.errors import TanksideError
from tankside.faults.catalogue import faults

PUBLISHED = Path(__file__).parents[3] / "tests" / "published"
"""Where a checkout keeps its published values."""
PLACES = (
    "tank and insulation", "relief valve", "mains limit chain", "12 V limit chain", "gas valve", "element",
    "drain plug and anode", "combustion chamber and flue", "burner tube", "igniter and flame sensor", "orifice",
    "control board", "switches and harness", "junction box", "cold inlet, hot outlet and check valve", "data plate",
    "gas supply", "house plumbing around the heater",
)  # fmt: skip
MOST = 3
"""Instruments named for a place: those that show most of its faults."""


class Touches(Record):
    """Which published rows touch which place: ``subject`` or ``subject/row``. ``elsewhere`` touch none."""

    place: dict[str, tuple[str, ...]]
    elsewhere: tuple[str, ...]


@dataclass(frozen=True)
class Row:
    """One place of the table."""

    place: str
    faults: int
    instruments: tuple[str, ...]
    published: int
    hard: int
    """Of the published values, those that a test may fail by."""
    weakest: str
    model: str
    errors: float
    """By how many instrument errors the weakest fault shows at its least, on that model; infinite: plain to see."""


def published_rows(folder: Path = PUBLISHED) -> dict[str, bool]:
    """``subject/row`` of every published value, and whether a test may fail by it; ``TanksideError`` without a checkout."""
    if not folder.is_dir():
        raise TanksideError(
            f"The published values aren't in this copy: there is no {folder.name} beside the tests."
        )
    out = {}
    for file in sorted(folder.glob("*.toml")):
        for row in tomllib.loads(file.read_text(encoding="utf-8"))["row"]:
            out[f"{file.stem}/{row['id']}"] = row["status"] in ("V1", "V2", "C")
    return out


def touching(folder: Path = PUBLISHED) -> dict[str, list[str]]:
    """Place -> the published rows that touch it; ``TanksideError`` names a pattern that fits no row."""
    rows = list(published_rows(folder))
    told = load(folder / "touches" / "places.toml", Touches)
    out = {}
    for place, patterns in told.place.items():
        out[place] = [row for row in rows if any(fits(pattern, row) for pattern in patterns)]
    for pattern in (*told.elsewhere, *(p for patterns in told.place.values() for p in patterns)):
        if not any(fits(pattern, row) for row in rows):
            raise TanksideError(
                f"places.toml: {pattern!r} fits no published row; expected subject or subject/row."
            )
    return out


def fits(pattern: str, row: str) -> bool:
    """True if a pattern names a row, its subject, or the beginning of its id (``gas/propane-*``)."""
    if pattern.endswith("*"):
        return row.startswith(pattern[:-1])
    return row == pattern or row.split("/")[0] == pattern


def table(proven: Iterable[Proven], folder: Path = PUBLISHED) -> list[Row]:
    """One row a place, from the proof of every model."""
    proven, hard, touches = list(proven), published_rows(folder), touching(folder)
    out = []
    for place in PLACES:
        here = [f.id for f in faults().values() if f.place == place and f.id != "no-fault"]
        shown = [(p.model, s) for p in proven for s in p.faults if s.fault in here]
        counts = Counter(i for _, s in shown for i in s.instruments if i != OWNER)
        model, least = min(shown, key=lambda pair: pair[1].errors)
        rows = touches[place]
        best = tuple(name for name, _ in counts.most_common(MOST))
        out.append(
            Row(
                place,
                len(here),
                best,
                len(rows),
                sum(hard[r] for r in rows),
                least.fault,
                model,
                least.errors,
            )
        )
    return out
