"""The progress page on a screen: what holds, what fades, what to do next; saved as one file and taken in again."""

from __future__ import annotations

import logging
import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any

import anywidget
import traitlets

from tankside.errors import TanksideError
from tankside.widgets.frontend import module, styles
from tankside.widgets.progress import DAYS, ProgressStore, Standing, next_up, standing

LOGGER = logging.getLogger(__name__)
UNCLEAR = "That did not arrive in one piece. Nothing was changed. Try it again."
WORDS = {
    "fades": "fades", "missed": "missed last time", "holds": "holds", "mastered": "mastered", "new": "not tried yet",
}  # fmt: skip
MOST_NEXT = 5
RULE = (
    "The first time you do a thing it goes into the first box. Right when it is due: one box on. Right before it is "
    "due: it stays, because nothing had time to fade. Wrong: back to the first box.",
    f"From box to box the time until it is due grows: {', '.join(str(d) for d in DAYS[:-1])} and {DAYS[-1]} days. "
    "The boxes are an old idea for learning with cards. That it helps to spread practice out is well shown; "
    "these numbers of days are our rule.",
    "A practice call-out counts as right if you pass it without the third hint. A question counts as right if your "
    "first choice is. All of it stays on this machine, in a folder of your own.",
)


@dataclass(frozen=True)
class Known:
    """A thing that can be learnt: its id in the results, its name, its group's name, and where it is done."""

    item: str
    name: str
    group: str
    where: str


def progress_view(known: Sequence[Known], store: ProgressStore, now: datetime) -> dict[str, Any]:
    """Everything that the page shows, as plain data. Results of things that nobody lists are shown as well."""
    results = store.results()
    every = list(known)
    listed = {thing.item for thing in every}
    every += [_unlisted(item) for item in sorted({r.item for r in results} - listed)]
    things = {thing.item: thing for thing in every}
    rows = {item: standing(item, results, now) for item in things}
    states: list[str] = [row.state for row in rows.values()]
    upcoming = next_up(rows.values(), now)[:MOST_NEXT]
    groups: dict[str, list[dict[str, Any]]] = {}
    for item, thing in things.items():
        shown = groups.setdefault(thing.group, [])
        if rows[item].tries:
            shown.append(_row(thing, rows[item], now))
    return {
        "counts": [[state, states.count(state), words] for state, words in WORDS.items()],
        "next": [
            {"name": things[r.item].name, "why": _why(r, now), "where": things[r.item].where}
            for r in upcoming
        ],
        "nothing": _nothing(rows.values(), now),
        "boxes": [_box(number, rows.values()) for number in range(1, len(DAYS) + 1)],
        "groups": [
            {"name": name, "items": items, "none": "Nothing here yet."} for name, items in groups.items()
        ],
        "rule": [*RULE, f"The file: {store.path.name} in the folder {store.path.parent}."],
    }


def _unlisted(item: str) -> Known:
    kind, _, rest = item.partition("/")
    words = rest.replace("/", ": ").replace("_", " ").replace("-", " ")
    group = "Questions" if kind == "question" else "Other"
    where = "The questions at the end of the lesson." if kind == "question" else ""
    return Known(item, words[:1].upper() + words[1:] or item, group, where)


def _row(thing: Known, row: Standing, now: datetime) -> dict[str, Any]:
    return {
        "name": thing.name,
        "box": row.box,
        "state": row.state,
        "words": WORDS[row.state],
        "due": _when(row, now),
        "right": f"{row.good} of {row.tries}",
    }


def _when(row: Standing, now: datetime) -> str:
    if row.due is None:
        return ""
    days = (row.due - now) / timedelta(days=1)
    if days <= 0:
        late = math.floor(-days)
        return "now" if late == 0 else f"for {late} {'day' if late == 1 else 'days'}"
    ahead = math.ceil(days)
    return "within a day" if ahead == 1 else f"in {ahead} days"


def _why(row: Standing, now: datetime) -> str:
    if row.state == "new":
        return "New: you haven't tried it yet."
    when = _when(row, now)
    return "It fades. It is due now." if when == "now" else f"It fades. It has been due {when}."


def _nothing(rows: Any, now: datetime) -> str:
    due = [row.due for row in rows if row.due is not None and row.due > now]
    if not due:
        return "Nothing is here yet."
    return f"Nothing fades just now. The next thing is due {min(due).astimezone().strftime('%d %B, %H:%M')}."


def _box(number: int, rows: Any) -> dict[str, Any]:
    inside = [row.state for row in rows if row.box == number]
    fading = inside.count("fades")
    days = DAYS[number - 1]
    words = f"{len(inside)} in it" + (f", {fading} fade" if fading > 1 else ", 1 fades" if fading else "")
    return {"name": f"{days} {'day' if days == 1 else 'days'}", "cards": sorted(inside), "words": words}


class ProgressPage(anywidget.AnyWidget):
    """The front end sends ``{"do": "look" | "save"}`` or ``{"do": "take in", "text"}`` and gets ``page`` and ``answer``."""

    _esm = module("progress_page.js")
    _css = styles("base.css", "progress_page.css")

    page = traitlets.Dict().tag(sync=True)
    answer = traitlets.Dict().tag(sync=True)

    def __init__(self, known: Sequence[Known], store: ProgressStore) -> None:
        self.known, self.store = tuple(known), store
        self._count = 0
        super().__init__(page=self._view(), answer={})
        self.answer = {"n": 0, "ok": not store.trouble, "text": store.trouble}
        self.on_msg(self._on_message)

    def _view(self) -> dict[str, Any]:
        return progress_view(self.known, self.store, datetime.now(UTC))

    def _on_message(self, _widget: object, content: Any, _buffers: object) -> None:
        self.receive(content)

    def receive(self, content: Any) -> dict[str, Any]:
        """Act on one message; never raises for a bad one."""
        try:
            answer = self._act(content)
        except TanksideError as error:
            answer = {"ok": False, "text": str(error)}
        except Exception as error:  # a fault of ours must not look like the learner's
            LOGGER.exception("the progress page failed")
            text = f"Tankside failed on the progress page ({type(error).__name__}). This is not your mistake. Nothing is lost."
            answer = {"ok": False, "text": text}
        self._count += 1
        with self.hold_sync():
            self.page = self._view()
            self.answer = {"n": self._count, **answer}
        return self.answer

    def _act(self, content: Any) -> dict[str, Any]:
        wish = content.get("do") if isinstance(content, dict) else None
        if wish == "look":
            return {"ok": True, "text": self.store.trouble}
        if wish == "save":
            name = f"tankside-progress-{datetime.now(UTC):%Y-%m-%d}.json"
            return {
                "ok": True,
                "text": f"Saved as {name} among your downloads.",
                "name": name,
                "copy": self.store.export(),
            }
        if wish == "take in" and isinstance(content.get("text"), str):
            new = self.store.take_in(content["text"])
            words = (
                "Nothing new was in it."
                if new == 0
                else f"{new} {'result' if new == 1 else 'results'} taken in."
            )
            return {"ok": True, "text": f"{words} Nothing of yours was lost."}
        return {"ok": False, "text": UNCLEAR}
