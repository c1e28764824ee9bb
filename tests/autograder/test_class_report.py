"""Does the class report say who is unsafe, which question is bad, and can a spreadsheet be trusted with its CSV?"""

from __future__ import annotations

import csv
import io
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image
from rich.console import Console

from tankside.labs import PARTS
from tankside_autograder.class_report import ClassReport, class_report
from tankside_autograder.classroom import Classroom
from tankside_autograder.collect import gather
from tankside_autograder.csv_export import safe_cell, to_csv
from tankside_autograder.grading import mark
from tankside_autograder.item_analysis import item_rest
from tankside_autograder.report_files import csv_text, show, write_report

from .school import give, start_class, work
from .test_feedback import tags

CLASS = {"ana": "careful", "bo": "guesser", "cy": "unsafe", "di": "slow", "ed": "guesser"}


@pytest.fixture(scope="module")
def room(tmp_path_factory: pytest.TempPathFactory) -> Classroom:
    folder = tmp_path_factory.mktemp("report")
    room = start_class(folder, [*CLASS, "zed"])
    roster = room.roster_file.read_text(encoding="utf-8").replace("Bo Person", '"=2+5 [red]Bo"')
    room.roster_file.write_text(roster, encoding="utf-8")
    room = Classroom(room.folder)
    give(room, folder)
    for learner, kind in CLASS.items():
        work(room, folder / "in", learner, kind)
    gather(room, folder / "in")
    mark(room, "lab03", exercises=folder / "exercises", solutions=folder / "none", workers=1)
    return room


@pytest.fixture(scope="module")
def report(room: Classroom) -> ClassReport:
    return class_report(room, "lab03")


def test_rows_are_the_marks(room: Classroom, report: ClassReport) -> None:
    assert [row.learner for row in report.rows] == [*CLASS, "zed"]
    marks = room.marks("lab03")
    for row in report.rows[:-1]:
        assert row.total == marks[row.learner]["total"] and row.parts is not None
        assert sum(row.parts.values()) == pytest.approx(row.total)
    assert report.rows[-1].words == "not handed in" and report.rows[-1].total is None
    assert [row.learner for row in report.unsafe] == ["cy"]
    assert any(rule.dangerous and rule.learners == ("Cy Person",) for rule in report.rules)


def test_summary_against_numpy(report: ClassReport) -> None:
    said = dict(report.summary())
    assert said["Marked"] == "5" and said["Handed in"] == "5" and said["On the class list"] == "6"
    assert said["Median"] == f"{np.median(report.totals):.1f}"


def test_questions_add_up_to_the_total(room: Classroom, report: ClassReport) -> None:
    assert sum(item.out_of for item in report.items.items) == pytest.approx(100)
    earned = sum(item.facility * item.out_of for item in report.items.items)
    assert earned == pytest.approx(np.mean([m["earned"] for m in room.marks("lab03").values()]), abs=0.05)
    assert [i.id for i in report.items.items][:4] == list(PARTS)[:4]
    table = [[p["points"] for p in m["marks"]["parts"]] for m in room.marks("lab03").values()]
    # Evidence against the rest: the figures' split into questions doesn't change any other question.
    evidence = next(i for i in report.items.items if i.id == "evidence")
    assert evidence.rest_r == pytest.approx(item_rest(table)[1], abs=0.01)


def test_files(report: ClassReport, tmp_path: Path) -> None:
    files = write_report(report, tmp_path)
    assert sorted(f.name for f in files) == ["lab03-questions.png", "lab03-totals.png", "lab03.csv", "lab03.html"]
    page = (tmp_path / "lab03.html").read_text(encoding="utf-8")
    found = tags(page)
    pictures = [attrs for tag, attrs in found if tag == "img"]
    assert len(pictures) == 2 and all(len(p["alt"] or "") > 40 and (p["src"] or "").startswith("data:image/png") for p in pictures)
    for name in ("totals", "questions"):
        with Image.open(tmp_path / f"lab03-{name}.png") as image:
            assert image.width > 600 and len(image.convert("L").getcolors() or []) > 2
    before = {f.name: f.read_bytes() for f in files}
    assert {f.name: f.read_bytes() for f in write_report(report, tmp_path)} == before


def test_csv(report: ClassReport, tmp_path: Path) -> None:
    rows = list(csv.reader(io.StringIO(csv_text(report), newline="")))
    assert rows[0][:10] == ["learner id", "name", *PARTS.values(), "total", "verdict", "unsafe"]
    assert all(len(row) == len(rows[0]) for row in rows)
    assert rows[2][1] == "'=2+5 [red]Bo"
    for row, line in zip(report.rows, rows[1:], strict=True):
        assert line[0] == row.learner and (float(line[7]) == pytest.approx(row.total, abs=0.01) if row.total is not None else line[7] == "")


@given(st.lists(st.lists(st.text(), min_size=2, max_size=2), max_size=5))
def test_csv_round_trip_and_no_formula(rows: list[list[str]]) -> None:
    """Python's csv reader gives the cells back; none starts as a formula does (OWASP, "CSV Injection")."""
    rows = [[cell.replace("\0", "") for cell in row] for row in rows]
    back = list(csv.reader(io.StringIO(to_csv(["a", "b"], rows), newline="")))[1:]
    for row, got in zip(rows, back, strict=True):
        for cell, found in zip(row, got, strict=True):
            assert found in (cell, f"'{cell}")
            assert not found.lstrip(" ").startswith(("=", "+", "-", "@", "\t", "\r"))


def test_numbers_stay_numbers() -> None:
    assert [safe_cell(x) for x in (-1.5, 3, None, True, "-3", " =x", "a-b")] == ["-1.5", "3", "", "yes", "'-3", "' =x", "a-b"]


def test_terminal(report: ClassReport) -> None:
    out = io.StringIO()
    show(report, Console(file=out, width=160, force_terminal=False))
    text = out.getvalue()
    assert "=2+5 [red]Bo" in text and "not handed in" in text and "Only 5 hand-ins" in text and "alpha" in text


def test_nobody_marked(tmp_path: Path) -> None:
    report = class_report(start_class(tmp_path, ["ana"]), "lab03")
    assert report.totals == [] and report.items.learners == 0
    assert sorted(f.name for f in write_report(report, tmp_path / "r")) == ["lab03.csv", "lab03.html"]
    show(report, Console(file=io.StringIO()))
