"""Feedback: one page a learner that says what earned and cost marks, unsafe acts first, and what to do next."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from tankside.bench.rules import RULES
from tankside.errors import UnknownNameError
from tankside.faults.catalogue import fault_named
from tankside.labs import Lab, load_lab
from tankside_autograder.classroom import Classroom
from tankside_autograder.files import write_atomic
from tankside_autograder.pages import render
from tankside_autograder.pictures import candidates_picture
from tankside_autograder.verdicts import NOT_HANDED_IN, VERDICTS, in_order

_NEXT = {
    "safe-working": "Practise making safe until it is a habit: off, out, lock, prove the meter, prove dead, prove the meter.",
    "evidence": "Before each test, ask which faults it can rule out. After it, name those that are left. "
    "Note the log lines that decided it.",
    "diagnosis": "Don't name a fault while your readings still allow another. One more test is cheaper than a wrong part.",
    "remedy": "After the repair put everything back, run the heater, and see that the water gets warmer.",
    "figures": "Do the figures again from the data plate, and read the meter with its unit.",
}
_ENOUGH = 0.8


@dataclass(frozen=True)
class Page:
    """A page that was written: whose, for which lab, where."""

    learner: str
    lab: str
    path: Path


def explain(room: Classroom, labs: list[str], progress: Callable[[str], None] | None = None) -> list[Page]:
    """Write a feedback page for every marked hand-in of these labs, and the instructor's index of all of them."""
    pages: list[Page] = []
    for lab in labs:
        for learner, result in room.marks(lab).items():
            path = room.feedback(learner, lab)
            write_atomic(path, feedback_page(result, note=room.agreed.name))
            pages.append(Page(learner, lab, path))
            if progress:
                progress(learner)
    write_atomic(room.feedback_index, index_page(room))
    return pages


def feedback_page(result: dict[str, Any], note: str = "") -> str:
    """One learner's page from their marks (the content of ``marks.json``)."""
    lab = load_lab(result["lab"])
    marks = result["marks"]
    dangers = _dangers(marks) if marks else []
    log = marks["path"] if marks else []
    return render(
        "feedback.html.j2",
        name=result["name"],
        lab_title=lab.title,
        order=marks["order"] if marks else None,
        marks=marks,
        dangers=dangers,
        total=result["total"],
        earned=result["earned"],
        penalty=result["penalty"],
        out_of=result["out_of"],
        pass_mark=float(lab.pass_mark),
        passed=result["passed"],
        verdicts=in_order(result["verdicts"]),
        late=result["late"],
        needs_person=result["needs_person"],
        reflection=result["reflection"],
        next_steps=next_steps(result, lab),
        left=[_fault_name(name) for name in marks["candidates"]] if marks else [],
        picture=candidates_picture(log, [line["seq"] for rule in dangers for line in rule["lines"]]),
        log=log,
        answers=marks["answers"] if marks else {},
        problems=result["problems"],
        earlier=result["earlier"],
        note=note,
    )


def _dangers(marks: dict[str, Any]) -> list[dict[str, Any]]:
    """Each dangerous rule broken, with its reason, the safe way, and the log lines where it happened."""
    by_name = {rule.name: rule for rule in RULES.values()}
    texts = {row["seq"]: row["text"] for row in marks["path"]}
    safe = next(part for part in marks["parts"] if part["id"] == "safe-working")
    out = []
    for name in marks["unsafe"]:
        rule = by_name[name]
        found = [re.match(rf"Line (\d+): {re.escape(name)}", reason["text"]) for reason in safe["reasons"]]
        lines = [{"seq": int(m[1]), "text": texts.get(int(m[1]), "")} for m in found if m]
        out.append({"name": name, "why": rule.why, "instead": rule.instead, "lines": lines})
    return out


def next_steps(result: dict[str, Any], lab: Lab) -> list[str]:
    """Two or three things to do, the most pressing first."""
    marks = result["marks"]
    if not marks:
        return []
    steps = []
    if marks["unsafe"]:
        steps.append("Talk to your instructor about the unsafe act before you work at a real appliance.")
    weak = [p for p in marks["parts"] if p["out_of"] and p["points"] < _ENOUGH * p["out_of"]]
    weak.sort(key=lambda p: p["points"] / p["out_of"])
    steps += [_NEXT[p["id"]] for p in weak[:3]]
    if not result["passed"]:
        before = " and ".join(f"{need} ({load_lab(need).title})" for need in lab.needs)
        steps.append(f"Do {before} again, then ask for a new work order." if before else "Ask for a new work order.")
    elif not steps:
        steps.append("Nothing to mend here. Go on to the next lab.")
    return steps


def _fault_name(fault: str) -> str:
    try:
        return fault_named(fault).name
    except UnknownNameError:
        return fault


def index_page(room: Classroom) -> str:
    """The instructor's page: every learner, every lab that was handed in."""
    labs = []
    for lab in room.labs_handed_in():
        marks = room.marks(lab)
        rows = []
        for learner in room.roster:
            result = marks.get(learner.id)
            verdict = VERDICTS[result["verdict"]] if result else NOT_HANDED_IN
            path = room.feedback(learner.id, lab)
            rows.append(
                {
                    "name": learner.name,
                    "link": path.name if result and path.exists() else None,
                    "words": verdict.words,
                    "person": bool(result and result["needs_person"]),
                    "marked": bool(result and result["marks"]),
                    "total": result["total"] if result else 0,
                    "passed": ("yes" if result["passed"] else "no") if result else "",
                    "unsafe": result["marks"]["unsafe"] if result and result["marks"] else [],
                }
            )
        labs.append({"id": lab, "title": f"{lab}: {load_lab(lab).title}", "rows": rows})
    return render("index.html.j2", class_name=room.agreed.name, labs=labs)
