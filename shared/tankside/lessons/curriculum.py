"""The curriculum map: which skill is taught where, at which places of the heater, and in which labs it is assessed."""

from __future__ import annotations

import html
from functools import cache
from pathlib import Path

from pydantic import Field

from tankside.datafiles import Record, load
from tankside.errors import DataFileError, TanksideError
from tankside.faults.catalogue import fault_named, faults
from tankside.labs import PARTS, load_lab
from tankside.labs.lab import lab_ids
from tankside.lessons.contents import COURSE, Lesson, lessons
from tankside.lessons.pages import table
from tankside.notebook import Page
from tankside.widgets.quiz import generators, topics

FILE = COURSE / "curriculum.toml"
ALONE = ("safe-working", "evidence", "diagnosis", "remedy", "reflection")
"""What a lab assesses as a whole; the figures part is told figure by figure."""
NAMED = ("figure", "fault", "expects")


class Skill(Record):
    """One line of a lesson's promise. ``places``: names as in the fault catalogue; ``questions``: topic.generator."""

    lesson: str
    text: str = Field(min_length=3)
    places: tuple[str, ...] = Field(min_length=1)
    questions: tuple[str, ...] = Field(min_length=1)
    assessed: tuple[str, ...] = Field(min_length=1)


class CurriculumFile(Record):
    """The data file."""

    skill: tuple[Skill, ...] = Field(min_length=1)


def places() -> list[str]:
    """Every place that a fault of the catalogue lies at, by name."""
    return sorted({fault.place for fault in faults().values()})


def parts_of(entry: str) -> tuple[str, str, str]:
    """``"lab05: fault fuse-blown"`` -> lab, kind, name (empty for a part of the mark). ``TanksideError``: unreadable."""
    lab, colon, rest = entry.partition(": ")
    kind, _, name = rest.partition(" ")
    if colon and ((rest in ALONE) or (kind in NAMED and name)):
        return lab, kind, name
    raise TanksideError(
        f"{entry!r}: expected labNN, a colon, and {', '.join(ALONE)}, or figure, fault or expects with a name."
    )


def offered(lab_id: str) -> set[str]:
    """Everything that a lab can assess, written as in ``assessed``."""
    lab = load_lab(lab_id)
    named = [
        *(f"figure {figure.id}" for figure in lab.figure),
        *(f"fault {fault}" for fault in lab.faults),
        *(f"expects {verb}" for verb in lab.expects),
    ]
    whole = [part for part in ALONE if part == "reflection" or (part in PARTS and lab.weights[part])]
    return {f"{lab_id}: {rest}" for rest in (*named, *whole)}


def gaps(skills: tuple[Skill, ...], taught: tuple[Lesson, ...]) -> list[str]:
    """What is wrong with a map, in words: promises without a skill, names that don't exist, what is taught or assessed alone."""
    numbers = {lesson.stem: lesson.number for lesson in taught}
    promised = [(lesson.stem, text) for lesson in taught for text in lesson.skills]
    mapped = [(skill.lesson, skill.text) for skill in skills]
    out = [
        f"{stem}: no skill has the text {text!r}." for stem, text in promised if (stem, text) not in mapped
    ]
    out += [
        f"{stem}: the lesson doesn't promise {text!r}."
        for stem, text in mapped
        if (stem, text) not in promised
    ]
    out += [
        f"{stem}: {text!r} stands there twice."
        for stem, text in set(mapped)
        if mapped.count((stem, text)) > 1
    ]
    known = places()
    for skill in skills:
        out += [f"{skill.text}: there is no place {place!r}." for place in skill.places if place not in known]
        out += [
            f"{skill.text}: there is no question {name!r}." for name in skill.questions if not _asked(name)
        ]
        for entry in skill.assessed:
            lab, _, _ = parts_of(entry)
            if lab not in lab_ids() or entry not in offered(lab):
                out.append(f"{skill.text}: no lab assesses {entry!r}.")
            elif number_of(lab) < numbers.get(skill.lesson, 0):
                out.append(f"{skill.text}: {entry!r} comes before its lesson.")
    used = {place for skill in skills for place in skill.places}
    return (
        out
        + [f"{place}: no skill touches this place." for place in known if place not in used]
        + untaught(skills, numbers)
    )


def untaught(skills: tuple[Skill, ...], numbers: dict[str, int]) -> list[str]:
    """What a lab asks for that no skill of its lesson or an earlier one claims: figures, verbs, places of its faults."""
    claimed = {entry for skill in skills for entry in skill.assessed}
    out = []
    for lab_id in lab_ids():
        lab, by_then = load_lab(lab_id), set[str]()
        for skill in skills:
            if numbers.get(skill.lesson, 99) <= number_of(lab_id):
                by_then |= set(skill.places)
        asked = [f"{lab_id}: figure {f.id}" for f in lab.figure] + [
            f"{lab_id}: expects {v}" for v in lab.expects
        ]
        out += [f"{entry}: assessed, but no skill claims it." for entry in asked if entry not in claimed]
        here = {fault_named(fault).place for fault in lab.faults}
        out += [
            f"{lab_id}: a fault lies at the {place}, which is taught later."
            for place in sorted(here - by_then)
        ]
    return out


def _asked(name: str) -> bool:
    topic, _, generator = name.partition(".")
    return topic in topics() and generator in {kind.__name__ for kind in generators(topic)}


def number_of(lab_id: str) -> int:
    """``"lab05"`` -> 5: labs and lessons are numbered alike."""
    return int(lab_id.removeprefix("lab"))


@cache
def curriculum(file: Path = FILE) -> tuple[Skill, ...]:
    """The skills of the data file. A ``DataFileError`` names the first thing in it that can't be read.

    Whether they fit the course is another question: ``gaps`` answers it.
    """
    skills = load(file, CurriculumFile).skill
    for number, skill in enumerate(skills):
        for entry in skill.assessed:
            try:
                parts_of(entry)
            except TanksideError as error:
                raise DataFileError(file, f"skill.{number}.assessed", "a part of a lab", str(error)) from None
    return skills


def in_words(entry: str) -> str:
    """An entry as people read it: ``lab05: figure board-volts`` -> ``Lab 5: volts across the board's own two wires ...``.

    What the lab doesn't have any more keeps its name.
    """
    lab_id, kind, name = parts_of(entry)
    if lab_id not in lab_ids() or entry not in offered(lab_id):
        return entry
    lab = load_lab(lab_id)
    if kind == "figure":
        said = next(figure.label for figure in lab.figure if figure.id == name)
    elif kind == "fault":
        said = f"the fault “{fault_named(name).name}”"
    elif kind == "expects":
        said = f"asks for it: {name}"
    else:
        said = {"reflection": "in your own words"}.get(kind) or PARTS[kind].casefold()
    return f"Lab {number_of(lab_id)}: {said}"


def map_page() -> Page:
    """The whole map: lesson, what you can do, where on the heater, how it is assessed."""
    parts, texts = [], []
    for lesson in lessons():
        rows = [
            (
                skill.text,
                ", ".join(skill.places),
                str(len(skill.questions)),
                "; ".join(in_words(entry) for entry in skill.assessed),
            )
            for skill in curriculum()
            if skill.lesson == lesson.stem
        ]
        head = ("You can", "Where on the heater", "Kinds of questions", "Assessed in")
        page = table(f"Lesson {lesson.number}: {lesson.title} ({lesson.minutes} minutes)", head, rows)
        parts.append(page.markup)
        texts.append(page.text)
    return Page("".join(parts), "\n\n".join(texts))


def places_page() -> Page:
    """Each of the places with the lessons that teach it, and the labs that hide a fault there."""
    rows = []
    for place in places():
        taught = sorted({s.lesson[:2].lstrip("0") for s in curriculum() if place in s.places}, key=int)
        hidden = [
            str(number_of(i))
            for i in lab_ids()
            if any(fault_named(f).place == place for f in load_lab(i).faults)
        ]
        rows.append((place, ", ".join(taught), ", ".join(hidden)))
    return table("Places on the heater", ("Place", "Lessons", "Labs with a fault there"), rows)


def summary_page() -> Page:
    """How many skills, questions and assessed things there are, counted; and what of the map doesn't fit the course."""
    skills = curriculum()
    asked = {name for skill in skills for name in skill.questions}
    entries = {entry for skill in skills for entry in skill.assessed}
    said = (
        f"{len(skills)} skills in {len(lessons())} lessons, at {len(places())} places of the heater. "
        f"{len(asked)} kinds of questions ask for them, and {len(entries)} parts of {len(lab_ids())} labs assess them."
    )
    told = [said, *(f"Doesn't fit: {text}" for text in gaps(skills, lessons()))]
    return Page("".join(f"<p>{html.escape(text)}</p>" for text in told), "\n".join(told))
