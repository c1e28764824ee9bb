"""A lab's cells as nbgrader's gradebook holds them: what is released, its checksum, and what each is worth.

What nbgrader's generate step does to a notebook, for notebooks that are well formed as ours are built to be; a test
compares the outcome with nbgrader's own.
"""

from __future__ import annotations

import hashlib
import json
import re
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from traitlets.config.loader import PyFileConfigLoader

from tankside.errors import TanksideError

METADATA = 3
"""Version of the metadata that nbgrader keeps in a cell."""
CODE_STUB, TEXT_STUB = "# YOUR CODE HERE\nraise NotImplementedError()", "YOUR ANSWER HERE"
"""nbgrader's own words for what was taken out, where the settings name none."""
BEGIN, END = "BEGIN SOLUTION", "END SOLUTION"


class LabCellsError(TanksideError):
    """A lab's notebook that the gradebook can't take."""


@dataclass(frozen=True)
class Cell:
    """One cell that nbgrader knows by name. ``source`` is as released; ``points`` is None where none are given."""

    name: str
    kind: str
    source: str
    grade: bool
    solution: bool
    task: bool
    locked: bool
    points: float | None

    @property
    def checksum(self) -> str | None:
        """nbgrader's: of source, kind, flags, name and points."""
        if not (self.grade or self.solution or self.locked):
            return None
        parts = [self.source, self.kind, str(self.grade), str(self.solution), str(self.locked), self.name]
        parts += [str(self.points)] if self.grade else []
        return hashlib.md5("".join(parts).encode(), usedforsecurity=False).hexdigest()


def cells_of(path: Path, settings: Path | None = None) -> tuple[list[Cell], str]:
    """The named cells of a source notebook, and its kernel's description as JSON.

    ``settings`` is the ``nbgrader_config.py`` that says what stands where a solution was taken out.
    Raises ``LabCellsError`` naming notebook and cell.
    """
    content = json.loads(path.read_text(encoding="utf-8"))
    stubs = _stubs(settings)
    found = []
    for number, cell in enumerate(content["cells"], 1):
        meta = cell.get("metadata", {}).get("nbgrader", {})
        where = f"{path.name}, cell {meta.get('grade_id') or number}"
        source = cell["source"] if isinstance(cell["source"], str) else "".join(cell["source"])
        released = _cleared(source, cell["cell_type"], bool(meta.get("solution")), stubs, where)
        if not any(meta.get(flag) for flag in ("grade", "solution", "task", "locked")):
            continue
        if meta.get("schema_version") != METADATA:
            raise LabCellsError(
                f"{where}: its nbgrader metadata is of version {meta.get('schema_version')}, not {METADATA}. "
                "Run: nbgrader update"
            )
        grade, solution = bool(meta.get("grade")), bool(meta.get("solution"))
        task, locked = bool(meta.get("task")), not solution and bool(grade or meta.get("locked"))
        points = float(meta["points"]) if grade or task else None
        found.append(
            Cell(meta["grade_id"], cell["cell_type"], released, grade, solution, task, locked, points)
        )
    return found, json.dumps(content.get("metadata", {}).get("kernelspec", {}))


def _stubs(settings: Path | None) -> dict[str, str]:
    """Kind of cell -> what stands where a solution was taken out."""
    chosen: Any = {}
    if settings is not None and settings.is_file():
        whole = PyFileConfigLoader(settings.name, path=str(settings.parent)).load_config()
        chosen = whole.ClearSolutions if "ClearSolutions" in whole else {}
    code = chosen.get("code_stub", {}).get("python", CODE_STUB)
    return {"code": code, "markdown": chosen.get("text_stub", TEXT_STUB)}


def _cleared(source: str, kind: str, solution: bool, stubs: dict[str, str], where: str) -> str:
    """A cell's source without its solution: its marked regions, or all of it."""
    if BEGIN not in source:
        return stubs.get(kind, source) if solution else source
    if not solution:
        raise LabCellsError(
            f"{where}: a solution stands in a cell that isn't marked as one (nbgrader: solution)."
        )
    out, inside = [], False
    for line in source.split("\n"):
        if BEGIN in line:
            if inside:
                raise LabCellsError(f"{where}: a solution begins inside another.")
            indent = re.match(r"\s*", line).group(0)  # type: ignore[union-attr]
            out += [indent + stub for stub in stubs.get(kind, stubs["markdown"]).split("\n")]
            inside = True
        elif END in line:
            inside = False
        elif not inside:
            out.append(line)
    if inside:
        raise LabCellsError(f"{where}: a solution begins and never ends.")
    return "\n".join(out)
