"""Marking one hand-in: from its folder to one plain dictionary. Pure: no clock, no writing, no learner code run."""

from __future__ import annotations

import json
import traceback
from dataclasses import dataclass, field
from datetime import datetime, tzinfo
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from tankside.errors import TanksideError
from tankside_autograder.class_file import Lateness, LatePolicy, lateness
from tankside_autograder.classroom import Issued
from tankside_autograder.collect import read_manifest
from tankside_autograder.orders import read_order
from tankside_autograder.packages import LOG, ORDER, REPORT
from tankside_autograder.rebuild import LabSource, Reading, read_lab_source, read_notebook, rebuild_notebook
from tankside_autograder.verdicts import gravest, in_order

if TYPE_CHECKING:
    from tankside.workorder import WorkOrder

MAX_LOG_BYTES = 8 * 1024 * 1024


@dataclass(frozen=True)
class Task:
    """Everything that marking one hand-in needs; small and picklable, so that it can travel to another machine."""

    folder: Path
    learner: str
    name: str
    lab: str
    source: Path
    key: str
    issued: Issued | None
    due: datetime | None
    zone: tzinfo
    policy: LatePolicy
    stamp: str


@dataclass
class _Sheet:
    """What is found out on the way. ``verdicts`` are ids; ``problems`` are sentences."""

    verdicts: list[str] = field(default_factory=list)
    problems: list[str] = field(default_factory=list)

    def note(self, verdict: str, *problems: str) -> None:
        self.verdicts.append(verdict)
        self.problems.extend(problems)


def mark_one(task: Task) -> dict[str, Any]:
    """The hand-in's marks as plain data (see ``grading`` for the keys), with ``rebuilt`` the notebook to show.

    Never raises: the unexpected becomes the verdict "needs-a-person", with ``trouble`` holding the details.
    """
    try:
        return _mark(task)
    except Exception:  # one bad hand-in must never stop the others
        return unexpected(task, traceback.format_exc())


def unexpected(task: Task, trouble: str) -> dict[str, Any]:
    """The result when marking itself failed; ``trouble`` is for the log, not for the learner."""
    sheet = _Sheet(["needs-a-person"])
    return {**_result(task, sheet, {}, None), "trouble": trouble}


def _mark(task: Task) -> dict[str, Any]:
    sheet = _Sheet()
    manifest = read_manifest(task.folder) or {}
    sheet.problems.extend(p["text"] for p in manifest.get("problems", []))
    files = {p.name: p.read_bytes() for p in sorted(task.folder.iterdir()) if p.is_file()}
    lab = _source(task.source)
    if manifest.get("refused"):
        sheet.note(manifest["refused"])
        return _result(task, sheet, manifest, None)
    notebook = files.get(f"{task.lab}.ipynb")
    reading = read_notebook(notebook, lab) if notebook is not None else Reading("none")
    sheet.problems.extend(reading.problems)
    answers = _answers(reading, files, lab, sheet)
    lines, whole = _log(reading, files, sheet)
    order = _order(task, reading, files, sheet)
    if order is not None and _begun_with(lines).startswith(_PRACTICE):
        sheet.note("practice-order")
    extra = {"reflection": _reflection(reading, lab), "rebuilt": rebuild_notebook(lab, reading)}
    received = datetime.fromisoformat(manifest["received"]) if manifest.get("received") else None
    if order is not None and order.expires and received and received.astimezone(task.zone).date() > order.expires:
        sheet.note("expired-order")
    if order is None or not gravest(sheet.verdicts).counts:
        return {**_result(task, sheet, manifest, None), **extra}
    if whole and reading.state == "whole" and not any(name in files for name in (ORDER, LOG)):
        sheet.note("notebook-only")
    marks = _score(task, order, answers, lines, sheet)
    return {**_result(task, sheet, manifest, marks), **extra}


@lru_cache(maxsize=8)
def _source(path: Path) -> LabSource:
    return read_lab_source(path)


def _answers(reading: Reading, files: dict[str, bytes], lab: LabSource, sheet: _Sheet) -> dict[str, str]:
    """The answers by label: from the answer cells, where these are blank from the report form that lies beside.

    Where cell and form differ the cell counts, as it does when nbgrader runs the notebook; that is said.
    Without answer cells the whole service report file counts.
    """
    from tankside.report import parse_answers

    answers: dict[str, str] = {}
    if reading.answers:
        answers = parse_answers(reading.text)
    if REPORT in files and _same_order(files) and (not answers or reading.state == "salvaged"):
        beside = {label.strip().casefold(): text for label, text in _report_answers(files[REPORT]).items()}
        if beside.keys() - answers.keys():
            some = "Some of your" if answers else "Your"
            sheet.problems.append(f"{some} answers were read from the service report file.")
        answers = {**beside, **answers}
    form = _form_answers(files) if reading.answers else {}
    if form.keys() - answers.keys():
        sheet.problems.append("What the answer cells left blank was read from the report form.")
    for label in sorted(form.keys() & answers.keys()):
        if " ".join(form[label].casefold().split()) != " ".join(answers[label].casefold().split()):
            sheet.problems.append(
                f"{label[:60]}: the answers cell says {answers[label][:60]!r}, the report form {form[label][:60]!r}. "
                "The cell counts."
            )
    answers = {**form, **answers}
    if reading.state in ("salvaged", "unreadable"):
        sheet.note("broken-notebook")
    elif reading.state == "too big":
        sheet.note("too-big")
    elif reading.state == "other":
        sheet.note("other-notebook")
    elif reading.state == "none":
        sheet.note("no-notebook")
    if not answers:
        sheet.note("no-answers")
    return answers


def _form_answers(files: dict[str, bytes]) -> dict[str, str]:
    """What was written in the report form, unless the report is on another order than the bench log beside it."""
    try:
        form = json.loads(files[REPORT]).get("form")
    except (KeyError, ValueError, AttributeError, RecursionError):
        return {}
    if not isinstance(form, dict) or not _same_order(files):
        return {}
    return {
        " ".join(label.casefold().split()): text
        for label, text in form.items()
        if isinstance(text, str) and text.strip()
    }


def _same_order(files: dict[str, bytes]) -> bool:
    """False if the service report says of itself that it is on another order than the bench log beside it."""
    try:
        order = json.loads(files[REPORT]).get("order")
    except (KeyError, ValueError, AttributeError, RecursionError):
        return True
    begun = _begun_with(files.get(LOG, b"")[:10_000].decode("utf-8", errors="replace").splitlines()[:1])
    return not isinstance(order, str) or not begun or order == begun


def _report_answers(data: bytes) -> dict[str, str]:
    try:
        content = json.loads(data)
    except ValueError:
        return {}
    answers = content.get("answers", content) if isinstance(content, dict) else {}
    if not isinstance(answers, dict):
        return {}
    return {str(k): str(v) for k, v in answers.items() if isinstance(v, str | int | float)}


def _log(reading: Reading, files: dict[str, bytes], sheet: _Sheet) -> tuple[list[str], bool]:
    """The bench log's lines, and whether they came from the copy inside the notebook."""
    data = files.get(LOG)
    if data is not None:
        if len(data) > MAX_LOG_BYTES:
            sheet.note("too-big", f"The bench log has {len(data) / 1024**2:.0f} MB. The most is 8 MB.")
            return [], False
        lines = data.decode("utf-8", errors="replace").splitlines()
        if any(line.strip() for line in lines):
            return lines, False
    inside = copied_log(reading.copy)
    if inside:
        return inside, True
    sheet.note("no-bench-log")
    return [], False


def copied_log(copy: dict[str, Any] | None) -> list[str]:
    """The log lines in the copy that the hand-in cell left in the notebook's output."""
    lines = (copy or {}).get("log", [])
    if isinstance(lines, str):
        return lines.splitlines()
    if not isinstance(lines, list):
        return []
    return [line if isinstance(line, str) else json.dumps(line, ensure_ascii=False) for line in lines]


def _order(task: Task, reading: Reading, files: dict[str, bytes], sheet: _Sheet) -> WorkOrder | None:
    """The order to mark against, its seal checked; None with a verdict when it can't be used."""
    from tankside.workorder import open_sealed

    order: WorkOrder | None = None
    try:
        if ORDER in files and _has_token(files[ORDER]):
            order = read_order(files[ORDER], task.key)
        elif isinstance((reading.copy or {}).get("order"), str):
            order = open_sealed(reading.copy["order"], task.key)  # type: ignore[index]
            if ORDER in files:
                sheet.problems.append("The work order in the hand-in was cut short. Its copy in the notebook was used.")
        elif task.issued is not None:
            order = open_sealed(task.issued.token, task.key)
            what = "The work order in the hand-in was cut short." if ORDER in files else "There was no work order in the hand-in."
            sheet.problems.append(f"{what} The one that was given out to you was used.")
    except TanksideError as error:
        practice = _is_practice(reading, files)
        sheet.note("practice-order" if practice else "forged-order", *([] if practice else [str(error)]))
        return None
    if order is None:
        sheet.note("no-order")
    elif order.learner is None:
        sheet.note("practice-order")
    elif order.learner != task.learner:
        sheet.note("neighbours-order")
    elif order.lab != task.lab:
        sheet.note("other-lab")
    else:
        return order
    return None


def _has_token(data: bytes) -> bool:
    try:
        return isinstance(json.loads(data)["token"], str)
    except (ValueError, KeyError, TypeError, RecursionError):
        return False


_PRACTICE = "PRACTICE-"


def _begun_with(lines: list[str]) -> str:
    """The order that the log says it was begun with, genuine or not."""
    try:
        return str(json.loads(lines[0])["args"]["order"]) if lines else ""
    except (ValueError, KeyError, TypeError, RecursionError):
        return ""


def _is_practice(reading: Reading, files: dict[str, bytes]) -> bool:
    """A self-study order carries no learner; it has no seal of this class."""
    from tankside.workorder import open_sealed

    try:
        if ORDER in files:
            return read_order(files[ORDER], None).learner is None
        return open_sealed(str((reading.copy or {}).get("order")), None).learner is None
    except TanksideError:
        return False


def _reflection(reading: Reading, lab: LabSource) -> dict[str, str]:
    """What the learner wrote in the cells that a person marks; a cell left as it was counts as not written."""
    return {k: text for k, text in reading.written.items() if text.strip() and text.strip() != lab.written[k].strip()}


_FINDINGS = {
    "empty": "no-bench-log",
    "cut": "cut-log",
    "someone-else": "neighbours-log",
    "edited": "edited-log",
    "spliced": "spliced-log",
    "impossible": "impossible-log",
    "other-edition": "other-edition-log",
}


def _score(
    task: Task, order: WorkOrder, answers: dict[str, str], lines: list[str], sheet: _Sheet
) -> dict[str, Any]:
    from tankside.labs import load_lab
    from tankside.report import build_report
    from tankside.scoring import score

    report, problems = build_report(load_lab(task.lab), answers)
    sheet.problems.extend(problems)
    marks = score(order, report, lines).to_dict()
    for kind, text in zip(marks["finding_kinds"], marks["findings"], strict=True):
        sheet.note(_FINDINGS[kind], text)  # its kind decides who has to look
    marks["order"] = {"order": order.order, "complaint": order.complaint, "model": order.model, "site": order.site}
    marks["answers"] = answers
    return marks


def _result(task: Task, sheet: _Sheet, manifest: dict[str, Any], marks: dict[str, Any] | None) -> dict[str, Any]:
    received = manifest.get("received")
    late = lateness(task.policy, task.due, datetime.fromisoformat(received)) if received else Lateness()
    if late.late:
        sheet.note("late")
    if marks is not None and not sheet.verdicts:
        sheet.note("marked")
    verdict = gravest(sheet.verdicts)
    earned = float(marks["total"]) if marks else 0.0
    penalty = round(earned * late.percent / 100, 2)
    return {
        "learner": task.learner,
        "name": task.name,
        "lab": task.lab,
        "stamp": task.stamp,
        "verdict": verdict.id,
        "verdicts": [v.id for v in in_order(sheet.verdicts)],
        "needs_person": any(v.person for v in in_order(sheet.verdicts)),
        "problems": list(dict.fromkeys(sheet.problems)),
        "received": received,
        "source": manifest.get("source"),
        "earlier": manifest.get("earlier", []),
        "late": {**late.model_dump(), "text": late.sentence()},
        "marks": marks,
        "earned": earned,
        "penalty": penalty,
        "total": round(earned - penalty, 2),
        "out_of": float(marks["out_of"]) if marks else 100.0,
        "passed": bool(marks and marks["passed"] and earned - penalty >= _pass_mark(task.lab)),
        "reflection": {},
    }


def _pass_mark(lab: str) -> float:
    from tankside.labs import load_lab

    return float(load_lab(lab).pass_mark)
