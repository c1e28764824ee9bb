"""Lesson 5's self-check questions over 500 seeds: the answer right, the others wrong, each explained, none twice."""

from __future__ import annotations

import re
from collections.abc import Callable
from itertools import pairwise

import pytest

from tankside.questions import twelve_volt
from tests.lessons.asked import Generator, check_every_draw, draws
from tests.lessons.reading import flesch_kincaid

each = pytest.mark.parametrize("generator", twelve_volt.QUESTIONS, ids=lambda g: g.__name__)
NUMBERS = (
    twelve_volt.volts_in_a_joint,
    twelve_volt.volts_in_a_wire,
    twelve_volt.ground_ohms,
    twelve_volt.heat_in_a_joint,
)


def numbers(text: str) -> list[float]:
    plain = re.sub(r" \([^()]*\)", "", text).replace(",", "")
    return [float(n) for n in re.findall(r"(?<![\w.])\d+(?:\.\d+)?", plain)]


@each
def test_every_draw_can_be_asked(generator: Generator) -> None:
    check_every_draw(generator)


@each
def test_draws_differ(generator: Generator) -> None:
    """Is it another question next time?"""
    least = 10 if generator in (twelve_volt.where_on_the_plus_side, twelve_volt.which_side) else 20
    assert len({question.text for question in draws(generator)}) >= least


# Ohm's and Joule's laws as any textbook has them, applied to the numbers in the question.
WORKED: dict[str, Callable[[list[float]], float]] = {
    "volts-in-a-joint": lambda n: n[0] * n[1],
    "volts-in-a-wire": lambda n: 2 * n[3] * n[1] / n[2] * n[4],
    "ground-ohms": lambda n: n[0] / n[1],
    "heat-in-a-joint": lambda n: n[0] ** 2 * n[1],
}


@pytest.mark.parametrize("generator", NUMBERS, ids=lambda g: g.__name__)
def test_numbers(generator: Generator) -> None:
    """Is the right number what the law gives, and is every other far enough away, in the same unit?"""
    loose = 0.02 if generator is twelve_volt.volts_in_a_wire else 0.006  # the wire's ohms are shown rounded
    for question in draws(generator):
        wanted = WORKED[question.id](numbers(question.text))
        assert numbers(question.right.text)[0] == pytest.approx(wanted, rel=loose), question
        for choice in question.wrong:
            assert choice.text.split()[-1] == question.right.text.split()[-1]
            assert abs(numbers(choice.text)[0] / wanted - 1) > 0.03, (question.text, choice)


def test_which_side() -> None:
    """Kirchhoff on the three readings: who lost more than half a volt?"""
    for question in draws(twelve_volt.which_side):
        battery, to_minus, own = numbers(re.sub(r"^.*?Battery", "Battery", question.text))[:3]
        wanted = "battery" if battery < 11 else "plus" if battery - to_minus > 0.5 else "ground"
        assert wanted in question.right.text, question
        assert to_minus - own > 0.5 if wanted == "ground" else to_minus - own < 0.5


def test_where_on_the_plus_side() -> None:
    for question in draws(twelve_volt.where_on_the_plus_side):
        found = dict(re.findall(r"([^;:]+?) (\d+\.\d) V", question.text.partition("minus:")[2]))
        first, second = question.right.text.removeprefix("between ").split(" and ")
        steps = [float(v) for v in found.values()]
        step = float(found[f" {first}"]) - float(found[f" {second}"])
        assert step == pytest.approx(max(a - b for a, b in pairwise(steps)))


def test_shorted_coil() -> None:
    for question in draws(twelve_volt.shorted_coil):
        fuse, ohms, battery = numbers(question.text)
        assert ("blows again" in question.right.text) is (battery / ohms > fuse)


def test_battery_at_rest() -> None:
    """The rule of thumb's nearest level (lists.ettus.com, V2: electrical.toml, battery-at-rest), where the two are clear."""
    rule = {12.6: "full", 12.4: "three quarters", 12.2: "half", 12.0: "a quarter", 11.6: "empty"}
    for question in draws(twelve_volt.battery_at_rest):
        volts = numbers(question.text)[0]
        near = sorted(rule, key=lambda v: abs(v - volts))[:2]
        assert question.right.text in {rule[v] for v in near}


def test_reading_grade() -> None:
    said = []
    for generator in twelve_volt.QUESTIONS:
        for question in draws(generator)[::50]:
            said += [question.text, question.why, *(c.why for c in (question.right, *question.wrong))]
    assert flesch_kincaid(" ".join(s if s[-1] in ".?!" else s + "." for s in said)) <= 9
