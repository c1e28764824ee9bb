"""Marks into nbgrader's own gradebook, so that its form grader shows them. SQLite, or any SQLAlchemy URL.

nbgrader's classes commit after every cell; here a whole class goes in with a few statements in one transaction,
so that a run that is killed leaves the gradebook as it was.
"""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any
from uuid import NAMESPACE_URL, uuid5

from sqlalchemy import create_engine, insert, inspect, select, text, update
from sqlalchemy.engine import Engine
from sqlalchemy.exc import ArgumentError, NoSuchModuleError, SQLAlchemyError
from sqlalchemy.orm import Session
from traitlets.config import Config
from traitlets.config.loader import PyFileConfigLoader

from tankside.errors import TanksideError
from tankside_autograder.roster import Learner

COURSE = "default_course"


class GradebookError(TanksideError):
    """The gradebook can't be opened or doesn't fit the lab."""


@dataclass(frozen=True)
class Entry:
    """One learner's line: ``scores`` by grade id (None: a person must give it), ``blank`` the unanswered cells."""

    learner: str
    received: datetime | None
    scores: dict[str, float | None]
    blank: frozenset[str] = frozenset()
    penalty: float = 0.0


def open_engine(url: str) -> Engine:
    """The database, its tables made when it is new. Raises ``GradebookError`` naming what is wrong with the URL."""
    from nbgrader.api import Base

    try:
        engine = create_engine(url)
        fresh = not inspect(engine).get_table_names()
        Base.metadata.create_all(engine)
        if fresh:
            with engine.begin() as connection:
                connection.execute(text("CREATE TABLE alembic_version (version_num VARCHAR(32) NOT NULL)"))
                connection.execute(text("INSERT INTO alembic_version VALUES (:v)"), {"v": _schema_version()})
    except (ArgumentError, NoSuchModuleError):
        raise GradebookError(
            f"The gradebook's address {url!r} isn't a database URL. "
            "Right would be: sqlite:///gradebook.db or postgresql://user@host/name"
        ) from None
    except ImportError as error:
        raise GradebookError(f"The gradebook's address {url!r} needs a driver that isn't installed: {error.name}.") from None
    except SQLAlchemyError as error:
        raise GradebookError(_said(url, error)) from None
    return engine


def _schema_version() -> str:
    # nbgrader asks the alembic command for this; that needs the command to be on the search path.
    from alembic.script import ScriptDirectory
    from nbgrader.dbutil import ALEMBIC_DIR

    return str(ScriptDirectory(ALEMBIC_DIR).get_current_head())


def _said(url: str, error: SQLAlchemyError) -> str:
    reason = str(getattr(error, "orig", None) or error).splitlines()[0]
    return f"The gradebook {url} can't be used: {reason}"


def register_lab(url: str, lab: str, source: Path, due: datetime | None, settings: Path | None = None) -> None:
    """Tell the gradebook of a lab's cells, exactly as nbgrader's own generate step would. Repeating it is harmless.

    ``settings`` is the ``nbgrader_config.py`` that says what stands where a solution was taken out.
    """
    import nbformat
    from nbgrader import preprocessors as steps
    from nbgrader.api import Assignment, Course
    from nbgrader.nbgraderformat import reads

    engine = open_engine(url)
    try:
        with Session(engine) as session, session.begin():
            if session.get(Course, COURSE) is None:
                session.add(Course(id=COURSE))
                session.flush()
            found = session.scalars(select(Assignment).where(Assignment.name == lab)).one_or_none()
            if found is None:
                found = Assignment(name=lab, course_id=COURSE)
                session.add(found)
            found.duedate = _naive(due)
        notebook = reads(source.read_text(encoding="utf-8"), as_version=nbformat.current_nbformat)
        resources = {"nbgrader": {"notebook": lab, "assignment": lab, "db_url": url}}
        config = _settings(settings)
        for step in (steps.LockCells, steps.ClearSolutions, steps.ClearOutput, steps.ComputeChecksums, steps.SaveCells):
            notebook, resources = step(config=config).preprocess(notebook, resources)
    except RuntimeError as error:
        if "Cannot add or remove cells" not in str(error):
            raise
        raise GradebookError(
            f"{lab}: cells were added to or taken from the lab's notebook after hand-ins were marked. "
            "Put the notebook back as it was, or start a new gradebook."
        ) from None
    except SQLAlchemyError as error:
        raise GradebookError(_said(url, error)) from None
    finally:
        engine.dispose()


def _settings(path: Path | None) -> Config:
    if path is None or not path.is_file():
        return Config()
    whole = PyFileConfigLoader(path.name, path=str(path.parent)).load_config()
    return Config(ClearSolutions=whole.ClearSolutions) if "ClearSolutions" in whole else Config()


def write_marks(url: str, lab: str, learners: Iterable[Learner], entries: Iterable[Entry]) -> int:
    """Write the class's marks for a registered lab in one transaction; the number of grades that changed.

    A person's own scores (manual scores, extra credit, comments) stay. Raises ``GradebookError``.
    """
    engine = open_engine(url)
    try:
        with Session(engine) as session, session.begin():
            _students(session, learners)
            return _marks(session, lab, list(entries))
    except SQLAlchemyError as error:
        raise GradebookError(_said(url, error)) from None
    finally:
        engine.dispose()


def manual_scores(url: str, lab: str) -> dict[str, dict[str, float]]:
    """Points that a person gave in the form grader: learner id -> grade id -> points."""
    from nbgrader import api

    engine = open_engine(url)
    try:
        with Session(engine) as session:
            rows = session.execute(
                select(api.SubmittedAssignment.student_id, api.BaseCell.name, api.Grade.manual_score)
                .join(api.SubmittedNotebook, api.SubmittedNotebook.assignment_id == api.SubmittedAssignment.id)
                .join(api.Grade, api.Grade.notebook_id == api.SubmittedNotebook.id)
                .join(api.BaseCell, api.BaseCell.id == api.Grade.cell_id)
                .join(api.Assignment, api.Assignment.id == api.SubmittedAssignment.assignment_id)
                .where(api.Assignment.name == lab, api.Grade.manual_score.is_not(None))
            ).all()
    finally:
        engine.dispose()
    out: dict[str, dict[str, float]] = {}
    for learner, cell, points in rows:
        out.setdefault(learner, {})[cell] = float(points)
    return out


def _students(session: Session, learners: Iterable[Learner]) -> None:
    from nbgrader.api import Student

    known = {s.id: s for s in session.scalars(select(Student))}
    fresh: list[dict[str, Any]] = []
    for learner in learners:
        first, _, last = learner.name.rpartition(" ")
        values = {"first_name": first or last, "last_name": last if first else "", "email": learner.email or None}
        if learner.id not in known:
            fresh.append({"id": learner.id, **values})
            continue
        for key, value in values.items():
            if getattr(known[learner.id], key) != value:
                setattr(known[learner.id], key, value)
    if fresh:
        session.execute(insert(Student.__table__), fresh)


def _marks(session: Session, lab: str, entries: list[Entry]) -> int:
    from nbgrader import api

    notebook = session.scalars(
        select(api.Notebook).join(api.Assignment).where(api.Assignment.name == lab, api.Notebook.name == lab)
    ).one_or_none()
    if notebook is None:
        raise GradebookError(f"The gradebook doesn't know the lab {lab}.")
    cells = {cell.name: cell.id for cell in notebook.grade_cells}
    solutions = {cell.name: cell.id for cell in notebook.solution_cells}
    submitted = {
        row.student_id: row
        for row in session.execute(
            select(api.SubmittedAssignment.__table__).where(
                api.SubmittedAssignment.assignment_id == notebook.assignment_id
            )
        )
    }
    notebooks = {
        row.assignment_id: row
        for row in session.execute(
            select(api.SubmittedNotebook.__table__).where(api.SubmittedNotebook.notebook_id == notebook.id)
        )
    }
    held = [row.id for row in notebooks.values()]
    grades = _by_cell(session, api.Grade, held)
    comments = _by_cell(session, api.Comment, held)
    new: dict[Any, list[dict[str, Any]]] = {
        t: [] for t in (api.SubmittedAssignment, api.SubmittedNotebook, api.Grade, api.Comment)
    }
    old: dict[Any, list[dict[str, Any]]] = {t: [] for t in new}
    for entry in entries:
        received = _naive(entry.received)
        before = submitted.get(entry.learner)
        sub_id = before.id if before else _id(lab, entry.learner)
        if before is None:
            values = {"assignment_id": notebook.assignment_id, "student_id": entry.learner, "timestamp": received}
            new[api.SubmittedAssignment].append({"id": sub_id, **values})
        elif before.timestamp != received:
            old[api.SubmittedAssignment].append({"id": sub_id, "timestamp": received})
        other = before is not None and before.timestamp != received
        book = notebooks.get(sub_id)
        book_id = book.id if book else _id(lab, entry.learner, "notebook")
        penalty = {"late_submission_penalty": entry.penalty}
        if book is None:
            values = {"notebook_id": notebook.id, "assignment_id": sub_id, "flagged": False, **penalty}
            new[api.SubmittedNotebook].append({"id": book_id, **values})
        elif book.late_submission_penalty != entry.penalty:
            old[api.SubmittedNotebook].append({"id": book_id, **penalty})
        for name, cell in cells.items():
            score = entry.scores.get(name)
            grade = grades.get((book_id, cell))
            if grade is None:
                values = {"notebook_id": book_id, "cell_id": cell, "auto_score": score}
                new[api.Grade].append(
                    {"id": _id(lab, entry.learner, name), "needs_manual_grade": score is None, **values}
                )
            elif other or grade.auto_score != score:
                # A person's score was for the hand-in before: they should look again, as nbgrader has it.
                again = score is None or grade.manual_score is not None
                old[api.Grade].append({"id": grade.id, "auto_score": score, "needs_manual_grade": again})
        for name, cell in solutions.items():
            said = "No response." if name in entry.blank else None
            comment = comments.get((book_id, cell))
            if comment is None:
                values = {"notebook_id": book_id, "cell_id": cell, "auto_comment": said}
                new[api.Comment].append({"id": _id(lab, entry.learner, name, "comment"), **values})
            elif comment.auto_comment != said:
                old[api.Comment].append({"id": comment.id, "auto_comment": said})
    for table, rows in new.items():
        if rows:
            session.execute(insert(table.__table__), rows)
    for table, rows in old.items():
        if rows:
            session.execute(update(table), rows)
    return len(new[api.Grade]) + len(old[api.Grade])


def _by_cell(session: Session, table: Any, notebooks: list[str]) -> dict[tuple[str, str], Any]:
    found: dict[tuple[str, str], Any] = {}
    for start in range(0, len(notebooks), 500):  # databases limit how many values one statement may carry
        some = notebooks[start : start + 500]
        for row in session.execute(select(table.__table__).where(table.notebook_id.in_(some))):
            found[(row.notebook_id, row.cell_id)] = row
    return found


def _id(*names: str) -> str:
    return uuid5(NAMESPACE_URL, json.dumps(names)).hex


def _naive(when: datetime | None) -> datetime | None:
    """nbgrader keeps times without a zone, in UTC."""
    return when.astimezone(UTC).replace(tzinfo=None) if when else None
