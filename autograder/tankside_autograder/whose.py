"""Whose hand-in is it, and for which lab? Told from the names round it, and from the work order inside."""

from __future__ import annotations

import re
from datetime import UTC, datetime

from tankside_autograder.roster import Learner, Roster, fold

# nbgrader's exchange names its folders learner+lab+time, with a random tail in newer versions.
_EXCHANGE = re.compile(r"^([^+]+)\+([^+]+)\+([^+]+?)(?:\+[^+]*)?$")
_COPY_MARK = re.compile(r"\s*\(\d+\)$|[-_ ]copy\d*$", re.IGNORECASE)
_EDGE = r"[A-Za-z0-9\u00c0-\uffff]"


def split_exchange(name: str) -> tuple[str, str, datetime | None] | None:
    """Learner, lab and time of an nbgrader exchange folder's name; None when it isn't one."""
    match = _EXCHANGE.match(name)
    if not match:
        return None
    learner, lab, stamp = (part.strip() for part in match.groups())
    return learner, lab, parse_time(stamp)


def parse_time(text: str) -> datetime | None:
    """A time as nbgrader or a person writes it, in UTC; None when it can't be read or names no zone."""
    cleaned = re.sub(r"\s*(UTC|GMT|Z)\s*$", "+00:00", text.strip())
    cleaned = re.sub(r"(\d)_(\d)", r"\1 \2", cleaned)
    try:
        when = datetime.fromisoformat(cleaned)
    except ValueError:
        return None
    return when.astimezone(UTC) if when.tzinfo else None


def learner_from_names(names: tuple[str, ...], roster: Roster) -> tuple[Learner | None, str]:
    """The learner that the names tell, innermost first, with how it was told; (None, "") when they don't.

    An id standing alone beats an id inside a longer name beats a person's full name. A name that fits two
    people tells nothing.
    """
    cleaned = [_COPY_MARK.sub("", name.strip()) for name in names]
    for name in cleaned:
        exchange = split_exchange(name)
        learner = roster.find(exchange[0] if exchange else name)
        if learner:
            return learner, "folder name"
    for name in cleaned:
        learner = _id_inside(name, roster)
        if learner:
            return learner, "id in the name"
    for name in cleaned:
        learner = _person_inside(name, roster)
        if learner:
            return learner, "person's name"
    return None, ""


def _id_inside(name: str, roster: Roster) -> Learner | None:
    folded = fold(name)
    found: list[tuple[int, int, Learner]] = []
    for learner in roster:
        wanted = fold(learner.id)
        if wanted.isdigit() and len(wanted) < 3:
            continue  # a short number could be anything: a week, a copy, a lab
        match = re.search(rf"(?<!{_EDGE}){re.escape(wanted)}(?!{_EDGE})", folded)
        if match:
            found.append((match.start(), match.end(), learner))
    # "jo" also stands inside "jo.doe": the longest counts, and one that lies wholly within another doesn't.
    outer = [
        a for a in found if not any(b is not a and b[0] <= a[0] and a[1] <= b[1] and b[:2] != a[:2] for b in found)
    ]
    return outer[0][2] if len(outer) == 1 else None


def _person_inside(name: str, roster: Roster) -> Learner | None:
    words = set(_words(name))
    found = [x for x in roster if len(_words(x.name)) > 1 and set(_words(x.name)) <= words]
    return found[0] if len(found) == 1 else None


def _words(text: str) -> list[str]:
    return [word for word in re.split(r"[\W_\d]+", fold(text)) if word]


def lab_from_names(names: tuple[str, ...], labs: list[str]) -> str | None:
    """The lab that the names tell, innermost first: "lab03", "Lab 3", "ana_lab-03 (1)". None when they don't."""
    for name in names:
        exchange = split_exchange(name)
        folded = fold(exchange[1] if exchange else name)
        found = [lab for lab in labs if re.search(_lab_pattern(lab), folded)]
        if len(found) == 1:
            return found[0]
    return None


def _lab_pattern(lab: str) -> str:
    numbered = re.fullmatch(r"([a-z]+)0*(\d+)", fold(lab))
    if numbered:
        return rf"(?<![a-z0-9]){numbered.group(1)}[\s_-]*0*{numbered.group(2)}(?!\d)"
    return rf"(?<!{_EDGE}){re.escape(fold(lab))}(?!{_EDGE})"
