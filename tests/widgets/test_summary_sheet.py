"""Does a lesson's summary print as one page, whole, and nothing else with it?"""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest

from tankside.errors import TanksideError
from tankside.widgets.summary_sheet import COURSE, SummarySheet, points_of, print_on_one_page, sheet
from tests.lessons.reading import words_of
from tests.widgets.stage import Stage

LESSONS = sorted(COURSE.glob("[0-9][0-9]-*.md"))
every_lesson = pytest.mark.parametrize("path", LESSONS, ids=lambda p: p.stem)
PAPER = {"Letter": (8.5, 11.0), "A4": (8.27, 11.69)}
"""Inches."""


@every_lesson
def test_each_point_is_on_the_sheet(path: Path) -> None:
    """Does the sheet hold the summary's words in their order, under the lesson's title, and does the lesson print its own?"""
    text = path.read_text(encoding="utf-8")
    summary = re.search(r"^## On one page\n(.*?)^```", text, re.DOTALL | re.MULTILINE)
    assert summary
    page = re.sub(r"<[^>]+>", "", " ".join(re.findall(r"<li>(.*?)</li>", sheet(path.stem))))
    assert re.findall(r"\w+", page) == re.findall(r"\w+", words_of(summary[1]))
    assert f'print_on_one_page("{path.stem}")' in text
    assert "no license to work live" in sheet(path.stem)


def test_marks_become_type() -> None:
    """Bold, slanted, links' words, and signs that HTML takes for its own."""
    text = "# T\n\n## On one page\n\n- **Live** and *so* [on](x.ipynb).\n- 1 < 2 & 3\n\n## Sources\n\n- no\n"
    assert points_of(text) == ["<b>Live</b> and <i>so</i> on.", "1 &lt; 2 &amp; 3"]


def test_what_isnt_there(tmp_path: Path) -> None:
    """Is a lesson that doesn't exist, or has no summary, one plain sentence?"""
    with pytest.raises(TanksideError, match="no lesson 'lesson-99'"):
        sheet("lesson-99")
    (tmp_path / "x.md").write_text("# X\n\n## On one page\n\n## Sources\n", encoding="utf-8")
    with pytest.raises(TanksideError, match="no list"):
        sheet("x", tmp_path)


@pytest.mark.browser
@pytest.mark.parametrize("paper", PAPER)
@every_lesson
def test_it_is_one_page(page: Any, path: Path, paper: str) -> None:
    """Printed on letter and on A4: one page, no point below the notes, and room for at least three lines of notes?"""
    page.set_content(sheet(path.stem))
    pdf = page.pdf(format=paper)
    assert len(re.findall(rb"/Type\s*/Page\b", pdf)) == 1
    wide, high = (round(96 * inches) for inches in PAPER[paper])
    margins = 96 / 25.4
    page.set_viewport_size({"width": int(wide - 34 * margins), "height": int(high - 30 * margins)})
    page.emulate_media(media="print")
    notes, foot, height = page.evaluate(
        "() => [document.querySelector('section').clientHeight, document.querySelector('footer').getBoundingClientRect().bottom, innerHeight]"
    )
    assert notes > 3 * 29 and foot <= height + 1


@pytest.mark.browser
def test_the_button_prints_the_sheet_alone(page: Any) -> None:
    """Is what goes to the printer the sheet in its frame, and is it said what happens?"""
    Stage(page, {"a": print_on_one_page("01-safety-and-meter")}, ["page"])
    page.wait_for_function("document.querySelector('iframe').contentDocument.querySelector('h1')")
    page.evaluate(
        "() => { document.querySelector('iframe').contentWindow.print = function () { window.went = this.document.querySelector('h1').textContent; }; }"
    )
    page.get_by_role("button", name="Print this page").click()
    assert page.evaluate("window.went") == "Safety and the meter"
    assert "save the page as a PDF" in page.get_by_role("status").inner_text()


def test_the_widget_carries_the_sheet() -> None:
    assert SummarySheet(page="x").page == "x" and "<h1>Ohm and Watt</h1>" in print_on_one_page("02-ohm-and-watt").page
