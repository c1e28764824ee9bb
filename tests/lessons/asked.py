"""Questions drawn over many seeds, and what every draw of every generator has to keep to."""

from __future__ import annotations

import re
from collections.abc import Callable
from functools import cache

from tankside.questions.question import Question
from tankside.streams import Stream

SEEDS = range(500)
Generator = Callable[[Stream], Question]


def drawn(generator: Generator, seed: int) -> Question:
    """What the generator asks for one seed."""
    return generator(Stream(f"{seed:016x}", "self-check", generator.__name__))


@cache
def draws(generator: Generator) -> list[Question]:
    """What it asks for every seed."""
    return [drawn(generator, seed) for seed in SEEDS]


def check_every_draw(generator: Generator) -> None:
    """Two or three wrong choices, all different, all explained; and does a seed repeat itself?"""
    for question in draws(generator):
        choices = [question.right, *question.wrong]
        texts = [choice.text for choice in choices]
        assert 2 <= len(question.wrong) <= 3 and len(set(texts)) == len(texts), texts
        assert question.text.endswith("?") and question.why and all(c.text and c.why for c in choices)
        assert not re.search(r"\bnan\b|\binf\b|None\b(?!:)|[{}]", " ".join([question.text, *texts]))
    assert draws(generator)[::100] == [drawn(generator, seed) for seed in SEEDS[::100]]
