"""The demo: an invented class of twelve works a lab, hands in well and badly, and is marked, in under a minute.

Everything in it is invented: the boat and cabin co-operative, its school, its people, their mistakes.
"""

from __future__ import annotations

import argparse
import hashlib
import json
import shutil
import sys
import time
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from rich.console import Console
from rich.table import Table
from rich.text import Text

from tankside.errors import TanksideError
from tankside.labs import Lab, load_lab
from tankside_autograder import technicians
from tankside_autograder.class_report import ClassReport, class_report
from tankside_autograder.classroom import Classroom, make_classroom
from tankside_autograder.cli import bar
from tankside_autograder.collect import gather
from tankside_autograder.desk_work import work_lab, write_answers
from tankside_autograder.feedback import explain
from tankside_autograder.files import make_folder, write_atomic
from tankside_autograder.grading import mark
from tankside_autograder.hand_out import hand_out, zip_of
from tankside_autograder.packages import LOG
from tankside_autograder.report_files import show, write_report

LAB = "lab03"
SCHOOL = "Sedgewater technical school, heater class (invented)"
MARKER = "this-is-a-demo.txt"
ABOUT = (
    "Everything in this folder is invented. The Sedgewater boat and cabin co-operative rents out canal boats and cabins, "
    "has a workshop of its own, and sends its apprentices to the technical school. None of it exists; neither do the people.\n"
)
ISSUED = date(2031, 3, 3)
AGREED = f"""\
# What this class has agreed on. Invented, as everything in the demo.
name = {json.dumps(SCHOOL)}
zone = "UTC"

[late]
grace_minutes = 15
percent_a_day = 10
most_percent = 50

[labs.{LAB}]
due = 2031-03-14T18:00:00Z
expires = 2031-04-30
"""
IN_TIME, LATE = "2031-03-14T16:20:00Z", "2031-03-16T09:05:00Z"
THOUGHTS = (
    "Water does not change what the meter shows from one terminal to the other. It matters from terminal to tank: "
    "a leak shows there while it is wet. Next time I would note the line numbers while I work."
)


@dataclass(frozen=True)
class Pupil:
    """One invented learner: how they work, what becomes of their hand-in, and both in words."""

    id: str
    name: str
    kind: str
    does: str
    fate: Callable[[Path, Path], None] | None = None
    received: str = IN_TIME


def _edit_log(mine: Path, _: Path) -> None:
    """Makes one reading look better than it was."""
    log = mine / LOG
    lines = log.read_text(encoding="utf-8").splitlines()
    number = next(i for i, line in enumerate(lines) if json.loads(line)["verb"] == "probe")
    entry = json.loads(lines[number])
    entry["result"]["reading"]["digits"], entry["result"]["reading"]["value"] = "120.0", 120.0
    lines[number] = json.dumps(entry, ensure_ascii=False)
    log.write_text("\n".join(lines) + "\n", encoding="utf-8")


def _neighbours_folder(mine: Path, neighbour: Path) -> None:
    for path in neighbour.iterdir():
        shutil.copy(path, mine / path.name)


def _break_notebook(mine: Path, _: Path) -> None:
    path = mine / f"{LAB}.ipynb"
    data = path.read_bytes()
    path.write_bytes(data[: len(data) * 2 // 3])


def _only_notebook(mine: Path, _: Path) -> None:
    for path in mine.iterdir():
        if path.suffix != ".ipynb":
            path.unlink()


def _nothing(mine: Path, _: Path) -> None:
    for path in mine.iterdir():
        path.unlink()


CLASS = (
    Pupil("amaro.fenn", "Amaro Fenn", "careful", "works carefully"),
    Pupil("brisa.holt", "Brisa Holt", "guesser", "measures once, then guesses"),
    Pupil("corin.dask", "Corin Dask", "unsafe", "reaches in with the power on"),
    Pupil("delia.wick", "Delia Wick", "slow", "is thorough and slow"),
    Pupil("edda.marl", "Edda Marl", "desk", "types answers, forgets to run the cells"),
    Pupil("falk.orme", "Falk Orme", "careful", "edits the log afterwards", _edit_log),
    Pupil("gita.rowe", "Gita Rowe", "guesser", "hands in a neighbor's folder", _neighbours_folder),
    Pupil("hale.tarn", "Hale Tarn", "careful", "saves a broken notebook", _break_notebook),
    Pupil("inga.voss", "Inga Voss", "careful", "sends only the notebook", _only_notebook),
    Pupil("jory.pell", "Jory Pell", "guesser", "hands in an empty folder", _nothing),
    Pupil("kaya.lund", "Kaya Lund", "careful", "is two days late", None, LATE),
    Pupil("lior.ash", "Lior Ash", "brilliant", "reasons from each reading"),
)


@dataclass(frozen=True)
class Demo:
    """What the demo made."""

    room: Classroom
    report: ClassReport
    seconds: float


def run_demo(folder: Path, console: Console, exercises: Path | None = None, solutions: Path | None = None) -> Demo:
    """Run the demo into ``folder``, which is emptied first if an earlier demo made it. Raises ``TanksideError``."""
    started = time.perf_counter()
    lab = load_lab(LAB)
    _clear(folder)
    console.print(Text(ABOUT.strip(), style="italic"))
    room = _class(folder)
    with bar("giving each their own work order", len(CLASS), console) as step:
        hand_out(room, lab, exercises, ISSUED, progress=step)
    _same_repair_nobody(console, room)
    inbox = folder / "came-back"
    with bar("twelve learners at the bench", len(CLASS), console) as step:
        for pupil in CLASS:
            _work(room, inbox, pupil, lab)
            step(pupil.name)
    times = "".join(f"{pupil.id},{pupil.received}\n" for pupil in CLASS)
    write_atomic(inbox / "received.csv", "id,received\n" + times)
    with bar("gathering", len(CLASS), console) as step:
        gather(room, inbox, progress=step)
    with bar("marking", len(CLASS), console) as step:
        mark(room, LAB, exercises=exercises, solutions=solutions, progress=step)
    with bar("explaining", len(CLASS), console) as step:
        explain(room, [LAB], progress=step)
    report = class_report(room, LAB)
    write_report(report, room.results)
    return Demo(room, report, time.perf_counter() - started)


def _clear(folder: Path) -> None:
    if folder.exists() and any(folder.iterdir()):
        if not (folder / MARKER).exists():
            raise TanksideError(f"{folder}: there is something here that no demo made. Name another folder with --folder.")
        shutil.rmtree(folder)
    make_folder(folder)
    write_atomic(folder / MARKER, ABOUT)


def _class(folder: Path) -> Classroom:
    roster = folder / "class-list.csv"
    write_atomic(roster, "id,name,section\n" + "".join(f"{p.id},{p.name},workshop\n" for p in CLASS))
    room = Classroom(folder / "class")
    # The demo's key is no secret, so that every demo shows the same heaters. A real class's key is drawn at random.
    make_folder(room.secret_folder)
    write_atomic(room.key_file, hashlib.sha256(b"the demo's key is no secret").hexdigest() + "\n", mode=0o600)
    write_atomic(room.class_file, AGREED)
    return make_classroom(room.folder, roster)


def _same_repair_nobody(console: Console, room: Classroom) -> None:
    orders = [entry.order for entry in room.ledger.entries()]
    console.print(Text(f"{len(orders)} learners, {len(set(orders))} work orders: every heater is another one."))


def _work(room: Classroom, inbox: Path, pupil: Pupil, lab: Lab) -> None:
    """The learner takes what was handed out, works it, and something becomes of the hand-in."""
    mine = inbox / pupil.id / LAB
    shutil.copytree(room.handed_out(pupil.id, LAB), mine)
    if pupil.kind == "desk":
        write_answers(mine / f"{LAB}.ipynb", {"diagnosis": "element burnt open", "remedy": "Replace the element"}, THOUGHTS)
    else:
        thoughts = THOUGHTS if pupil.kind in ("careful", "brilliant", "slow") else ""
        work_lab(mine, lab, technicians.KINDS[pupil.kind], thoughts)
    if pupil.fate is not None:
        pupil.fate(mine, inbox / CLASS[0].id / LAB)
    if pupil.id == "delia.wick":  # some hand in a zip
        files = {path.name: path.read_bytes() for path in mine.iterdir()}
        write_atomic(inbox / f"{pupil.id}-{LAB}.zip", zip_of(LAB, files))
        shutil.rmtree(inbox / pupil.id)


def show_demo(demo: Demo, console: Console) -> None:
    """The end of the demo: what each did and got, the class, where to look."""
    table = Table(show_edge=False, pad_edge=False, title="What each did, and what came of it", title_justify="left")
    for name in ("learner", "did", "verdict"):
        table.add_column(name)
    table.add_column("points", justify="right")
    rows = {row.learner: row for row in demo.report.rows}
    for pupil in CLASS:
        row = rows[pupil.id]
        total = "–" if row.total is None else f"{row.total:.1f}"
        table.add_row(pupil.name, pupil.does, row.words + ("; unsafe" if row.unsafe else ""), total)
    console.print(table)
    console.print()
    show(demo.report, console)
    console.print()
    room = demo.room
    for what, path in (
        ("Each learner's page", room.feedback_index),
        ("The class", room.results / f"{LAB}.html"),
        ("Pictures", room.results / f"{LAB}-totals.png"),
        ("", room.results / f"{LAB}-questions.png"),
        ("For the school's records", room.results / f"{LAB}.csv"),
        ("What a learner was given", room.handed_out(CLASS[0].id, LAB)),
        ("What came back", room.folder.parent / "came-back"),
    ):
        console.print(Text(f"{what + ':' if what else '':<26}{path}"), soft_wrap=True)
    console.print(Text(f"All of it is invented. It took {demo.seconds:.0f} s."))


def main(words: list[str] | None = None) -> int:
    """``python -m tankside_autograder.demo [--folder FOLDER]``; 0, or 2 with one line when it can't run."""
    parser = argparse.ArgumentParser(prog="demo", description="An invented class of twelve, from hand-out to class report.")
    parser.add_argument("--folder", type=Path, default=Path("out") / "demo", help="where all of it goes (out/demo)")
    parser.add_argument("--exercises", type=Path, help="where the labs to hand out lie")
    parser.add_argument("--solutions", type=Path, help="where the instructor's labs lie")
    asked = parser.parse_args(words)
    console = Console(highlight=False)
    try:
        show_demo(run_demo(asked.folder, console, asked.exercises, asked.solutions), console)
    except TanksideError as error:
        Console(stderr=True, highlight=False).print(Text(" ".join(str(error).split()), style="bold"), soft_wrap=True)
        return 2
    return 0


if __name__ == "__main__":
    sys.exit(main())
