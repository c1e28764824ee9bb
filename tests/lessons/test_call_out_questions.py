"""Lesson 12's self-check questions over 500 seeds: the answer right, the others wrong, each explained, none twice."""

from __future__ import annotations

import math
import re

import pytest

from tankside.faults.catalogue import faults, remedies
from tankside.questions import call_out
from tests.lessons.asked import Generator, check_every_draw, draws
from tests.lessons.reading import flesch_kincaid

each = pytest.mark.parametrize("generator", call_out.QUESTIONS, ids=lambda g: g.__name__)


def numbers(text: str) -> list[float]:
    return [float(n) for n in re.findall(r"(?<![\w.])\d+(?:\.\d+)?", text.replace(",", ""))]


@each
def test_every_draw_can_be_asked(generator: Generator) -> None:
    check_every_draw(generator)


@each
def test_draws_differ(generator: Generator) -> None:
    """Is it another question next time?"""
    least = {"what_next_at_the_end": 5, "words_that_rule_out": 8, "tells_nothing": 12}
    assert len({question.text for question in draws(generator)}) >= least.get(generator.__name__, 20)


def test_best_test() -> None:
    """Shannon's entropy by its formula, for each minute."""
    for question in draws(call_out.best_test):

        def worth(text: str) -> float:
            part, rest, minutes = numbers(text)
            p = part / (part + rest)
            return -(p * math.log2(p) + (1 - p) * math.log2(1 - p)) / minutes

        assert all(worth(question.right.text) > worth(c.text) for c in question.wrong)


def test_money() -> None:
    """Worked on paper from the numbers shown."""
    for question in draws(call_out.swap_on_average):
        a, b, c = numbers(question.text)
        assert numbers(question.right.text)[0] == pytest.approx((3 * a + 2 * b + c) / 3, rel=0.006)
    for question in draws(call_out.bill):
        coming, hour, minutes, parts, markup, tax = numbers(question.text.replace("%", " "))
        worked = (coming + hour * minutes / 60 + parts * (1 + markup / 100)) * (1 + tax / 100)
        assert numbers(question.right.text)[0] == pytest.approx(worked, rel=0.002)
        assert all(abs(numbers(c.text)[0] / worked - 1) > 0.02 for c in question.wrong)


def test_trades_and_repairs() -> None:
    by_name = {f.name: f for f in faults().values()}
    for question in draws(call_out.whose_work):
        name = question.text.partition("one fault: ")[2].partition(". You are")[0]
        cure = (
            remedies()[by_name[name].remedy]
            if name in by_name
            else next(r for r in remedies().values() if r.name == name)
        )
        assert ("lock out" in question.right.text) is cure.other_trade
    for question in draws(call_out.one_repair_left):
        one, two = re.findall("“([^”]+)”", question.text)
        assert question.right.text.startswith("Stop") is (by_name[one].remedy == by_name[two].remedy)


def test_the_order_of_closing() -> None:
    for question in draws(call_out.what_next_at_the_end):
        done = question.text.partition("done this: ")[2].partition(". What")[0]
        assert call_out.CLOSING.index(question.right.text) == call_out.CLOSING.index(done) + 1


def test_reading_grade() -> None:
    said = []
    for generator in call_out.QUESTIONS:
        for question in draws(generator)[::50]:
            said += [question.text, question.why, *(c.why for c in (question.right, *question.wrong))]
    assert flesch_kincaid(" ".join(s if s[-1] in ".?!" else s + "." for s in said)) <= 9
