"""Practice without end: call-outs by topic and difficulty, with hints and a debrief, kept in the learner's own folder.

Every call-out has a folder of its own (order, log, report). ``room.json`` beside them says which one is open and
which were finished, so that neither a closed page nor a kernel that ended loses anything.
"""

from __future__ import annotations

import json
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from tankside.bench.log import LOG_NAME
from tankside.errors import TanksideError, WorkOrderError
from tankside.measures import own_folder
from tankside.practice import LEVELS, PRACTICE_KEY, TOPICS, topic_faults, topic_lab, topic_order
from tankside.report import fault_list
from tankside.widgets.desk_form import Form, WatchedBench
from tankside.widgets.progress import DAYS, FILE_NAME, ProgressStore, Standing, my_store, next_up, standing
from tankside.workorder import WorkOrder, read_order_file, write_order_file

ROOM_NAME, ORDER_FILE = "room.json", "practice-order.json"
TELLS_TOO_MUCH = 3
"""A hint of this level names the test itself: a call-out solved with it shows nothing that holds."""
_ITEM = "call-out/{}/{}"


class PracticeRoom:
    """The room: what is open, what was finished, what to do next. ``show()`` gives what a notebook displays.

    Parameters
    ----------
    folder : where call-outs are kept
    store : where results go
    """

    def __init__(self, folder: Path, store: ProgressStore) -> None:
        self.folder, self.store = folder, store
        self.open: dict[str, Any] | None = None
        self.numbers: dict[str, int] = {}
        self.finished: list[str] = []
        self.refused: set[str] = set()
        self.form: Form | None = None
        self.trouble = ""
        self._box: Any = None
        self._counter: Any = None
        self._read()

    # ---- what can be done

    def start(self, topic: str, level: int) -> None:
        """A new call-out on a topic; the one that is open is kept as it is. ``TanksideError`` says why there is none."""
        if topic not in TOPICS or level not in LEVELS:
            raise TanksideError("Choose a topic and how hard it may be, then start.")
        key = f"{topic}/{level}"
        number = self.numbers.get(key, 0) + 1
        try:
            order = topic_order(topic, level, number)
        except WorkOrderError:
            self.refused.add(topic)
            raise
        place = self.folder / order.order
        try:
            place.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise TanksideError(
                f"The call-out can't be kept in {self.folder} ({error.strerror}). "
                "Set TANKSIDE_HOME to a folder that you may write to."
            ) from None
        write_order_file(order, place / ORDER_FILE, PRACTICE_KEY)
        self.numbers[key] = number
        self.open = {
            "order": order.order,
            "topic": topic,
            "level": level,
            "number": number,
            "hints": [],
            "why": None,
        }
        self._write()
        self._open_form(order)
        self._show_bench()

    def leave(self) -> None:
        """Back to the choice of topics."""
        self.open, self.form = None, None
        self._write()
        self._show_bench()

    def hint(self, level: int) -> None:
        """A hint of level 1, 2 or 3 for what the log shows so far."""
        form, now = self._now()
        text = form.hint(level)
        now["hints"] = [*[h for h in now["hints"] if h["level"] != level], {"level": level, "text": text}]
        now["hints"].sort(key=lambda h: h["level"])
        self._write()

    def why_not(self, fault: str) -> None:
        """Why that fault can't be it."""
        form, now = self._now()
        now["why"] = {"fault": fault[:100], "text": form.why_not(fault)}
        self._write()

    def _now(self) -> tuple[Form, dict[str, Any]]:
        if self.form is None or self.open is None:
            raise TanksideError("No call-out is open. Start one first.")
        return self.form, self.open

    def _finish(self, done: dict[str, Any]) -> None:
        """The first finish of a call-out is its result."""
        _, now = self._now()
        if now["order"] in self.finished:
            return
        told = any(h["level"] >= TELLS_TOO_MUCH for h in now["hints"])
        note = (
            f"{now['order']}: {done['total']:g} of {done['out_of']:g}{', with the last hint' if told else ''}"
        )
        self.store.add(_ITEM.format(now["topic"], now["level"]), bool(done["passed"]) and not told, note)
        self.finished.append(now["order"])
        self._write()
        if self._counter is not None:
            self._counter.refresh()

    def _next(self) -> None:
        """The next call-out like the one that is open."""
        _, now = self._now()
        try:
            self.start(now["topic"], now["level"])
        except TanksideError as error:
            self.trouble = str(error)
        if self._counter is not None:
            self._counter.refresh()

    # ---- what a screen shows

    def view(self) -> dict[str, Any]:
        """The room as plain data."""
        moment = datetime.now(UTC)
        rows = {row.item: row for row in self.standings(moment)}
        first = next(iter(next_up(rows.values(), moment)), None)
        return {
            "topics": [self._topic(topic, rows) for topic in TOPICS],
            "levels": [{"level": level, "name": words[0]} for level, words in LEVELS.items()],
            "boxes": len(DAYS),
            "suggest": _suggestion(first) if first else None,
            "open": self._open_view(),
            "busy": "",
            "trouble": self.trouble or self.store.trouble,
        }

    def standings(self, now: datetime) -> list[Standing]:
        """Every practice topic at every level that can be had, easy ones first."""
        results = self.store.results()
        items = [_ITEM.format(topic, level) for level in LEVELS for topic in TOPICS if self._ready(topic)]
        return [standing(item, results, now) for item in items]

    def _ready(self, topic: str) -> bool:
        return bool(topic_faults(topic)) and topic not in self.refused

    def _topic(self, topic: str, rows: dict[str, Standing]) -> dict[str, Any]:
        ready, found = self._ready(topic), topic_faults(topic)
        levels = []
        for level in LEVELS:
            row = rows.get(_ITEM.format(topic, level))
            levels.append(
                {"level": level, "box": row.box if row else 0, "state": row.state if row else "new"}
            )
        many = len({fault for ids in found.values() for fault in ids})
        return {
            "id": topic,
            "name": TOPICS[topic].name,
            "about": TOPICS[topic].about,
            "ready": ready,
            "size": f"{many} faults on {len(found)} heaters" if ready else "No call-out can be proven yet.",
            "levels": levels,
        }

    def _open_view(self) -> dict[str, Any] | None:
        if self.open is None or self.form is None:
            return None
        return {
            **self.open,
            "topic_name": TOPICS[self.open["topic"]].name,
            "level_name": LEVELS[self.open["level"]][0],
            "finished": self.open["order"] in self.finished,
            "faults": [{"text": name, "note": place} for name, place, _ in fault_list(self.form.lab, self.form.order.case().model)],
        }

    def show(self) -> Any:
        """What a notebook displays: the counter, and below it the bench and the desk of the open call-out."""
        from ipywidgets import VBox

        from tankside.widgets.practice_room_widget import PracticeRoomWidget

        self._counter = PracticeRoomWidget(self)
        self._box = VBox([self._counter])
        self._show_bench()
        return self._box

    def _ipython_display_(self) -> None:
        from IPython.display import display

        display(self.show())  # type: ignore[no-untyped-call]

    def _show_bench(self) -> None:
        if self._box is None:
            return
        old = self._box.children[1:]
        if self.form is None:
            self._box.children = (self._counter,)
        else:
            from tankside.widgets.bench_widget import show_bench
            from tankside.widgets.desk_widget import show_desk

            self._box.children = (self._counter, show_bench(self.form.bench()), show_desk(self.form))
        for widget in old:
            widget.close()

    # ---- files

    def _open_form(self, order: WorkOrder) -> None:
        assert self.open is not None
        place = self.folder / order.order
        bench = WatchedBench(order, place / LOG_NAME)
        lab = topic_lab(self.open["topic"], self.open["level"], order.model, self.open["number"])
        self.form = Form(lab, order, place, place / ORDER_FILE, lambda: bench)
        self.form.on_finish, self.form.on_next = self._finish, self._next
        self.trouble = ""

    def _read(self) -> None:
        """Take up what was kept; what can't be used any more is left where it lies, and said."""
        try:
            kept = json.loads((self.folder / ROOM_NAME).read_text(encoding="utf-8"))
            self.numbers = {str(k): int(v) for k, v in kept["numbers"].items() if 0 < int(v) < 999}
            self.finished = [str(one) for one in kept["finished"]]
            now = kept["open"]
        except FileNotFoundError:
            return
        except (OSError, ValueError, KeyError, TypeError, AttributeError, RecursionError):
            self.trouble = (
                "What was kept of this practice room can't be read. The call-outs themselves are still there."
            )
            self.numbers = self._numbers_on_disk()
            return
        try:
            if now is None or now["topic"] not in TOPICS or now["level"] not in LEVELS:
                return
            order = read_order_file(self.folder / str(now["order"]) / ORDER_FILE)
            self.open = {**now, "hints": list(now["hints"]), "number": int(now["number"])}
            self._open_form(order)
        except (TanksideError, KeyError, TypeError, ValueError) as error:
            self.open = self.form = None
            why = str(error) if isinstance(error, TanksideError) else "It can't be read."
            self.trouble = f"The call-out that was open can't be taken up again. {why} Start another."

    def _numbers_on_disk(self) -> dict[str, int]:
        """The highest number of each kind of call-out that has a folder, so that none is written over."""
        out: dict[str, int] = {}
        for place in self.folder.glob("PRACTICE-*"):
            words = place.name.split("-")
            if len(words) == 4 and words[3].isdigit():
                key = f"{words[1].lower()}/{words[2]}"
                out[key] = max(out.get(key, 0), int(words[3]))
        return out

    def _write(self) -> None:
        target = self.folder / ROOM_NAME
        spare = target.with_suffix(".new")
        kept = {"open": self.open, "numbers": self.numbers, "finished": self.finished}
        try:
            self.folder.mkdir(parents=True, exist_ok=True)
            spare.write_text(
                json.dumps(kept, ensure_ascii=False, indent=1) + "\n", encoding="utf-8", newline="\n"
            )
            spare.replace(target)
        except OSError as error:
            raise TanksideError(
                f"The practice room can't be kept in {self.folder} ({error.strerror}). "
                "Set TANKSIDE_HOME to a folder that you may write to."
            ) from None


def _suggestion(row: Standing) -> dict[str, Any]:
    topic, level = row.item.split("/")[1:]
    fades = row.state == "fades"
    why = "It fades: it is time to do it again." if fades else "You haven't tried this one yet."
    return {
        "topic": topic,
        "level": int(level),
        "why": why,
        "name": f"{TOPICS[topic].name}, {LEVELS[int(level)][0].lower()}",
    }


def practice_room(folder: str | Path | None = None) -> PracticeRoom:
    """The practice room in a notebook. What you do there is kept in your own folder (or in ``folder``)."""
    if folder is None:
        return PracticeRoom(own_folder() / "practice", my_store())
    return PracticeRoom(Path(folder), ProgressStore(Path(folder) / FILE_NAME))


def progress(folder: str | Path | None = None) -> Any:
    """The progress page in a notebook; ``folder`` as in ``practice_room``."""
    from tankside.widgets.progress_page import Known, ProgressPage

    store = my_store() if folder is None else ProgressStore(Path(folder) / FILE_NAME)
    known = [
        Known(
            _ITEM.format(topic, level),
            f"{TOPICS[topic].name}, {LEVELS[level][0].lower()}",
            "Practice call-outs",
            "In the practice room.",
        )
        for level in LEVELS
        for topic in TOPICS
        if topic_faults(topic)
    ]
    return ProgressPage(known, store)
