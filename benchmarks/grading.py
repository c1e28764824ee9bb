"""How much faster than stock nbgrader, and are the marks the same? Honest hand-ins of one lab, marked both ways.

``python3 run.py bench grading [--learners 24] [--lab lab03]`` makes a class whose learners work the lab as simulated
technicians do, marks it with ``nbgrader autograde`` and with Tankside's own grader (each as the command that an
instructor would type, in a fresh process), compares the marks of every graded cell, and prints times and ratio.
Exit code 1 if any mark differs.
"""

from __future__ import annotations

import argparse
import json
import os
import shutil
import sqlite3
import subprocess
import sys
import tempfile
import time
from contextlib import closing
from dataclasses import asdict, dataclass
from datetime import date
from pathlib import Path

from tankside.labs import load_lab
from tankside_autograder.classroom import make_classroom
from tankside_autograder.collect import gather
from tankside_autograder.desk_work import work_lab
from tankside_autograder.hand_out import hand_out
from tankside_autograder.technicians import KINDS

ROOT = Path(__file__).resolve().parents[1]
Marks = dict[tuple[str, str], float]


@dataclass(frozen=True)
class Outcome:
    """Seconds of both ways, their ratio, and where the marks differ."""

    lab: str
    hand_ins: int
    stock_seconds: float
    own_seconds: float
    differ: dict[str, tuple[float | None, float | None]]

    @property
    def ratio(self) -> float:
        """How many times faster the own grader is."""
        return self.stock_seconds / self.own_seconds


def compare(lab_id: str, hand_ins: int, folder: Path, root: Path = ROOT) -> Outcome:
    """Make the class in ``folder`` and mark it both ways. ``root`` holds exercises/ and solutions/."""
    lab = load_lab(lab_id)
    kinds = list(KINDS)
    learners = [f"learner{n:02d}" for n in range(1, hand_ins + 1)]
    roster = folder / "list.csv"
    roster.write_text("id,name\n" + "".join(f"{x},Invented {x}\n" for x in learners), encoding="utf-8")
    room = make_classroom(folder / "class", roster, "benchmark")
    hand_out(room, lab, root / "exercises", date(2031, 1, 10))
    for number, learner in enumerate(learners):
        mine = folder / "came-back" / learner / lab_id
        shutil.copytree(room.handed_out(learner, lab_id), mine)
        work_lab(mine, lab, KINDS[kinds[number % len(kinds)]])
    gather(room, folder / "came-back")

    course = folder / "stock"
    (course / "solutions" / lab_id).mkdir(parents=True)
    shutil.copy(root / "nbgrader_config.py", course)
    shutil.copy(root / "solutions" / lab_id / f"{lab_id}.ipynb", course / "solutions" / lab_id)
    shutil.copytree(folder / "came-back", course / "submitted")
    _run([sys.executable, "-m", "nbgrader", "generate_assignment", lab_id], course)
    stock = _run([sys.executable, "-m", "nbgrader", "autograde", lab_id], course)
    mark = [sys.executable, "-m", "tankside_autograder", "mark", str(room.folder), lab_id]
    own = _run([*mark, "--exercises", str(root / "exercises"), "--solutions", str(root / "solutions")], folder)

    theirs, ours = _marks(course / "gradebook.db"), _marks(room.folder / "gradebook.db")
    differ = {
        " ".join(cell): (theirs.get(cell), ours.get(cell))
        for cell in sorted(theirs.keys() | ours.keys())
        if theirs.get(cell) is None or ours.get(cell) is None or abs(theirs[cell] - ours[cell]) > 1e-9
    }
    if len(ours) < hand_ins * 5:
        raise SystemExit(f"only {len(ours)} marks for {hand_ins} hand-ins: the comparison would mean nothing")
    return Outcome(lab_id, hand_ins, stock, own, differ)


def _run(command: list[str], folder: Path) -> float:
    path = f"{Path(sys.executable).parent}{os.pathsep}{os.environ.get('PATH', '')}"  # nbgrader calls alembic by name
    started = time.perf_counter()
    done = subprocess.run(command, cwd=folder, env={**os.environ, "PATH": path}, capture_output=True, text=True, check=False)
    seconds = time.perf_counter() - started
    if done.returncode != 0:
        raise SystemExit(f"{' '.join(command[2:5])} failed:\n{done.stdout[-3000:]}{done.stderr[-3000:]}")
    return seconds


def _marks(database: Path) -> Marks:
    """(learner, cell) -> automatic score, of every cell that isn't left to a person."""
    with closing(sqlite3.connect(database)) as connection:
        rows = connection.execute(
            "select student_id, base_cell.name, auto_score from grade join base_cell on base_cell.id = cell_id "
            "join submitted_notebook on submitted_notebook.id = grade.notebook_id "
            "join submitted_assignment on submitted_assignment.id = submitted_notebook.assignment_id "
            "where auto_score is not null"
        ).fetchall()
    return {(learner, cell): float(score) for learner, cell, score in rows}


def main() -> int:
    """Run it, print it."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--lab", default="lab03")
    parser.add_argument("--hand-ins", "--learners", type=int, default=24)
    parser.add_argument("--json", type=Path, help="write the outcome here, too")
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        outcome = compare(asked.lab, asked.hand_ins, Path(folder))
    print(f"{outcome.lab}, {outcome.hand_ins} honest hand-ins, {os.cpu_count()} processors")
    print(f"nbgrader autograde   {outcome.stock_seconds:7.1f} s")
    print(f"tankside mark        {outcome.own_seconds:7.1f} s")
    print(f"ratio                {outcome.ratio:7.1f}")
    print(f"marks that differ    {len(outcome.differ):5d}")
    for cell, (stock, own) in outcome.differ.items():
        print(f"  {cell}: nbgrader {stock}, Tankside {own}")
    if asked.json:
        asked.json.write_text(json.dumps({**asdict(outcome), "ratio": outcome.ratio}, indent=1) + "\n", encoding="utf-8")
    return 1 if outcome.differ else 0


if __name__ == "__main__":
    sys.exit(main())
