"""Is a kept table the table, and does a bad or foreign file never get in its place?"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from tankside.diagnosis import kept_tables
from tankside.diagnosis.kept_tables import table_for
from tankside.diagnosis.table import Table, make_table
from tankside.heater.model import load_model

MODEL, SCOPE = "heron_6", ("element-open", "limit-tripped", "breaker-off")


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A learner's folder of its own."""
    monkeypatch.setenv("TANKSIDE_HOME", str(tmp_path))
    return tmp_path / "tables"


def same(one: Table, two: Table) -> bool:
    """Equal in every field, to the bit."""
    words = all(getattr(one, f) == getattr(two, f) for f in ("model", "cells", "columns", "minutes", "tests"))
    return words and all(np.array_equal(getattr(one, f), getattr(two, f)) for f in ("low", "high", "noticed"))


def never(*_: object) -> Table:
    """What must not be called."""
    raise AssertionError("the table was made again")


def test_the_next_one_is_the_same(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Does the second call give the first one's table without making it?"""
    first = table_for(MODEL, SCOPE)
    assert same(first, make_table(load_model(MODEL), SCOPE))
    monkeypatch.setattr(kept_tables, "make_table", never)
    assert same(table_for(MODEL, SCOPE), first)


@pytest.mark.parametrize("what", ["another scope", "another program"])
def test_nothing_else_gets_it(folder: Path, monkeypatch: pytest.MonkeyPatch, what: str) -> None:
    """Is a table made anew for other faults, and after the program or a data file changed?"""
    table_for(MODEL, SCOPE)
    if what == "another program":
        monkeypatch.setattr(kept_tables, "_everything", lambda: "changed")
    monkeypatch.setattr(kept_tables, "make_table", never)
    with pytest.raises(AssertionError, match="made again"):
        table_for(MODEL, SCOPE if what == "another program" else SCOPE[:2])


@pytest.mark.parametrize("content", [b"", b"PK\x03\x04 not a table", b"{}", None])
def test_a_bad_file_is_made_anew(folder: Path, content: bytes | None) -> None:
    """Is a file that was cut off, or is something else, replaced by a good one?"""
    first = table_for(MODEL, SCOPE)
    (file,) = folder.glob("*.npz")
    file.write_bytes(file.read_bytes()[:-200] if content is None else content)
    assert same(table_for(MODEL, SCOPE), first)
    assert kept_tables._read(file, MODEL) is not None


def test_a_folder_that_is_none(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Does a table come out where nothing can be kept?"""
    (tmp_path / "file").write_text("in the way", encoding="utf-8")
    monkeypatch.setenv("TANKSIDE_HOME", str(tmp_path / "file"))
    assert table_for(MODEL, SCOPE).cells


def test_the_folder_stays_small(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Do the tables unused for longest go when there are too many?"""
    monkeypatch.setattr(kept_tables, "MOST_KEPT", 2)
    for k in (1, 2, 3):
        table_for(MODEL, SCOPE[:k] if k > 1 else ("element-open", "element-low"))
    assert len(list(folder.glob("*"))) == 2
