"""A check before the course: two questions from each lesson, nothing told until the end, then where to start."""

from __future__ import annotations

import secrets
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import anywidget
import traitlets

from tankside.errors import TanksideError
from tankside.widgets.frontend import module, styles
from tankside.widgets.progress import ProgressStore, kept_here
from tankside.widgets.quiz import UNCLEAR, Round

EACH = 2
"""Questions from each lesson."""
RULE = "Start with the first lesson in which you missed a question or left one out. Right everywhere: go to the last lab."


@dataclass(frozen=True)
class Step:
    """A lesson as the check sees it: number, title, page, and the topic that its questions are drawn from."""

    number: int
    title: str
    page: str
    topic: str


def where_to_start(answers: Mapping[int, Sequence[bool | None]]) -> int | None:
    """The rule. Lesson number -> for each question right, wrong, or None (not answered); None: no lesson is needed."""
    return min((number for number, given in answers.items() if not all(given) or not given), default=None)


class EntryCheck(anywidget.AnyWidget):
    """The check on a screen, one question at a time.

    The front end sends ``{"do": "answer", "choice": number}``, ``{"do": "unknown"}``, ``{"do": "finish"}`` or
    ``{"do": "again"}`` and gets one update of ``check``. Until the end nothing that is sent tells right from wrong.

    Parameters
    ----------
    steps : the lessons in teaching order, at least one
    last : name and page of what comes when nothing was missed
    """

    _esm = module("entry_check.js")
    _css = styles("base.css", "self_check.css", "entry_check.css")

    check = traitlets.Dict().tag(sync=True)

    def __init__(
        self,
        steps: Sequence[Step],
        last: tuple[str, str],
        seed: str | None = None,
        store: ProgressStore | None = None,
    ) -> None:
        if not steps:
            raise TanksideError("There is no lesson to ask about.")
        self.steps, self.last, self.store = tuple(steps), last, store or kept_here()
        self._start(seed)
        super().__init__(check=self._shown())
        self.on_msg(self._on_message)

    def _start(self, seed: str | None) -> None:
        # Which questions come may differ from one reader to the next; nothing is marked from here.
        self.seed = seed or secrets.token_hex(8)
        self.rounds = [Round(step.topic, EACH, f"{self.seed} {step.topic}") for step in self.steps]
        self.given: list[bool] = []
        self.done, self.note = False, ""

    @property
    def answers(self) -> dict[int, tuple[bool | None, ...]]:
        """Lesson number -> what came of its questions so far."""
        all_of = [*self.given, *[None] * (len(self.steps) * EACH - len(self.given))]
        return {step.number: tuple(all_of[k * EACH : (k + 1) * EACH]) for k, step in enumerate(self.steps)}

    def _on_message(self, _widget: object, content: Any, _buffers: object) -> None:
        self.receive(content)

    def receive(self, content: Any) -> None:
        """Act on one message and send one update; a message that makes no sense is answered in words."""
        self.note = ""
        wish = content.get("do") if isinstance(content, dict) else None
        if wish == "again":
            self._start(None)
        elif wish == "answer" and not self.done:
            self._answer(content.get("choice"))
        elif wish == "unknown" and not self.done:
            self._keep(False)
        elif wish == "finish" and not self.done:
            self.done = True
        else:
            self.note = UNCLEAR
        self.check = self._shown()

    def _question(self) -> Any:
        lesson, which = divmod(len(self.given), EACH)
        return self.rounds[lesson].question(which)

    def _answer(self, choice: Any) -> None:
        _, order = self._question()
        if isinstance(choice, bool) or not isinstance(choice, int) or not 0 <= choice < len(order):
            self.note = "Choose one of the answers first, or press “I don't know”."
        else:
            self._keep(order[choice] == 0)

    def _keep(self, right: bool) -> None:
        """Count it, and put it into the learner's own progress file as the lessons' questions do."""
        question, _ = self._question()
        topic = self.steps[len(self.given) // EACH].topic
        if self.store is not None:
            try:
                self.store.add(f"question/{topic}/{question.id}", right)
            except TanksideError as error:
                self.note = str(error)
        self.given.append(right)
        self.done = len(self.given) == len(self.steps) * EACH

    def _shown(self) -> dict[str, Any]:
        number = len(self.steps) * EACH
        same = {
            "number": number,
            "index": len(self.given),
            "note": self.note,
            "rule": RULE,
            "done": self.done,
        }
        if self.done:
            return {**same, "key": f"{self.seed}-end", **self._result()}
        question, order = self._question()
        choices = [question.right, *question.wrong]
        return {
            **same,
            "key": f"{self.seed}-{len(self.given)}",
            "text": question.text,
            "choices": [choices[place].text for place in order],
        }

    def _result(self) -> dict[str, Any]:
        start = where_to_start(self.answers)
        rows = []
        for step in self.steps:
            given = self.answers[step.number]
            right, asked = sum(g is True for g in given), sum(g is not None for g in given)
            words = f"{right} of {asked} right" if asked else "not asked"
            advice = (
                "start here" if step.number == start else "you hold it" if all(given) else "go through it"
            )
            name = f"Lesson {step.number}: {step.title}"
            rows.append({"name": name, "page": step.page, "words": words, "advice": advice})
        if start is None:
            name, page = self.last
            text = f"You missed nothing. Go straight to {name}."
        else:
            row = rows[[step.number for step in self.steps].index(start)]
            name, page = row["name"], row["page"]
            text = f"Start with {name[0].lower()}{name[1:]}."
        return {"text": text, "name": name, "page": page, "rows": rows}
