"""Build every notebook from its text twin, and every exercise from its solution; or only compare.

``course/x.md`` -> ``course/x.ipynb``; ``solutions/lab03/lab03.md`` -> ``solutions/lab03/lab03.ipynb`` ->
``exercises/lab03/lab03.ipynb``. Run it as ``python3 run.py notebooks``, with ``--check`` to write nothing.
"""

from __future__ import annotations

import argparse
import hashlib
import json
import re
import sys
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import nbformat

from tankside.errors import TanksideError
from tankside_autograder.files import write_atomic
from tankside_autograder.glossary import PAGE, link_first_uses, read_terms
from tankside_autograder.rebuild import source_text
from tankside_autograder.release import CONFIG, release
from tankside_autograder.twins import TwinError, read_twin

COMMAND = "python3 run.py notebooks"
PICTURES = {".png", ".jpg", ".jpeg", ".svg", ".gif", ".webp"}
# What working on a lab leaves beside it.
LEARNERS_FILES = {"work-order.json", "practice-order.json", "bench-log.jsonl", "service-report.json"}
IGNORED = {".ipynb_checkpoints", "__pycache__", ".DS_Store"}


class EditedError(TanksideError):
    """A generated notebook holds text that its twin doesn't; building it would lose that text."""


@dataclass(frozen=True)
class Change:
    """One file that isn't as its source says. ``path`` and ``source`` are relative to the project.

    ``kind``: "missing", "different" or "left over" (nothing generates it). ``where`` is the first place of difference.
    """

    path: Path
    source: Path
    kind: str
    where: str = ""

    def __str__(self) -> str:
        path, source = self.path.as_posix(), self.source.as_posix()
        if self.kind == "left over":
            return f"{path}: nothing in {source} makes it. Delete it, or write its text twin."
        if self.kind == "missing":
            return f"{path}: missing; {source} should have made it."
        return f"{path}: differs from {source}{self.where and f' ({self.where})'}."


def build(root: Path, check: bool = False, overwrite: bool = False) -> list[Change]:
    """Bring all notebooks under ``root`` in line with their text twins and return what was (``check``: is) out of line.

    A generated notebook whose own text was edited isn't overwritten unless ``overwrite`` says so: ``EditedError``.
    Raises ``TwinError``, ``ReleaseError`` and ``StorageError`` as well; then nothing has been written.
    """
    wanted = _wanted(root)
    changes = []
    for path, (source, content) in sorted(wanted.items()):
        old = _read(root / path)
        if old is None:
            changes.append(Change(path, source, "missing"))
        elif _same_text(path, old, content):
            continue
        else:
            changes.append(Change(path, source, "different", _difference(path, old, content)))
    changes += [Change(path, source, "left over") for path, source in _left_over(root, wanted)]
    if not check:
        for change in changes:
            if change.kind == "different" and not overwrite and _edited(root / change.path):
                raise EditedError(
                    f"{change.path.as_posix()} was edited itself ({change.where}). What is written there would be "
                    f"lost. Put it into {change.source.as_posix()}, or build with --overwrite."
                )
        for change in changes:
            if change.kind != "left over":
                write_atomic(root / change.path, wanted[change.path][1])
    return changes


def lab_names(root: Path) -> list[str]:
    """The labs that have a text twin under solutions/."""
    return sorted(twin.stem for twin in (root / "solutions").glob("*/*.md") if twin.stem == twin.parent.name)


def _wanted(root: Path) -> dict[Path, tuple[Path, bytes]]:
    """Path of each generated file -> (its source, its content)."""
    out: dict[Path, tuple[Path, bytes]] = {}
    terms = read_terms(root / "course" / f"{PAGE}.md")
    for twin in sorted((root / "course").glob("*.md")):
        if twin.name != "README.md":
            name = twin.relative_to(root)
            lesson = read_twin(twin, lab=False, shown=name)
            if re.match(r"\d\d-", twin.name):
                link_first_uses(lesson, terms)
            out[name.with_suffix(".ipynb")] = (name, dump(lesson))
    labs, extras = {}, {}
    for lab in lab_names(root):
        name = Path("solutions", lab, f"{lab}.md")
        labs[lab] = read_twin(root / name, lab=True, shown=name)
        extras[lab] = _extras(root, lab)
        out[name.with_suffix(".ipynb")] = (name, dump(labs[lab]))
    if labs:
        if not (root / CONFIG).exists():
            raise TwinError(CONFIG, "", "is missing; nbgrader's settings stand in it.")
        for lab, files in release(root, labs, extras).items():
            source = Path("solutions", lab, f"{lab}.md")
            for file, content in files.items():
                if file.endswith(".ipynb"):
                    content = dump(nbformat.reads(content.decode("utf-8"), as_version=4))
                out[Path("exercises", lab, file)] = (source, content)
    return out


def _extras(root: Path, lab: str) -> list[Path]:
    """The files that go to learners beside the notebook. Anything but a picture would be an accident."""
    out = []
    for path in sorted((root / "solutions" / lab).iterdir()):
        if path.name in IGNORED or path.name in (f"{lab}.md", f"{lab}.ipynb"):
            continue
        if path.suffix.lower() not in PICTURES or path.is_dir():
            was = "It was left by trying the lab. " if path.name in LEARNERS_FILES else ""
            raise TwinError(
                path.relative_to(root).as_posix(),
                "",
                f"nbgrader would hand it to every learner. {was}Move it away.",
            )
        out.append(path)
    return out


def _left_over(root: Path, wanted: dict[Path, tuple[Path, bytes]]) -> Iterator[tuple[Path, Path]]:
    for path in sorted((root / "course").glob("*.ipynb")):
        if path.relative_to(root) not in wanted:
            yield path.relative_to(root), Path("course")
    for top in ("solutions", "exercises"):
        for path in sorted((root / top).glob("*/*")):
            name = path.relative_to(root)
            ours = path.name in IGNORED | LEARNERS_FILES or (
                top == "solutions" and path.suffix in PICTURES | {".md"}
            )
            if name not in wanted and not ours:
                yield name, Path("solutions")


def dump(notebook: nbformat.NotebookNode) -> bytes:
    """A notebook as the bytes that are kept: same order, same indent, without outputs, with a digest of its text."""
    for cell in notebook.cells:
        if cell.cell_type == "code":
            cell.outputs, cell.execution_count = [], None
    notebook.metadata = nbformat.from_dict(
        {
            "kernelspec": {"display_name": "Python 3 (ipykernel)", "language": "python", "name": "python3"},
            "language_info": {"name": "python"},
            # Tells a notebook that only ran, or is only old, from one whose text somebody changed.
            "tankside": {"text": _digest(notebook)},
        }
    )
    text: str = nbformat.writes(notebook, version=4)
    return (text.rstrip("\n") + "\n").encode("utf-8")


def _digest(notebook: dict[str, Any]) -> str:
    cells = [[cell.get("cell_type"), source_text(cell)] for cell in notebook["cells"]]
    return hashlib.sha256(json.dumps(cells, ensure_ascii=True).encode("ascii")).hexdigest()[:16]


def _edited(path: Path) -> bool:
    """Has this file a text that the builder didn't put there?"""
    if path.suffix != ".ipynb":
        return False
    try:
        notebook = json.loads(path.read_text(encoding="utf-8"))
        return bool(notebook["metadata"]["tankside"]["text"] != _digest(notebook))
    except (ValueError, KeyError, TypeError, AttributeError):
        return True


def _read(path: Path) -> bytes | None:
    try:
        return path.read_bytes()
    except FileNotFoundError:
        return None


def _same_text(path: Path, old: bytes, new: bytes) -> bool:
    # A checkout may have given the notebooks this system's line ends.
    return old == new or (path.suffix == ".ipynb" and old.replace(b"\r\n", b"\n") == new)


def _difference(path: Path, old: bytes, new: bytes) -> str:
    """The first cell that differs, in words."""
    if path.suffix != ".ipynb":
        return "another picture"
    try:
        was, now = (json.loads(content)["cells"] for content in (old, new))
        for number, (left, right) in enumerate(zip(was, now, strict=False), 1):
            if left != right:
                text = source_text(left) != source_text(right)
                what = "text" if text else next(key for key in right if left.get(key) != right[key])
                return f"cell {number}, {right['id']}: {what}"
        if len(was) != len(now):
            return f"{len(was)} cells instead of {len(now)}"
    except (ValueError, KeyError, TypeError, AttributeError, StopIteration):
        return "it can't be read as a notebook"
    return "the notebook's metadata or layout"


def main(words: Sequence[str] | None = None) -> int:
    """The command line. 0: all in line; 1: ``--check`` found something; 2: a source is wrong."""
    parser = argparse.ArgumentParser(
        prog=COMMAND, description="Build notebooks and exercises from their text twins."
    )
    parser.add_argument(
        "--check", action="store_true", help="write nothing; fail when something is out of line"
    )
    parser.add_argument(
        "--overwrite", action="store_true", help="replace notebooks that were edited themselves, too"
    )
    parser.add_argument(
        "--root", type=Path, default=Path.cwd(), help="the project's folder (default: this one)"
    )
    options = parser.parse_args(words)
    try:
        changes = build(options.root, options.check, options.overwrite)
    except TanksideError as error:
        print(error, file=sys.stderr)
        return 2
    for change in changes:
        done = "" if options.check or change.kind == "left over" else "built: "
        print(f"{done}{change}" if not done else f"{done}{change.path.as_posix()}")
    if not changes:
        print("All notebooks and exercises are as their text twins say.")
    elif options.check:
        print(f"{len(changes)} out of line. Run: {COMMAND}")
    return 1 if changes and options.check else 0


if __name__ == "__main__":
    sys.exit(main())
