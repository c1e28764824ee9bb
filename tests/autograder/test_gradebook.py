"""Does nbgrader's own gradebook take our marks, and does a person's work in it stay?"""

from __future__ import annotations

import json
import os
import sqlite3
import sys
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from nbgrader.api import Gradebook

from tankside_autograder.gradebook import (
    Entry,
    GradebookError,
    manual_scores,
    open_engine,
    register_lab,
    write_marks,
)
from tankside_autograder.gradebook_cells import LabCellsError
from tankside_autograder.gradebook_tables import SCHEMA, TABLES
from tankside_autograder.roster import Learner

from .fakelab import PARTS, lab_notebook, write_lab

CLASS = [Learner("ana", "Ana Maria Lis", "ana@example.org"), Learner("bo", "Bo"), Learner("zed", "Zed Om")]
ROOT = Path(__file__).resolve().parents[2]
WHEN = datetime(2031, 3, 14, 17, 30, 1, 250_000, tzinfo=UTC)
FULL: dict[str, float | None] = {**{k: float(v) for k, v in PARTS.items()}, "reflection": None}


@pytest.fixture
def url(tmp_path: Path) -> str:
    url = f"sqlite:///{tmp_path / 'gradebook.db'}"
    register_lab(url, "lab03", write_lab(tmp_path / "lab03.ipynb"), WHEN)
    return url


def dump(url: str) -> list[str]:
    with sqlite3.connect(url.removeprefix("sqlite:///")) as database:
        tables = ("student", "submitted_assignment", "submitted_notebook", "grade", "comment")
        return [repr(r) for t in tables for r in sorted(database.execute(f"select * from {t}"), key=repr)]


def test_nbgrader_reads_what_we_wrote(url: str) -> None:
    zero: dict[str, float | None] = {**dict.fromkeys(PARTS, 0.0), "reflection": 0.0}
    entries = [Entry("ana", WHEN, FULL, penalty=7.5), Entry("bo", WHEN, zero, frozenset({"reflection", "answers-report"}))]
    assert write_marks(url, "lab03", CLASS, entries) == 12
    with Gradebook(url) as book:
        ana = book.find_submission("lab03", "ana")
        assert (ana.score, ana.max_score, ana.needs_manual_grade) == (100.0, 110.0, True)
        assert ana.late_submission_penalty == 7.5 and ana.timestamp == WHEN.replace(tzinfo=None)
        bo = book.find_submission("lab03", "bo")
        assert (bo.score, bo.needs_manual_grade) == (0.0, False)
        assert book.find_comment("reflection", "lab03", "lab03", "bo").comment == "No response."
        assert book.find_comment("reflection", "lab03", "lab03", "ana").comment is None
        assert [s["student"] for s in book.submission_dicts("lab03")] == ["ana", "bo"]
        assert (book.find_student("ana").first_name, book.find_student("ana").last_name) == ("Ana Maria", "Lis")
        assert {s["id"]: s["score"] for s in book.student_dicts()} == {"ana": 100.0, "bo": 0.0, "zed": 0.0}


def test_cells_are_as_nbgrader_itself_would_store_them(url: str, tmp_path: Path) -> None:
    """Against the rows that ``nbgrader generate_assignment`` writes for the same notebook."""
    import nbformat
    from nbgrader.apps import NbGraderAPI
    from traitlets.config import Config

    course = tmp_path / "course"
    (course / "source" / "lab03").mkdir(parents=True)
    nbformat.write(lab_notebook(), course / "source" / "lab03" / "lab03.ipynb")
    config = Config()
    config.CourseDirectory.root = str(course)
    stock = f"sqlite:///{course / 'stock.db'}"
    config.CourseDirectory.db_url = stock
    open_engine(stock).dispose()
    result = NbGraderAPI(config=config).generate_assignment("lab03", create=True)
    assert result["success"], result["log"]

    assert _cells(url) == _cells(stock) != []


def _cells(address: str) -> list[str]:
    """Every row about a lab's cells, without the ids, which are drawn at random."""
    questions = (
        "select name, cell_type, locked, source, checksum from source_cell",
        "select name, type, max_score, cell_type from base_cell join grade_cells using (id)",
        "select name, type from base_cell join solution_cells using (id)",
        "select name, type, max_score, cell_type from base_cell join task_cells using (id)",
        "select name, kernelspec from notebook",
    )
    with sqlite3.connect(address.removeprefix("sqlite:///")) as database:
        return [repr(row) for q in questions for row in sorted(database.execute(q), key=repr)]


def test_schema_version_is_nbgraders(monkeypatch: pytest.MonkeyPatch) -> None:
    from nbgrader.api import get_alembic_version

    monkeypatch.setenv("PATH", f"{Path(sys.executable).parent}{os.pathsep}{os.environ['PATH']}")
    assert get_alembic_version() == SCHEMA


def test_tables_are_nbgraders() -> None:
    """Is every table of nbgrader's gradebook written down with its columns, types, keys and rules?"""
    from nbgrader.api import Base
    from sqlalchemy.dialects import postgresql, sqlite
    from sqlalchemy.schema import CreateTable

    assert set(TABLES.tables) == set(Base.metadata.tables)
    for dialect in (sqlite.dialect(), postgresql.dialect()):
        for name, table in Base.metadata.tables.items():
            theirs = str(CreateTable(table).compile(dialect=dialect))
            assert str(CreateTable(TABLES.tables[name]).compile(dialect=dialect)) == theirs


def test_the_labs_cells_are_as_nbgrader_itself_would_store_them(tmp_path: Path) -> None:
    """For the real labs with the course's own settings: the rows that nbgrader's preprocessors save?"""
    import nbformat
    from nbgrader import preprocessors as steps
    from nbgrader.api import Assignment, Course
    from sqlalchemy.orm import Session
    from traitlets.config import Config
    from traitlets.config.loader import PyFileConfigLoader

    settings = ROOT / "nbgrader_config.py"
    whole = PyFileConfigLoader(settings.name, path=str(ROOT)).load_config()
    for file in sorted((ROOT / "solutions").glob("*/*.ipynb")):
        ours, stock = (f"sqlite:///{tmp_path / f'{file.stem}-{who}.db'}" for who in ("ours", "stock"))
        register_lab(ours, file.stem, file, WHEN, settings)
        engine = open_engine(stock)
        with Session(engine) as session, session.begin():
            session.add(Course(id="default_course"))
            session.flush()
            session.add(Assignment(name=file.stem, course_id="default_course"))
        engine.dispose()
        notebook = nbformat.read(file, as_version=nbformat.current_nbformat)
        resources = {"nbgrader": {"notebook": file.stem, "assignment": file.stem, "db_url": stock}}
        config = Config(ClearSolutions=whole.ClearSolutions)
        for step in (steps.LockCells, steps.ClearSolutions, steps.ClearOutput, steps.ComputeChecksums, steps.SaveCells):
            notebook, resources = step(config=config).preprocess(notebook, resources)
        assert _cells(ours) == _cells(stock) != []


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (lambda cell: cell["metadata"]["nbgrader"].update(schema_version=1), "nbgrader update"),
        (lambda cell: cell.update(source="### BEGIN SOLUTION\nx = 1"), "never ends"),
        (lambda cell: cell.update(source="### BEGIN SOLUTION\n### BEGIN SOLUTION\n"), "inside another"),
        (lambda cell: cell["metadata"].pop("nbgrader"), "isn't marked as one"),
    ],
)
def test_a_notebook_that_cannot_be_released(tmp_path: Path, change: Callable[[Any], object], words: str) -> None:
    """Is a source notebook that nbgrader couldn't release answered with one sentence that names the cell?"""
    notebook = lab_notebook()
    cell = next(c for c in notebook["cells"] if c["metadata"].get("nbgrader", {}).get("solution"))
    cell["source"] = "### BEGIN SOLUTION\nx = 1\n### END SOLUTION"
    change(cell)
    path = tmp_path / "lab03.ipynb"
    path.write_text(json.dumps(notebook), encoding="utf-8")
    with pytest.raises(LabCellsError, match=words) as error:
        register_lab(f"sqlite:///{tmp_path / 'gradebook.db'}", "lab03", path, WHEN)
    assert "lab03.ipynb, cell" in str(error.value)


def test_a_lab_that_changed_before_anything_came_back(url: str, tmp_path: Path) -> None:
    """Before the first hand-in: do cells come, go and change with the notebook?"""
    notebook = lab_notebook()
    notebook["cells"] = [c for c in notebook["cells"] if c["id"] != "evidence"]
    next(c for c in notebook["cells"] if c["id"] == "remedy")["metadata"]["nbgrader"]["points"] = 7
    path = tmp_path / "changed.ipynb"
    path.write_text(json.dumps(notebook), encoding="utf-8")
    fresh = f"sqlite:///{tmp_path / 'fresh.db'}"
    register_lab(url, "lab03", path, WHEN)
    register_lab(fresh, "lab03", path, WHEN)
    assert _cells(url) == _cells(fresh)


def test_repeating_changes_nothing(url: str, tmp_path: Path) -> None:
    entries = [Entry("ana", WHEN, FULL)]
    write_marks(url, "lab03", CLASS, entries)
    before = dump(url)
    register_lab(url, "lab03", tmp_path / "lab03.ipynb", WHEN)
    assert write_marks(url, "lab03", CLASS, entries) == 0
    assert dump(url) == before


def test_a_persons_work_stays(url: str) -> None:
    write_marks(url, "lab03", CLASS, [Entry("ana", WHEN, FULL)])
    with Gradebook(url) as book:
        grade = book.find_grade("reflection", "lab03", "lab03", "ana")
        grade.manual_score, grade.needs_manual_grade = 8.0, False
        book.find_comment("reflection", "lab03", "lab03", "ana").manual_comment = "Well thought."
        book.db.commit()
    write_marks(url, "lab03", CLASS, [Entry("ana", WHEN, FULL)])
    with Gradebook(url) as book:
        assert book.find_submission("lab03", "ana").score == 108.0
        assert not book.find_submission("lab03", "ana").needs_manual_grade
    assert manual_scores(url, "lab03") == {"ana": {"reflection": 8.0}}
    # Another hand-in by the same learner: the score stays, and the person is asked to look again.
    later = WHEN.replace(day=15)
    write_marks(url, "lab03", CLASS, [Entry("ana", later, {**FULL, "evidence": 0.0})])
    with Gradebook(url) as book:
        ana = book.find_submission("lab03", "ana")
        assert ana.score == 83.0 and ana.needs_manual_grade
        assert book.find_comment("reflection", "lab03", "lab03", "ana").comment == "Well thought."


def test_nothing_is_written_when_it_fails(url: str) -> None:
    write_marks(url, "lab03", CLASS, [Entry("ana", WHEN, FULL)])
    before = dump(url)
    bad = [Entry("bo", WHEN, FULL), Entry("bo", WHEN, FULL)]
    with pytest.raises(GradebookError, match="can't be used"):
        write_marks(url, "lab03", CLASS, bad)
    assert dump(url) == before


@pytest.mark.parametrize(
    ("url", "words"),
    [("nonsense", "isn't a database URL"), ("nosuch://x", "isn't a database URL"), ("sqlite:////no/such/folder/g.db", "unable to open")],
)
def test_bad_addresses(url: str, words: str) -> None:
    with pytest.raises(GradebookError, match=words) as error:
        write_marks(url, "lab03", CLASS, [])
    assert "\n" not in str(error.value)


def test_changed_lab_is_named(url: str, tmp_path: Path) -> None:
    write_marks(url, "lab03", CLASS, [Entry("ana", WHEN, FULL)])
    notebook = lab_notebook()
    notebook["cells"] = [c for c in notebook["cells"] if c["id"] != "evidence"]
    import nbformat

    nbformat.write(notebook, tmp_path / "lab03.ipynb")
    with pytest.raises(GradebookError, match="added to or taken from"):
        register_lab(url, "lab03", tmp_path / "lab03.ipynb", WHEN)


def test_a_class_of_300(url: str) -> None:
    """Are 300 learners and 1800 grades written in one go, and all of them?"""
    learners = [Learner(f"l{n}", f"L {n}") for n in range(300)]
    assert write_marks(url, "lab03", learners, [Entry(x.id, WHEN, FULL) for x in learners]) == 1800
