"""A lesson's "On one page" as a sheet of paper: a button that prints it, and nothing else of the notebook."""

from __future__ import annotations

import html
import re
from pathlib import Path

import anywidget
import traitlets

from tankside.errors import TanksideError
from tankside.widgets.frontend import module, source, styles

COURSE = Path(__file__).parents[3] / "course"
"""Where a checkout keeps the lessons' text."""
CAUTION = (
    "Local codes, the maker's instructions and licensed practice come first, always. "
    "Never bridge a safety device. What you learned on a simulation is no license to work live."
)
NOTES = 30
"""Ruled lines for notes, more than a page takes: the style sheet cuts off what is too many."""


def points_of(text: str) -> list[str]:
    """The points of a lesson's summary, as HTML; ``TanksideError`` for a text that has none."""
    part = re.search(r"^## On one page\n(.*?)(?=^## |^\*\*Next:|\Z)", text, re.DOTALL | re.MULTILINE)
    found = re.findall(r"^- (.+)$", part[1], re.MULTILINE) if part else []
    if not found:
        raise TanksideError(
            "This lesson's text has no list under “On one page”. Put the course's folder back as it was."
        )
    return [_marked(point) for point in found]


def _marked(point: str) -> str:
    """Bold and slanted as in the lesson; of links only the words."""
    words = html.escape(re.sub(r"\[([^\]]+)\]\([^)]+\)", r"\1", point), quote=False)
    words = re.sub(r"\*\*(.+?)\*\*", r"<b>\1</b>", words)
    return re.sub(r"\*(.+?)\*", r"<i>\1</i>", words)


def sheet(lesson: str, folder: Path = COURSE) -> str:
    """The sheet of a lesson (its file's name without ending) as one HTML page; ``TanksideError`` if it isn't there."""
    try:
        text = (folder / f"{lesson}.md").read_text(encoding="utf-8")
    except OSError:
        raise TanksideError(f"There is no lesson {lesson[:60]!r} in the folder {folder.name}.") from None
    title = re.search(r"^# (.+)$", text, re.MULTILINE)
    points = points_of(text)
    number, _, name = html.escape(title[1] if title else lesson, quote=False).partition(": ")
    return (
        f'<!doctype html><html lang="en"><head><meta charset="utf-8"><title>{number}, on one page</title>'
        f"<style>{source('summary_paper.css')}</style></head><body><header><p>{number}, on one page</p><h1>{name or number}</h1></header>"
        f"<ul>{''.join(f'<li>{point}</li>' for point in points)}</ul>"
        f'<section aria-label="Notes"><h2>My notes</h2>{NOTES * "<div></div>"}</section>'
        f"<footer>{html.escape(CAUTION, quote=False)}</footer></body></html>"
    )


class SummarySheet(anywidget.AnyWidget):
    """``page`` is the whole sheet; the front end gives it to the browser's own print dialog."""

    _esm = module("summary_sheet.js")
    _css = styles("base.css")

    page = traitlets.Unicode().tag(sync=True)


def print_on_one_page(lesson: str) -> SummarySheet:
    """A button that prints the summary of a lesson, named as its file: ``"01-safety-and-meter"``."""
    return SummarySheet(page=sheet(lesson))
