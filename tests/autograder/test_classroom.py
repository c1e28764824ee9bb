"""Does a class folder keep its secret, its ledger and its due times, whatever happens?"""

from __future__ import annotations

import errno
import os
import stat
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from tankside.errors import DataFileError
from tankside_autograder import files
from tankside_autograder.class_file import ClassFile, LatePolicy, lateness, read_class_file
from tankside_autograder.classroom import Classroom, ClassroomError, Issued, make_classroom, open_classroom
from tankside_autograder.files import StorageError, write_atomic


@pytest.fixture
def room(tmp_path: Path) -> Classroom:
    roster = tmp_path / "list.csv"
    roster.write_text("id,name\nana,Ana\nbo,Bo\n", encoding="utf-8")
    return make_classroom(tmp_path / "class", roster, name='The "boat" class')


def issued(order: str, learner: str, lab: str = "lab03") -> Issued:
    return Issued(order, learner, lab, "aa", "2031-01-01", None, "token")


def test_key_is_made_once_and_private(room: Classroom) -> None:
    again = make_classroom(room.folder)
    assert again.key == room.key and len(room.key) == 64
    if os.name != "nt":
        assert stat.S_IMODE(room.key_file.stat().st_mode) == 0o600
        assert stat.S_IMODE(room.secret_folder.stat().st_mode) == 0o700


def test_seed_repeats_and_differs(room: Classroom) -> None:
    seeds = {room.seed(who, lab) for who in ("ana", "bo") for lab in ("lab02", "lab03")}
    assert len(seeds) == 4
    assert room.seed("ana", "lab03") == Classroom(room.folder).seed("ana", "lab03")


def test_lost_key_is_refused_once_orders_exist(room: Classroom) -> None:
    room.ledger.add(issued("TW-1", "ana"))
    room.key_file.unlink()
    with pytest.raises(ClassroomError, match="Put it back"):
        _ = Classroom(room.folder).key


def test_ledger_keeps_and_guards(room: Classroom) -> None:
    room.ledger.add(issued("TW-1", "ana"), issued("TW-2", "bo"))
    room.ledger.add(issued("TW-3", "ana"))
    ledger = Classroom(room.folder).ledger
    found = ledger.find("Ana", "lab03")
    assert found is not None and found.order == "TW-3"
    assert ledger.find("ana", "lab01") is None
    with pytest.raises(ClassroomError, match="already belongs to bo"):
        ledger.add(issued("TW-2", "ana"))
    room.ledger_file.write_text('{"orders": [', encoding="utf-8")
    with pytest.raises(ClassroomError, match="damaged"):
        _ = Classroom(room.folder).ledger


def test_not_a_class_folder(tmp_path: Path) -> None:
    with pytest.raises(ClassroomError, match="verb give"):
        open_classroom(tmp_path)


def test_failed_write_keeps_the_old_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = write_atomic(tmp_path / "a.json", "old")

    def full(_: int) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(files.os, "fsync", full)
    with pytest.raises(StorageError, match="disk is full"):
        write_atomic(path, "new")
    assert path.read_text(encoding="utf-8") == "old"
    assert [p.name for p in tmp_path.iterdir()] == ["a.json"]


def test_file_in_the_way(tmp_path: Path) -> None:
    (tmp_path / "x").write_text("")
    with pytest.raises(StorageError, match="a file stands"):
        write_atomic(tmp_path / "x" / "y.json", "new")


DUE = datetime(2031, 3, 14, 18, tzinfo=UTC)


@pytest.mark.parametrize(
    ("over", "late", "percent"),
    [
        (timedelta(minutes=-1), False, 0), (timedelta(minutes=15), False, 0), (timedelta(minutes=15, seconds=1), True, 10),
        (timedelta(days=1, minutes=15), True, 10), (timedelta(days=1, minutes=16), True, 20), (timedelta(days=30), True, 50),
    ],
)  # fmt: skip
def test_late_rule(over: timedelta, late: bool, percent: float) -> None:
    """Each day begun after the grace costs ten percent, at most fifty: worked by hand from the rule's wording."""
    policy = LatePolicy(grace_minutes=15, percent_a_day=10, most_percent=50)
    found = lateness(policy, DUE, DUE + over)
    assert (found.late, found.percent) == (late, percent)
    assert ("late" in found.sentence()) is late


def test_due_times_use_the_class_clock(tmp_path: Path) -> None:
    file = tmp_path / "class.toml"
    file.write_text(
        'zone = "Europe/Oslo"\n[labs.a]\ndue = 2031-07-01T18:00:00\n[labs.b]\ndue = 2031-07-01\n'
        "[labs.c]\ndue = 2031-07-01T18:00:00Z\n",
        encoding="utf-8",
    )
    agreed = read_class_file(file)
    # Oslo keeps summer time in July: two hours ahead of UTC (IANA time zone database).
    assert agreed.due("a") == datetime(2031, 7, 1, 16, tzinfo=UTC)
    assert agreed.due("b") == datetime(2031, 7, 1, 21, 59, 59, tzinfo=UTC)
    assert agreed.due("c") == datetime(2031, 7, 1, 18, tzinfo=UTC)
    assert agreed.due("other") is None


@pytest.mark.parametrize(
    ("text", "key"),
    [('zone = "Mars/Base"', "zone"), ("[late]\npercent_a_day = -1", "percent_a_day"), ("[labs.x]\ndew = 1", "dew")],
)
def test_bad_class_file_names_the_key(tmp_path: Path, text: str, key: str) -> None:
    file = tmp_path / "class.toml"
    file.write_text(text, encoding="utf-8")
    with pytest.raises(DataFileError, match=key):
        read_class_file(file)


def test_the_class_file_we_write_is_valid(room: Classroom) -> None:
    assert room.agreed == ClassFile(
        name='The "boat" class', late=LatePolicy(grace_minutes=15, percent_a_day=10, most_percent=50)
    )
