"""What a learner holds and what fades: results on the learner's own machine, and the rule that says when to come back.

The rule is a card box (the idea is Leitner's, "So lernt man lernen", 1972; quoted from memory). The days between are
our rule: 1, 3, 7, 14, 30. That spacing practice out beats massing it is well established (for a review: Cepeda and
others, Psychological Bulletin 132, 2006, 354-380; quoted from memory); no source fixes these very numbers.

- The first result of a thing puts it into box 1.
- Right when it is due: one box on. Right before it is due: it stays, because it proves nothing new yet.
- Wrong: back to box 1.
- A thing is due again after its box's days, counted from the result that put it there.
"""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Iterable
from dataclasses import asdict, dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any, Literal

from tankside.errors import TanksideError
from tankside.measures import own_folder

DAYS = (1, 3, 7, 14, 30)
"""Days until a thing of box 1, 2, 3, 4, 5 is due again."""
FILE_NAME = "progress.json"
MOST_RESULTS, MOST_BYTES = 100_000, 30_000_000
_MARK = "tankside progress"

State = Literal["holds", "missed", "fades", "mastered", "new"]


@dataclass(frozen=True, order=True)
class Result:
    """One result. ``at``: when (UTC, ISO 8601); ``item``: what was tried; ``good``: done right; ``note``: for people."""

    at: str
    item: str
    good: bool
    note: str = ""

    @property
    def id(self) -> str:
        """The same result has the same id on every machine, so that files can be put together."""
        text = "\x1f".join((self.at, self.item, str(self.good), self.note))
        return hashlib.sha256(text.encode()).hexdigest()[:16]


@dataclass(frozen=True)
class Standing:
    """Where a thing stands: its box (1 to 5; 0 before the first result), when it is due, and what that means now.

    ``new``: not tried yet; ``holds``: not due yet; ``missed``: not due yet, and wrong the last time; ``fades``: due;
    ``mastered``: in the last box and not due.
    """

    item: str
    box: int
    due: datetime | None
    state: State
    tries: int
    good: int


def standing(item: str, results: Iterable[Result], now: datetime) -> Standing:
    """The rule. Pure: the same results in any order, with any of them twice, give the same standing."""
    mine = sorted({r for r in results if r.item == item and _time(r.at) is not None})
    box, due = 0, None
    for result in mine:
        at = _time(result.at)
        assert at is not None
        if not result.good or due is None:
            box = 1
        elif at >= due:
            box = min(box + 1, len(DAYS))
        else:
            continue
        due = at + timedelta(days=DAYS[box - 1])
    state: State = "new"
    if due is not None:
        waiting: State = "mastered" if box == len(DAYS) else "holds" if mine[-1].good else "missed"
        state = "fades" if now >= due else waiting
    return Standing(item, box, due, state, len(mine), sum(r.good for r in mine))


def next_up(standings: Iterable[Standing], now: datetime) -> list[Standing]:
    """What to do next: what fades, the longest overdue for its box first; then what is new, in the order given."""
    rows = list(standings)

    def overdue(row: Standing) -> float:
        assert row.due is not None
        return (now - row.due) / timedelta(days=DAYS[row.box - 1])

    fading = sorted((r for r in rows if r.state == "fades"), key=lambda r: (-overdue(r), r.item))
    return [*fading, *(r for r in rows if r.state == "new")]


def merged(*parts: Iterable[Result]) -> list[Result]:
    """All results of all parts, each once, by time. Nothing is lost, and the order of the parts doesn't matter."""
    return sorted({result for part in parts for result in part})


class ProgressStore:
    """Results in one JSON file, replaced atomically; several notebooks may write to it by turns.

    A file that can't be read is kept under another name and said; it never stops anybody from learning.
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        self.trouble = ""

    def results(self) -> list[Result]:
        """Every result that is kept, by time."""
        try:
            if self.path.stat().st_size > MOST_BYTES:
                raise TanksideError(f"{self.path.name} is far too large to be a progress file.")
            return from_text(self.path.read_text(encoding="utf-8-sig", errors="replace"))
        except (FileNotFoundError, NotADirectoryError):
            return []
        except OSError as error:
            raise TanksideError(f"Can't read {self.path.name}: {error.strerror}.") from None
        except TanksideError as error:
            self.trouble = self._aside(error)
            return []

    def add(self, item: str, good: bool, note: str = "", now: datetime | None = None) -> Result:
        """Keep one result. ``TanksideError`` if it can't be written."""
        at = (now or datetime.now(UTC)).astimezone(UTC).isoformat(timespec="microseconds")
        result = Result(at, item, bool(good), note[:200])
        self._write(merged(self.results(), [result]))
        return result

    def take_in(self, text: str) -> int:
        """Put the results of an exported file together with those here; how many were new. Nothing is lost."""
        here, theirs = self.results(), from_text(text)
        together = merged(here, theirs)
        if len(together) > len(set(here)):
            self._write(together)
        return len(together) - len(set(here))

    def export(self) -> str:
        """Everything as the text of one file."""
        return to_text(self.results())

    def _write(self, results: list[Result]) -> None:
        spare = self.path.with_name(f"{self.path.name}.{os.getpid()}.new")
        try:
            self.path.parent.mkdir(parents=True, exist_ok=True)
            spare.write_text(to_text(results[-MOST_RESULTS:]), encoding="utf-8", newline="\n")
            spare.replace(self.path)
        except OSError as error:
            raise TanksideError(
                f"Your progress can't be kept in {self.path.parent} ({error.strerror}). "
                "Set TANKSIDE_HOME to a folder that you may write to."
            ) from None

    def _aside(self, error: TanksideError) -> str:
        k = 1
        while (aside := self.path.with_name(f"{self.path.stem}-before-{k}.json")).exists():
            k += 1
        try:
            self.path.replace(aside)
        except OSError:
            return str(error)
        return f"{error} It is kept as {aside.name}; your progress begins anew."


def to_text(results: Iterable[Result]) -> str:
    """Results as the text of a progress file."""
    rows = [asdict(result) for result in results]
    return json.dumps({_MARK: 1, "results": rows}, ensure_ascii=False, indent=0) + "\n"


def from_text(text: str) -> list[Result]:
    """The results in a progress file's text; ``TanksideError`` says what is wrong with it."""
    wrong = "This isn't a progress file of Tankside, or it was cut short. Choose the file that “Save a copy” wrote."
    if len(text) > MOST_BYTES:
        raise TanksideError(
            "This file is far too large to be a progress file. Choose the one that “Save a copy” wrote."
        )
    try:
        data = json.loads(text)
        rows = data["results"] if data[_MARK] == 1 else None
    except (ValueError, KeyError, TypeError, RecursionError):
        raise TanksideError(wrong) from None
    if not isinstance(rows, list):
        raise TanksideError(wrong)
    out = []
    for number, row in enumerate(rows[:MOST_RESULTS], 1):
        result = _row(row)
        if result is None:
            raise TanksideError(
                f"Result {number} of this progress file can't be read. Nothing of it was taken in."
            )
        out.append(result)
    return merged(out)


def _row(row: Any) -> Result | None:
    if not isinstance(row, dict):
        return None
    at, item, good, note = row.get("at"), row.get("item"), row.get("good"), row.get("note", "")
    if not (
        isinstance(at, str) and isinstance(item, str) and isinstance(good, bool) and isinstance(note, str)
    ):
        return None
    when = _time(at)
    if not 0 < len(item) <= 200 or len(note) > 200 or when is None:
        return None
    return Result(when.isoformat(timespec="microseconds"), item, good, note)


def _time(text: str) -> datetime | None:
    try:
        at = datetime.fromisoformat(text)
        return at.astimezone(UTC) if at.tzinfo and 2000 <= at.year < 2200 else None
    except (ValueError, OverflowError):
        return None


def my_store() -> ProgressStore:
    """The store in the learner's own folder (see ``tankside.measures.own_folder``)."""
    return ProgressStore(own_folder() / FILE_NAME)


def kept_here() -> ProgressStore | None:
    """``my_store()`` in a notebook; None elsewhere, where nobody is learning: a script, a test, the building of pages."""
    import sys

    shell = getattr(sys.modules.get("IPython"), "get_ipython", lambda: None)()
    return my_store() if shell is not None and getattr(shell, "kernel", None) is not None else None
