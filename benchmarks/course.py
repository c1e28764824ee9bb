"""``run.py bench course``: the lessons in figures, counted from the files: minutes, words, pictures, questions, checks, grade.

- minutes: as the lesson states them; words: all that a learner reads in the text, without what cells show
- pictures: drawings that the lesson's cells show when they run, without benches and calculators; self-checks: questions of one round, and their kinds
- own published checks: values of ``tests/published`` that the lesson's own tests read by name
  (``tests/lessons/test_<lesson's module>*.py``, and of ``test_printed.py`` what it works again); at its places: those that touch a place which the lesson's skills
  name, checked anywhere in ``tests`` (``tests/published/touches/places.toml``)
- reading grade: the highest of three formulas, on the running sentences (``tests/lessons/reading.py``)
"""

from __future__ import annotations

import re
from importlib import import_module
from pathlib import Path

from rich.console import Console
from rich.table import Table

from tankside.check.places import published_rows, touching
from tankside.lessons import printed
from tankside.lessons.contents import COURSE, Lesson, lessons
from tankside.lessons.curriculum import curriculum
from tankside.widgets.quiz import generators
from tests.lessons.reading import grades, teaching, words_of

ROOT = Path(__file__).parents[1]


def pictures(module: str, text: str) -> int:
    """Drawings that the lesson's own cells show, without those that are hidden from who listens."""
    lesson = import_module(f"tankside.lessons.{module}")
    names = sorted(set(re.findall(r"^lesson\.(\w+)\(\)", text, re.MULTILINE)))
    shown = "".join(getattr(lesson, name)().markup for name in names)
    return len(re.findall(r"<svg[^>]*role=[\"']img[\"']", shown)) + shown.count("<img ")


def worked_again(module: str) -> list[str]:
    """The tests of the printed examples (``tests/lessons/test_printed.py``) that the lesson works again."""
    lesson = import_module(f"tankside.lessons.{module}")
    each = (ROOT / "tests" / "lessons" / "test_printed.py").read_text(encoding="utf-8").split("\n\n\n")
    shows = {name for name in vars(printed) if getattr(lesson, name, None) is getattr(printed, name)}
    return [text for text in each if shows & set(re.findall(r"\bprinted\.(\w+)", text))]


def published(module: str, topic: str) -> set[str]:
    """Rows of the published values (``file/row``) that the lesson's tests name."""
    tests = [
        file.read_text(encoding="utf-8")
        for name in {module, topic}
        for file in sorted((ROOT / "tests" / "lessons").glob(f"test_{name}*.py"))
    ]
    tests += worked_again(module)
    quoted = {word for text in tests for word in re.findall(r"[\"']([\w./-]+)[\"']", text)}
    return {row for row in published_rows() if row in quoted or row.split("/")[1] in quoted}


def at_its_places(lesson: Lesson) -> set[str]:
    """Published values that touch a place which the lesson's skills name."""
    here = {place for skill in curriculum() if skill.lesson == lesson.stem for place in skill.places}
    return {row for place, rows in touching().items() if place in here for row in rows}


def row(lesson: Lesson) -> tuple[tuple[int, ...], set[str], set[str], float]:
    """Minutes, words, pictures, questions of a round, kinds of questions; its own published values; those at its places; grade."""
    text = (COURSE / f"{lesson.stem}.md").read_text(encoding="utf-8")
    found = re.search(r"^from tankside\.lessons import (\w+) as lesson$", text, re.MULTILINE)
    assert found, lesson.stem
    counts = (
        lesson.minutes,
        len(words_of(text).split()),
        pictures(found[1], text),
        lesson.questions,
        len(generators(lesson.topic)),
    )
    own = published(found[1], lesson.topic)
    return counts, own, at_its_places(lesson), max(grades(teaching(text)).values())


def main() -> int:
    """Print the table. Exit code 0."""
    head = (
        "lesson",
        "minutes",
        "words",
        "pictures",
        "self-checks",
        "of kinds",
        "own published checks",
        "at its places",
        "grade",
    )
    table, sums, own, near = Table(*head, title="The lessons, counted"), [0] * 5, set[str](), set[str]()
    for lesson in lessons():
        counts, mine, touched, grade = row(lesson)
        sums = [a + b for a, b in zip(sums, counts, strict=True)]
        own, near = own | mine, near | touched  # one value may serve several lessons
        figures = (*counts, len(mine), len(touched))
        table.add_row(f"{lesson.number} {lesson.title}", *(f"{n:,}" for n in figures), f"{grade:.1f}")
    table.add_section()
    table.add_row("together", *(f"{n:,}" for n in (*sums, len(own), len(near))), "")
    Console(width=max(Console().width, 150)).print(table)
    return 0
