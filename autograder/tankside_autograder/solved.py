"""The labs' own answers: worked by the reference technician on practice order 1, never typed.

``python -m tankside_autograder.solved`` brings the solution regions of ``solutions/*/*.md`` up to date, with
``--check`` only compares. ``--hand-in FOLDER`` writes complete, fully marked hand-ins to try the grading with.
"""

from __future__ import annotations

import argparse
import json
import re
import sys
from collections.abc import Sequence
from pathlib import Path

import nbformat

from tankside.bench.log import LOG_NAME
from tankside.labs import load_lab
from tankside.notebook import PRACTICE_NAME
from tankside.practice import PRACTICE_KEY, practice_order
from tankside.report import LABELS
from tankside.widgets.desk_answers import REPORT_NAME
from tankside.workorder import write_order_file
from tankside_autograder.files import write_atomic
from tankside_autograder.notebooks import lab_names
from tankside_autograder.reference import solve
from tankside_autograder.twins import TwinError, read_twin

BEGIN, END = "### BEGIN SOLUTION", "### END SOLUTION"
FIGURES, REPORT = "answers-figures", "answers-report"


def solution_regions(lab_id: str) -> dict[str, list[str]]:
    """Grade id of an answers cell -> the lines of its solution region."""
    lab = load_lab(lab_id)
    log, answers = solve(practice_order(lab), lab)
    report = set(LABELS.values())
    done = [f"# {entry['seq']}: {entry['text']}" for entry in map(json.loads, log)]
    return {
        FIGURES: [f"{label} = {text}" for label, text in answers.items() if label not in report],
        REPORT: [
            *(f"{label} = {text}" for label, text in answers.items() if label in report),
            "# These answers are those of practice order 1. The bench work behind them, line by line of its log:",
            *done,
        ],
    }


def with_solutions(text: str, lab_id: str, file: Path | str) -> str:
    """A twin's text with the solution regions of its two answers cells as computed. Raises ``TwinError``."""
    for grade_id, lines in solution_regions(lab_id).items():
        region = re.compile(
            rf'(^```python nbgrader=\{{[^\n]*"grade_id": "{grade_id}"(?:(?!^```).)*?^{BEGIN}\n).*?(^{END}$)',
            re.MULTILINE | re.DOTALL,
        )
        filled = "".join(f"{line}\n" for line in lines)
        text, count = region.subn(lambda m, new=filled: f"{m[1]}{new}{m[2]}", text)  # type: ignore[misc]
        if count != 1:
            raise TwinError(file, grade_id, f"this cell needs one region {BEGIN} … {END}; found {count}.")
    return text


def refresh(root: Path, check: bool = False) -> list[Path]:
    """The twins under ``root`` whose solution regions were (``check``: are) out of date, relative to ``root``."""
    changed = []
    for lab_id in lab_names(root):
        name = Path("solutions", lab_id, f"{lab_id}.md")
        old = (root / name).read_text(encoding="utf-8")
        new = with_solutions(old, lab_id, name)
        if new != old:
            changed.append(name)
            if not check:
                write_atomic(root / name, new.encode("utf-8"))
    return changed


def write_hand_in(root: Path, lab_id: str, folder: Path) -> None:
    """A hand-in of practice order 1 as the reference technician would leave it: notebook, order, log and report."""
    lab = load_lab(lab_id)
    folder.mkdir(parents=True, exist_ok=True)
    name = Path("solutions", lab_id, f"{lab_id}.md")
    nbformat.write(read_twin(root / name, lab=True, shown=name), folder / f"{lab_id}.ipynb")
    order = practice_order(lab)
    write_order_file(order, folder / PRACTICE_NAME, PRACTICE_KEY)
    (folder / LOG_NAME).unlink(missing_ok=True)
    _, answers = solve(order, lab, folder / LOG_NAME)
    report = json.dumps({"order": order.order, "answers": answers}, ensure_ascii=False, indent=1)
    write_atomic(folder / REPORT_NAME, f"{report}\n".encode())


def main(words: Sequence[str] | None = None) -> int:
    """The command line. 0: all current; 1: ``--check`` found something; 2: a twin is wrong."""
    parser = argparse.ArgumentParser(
        prog="python -m tankside_autograder.solved", description="Keep the labs' own answers computed."
    )
    parser.add_argument("--check", action="store_true", help="write nothing; fail when a twin is out of date")
    parser.add_argument(
        "--hand-in", type=Path, metavar="FOLDER", help="write a fully marked hand-in of each lab"
    )
    parser.add_argument(
        "--root", type=Path, default=Path.cwd(), help="the project's folder (default: this one)"
    )
    options = parser.parse_args(words)
    try:
        changed = refresh(options.root, options.check)
        if options.hand_in:
            for lab_id in lab_names(options.root):
                write_hand_in(options.root, lab_id, options.hand_in / lab_id)
    except TwinError as error:
        print(error, file=sys.stderr)
        return 2
    for path in changed:
        print(f"{path.as_posix()}: {'out of date' if options.check else 'brought up to date'}")
    return 1 if changed and options.check else 0


if __name__ == "__main__":
    sys.exit(main())
