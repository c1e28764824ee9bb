"""Are the published values themselves in order? (The checks against them stand beside each law's tests.)"""

from __future__ import annotations

import math
import re
from collections import Counter

import pytest

from tankside.datafiles import validate
from tankside.errors import DataFileError
from tankside.units import registry
from tests.published import COMMON_PRACTICE, FROM_MEMORY, Row, Tolerance, row, rows, subjects

ALL = [(subject, each) for subject in subjects() for each in rows(subject)]
IDS = [f"{subject}/{each.id}" for subject, each in ALL]
NO_PINT_UNIT = {"", "AWG"}
NUMBER_UNIT = re.compile(r"-?[\d.]+ \S.*")


def test_every_subject_is_there() -> None:
    """Is any of the nine files missing?"""
    assert set(subjects()) >= {
        "assessment", "combustion", "corrosion", "diagnosis", "electrical", "gas", "ignition", "practice", "water",
    }  # fmt: skip


def test_ids_are_unique_over_all_files() -> None:
    """Can ``disagrees_with`` name a row without its file?"""
    assert [id for id, count in Counter(each.id for _, each in ALL).items() if count > 1] == []


@pytest.mark.parametrize(("subject", "each"), ALL, ids=IDS)
def test_row(subject: str, each: Row) -> None:
    """Is the row complete, finite, in known units, and honest about where it comes from?"""
    for value in (*each.values, *(each.at or [])):
        assert not isinstance(value, float) or math.isfinite(value)
    for unit in (each.unit, each.at_unit):
        if unit not in NO_PINT_UNIT:
            registry().parse_units(unit)
    for name, text in each.given.items():
        if isinstance(text, str) and NUMBER_UNIT.fullmatch(text):
            number, unit = text.split(" ", 1)
            registry().Quantity(float(number), unit)
        assert name.isidentifier()
    if isinstance(each.tolerance, Tolerance):
        assert all(isinstance(value, float) for value in each.values)
    if each.tolerance == "bounds":
        assert each.values[0] < each.values[1]
    if each.status == "R":
        assert each.source.startswith(FROM_MEMORY)
    if each.status == "T":
        assert each.source == COMMON_PRACTICE
        assert each.tolerance == "none"
    if each.status == "C":
        assert each.source.startswith("computed") or "through chemicals" in each.source
    assert each.hard == (each.status not in ("R", "T"))
    if each.source.startswith(FROM_MEMORY):
        assert each.status == "R"


def test_disagreement_is_told_on_both_sides() -> None:
    """Where two published figures disagree, are both in the data?"""
    by_id = {each.id: each for _, each in ALL}
    for each in by_id.values():
        for other in each.disagrees_with:
            assert other != each.id
            assert each.id in by_id[other].disagrees_with, f"{other} doesn't name {each.id}"


def test_loader_names_what_is_wrong() -> None:
    """Do a bad row and a wrong id get one clear error?"""
    good = {
        "id": "x",
        "quantity": "a thing",
        "value": 1.0,
        "source": "a book",
        "status": "V1",
        "tolerance": "exact",
    }
    validate(good, Row, "file")
    for key, bad in [
        ("status", "V3"),
        ("tolerance", "about"),
        ("tolerance", {"relative": 0.1, "absolute": 1.0}),
        ("tolerance", "bounds"),
        ("value", math.nan),
        ("value", [1.0, math.inf]),
        ("id", "No Good"),
        ("at", [1, 2]),
        ("extra", 1),
    ]:
        with pytest.raises(DataFileError):
            validate({**good, key: bad}, Row, "file")
    with pytest.raises(KeyError, match="density"):
        row("water", "densty")


def test_agrees() -> None:
    """Does a row's tolerance let near values through and stop the others?"""
    table = row("gas", "hhv-mass")
    assert table.agrees(50.4, 1) and not table.agrees(50.6, 1) and not table.agrees(math.nan, 1)
    assert row("corrosion", "bare-steel-hot").agrees(5) and not row("corrosion", "bare-steel-hot").agrees(
        15.1
    )
    assert row("combustion", "co-air-free").agrees(115) and not row("combustion", "co-air-free").agrees(115.1)
    with pytest.raises(ValueError, match="nothing to compare"):
        row("practice", "anode-looks").agrees(2)
