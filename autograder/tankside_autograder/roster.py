"""The class list: reading it from whatever a spreadsheet saved, with one clear error when it can't be used."""

from __future__ import annotations

import csv
import io
import re
import unicodedata
from dataclasses import dataclass
from pathlib import Path

from tankside.errors import TanksideError

ID_LENGTH = 64
_NEEDED = ("id", "name")
_OTHER_WORDS = {
    "learner": "id", "learner_id": "id", "student": "id", "student_id": "id", "number": "id",
    "full_name": "name", "learner_name": "name", "student_name": "name",
    "e_mail": "email", "mail": "email", "group": "section", "class": "section",
}
# Names Windows keeps for devices; a folder of that name can't be made there.
_DEVICES = {"con", "prn", "aux", "nul", *(f"com{n}" for n in range(1, 10)), *(f"lpt{n}" for n in range(1, 10))}


class RosterError(TanksideError):
    """The class list can't be used. The text names the file, the line and what would be right."""


@dataclass(frozen=True)
class Learner:
    """One person of the class. ``line`` is the line of the class list, counted from 1."""

    id: str
    name: str
    email: str = ""
    section: str = ""
    line: int = 0


@dataclass(frozen=True)
class Roster:
    """The class, in the list's order. ``notes`` says what had to be guessed while reading."""

    learners: tuple[Learner, ...]
    notes: tuple[str, ...] = ()

    def __iter__(self):  # type: ignore[no-untyped-def]
        return iter(self.learners)

    def __len__(self) -> int:
        return len(self.learners)

    def find(self, learner_id: str) -> Learner | None:
        """The learner of that id, upper and lower case alike; None when nobody has it."""
        wanted = fold(learner_id)
        return next((learner for learner in self.learners if fold(learner.id) == wanted), None)


def fold(text: str) -> str:
    """Text for comparing: one Unicode form, no case, no outer blanks. Mac file names come decomposed."""
    return unicodedata.normalize("NFC", text).strip().casefold()


def read_roster(path: Path) -> Roster:
    """Read a class list: columns ``id`` and ``name``, optionally ``email`` and ``section``.

    Commas, semicolons or tabs; UTF-8 with or without a mark, UTF-16, or Windows-1252 (with a note).
    Raises ``RosterError`` naming the file and line for anything that can't be used.
    """
    try:
        data = path.read_bytes()
    except FileNotFoundError:
        raise RosterError(f"{path}: there is no class list here. It is a CSV file with columns id and name.") from None
    except IsADirectoryError:
        raise RosterError(f"{path}: this is a folder; the class list is a CSV file.") from None
    except PermissionError as error:
        raise RosterError(f"{path}: can't be read ({error.strerror}). Check who may open it.") from None
    text, notes = _decode(data, path)
    return Roster(tuple(_rows(text, path)), tuple(notes))


def _decode(data: bytes, path: Path) -> tuple[str, list[str]]:
    if data[:2] in (b"PK", b"\xd0\xcf"):
        raise RosterError(f"{path}: this is a spreadsheet file, not a CSV. In the spreadsheet, save it as CSV (UTF-8).")
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        try:
            return data.decode("utf-16"), []
        except UnicodeDecodeError:
            raise RosterError(f"{path}: starts like UTF-16 text but breaks off. Save it again as CSV (UTF-8).") from None
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        text = data.decode("cp1252", errors="replace")
        note = (
            f"{path.name}: not UTF-8 (line {line}); read as Windows-1252. Check the names, or save it as CSV (UTF-8)."
        )
        return _no_nul(text, path), [note]
    return _no_nul(text, path), []


def _no_nul(text: str, path: Path) -> str:
    if "\0" in text:
        raise RosterError(f"{path}: this isn't text (it has zero bytes). Save the class list as CSV (UTF-8).")
    return text


def _rows(text: str, path: Path) -> list[Learner]:
    lines = text.splitlines()
    first = next((i for i, line in enumerate(lines) if line.strip(" \t,;")), None)
    if first is None:
        raise RosterError(f"{path}: the class list is empty. Its first line names the columns: id,name")
    # Excel writes "sep=;" above the heading when asked to.
    hint = re.fullmatch(r"\s*sep=(.)\s*", lines[first])
    separator = hint.group(1) if hint else _separator(lines[first])
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True, skipinitialspace=True)
    heading: list[str] | None = None
    learners: list[Learner] = []
    seen: dict[str, Learner] = {}
    try:
        for row in reader:
            cells = [cell.strip() for cell in row]
            if not any(cells) or (hint and heading is None and cells[0].lower().startswith("sep=")):
                continue
            if heading is None:
                heading = _heading(cells, path, reader.line_num)
                continue
            learner = _learner(heading, cells, path, reader.line_num)
            before = seen.setdefault(fold(learner.id), learner)
            if before is not learner:
                raise RosterError(
                    f"{path}: id {learner.id!r} stands twice: line {before.line} ({before.name}) and line "
                    f"{learner.line} ({learner.name}). Give each person an id of their own."
                )
            learners.append(learner)
    except csv.Error as error:
        raise RosterError(
            f"{path}: line {reader.line_num}: {error}. Look for a quote mark that is opened and not closed."
        ) from None
    if not learners:
        raise RosterError(f"{path}: there is a heading, but nobody below it. Write one person a line: id,name")
    return learners


def _separator(line: str) -> str:
    bare = re.sub(r'"[^"]*"', "", line)
    return max(",;\t", key=lambda mark: (bare.count(mark), mark == ","))


def _heading(cells: list[str], path: Path, line: int) -> list[str]:
    words = [re.sub(r"[\s\-]+", "_", fold(cell)) for cell in cells]
    heading = [_OTHER_WORDS.get(word, word) if _OTHER_WORDS.get(word) not in words else word for word in words]
    missing = [word for word in _NEEDED if word not in heading]
    if missing:
        raise RosterError(
            f"{path}: line {line}: the heading has no column {' and no column '.join(missing)}. "
            f"It has: {', '.join(cells)}. It needs: id,name (and may have email,section)."
        )
    for word in (*_NEEDED, "email", "section"):
        if heading.count(word) > 1:
            raise RosterError(f"{path}: line {line}: two columns are called {word}. Keep one of them.")
    return heading


def _learner(heading: list[str], cells: list[str], path: Path, line: int) -> Learner:
    if len(cells) > len(heading) and any(cells[len(heading) :]):
        raise RosterError(
            f"{path}: line {line}: {len(cells)} values under {len(heading)} headings. "
            'Put quotes round a name that has a comma: "Doe, Jo".'
        )
    values = dict(zip(heading, cells, strict=False))
    learner_id, name = values.get("id", ""), values.get("name", "")
    if not learner_id:
        raise RosterError(f"{path}: line {line}: no id for {name!r}. Each person needs an id, such as jo.doe")
    if not name:
        raise RosterError(f"{path}: line {line}: id {learner_id!r} has no name.")
    reason = unusable_as_folder(learner_id)
    if reason:
        raise RosterError(
            f"{path}: line {line}: id {learner_id!r} can't be used, because folders are named after it: {reason}. "
            "Use letters, digits, dots, dashes and underscores, such as jo.doe"
        )
    return Learner(
        unicodedata.normalize("NFC", learner_id), name, values.get("email", ""), values.get("section", ""), line
    )


def unusable_as_folder(learner_id: str) -> str | None:
    """Why this id can't name a folder on every kind of machine; None when it can."""
    if len(learner_id) > ID_LENGTH:
        return f"it has {len(learner_id)} characters, the most is {ID_LENGTH}"
    bad = next((c for c in learner_id if c in '<>:"/\\|?*+\'`$%!&;' or c.isspace() or not c.isprintable()), None)
    if bad is not None:
        return "it has a blank in it" if bad == " " else f"it has the character {bad!r} in it"
    if learner_id[0] in "._-" or learner_id[-1] == ".":
        return "it starts with a dot, dash or underscore, or ends with a dot"
    if fold(learner_id.split(".")[0]) in _DEVICES:
        return f"{learner_id.split('.')[0]!r} is a name that Windows keeps for itself"
    return None
