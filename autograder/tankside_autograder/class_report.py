"""The class at a glance: who is unsafe, how the marks lie, and which question is a bad one."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from tankside.bench.rules import RULES
from tankside.labs import PARTS, Lab, load_lab
from tankside_autograder.classroom import Classroom
from tankside_autograder.gradebook import manual_scores
from tankside_autograder.item_analysis import Analysis, analyse
from tankside_autograder.verdicts import NOT_HANDED_IN, VERDICTS


@dataclass(frozen=True)
class Row:
    """One learner's line. ``parts`` and ``total`` are None when nothing was marked; ``by_hand`` when nobody gave it."""

    learner: str
    name: str
    section: str
    parts: dict[str, float] | None
    total: float | None
    verdict: str
    words: str
    person: bool
    unsafe: tuple[str, ...]
    late: bool
    passed: bool
    by_hand: float | None
    pace: str = ""
    """Minutes until the readings left one repair, and those of the reference path; empty if they never did."""
    left: str = ""
    """Faults that fitted the owner's words, and those that the readings had left when the repair began."""
    findings: tuple[str, ...] = ()
    """What doesn't fit in the bench log, in words."""


@dataclass(frozen=True)
class RuleCount:
    """A safety rule and the learners who broke it."""

    name: str
    dangerous: bool
    learners: tuple[str, ...]
    instead: str


@dataclass(frozen=True)
class ClassReport:
    """A lab's results for the whole class."""

    lab: Lab
    class_name: str
    rows: tuple[Row, ...]
    rules: tuple[RuleCount, ...]
    items: Analysis

    @property
    def totals(self) -> list[float]:
        """Totals of those who were marked."""
        return [row.total for row in self.rows if row.total is not None]

    @property
    def unsafe(self) -> list[Row]:
        """Those who did something dangerous."""
        return [row for row in self.rows if row.unsafe]

    @property
    def person(self) -> list[Row]:
        """Those at whose hand-in somebody must look."""
        return [row for row in self.rows if row.person]

    def summary(self) -> list[tuple[str, str]]:
        """The figures that stand above the table: label, text."""
        totals = self.totals
        out = [
            ("On the class list", str(len(self.rows))),
            ("Handed in", str(sum(row.verdict != NOT_HANDED_IN.id for row in self.rows))),
            ("Marked", str(len(totals))),
            ("Passed", str(sum(row.passed for row in self.rows))),
            ("Unsafe", str(len(self.unsafe))),
            ("Needs a person", str(len(self.person))),
        ]
        if totals:
            low, middle, high = np.percentile(totals, [25, 50, 75])
            out += [("Median", f"{middle:.1f}"), ("Middle half", f"{low:.1f} to {high:.1f}")]
        if self.items.alpha is not None:
            out.append(("Reliability (alpha)", f"{self.items.alpha:.2f}"))
        if self.items.error is not None:
            out.append(("Standard error", f"{self.items.error:.1f} points"))
        return out


def class_report(room: Classroom, lab_id: str, gradebook: str | None = None) -> ClassReport:
    """The report from the marks on disk, and from what a person gave in the gradebook, if there is one."""
    lab = load_lab(lab_id)
    marks = room.marks(lab_id)
    by_hand: dict[str, dict[str, float]] = {}
    if gradebook or (room.folder / "gradebook.db").exists():
        by_hand = manual_scores(gradebook or room.gradebook_url, lab_id)
    rows = tuple(_row(x.id, x.name, x.section, marks.get(x.id), by_hand.get(x.id)) for x in room.roster)
    counted = [m for m in marks.values() if m["marks"] is not None and not m["needs_person"]]
    return ClassReport(lab, room.agreed.name, rows, _rules(marks, rows), _items(lab, counted))


def _row(
    learner: str, name: str, section: str, result: dict[str, Any] | None, by_hand: dict[str, float] | None
) -> Row:
    hand = sum(by_hand.values()) if by_hand else None
    if result is None:
        words = NOT_HANDED_IN.words
        return Row(learner, name, section, None, None, NOT_HANDED_IN.id, words, False, (), False, False, hand)
    marks = result["marks"]
    parts = {p["id"]: float(p["points"]) for p in marks["parts"]} if marks else None
    return Row(
        learner,
        name,
        section,
        parts,
        float(result["total"]) if marks else None,
        result["verdict"],
        VERDICTS[result["verdict"]].words,
        bool(result["needs_person"]),
        tuple(marks["unsafe"]) if marks else (),
        bool(result["late"]["late"]),
        bool(result["passed"]),
        hand,
        _pace(marks),
        f"{marks['open_first']} → {marks['open_then']}" if marks and marks.get("open_first") else "",
        tuple(marks["findings"]) if marks else (),
    )


def _pace(marks: dict[str, Any] | None) -> str:
    if not marks or marks.get("isolated") is None or marks.get("reference") is None:
        return ""
    mine, theirs = marks["isolated"], marks["reference"]
    return f"{mine:.0f} / {theirs:.0f}"


def _rules(marks: dict[str, dict[str, Any]], rows: tuple[Row, ...]) -> tuple[RuleCount, ...]:
    names = {row.learner: row.name for row in rows}
    broke: dict[str, list[str]] = {rule: [] for rule in RULES}
    for learner, result in marks.items():
        if result["marks"] is None:
            continue
        for rule_id in dict.fromkeys(rule for _, rule in result["marks"].get("broke", ())):
            broke[rule_id].append(names.get(learner, learner))
    counts = [RuleCount(r.name, r.dangerous, tuple(broke[r.id]), r.instead) for r in RULES.values() if broke[r.id]]
    return tuple(sorted(counts, key=lambda c: (not c.dangerous, -len(c.learners))))


def _items(lab: Lab, results: list[dict[str, Any]]) -> Analysis:
    """The questions: the parts, with each figure asked as a question of its own."""
    ids = [part for part in PARTS if part != "figures"] + [figure.id for figure in lab.figure]
    names = [PARTS[part] for part in PARTS if part != "figures"] + [figure.label for figure in lab.figure]
    each = lab.weights["figures"] / max(len(lab.figure), 1)
    out_of = [float(lab.weights[part]) for part in PARTS if part != "figures"] + [each] * len(lab.figure)
    table = []
    for result in results:
        parts = {p["id"]: p for p in result["marks"]["parts"]}
        asked = [float(parts[part]["points"]) for part in PARTS if part != "figures"]
        # The figures part gives one reason a figure, in the order of the lab's file.
        right = [float(r["points"]) for r in parts["figures"]["reasons"][: len(lab.figure)]]
        table.append(asked + right + [0.0] * (len(lab.figure) - len(right)))
    keep = [i for i, points in enumerate(out_of) if points > 0]
    return analyse(
        [[row[i] for i in keep] for row in table],
        [ids[i] for i in keep],
        [names[i] for i in keep],
        [out_of[i] for i in keep],
    )
