"""Reference values from outside the project, as data: one TOML file a subject, one row a value.

``rows("water")`` gives a subject's rows, ``row("water", "density")`` one of them. What the
fields mean, and what a status allows a test to do, stands in ``Row``.
"""

from __future__ import annotations

import math
from functools import cache
from pathlib import Path
from typing import Any, Literal

from pydantic import Field, model_validator

from tankside.datafiles import Record, load
from tankside.units import quantity

FOLDER = Path(__file__).parent
FROM_MEMORY = "from memory"
COMMON_PRACTICE = "common practice, no source"

Scalar = float | str | bool


class Tolerance(Record):
    """How far a computed value may lie from the published one: one of the two, not both."""

    relative: float | None = Field(default=None, gt=0, lt=1)
    absolute: float | None = Field(default=None, gt=0)

    @model_validator(mode="after")
    def _one_of_them(self) -> Tolerance:
        if (self.relative is None) == (self.absolute is None):
            raise ValueError("give either relative or absolute")
        return self


class Row(Record):
    """One published value, or one short table.

    ``value`` is a number, a text, or a list; a list goes with ``at`` (same length: the
    temperatures, gauges, fuels … that the values belong to) where an order alone doesn't say it.
    ``given`` holds the conditions or the inputs of a worked example, as numbers or "number unit".

    ``status``: V1 read in a government, standards-body, specification or peer-reviewed text;
    V2 read in a secondary page; C computed with the library that the source names;
    R recalled from memory; T common practice in the trade, without a source.

    ``tolerance``: a ``Tolerance``; "exact" (text, counts, limits, printed digits); "bounds" (the
    values are the ends of a range, ends included); or "none" (nothing to compare by number).
    """

    id: str = Field(pattern=r"^[a-z0-9]+(-[a-z0-9]+)*$")
    quantity: str = Field(min_length=3)
    value: Scalar | list[Scalar]
    unit: str = ""
    at: list[Scalar] | None = None
    at_unit: str = ""
    given: dict[str, Scalar | list[Scalar]] = Field(default_factory=dict)
    source: str = Field(min_length=3)
    status: Literal["V1", "V2", "C", "R", "T"]
    tolerance: Tolerance | Literal["exact", "bounds", "none"]
    disagrees_with: list[str] = Field(default_factory=list)
    note: str = ""

    @property
    def values(self) -> list[Any]:
        """The value as a list, also when there is only one."""
        return list(self.value) if isinstance(self.value, list) else [self.value]

    @property
    def hard(self) -> bool:
        """May a test fail because of this row? Not for what was only recalled or is only said."""
        return self.status in ("V1", "V2", "C")

    def condition(self, name: str) -> Any:
        """The condition ``name`` ("10 gallon") as a quantity."""
        number, unit = str(self.given[name]).split(" ", 1)
        return quantity(float(number), unit)

    def pairs(self) -> list[tuple[Any, Any]]:
        """(at, value) for a table."""
        if self.at is None:
            raise ValueError(f"row {self.id} is no table: it has no 'at'")
        return list(zip(self.at, self.values, strict=True))

    def agrees(self, computed: float, index: int = 0) -> bool:
        """Is ``computed`` (in the row's unit) within the tolerance of value number ``index``?"""
        computed = float(computed)
        if not math.isfinite(computed):
            return False
        if self.tolerance == "bounds":
            low, high = self.values
            return bool(low <= computed <= high)
        if self.tolerance == "none":
            raise ValueError(f"row {self.id} is nothing to compare by number")
        expected = float(self.values[index])
        if self.tolerance == "exact":
            return math.isclose(computed, expected, rel_tol=1e-9, abs_tol=1e-12)
        if self.tolerance.absolute is not None:
            return abs(computed - expected) <= self.tolerance.absolute * (1 + 1e-12)
        assert self.tolerance.relative is not None
        return abs(computed - expected) <= self.tolerance.relative * abs(expected) * (1 + 1e-12)

    @model_validator(mode="after")
    def _shape(self) -> Row:
        if self.at is not None and len(self.at) != len(self.values):
            raise ValueError(f"row {self.id}: 'at' has {len(self.at)} entries, 'value' {len(self.values)}")
        if self.tolerance == "bounds" and not (
            len(self.values) == 2 and all(isinstance(v, float) for v in self.values)
        ):
            raise ValueError(f"row {self.id}: bounds are two numbers, the lower first")
        return self


class Subject(Record):
    """One file."""

    title: str
    row: list[Row] = Field(min_length=1)


def subjects() -> list[str]:
    """The names of all subjects, in alphabetical order."""
    return sorted(file.stem for file in FOLDER.glob("*.toml"))


@cache
def rows(subject: str) -> tuple[Row, ...]:
    """All rows of a subject; a ``DataFileError`` names what is wrong with a bad file."""
    return tuple(load(FOLDER / f"{subject}.toml", Subject).row)


def row(subject: str, name: str) -> Row:
    """One row of a subject; a ``KeyError`` names the rows that there are."""
    for candidate in rows(subject):
        if candidate.id == name:
            return candidate
    raise KeyError(f"no row {name!r} in {subject}; there are {[r.id for r in rows(subject)]}")
