"""What the lessons' texts say of themselves: number, title, minutes, the skills they promise, the topic of their questions."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from tankside.errors import DataFileError

COURSE = Path(__file__).parents[3] / "course"
"""Where a checkout keeps its lessons."""
PROMISE = "When you are through, you can:"


@dataclass(frozen=True)
class Lesson:
    """One lesson. ``stem``: its file without the ending; ``minutes``: as stated; ``skills``: the promised list."""

    stem: str
    number: int
    title: str
    minutes: int
    skills: tuple[str, ...]
    topic: str
    questions: int
    """How many self-check questions one round has."""


def read_lesson(file: Path) -> Lesson:
    """A lesson's text twin, read; a ``DataFileError`` names what is missing from it."""
    try:
        text = file.read_text(encoding="utf-8")
    except OSError:
        raise DataFileError(file, "file", "a lesson's text", "nothing that can be read") from None
    title = _find(file, "title", r"^# Lesson (\d+): (.+)$", text)
    minutes = _find(file, "time", r"^\*\*Time:\*\* about (\d+) minutes", text)
    check = _find(file, "questions", r'^self_check\("(\w+)", (\d+)\)', text)
    listed = _find(file, PROMISE, rf"^{re.escape(PROMISE)}\n\n((?:- .+\n)+)", text)
    skills = tuple(line[2:].rstrip(".;") for line in listed[1].splitlines())
    return Lesson(
        file.stem, int(title[1]), title[2].strip(), int(minutes[1]), skills, check[1], int(check[2])
    )


def _find(file: Path, key: str, pattern: str, text: str) -> re.Match[str]:
    found = re.search(pattern, text, re.MULTILINE)
    if found is None:
        raise DataFileError(file, key, f"text that fits {pattern}", "nothing like it")
    return found


@cache
def lessons(folder: Path = COURSE) -> tuple[Lesson, ...]:
    """Every lesson of the course, in teaching order; a ``DataFileError`` if there is none."""
    found = tuple(read_lesson(file) for file in sorted(folder.glob("[0-9][0-9]-*.md")))
    if not found:
        raise DataFileError(folder, "lessons", "files such as 01-name.md", "none")
    return found
