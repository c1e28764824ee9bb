"""Tables for the teacher's guide: a term's plan and the weights of the labs, read from lessons and labs."""

from __future__ import annotations

from tankside.labs import PARTS, load_lab
from tankside.labs.lab import lab_ids
from tankside.lessons.contents import lessons
from tankside.lessons.curriculum import number_of
from tankside.lessons.pages import table
from tankside.notebook import Page


def term_plan() -> Page:
    """One row a week: a lesson, the lab of the same number, and their minutes together."""
    labs = {number_of(lab_id): load_lab(lab_id) for lab_id in lab_ids()}
    rows, total = [], 0
    for lesson in lessons():
        lab = labs.get(lesson.number)
        both = lesson.minutes + (lab.minutes if lab else 0)
        total += both
        rows.append(
            (
                str(lesson.number),
                lesson.title,
                str(lesson.minutes),
                f"{lab.title} (level {lab.level})" if lab else "none",
                str(lab.minutes) if lab else "0",
                str(both),
                ", ".join(str(number_of(i)) for i in lab.needs) if lab and lab.needs else "none",
            )
        )
    head = ("Week", "Lesson", "Minutes", "Lab", "Minutes", "Together", "Labs needed before")
    said = f"{len(rows)} weeks, {total} minutes in all: {total / 60:.1f} hours."
    return table("A term, week by week", head, rows, said)


def weights() -> Page:
    """One row a lab: what each part of the mark weighs, and the pass mark."""
    rows = []
    for lab_id in lab_ids():
        lab = load_lab(lab_id)
        rows.append(
            (f"Lab {number_of(lab_id)}", *(str(lab.weights[part]) for part in PARTS), str(lab.pass_mark))
        )
    return table("What the marks weigh, of 100", ("Lab", *PARTS.values(), "To pass"), rows)
