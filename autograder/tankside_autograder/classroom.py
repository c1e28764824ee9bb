"""The layout of a class folder: who keeps what where. Only this module knows the folder names.

::

    my-class/
      roster.csv  class.toml      written by the instructor
      secret/                     class.key, orders.json: never handed to anyone
      handed-out/<learner>/<lab>/ and <learner>-<lab>.zip beside it
      handed-in/<learner>/<lab>/  the hand-in that counts, with hand-in.json
      handed-in-earlier/…         those that came before it
      unplaced/…                  hand-ins that nobody could be found for
      graded/<learner>/<lab>/     marks.json and the rebuilt notebook
      feedback/                   a page for each learner, index.html
      results/                    class table, pictures, CSV
      gradebook.db  nbgrader_config.py  lab-sources/   for nbgrader's form grader; holds solutions
      log/                        what went wrong inside, for whoever looks into it
"""

from __future__ import annotations

import hmac
import json
import secrets
from dataclasses import asdict, dataclass
from functools import cached_property
from hashlib import sha256
from pathlib import Path
from typing import Any

from tankside.errors import TanksideError
from tankside_autograder.class_file import CLASS_FILE_TEXT, ClassFile, read_class_file
from tankside_autograder.files import make_folder, write_atomic, write_json
from tankside_autograder.roster import Roster, fold, read_roster

_NBGRADER_CONFIG = '''\
# For the open-source nbgrader and its form grader, so that they find this class's files. Made by Tankside.
c = get_config()  # noqa: F821
c.CourseDirectory.source_directory = "lab-sources"
c.CourseDirectory.release_directory = "handed-out"
c.CourseDirectory.submitted_directory = "handed-in"
c.CourseDirectory.autograded_directory = "graded"
c.CourseDirectory.feedback_directory = "feedback-stock"
c.CourseDirectory.db_url = "sqlite:///gradebook.db"
'''


class ClassroomError(TanksideError):
    """The class folder isn't one, or something in it is damaged."""


@dataclass(frozen=True)
class Issued:
    """One line of the ledger: which sealed order went to whom. Dates are ISO."""

    order: str
    learner: str
    lab: str
    seed: str
    issued: str
    expires: str | None
    token: str


class Ledger:
    """Which work order was issued to whom for which lab. Saved whole and at once after each change."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self._entries: dict[str, Issued] = {}
        if path.exists():
            try:
                rows = json.loads(path.read_text(encoding="utf-8"))["orders"]
                self._entries = {row["order"]: Issued(**row) for row in rows}
            except (ValueError, KeyError, TypeError):
                raise ClassroomError(
                    f"{path}: the ledger of work orders is damaged. Put back a copy of it; "
                    "without it, nobody can tell whose order is whose."
                ) from None

    def __len__(self) -> int:
        return len(self._entries)

    def entries(self) -> list[Issued]:
        """Every order ever issued, oldest first."""
        return list(self._entries.values())

    def by_order(self, order: str) -> Issued | None:
        """The entry of that order id, or None."""
        return self._entries.get(order)

    def find(self, learner: str, lab: str) -> Issued | None:
        """The newest order of that learner for that lab, or None."""
        wanted = fold(learner)
        mine = [e for e in self._entries.values() if e.lab == lab and fold(e.learner) == wanted]
        return mine[-1] if mine else None

    def add(self, *entries: Issued) -> None:
        """Add and save. Raises ``ClassroomError`` if an order id already belongs to somebody else."""
        for entry in entries:
            before = self._entries.get(entry.order)
            if before is not None and (before.learner, before.lab) != (entry.learner, entry.lab):
                raise ClassroomError(
                    f"Order {entry.order} already belongs to {before.learner} for {before.lab}; "
                    f"it can't also go to {entry.learner} for {entry.lab}."
                )
            self._entries[entry.order] = entry
        write_json(self.path, {"orders": [asdict(e) for e in self._entries.values()]}, mode=0o600)


class Classroom:
    """A class folder. Every path in it comes from here."""

    def __init__(self, folder: Path | str) -> None:
        self.folder = Path(folder)
        if self.folder.exists() and not self.folder.is_dir():
            raise ClassroomError(f"{self.folder}: this is a file. A class lives in a folder of its own.")

    # -- files the instructor writes -------------------------------------------------------------
    @property
    def roster_file(self) -> Path:
        """The class list."""
        return self.folder / "roster.csv"

    @property
    def class_file(self) -> Path:
        """What the class has agreed on."""
        return self.folder / "class.toml"

    @cached_property
    def roster(self) -> Roster:
        """The class list, read once."""
        return read_roster(self.roster_file)

    @cached_property
    def agreed(self) -> ClassFile:
        """The class file, read once."""
        return read_class_file(self.class_file)

    # -- secrets ---------------------------------------------------------------------------------
    @property
    def secret_folder(self) -> Path:
        """What is never handed to anyone."""
        return self.folder / "secret"

    @property
    def key_file(self) -> Path:
        """Where the class's key lies."""
        return self.secret_folder / "class.key"

    @cached_property
    def key(self) -> str:
        """The class's secret: made once, readable by its owner only. Every seal and seed hangs on it."""
        if not self.key_file.exists():
            if self.ledger_file.exists():
                raise ClassroomError(
                    f"{self.key_file} is gone, but orders were issued with it. Put it back from your copy; "
                    "a new key would make every order look forged."
                )
            make_folder(self.secret_folder)
            if hasattr(self.secret_folder, "chmod"):
                self.secret_folder.chmod(0o700)
            write_atomic(self.key_file, secrets.token_hex(32) + "\n", mode=0o600)
        try:
            key = self.key_file.read_text(encoding="utf-8").strip()
        except (OSError, UnicodeDecodeError):
            raise ClassroomError(f"{self.key_file}: the class's key can't be read.") from None
        if len(key) < 32:
            raise ClassroomError(f"{self.key_file}: the class's key is damaged. Put it back from your copy.")
        return key

    def seed(self, learner: str, lab: str, again: int = 0) -> str:
        """The seed of this learner's order for this lab: the same every time, and unguessable without the key."""
        text = "\x1f".join((learner, lab, str(again)))
        return hmac.new(self.key.encode(), text.encode("utf-8"), sha256).hexdigest()

    @property
    def ledger_file(self) -> Path:
        """Where the ledger of orders lies."""
        return self.secret_folder / "orders.json"

    @cached_property
    def ledger(self) -> Ledger:
        """Which order went to whom, read once."""
        return Ledger(self.ledger_file)

    # -- one folder a learner and lab ------------------------------------------------------------
    def handed_out(self, learner: str, lab: str) -> Path:
        """What a learner was given."""
        return self.folder / "handed-out" / learner / lab

    def handed_out_zip(self, learner: str, lab: str) -> Path:
        """The same as a zip."""
        return self.folder / "handed-out" / f"{learner}-{lab}.zip"

    def handed_in(self, learner: str, lab: str) -> Path:
        """The hand-in that counts."""
        return self.folder / "handed-in" / learner / lab

    def earlier(self, learner: str, lab: str) -> Path:
        """The hand-ins that came before it."""
        return self.folder / "handed-in-earlier" / learner / lab

    @property
    def unplaced(self) -> Path:
        """Hand-ins that nobody could be found for."""
        return self.folder / "unplaced"

    def graded(self, learner: str, lab: str) -> Path:
        """Marks and the rebuilt notebook."""
        return self.folder / "graded" / learner / lab

    def marks_file(self, learner: str, lab: str) -> Path:
        """A learner's marks."""
        return self.graded(learner, lab) / "marks.json"

    def feedback(self, learner: str, lab: str) -> Path:
        """A learner's page."""
        return self.folder / "feedback" / f"{learner}-{lab}.html"

    @property
    def feedback_index(self) -> Path:
        """The instructor's index of the pages."""
        return self.folder / "feedback" / "index.html"

    @property
    def results(self) -> Path:
        """Class tables and pictures."""
        return self.folder / "results"

    @property
    def log_folder(self) -> Path:
        """What went wrong inside."""
        return self.folder / "log"

    def lab_source(self, lab: str) -> Path:
        """The instructor's notebook, for nbgrader's form grader."""
        return self.folder / "lab-sources" / lab / f"{lab}.ipynb"

    @property
    def gradebook_url(self) -> str:
        """The gradebook's address: a SQLite file in the class folder."""
        return f"sqlite:///{(self.folder / 'gradebook.db').resolve().as_posix()}"

    # -- looking round ---------------------------------------------------------------------------
    def labs_handed_in(self) -> list[str]:
        """The labs of which at least one hand-in is there."""
        return sorted({p.parent.name for p in (self.folder / "handed-in").glob("*/*/hand-in.json")})

    def marks_of(self, learner: str, lab: str) -> dict[str, Any] | None:
        """One learner's marks as they stand on disk; None when there are none or they can't be read."""
        try:
            marks = json.loads(self.marks_file(learner, lab).read_text(encoding="utf-8"))
        except (OSError, ValueError):
            return None
        return marks if isinstance(marks, dict) and "needs_person" in marks else None

    def marks(self, lab: str) -> dict[str, dict[str, Any]]:
        """Every learner's marks for a lab as they stand on disk, by learner id. Half-written files can't occur."""
        found: dict[str, dict[str, Any]] = {}
        for file in sorted((self.folder / "graded").glob(f"*/{lab}/marks.json")):
            try:
                found[file.parent.parent.name] = json.loads(file.read_text(encoding="utf-8"))
            except (ValueError, OSError):
                raise ClassroomError(f"{file}: can't be read. Delete it and mark again.") from None
        return found


def make_classroom(folder: Path | str, roster: Path | None = None, name: str = "Class") -> Classroom:
    """Lay out a class folder; what is already there stays as it is. ``roster`` is copied in when given.

    ``roster`` is checked before anything is written. Raises ``RosterError``, ``StorageError``.
    """
    room = Classroom(folder)
    if roster is not None and roster.resolve() != room.roster_file.resolve():
        read_roster(roster)
        write_atomic(room.roster_file, roster.read_bytes())
    else:
        _ = room.roster
    if not room.class_file.exists():
        write_atomic(room.class_file, CLASS_FILE_TEXT.format(name=json.dumps(name, ensure_ascii=False)))
    config = room.folder / "nbgrader_config.py"
    if not config.exists():
        write_atomic(config, _NBGRADER_CONFIG)
    _ = room.agreed, room.key
    return room


def open_classroom(folder: Path | str) -> Classroom:
    """A class folder that must already be one. Raises ``ClassroomError`` saying how to make it."""
    room = Classroom(folder)
    if not room.roster_file.exists():
        raise ClassroomError(
            f"{room.folder}: this isn't a class folder (it has no roster.csv). Make one with the verb give."
        )
    return room
