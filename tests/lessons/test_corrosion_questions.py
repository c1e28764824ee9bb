"""Lesson 10's self-check questions over 500 seeds: the answer right, the others wrong, each explained, none twice.

Right answers are worked out again from the numbers shown, by Faraday's law and the manual's formulas as published.
"""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest

from tankside.questions import corrosion
from tests.lessons.asked import Generator, check_every_draw, draws
from tests.lessons.reading import flesch_kincaid
from tests.published import row

each = pytest.mark.parametrize("generator", corrosion.QUESTIONS, ids=lambda g: g.__name__)


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


CAPACITY = float(dict(row("corrosion", "capacity").pairs())["magnesium"])
"""Ah/kg."""
USEFUL = float(str(row("corrosion", "magnesium-efficiency").value))
POUNDS = float(str(row("corrosion", "magnesium-consumption").value))
OUNCE = 0.45359237 / 16
"""kg."""

# The plain laws on the numbers shown, in the order in which they are shown.
WORKED: dict[str, Callable[[list[float]], float]] = {
    "metal-gone": lambda n: n[0] / 1e3 * n[1] * 8760 / CAPACITY / USEFUL / OUNCE,
    "years-left": lambda n: n[0] * OUNCE * CAPACITY * USEFUL / (n[1] / 1e3) / 8760,
    "share-left": lambda n: 100 * (n[2] ** 2 - n[1] ** 2) / (n[0] ** 2 - n[1] ** 2),
    "water-conducts": lambda n: n[1] * n[0] / n[2],
    "anodes-for-a-structure": lambda n: n[1] * POUNDS * n[0] / USEFUL,
    "when-through": lambda n: n[2] / (n[0] * n[1]),
}


NUMERIC = (
    corrosion.metal_gone, corrosion.years_left, corrosion.share_left, corrosion.water_conducts,
    corrosion.anodes_for_a_structure, corrosion.when_through,
)  # fmt: skip


@pytest.mark.parametrize("generator", NUMERIC, ids=lambda g: g.__name__)
def test_numbers(generator: Generator) -> None:
    """Is the right number what the law gives, and is every other far enough away, in the same unit?"""
    for question in draws(generator):
        wanted = WORKED[question.id](numbers(question.text))
        assert numbers(question.right.text)[0] == pytest.approx(wanted, rel=0.012), question
        for choice in question.wrong:
            assert re.sub(r"[\d.,]", "", choice.text) == re.sub(r"[\d.,]", "", question.right.text)
            assert abs(numbers(choice.text)[0] / wanted - 1) > 0.02, (question.text, choice)


def test_the_formulas_give_the_published_examples() -> None:
    """TM 5-811-7: 184.8 lb and 227 lb; 26.7 mA in 4500 ohm cm; 0.25 kg, all but 15 % used, last 13.4 years at 2 mA."""
    for name, amps in (("anode-weight-first", 0.7), ("anode-weight-second", 0.858)):
        assert row("corrosion", name).agrees(WORKED["anodes-for-a-structure"]([amps, 15]))
    each_anode = float(str(row("corrosion", "anode-current-second").value))
    assert WORKED["water-conducts"]([120_000, 1, 4500]) == pytest.approx(each_anode, abs=0.05)
    life = row("corrosion", "life-quarter-kilogram")
    assert life.agrees(WORKED["years-left"]([0.85 * 0.25 / OUNCE, 2]), 0)


def test_what_the_rod_says_follows_from_what_is_seen() -> None:
    """Many ohms: insulated. A skin: passivated. Wire: used up. Else it works, and has been worn. (Common practice, no source.)"""
    seen = set()
    for question in draws(corrosion.what_the_rod_says):
        shown = re.search(r"shows ([\d.]+) (k?Ω)", question.text)
        assert shown
        right = (
            "insulated" if shown[2] == "kΩ" else "used up" if "bare wire" in question.text
            else "passivated" if "hard gray skin" in question.text else "Nothing"
        )  # fmt: skip
        assert right in question.right.text and not any(right in w.text for w in question.wrong), question
        across = [float(n) for n in re.findall(r"([\d.]+) in\.", question.text)]
        worn = len(across) < 2 or across[1] < 0.93 * across[0]
        assert worn == (right in ("Nothing", "used up")), question
        seen.add(right)
    assert len(seen) == 4


def test_repair_or_new_is_plain_division() -> None:
    """Each price by its own years; the smaller one wins; and do both win somewhere?"""
    seen = set()
    for question in draws(corrosion.repair_or_new):
        fix, kept, new, lasts = numbers(question.text.replace("$", ""))
        a, b = fix / kept, new / lasts
        said = numbers(question.right.text.replace("$", ""))
        assert said == pytest.approx([a, b], abs=0.006)
        better = "Repair" if a < b else "Replace"
        assert question.right.text.startswith(f"{better}.")
        seen.add(better)
    assert seen == {"Repair", "Replace"}


def test_one_year_is_a_year() -> None:
    """Does no draw of repair or replacement say "1 years", and does the one that could say "1 year"?"""
    said = [question.text for question in draws(corrosion.repair_or_new)]
    assert not [text for text in said if re.search(r"(?<![\d.])1 years", text)]
    assert [text for text in said if "then hold 1 year." in text]


def test_no_flame_is_ever_right() -> None:
    """Is a flame near an idle tank wrong in every draw, and said so?"""
    for question in draws(corrosion.idle_tank):
        assert question.right.text.startswith("No flame")
        assert any("flame" in c.text and "Never" in c.why for c in question.wrong)


def test_questions_are_plain() -> None:
    """Do the questions and their explanations stay within grade 9?"""
    for generator in corrosion.QUESTIONS:
        question = draws(generator)[0]
        words = [question.text, *(f"{c.text} {c.why}" for c in (question.right, *question.wrong))]
        assert flesch_kincaid(" ".join(words)) <= 9, generator.__name__


@pytest.mark.parametrize("generator", [corrosion.what_the_rod_says], ids=lambda g: g.__name__)
def test_no_wrong_choice_is_explained_by_the_signs_of_another_case(generator: Generator) -> None:
    """Does nobody read, as if it were seen here, what would only be seen where the wrong choice is right?"""
    asked = list(draws(generator))
    signs = {question.right.why for question in asked}
    assert len(signs) > 2
    assert [c.why for question in asked for c in question.wrong if c.why in signs] == []
