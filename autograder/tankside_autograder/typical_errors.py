"""What each kind of invented learner gets wrong in a lab: rules broken, figures wrong, marks lost. Computed, never typed.

A few practice call-outs of the lab are worked by every kind, through the same bench as a learner's, and marked as a
learner's are. ``python3 run.py class errors lab05`` prints the table; the teacher's guide shows it for one lab.
"""

from __future__ import annotations

import html
import json
import re
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import date

from tankside.bench import Bench
from tankside.dispatch import make_order
from tankside.errors import TanksideError
from tankside.labs import PARTS, Lab, load_lab
from tankside.notebook import Page
from tankside.report import build_report
from tankside.scoring import Marks, score
from tankside_autograder.technicians import KINDS

ISSUED = date(2026, 1, 1)
MOST = 50
"""Call-outs that are worked at most."""
IN_WORDS = {
    "brilliant": "the expert",
    "careful": "methodical beginner",
    "slow": "slow and anxious",
    "part-swapper": "changes parts, measures nothing",
    "guesser": "measures once, then guesses",
    "unsafe": "finds it, works unsafely",
}
"""The kinds in the order in which they are shown."""


@dataclass
class Errors:
    """One kind's call-outs of one lab.

    ``marks``: the total of each; ``passed``: how many; ``rules``: sentence -> call-outs in which safe working lost marks
    by it; ``figures``: label -> call-outs in which it was wrong or missing; ``lost``: part -> points lost in all;
    ``gave_up``: call-outs that the kind couldn't finish, not marked.
    """

    kind: str
    marks: list[float] = field(default_factory=list)
    passed: int = 0
    rules: Counter[str] = field(default_factory=Counter)
    figures: Counter[str] = field(default_factory=Counter)
    lost: dict[str, float] = field(default_factory=lambda: dict.fromkeys(PARTS, 0.0))
    gave_up: int = 0

    @property
    def mean(self) -> float:
        """Mean mark, 0 to 100; 0 without a call-out."""
        return sum(self.marks) / len(self.marks) if self.marks else 0.0

    def add(self, lab: Lab, marks: Marks) -> None:
        """Count one marked call-out in."""
        self.marks.append(marks.total)
        self.passed += marks.passed
        for part in marks.parts:
            self.lost[part.id] += part.out_of - part.points
        safe = marks.part("safe-working")
        cost = [r for r in safe.reasons if r.points < 0 or (r.points == 0 and not safe.points)]
        self.rules.update({_rule(r.text) for r in cost})
        wrong = [reason.text for reason in marks.part("figures").reasons if reason.points <= 0]
        labels = [figure.label for figure in lab.figure]
        self.figures.update(label for label in labels if any(t.casefold().startswith(f"{label.casefold()}:") for t in wrong))


def _rule(text: str) -> str:
    """The rule's name, or what was left undone: without the line's number, and without the reasons."""
    plain = re.sub(r"^Lines? [\d, …]+: ", "", text)
    return re.split(r"(?:, again)?\.(?:\s|$)", plain, maxsplit=1)[0]


def typical_errors(
    lab: Lab, orders: int = 3, progress: Callable[[], None] = lambda: None
) -> dict[str, Errors]:
    """Each kind's errors in the first ``orders`` (1 to 50) practice call-outs of a lab. ``TanksideError``: no such number."""
    if isinstance(orders, bool) or not isinstance(orders, int) or not 1 <= orders <= MOST:
        raise TanksideError(f"{orders!r} call-outs won't do: a whole number from 1 to {MOST}.")
    out = {kind: Errors(kind) for kind in IN_WORDS}
    for number in range(orders):
        order = make_order(lab, "x", f"{number:032x}", ISSUED)
        for kind, errors in out.items():
            progress()
            bench = Bench(order)
            try:
                answers = KINDS[kind](bench, lab)
            except TanksideError:
                errors.gave_up += 1
                continue
            lines = [json.dumps(entry, ensure_ascii=False) for entry in bench.entries]
            errors.add(lab, score(order, build_report(lab, answers)[0], lines, lab))
    return out


HEAD = (
    "Learner",
    "Mean mark",
    "Passed",
    "Points lost",
    "Rules broken, things left",
    "Figures wrong or missing",
)


def rows(found: dict[str, Errors]) -> list[tuple[str, ...]]:
    """The table's rows in words, one a kind."""
    out: list[tuple[str, ...]] = []
    for kind, errors in found.items():
        done = len(errors.marks)
        lost = [
            f"{PARTS[part]} {points / done:.1f}"
            for part, points in sorted(errors.lost.items(), key=lambda item: -item[1])
            if done and points / done >= 0.05
        ]
        out.append(
            (
                IN_WORDS[kind],
                f"{errors.mean:.0f}" if done else "none",
                f"{errors.passed} of {done}" + (f" ({errors.gave_up} given up)" if errors.gave_up else ""),
                "; ".join(lost) or "none",
                _counted(errors.rules, done),
                _counted(errors.figures, done),
            )
        )
    return out


def _counted(counter: Counter[str], of: int) -> str:
    return (
        "; ".join(f"{text} ({n} of {of})" for text, n in sorted(counter.items(), key=lambda i: (-i[1], i[0])))
        or "none"
    )


def errors_page(lab_id: str, orders: int = 3) -> Page:
    """The table for a notebook, computed on the spot: about three seconds a call-out in a lab on mains alone."""
    lab = load_lab(lab_id)
    lines = rows(typical_errors(lab, orders))
    title = f"{lab.title}: {orders} call-outs, each worked by every kind of learner"
    return Page(
        _markup(title, lines), "\n".join([title, " | ".join(HEAD), *(" | ".join(line) for line in lines)])
    )


def _markup(title: str, lines: Sequence[Sequence[str]]) -> str:
    cell = "style='text-align:left;vertical-align:top;padding:4px 12px 4px 0;white-space:normal'"
    top = "".join(f"<th scope='col' {cell}>{html.escape(word)}</th>" for word in HEAD)
    body = ""
    for first, *rest in lines:
        body += f"<tr><th scope='row' {cell}>{html.escape(first)}</th>"
        body += "".join(f"<td {cell}>{html.escape(text)}</td>" for text in rest) + "</tr>"
    caption = f"<caption style='text-align:left;font-weight:600'>{html.escape(title)}</caption>"
    return f"<table>{caption}<thead><tr>{top}</tr></thead><tbody>{body}</tbody></table>"
