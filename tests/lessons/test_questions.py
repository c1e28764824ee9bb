"""Are self-check questions right in every draw: the answer right, the others wrong, none twice, each explained?

The right answers are worked out again here, from the numbers that the question shows, by the plain laws.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from functools import cache

import pytest

from tankside.questions import ohm_watt, safety
from tankside.questions.question import Question
from tankside.streams import Stream
from tests.lessons.reading import flesch_kincaid

SEEDS = range(500)
GENERATORS = [*safety.QUESTIONS, *ohm_watt.QUESTIONS]


@cache
def draws(generator: Callable[[Stream], Question]) -> list[Question]:
    return [generator(Stream(f"{seed:016x}", "self-check", generator.__name__)) for seed in SEEDS]


def numbers(text: str) -> list[float]:
    return [float(n) for n in re.findall(r"(?<![\w.])\d+(?:\.\d+)?", text.replace(",", ""))]


def value(text: str) -> float:
    return numbers(text)[0]


@pytest.mark.parametrize("generator", GENERATORS, ids=lambda g: g.__name__)
def test_every_draw_can_be_asked(generator: Callable[[Stream], Question]) -> None:
    """Are there two to four wrong choices, all different, with an explanation each, and does a seed repeat itself?"""
    for question in draws(generator):
        choices = [question.right, *question.wrong]
        texts = [choice.text.strip() for choice in choices]
        assert 2 <= len(question.wrong) <= 4
        assert len(set(texts)) == len(texts), texts
        assert all(choice.text and choice.why for choice in choices) and question.text and question.why
        assert not re.search(r"nan|inf\b|None|\{|\}", " ".join([question.text, *texts]))
    again = [
        generator(Stream(f"{seed:016x}", "self-check", generator.__name__)) for seed in list(SEEDS)[::50]
    ]
    assert draws(generator)[::50] == again


@pytest.mark.parametrize(
    "generator", [g for g in GENERATORS if g is not safety.right_order], ids=lambda g: g.__name__
)
def test_draws_differ(generator: Callable[[Stream], Question]) -> None:
    """Is a question another one next time?"""
    assert len({(q.text, q.why) for q in draws(generator)}) >= 4


# The right answer from the numbers in the question, by the laws as any textbook has them.
WORKED: dict[str, Callable[[list[float]], float]] = {
    "plate-amps": lambda n: n[0] / n[1],
    "plate-resistance": lambda n: n[1] ** 2 / n[0],
    "other-volts": lambda n: n[0] * (n[2] / n[1]) ** 2,
    "heat-lost": lambda n: 100 * (1 - (1 - n[0] / 100) ** 2),
    "joint-heat": lambda n: n[1] ** 2 * n[0],
    "wire-loss": lambda n: 2 * n[1] / n[3] * n[2] * n[4],
    "small-currents": lambda n: n[0] / n[1],
    "direct-side": lambda n: n[2] / n[1],
    "breaker-room": lambda n: n[1] / n[0] * n[2],
    "shock-current": lambda n: 1000 * n[1] / n[0],
}
ROUNDED = 0.006
"""Half a step in the third digit, and what rounding in the question's own numbers adds."""


@pytest.mark.parametrize("generator", GENERATORS, ids=lambda g: g.__name__)
def test_numbers_are_right_and_wrong_ones_are_not(generator: Callable[[Stream], Question]) -> None:
    """Is the marked number what the plain law gives, and is no other within a few percent of it?"""
    for question in draws(generator):
        if question.id == "band-end":
            # IEC 60335-1 clause 10.1, +5/-10 % of rated power (from memory): tests/published/electrical.toml
            watts, volts = numbers(question.text)[:2]
            wanted = volts**2 / (watts * (0.90 if "highest" in question.text else 1.05))
        elif question.id in WORKED:
            wanted = WORKED[question.id](numbers(question.text))
        else:
            return
        assert value(question.right.text) == pytest.approx(
            wanted, rel=ROUNDED if question.id != "wire-loss" else 0.01
        ), question
        unit = question.right.text.split()[-1]
        for choice in question.wrong:
            assert choice.text.split()[-1] == unit
            assert abs(value(choice.text) / wanted - 1) > 0.03, (question.text, choice)


def test_outlets_by_their_pattern() -> None:
    """Does the answer follow from the three readings shown? (Full, full, small is good: common practice, no source.)"""
    for question in draws(safety.which_outlet):
        hot, _, neutral = numbers(question.text)[:3]
        right = (
            "broken" if hot < 60 and neutral > 60 else "swapped" if neutral > 60 else "low" if hot < 105 else "good"
        )  # fmt: skip
        assert right in question.right.text and not any(right in choice.text for choice in question.wrong)


def test_ghosts_fall_under_load_and_feeds_do_not() -> None:
    """Is it a feed exactly when the low-input tester still shows the volts?"""
    for question in draws(safety.ghost_or_feed):
        meter, tester = numbers(question.text)[:2]
        assert question.right.text.startswith("A real feed" if tester > 0.9 * meter else "A ghost")
        assert tester > 0.9 * meter or tester < 0.05 * meter


def test_a_proof_fails_where_it_fails() -> None:
    """Does the answer name the step that went wrong in the numbers shown?"""
    for question in draws(safety.broken_proof):
        first, *pairs, last = numbers(question.text)
        right = (
            "to begin with" if first < 100 else "on the way" if last < 100 else "isn't proven" if max(pairs) > 3 else "It is dead"
        )  # fmt: skip
        assert right in question.right.text


def test_slow_heaters_by_their_numbers() -> None:
    """Is the one suspect named whose number is out?"""
    for question in draws(ohm_watt.why_slow):
        low, high, outlet, across, ohms = numbers(question.text)[2:7]
        right = (
            "supply" if outlet < 105 else "joint" if outlet - across > 8 else "element" if not low <= ohms <= high else "order"
        )  # fmt: skip
        assert right in question.right.text, question


def test_only_the_plug_opens_swapped_wires() -> None:
    """With hot and neutral swapped, is the plug the one thing that makes the element dead?"""
    asked = [q for q in draws(safety.what_makes_dead) if "swapped" in q.text]
    assert asked and {q.right.text for q in asked} == {"the plug"}


def test_questions_are_plain() -> None:
    """Do the questions and their explanations stay within grade 9?"""
    for generator in GENERATORS:
        question = draws(generator)[0]
        words = [question.text, *(f"{c.text} {c.why}" for c in (question.right, *question.wrong))]
        assert flesch_kincaid(" ".join(words)) <= 9, generator.__name__
