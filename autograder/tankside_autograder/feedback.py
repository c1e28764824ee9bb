"""Feedback: one page a learner that says what earned and cost marks, unsafe acts first, and what to do next."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from tankside.bench.rules import RULES
from tankside.errors import UnknownNameError
from tankside.faults.catalogue import apart, fault_named
from tankside.labs import Lab, load_lab
from tankside_autograder.classroom import Classroom
from tankside_autograder.files import write_atomic
from tankside_autograder.pages import render
from tankside_autograder.pictures import candidates_picture
from tankside_autograder.verdicts import NOT_HANDED_IN, VERDICTS, in_order

_MOST_STEPS = 3
"""Pieces of advice on one page: who is told seven things does none."""
_LITTLE = 1.0
"""Points lost in a part under which there is nothing to say about it."""


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
    falls = any(line["left"] > 1 for line in log)  # a line that lies at one fault from the start says nothing
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
        parts=[{**part, "reasons": _once(part["reasons"], dangers)} for part in marks["parts"]] if marks else [],
        left=[_fault_name(name) for name in marks["candidates"]] if marks else [],
        picture=candidates_picture(log if falls else [], [line["seq"] for rule in dangers for line in rule["lines"]]),
        log=log,
        answers=marks["answers"] if marks else {},
        problems=_not_said_yet(result),
        earlier=result["earlier"],
        note=note,
    )


def _dangers(marks: dict[str, Any]) -> list[dict[str, Any]]:
    """Each dangerous rule broken, with its reason, the safe way, and the log lines where it happened."""
    texts = {row["seq"]: row["text"] for row in marks["path"]}
    out = []
    for name in marks["unsafe"]:
        rule = next(rule for rule in RULES.values() if rule.name == name)
        lines = [{"seq": line, "text": texts.get(line, "")} for line, broken in marks.get("broke", ()) if broken == rule.id]
        out.append({"name": name, "why": rule.why, "instead": rule.instead, "lines": lines})
    return out


def _once(reasons: list[dict[str, Any]], dangers: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """The reasons of a part, without the why and the instead that already stand at the top of the page."""
    out = []
    for reason in reasons:
        text = reason["text"]
        for rule in dangers:
            text = text.replace(f"{rule['name']}. {rule['why']} {rule['instead']}", f"{rule['name']}. See the top of this page.")
        out.append({**reason, "text": text})
    return out


def _not_said_yet(result: dict[str, Any]) -> list[str]:
    """What was found in the hand-in, without the blank answers, which the marks name with the right ones."""
    marked = bool(result["marks"])
    return [p for p in result["problems"] if not (marked and p.endswith(": not answered."))]


def _not_vouched_for(marks: dict[str, Any]) -> bool:
    """True if the bench log isn't simply what happened: then nothing can be learnt from the marks."""
    return bool(set(marks.get("finding_kinds", ())) & {"someone-else", "edited", "spliced", "impossible"})


def next_steps(result: dict[str, Any], lab: Lab) -> list[str]:
    """A few things to do, the most pressing first: where the most points were lost."""
    marks = result["marks"]
    if not marks:
        return []
    if _not_vouched_for(marks):
        again = next(p["advice"] for p in marks["parts"] if p["id"] == "safe-working")
        return ["Talk to your instructor about the bench log.", again]
    steps = []
    if marks["unsafe"]:
        steps.append("Talk to your instructor about the unsafe act before you work at a real appliance.")
    weak = [p for p in marks["parts"] if p.get("advice") and p["out_of"] - p["points"] >= _LITTLE]
    weak.sort(key=lambda p: p["points"] - p["out_of"])
    steps += list(dict.fromkeys(p["advice"] for p in weak))[:_MOST_STEPS]
    if not result["passed"]:
        steps.append(_again(lab, marks["fault"]))
    elif not steps:
        steps.append("Nothing to mend here. Go on to the next lab.")
    else:
        steps.append("You passed. Go on to the next lab with this in mind.")
    return steps


def _again(lab: Lab, fault: str) -> str:
    """What to do before another try: of the labs that this one builds on, those that have the fault on their list."""
    near = [need for need in lab.needs if set(apart(fault)) & set(load_lab(need).faults)] or list(lab.needs[-1:])
    if not near:
        return "Ask for a new work order."
    before = " and ".join(f"{need} ({load_lab(need).title})" for need in near[-2:])
    return f"Do {before} again, then ask for a new work order."


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
