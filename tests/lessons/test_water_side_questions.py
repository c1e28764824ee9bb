"""Lesson 9's self-check questions over 500 seeds: the answer right, the others wrong, each explained, none twice.

Right answers are worked out again from the numbers shown, by textbook formulas and the published tables.
"""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest

from tankside.questions import water_side
from tests.lessons.asked import Generator, check_every_draw, draws
from tests.lessons.reading import flesch_kincaid
from tests.published import row

each = pytest.mark.parametrize("generator", water_side.QUESTIONS, ids=lambda g: g.__name__)


def numbers(text: str) -> list[float]:
    """Every number of a text, without what stands in brackets in the other system of measures."""
    plain = re.sub(r" \([^()]*\)", "", text).replace(",", "")
    return [float(n) for n in re.findall(r"(?<![\w.])\d+(?:\.\d+)?", plain)]


@each
def test_every_draw_can_be_asked(generator: Generator) -> None:
    check_every_draw(generator)


@each
def test_draws_differ(generator: Generator) -> None:
    """Is it another question next time?"""
    assert len({question.text for question in draws(generator)}) >= 20


# Plain textbook laws on the numbers shown. Mixing: (M - C) / (H - C). Heat: 8.33 x gallons x °F (both in water.toml).
WORKED: dict[str, Callable[[list[float]], float]] = {
    "hot-share": lambda n: 100 * (n[2] - n[1]) / (n[0] - n[1]),
    "shower-minutes": lambda n: n[1] / 100 * n[0] / (n[2] * n[3] / 100),
    "time-to-heat": lambda n: 60 * 8.33 * n[0] * (n[2] - n[1]) / n[3],
    "until-it-lifts": lambda n: (n[3] - n[1]) / n[2],
}


@pytest.mark.parametrize(
    "generator",
    [water_side.hot_share, water_side.shower_minutes, water_side.time_to_heat, water_side.until_it_lifts],
)
def test_numbers(generator: Generator) -> None:
    """Is the right number what the law gives, and is every other far enough away, in the same unit?"""
    for question in draws(generator):
        wanted = WORKED[question.id](numbers(question.text))
        assert numbers(question.right.text)[0] == pytest.approx(wanted, rel=0.012, abs=0.51 if question.id == "until-it-lifts" else 0), question  # fmt: skip
        for choice in question.wrong:
            assert re.sub(r"[\d.,]", "", choice.text) == re.sub(r"[\d.,]", "", question.right.text)
            assert abs(numbers(choice.text)[0] / wanted - 1) > 0.02, (question.text, choice)


def test_the_formulas_give_the_published_examples() -> None:
    """140/60 to 105 °F is 0.5625; 10 gallons by 80 °F take 81.4 min at 1440 W and 53.3 min at 7500 BTU/h of heat."""
    assert row("water", "mixing").agrees(WORKED["hot-share"]([140, 60, 105]) / 100)
    assert row("water", "heat-up-electric").agrees(WORKED["time-to-heat"]([10, 60, 140, 1440 * 3.412142]))
    assert row("water", "heat-up-gas").agrees(WORKED["time-to-heat"]([10, 60, 140, 7500]))


def test_growth_is_that_of_the_published_densities() -> None:
    """Density cold by density hot, less one (CoolProp 8: water.toml), times the tank's fluid ounces."""
    table = dict(row("water", "density").pairs())
    for question in draws(water_side.water_grows):
        gallons, cold, hot = numbers(question.text)
        wanted = 128 * gallons * (table[cold] / table[hot] - 1)
        assert numbers(question.right.text)[0] == pytest.approx(wanted, rel=0.03), (
            question
        )  # the table's last digit
        assert all(abs(numbers(c.text)[0] / wanted - 1) > 0.5 for c in question.wrong)
        assert all(c.text.split(" ")[1:3] == ["fl", "oz"] for c in (question.right, *question.wrong))


def test_where_it_is_mixed_follows_from_three_temperatures() -> None:
    """The first place that is cool names the cause. (Heat balance: cold came in ahead of it.)"""
    seen = set()
    for question in draws(water_side.where_is_it_mixed):
        a, b, c, made = numbers(question.text)
        right = (
            "no hotter" if a < made - 15 else "bypass is open" if b < a - 10 else "mixing tap" if c < b - 10 else "Nothing."
        )  # fmt: skip
        assert right in question.right.text and not any(right in w.text for w in question.wrong), question
        seen.add(right)
    assert len(seen) == 4


def test_why_it_drips_follows_from_the_gauge() -> None:
    """Below its rating: its spring. At it from a good supply: no cushion. Supply high: the regulator. Never a cap."""
    seen = set()
    for question in draws(water_side.why_it_drips):
        made, supply, highest = numbers(question.text)
        right = "spring" if highest < 0.8 * made else "house's pressure" if supply > 80 else "cushion is gone"
        assert right in question.right.text and not any(right in w.text for w in question.wrong), question
        assert "cap" not in question.right.text
        seen.add(right)
    assert len(seen) == 3


def test_why_it_is_slow_follows_from_the_times() -> None:
    """Slow on mains: element. Slow on gas with a rumble: mud; without: the flame. (Electric unchanged by scale: water.toml.)"""
    seen = set()
    for question in draws(water_side.why_it_is_slow):
        gas, mains, gas_now, mains_now = numbers(question.text)
        rumbles = "it rumbles" in question.text
        right = "element" if mains_now > 1.1 * mains else "mud" if rumbles else "burner"
        assert right in question.right.text and (gas_now > gas) == (right != "element"), question
        assert mains_now == mains or right == "element"
        seen.add(right)
    assert len(seen) == 3


def test_frost_follows_from_the_hours() -> None:
    """Before the first hour nothing, before the last the fitting alone, then both?"""
    seen = set()
    for question in draws(water_side.left_in_the_frost):
        _, flap, split, tank, stood = numbers(question.text.replace("-", ""))
        minutes = stood if "so for" in question.text and "minutes. What" in question.text else 60 * stood
        right = (
            "Nothing yet" if minutes < flap else "tank is likely whole" if 60 * split <= minutes < 60 * tank else "both be split"
        )  # fmt: skip
        assert right in question.right.text, question
        seen.add(right)
    assert len(seen) == 3


def test_no_table_is_called_safe() -> None:
    """Do the seconds lie where the published tables put them, and is no choice that calls them safe right?"""
    slowest = dict(row("water", "scald-third-degree").pairs())
    for question in draws(water_side.two_tables):
        assert "sooner than either" in question.right.text and "safe" not in question.right.text
        assert any("safe" in choice.text for choice in question.wrong)
        times = re.findall(r"about (\d+) (seconds|minutes)", question.text)
        assert len(times) == 2
        assert all(int(n) * (60 if unit == "minutes" else 1) <= slowest[49] for n, unit in times)


def test_questions_are_plain() -> None:
    """Do the questions and their explanations stay within grade 9?"""
    for generator in water_side.QUESTIONS:
        question = draws(generator)[0]
        words = [question.text, *(f"{c.text} {c.why}" for c in (question.right, *question.wrong))]
        assert flesch_kincaid(" ".join(words)) <= 9, generator.__name__


@pytest.mark.parametrize(
    "generator",
    [
        water_side.where_is_it_mixed,
        water_side.why_it_drips,
        water_side.why_it_is_slow,
        water_side.left_in_the_frost,
    ],
    ids=lambda g: g.__name__,
)
def test_no_wrong_choice_is_explained_by_the_signs_of_another_case(generator: Generator) -> None:
    """Does nobody read, as if it were seen here, what would only be seen where the wrong choice is right?"""
    asked = list(draws(generator))
    signs = {question.right.why for question in asked}
    assert len(signs) > 2
    assert [c.why for question in asked for c in question.wrong if c.why in signs] == []
