"""Lesson 7's self-check questions over 500 seeds: the answer right, the others wrong, each explained, none twice.

Right answers are worked out again from the numbers shown, by textbook formulas and the published tables.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable

import pytest

from tankside.questions import gas_pressure
from tankside.questions.question import Question
from tests.lessons.asked import Generator, check_every_draw, draws
from tests.lessons.reading import flesch_kincaid
from tests.published import row

each = pytest.mark.parametrize("generator", gas_pressure.QUESTIONS, ids=lambda g: g.__name__)


def numbers(text: str) -> list[float]:
    """Every number of a text, without what stands in brackets in the other system of measures and in names."""
    plain = re.sub(r" \([^()]*\)", "", text).replace(",", "")
    return [float(n) for n in re.findall(r"(?<![\w.\-])-?\d+(?:\.\d+)?", plain)]


def unit_of(text: str) -> str:
    return re.sub(r"[\d.,]+ ", "", text)


@each
def test_every_draw_can_be_asked(generator: Generator) -> None:
    """As every question is; and all choices in one unit?"""
    check_every_draw(generator)
    for question in draws(generator):
        texts = [choice.text for choice in (question.right, *question.wrong)]
        if question.right.text[0].isdigit():
            assert len({unit_of(text) for text in texts}) == 1, texts


@each
def test_draws_differ(generator: Generator) -> None:
    """Is it another question next time?"""
    assert len({question.text for question in draws(generator)}) >= 20


def _height(n: list[float], text: str) -> float:
    plate, feet = n[0], n[1]
    off = 4 * (feet - 2000) / 1000 if "above 2000 ft" in text else 4 * feet / 1000
    return plate * (1 - off / 100)


def _leak(n: list[float], _: str) -> float:
    gallons, start, end, minutes, air = n[:5]
    # Loss by Boyle's law, and the start's rate over the mean rate (the flow goes with the root of the pressure).
    lost = gallons * 231 * (start - end) / air  # 231 cubic inches in a gallon, by definition
    mean = (math.sqrt(start) + math.sqrt(end)) / 2
    return lost * 60 / minutes * math.sqrt(start) / mean


WORKED: dict[str, Callable[[list[float], str], float]] = {
    "both-legs": lambda n, _: n[0] + n[1],
    "less-pressure": lambda n, _: n[0] * math.sqrt(n[2] / n[1]),
    "wider-hole": lambda n, _: n[1] * (n[2] / n[0]) ** 2,
    "what-it-burns": lambda n, _: n[0] * n[2] / n[1],
    "high-place": _height,
    "enough-to-burn": lambda n, _: n[2] * n[0] / 100,
    "leak-by-test": _leak,
    "what-is-left": lambda n, _: (n[0] - n[1]) * n[3] / n[2] / n[4],
}
"""Textbook laws on the U.S. numbers shown: root of pressure and square of bore (Bernoulli), the two published rules
for height (gas.toml), volume by share, weight by heat."""


def shown(question: Question) -> list[float]:
    text = question.text
    if question.id == "enough-to-burn":
        text = text.partition("says:")[2]
    return numbers(text)


@pytest.mark.parametrize(
    "generator",
    [g for g in gas_pressure.QUESTIONS if g.__name__.replace("_", "-") in WORKED],
    ids=lambda g: g.__name__,
)
def test_numbers(generator: Generator) -> None:
    """Is the right number what the law gives, and is every other far enough away?"""
    for question in draws(generator):
        wanted = WORKED[question.id](shown(question), question.text)
        assert numbers(question.right.text)[0] == pytest.approx(wanted, rel=0.022, abs=0.06), question
        for choice in question.wrong:
            assert abs(numbers(choice.text)[0] / numbers(question.right.text)[0] - 1) > 0.035, question


def test_the_formulas_give_the_published_values() -> None:
    """A U-tube at 17 and 28.75 in. is 11.75 in. WC; 5000 ft is 20 or 12 %; drills 66 to 62 scale with the square."""
    tube = row("gas_pressure", "u-tube-example")
    assert tube.agrees(float(str(tube.given["high"])) - float(str(tube.given["low"])))
    two = row("gas", "altitude-derate-5000-ft")
    for k, rule in enumerate(("above the sea", "above 2000 ft")):
        assert two.agrees(100 - _height([100, 5000], rule), k)
    bores, flows = row("gas", "orifice-drill-diameter").values, row("gas", "orifice-flow").values
    for bore, flow in zip(bores, flows, strict=True):
        scaled = WORKED["wider-hole"]([float(bores[0]), float(flows[0]), float(bore)], "")
        assert scaled == pytest.approx(float(flow), rel=1e-3)


def test_limits_are_the_published_ones() -> None:
    """Does each question give the limits of the book that it names (gas.toml)?"""
    seen = set()
    for question in draws(gas_pressure.enough_to_burn):
        book = "iec" if question.text.startswith("IEC") else "nfpa"
        values = row("gas", f"flammability-{book}").values
        assert shown(question)[:2] == [float(values[2]), float(values[3])]
        seen.add(book)
    assert len(seen) == 2


def test_where_it_chokes_follows_from_the_readings() -> None:
    """The first tap whose pressure goes under load is behind the trouble; low at rest as well: the setting.

    (Common practice, no source.)
    """
    seen = set()
    for question in draws(gas_pressure.where_it_chokes):
        still, running, end, rest, inlet, good_rest, good = numbers(re.sub(r"[Tt]ap \d", "", question.text))
        right = (
            "set low" if rest < 0.9 * good_rest
            else "cylinder's own valve" if running < 0.8 * still
            else "between taps 1 and 2" if end < 0.9 * good
            else "between taps 2 and 3" if inlet < 0.9 * end
            else "look at the jet"
        )  # fmt: skip
        assert right in question.right.text and not any(right in c.text for c in question.wrong), question
        seen.add(right)
    assert len(seen) == 5


def test_sun_or_leak() -> None:
    """Does the cooling explain the fall? By the ideal gas, 406.8 in. WC of air pressure at 20 °C (293.15 K)."""
    seen = set()
    for question in draws(gas_pressure.sun_or_leak):
        start, end, cooled, alone = numbers(question.text)
        by_law = (406.78 + start) * cooled / 1.8 / 293.15
        assert alone == pytest.approx(by_law, abs=0.06)
        right = "all of the fall" if start - end < by_law + 0.3 else "only a part"
        assert right in question.right.text, question
        seen.add(right)
    assert len(seen) == 2


def test_questions_are_plain() -> None:
    """Do the questions and their explanations stay within grade 9?"""
    for generator in gas_pressure.QUESTIONS:
        question = draws(generator)[0]
        words = [question.text, *(f"{c.text} {c.why}" for c in (question.right, *question.wrong))]
        assert flesch_kincaid(" ".join(words)) <= 9, generator.__name__
