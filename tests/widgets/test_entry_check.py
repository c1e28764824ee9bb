"""Does the check before the course tell nothing until the end, and then where to start?"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from hypothesis import given
from hypothesis import strategies as st

from tankside.errors import TanksideError
from tankside.lessons.contents import lessons
from tankside.lessons.entry import entry_check
from tankside.widgets.entry_check import EACH, EntryCheck, Step, where_to_start
from tankside.widgets.progress import ProgressStore
from tankside.widgets.quiz import UNCLEAR
from tests.widgets.stage import Stage

STEPS = (
    Step(1, "Safety", "01.ipynb", "safety"),
    Step(2, "Ohm", "02.ipynb", "ohm_watt"),
    Step(3, "Element", "03.ipynb", "element"),
)
LAST = ("lab 12, The full call-out", "lab12.ipynb")
answers_of_a_lesson = st.lists(st.sampled_from([True, False, None]), min_size=EACH, max_size=EACH)


def answer(widget: EntryCheck, right: bool) -> None:
    _, order = widget._question()
    widget.receive({"do": "answer", "choice": order.index(0 if right else 1)})


@given(st.dictionaries(st.integers(1, 12), answers_of_a_lesson, max_size=12))
def test_the_rule(answers: dict[int, list[bool | None]]) -> None:
    """Is all before the start held, and something in the start's lesson not? Without a start: is all held?"""
    start = where_to_start(answers)
    held = [number for number, given in answers.items() if given == [True] * EACH]
    if start is None:
        assert sorted(held) == sorted(answers)
    else:
        assert start not in held
        assert all(number in held for number in answers if number < start)


@given(st.dictionaries(st.integers(1, 12), answers_of_a_lesson, min_size=1), st.data())
def test_one_more_right_answer_never_sets_one_back(answers: dict[int, list[bool | None]], data: Any) -> None:
    """Does putting one answer right never move the start to an earlier lesson?"""
    number = data.draw(st.sampled_from(sorted(answers)))
    better: dict[int, list[bool | None]] = {**answers, number: [True] * EACH}
    before, after = where_to_start(answers), where_to_start(better)
    assert after is None or (before is not None and after >= before)


def test_it_covers_the_course() -> None:
    """Are there two questions from each lesson, in teaching order, and does each lesson's page exist?"""
    widget = entry_check("seed")
    assert widget.check["number"] == EACH * len(lessons())
    assert [step.topic for step in widget.steps] == [lesson.topic for lesson in lessons()]
    course = Path(__file__).parents[2] / "course"
    assert all((course / step.page).with_suffix(".md").exists() for step in widget.steps)
    assert (course / widget.last[1]).exists()


def test_nothing_is_told_before_the_end() -> None:
    """Do a right and a wrong answer give updates that differ in nothing but the next question?"""
    right, wrong = EntryCheck(STEPS, LAST, "seed"), EntryCheck(STEPS, LAST, "seed")
    while not right.done:
        assert right.check == wrong.check
        assert set(right.check) == {"number", "index", "note", "rule", "done", "key", "text", "choices"}
        answer(right, True)
        answer(wrong, False)
    assert right.check["text"] == "You missed nothing. Go straight to lab 12, The full call-out."
    assert wrong.check["text"] == "Start with lesson 1: Safety."


def test_the_first_miss_is_the_start() -> None:
    """Is the start the lesson with the first miss, are later misses named, and are the others left alone?"""
    widget = EntryCheck(STEPS, LAST, "seed")
    for right in (True, True, True, False, True):
        answer(widget, right)
    widget.receive({"do": "unknown"})
    assert widget.check["text"] == "Start with lesson 2: Ohm."
    assert widget.check["page"] == "02.ipynb"
    assert [row["advice"] for row in widget.check["rows"]] == ["you hold it", "start here", "go through it"]
    assert [row["words"] for row in widget.check["rows"]] == ["2 of 2 right", "1 of 2 right", "1 of 2 right"]


def test_stopping_early() -> None:
    """Does what was left out count as not held, and is it told as not asked?"""
    widget = EntryCheck(STEPS, LAST, "seed")
    answer(widget, True)
    answer(widget, True)
    widget.receive({"do": "finish"})
    assert widget.check["text"] == "Start with lesson 2: Ohm."
    assert [row["words"] for row in widget.check["rows"]] == ["2 of 2 right", "not asked", "not asked"]
    widget.receive({"do": "again"})
    assert (widget.check["done"], widget.check["index"]) == (False, 0)


def test_results_are_kept(tmp_path: Path) -> None:
    """Do answers go to the progress file under the names that the lessons' own questions have?"""
    store = ProgressStore(tmp_path / "progress.json")
    widget = EntryCheck(STEPS, LAST, "seed", store)
    question, _ = widget._question()
    answer(widget, True)
    widget.receive({"do": "unknown"})
    kept = store.results()
    assert [result.good for result in kept] == [True, False]
    assert kept[0].item == f"question/safety/{question.id}"


def test_a_file_that_cannot_be_written_stops_nobody(tmp_path: Path) -> None:
    """Does the check go on, with a note, where progress can't be kept?"""
    (tmp_path / "file").write_text("", encoding="utf-8")
    widget = EntryCheck(STEPS, LAST, "seed", ProgressStore(tmp_path / "file" / "progress.json"))
    answer(widget, True)
    assert widget.check["index"] == 1 and "can't be kept" in widget.check["note"]


@pytest.mark.parametrize("content", [None, 3, {}, {"do": "fly"}, {"do": ["finish"]}])
def test_a_broken_message_changes_nothing(content: Any) -> None:
    """Is it answered in words?"""
    widget = EntryCheck(STEPS, LAST, "seed")
    before = widget.check
    widget.receive(content)
    assert widget.check == {**before, "note": UNCLEAR}


@pytest.mark.parametrize("choice", [-1, 99, None, "0", True, 1.5])
def test_no_choice_made(choice: Any) -> None:
    """Is a choice that isn't there asked for again?"""
    widget = EntryCheck(STEPS, LAST, "seed")
    widget.receive({"do": "answer", "choice": choice})
    assert "Choose one" in widget.check["note"] and widget.check["index"] == 0


def test_after_the_end_nothing_counts() -> None:
    """Is an answer after the end refused, and an empty course told?"""
    widget = EntryCheck(STEPS, LAST, "seed")
    widget.receive({"do": "finish"})
    widget.receive({"do": "answer", "choice": 0})
    assert widget.given == [] and widget.check["note"] == UNCLEAR
    with pytest.raises(TanksideError):
        EntryCheck((), LAST)


@pytest.mark.browser
@pytest.mark.parametrize("theme", ["light", "dark"])
def test_in_a_browser(page, theme: str) -> None:
    """By keyboard alone: answer, say one doesn't know, get the result; and does axe-core find nothing?"""
    widget = EntryCheck(STEPS[:2], LAST, "seed")
    page.set_viewport_size({"width": 768, "height": 800})
    Stage(page, {"a": widget}, ["check"], theme)
    options = {"runOnly": ["wcag2a", "wcag2aa", "wcag21aa", "wcag22aa", "best-practice"]}

    def clean() -> None:
        found = Axe().run(page, options=options).response["violations"]
        assert [(v["id"], [n["html"] for n in v["nodes"]]) for v in found] == []

    clean()
    page.get_by_role("radio").first.focus()
    page.keyboard.press("Space")
    page.keyboard.press("Enter")
    page.get_by_text("Question 2 of 4").wait_for()
    assert page.evaluate("document.activeElement.tagName") == "LEGEND"
    for number in (3, 4):
        page.get_by_role("button", name="I don't know").press("Enter")
        page.get_by_text(f"Question {number} of 4").wait_for()
    page.get_by_role("button", name="Answer and go on").click()
    page.get_by_text("Choose one of the answers first").wait_for()
    page.get_by_role("button", name="I don't know").press("Enter")
    page.get_by_text("Start with lesson 1: Safety.").wait_for()
    assert "Start with lesson 1" in page.evaluate("document.activeElement.textContent")
    assert page.get_by_role("link", name="Lesson 1: Safety").get_attribute("href") == "01.ipynb"
    clean()
