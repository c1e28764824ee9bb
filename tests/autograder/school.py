"""A small class for tests: a class folder, a fake released lab, learners who work it at the real bench."""

from __future__ import annotations

import shutil
from datetime import date
from pathlib import Path

from tankside.labs import load_lab
from tankside_autograder.classroom import Classroom, make_classroom
from tankside_autograder.desk_work import work_lab
from tankside_autograder.hand_out import hand_out
from tankside_autograder.technicians import KINDS

from .fakelab import write_lab

LAB = load_lab("lab03")
ISSUED = date(2031, 1, 10)


def start_class(folder: Path, learners: list[str], agreed: str = "") -> Classroom:
    """A class with a key that is always the same, so that everybody's heater is."""
    roster = folder / "list.csv"
    roster.write_text("id,name\n" + "".join(f"{x},{x.title()} Person\n" for x in learners), encoding="utf-8")
    room = Classroom(folder / "class")
    room.secret_folder.mkdir(parents=True)
    room.key_file.write_text("0123456789abcdef" * 4, encoding="utf-8")
    if agreed:
        room.class_file.write_text(agreed, encoding="utf-8")
    write_lab(folder / "exercises" / "lab03" / "lab03.ipynb")
    return make_classroom(room.folder, roster)


def give(room: Classroom, folder: Path) -> None:
    hand_out(room, LAB, folder / "exercises", ISSUED)


def work(room: Classroom, inbox: Path, learner: str, kind: str = "guesser") -> Path:
    """The learner's own copy of what was handed out, worked by that kind of technician."""
    target = inbox / learner / "lab03"
    shutil.copytree(room.handed_out(learner, "lab03"), target)
    work_lab(target, LAB, KINDS[kind])
    return target


__all__ = ["ISSUED", "LAB", "give", "start_class", "work"]
