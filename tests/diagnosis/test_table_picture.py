"""Does the picture of a table show what the table says, and does the command write both?"""

from __future__ import annotations

import csv
from pathlib import Path
from xml.etree import ElementTree

import pytest

from tankside.check.__main__ import main
from tankside.diagnosis.kept_tables import table_for
from tankside.diagnosis.table import Table
from tankside.diagnosis.table_picture import ALWAYS, NEVER, fault_names, kin, picture
from tankside.faults.catalogue import fault_named

SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(scope="module")
def table() -> Table:
    """A few faults of the mains side, one of them with degrees, and the heater without any."""
    return table_for("heron_6", ("element-open", "element-low", "limit-tripped", "no-fault"))


def test_a_test_tells_what_the_table_detects(table: Table) -> None:
    """Are the tests that always tell a fault those in which it is detected, and does none tell of no fault?"""
    assert fault_names(table) == ("element-open", "element-low", "limit-tripped")
    by_column = {test.columns[0][1]: test.name for test in table.tests if len(test.columns) == 1}
    for i, fault in enumerate(fault_names(table)):
        always = {name for one in kin(table) if one.tells[i] == ALWAYS for name in one.names}
        found = {table.columns.index(column) for column in table.detects(fault)}
        assert found and {by_column[j] for j in found & set(by_column)} <= always
        assert len(always) <= len(found)
    assert not kin(table_for("heron_6", ("no-fault",)))


def test_the_picture_has_a_square_for_each(table: Table) -> None:
    """Is every fault written, and is there a square where something is told, and none elsewhere?"""
    root = ElementTree.fromstring(picture(table))
    texts = [text.text for text in root.iter(f"{SVG}text")]
    assert [fault_named(name).name for name in fault_names(table)] == texts[:3]
    told = sum(tells != NEVER for one in kin(table) for tells in one.tells)
    legend = 2
    assert len(list(root.iter(f"{SVG}rect"))) == told + legend
    widths = [float(rect.get("x", "0")) + 9 for rect in root.iter(f"{SVG}rect")]
    assert max(widths) <= float(root.get("width", "0"))
    title = root.find(f"{SVG}title")
    assert title is not None and "3 faults of heron_6" in (title.text or "")


def test_the_command_writes_both(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Does ``check table`` print a line a fault, and write a CSV file and a picture?"""
    assert main(["table", "lab01", "--into", str(tmp_path / "new")]) == 0
    said = capsys.readouterr().out
    assert "Ambiguity groups" in said and "hypotheses" in said
    (sheet,), (drawn,) = (list((tmp_path / "new").glob(kind)) for kind in ("*.csv", "*.svg"))
    rows = list(csv.reader(sheet.read_text(encoding="utf-8").splitlines()))
    assert rows[-1][0] == "healthy" and len({len(row) for row in rows}) == 1
    assert ElementTree.parse(drawn).getroot().tag == f"{SVG}svg"


@pytest.mark.parametrize(
    ("words", "told"),
    [(["table"], "Name one lab"), (["table", "lab99"], "lab99"), (["table", "lab01", "--into", "FILE/x"], "can't be written")],
)  # fmt: skip
def test_what_is_wrong_is_told(
    words: list[str], told: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Is a forgotten or unknown lab, or a folder that is none, one sentence?"""
    (tmp_path / "file").write_text("in the way", encoding="utf-8")
    assert main([word.replace("FILE", str(tmp_path / "file")) for word in words]) == 1
    assert told in capsys.readouterr().out
