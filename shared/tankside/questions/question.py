"""A self-check question: what is asked, the right choice, the wrong ones, and why."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Choice:
    """One choice, with the sentence that someone who takes it should read."""

    text: str
    why: str


@dataclass(frozen=True)
class Question:
    """One question as drawn. ``why`` explains the right answer; ``wrong`` are what typical mistakes give."""

    id: str
    text: str
    right: Choice
    wrong: tuple[Choice, ...]
    why: str


def of_another_case(text: str, sign: str) -> Choice:
    """A wrong choice that would be right with other readings; ``sign`` says which, so it must not sound like this case."""
    return Choice(text, f"That would fit another case: {sign[:1].lower()}{sign[1:]}")
