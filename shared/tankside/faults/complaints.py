"""What an owner says: words, and the symptoms that they leave open.

Owners are vague. The same words fit several things that a heater may do, and that is what a
technician starts from.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path

from pydantic import Field

from tankside.datafiles import Record, load


class Said(Record):
    """One complaint: its words and the symptoms that it fits."""

    text: str = Field(min_length=10)
    fits: tuple[str, ...] = Field(min_length=1)


class ComplaintFile(Record):
    """A data file of complaints."""

    said: tuple[Said, ...] = Field(min_length=1)


@cache
def _all() -> tuple[Said, ...]:
    return load(Path(__file__).parent / "data" / "complaints.toml", ComplaintFile).said


def wordings(symptom: str) -> list[Said]:
    """Every complaint that fits a symptom."""
    return [said for said in _all() if symptom in said.fits]
