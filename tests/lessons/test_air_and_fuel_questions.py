"""Lesson 8's self-check questions over 500 seeds: the answer right, the others wrong, each explained, none twice.

Right answers are worked out again from the numbers shown, by textbook formulas and the published tables.
"""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest

from tankside.questions import air_and_fuel
from tests.lessons.asked import Generator, check_every_draw, draws
from tests.lessons.reading import flesch_kincaid
from tests.published import row

each = pytest.mark.parametrize("generator", air_and_fuel.QUESTIONS, ids=lambda g: g.__name__)


def numbers(text: str) -> list[float]:
    """Every number of a text, without what stands in brackets in the other system of measures and in names like O2."""
    plain = re.sub(r" \([^()]*\)", "", text).replace(",", "")
    return [float(n) for n in re.findall(r"(?<![\w.])\d+(?:\.\d+)?", plain)]


@each
def test_every_draw_can_be_asked(generator: Generator) -> None:
    check_every_draw(generator)


@each
def test_draws_differ(generator: Generator) -> None:
    """Is it another question next time?"""
    assert len({question.text for question in draws(generator)}) >= 20


def _shut_cabin(n: list[float]) -> float:
    spilled, room, minutes = n
    return 1e6 * spilled * minutes / 60 / room


# Plain textbook laws on the numbers shown. Air-free: CO x 20.9 / (20.9 - O2) (hvacrschool.com; combustion.toml).
# CO2 = CO2ult (20.95 - O2) / 20.95 (element balance; combustion.toml). A sealed room: what came in, by its volume.
WORKED: dict[str, Callable[[list[float]], float]] = {
    "boxes-of-air": lambda n: n[0] * n[1],
    "air-in-an-hour": lambda n: n[0] * n[1] * (1 + n[2] / 100),
    "carbon-dioxide": lambda n: n[0] * (n[2] - n[1]) / n[2],
    "free-of-air": lambda n: n[0] * 20.9 / (20.9 - n[1]),
    "a-shut-cabin": _shut_cabin,
}


@pytest.mark.parametrize(
    "generator",
    [
        air_and_fuel.boxes_of_air,
        air_and_fuel.air_in_an_hour,
        air_and_fuel.carbon_dioxide,
        air_and_fuel.free_of_air,
        air_and_fuel.a_shut_cabin,
    ],
)
def test_numbers(generator: Generator) -> None:
    """Is the right number what the law gives, and is every other far enough away, in the same unit?"""
    for question in draws(generator):
        found = numbers(question.text)
        shown = found[-3:] if question.id == "carbon-dioxide" else found[:3]
        wanted = WORKED[question.id](shown)
        assert numbers(question.right.text)[0] == pytest.approx(wanted, rel=0.012), question
        for choice in question.wrong:
            assert choice.text.split()[-1] == question.right.text.split()[-1]
            assert abs(numbers(choice.text)[0] / wanted - 1) > 0.02, (question.text, choice)


def test_the_formulas_give_the_published_examples() -> None:
    """87 ppm at 5 % of O2 is 114 air-free; 7.40 % of O2 goes with 8.88 % of CO2 for propane."""
    example = row("combustion", "co-air-free")
    assert example.agrees(WORKED["free-of-air"]([87, 5]))
    assert row("combustion", "co2-from-o2").agrees(WORKED["carbon-dioxide"]([13.72, 7.40, 20.95]))


def test_air_for_a_gas_is_the_balance() -> None:
    """(C + H/4) / 20.95 % for C3H8 and C4H10: is that the number that the questions give for one volume?"""
    need = {"propane": 5 / 0.2095, "butane": 6.5 / 0.2095}
    for question in draws(air_and_fuel.boxes_of_air):
        gas = "propane" if "propane" in question.text else "butane"
        assert numbers(question.text)[0] == pytest.approx(need[gas], abs=0.06)


def test_limits() -> None:
    """Is the air-free number, not the bare one, held against 200 and 400 ppm (hvactoday.com: combustion.toml)?"""
    low, high = (
        row("combustion", "co-limit-water-heater").value,
        row("combustion", "co-limit-vented-heating").value,
    )
    assert isinstance(low, float | int) and isinstance(high, float | int)
    seen = set()
    for question in draws(air_and_fuel.over_which_limit):
        first, second, reading, oxygen = numbers(question.text)
        assert (first, second) == (low, high)
        free = reading * 20.9 / (20.9 - oxygen)
        right = (
            "within both limits" if free <= low else "over both limits" if free > high else f"over {low:g} ppm, within {high:g} ppm"
        )  # fmt: skip
        assert question.right.text == right, question
        seen.add(right)
    assert len(seen) == 3


def test_what_is_wrong_follows_from_the_readings() -> None:
    """O2 fallen: too little air in all. CO up at the same O2: primary air. Stack far hotter at the same CO: the baffle.

    (Common practice, no source; the directions are the model's.)
    """
    seen = set()
    for question in draws(air_and_fuel.what_is_wrong):
        o2, co, stack, o2_now, co_now, stack_now = numbers(question.text)
        right = (
            "in all" if o2_now < o2 - 2 and co_now > 3 * co
            else "burner tube" if co_now > 3 * co and abs(o2_now - o2) < 0.5
            else "heat isn't taken off" if stack_now > stack + 300 and co_now < 2 * co
            else "clean flame"
        )  # fmt: skip
        assert right in question.right.text and not any(right in c.text for c in question.wrong), question
        seen.add(right)
    assert len(seen) == 4


def test_which_flame_follows_from_the_shares() -> None:
    """Too little air in all, too fast at the ports, too little primary air, or neither: in that order."""
    seen = set()
    for question in draws(air_and_fuel.which_flame):
        _, primary, total, low = numbers(question.text)
        fast = "faster than the flame can hold" in question.text
        right = "drops out" if total < 60 else "lifts" if fast else "orange" if primary < low else "blue"
        assert right in question.right.text and not any(right in c.text for c in question.wrong), question
        seen.add(right)
    assert len(seen) == 4


def test_alarms_by_the_published_points() -> None:
    """Before its time, within it, or overdue, by the points of UL 2034 (carbon_monoxide.toml)?"""
    latest, earliest = (row("carbon_monoxide", f"co-alarm-{end}") for end in ("latest", "earliest"))
    assert latest.at
    for question in draws(air_and_fuel.is_the_alarm_dead):
        ppm, minutes = numbers(question.text)
        k = latest.at.index(ppm)
        right = (
            "isn't due" if minutes < earliest.values[k] else "overdue" if minutes > latest.values[k] else "left"
        )  # fmt: skip
        assert right in question.right.text and not any(right in c.text for c in question.wrong), question


def test_over_the_limit_is_never_left_on() -> None:
    """Is the reading asked about over both limits, and is off and proven the only answer?"""
    for question in draws(air_and_fuel.next_move):
        _, free = numbers(question.text)
        assert free > 400 and question.right.text.startswith("Shut it off"), question


def test_questions_are_plain() -> None:
    """Do the questions and their explanations stay within grade 9?"""
    for generator in air_and_fuel.QUESTIONS:
        question = draws(generator)[0]
        words = [question.text, *(f"{c.text} {c.why}" for c in (question.right, *question.wrong))]
        assert flesch_kincaid(" ".join(words)) <= 9, generator.__name__
