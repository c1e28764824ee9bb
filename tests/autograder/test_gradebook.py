"""Does nbgrader's own gradebook take our marks, and does a person's work in it stay?"""

from __future__ import annotations

import os
import sqlite3
import sys
from datetime import UTC, datetime
from pathlib import Path

import pytest
from nbgrader.api import Gradebook

from tankside_autograder.gradebook import (
    Entry,
    GradebookError,
    _schema_version,
    manual_scores,
    open_engine,
    register_lab,
    write_marks,
)
from tankside_autograder.roster import Learner

from .fakelab import PARTS, lab_notebook, write_lab

CLASS = [Learner("ana", "Ana Maria Lis", "ana@example.org"), Learner("bo", "Bo"), Learner("zed", "Zed Om")]
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

    def cells(address: str) -> list[tuple[object, ...]]:
        with sqlite3.connect(address.removeprefix("sqlite:///")) as database:
            source = database.execute("select name, cell_type, locked, source, checksum from source_cell").fetchall()
            graded = database.execute("select name, max_score, cell_type from base_cell join grade_cells using (id)")
            return sorted(source, key=repr) + sorted(graded.fetchall(), key=repr)

    assert cells(url) == cells(stock) != []


def test_schema_version_is_nbgraders(monkeypatch: pytest.MonkeyPatch) -> None:
    from nbgrader.api import get_alembic_version

    monkeypatch.setenv("PATH", f"{Path(sys.executable).parent}{os.pathsep}{os.environ['PATH']}")
    assert _schema_version() == get_alembic_version()


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
