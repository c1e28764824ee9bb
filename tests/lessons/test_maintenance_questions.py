"""Lesson 11's self-check questions over 500 seeds: the answer right, the others wrong, each explained, none twice."""

from __future__ import annotations

import math
import re
from collections.abc import Callable

import pytest

from tankside.questions import maintenance
from tests.lessons.asked import Generator, check_every_draw, draws
from tests.lessons.reading import flesch_kincaid

each = pytest.mark.parametrize("generator", maintenance.QUESTIONS, ids=lambda g: g.__name__)


def numbers(text: str) -> list[float]:
    plain = re.sub(r" \([^()]*\)", "", text).replace(",", "")
    return [float(n) for n in re.findall(r"(?<![\w.])\d+(?:\.\d+)?", plain)]


@each
def test_every_draw_can_be_asked(generator: Generator) -> None:
    check_every_draw(generator)


@each
def test_draws_differ(generator: Generator) -> None:
    """Is it another question next time?"""
    assert len({(q.text, q.right.text, tuple(c.text for c in q.wrong)) for q in draws(generator)}) >= 50


def _up(worked: float, least: float, step: float) -> float:
    return math.ceil(max(worked, least) / step) * step


# Worked again by hand from the numbers that the question shows: prices as a bill adds them up, geometry of a round rod.
WORKED: dict[str, Callable[[list[float]], float]] = {
    "minutes-on-the-bill": lambda n: _up(n[2], n[0], n[1]),
    "whole-bill": lambda n: (n[0] + _up(n[2] + n[3], n[4], n[5]) / 60 * n[1] + n[6] * (1 + n[7] / 100)) * (1 + n[8] / 100),
    "part-on-the-bill": lambda n: n[0] * (1 + n[1] / 100) * (1 + n[2] / 100),
    "money-a-year": lambda n: n[0] / n[1],
    "years-it-must-hold": lambda n: n[0] * n[2] / n[1],
    "metal-left": lambda n: 100 * (n[1] ** 2 - n[2] ** 2) / (n[0] ** 2 - n[2] ** 2),
    "next-look": lambda n: n[1] * (0.5 * (n[0] ** 2 - n[3] ** 2) / (n[0] ** 2 - n[2] ** 2) - 1),
    # 1.163 Wh for a kilogram and a kelvin; water at the tank's temperature is 1.5 % lighter (IAPWS), degrees in °F,
    # 29.5735 mL in a fluid ounce (NIST Handbook 44, appendix C)
    "drips": lambda n: n[0] * 29.5735 * 1.44 * n[3] * 0.985 * 1.163e-3 * (n[2] - n[1]) / 1.8,
}  # fmt: skip


@each
def test_numbers(generator: Generator) -> None:
    """Is the right number what the plain sum gives, and is every other far enough away, in the same unit?"""
    for question in draws(generator):
        if question.id not in WORKED:
            return
        wanted = WORKED[question.id](numbers(question.text))
        # Caliper readings in thousandths of an inch: the little that is gone is known less well than the rod.
        loose = {"drips": 0.02, "next-look": 0.03}.get(question.id, 0.006)
        assert numbers(question.right.text)[0] == pytest.approx(wanted, rel=loose), question
        for choice in question.wrong:
            assert re.sub(r"[\d,.]", "", choice.text) == re.sub(r"[\d,.]", "", question.right.text)
            assert abs(numbers(choice.text)[0] / wanted - 1) > 0.03, (question.text, choice)


def test_repair_or_new() -> None:
    """Price by years on both sides, worked again."""
    seen = set()
    for question in draws(maintenance.repair_or_new):
        price, left, new, lasts = numbers(question.text)
        wanted = "Repair" if price / left < new / lasts else "Replace"
        assert question.right.text.startswith(wanted) and abs(price / left / (new / lasts) - 1) > 0.1
        assert numbers(question.right.text) == pytest.approx([price / left, new / lasts], abs=0.006)
        seen.add(wanted)
    assert seen == {"Repair", "Replace"}


def test_which_first() -> None:
    """The order that the lesson teaches (common practice, no source): the right one stands earliest in it."""
    for question in draws(maintenance.which_first):
        places = [maintenance.ROUND.index(c.text) for c in (question.right, *question.wrong)]
        assert min(places) == places[0]


def test_a_record_has_numbers() -> None:
    """Does the right line state a measured or counted thing, and none of the others?"""
    for question in draws(maintenance.for_the_record):
        assert numbers(question.right.text) and not any(numbers(c.text) for c in question.wrong)


def test_reading_grade() -> None:
    said = []
    for generator in maintenance.QUESTIONS:
        for question in draws(generator)[::50]:
            said += [question.text, question.why, *(c.why for c in (question.right, *question.wrong))]
    assert flesch_kincaid(" ".join(s if s[-1] in ".?!" else s + "." for s in said)) <= 9
