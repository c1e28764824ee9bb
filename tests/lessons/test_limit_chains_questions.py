"""Lesson 4's self-check questions over 500 seeds: the answer right, the others wrong, each explained, none twice."""

from __future__ import annotations

import math
import re

import pytest

from tankside.heater.model import load_model
from tankside.questions import limit_chains
from tests.lessons.asked import Generator, check_every_draw, draws
from tests.lessons.reading import flesch_kincaid

each = pytest.mark.parametrize("generator", limit_chains.QUESTIONS, ids=lambda g: g.__name__)


def numbers(text: str) -> list[float]:
    plain = re.sub(r" \([^()]*\)", "", text).replace(",", "")
    return [float(n) for n in re.findall(r"(?<![\w.])\d+(?:\.\d+)?", plain)]


@each
def test_every_draw_can_be_asked(generator: Generator) -> None:
    check_every_draw(generator)


@each
def test_draws_differ(generator: Generator) -> None:
    """Is it another question next time?"""
    least = {"tests_by_halves": 12, "one_by_one_on_average": 12, "where_next": 10}
    assert len({question.text for question in draws(generator)}) >= least.get(generator.__name__, 15)


def test_where_the_volts_end() -> None:
    """Is the contact named behind which the first reading falls below a tenth of the line?"""
    for question in draws(limit_chains.where_the_volts_end):
        volts = [float(v) for v in re.findall(r"(-?\d+\.\d) V", question.text)]
        first = next(k for k, v in enumerate(volts) if v < 12)
        assert question.right.text == f"the {load_model('heron_6').parts[limit_chains.CHAIN[first]].name}"


def test_full_volts_across() -> None:
    for question in draws(limit_chains.full_volts_across):
        high = float(re.findall(r"read (-?\d+\.\d) V", question.text)[0]) > 100
        assert question.right.text.endswith("everything else on the way is closed.") is high


def test_by_halves_is_the_binary_logarithm() -> None:
    """ceil(log2 N) tests at the most (half-split: U.S. Army IT0338)."""
    for question in draws(limit_chains.tests_by_halves):
        n = numbers(question.text)[0]
        assert question.right.text == str(math.ceil(math.log2(n)))


def test_in_sequence() -> None:
    """(N + 1) / 2 - 1 / N on average: 4.375 for 8 and 8.4375 for 16, as published (references: diagnosis)."""
    for question in draws(limit_chains.one_by_one_on_average):
        n = numbers(question.text)[0]
        wanted = (n + 1) / 2 - 1 / n
        assert numbers(question.right.text)[0] == pytest.approx(wanted, rel=0.006)
        assert all(abs(numbers(c.text)[0] / wanted - 1) > 0.03 for c in question.wrong)


def test_where_next_halves_what_is_left() -> None:
    for question in draws(limit_chains.where_next):
        n, first = numbers(question.text)[:2]
        low, high = (first, n) if "are there" in question.text else (0, first)

        def left(point: float, low: float = low, high: float = high) -> float:
            return max(point - low, high - point) if low < point < high else high - low

        best = left(numbers(question.right.text)[0])
        assert best == math.ceil((high - low) / 2)
        for choice in question.wrong:
            if numbers(choice.text):
                assert left(numbers(choice.text)[0]) > best


def test_stuck_or_satisfied() -> None:
    for question in draws(limit_chains.stuck_or_satisfied):
        _, closes, water = numbers(question.text)[:3]
        assert ("stuck" in question.right.text) is (water < closes)


def test_heat_in_a_contact() -> None:
    """Ohm's and Joule's laws on the numbers shown."""
    for question in draws(limit_chains.heat_in_a_contact):
        ohms, coil, line = numbers(question.text)
        wanted = (line / (ohms + coil)) ** 2 * ohms
        assert numbers(question.right.text)[0] == pytest.approx(wanted, rel=0.006)
        assert all(abs(numbers(c.text)[0] / wanted - 1) > 0.03 for c in question.wrong)


def test_reading_grade() -> None:
    """Is what learners read here at or below US grade 9?"""
    said = []
    for generator in limit_chains.QUESTIONS:
        for question in draws(generator)[::50]:
            said += [question.text, question.why, *(c.why for c in (question.right, *question.wrong))]
    assert flesch_kincaid(" ".join(s if s[-1] in ".?!" else s + "." for s in said)) <= 9
