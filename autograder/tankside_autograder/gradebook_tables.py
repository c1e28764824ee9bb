"""The tables of nbgrader's gradebook, written down here so that marking needn't load all of nbgrader to fill them.

A test compares every table with nbgrader's own, and ``SCHEMA`` with the version that nbgrader gives its databases.
"""

from __future__ import annotations

from sqlalchemy import (
    Boolean,
    Column,
    DateTime,
    Enum,
    Float,
    ForeignKey,
    Interval,
    MetaData,
    String,
    Table,
    Text,
    UniqueConstraint,
)

SCHEMA = "e43177bfe90b"
"""Version of these tables, as nbgrader's own migrations count it (nbgrader 0.9)."""

TABLES = MetaData()


def _id() -> Column[str]:
    return Column("id", String(32), primary_key=True)


def _refers(name: str, to: str, length: int = 32, *, nullable: bool = True) -> Column[str]:
    return Column(name, String(length), ForeignKey(f"{to}.id"), nullable=nullable)


def _cell_type(name: str) -> Column[str]:
    return Column("cell_type", Enum("code", "markdown", name=name, validate_strings=True), nullable=False)


course = Table("course", TABLES, Column("id", String(128), unique=True, primary_key=True, nullable=False))
student = Table(
    "student",
    TABLES,
    Column("id", String(128), primary_key=True, nullable=False),
    Column("first_name", String(128)),
    Column("last_name", String(128)),
    Column("email", String(128)),
    Column("lms_user_id", String(128)),
)
assignment = Table(
    "assignment",
    TABLES,
    _id(),
    Column("name", String(128), unique=True, nullable=False),
    Column("duedate", DateTime),
    _refers("course_id", "course", 128, nullable=False),
)
notebook = Table(
    "notebook",
    TABLES,
    _id(),
    Column("name", String(128), nullable=False),
    _refers("assignment_id", "assignment"),
    Column("kernelspec", String(1024)),
    UniqueConstraint("name", "assignment_id"),
)
base_cell = Table(
    "base_cell",
    TABLES,
    _id(),
    Column("name", String(128), nullable=False),
    _refers("notebook_id", "notebook", nullable=False),
    Column("type", String(50)),
    UniqueConstraint("name", "notebook_id", "type"),
)


def _graded(name: str) -> Table:
    return Table(
        name,
        TABLES,
        Column("id", String(32), ForeignKey("base_cell.id"), primary_key=True),
        Column("max_score", Float, nullable=False),
        _cell_type("grade_cell_type"),
    )


grade_cells = _graded("grade_cells")
task_cells = _graded("task_cells")
solution_cells = Table(
    "solution_cells", TABLES, Column("id", String(32), ForeignKey("base_cell.id"), primary_key=True)
)
source_cell = Table(
    "source_cell",
    TABLES,
    _id(),
    Column("name", String(128), nullable=False),
    _cell_type("source_cell_type"),
    Column("locked", Boolean, nullable=False),
    Column("source", Text),
    Column("checksum", String(128)),
    _refers("notebook_id", "notebook"),
    UniqueConstraint("name", "notebook_id"),
)
submitted_assignment = Table(
    "submitted_assignment",
    TABLES,
    _id(),
    _refers("assignment_id", "assignment"),
    _refers("student_id", "student", 128),
    Column("timestamp", DateTime),
    Column("extension", Interval),
    UniqueConstraint("assignment_id", "student_id"),
)
submitted_notebook = Table(
    "submitted_notebook",
    TABLES,
    _id(),
    _refers("assignment_id", "submitted_assignment"),
    _refers("notebook_id", "notebook"),
    Column("flagged", Boolean),
    Column("late_submission_penalty", Float),
    UniqueConstraint("notebook_id", "assignment_id"),
)
grade = Table(
    "grade",
    TABLES,
    _id(),
    _refers("notebook_id", "submitted_notebook"),
    _refers("cell_id", "base_cell"),
    Column("auto_score", Float),
    Column("manual_score", Float),
    Column("extra_credit", Float),
    Column("needs_manual_grade", Boolean, nullable=False),
    UniqueConstraint("cell_id", "notebook_id"),
)
comment = Table(
    "comment",
    TABLES,
    _id(),
    _refers("notebook_id", "submitted_notebook"),
    _refers("cell_id", "base_cell"),
    Column("auto_comment", Text),
    Column("manual_comment", Text),
    UniqueConstraint("cell_id", "notebook_id"),
)
alembic_version = Table("alembic_version", MetaData(), Column("version_num", String(32), nullable=False))
"""Apart from the others: only a database that is made here gets it."""
