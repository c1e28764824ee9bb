"""Are notebooks and exercises what their text twins say, and does the builder keep its hands off other text?"""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import nbformat
import pytest

from tankside_autograder.notebooks import EditedError, build, main
from tankside_autograder.rebuild import read_lab_source
from tests.notebooks.small import LAB, write_course

LESSON_FILE, SOLUTION, EXERCISE = (
    Path("course/01-plate.ipynb"),
    Path("solutions/lab03/lab03.ipynb"),
    Path("exercises/lab03/lab03.ipynb"),
)


def cells(path: Path) -> dict[str, str]:
    return {cell.id: cell.source for cell in nbformat.read(path, as_version=4).cells}


@pytest.fixture
def course(tmp_path: Path) -> Path:
    write_course(tmp_path)
    build(tmp_path)
    return tmp_path


def test_everything_is_made(tmp_path: Path) -> None:
    """Does one call make lesson, solution and exercise, and does a check then find nothing?"""
    write_course(tmp_path)
    assert [change.path for change in build(tmp_path)] == [LESSON_FILE, EXERCISE, SOLUTION]
    assert build(tmp_path, check=True) == []
    assert sorted(p.name for p in tmp_path.iterdir()) == [
        "course",
        "exercises",
        "nbgrader_config.py",
        "solutions",
    ]


def test_ids_come_from_names(course: Path) -> None:
    """Are cell ids the grade id or the heading, so that a change leaves other cells alone?"""
    assert list(cells(course / LESSON_FILE)) == ["reading-a-plate", "reading-a-plate-2", "try-it"]
    ids = ["call-out", "open", "figures", "answers-figures", "reflection", "evidence"]
    assert list(cells(course / SOLUTION)) == ids == list(cells(course / EXERCISE))


def test_the_learner_sees_no_answer(course: Path) -> None:
    """Is the exercise free of answers and hidden tests, with its blanks left in place?"""
    text = cells(course / EXERCISE)
    assert text["answers-figures"].splitlines()[:2] == ["%%answers", "current ="]
    assert text["reflection"] == (
        "Click this line and press Enter. Write your answer in its place, then press Shift+Enter."
    )
    assert text["evidence"].strip() == "# Marked after you hand in."
    raw = (course / EXERCISE).read_text(encoding="utf-8")
    assert not [
        word for word in ("12.5", "SOLUTION", "HIDDEN", "mark_part", "element was open") if word in raw
    ]
    assert "12.5" in cells(course / SOLUTION)["answers-figures"]


def test_the_graders_reader_takes_it(course: Path) -> None:
    """Does Tankside's grader find answers, written cells and points in what nbgrader made?"""
    source = read_lab_source(course / EXERCISE)
    assert list(source.answers) == ["answers-figures"]
    assert list(source.written) == ["reflection"]
    assert source.points == {"reflection": 10, "evidence": 25}


def test_same_bytes_again(course: Path, tmp_path_factory: pytest.TempPathFactory) -> None:
    """Does another folder, at another time, give the same bytes?"""
    again = write_course(tmp_path_factory.mktemp("again"))
    build(again)
    for path in (LESSON_FILE, SOLUTION, EXERCISE):
        assert (again / path).read_bytes() == (course / path).read_bytes()


def test_a_changed_twin(course: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Does a check say which files and cell are out of line and what to run, and change nothing?"""
    twin = course / "solutions/lab03/lab03.md"
    twin.write_text(LAB.replace("No hot water", "Lukewarm water"), encoding="utf-8")
    before = (course / EXERCISE).read_bytes()
    assert main(["--check", "--root", str(course)]) == 1
    said = capsys.readouterr().out
    assert (
        "exercises/lab03/lab03.ipynb: differs from solutions/lab03/lab03.md (cell 1, call-out: text)" in said
    )
    assert "Run: python3 run.py notebooks" in said
    assert (course / EXERCISE).read_bytes() == before
    assert main(["--root", str(course)]) == 0
    assert main(["--check", "--root", str(course)]) == 0


@pytest.mark.parametrize("path", [LESSON_FILE, SOLUTION, EXERCISE])
def test_edited_text_is_not_lost(course: Path, path: Path) -> None:
    """Is a notebook that somebody wrote into kept until they say otherwise?"""
    notebook = json.loads((course / path).read_text(encoding="utf-8"))
    notebook["cells"][0]["source"] = ["mine"]
    (course / path).write_text(json.dumps(notebook), encoding="utf-8")
    with pytest.raises(EditedError, match=rf"{path.as_posix()} was edited itself \(cell 1.*--overwrite"):
        build(course)
    assert "mine" in (course / path).read_text(encoding="utf-8")
    assert [change.path for change in build(course, overwrite=True)] == [path]
    assert build(course, check=True) == []


def test_a_notebook_that_only_ran(course: Path) -> None:
    """Are outputs taken out without ado, since the text is as it was?"""
    notebook = nbformat.read(course / LESSON_FILE, as_version=4)
    notebook.cells[1].execution_count = 3
    nbformat.write(notebook, course / LESSON_FILE)
    found = build(course, check=True)
    assert [(change.path, change.where) for change in found] == [
        (LESSON_FILE, "cell 2, reading-a-plate-2: execution_count")
    ]
    build(course)
    assert build(course, check=True) == []


def test_left_over(course: Path) -> None:
    """Is a notebook without a twin reported, but left alone, and a learner's own files not even reported?"""
    stray = course / "exercises/lab03/notes.txt"
    stray.write_text("x", encoding="utf-8")
    (course / "exercises/lab03/bench-log.jsonl").write_text("", encoding="utf-8")
    (course / "course/old.ipynb").write_bytes((course / LESSON_FILE).read_bytes())
    found = {change.path.as_posix(): change.kind for change in build(course)}
    assert found == {"course/old.ipynb": "left over", "exercises/lab03/notes.txt": "left over"}
    assert stray.exists()


def test_windows_line_ends(course: Path) -> None:
    """Does a checkout with other line ends count as the same?"""
    for path in (LESSON_FILE, EXERCISE):
        (course / path).write_bytes((course / path).read_bytes().replace(b"\n", b"\r\n"))
    assert build(course, check=True) == []


def test_a_picture_goes_along(course: Path) -> None:
    """Does a picture beside a lab reach the learner, and is it kept up to date?"""
    (course / "solutions/lab03/plate.png").write_bytes(b"picture")
    assert [change.path.name for change in build(course)] == ["plate.png"]
    assert (course / "exercises/lab03/plate.png").read_bytes() == b"picture"


@pytest.mark.parametrize("name", ["work-order.json", "key.txt"])
def test_what_must_not_go_along(course: Path, name: str, capsys: pytest.CaptureFixture[str]) -> None:
    """Is any other file beside a solution refused, since nbgrader would hand it to every learner?"""
    (course / "solutions/lab03" / name).write_text("{}", encoding="utf-8")
    assert main(["--root", str(course)]) == 2
    assert f"solutions/lab03/{name}: nbgrader would hand it to every learner." in capsys.readouterr().err


def test_stock_nbgrader(course: Path) -> None:
    """Does nbgrader's own command, in a copy of the project, make the same exercise?"""
    wanted = nbformat.read(course / EXERCISE, as_version=4).cells
    (course / EXERCISE).unlink()
    (course / EXERCISE).parent.rmdir()
    command = [sys.executable, "-m", "nbgrader", "generate_assignment", "lab03"]
    # nbgrader calls the alembic command, which must be on the search path.
    path = os.pathsep.join([str(Path(sys.executable).parent), os.environ["PATH"]])
    environment = {**os.environ, "PATH": path, "JUPYTER_CONFIG_DIR": str(course / "config")}
    done = subprocess.run(command, cwd=course, env=environment, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    assert nbformat.read(course / EXERCISE, as_version=4).cells == wanted
    assert [path.name for path in (course / EXERCISE).parent.iterdir()] == ["lab03.ipynb"]
