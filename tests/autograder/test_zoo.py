"""Every bad hand-in of ``tests/handins``: does it get its verdict, and a sentence that its learner understands?"""

from __future__ import annotations

import html
import json
import shutil
import tomllib
from collections.abc import Callable
from datetime import UTC
from pathlib import Path
from typing import Any

import pytest

from tankside.bench.log import link, start_link
from tankside.labs import load_lab
from tankside.practice import PRACTICE_KEY, practice_order
from tankside.workorder import read_order_file, write_order_file
from tankside_autograder import technicians
from tankside_autograder.class_file import LatePolicy
from tankside_autograder.class_report import class_report
from tankside_autograder.classroom import Classroom
from tankside_autograder.collect import gather
from tankside_autograder.desk_work import work_lab, write_answers
from tankside_autograder.feedback import feedback_page, next_steps
from tankside_autograder.grading import MarkRun, mark
from tankside_autograder.mark_one import Task, mark_one
from tankside_autograder.report_files import csv_text, write_report
from tankside_autograder.verdicts import VERDICTS

from .fakelab import cell
from .school import LAB, give, start_class, work

ZOO = Path(__file__).parents[1] / "handins"
CASES: list[dict[str, Any]] = tomllib.loads((ZOO / "expected.toml").read_text(encoding="utf-8"))["handin"]
AGREED = """
[late]
percent_a_day = 10
[labs.lab03]
due = 2031-03-14T18:00:00Z
expires = 2031-03-31
"""
IN_TIME, LATE, EXPIRED = "2031-03-14T17:00:00Z", "2031-03-15T12:00:00Z", "2031-04-02T12:00:00Z"


class Visit:
    """One hand-in being made: the learner's folder, the class, and what the recipes may change."""

    def __init__(self, room: Classroom, folder: Path, neighbour: Path) -> None:
        self.room, self.folder, self.neighbour, self.received = room, folder, neighbour, IN_TIME
        self.fresh = room.handed_out(folder.parent.name, "lab03") / "lab03.ipynb"
        self.notebook, self.log, self.order = (folder / n for n in ("lab03.ipynb", "bench-log.jsonl", "work-order.json"))

    def edit(self, change: Callable[[Any], None]) -> None:
        data = json.loads(self.notebook.read_text(encoding="utf-8"))
        change(data)
        self.notebook.write_text(json.dumps(data), encoding="utf-8")

    def lines(self) -> list[str]:
        return self.log.read_text(encoding="utf-8").splitlines()


def never_run(v: Visit) -> None:
    shutil.copy(v.fresh, v.notebook)
    write_answers(v.notebook, {"diagnosis": "element burnt open"})


def blank(v: Visit) -> None:
    shutil.copy(v.fresh, v.notebook)


def cut_notebook(v: Visit) -> None:
    data = v.notebook.read_bytes()
    v.notebook.write_bytes(data[: data.index(b"Write here")])


def nested(v: Visit) -> None:
    v.notebook.write_text('{"cells": ' + "[" * 100_000, encoding="utf-8")


def many_cells(v: Visit) -> None:
    v.edit(lambda nb: nb["cells"].extend([{"cell_type": "raw", "metadata": {}, "source": ""}] * 2000))


def heavy(v: Visit) -> None:
    with v.notebook.open("r+b") as file:
        file.truncate(51 * 1024 * 1024)


def endless_log(v: Visit) -> None:
    v.log.write_text("\n".join(v.lines() * 20_000), encoding="utf-8")


def _changed(v: Visit) -> list[dict[str, Any]]:
    entries = [json.loads(line) for line in v.lines()]
    target = next(e for e in entries if e["verb"] == "probe")
    target["result"]["reading"]["digits"] = target["result"]["reading"]["digits"].replace("1", "7")
    target["result"]["reading"]["value"] = 71.1
    return entries


def edit_reading(v: Visit) -> None:
    v.log.write_text("\n".join(json.dumps(e, ensure_ascii=False) for e in _changed(v)) + "\n", encoding="utf-8")


def edit_and_chain(v: Visit) -> None:
    _write_chained(v, _changed(v))


def other_edition(v: Visit) -> None:
    """As a bench writes it whose heater gives another reading."""
    entries = _changed(v)
    entries[0]["args"]["edition"] = "0" * 12
    _write_chained(v, entries)


def _write_chained(v: Visit, entries: list[dict[str, Any]]) -> None:
    """Numbered and linked anew, as by someone who has read how the log is made."""
    last, out = start_link(read_order_file(v.order).order), []
    for number, entry in enumerate(entries):
        entry = {**entry, "seq": number}
        entry["link"] = last = link(last, entry)
        out.append(json.dumps(entry, ensure_ascii=False))
    v.log.write_text("\n".join(out) + "\n", encoding="utf-8")


def _entries(log: Path) -> list[dict[str, Any]]:
    return [json.loads(line) for line in log.read_text(encoding="utf-8").splitlines()]


def splice(v: Visit) -> None:
    mine, theirs = v.lines(), (v.neighbour / "bench-log.jsonl").read_text(encoding="utf-8").splitlines()
    v.log.write_text("\n".join([*mine, *theirs[1:]]) + "\n", encoding="utf-8")


def splice_and_chain(v: Visit) -> None:
    # The neighbour's meter and heater are others: their reading isn't what mine shows.
    theirs = [e for e in _entries(v.neighbour / "bench-log.jsonl") if e["verb"] == "probe"]
    mine = _entries(v.log)
    at = next(n for n, e in enumerate(mine) if e["verb"] == "probe")
    _write_chained(v, [*mine[:at], {**mine[at], "result": theirs[0]["result"]}, *mine[at + 1 :]])


def insert_reading(v: Visit) -> None:
    """Ohms of the element, behind a cover that was never opened."""
    mine = _entries(v.log)
    reading = {"function": "Ω", "value": 10.2, "full": 600.0, "digits": "10.2", "unit": "Ω", "note": "", "spoken": ""}
    args = {"red": "element.1", "black": "element.2"}
    made_up = {**mine[-1], "verb": "probe", "args": args, "result": {"reading": reading}}
    _write_chained(v, [*mine[:1], made_up, *mine[1:]])


def work_faster(v: Visit) -> None:
    mine = _entries(v.log)
    _write_chained(v, [{**e, "minutes": e["minutes"] / 2, "at": e["at"] / 2} for e in mine])


def many_actions(v: Visit) -> None:
    mine = _entries(v.log)
    last = next(e for e in mine if e["verb"] == "meter")
    at = mine[-1]["at"] + mine[-1]["minutes"]
    more = [{**last, "at": round(at + n * last["minutes"], 6)} for n in range(3000)]
    _write_chained(v, [*mine, *more])


def neighbours_log_renamed(v: Visit) -> None:
    theirs = _entries(v.neighbour / "bench-log.jsonl")
    theirs[0]["args"]["order"] = read_order_file(v.order).order
    _write_chained(v, theirs)


def take_line_out(v: Visit) -> None:
    lines = v.lines()
    v.log.write_text("\n".join(lines[:1] + lines[2:]) + "\n", encoding="utf-8")


def cut_log(v: Visit) -> None:
    v.log.write_text(v.log.read_text(encoding="utf-8")[:-40], encoding="utf-8")


def neighbours_order(v: Visit) -> None:
    for name in ("work-order.json", "bench-log.jsonl"):
        shutil.copy(v.neighbour / name, v.folder / name)


def neighbours_log(v: Visit) -> None:
    shutil.copy(v.neighbour / "bench-log.jsonl", v.log)


def forge(v: Visit) -> None:
    data = json.loads(v.order.read_text(encoding="utf-8"))
    data["token"] = data["token"][:20] + ("A" if data["token"][20] != "A" else "B") + data["token"][21:]
    v.order.write_text(json.dumps(data), encoding="utf-8")


def other_key(v: Visit) -> None:
    write_order_file(read_order_file(v.order), v.order, "a key of my own")


def other_lab(v: Visit) -> None:
    order = read_order_file(v.order).model_copy(update={"lab": "lab02"})
    write_order_file(order, v.order, v.room.key)


def practice(v: Visit) -> None:
    for path in (v.log, v.order):
        path.unlink()
    blank(v)
    write_order_file(practice_order(load_lab("lab03")), v.folder / "practice-order.json", PRACTICE_KEY)
    work_lab(v.folder, LAB, technicians.guesser)


def expired(v: Visit) -> None:
    v.received = EXPIRED


def late(v: Visit) -> None:
    v.received = LATE


def harmful_code(v: Visit) -> None:
    target = v.folder / "harm-was-done"
    code = f"open({str(target)!r}, 'w')\nimport os; os._exit(3)"
    v.edit(lambda nb: nb["cells"].insert(0, {"cell_type": "code", "metadata": {}, "outputs": [], "source": code}))


def markup(v: Visit) -> None:
    write_answers(v.notebook, {"diagnosis": "<script>alert(1)</script>"})


def tamper_with_cells(v: Visit) -> None:
    def change(nb: Any) -> None:
        cell(nb, "evidence")["source"] = "25.0"
        cell(nb, "evidence")["metadata"]["nbgrader"]["points"] = 1e6
        nb["cells"].append(cell(nb, "figures"))
        nb["cells"] = [c for c in nb["cells"] if c is not cell(nb, "remedy")]

    v.edit(change)


def bring(mine: Visit, case: dict[str, Any]) -> None:
    """Turn an honest hand-in into this case's."""
    if "make" in case:
        globals()[case["make"]](mine)
    overlay = ZOO / case["name"]
    if overlay.is_dir():
        shutil.copytree(overlay, mine.folder, dirs_exist_ok=True)
    brought = {p.name for p in overlay.iterdir()} if overlay.is_dir() else set()
    for path in list(mine.folder.iterdir()):
        if "keep" in case and path.name not in {*case["keep"], *brought}:
            path.unlink()


@pytest.fixture(scope="module")
def zoo(tmp_path_factory: pytest.TempPathFactory) -> tuple[Classroom, MarkRun, Path]:
    """A class in which every learner makes one of the hand-ins, gathered and marked together."""
    folder = tmp_path_factory.mktemp("zoo")
    room = start_class(folder, ["bo", *(case["name"] for case in CASES)], AGREED)
    give(room, folder)
    neighbour = work(room, folder / "elsewhere", "bo")
    times = ["id,received"]
    for case in CASES:
        mine = Visit(room, work(room, folder / "inbox", case["name"]), neighbour)
        bring(mine, case)
        times.append(f"{case['name']},{mine.received}")
    (folder / "inbox" / "received.csv").write_text("\n".join(times), encoding="utf-8")
    gather(room, folder / "inbox")
    run = mark(room, "lab03", exercises=folder / "exercises", solutions=folder / "none", workers=1)
    return room, run, folder


@pytest.mark.parametrize("case", CASES, ids=[c["name"] for c in CASES])
def test_verdict(zoo: tuple[Classroom, MarkRun, Path], case: dict[str, Any]) -> None:
    room, run, folder = zoo
    assert run.troubles == 0, [p.read_text(encoding="utf-8") for p in room.log_folder.iterdir()]
    result = room.marks("lab03")[case["name"]]
    assert result["verdict"] == case["verdict"], (result["verdicts"], result["problems"])
    told = " ".join([VERDICTS[result["verdict"]].message, *result["problems"], result["late"]["text"]])
    assert case.get("says", "") in told
    assert "Traceback" not in told and "Error" not in told and str(folder) not in told
    assert 0 <= result["total"] <= result["out_of"]
    assert (case["name"] in run.person) == result["needs_person"]


ABUSE = {
    # What the class report must call it: an edited log, a spliced one, a neighbour's, a reading without its action,
    # times that can't be, and one that is too long.
    "one-reading-changed": "bench log changed by hand",
    "own-beginning-and-neighbours-end": "bench log cut together",
    "neighbours-log": "somebody else's bench log",
    "reading-without-its-action": "impossible bench log",
    "faster-than-hands-can-be": "impossible bench log",
    "endless-log": "too big",
    "three-thousand-actions": "impossible bench log",
    "neighbours-log-under-my-number": "bench log changed by hand",
}


def test_abuse_is_named_to_learner_and_instructor(zoo: tuple[Classroom, MarkRun, Path]) -> None:
    """Is each kind of abuse named on its learner's page, with the line, and in the class report beside its learner?"""
    room, run, folder = zoo
    said = {case["name"]: case.get("says", "") for case in CASES}
    report = class_report(room, "lab03")
    rows = {row.learner: row for row in report.rows}
    table = csv_text(report)
    write_report(report, folder)
    whole = html.unescape((folder / "lab03.html").read_text(encoding="utf-8"))
    for name, words in ABUSE.items():
        page = html.unescape(feedback_page(room.marks("lab03")[name]))
        assert words.casefold() in page.casefold() and said[name] in page
        assert rows[name].words == words
        assert any(name in line and words in line for line in table.splitlines())
        if room.marks("lab03")[name]["marks"]:
            steps = next_steps(room.marks("lab03")[name], LAB)
            assert len(steps) == 2 and "instructor" in steps[0] and "leave the log as the bench writes it" in steps[1]
        for finding in (room.marks("lab03")[name]["marks"] or {"findings": []})["findings"]:
            assert finding in page and finding in whole and finding[:40] in table
        assert name in run.person and not room.marks("lab03")[name]["passed"]


def test_no_code_of_theirs_ran(zoo: tuple[Classroom, MarkRun, Path]) -> None:
    assert not list(zoo[2].rglob("harm-was-done"))


def test_cells_dont_move_a_mark(tmp_path: Path) -> None:
    """Tampered locked cells, harmful code and half a hand-in earn exactly what the honest one earns."""
    room = start_class(tmp_path, ["ana"], AGREED)
    give(room, tmp_path)
    honest = work(room, tmp_path / "honest", "ana", "careful")
    parts = {}
    for case in CASES:
        if case["name"] not in SAME_MARKS:
            continue
        copy = tmp_path / "copies" / case["name"]
        shutil.copytree(honest, copy / "ana" / "lab03")
        bring(Visit(room, copy / "ana" / "lab03", honest), case)
        gather(room, copy)
        source, issued = tmp_path / "exercises" / "lab03" / "lab03.ipynb", room.ledger.find("ana", "lab03")
        task = Task(room.handed_in("ana", "lab03"), "ana", "Ana", "lab03", source, room.key, issued, None, UTC, LatePolicy(), "")
        parts[case["name"]] = mark_one(task)["marks"]["parts"]
    assert len(parts) == len(SAME_MARKS)
    assert all(found == parts["honest"] for found in parts.values())


SAME_MARKS = {"honest", "locked-cells-tampered-with", "code-that-would-do-harm", "only-the-notebook", "no-notebook", "not-a-notebook"}


def test_every_verdict_is_in_the_zoo_or_named_here() -> None:
    elsewhere = {"needs-a-person", "broken-archive", "unreadable", "no-order"}
    assert set(VERDICTS) - elsewhere == {c["verdict"] for c in CASES}
    assert all(v.message.endswith(".") and len(v.words) < 30 for v in VERDICTS.values())
