"""Can an instructor's class list be read as their spreadsheet saved it, and is every fault in it named?"""

from __future__ import annotations

import csv
import io
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tankside_autograder.roster import RosterError, read_roster, unusable_as_folder


def write(folder: Path, data: bytes | str, encoding: str = "utf-8") -> Path:
    path = folder / "roster.csv"
    path.write_bytes(data if isinstance(data, bytes) else data.encode(encoding))
    return path


PEOPLE = "id,name,email,section\nana,Ana Szabó,ana@example.org,A\n\nbo,\"Ek, Bo\",,B\nvera,Вера Лис,,\n"


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le"])
def test_encodings(tmp_path: Path, encoding: str) -> None:
    data = PEOPLE.encode(encoding)
    if encoding == "utf-16-le":
        data = b"\xff\xfe" + data
    roster = read_roster(write(tmp_path, data))
    assert [(x.id, x.name) for x in roster] == [("ana", "Ana Szabó"), ("bo", "Ek, Bo"), ("vera", "Вера Лис")]
    assert roster.notes == ()
    assert roster.learners[1].line == 4


def test_windows_1252_is_read_with_a_note(tmp_path: Path) -> None:
    roster = read_roster(write(tmp_path, "id;name\r\nana;Ana Müller\r\n", "cp1252"))
    assert roster.learners[0].name == "Ana Müller"
    assert "line 2" in roster.notes[0] and "Windows-1252" in roster.notes[0]


@pytest.mark.parametrize("separator", [",", ";", "\t"])
@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_separators_and_line_ends(tmp_path: Path, separator: str, end: str) -> None:
    rows = [["ID", "Full name"], ["ana", "Ana, the 1st; really"], ["", ""], ["bo", "Bo"]]
    out = io.StringIO()
    csv.writer(out, delimiter=separator, lineterminator=end).writerows(rows)
    assert [x.name for x in read_roster(write(tmp_path, out.getvalue()))] == ["Ana, the 1st; really", "Bo"]


def test_excel_separator_line(tmp_path: Path) -> None:
    assert len(read_roster(write(tmp_path, "sep=;\nid;name\na;Ana\n"))) == 1


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("id,name\nana,Ana\nbo,Bo\nANA,Other\n", ["'ANA'", "line 2", "line 4", "Ana", "Other"]),
        ("number;e-mail\n1;x\n", ["line 1", "no column name", "number, e-mail"]),
        ("", ["empty", "id,name"]),
        ("id,name\n", ["nobody"]),
        ("id,name\nana,Doe, Jo\n", ["line 2", "quotes"]),
        ("id,name\n../x,Ana\n", ["line 2", "'../x'", "'/'"]),
        ("id,name\ncon,Ana\n", ["Windows"]),
        ("id,name\na b,Ana\n", ["blank"]),
        ("id,name\n,Ana\n", ["no id for 'Ana'"]),
        ("id,name\nana,\n", ["no name"]),
        ('id,name\nana,"Ana\n', ["quote"]),
        ("id,name,name\nana,Ana,B\n", ["two columns"]),
    ],
)
def test_one_clear_error(tmp_path: Path, text: str, words: list[str]) -> None:
    with pytest.raises(RosterError) as error:
        read_roster(write(tmp_path, text))
    message = str(error.value)
    assert "roster.csv" in message and "\n" not in message
    assert all(word in message for word in words), message


def test_spreadsheet_and_missing_file(tmp_path: Path) -> None:
    with pytest.raises(RosterError, match="save it as CSV"):
        read_roster(write(tmp_path, b"PK\x03\x04rest"))
    with pytest.raises(RosterError, match="no class list"):
        read_roster(tmp_path / "none.csv")
    with pytest.raises(RosterError, match="folder"):
        read_roster(tmp_path)


@given(st.text(min_size=1, max_size=20))
def test_an_accepted_id_makes_one_plain_folder(learner_id: str) -> None:
    if unusable_as_folder(learner_id) is None:
        assert len(Path(learner_id).parts) == 1 and learner_id not in (".", "..")


@given(st.binary(max_size=200))
def test_any_bytes_give_a_roster_or_one_error(tmp_path_factory: pytest.TempPathFactory, data: bytes) -> None:
    path = write(tmp_path_factory.mktemp("r"), data)
    message = "roster.csv"
    try:
        read_roster(path)
    except RosterError as error:
        message = str(error)
    assert "roster.csv" in message and "\n" not in message
