"""Do self-check questions ask, answer and explain as they should? Without a browser first, then in one."""

from __future__ import annotations

from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe

from tankside.errors import TanksideError, UnknownNameError
from tankside.widgets.quiz import UNCLEAR, Round, generators, self_check, topics
from tests.widgets.stage import Stage


def choose(widget: Any, place: int) -> dict[str, Any]:
    widget.receive({"do": "choose", "choice": place})
    return widget.quiz


def right_place(widget: Any) -> int:
    return widget.round.question(widget.index)[1].index(0)


def test_topics_are_found() -> None:
    """Is every module with questions a topic, without a list to keep?"""
    assert {"safety", "ohm_watt", "element"} <= set(topics())
    assert all(generators(topic) for topic in topics())


@pytest.mark.parametrize("topic", ["ohm_watt", "element"])
def test_a_seed_repeats_itself(topic: str) -> None:
    """Does the same seed give the same round, another seed another, and does no kind come twice too early?"""
    one, same, other = Round(topic, 5, "s"), Round(topic, 5, "s"), Round(topic, 5, "t")
    texts = [one.question(i)[0].text for i in range(5)]
    assert texts == [same.question(i)[0].text for i in range(5)]
    assert [one.question(i)[1] for i in range(5)] == [same.question(i)[1] for i in range(5)]
    assert texts != [other.question(i)[0].text for i in range(5)]
    assert len({one.question(i)[0].id for i in range(5)}) == 5


def test_the_right_choice_stands_anywhere() -> None:
    """Over many draws, does the right choice stand in each place about equally often?"""
    places = [Round("ohm_watt", 1, str(seed)).question(0) for seed in range(200)]
    four = [order.index(0) for question, order in places if len(question.wrong) == 3]
    assert {0, 1, 2, 3} == set(four)
    assert max(four.count(place) for place in range(4)) < 0.4 * len(four)


def test_a_wrong_choice_says_why_and_lets_one_try_again() -> None:
    """Does a wrong choice show its own reason, and the right one then the explanation?"""
    widget = self_check("ohm_watt", 3, "seed")
    question, order = widget.round.question(0)
    wrong = order.index(1)
    quiz = choose(widget, wrong)
    assert (quiz["verdict"], quiz["why"], quiz["solved"]) == ("Not this one.", question.wrong[0].why, False)
    quiz = choose(widget, right_place(widget))
    assert (quiz["verdict"], quiz["why"], quiz["solved"]) == ("Right.", question.why, True)
    assert (quiz["first"], quiz["done"]) == (0, 1)
    widget.receive({"do": "next"})
    quiz = choose(widget, right_place(widget))
    assert (quiz["first"], quiz["done"]) == (1, 2)


def test_the_answer_stays_in_python_until_it_is_chosen() -> None:
    """Does nothing that is sent before the answer tell which choice is right?"""
    widget = self_check("ohm_watt", 1, "seed")
    question, _ = widget.round.question(0)
    sent = {key: value for key, value in widget.quiz.items() if key != "choices"}
    assert question.why not in str(sent)
    assert question.right.text not in str(sent["why"])


def test_another_round_is_another_one() -> None:
    """Do "new questions" come fresh, with the count at nothing?"""
    widget = self_check("ohm_watt", 4)
    choose(widget, right_place(widget))
    before = widget.quiz
    widget.receive({"do": "again"})
    assert widget.quiz["key"] != before["key"]
    assert (widget.quiz["index"], widget.quiz["done"]) == (0, 0)


@pytest.mark.parametrize("content", [None, 3, {}, {"do": "fly"}, {"do": ["next"]}])
def test_a_broken_message_is_answered_calmly(content: Any) -> None:
    """Does a message without sense change nothing and say so?"""
    widget = self_check("ohm_watt", 2, "seed")
    before = widget.quiz
    widget.receive(content)
    assert widget.quiz == {**before, "note": UNCLEAR}


@pytest.mark.parametrize("choice", [-1, 99, None, "0", True, 1.5])
def test_no_choice_made(choice: Any) -> None:
    """Is a choice that isn't there asked for again, not raised?"""
    widget = self_check("ohm_watt", 1, "seed")
    assert "first" in choose(widget, choice)["note"]
    assert widget.quiz["tried"] == []


def test_a_wrong_call_is_one_clear_error() -> None:
    """Does an unknown topic name the topics, and a number out of range say what would do?"""
    with pytest.raises(UnknownNameError, match="safety"):
        self_check("safty")
    for number in (0, 51, 2.5, True):
        with pytest.raises(TanksideError, match="1 to 50"):
            self_check("safety", number)


@pytest.mark.browser
@pytest.mark.parametrize("theme", ["light", "dark"])
def test_in_a_browser(page, theme: str) -> None:
    """By keyboard alone: choose wrong, read why, choose right, go on; and does axe-core find nothing?"""
    widget = self_check("ohm_watt", 2, "seed")
    page.set_viewport_size({"width": 768, "height": 800})
    Stage(page, {"a": widget}, ["quiz"], theme)
    question, _ = widget.round.question(0)
    page.get_by_role("radio", name=question.wrong[0].text).focus()
    page.keyboard.press("Space")
    page.keyboard.press("Enter")
    page.get_by_text(question.wrong[0].why).wait_for()
    edge = "getComputedStyle(document.querySelector('.ts-verdict')).borderInlineStartColor"
    warned = page.evaluate(edge)
    assert page.get_by_role("radio", name=question.wrong[0].text).is_disabled()
    options = {"runOnly": ["wcag2a", "wcag2aa", "wcag21aa", "wcag22aa", "best-practice"]}
    found = Axe().run(page, options=options).response["violations"]
    assert [(v["id"], [n["html"] for n in v["nodes"]]) for v in found] == []
    page.get_by_role("radio", name=question.right.text, exact=False).check()
    page.get_by_role("button", name="Check").click()
    page.get_by_text("Right.").wait_for()
    assert page.evaluate(edge) != warned, "a right answer looks like a wrong one"
    assert page.evaluate("document.activeElement.textContent") == "Next question"
    page.keyboard.press("Enter")
    page.get_by_text("Question 2 of 2").wait_for()
    assert page.evaluate("document.activeElement.tagName") == "LEGEND"
