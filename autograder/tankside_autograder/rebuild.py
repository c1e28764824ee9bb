"""A hand-in's notebook, read for one thing: the text of its answer cells.

Everything else of a marked notebook comes from the source notebook. So a locked cell that was edited, moved,
copied or deleted can't change a mark, and neither can anything a learner's cell would do if it ran.
"""

from __future__ import annotations

import copy
import json
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from tankside.errors import TanksideError

HAND_IN_MIME = "application/vnd.tankside.hand-in+json"
MAX_NOTEBOOK_BYTES = 50 * 1024 * 1024
MAX_CELLS = 2000
MAX_ANSWER_CHARS = 100_000
MAGIC = "%%answers"


class NotebookError(TanksideError):
    """A notebook of the instructor's own that can't be used as a lab's source."""


@dataclass(frozen=True)
class LabSource:
    """The lab as it was handed out.

    ``answers``: grade id -> blank text, of the cells that hold answers (code cells, not marked by hand).
    ``written``: grade id -> blank text, of the cells that a person marks. ``points``: grade id -> points.
    """

    lab: str
    notebook: dict[str, Any]
    answers: dict[str, str]
    written: dict[str, str]
    points: dict[str, float]


@dataclass(frozen=True)
class Reading:
    """What was read from a learner's notebook.

    ``state``: "whole", "salvaged" (the file was broken, some cells could be read), "unreadable", "too big" or
    "other" (a sound notebook without one answer cell of this lab). ``answers`` and ``written`` map grade ids to
    the learner's text; ``copy`` is the copy of order and log that the hand-in cell left in its output, or None.
    """

    state: str
    answers: dict[str, str] = field(default_factory=dict)
    written: dict[str, str] = field(default_factory=dict)
    copy: dict[str, Any] | None = None
    problems: tuple[str, ...] = ()

    @property
    def text(self) -> str:
        """All answer cells' bodies, one after the other, as ``tankside.report.parse_answers`` reads them."""
        return "\n".join(self.answers.values())


def read_lab_source(path: Path) -> LabSource:
    """A lab's notebook as released (or its source). Raises ``NotebookError`` naming file and cell."""
    try:
        notebook = json.loads(path.read_text(encoding="utf-8"))
        cells = notebook["cells"]
    except FileNotFoundError:
        raise NotebookError(f"{path}: the lab's notebook isn't there. Build the exercises first.") from None
    except (ValueError, KeyError, TypeError):
        raise NotebookError(f"{path}: this isn't a notebook that can be read.") from None
    answers: dict[str, str] = {}
    written: dict[str, str] = {}
    points: dict[str, float] = {}
    for number, cell in enumerate(cells, 1):
        meta = _meta(cell)
        name = meta.get("grade_id")
        if not name or not (meta.get("grade") or meta.get("solution")):
            continue
        if name in answers or name in written or name in points:
            raise NotebookError(f"{path}: cell {number}: the grade id {name!r} stands twice.")
        if meta.get("grade"):
            points[name] = float(meta.get("points", 0))
        if meta.get("solution"):
            (written if meta.get("grade") else answers)[name] = source_text(cell)
    if not answers:
        raise NotebookError(f"{path}: no cell is marked as an answer cell (nbgrader: solution).")
    return LabSource(path.stem, notebook, answers, written, points)


def read_notebook(data: bytes, lab: LabSource) -> Reading:
    """Read a learner's notebook. Never raises: whatever is wrong becomes ``state`` and a sentence in ``problems``."""
    if len(data) > MAX_NOTEBOOK_BYTES:
        size = f"{len(data) / 1024**2:.0f} MB"
        return Reading("too big", problems=(f"The notebook has {size}. The most is 50 MB. Clear its outputs.",))
    if not data.strip():
        return Reading("unreadable", problems=("The notebook file is empty.",))
    text, problems = _decode(data)
    state = "whole"
    try:
        notebook = json.loads(text)
        cells = _cells(notebook)
    except (ValueError, TypeError, AttributeError, RecursionError) as error:
        cells = list(_salvage(text))
        where = f" (line {error.lineno})" if isinstance(error, json.JSONDecodeError) else ""
        problems.append(
            f"The notebook file is damaged{where}. "
            + (f"{len(cells)} of its cells could still be read." if cells else "Nothing of it could be read.")
        )
        state = "salvaged" if cells else "unreadable"
    if len(cells) > MAX_CELLS:
        problems.append(f"The notebook has {len(cells)} cells. The most is {MAX_CELLS}.")
        return Reading("too big", problems=tuple(problems))
    answers = _answers(cells, lab, problems)
    written = {name: text for name, text in _by_id(cells, lab.written, problems).items() if text is not None}
    if state == "whole" and not answers:
        state = "other"
        problems.append(f"This notebook has no answer cell of {lab.lab}. Was another file handed in?")
    return Reading(state, answers, written, _copy(cells), tuple(problems))


def copy_inside(data: bytes) -> dict[str, Any] | None:
    """The copy of order and log in a notebook's output, whatever lab it is; None when there is none. Never raises."""
    if HAND_IN_MIME.encode() not in data or len(data) > MAX_NOTEBOOK_BYTES:
        return None
    text, _ = _decode(data)
    try:
        return _copy(_cells(json.loads(text)))
    except (ValueError, TypeError, AttributeError, RecursionError):
        return _copy(list(_salvage(text)))


def rebuild_notebook(lab: LabSource, reading: Reading) -> dict[str, Any]:
    """The source notebook with the learner's text in its answer cells, without any output."""
    notebook = copy.deepcopy(lab.notebook)
    texts = {**reading.answers, **reading.written}
    for cell in notebook["cells"]:
        name = _meta(cell).get("grade_id")
        if name in lab.answers and name in texts:
            cell["source"] = f"{MAGIC}\n{texts[name]}"
        elif name in lab.written and name in texts:
            cell["source"] = texts[name]
        else:
            cell["source"] = source_text(cell)
        if cell.get("cell_type") == "code":
            cell["outputs"], cell["execution_count"] = [], None
    return notebook


def source_text(cell: Any) -> str:
    """A cell's text, whichever of the two ways a notebook file stores it; "" for anything odd."""
    source = cell.get("source", cell.get("input", "")) if isinstance(cell, dict) else ""
    if isinstance(source, list):
        source = "".join(part for part in source if isinstance(part, str))
    return source if isinstance(source, str) else ""


def body(text: str) -> str:
    """An answer cell's text without its first line, the magic."""
    lines = text.splitlines()
    while lines and (not lines[0].strip() or lines[0].strip().startswith(MAGIC)):
        lines.pop(0)
    return "\n".join(lines)


def _meta(cell: Any) -> dict[str, Any]:
    meta = cell.get("metadata") if isinstance(cell, dict) else None
    nbgrader = meta.get("nbgrader") if isinstance(meta, dict) else None
    return nbgrader if isinstance(nbgrader, dict) else {}


def _decode(data: bytes) -> tuple[str, list[str]]:
    encodings = ("utf-16",) if data[:2] in (b"\xff\xfe", b"\xfe\xff") else ("utf-8-sig",)
    for encoding in encodings:
        try:
            return data.decode(encoding), []
        except UnicodeDecodeError:
            continue
    return data.decode("cp1252", errors="replace"), ["The notebook was saved in an odd way; some letters may be wrong."]


def _cells(notebook: Any) -> list[Any]:
    if "cells" not in notebook and "worksheets" in notebook:  # notebook format 3 and older
        return [cell for sheet in notebook["worksheets"] for cell in sheet.get("cells", [])]
    cells = notebook.get("cells")
    if not isinstance(cells, list):
        raise TypeError("no list of cells")
    return cells


def _salvage(text: str) -> Iterator[dict[str, Any]]:
    """The whole cells at the start of a broken notebook file, up to where it breaks."""
    start = text.find('"cells"')
    at = text.find("[", start) + 1 if start >= 0 else 0
    if at <= 0:
        return
    decoder = json.JSONDecoder()
    for _ in range(MAX_CELLS + 1):
        while at < len(text) and text[at] in " \t\r\n,":
            at += 1
        if at >= len(text) or text[at] != "{":
            return
        try:
            cell, at = decoder.raw_decode(text, at)
        except (ValueError, RecursionError):
            return
        yield cell


def _by_id(cells: list[Any], wanted: dict[str, str], problems: list[str]) -> dict[str, str | None]:
    """For each wanted grade id the learner's text: the first filled cell of that id, else the blank; None if gone."""
    found: dict[str, list[str]] = {name: [] for name in wanted}
    for cell in cells:
        name = _meta(cell).get("grade_id")
        # A grade id can be any JSON value in a damaged file; only text can be one of ours.
        if isinstance(name, str) and name in found:
            found[name].append(source_text(cell))
    out: dict[str, str | None] = {}
    for name, texts in found.items():
        filled = [t for t in texts if body(t).strip() and body(t).strip() != body(wanted[name]).strip()]
        if len({body(t).strip() for t in filled}) > 1:
            problems.append(
                f"The cell {name!r} was there {len(texts)} times with different text. The first counts."
            )
        text = filled[0] if filled else texts[0] if texts else None
        if text is not None and len(text) > MAX_ANSWER_CHARS:
            problems.append(f"The cell {name!r} is too long. Only its first {MAX_ANSWER_CHARS} characters count.")
            text = text[:MAX_ANSWER_CHARS]
        out[name] = text
    return out


def _answers(cells: list[Any], lab: LabSource, problems: list[str]) -> dict[str, str]:
    found = _by_id(cells, lab.answers, problems)
    answers = {name: body(text) for name, text in found.items() if text is not None}
    blank = all(answers.get(name, "").strip() in ("", body(text).strip()) for name, text in lab.answers.items())
    gone = [name for name in lab.answers if name not in answers]
    if blank or gone:
        # Copied into a cell of the learner's own: it is still their answer.
        loose = [
            body(source_text(cell))[:MAX_ANSWER_CHARS]
            for cell in cells
            if _meta(cell).get("grade_id") not in lab.answers and source_text(cell).lstrip().startswith(MAGIC)
        ]
        if loose:
            problems.append("Answers stood in a cell that isn't the lab's answer cell. They were read all the same.")
            target = gone[0] if gone else next(iter(lab.answers))
            answers[target] = "\n".join([*loose, answers.get(target, "")])
        elif gone and answers:
            problems.append(f"The answer cell {', '.join(map(repr, gone))} was deleted.")
    return {name: answers[name] for name in lab.answers if name in answers}


def _copy(cells: list[Any]) -> dict[str, Any] | None:
    """The last copy of order and log that a hand-in cell left in its output."""
    found: dict[str, Any] | None = None
    for cell in cells:
        outputs = cell.get("outputs") if isinstance(cell, dict) else None
        for output in outputs if isinstance(outputs, list) else []:
            data = output.get("data") if isinstance(output, dict) else None
            value = data.get(HAND_IN_MIME) if isinstance(data, dict) else None
            if isinstance(value, str | list):
                try:
                    value = json.loads(value if isinstance(value, str) else "".join(value))
                except (ValueError, TypeError, RecursionError):
                    value = None
            if isinstance(value, dict):
                found = value
    return found
