"""What can be said of a hand-in: a short word for the table, a sentence for its learner, and what follows from it."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Verdict:
    """One verdict. ``person``: somebody must look. ``counts``: marks are given. Order in ``VERDICTS`` is gravity."""

    id: str
    words: str
    message: str
    person: bool = False
    counts: bool = True


_ALL = (
    Verdict("needs-a-person", "needs a person",
            "Something unexpected happened while this was being marked. Your instructor will look at it.",
            person=True, counts=False),
    Verdict("too-big", "too big",
            "The hand-in is larger than it may be, so it was not opened. Clear the outputs of the notebook, save it, "
            "and hand in the lab's own files only.", person=True, counts=False),
    Verdict("broken-archive", "zip can't be opened",
            "The zip file can't be opened. It may have been cut off on the way. Make it again and hand it in again.",
            person=True, counts=False),
    Verdict("unreadable", "can't be opened",
            "The folder can't be opened. Ask your instructor to look at it.", person=True, counts=False),
    Verdict("empty", "empty",
            "There was no notebook in what you handed in. Look for the lab's folder and hand in all that is in it.",
            counts=False),
    Verdict("forged-order", "forged work order",
            "The work order in this hand-in was not made by your school, or it was changed. It can't be marked. "
            "Use the work order as it was handed to you.", person=True, counts=False),
    Verdict("neighbours-order", "neighbor's work order",
            "The work order in this hand-in was given to somebody else. Every learner has a heater of their own. "
            "Do the call-out on your own work order and hand that in.", person=True, counts=False),
    Verdict("other-lab", "order for another lab",
            "The work order in this hand-in is for another lab. Hand in the files of this lab's folder together.",
            person=True, counts=False),
    Verdict("practice-order", "practice order",
            "This was done on a practice order, not on the order that your school gave you. Practice is good, but only "
            "the school's order is marked. Put the lab's notebook and the school's work order in one folder.",
            person=True, counts=False),
    Verdict("no-order", "no work order",
            "There is no work order in the hand-in, and none was given out to you for this lab. Ask your instructor.",
            person=True, counts=False),
    Verdict("expired-order", "work order expired",
            "The work order had run out when this was handed in. Ask your instructor for a new one.", counts=False),
    Verdict("neighbours-log", "somebody else's bench log",
            "The bench log belongs to another work order. Only work at your own bench counts. What your own log doesn't "
            "show earns no marks.", person=True),
    Verdict("edited-log", "bench log changed by hand",
            "The bench log was changed after the bench wrote it. Done again on your order, the same actions give other "
            "readings. Such a log is no evidence. Do the work at the bench again and hand in the log as it is.",
            person=True),
    Verdict("spliced-log", "bench log cut together",
            "Lines of the bench log were cut out, added or moved: their numbers don't follow one another. Only the lines "
            "before that count. Do the work at the bench again and hand in the log as it is.",
            person=True),
    Verdict("impossible-log", "impossible bench log",
            "The bench log tells of actions or times that can't have happened at your bench. Only the lines before that "
            "count. Do the work at the bench again and hand in the log as it is.",
            person=True),
    Verdict("other-edition-log", "log of another edition",
            "The bench log was begun with another edition of Tankside, and this one gives other readings. Only the lines "
            "before that count. Ask your instructor to mark it with the edition that you worked with.",
            person=True),
    Verdict("broken-notebook", "notebook file damaged",
            "The notebook file is damaged. What could still be read was marked. If something is missing, "
            "save the notebook again and hand it in again."),
    Verdict("other-notebook", "another notebook",
            "The notebook is not this lab's notebook. Its answers can't be found. Hand in the lab's own notebook."),
    Verdict("no-bench-log", "no work at the bench",
            "There is no bench log, so nobody can see what you did. Run the cell that opens the bench, work there, and "
            "hand in the folder with its bench log. Answers without work at the bench earn little."),
    Verdict("cut-log", "bench log cut short",
            "The end of the bench log is missing. Everything before the cut was marked."),
    Verdict("no-answers", "no answers",
            "The answer cells are blank. Write your answers after the equals signs, and save the notebook before you "
            "hand it in."),
    Verdict("notebook-only", "only the notebook came",
            "Only the notebook came back. The copy of your bench log inside it was marked. Next time hand in the whole "
            "folder."),
    Verdict("no-notebook", "no notebook",
            "There was no notebook. Your answers were read from the service report file beside it."),
    Verdict("late", "late", "This came after the due time."),
    Verdict("marked", "marked", "All of it was marked."),
)  # fmt: skip

VERDICTS: dict[str, Verdict] = {verdict.id: verdict for verdict in _ALL}
NOT_HANDED_IN = Verdict(
    "not-handed-in", "not handed in", "Nothing was handed in for this lab.", person=False, counts=False
)


def gravest(ids: list[str]) -> Verdict:
    """The verdict of these that a table shows; "marked" when there is none."""
    return next((verdict for verdict in _ALL if verdict.id in ids), VERDICTS["marked"])


def in_order(ids: list[str]) -> list[Verdict]:
    """These verdicts, each once, the gravest first."""
    return [verdict for verdict in _ALL if verdict.id in ids]
