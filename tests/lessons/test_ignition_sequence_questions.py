"""Are lesson 6's self-check questions right in every draw? The answers are worked out again from what is shown."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest

from tankside.questions import ignition_sequence as topic
from tankside.questions.ignition_starts import kinds_of_start
from tankside.questions.question import Question
from tests.lessons.asked import Generator, check_every_draw, draws
from tests.lessons.reading import flesch_kincaid
from tests.published import row

each = pytest.mark.parametrize("generator", topic.QUESTIONS, ids=lambda g: g.__name__)


def numbers(text: str) -> list[float]:
    return [float(n) for n in re.findall(r"(?<![\w.])\d+(?:\.\d+)?", text.replace(",", ""))]


def ohms(text: str) -> list[float]:
    """Every resistance in a text, in ohms; OL is infinite."""
    scale = {"Ω": 1.0, "kΩ": 1e3, "MΩ": 1e6}
    found = re.findall(r"(?:(\d+(?:\.\d+)?) (Ω|kΩ|MΩ))|\bOL\b", text)
    return [float(n) * scale[unit] if n else float("inf") for n, unit in found]


def wrong_ones(question: Question) -> str:
    return " ".join(choice.text for choice in question.wrong)


@each
def test_every_draw_can_be_asked(generator: Generator) -> None:
    check_every_draw(generator)


@each
def test_draws_differ(generator: Generator) -> None:
    """Is it another question next time?"""
    assert len({(question.text, question.right.text) for question in draws(generator)}) >= 15


def _out_after(n: list[float]) -> float:
    trial, _response, catches = n
    return trial - catches


def _lockout_after(n: list[float]) -> float:
    purge, trial, wait, tries = n
    return purge + trial + (tries - 1) * (wait + trial)


def _loaded(n: list[float]) -> float:
    opened, inner, coil = n
    return opened * coil / (inner + coil)  # a voltage divider, any textbook


WORKED: dict[Generator, Callable[[list[float]], float]] = {
    topic.lockout_after: _lockout_after,
    topic.out_after: _out_after,
    topic.loaded_millivolts: _loaded,
}


@pytest.mark.parametrize("generator", list(WORKED), ids=lambda g: g.__name__)
def test_numbers(generator: Generator) -> None:
    """Is the right number what the rule gives, and is every other far enough away, in the same unit?"""
    for question in draws(generator):
        wanted = WORKED[generator](numbers(question.text))
        assert numbers(question.right.text)[0] == pytest.approx(wanted, rel=0.006), question
        for choice in question.wrong:
            assert choice.text.split()[-1] == question.right.text.split()[-1]
            assert abs(numbers(choice.text)[0] / wanted - 1) > 0.03, (question.text, choice)


def _millilitres(text: str) -> float:
    return float(re.search(r"\(([\d,.]+) mL\)", text)[1].replace(",", ""))  # type: ignore[index]


def test_unburnt_gas() -> None:
    """Is it what flows in a second, times all the seconds, and is that flow the propane's own?

    Higher heating value of propane gas at 15 °C: 93.85 MJ/m3 (``physics.fuels`` cites its sources; see gas.toml).
    """
    for question in draws(topic.unburnt_gas):
        second = float(re.search(r"\(([\d.]+) mL\) of propane", question.text)[1])  # type: ignore[index]
        kilowatts = float(re.search(r"\(([\d.]+) kW\)", question.text)[1])  # type: ignore[index]
        tries, trial = map(int, re.search(r"(\d+) tries of (\d+) s", question.text).groups())  # type: ignore[union-attr]
        assert second == pytest.approx(kilowatts / 93.85 * 1e3, rel=0.01)
        shown = _millilitres(question.right.text)
        assert shown == pytest.approx(second * tries * trial, rel=0.01)
        for choice in question.wrong[:2]:
            assert abs(_millilitres(choice.text) / shown - 1) > 0.3


def test_signal_judged() -> None:
    """Is a current judged by the board's limit and by what is published as weak?"""
    weak = row("ignition", "flame-current-weak").values[0]
    for question in draws(topic.judge_signal):
        limit, reading = numbers(question.text)[:2]
        right = "can't see" if reading < limit else "weak" if reading < weak else "good"
        assert right in question.right.text and right not in wrong_ones(question), question


def test_patterns() -> None:
    """Is the right fault one that shows the pattern asked for, and does no wrong one show it?"""
    for question in draws(topic.pattern_suspect):
        kind = next(k for k in kinds_of_start() if k.pattern.words().casefold() in question.text.casefold())
        names = {fault.name.partition(":")[0] for fault in kind.faults}
        assert question.right.text in names
        assert not names & {choice.text for choice in question.wrong}, question


def test_where_the_signal_is_lost() -> None:
    """Does the answer follow from the readings, as one reasons along a single path?"""
    for question in draws(topic.where_lost):
        lead, insulator, ground = ohms(question.text)
        current = float(re.search(r"([\d.]+) µA", question.text)[1])  # type: ignore[index]
        found = [
            words
            for words, is_so in (
                ("blind", current >= 1.0),
                ("lead to the rod", lead > 1e3),
                ("cracked", insulator < 5e6),
                ("rusty", ground > 1e3),
            )
            if is_so
        ] or ["dirty"]
        assert len(found) == 1 and found[0] in question.right.text, (question.text, question.right)
        assert found[0] not in wrong_ones(question)


def test_gap_against_the_maker() -> None:
    """Is a gap judged by the maker's two figures?"""
    for question in draws(topic.gap_verdict):
        low, high, gap = (float(n) for n in re.findall(r"\(([\d.]+) mm\)", question.text))
        right = "wide" if gap > high else "narrow" if gap < low else "is right"
        assert right in question.right.text and right not in wrong_ones(question), question


def test_pilots() -> None:
    """Does the cause follow from what is seen and from the two readings? (A divider: about half where all is good.)"""
    for question in draws(topic.pilot_cause):
        opened, loaded = (float(n) for n in re.findall(r"([\d.]+) mV", question.text))
        right = (
            "too small" if "misses the tip" in question.text
            else "thermocouple is weak" if opened < 15
            else "No current" if loaded > 0.8 * opened
            else "way to the magnet" if loaded < 0.05 * opened
            else "magnet is worn"
        )  # fmt: skip
        assert right in question.right.text and right not in wrong_ones(question), question


def test_smell_comes_first() -> None:
    """With a smell: out, no switch. Without: wait and smell again. Never a reset, never a bridge."""
    for question in draws(topic.after_lockout):
        smells = "There is a smell" in question.text
        wanted = "touch no switch" if smells else "wait as long as the maker says"
        assert wanted in question.right.text and (smells or wanted not in wrong_ones(question))
        assert "Reset" not in question.right.text and "Bridge" not in question.right.text


def test_questions_are_plain() -> None:
    """Do the questions and their explanations stay within grade 9?"""
    for generator in topic.QUESTIONS:
        question = draws(generator)[0]
        words = [question.text, *(f"{c.text} {c.why}" for c in (question.right, *question.wrong))]
        assert flesch_kincaid(" ".join(words)) <= 9, generator.__name__
