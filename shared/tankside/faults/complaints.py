"""What an owner says: words, and the symptoms that they leave open.

Owners are vague. The same words fit several things that a heater may do, and that is what a
technician starts from.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from pathlib import Path

from pydantic import Field, field_validator

from tankside.datafiles import Record, load
from tankside.faults.catalogue import apart, fault_named
from tankside.heater.model import HeaterModel
from tankside.heater.parts import PART_TYPES

OR = " or "


class Said(Record):
    """One complaint: its words, the symptoms that it fits, and the part types that it speaks of ("a or b": one is enough)."""

    text: str = Field(min_length=10)
    fits: tuple[str, ...] = Field(min_length=1)
    speaks_of: tuple[str, ...] = ()
    about: tuple[str, ...] = ()
    """Places: said where something at one of them may be wrong, and elsewhere only for want of other words."""
    hardly_anything: bool = False
    """True for words that leave nearly everything open: said only where no others leave as many suspects as a lab asks for."""

    @field_validator("speaks_of")
    @classmethod
    def _known(cls, kinds: tuple[str, ...]) -> tuple[str, ...]:
        for entry in kinds:
            for kind in entry.split(OR):
                if kind not in PART_TYPES:
                    raise ValueError(f"{kind!r} is no part type")
        return kinds


class ComplaintFile(Record):
    """A data file of complaints."""

    said: tuple[Said, ...] = Field(min_length=1)


@cache
def _all() -> tuple[Said, ...]:
    return load(Path(__file__).parent / "data" / "complaints.toml", ComplaintFile).said


def wordings(symptom: str, model: HeaterModel, scope: Sequence[str] | None = None) -> list[Said]:
    """Every complaint that fits a symptom and speaks of nothing that the heater hasn't got.

    With a ``scope`` of faults, of these the ones about what may be wrong; if there are none, all.
    """

    def has(said: Said) -> bool:
        return all(any(model.of_type(kind) for kind in entry.split(OR)) for entry in said.speaks_of)

    every = [said for said in _all() if symptom in said.fits and has(said)]
    if scope is None:
        return every
    places = {fault_named(one).place for name in scope for one in apart(name)}
    return [said for said in every if not said.about or places & set(said.about)] or every
