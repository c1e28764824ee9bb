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
from uuid import NAMESPACE_URL, uuid4, uuid5

from sqlalchemy import Connection, Table, bindparam, create_engine, delete, insert, inspect, select, update
from sqlalchemy.engine import Engine
from sqlalchemy.exc import ArgumentError, NoSuchModuleError, SQLAlchemyError

from tankside.errors import TanksideError
from tankside_autograder import gradebook_tables as tables
from tankside_autograder.gradebook_cells import Cell, cells_of
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
    try:
        engine = create_engine(url)
        fresh = not inspect(engine).get_table_names()
        tables.TABLES.create_all(engine)
        if fresh:
            tables.alembic_version.create(engine, checkfirst=True)
            with engine.begin() as connection:
                connection.execute(insert(tables.alembic_version), {"version_num": tables.SCHEMA})
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


def _said(url: str, error: SQLAlchemyError) -> str:
    reason = str(getattr(error, "orig", None) or error).splitlines()[0]
    return f"The gradebook {url} can't be used: {reason}"


def register_lab(url: str, lab: str, source: Path, due: datetime | None, settings: Path | None = None) -> None:
    """Tell the gradebook of a lab's cells, exactly as nbgrader's own generate step would. Repeating it is harmless.

    ``settings`` is the ``nbgrader_config.py`` that says what stands where a solution was taken out.
    """
    cells, kernel = cells_of(source, settings)
    engine = open_engine(url)
    try:
        with engine.begin() as connection:
            _keep_row(connection, tables.course, {"id": COURSE}, {})
            of = _keep_row(
                connection, tables.assignment, {"name": lab}, {"course_id": COURSE, "duedate": _naive(due)}
            )
            notebook = _keep_row(
                connection, tables.notebook, {"name": lab, "assignment_id": of}, {"kernelspec": kernel}
            )
            _keep_cells(connection, lab, notebook, cells)
    except SQLAlchemyError as error:
        raise GradebookError(_said(url, error)) from None
    finally:
        engine.dispose()


def _keep_row(connection: Connection, table: Table, key: dict[str, Any], values: dict[str, Any]) -> str:
    """The id of the row with that key, made if there is none, holding these values."""
    found = connection.execute(select(table).filter_by(**key)).one_or_none()
    if found is None:
        row = {"id": uuid4().hex, **key, **values}
        connection.execute(insert(table), row)
        return str(row["id"])
    if any(getattr(found, name) != value for name, value in values.items()):
        connection.execute(update(table).filter_by(id=found.id), values)
    return str(found.id)


def _keep_cells(connection: Connection, lab: str, notebook: str, cells: list[Cell]) -> None:
    """Bring the notebook's cells up to date; none comes or goes once there are hand-ins."""
    base, source = tables.base_cell, tables.source_cell
    kinds = {"GradeCell": tables.grade_cells, "SolutionCell": tables.solution_cells, "TaskCell": tables.task_cells}
    wanted: dict[tuple[str, str], dict[str, Any]] = {}
    for cell in cells:
        worth = {"max_score": cell.points, "cell_type": cell.kind}
        for kind, is_one, values in (
            ("GradeCell", cell.grade, worth),
            ("SolutionCell", cell.solution, {}),
            ("TaskCell", cell.task, worth),
        ):
            if is_one:
                wanted[cell.name, kind] = values
    held = {
        (row.name, row.type): row.id for row in connection.execute(select(base).filter_by(notebook_id=notebook))
    }
    sources = set(connection.scalars(select(source.c.name).filter_by(notebook_id=notebook)))
    gone = [held[key] for key in held.keys() - wanted.keys()]
    lost = sources - {cell.name for cell in cells}
    changed = held.keys() != wanted.keys() or sources != {cell.name for cell in cells}
    if changed and _handed_in(connection, notebook):
        raise GradebookError(
            f"{lab}: cells were added to or taken from the lab's notebook after hand-ins were marked. "
            "Put the notebook back as it was, or start a new gradebook."
        )
    for table in (*kinds.values(), base):
        if gone:
            connection.execute(delete(table).where(table.c.id.in_(gone)))
    if lost:
        connection.execute(delete(source).filter_by(notebook_id=notebook).where(source.c.name.in_(lost)))
    for (name, kind), values in wanted.items():
        cell_id = _keep_row(connection, base, {"name": name, "notebook_id": notebook, "type": kind}, {})
        _keep_row(connection, kinds[kind], {"id": cell_id}, values)
    for cell in cells:
        values = {
            "cell_type": cell.kind,
            "locked": cell.locked,
            "source": cell.source,
            "checksum": cell.checksum,
        }
        _keep_row(connection, source, {"name": cell.name, "notebook_id": notebook}, values)


def _handed_in(connection: Connection, notebook: str) -> bool:
    submitted = tables.submitted_notebook
    return connection.execute(select(submitted.c.id).filter_by(notebook_id=notebook).limit(1)).first() is not None


def write_marks(url: str, lab: str, learners: Iterable[Learner], entries: Iterable[Entry]) -> int:
    """Write the class's marks for a registered lab in one transaction; the number of grades that changed.

    A person's own scores (manual scores, extra credit, comments) stay. Raises ``GradebookError``.
    """
    engine = open_engine(url)
    try:
        with engine.begin() as connection:
            _students(connection, learners)
            return _marks(connection, lab, list(entries))
    except SQLAlchemyError as error:
        raise GradebookError(_said(url, error)) from None
    finally:
        engine.dispose()


def manual_scores(url: str, lab: str) -> dict[str, dict[str, float]]:
    """Points that a person gave in the form grader: learner id -> grade id -> points."""
    handed, book, grade, cell = (
        tables.submitted_assignment,
        tables.submitted_notebook,
        tables.grade,
        tables.base_cell,
    )
    engine = open_engine(url)
    try:
        with engine.connect() as connection:
            rows = connection.execute(
                select(handed.c.student_id, cell.c.name, grade.c.manual_score)
                .join_from(handed, book, book.c.assignment_id == handed.c.id)
                .join(grade, grade.c.notebook_id == book.c.id)
                .join(cell, cell.c.id == grade.c.cell_id)
                .join(tables.assignment, tables.assignment.c.id == handed.c.assignment_id)
                .where(tables.assignment.c.name == lab, grade.c.manual_score.is_not(None))
            ).all()
    finally:
        engine.dispose()
    out: dict[str, dict[str, float]] = {}
    for learner, name, points in rows:
        out.setdefault(learner, {})[name] = float(points)
    return out


def _students(connection: Connection, learners: Iterable[Learner]) -> None:
    known = {row.id: row for row in connection.execute(select(tables.student))}
    fresh: list[dict[str, Any]] = []
    for learner in learners:
        first, _, last = learner.name.rpartition(" ")
        values = {"first_name": first or last, "last_name": last if first else "", "email": learner.email or None}
        before = known.get(learner.id)
        if before is None:
            fresh.append({"id": learner.id, **values})
        elif any(getattr(before, key) != value for key, value in values.items()):
            connection.execute(update(tables.student).filter_by(id=learner.id), values)
    if fresh:
        connection.execute(insert(tables.student), fresh)


def _marks(connection: Connection, lab: str, entries: list[Entry]) -> int:
    of, held_in = tables.assignment, tables.notebook
    notebook = connection.execute(
        select(held_in).join(of, of.c.id == held_in.c.assignment_id).where(of.c.name == lab, held_in.c.name == lab)
    ).one_or_none()
    if notebook is None:
        raise GradebookError(f"The gradebook doesn't know the lab {lab}.")
    named = connection.execute(select(tables.base_cell).filter_by(notebook_id=notebook.id)).all()
    cells = {cell.name: cell.id for cell in named if cell.type == "GradeCell"}
    solutions = {cell.name: cell.id for cell in named if cell.type == "SolutionCell"}
    submitted = {
        row.student_id: row
        for row in connection.execute(
            select(tables.submitted_assignment).filter_by(assignment_id=notebook.assignment_id)
        )
    }
    notebooks = {
        row.assignment_id: row
        for row in connection.execute(select(tables.submitted_notebook).filter_by(notebook_id=notebook.id))
    }
    held = [row.id for row in notebooks.values()]
    grades = _by_cell(connection, tables.grade, held)
    comments = _by_cell(connection, tables.comment, held)
    new: dict[Table, list[dict[str, Any]]] = {
        t: [] for t in (tables.submitted_assignment, tables.submitted_notebook, tables.grade, tables.comment)
    }
    old: dict[Table, list[dict[str, Any]]] = {t: [] for t in new}
    for entry in entries:
        received = _naive(entry.received)
        before = submitted.get(entry.learner)
        sub_id = before.id if before else _id(lab, entry.learner)
        if before is None:
            values = {"assignment_id": notebook.assignment_id, "student_id": entry.learner, "timestamp": received}
            new[tables.submitted_assignment].append({"id": sub_id, **values})
        elif before.timestamp != received:
            old[tables.submitted_assignment].append({"id": sub_id, "timestamp": received})
        other = before is not None and before.timestamp != received
        book = notebooks.get(sub_id)
        book_id = book.id if book else _id(lab, entry.learner, "notebook")
        penalty = {"late_submission_penalty": entry.penalty}
        if book is None:
            values = {"notebook_id": notebook.id, "assignment_id": sub_id, "flagged": False, **penalty}
            new[tables.submitted_notebook].append({"id": book_id, **values})
        elif book.late_submission_penalty != entry.penalty:
            old[tables.submitted_notebook].append({"id": book_id, **penalty})
        for name, cell in cells.items():
            score = entry.scores.get(name)
            grade = grades.get((book_id, cell))
            if grade is None:
                values = {"notebook_id": book_id, "cell_id": cell, "auto_score": score}
                new[tables.grade].append(
                    {"id": _id(lab, entry.learner, name), "needs_manual_grade": score is None, **values}
                )
            elif other or grade.auto_score != score:
                # A person's score was for the hand-in before: they should look again, as nbgrader has it.
                again = score is None or grade.manual_score is not None
                old[tables.grade].append({"id": grade.id, "auto_score": score, "needs_manual_grade": again})
        for name, cell in solutions.items():
            said = "No response." if name in entry.blank else None
            comment = comments.get((book_id, cell))
            if comment is None:
                values = {"notebook_id": book_id, "cell_id": cell, "auto_comment": said}
                new[tables.comment].append({"id": _id(lab, entry.learner, name, "comment"), **values})
            elif comment.auto_comment != said:
                old[tables.comment].append({"id": comment.id, "auto_comment": said})
    for table, rows in new.items():
        if rows:
            connection.execute(insert(table), rows)
    for table, rows in old.items():
        if rows:
            names = [name for name in rows[0] if name != "id"]
            statement = update(table).where(table.c.id == bindparam("the_id"))
            statement = statement.values({name: bindparam(name) for name in names})
            connection.execute(statement, [{"the_id": row.pop("id"), **row} for row in rows])
    return len(new[tables.grade]) + len(old[tables.grade])


def _by_cell(connection: Connection, table: Table, notebooks: list[str]) -> dict[tuple[str, str], Any]:
    found: dict[tuple[str, str], Any] = {}
    for start in range(0, len(notebooks), 500):  # databases limit how many values one statement may carry
        some = notebooks[start : start + 500]
        for row in connection.execute(select(table).where(table.c.notebook_id.in_(some))):
            found[(row.notebook_id, row.cell_id)] = row
    return found


def _id(*names: str) -> str:
    return uuid5(NAMESPACE_URL, json.dumps(names)).hex


def _naive(when: datetime | None) -> datetime | None:
    """nbgrader keeps times without a zone, in UTC."""
    return when.astimezone(UTC).replace(tzinfo=None) if when else None
