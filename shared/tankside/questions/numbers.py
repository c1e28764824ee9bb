"""Questions whose choices are numbers: the computed one, and what typical mistakes would give."""

from __future__ import annotations

import math
from collections.abc import Iterable

from tankside.questions.question import Choice, Question
from tankside.units import significant

APART = 0.05
"""Two numbers closer than this share can't both stand in one question: rounding would blur them."""


def number_question(
    name: str,
    text: str,
    right: float,
    unit: str,
    way: str,
    wrong: Iterable[tuple[float, str]],
    more: str = "",
    digits: int = 3,
    most: int = 3,
    decimals: int | None = None,
) -> Question:
    """A question with one computed number and up to ``most`` that mistakes give.

    Parameters
    ----------
    right : the computed answer, above 0, in ``unit``
    way : how one gets it, in a sentence
    wrong : (number, which mistake gives it); those too near to the right one or to each other are left out
    more : what else to say of the answer
    decimals : all choices with so many places, as money is written; by default each with ``digits`` digits
    """

    def written(value: float) -> str:
        return (
            f"{value:,.{decimals}f} {unit}"
            if decimals is not None
            else f"{significant(value, digits)} {unit}"
        )

    taken, choices = [right], []
    for value, why in wrong:
        if value > 0 and all(abs(math.log(value / other)) > APART for other in taken):
            taken.append(value)
            choices.append(Choice(written(value), why))
    answer = Choice(written(right), way)
    return Question(name, text, answer, tuple(choices[:most]), f"{way} {more}".strip())
