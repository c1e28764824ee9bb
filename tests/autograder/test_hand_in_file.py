"""Is the one file that the call-out desk writes taken, told whose it is, and marked like the whole folder?"""

from __future__ import annotations

import json
import shutil
from pathlib import Path
from typing import Any

import pytest

from tankside.notebook import LabDesk, open_lab
from tankside.report import LABELS
from tankside_autograder.classroom import Classroom
from tankside_autograder.collect import gather
from tankside_autograder.grading import mark

from .school import LAB, give, start_class

ANSWERS = {
    **{figure.label: "10 ohm" for figure in LAB.figure},
    "diagnosis": "element burnt open",
    LABELS["evidence"]: "1",
    "remedy": "Replace the element",
    LABELS["condition"]: "in service",
}


@pytest.fixture
def room(tmp_path: Path) -> Classroom:
    room = start_class(tmp_path, ["ana"])
    give(room, tmp_path)
    return room


def opened(room: Classroom, target: Path) -> LabDesk:
    """Ana's own copy of what was handed out, opened, with one look round at the bench."""
    shutil.copytree(room.handed_out("ana", "lab03"), target)
    desk = open_lab("lab03", target)
    desk.the_bench().do("look")
    return desk


def marked(room: Classroom, source: Path) -> dict[str, Any]:
    found = gather(room, source)
    assert [(g.status, g.learner, g.lab) for g in found] == [("new", "ana", "lab03")]
    root = room.folder.parent
    mark(room, "lab03", exercises=root / "exercises", solutions=root / "none", workers=1)
    result: dict[str, Any] = json.loads(room.marks_file("ana", "lab03").read_text(encoding="utf-8"))
    return result


def fill(desk: LabDesk) -> None:
    for label, text in ANSWERS.items():
        desk.form().write(label, text)


def test_the_file_with_its_notebook(room: Classroom, tmp_path: Path) -> None:
    """The notebook's cells are blank, the form is filled: do the form's answers count, under a name that tells nobody?"""
    desk = opened(room, tmp_path / "home")
    fill(desk)
    done = desk.form().hand_in()
    assert sorted(done.inside) == ["bench-log.jsonl", "lab03.ipynb", "service-report.json", "work-order.json"]
    inbox = tmp_path / "inbox"
    inbox.mkdir()
    shutil.copyfile(tmp_path / "home" / done.name, inbox / "attachment.zip")
    result = marked(room, inbox)
    assert result["verdict"] == "marked"
    assert result["marks"]["answers"] == ANSWERS
    assert "Your answers were read from the service report file." in result["problems"]


def test_the_file_without_a_notebook(room: Classroom, tmp_path: Path) -> None:
    """Worked without a notebook (a text bench, a script): is the file enough?"""
    desk = opened(room, tmp_path / "home")
    (tmp_path / "home" / "lab03.ipynb").unlink()
    fill(desk)
    result = marked(room, tmp_path / "home" / desk.form().hand_in().name)
    assert result["verdict"] == "no-notebook" and result["marks"]["answers"] == ANSWERS


def test_cell_and_form_differ(room: Classroom, tmp_path: Path) -> None:
    """Does the cell count where both say something, is that said, and does it agree with the open lab?"""
    home = tmp_path / "home"
    desk = opened(room, home)
    fill(desk)
    notebook = json.loads((home / "lab03.ipynb").read_text(encoding="utf-8"))
    line = "diagnosis = splice loose in the junction box"
    for cell in notebook["cells"]:
        if cell["metadata"].get("nbgrader", {}).get("grade_id") == "answers-report":
            cell["source"] = f"%%answers\n{line}\nremedy =\n"
    desk.take_answers(f"{line}\nremedy =\n")
    desk.form().write("diagnosis", "element burnt open")  # changed in the form after the cell was run
    (home / "lab03.ipynb").write_text(json.dumps(notebook), encoding="utf-8")
    result = marked(room, home / desk.form().hand_in().name)
    assert result["marks"]["answers"] == desk.answers
    assert desk.answers["diagnosis"] == "splice loose in the junction box"
    assert any("The cell counts" in p for p in result["problems"])
    assert "What the answer cells left blank was read from the report form." in result["problems"]


def test_a_form_on_another_order(room: Classroom, tmp_path: Path) -> None:
    """Is a form that was filled in on a practice order left out of the class's order?"""
    home = tmp_path / "home"
    desk = opened(room, home)
    report = {"order": "PRACTICE-1", "answers": ANSWERS, "cells": {}, "form": ANSWERS}
    (home / "service-report.json").write_text(json.dumps(report), encoding="utf-8")
    assert open_lab("lab03", home).answers == {}
    del desk
    result = marked(room, home)
    assert result["verdict"] == "no-answers" or "diagnosis" not in result["marks"]["answers"]


@pytest.mark.parametrize(
    "form", [None, 7, [], {"diagnosis": 7}, {"diagnosis": {}}, {"x" * 9000: "y"}, "text"]
)
def test_a_form_that_is_damaged(room: Classroom, tmp_path: Path, form: Any) -> None:
    """Whatever stands where the form should be: is the hand-in marked all the same?"""
    home = tmp_path / "home"
    desk = opened(room, home)
    desk.form().write("remedy", "Replace the element")
    report = json.loads((home / "service-report.json").read_text(encoding="utf-8")) | {"form": form}
    (home / "service-report.json").write_text(json.dumps(report), encoding="utf-8")
    result = marked(room, home)
    assert result["verdict"] in ("marked", "no-answers")
