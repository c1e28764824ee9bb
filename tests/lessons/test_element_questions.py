"""Are lesson 3's self-check questions right in every draw? The answers are worked out again from the numbers shown."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest

from tankside.heater.model import load_model
from tankside.questions import element
from tests.lessons.asked import Generator, check_every_draw, draws
from tests.lessons.reading import flesch_kincaid

each = pytest.mark.parametrize("generator", element.QUESTIONS, ids=lambda g: g.__name__)


def numbers(text: str) -> list[float]:
    return [float(n) for n in re.findall(r"(?<![\w.])\d+(?:\.\d+)?", text)]


def ohms(text: str) -> list[float]:
    """Every resistance in a text, in ohms; OL is infinite."""
    scale = {"Ω": 1.0, "kΩ": 1e3, "MΩ": 1e6}
    found = re.findall(r"(?:(\d+(?:\.\d+)?) (Ω|kΩ|MΩ))|\bOL\b", text)
    return [float(n) * scale[unit] if n else float("inf") for n, unit in found]


@each
def test_every_draw_can_be_asked(generator: Generator) -> None:
    check_every_draw(generator)


@each
def test_draws_differ(generator: Generator) -> None:
    """Is it another question next time?"""
    texts = {question.text for question in draws(generator)}
    assert len(texts) >= (3 if generator is element.how_far_live else 6)


# Ohm's and Joule's laws as any textbook has them, applied to the numbers in the question.
WORKED: dict[str, Callable[[list[float]], float]] = {
    "element-ohms": lambda n: n[1] ** 2 / n[0],
    "heat-in-a-splice": lambda n: n[1] * n[2],
    "leak-current": lambda n: n[1] / n[0],  # volts by kilohms are milliamps
}


@pytest.mark.parametrize("generator", [element.plate_ohms, element.heat_in_a_splice, element.leak_current])
def test_numbers(generator: Generator) -> None:
    """Is the right number what the law gives, and is every other far enough away, in the same unit?"""
    for question in draws(generator):
        wanted = WORKED[question.id](numbers(question.text))
        assert numbers(question.right.text)[0] == pytest.approx(wanted, rel=0.006), question
        for choice in question.wrong:
            assert choice.text.split()[-1] == question.right.text.split()[-1]
            assert abs(numbers(choice.text)[0] / wanted - 1) > 0.03, (question.text, choice)


def test_the_band() -> None:
    """Is a reading judged by +5/-10 % of rated power? (IEC 60335-1 clause 10.1, from memory: electrical.toml.)"""
    for question in draws(element.in_the_band):
        watts, volts = numbers(question.text)[:2]
        low, high = volts**2 / (watts * 1.05), volts**2 / (watts * 0.90)
        (reading,) = ohms(question.text)
        right = (
            "burnt open" if reading > 1e6 else "Too low" if reading < low else "Too high" if reading > high else "good"
        )  # fmt: skip
        assert right in question.right.text and not any(right in c.text for c in question.wrong), question


def test_leaks() -> None:
    """Wet and dry alike is the packing, wet only is a breach, never is no leak: does the answer follow from both?"""
    for question in draws(element.which_leak):
        full, drained = ohms(question.text)
        right = (
            "whole" if full > 60e6 else "breached" if drained > 60e6 else "packing"
        )  # fmt: skip
        assert right in question.right.text and not any(right in c.text for c in question.wrong), question


def test_leads_on_prove_nothing() -> None:
    """Is the reading with the leads on that of a short way round, and is the same element open once they are lifted?"""
    for question in draws(element.leads_still_on):
        (shown,) = ohms(question.text)
        assert shown < 12 and ohms(question.why) == [float("inf")]


def test_live_up_to_the_open_contact() -> None:
    """Is it live as far as the line side of what is off? (A series circuit: nothing flows, so nothing drops ahead.)"""
    for question in draws(element.how_far_live):
        off = re.search(r"only the (.+) is off", question.text)
        assert off and question.right.text == f"as far as the {off[1]} line side"


def test_halves_are_halves() -> None:
    """Does the right point leave as many steps on one side as on the other, and no wrong one do better?"""
    model = load_model("heron_6")
    order = [end for w in model.wires.values() if w.role.endswith("hot") for end in (w.from_, w.to)]
    place = {f"the {model.terminals[terminal]}": k for k, terminal in enumerate(order)}
    for question in draws(element.next_by_halves):
        good, gone = (
            place[found] for found in re.findall(r"at (the .+?)(?: and gone|\. Where)", question.text)
        )

        def left(text: str, good: int = good, gone: int = gone) -> int:
            k = place[text.removeprefix("at ")]
            return max(k - good, gone - k)

        assert left(question.right.text) == (gone - good) / 2
        assert all(left(choice.text) > left(question.right.text) for choice in question.wrong)


def test_questions_are_plain() -> None:
    """Do the questions and their explanations stay within grade 9?"""
    for generator in element.QUESTIONS:
        question = draws(generator)[0]
        words = [question.text, *(f"{c.text} {c.why}" for c in (question.right, *question.wrong))]
        assert flesch_kincaid(" ".join(words)) <= 9, generator.__name__
