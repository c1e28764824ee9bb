"""Self-check questions in a lesson: drawn fresh, never marked, and each wrong choice says what the mistake was."""

from __future__ import annotations

import secrets
from collections.abc import Callable
from importlib import import_module
from pkgutil import iter_modules
from typing import Any

import anywidget
import traitlets

import tankside.questions as package
from tankside.errors import TanksideError, UnknownNameError
from tankside.questions.question import Question
from tankside.streams import Stream
from tankside.widgets.frontend import module, styles
from tankside.widgets.progress import ProgressStore, kept_here

MOST = 50
"""Questions in one round, at most."""
UNCLEAR = "That did not arrive in one piece. Try it again."

Generator = Callable[[Stream], Question]


def topics() -> list[str]:
    """Names of the modules of ``tankside.questions`` that hold questions."""
    names = [info.name for info in iter_modules(package.__path__)]
    return sorted(name for name in names if hasattr(import_module(f"{package.__name__}.{name}"), "QUESTIONS"))


def generators(topic: str) -> tuple[Generator, ...]:
    """The topic's questions, each drawn from a stream; ``UnknownNameError`` for another topic."""
    try:
        return tuple(import_module(f"{package.__name__}.{topic}").QUESTIONS)
    except (ModuleNotFoundError, AttributeError):
        raise UnknownNameError("topic of questions", topic, topics()) from None


class Round:
    """One round of questions, the same for the same seed. Drawn one by one: some take a bench to work out.

    Parameters
    ----------
    topic : a module of ``tankside.questions``
    number : 1 to 50; every kind comes once before any comes again
    seed : any text
    """

    def __init__(self, topic: str, number: int, seed: str) -> None:
        if isinstance(number, bool) or not isinstance(number, int) or not 1 <= number <= MOST:
            raise TanksideError(f"{number!r} questions won't do: a whole number from 1 to {MOST}.")
        self.number, self.seed = number, seed
        kinds: list[Generator] = []
        while len(kinds) < number:
            kinds += Stream(seed, "kinds", str(len(kinds))).shuffled(generators(topic))
        self._kinds = kinds[:number]
        self._drawn: dict[int, tuple[Question, list[int]]] = {}

    def question(self, index: int) -> tuple[Question, list[int]]:
        """The question, and the order in which its choices stand (0 is the right one)."""
        if index not in self._drawn:
            question = self._kinds[index](Stream(self.seed, "question", str(index)))
            order = Stream(self.seed, "choices", str(index)).shuffled(range(len(question.wrong) + 1))
            self._drawn[index] = question, order
        return self._drawn[index]


class SelfCheck(anywidget.AnyWidget):
    """Questions on a screen, one at a time.

    The front end sends ``{"do": "choose", "choice": number}``, ``{"do": "next"}`` or ``{"do": "again"}`` and
    gets one update of ``quiz``: the question shown, what was chosen, and why that is right or wrong. Which
    choice is right stays in Python until it is chosen.
    """

    _esm = module("self_check.js")
    _css = styles("base.css", "self_check.css")

    quiz = traitlets.Dict().tag(sync=True)

    def __init__(
        self, topic: str, number: int = 5, seed: str | None = None, store: ProgressStore | None = None
    ) -> None:
        self.topic, self.number, self.store = topic, number, store or kept_here()
        self._start(seed)
        super().__init__(quiz=self._shown())
        self.on_msg(self._on_message)

    def _start(self, seed: str | None) -> None:
        # Which questions come may differ from one reader to the next; what is marked never comes from here.
        self.round = Round(self.topic, self.number, seed or secrets.token_hex(8))
        self.index = 0
        self.chosen: list[list[int]] = [[] for _ in range(self.number)]
        self.note = ""

    def _on_message(self, _widget: object, content: Any, _buffers: object) -> None:
        self.receive(content)

    def receive(self, content: Any) -> None:
        """Act on one message and send one update; a message that makes no sense is answered in words."""
        self.note = ""
        wish = content.get("do") if isinstance(content, dict) else None
        if wish == "choose":
            self._choose(content.get("choice"))
        elif wish == "next" and self.index < self.number - 1:
            self.index += 1
        elif wish == "back" and self.index > 0:
            self.index -= 1
        elif wish == "again":
            self._start(None)
        else:
            self.note = UNCLEAR
        self.quiz = self._shown()

    def _choose(self, choice: Any) -> None:
        _, order = self.round.question(self.index)
        if isinstance(choice, bool) or not isinstance(choice, int) or not 0 <= choice < len(order):
            self.note = "Choose one of the answers first."
        elif self._solved(self.index) or choice in self.chosen[self.index]:
            pass
        else:
            self.chosen[self.index].append(choice)
            if len(self.chosen[self.index]) == 1:
                self._keep(order[choice] == 0)

    def _keep(self, right: bool) -> None:
        """The first choice is what shows whether it is known; it goes to the learner's own progress file."""
        if self.store is None:
            return
        question, _ = self.round.question(self.index)
        try:
            self.store.add(f"question/{self.topic}/{question.id}", right)
        except TanksideError as error:
            self.note = str(error)

    def _solved(self, index: int) -> bool:
        taken = self.chosen[index]
        return bool(taken) and self.round.question(index)[1][taken[-1]] == 0

    def _shown(self) -> dict[str, Any]:
        question, order = self.round.question(self.index)
        choices = [question.right, *question.wrong]
        taken = self.chosen[self.index]
        last = order[taken[-1]] if taken else None
        return {
            "number": self.number,
            "index": self.index,
            "key": f"{self.round.seed}-{self.index}",
            "text": question.text,
            "choices": [choices[place].text for place in order],
            "tried": list(taken),
            "solved": self._solved(self.index),
            "verdict": "" if last is None else "Right." if last == 0 else "Not this one.",
            "why": "" if last is None else question.why if last == 0 else choices[last].why,
            "first": sum(1 for i in range(self.number) if self._solved(i) and len(self.chosen[i]) == 1),
            "done": sum(1 for i in range(self.number) if self._solved(i)),
            "note": self.note,
        }


def self_check(topic: str, number: int = 5, seed: str | None = None) -> SelfCheck:
    """Questions on a topic, to answer in the notebook. Without a seed they are other ones each time."""
    return SelfCheck(topic, number, seed)
