"""A text twin, read: Markdown in, a notebook out, the same one every time.

A twin is jupytext Markdown. A ``python`` fence is a code cell; text up to the next heading or fence is a Markdown
cell; ``<!-- #region … -->`` to ``<!-- #endregion -->`` fences a Markdown cell that carries metadata. nbgrader's
metadata stands behind the fence, and only what isn't nbgrader's default has to be written::

    ```python nbgrader={"grade_id": "open", "locked": true}
    ```python nbgrader={"grade_id": "answers-figures", "solution": true}
    ```python nbgrader={"grade_id": "evidence", "grade": true, "points": 25}
    <!-- #region nbgrader={"grade_id": "reflection", "grade": true, "solution": true, "points": 10} -->

Cell ids come from names, so that a change in one place leaves the rest of the file alone.
"""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import jupytext
import nbformat

from tankside.errors import TanksideError
from tankside_autograder.rebuild import MAGIC

GRADE_ID = re.compile(r"[A-Za-z0-9_-]{1,60}")
FLAGS = ("grade", "solution", "locked", "task")
KEPT_METADATA = {"nbgrader", "tags", "jupyter", "editable", "deletable"}
REGIONS = ("SOLUTION", "HIDDEN TESTS", "MARK SCHEME")
KERNEL = {"display_name": "Python 3 (ipykernel)", "language": "python", "name": "python3"}


class TwinError(TanksideError):
    """A text twin that can't become a lesson or lab. Names file, cell, what is wrong and what would be right."""

    def __init__(self, file: Path | str, cell: str, wrong: str) -> None:
        self.file, self.cell, self.wrong = str(file), cell, wrong
        super().__init__(f"{file}: {cell}: {wrong}" if cell else f"{file}: {wrong}")


@dataclass
class _Cells:
    """Hands out ids: a cell's grade id, else the heading above it with a number."""

    heading: str = "top"
    count: int = 0
    taken: set[str] = field(default_factory=set)

    def name(self, cell: Any) -> str:
        found = re.match(r"\s*#{1,6}\s+(.+)", cell.source) if cell.cell_type == "markdown" else None
        if found:
            self.heading, self.count = slug(found.group(1)) or "part", 0
        self.count += 1
        grade_id = cell.metadata.get("nbgrader", {}).get("grade_id")
        if grade_id:
            return str(grade_id)
        wanted = self.heading if self.count == 1 else f"{self.heading}-{self.count}"
        name, more = wanted, 1
        while name in self.taken:
            more += 1
            name = f"{wanted}-{more}"
        self.taken.add(name)
        return name


def slug(text: str) -> str:
    """Letters, digits and dashes only, at most 50 of them."""
    plain = unicodedata.normalize("NFKD", text).encode("ascii", "ignore").decode("ascii").lower()
    return re.sub(r"[^a-z0-9]+", "-", plain).strip("-")[:50].strip("-")


def read_twin(path: Path, *, lab: bool, shown: Path | str | None = None) -> nbformat.NotebookNode:
    """The notebook that ``path`` stands for: no outputs, fixed metadata, cell ids from names.

    ``lab`` says whether it is a lab (graded cells are needed) or a lesson (none are allowed). ``shown`` is how errors
    name the file. Raises ``TwinError``.
    """
    file = shown or path
    try:
        text = path.read_text(encoding="utf-8")
    except UnicodeDecodeError as error:
        raise TwinError(file, "", f"byte {error.start} isn't UTF-8. Save the file as UTF-8.") from None
    _check_fences(text, file)
    try:
        parsed = jupytext.reads(text, fmt={"extension": ".md", "split_at_heading": True})
    except Exception as error:
        # jupytext passes on whatever its YAML and fence readers raise.
        raise TwinError(
            file, "", f"can't be read as jupytext Markdown: {str(error).splitlines()[0]}"
        ) from None
    cells: list[Any] = []
    grade_ids: set[str] = set()
    for number, old in enumerate(parsed.cells, 1):
        metadata = {key: value for key, value in old.metadata.items() if key in KEPT_METADATA}
        where = f"cell {number}"
        if "nbgrader" in metadata:
            metadata["nbgrader"], where = _complete(metadata["nbgrader"], old.cell_type, file, number)
            if not lab:
                raise TwinError(file, where, "a lesson isn't marked; take the nbgrader part away.")
            grade_id = metadata["nbgrader"]["grade_id"]
            if grade_id in grade_ids:
                raise TwinError(
                    file, where, f"the grade_id {grade_id!r} stands twice. Each cell needs its own."
                )
            grade_ids.add(grade_id)
        if old.cell_type == "code":
            cell = nbformat.v4.new_code_cell(old.source, metadata=metadata)
        elif old.cell_type == "markdown":
            cell = nbformat.v4.new_markdown_cell(old.source, metadata=metadata)
        else:
            raise TwinError(file, where, f"a {old.cell_type} cell has no place here. Use text or python.")
        _check_cell(cell, file, where)
        cells.append(cell)
    names = _Cells(taken=set(grade_ids))
    for cell in cells:
        cell.id = names.name(cell)
    if not any(cell.source.strip() for cell in cells):
        raise TwinError(file, "", "the file is empty.")
    if lab and not any(cell.metadata.get("nbgrader", {}).get("solution") for cell in cells):
        raise TwinError(
            file, "", 'no cell takes an answer. Mark one: nbgrader={"grade_id": "…", "solution": true}'
        )
    notebook = nbformat.v4.new_notebook(
        cells=cells, metadata={"kernelspec": dict(KERNEL), "language_info": {"name": "python"}}
    )
    notebook.nbformat_minor = 5
    nbformat.validate(notebook)
    return notebook


def _complete(given: Any, kind: str, file: Path | str, number: int) -> tuple[dict[str, Any], str]:
    """nbgrader's metadata with its defaults filled in, and the cell's name for errors."""
    where = f"cell {number}"
    if not isinstance(given, dict):
        raise TwinError(
            file, where, f'nbgrader is {given!r}. Right is {{"grade_id": "…", …}}, as JSON on one line.'
        )
    name = given.get("grade_id")
    if not isinstance(name, str) or not GRADE_ID.fullmatch(name):
        raise TwinError(file, where, f"grade_id is {name!r}. It needs 1 to 60 letters, digits, - or _.")
    where = f"cell {number} ({name})"
    strange = sorted(set(given) - {"grade_id", "points", "schema_version", "cell_type", *FLAGS})
    if strange:
        raise TwinError(
            file, where, f"nbgrader knows no {strange[0]!r}. It knows {', '.join((*FLAGS, 'points'))}."
        )
    for key in FLAGS:
        if not isinstance(given.get(key, False), bool):
            raise TwinError(file, where, f"{key} is {given[key]!r}. Right is true or false.")
    grade, solution, task = (given.get(key, False) for key in ("grade", "solution", "task"))
    # A cell that is marked but takes no answer is a test: nobody but its writer may change it.
    locked = given.get("locked", not solution)
    if locked and solution:
        raise TwinError(file, where, "it is locked and takes an answer. One of the two.")
    complete = {"grade_id": name, "grade": grade, "solution": solution, "locked": locked, "task": task}
    points = given.get("points")
    if grade or task:
        if isinstance(points, bool) or not isinstance(points, int | float) or points < 0:
            raise TwinError(file, where, f"points is {points!r}. A marked cell needs points, such as 10.")
        complete["points"] = points
    elif points is not None:
        raise TwinError(file, where, 'it has points but isn\'t marked. Add "grade": true or take them away.')
    if kind == "markdown" and grade and not solution:
        raise TwinError(file, where, 'a text cell is marked by a person, so it also needs "solution": true.')
    return {**complete, "schema_version": 3}, where


def _check_fences(text: str, file: Path | str) -> None:
    """An open fence would swallow the rest of the file without a word."""
    fence, opened, region = "", 0, 0
    for number, line in enumerate(text.splitlines(), 1):
        found = re.match(r"(`{3,}|~{3,})(.*)", line)
        if fence:
            if found and found.group(1).startswith(fence) and not found.group(2).strip():
                fence = ""
        elif found:
            fence, opened = found.group(1), number
        elif line.startswith("<!-- #region"):
            if region:
                raise TwinError(file, f"line {number}", f"a region starts inside the one of line {region}.")
            region = number
        elif line.startswith("<!-- #endregion"):
            if not region:
                raise TwinError(file, f"line {number}", "a region ends that didn't start.")
            region = 0
    if fence:
        raise TwinError(file, f"line {opened}", f"the fence {fence} is never closed.")
    if region:
        raise TwinError(
            file, f"line {region}", "the region is never closed. Close it with <!-- #endregion -->"
        )


def _check_cell(cell: Any, file: Path | str, where: str) -> None:
    nbgrader = cell.metadata.get("nbgrader", {})
    lines = cell.source.splitlines()
    first = next((line.strip() for line in lines if line.strip()), "")
    if (
        cell.cell_type == "code"
        and first.startswith("%%")
        and not first.startswith((MAGIC, "%%time", "%%capture"))
    ):
        raise TwinError(
            file, where, f"a {first.split()[0]} cell. Only python runs; fence other text as ```text."
        )
    found = {region: _region(region, lines, file, where) for region in REGIONS}
    if found["SOLUTION"] and not nbgrader.get("solution"):
        raise TwinError(file, where, 'an answer stands in a cell that isn\'t marked "solution": true.')
    if (found["HIDDEN TESTS"] or found["MARK SCHEME"]) and not nbgrader.get("grade"):
        raise TwinError(file, where, 'hidden tests stand in a cell that isn\'t marked "grade": true.')
    if cell.cell_type == "code" and nbgrader.get("solution"):
        if not first.startswith(MAGIC):
            raise TwinError(
                file, where, f"an answer cell starts with {MAGIC}; this one starts with {first!r}."
            )
        if not found["SOLUTION"]:
            raise TwinError(
                file, where, "no ### BEGIN SOLUTION … ### END SOLUTION; learners would get an empty cell."
            )


def _region(kind: str, lines: list[str], file: Path | str, where: str) -> int:
    """How many regions of this kind there are; each must be closed, and none stands in another."""
    opened, count = 0, 0
    for number, line in enumerate(lines, 1):
        if f"BEGIN {kind}" in line:
            if opened:
                raise TwinError(
                    file, where, f"line {number}: BEGIN {kind} again, before the END of line {opened}."
                )
            opened, count = number, count + 1
        elif f"END {kind}" in line:
            if not opened:
                raise TwinError(file, where, f"line {number}: END {kind} without a BEGIN {kind}.")
            opened = 0
    if opened:
        raise TwinError(file, where, f"line {opened}: BEGIN {kind} has no END {kind}.")
    return count
