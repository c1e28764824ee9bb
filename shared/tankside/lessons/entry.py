"""The check before the course, over the lessons as they are."""

from __future__ import annotations

from tankside.labs import load_lab
from tankside.labs.lab import lab_ids
from tankside.lessons.contents import lessons
from tankside.lessons.curriculum import number_of
from tankside.widgets.entry_check import EntryCheck, Step


def entry_check(seed: str | None = None) -> EntryCheck:
    """Two questions from each lesson, then where to start. Without a seed they are other ones each time."""
    steps = [Step(each.number, each.title, f"{each.stem}.ipynb", each.topic) for each in lessons()]
    last = lab_ids()[-1]
    name = f"lab {number_of(last)}, {load_lab(last).title}"
    return EntryCheck(steps, (name, f"../exercises/{last}/{last}.ipynb"), seed)
