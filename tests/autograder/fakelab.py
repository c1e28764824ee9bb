"""A small lab notebook and learner's notebooks made from it, for tests that need no real lab."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import nbformat
from nbformat.v4 import new_code_cell, new_markdown_cell, new_notebook

from tankside.labs import load_lab
from tankside.report import LABELS

PARTS = {"safe-working": 25, "evidence": 25, "diagnosis": 25, "remedy": 15, "figures": 10}


def _nbgrader(grade_id: str, **more: Any) -> dict[str, Any]:
    meta = {"grade_id": grade_id, "grade": False, "solution": False, "locked": False, "task": False, "schema_version": 3}
    return {"nbgrader": {**meta, **more}}


def lab_notebook(lab: str = "lab03") -> nbformat.NotebookNode:
    """A released lab in nbgrader's form: two answer cells, a reflection, five test cells."""
    cells = [
        new_markdown_cell("# Call-out", id="head"),
        new_code_cell(f'from tankside import open_lab\nlab = open_lab("{lab}")', id="open",
                      metadata=_nbgrader("open", locked=True)),
        new_code_cell("%%answers\n# Figures\n" + "\n".join(f"{figure.label} = " for figure in load_lab(lab).figure),
                      id="answers-figures",
                      metadata=_nbgrader("answers-figures", solution=True)),
        new_code_cell("%%answers\n" + "\n".join(f"{label} = " for label in LABELS.values()), id="answers-report",
                      metadata=_nbgrader("answers-report", solution=True)),
        new_markdown_cell("Write here.", id="reflection",
                          metadata=_nbgrader("reflection", grade=True, solution=True, points=10)),
        new_code_cell("lab.hand_in()", id="hand-in", metadata=_nbgrader("hand-in", locked=True)),
        *[
            new_code_cell("# Marked after you hand in.", id=part,
                          metadata=_nbgrader(part, grade=True, locked=True, points=points))
            for part, points in PARTS.items()
        ],
    ]  # fmt: skip
    return new_notebook(cells=cells)


def write_lab(path: Path, lab: str = "lab03") -> Path:
    path.parent.mkdir(parents=True, exist_ok=True)
    nbformat.write(lab_notebook(lab), path)
    return path


def cell(notebook: Any, grade_id: str) -> Any:
    return next(c for c in notebook["cells"] if c["metadata"].get("nbgrader", {}).get("grade_id") == grade_id)


def filled(figures: str = "current = 12.5 A", report: str = "diagnosis = element open", lab: str = "lab03") -> Any:
    """A learner's notebook with answers, as plain JSON data."""
    notebook = json.loads(nbformat.writes(lab_notebook(lab)))
    cell(notebook, "answers-figures")["source"] = f"%%answers\n{figures}"
    cell(notebook, "answers-report")["source"] = f"%%answers\n{report}"
    return notebook


def raw(notebook: Any) -> bytes:
    return json.dumps(notebook).encode("utf-8")
