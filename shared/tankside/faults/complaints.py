"""What an owner says, from what the simulated heater let them notice."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from tankside.datafiles import Record, load
from tankside.streams import Stream


class ComplaintFile(Record):
    """Symptom -> wordings."""

    complaint: dict[str, tuple[str, ...]]


@cache
def _wordings() -> dict[str, tuple[str, ...]]:
    return load(Path(__file__).parent / "data" / "complaints.toml", ComplaintFile).complaint


def wording(symptom: str, stream: Stream) -> str:
    """One of the wordings for a symptom."""
    return stream.choice(_wordings()[symptom])
