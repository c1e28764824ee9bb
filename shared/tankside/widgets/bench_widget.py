"""The bench in a notebook: a model that passes one action at a time to the bench and shows what came of it."""

from __future__ import annotations

import logging
from collections import OrderedDict
from typing import Any, Protocol
from weakref import WeakSet

import anywidget
import traitlets

from tankside.errors import TanksideError
from tankside.widgets.careless import heed
from tankside.widgets.costs import COSTS
from tankside.widgets.difference import step as what_changed
from tankside.widgets.frontend import module, styles

LOGGER = logging.getLogger(__name__)
REMEMBERED = 64
"""How many answers are kept, so that a message that arrives twice is done once."""

BEHIND = "The bench has moved on since this was drawn. It is up to date now. Look, then do it again."
RETIRED = "This is an older picture of the bench. It has been opened again: use the newest one."
UNCLEAR = "That did not reach the bench in one piece. Nothing was done. Try it again."


class BenchLike(Protocol):
    """What the widget needs of a bench."""

    def do(self, verb: str, **arguments: Any) -> Any:
        """Carry out one action; a ``BenchError`` says why not."""

    def view(self) -> dict[str, Any]:
        """Everything that a screen shows."""


_live: WeakSet[BenchWidget] = WeakSet()


class BenchWidget(anywidget.AnyWidget):
    """One bench on a screen.

    The front end sends one message for each action: ``{"id": str, "verb": str, "args": dict, "seen": int}``,
    where ``seen`` is the number of the newest log line that it shows. It gets one update back, which holds
    ``step``: what has changed in the view since the stamp ``base`` (see ``difference.step``), and ``answer``:
    ``{"id", "ok": bool, "text": str}``, with ``heed`` where a practice bench has something to say of a careless act.
    The whole ``view`` (see ``Bench.view``) is state of the widget, for a page that opens or reloads; it is sent only
    when it is asked for (``{"id", "whole": True}``) or when the front end is behind. What can't be done comes back as
    a sentence. The widget keeps nothing of its own: closing it loses nothing.
    """

    _esm = module("bench.js")
    _css = styles("base.css", "bench.css", "picture.css", "heater.css")

    view = traitlets.Dict().tag(sync=True)
    step = traitlets.Dict().tag(sync=True)
    answer = traitlets.Dict().tag(sync=True)

    def __init__(self, bench: BenchLike) -> None:
        self._whole = True
        super().__init__(view={**_screen(bench), "stamp": 0}, step={}, answer={})
        self._whole = False
        self.bench = bench
        self.retired = False
        self._answers: OrderedDict[str, dict[str, Any]] = OrderedDict()
        self.on_msg(self._on_message)
        _live.add(self)

    def _on_message(self, _widget: object, content: Any, _buffers: object) -> None:
        self.receive(content)

    def receive(self, content: Any) -> dict[str, Any]:
        """Act on one message and send one update. Returns the answer; never raises for a bad message."""
        number = content.get("id") if isinstance(content, dict) else None
        key = number if isinstance(number, str) and 0 < len(number) <= 100 else ""
        if isinstance(content, dict) and content.get("whole") is True:
            answer = {"id": key, "ok": True, "text": ""}
            self._update(answer, whole=True)
            return answer
        if key in self._answers:
            answer = dict(self._answers[key])
        else:
            answer = {"id": key, **self._act(content)}
            if key:
                self._answers[key] = answer
                while len(self._answers) > REMEMBERED:
                    self._answers.popitem(last=False)
        self._update(answer, whole=answer["text"] == BEHIND)
        if answer["ok"]:
            for other in list(_live):
                if other is not self and other.bench is self.bench:
                    other.refresh()
        return answer

    def _act(self, content: Any) -> dict[str, Any]:
        if self.retired:
            return {"ok": False, "text": RETIRED}
        if not isinstance(content, dict):
            return {"ok": False, "text": UNCLEAR}
        verb, args, seen = content.get("verb"), content.get("args", {}), content.get("seen")
        named = isinstance(args, dict) and all(isinstance(key, str) for key in args)
        if not isinstance(verb, str) or not named or "verb" in args:
            return {"ok": False, "text": UNCLEAR}
        if isinstance(seen, int) and seen != _newest(self.bench):
            return {"ok": False, "text": BEHIND}
        try:
            outcome = self.bench.do(verb, **args)
        except TanksideError as error:
            return {"ok": False, "text": str(error)}
        except Exception as error:  # a fault of ours must not look like the learner's
            LOGGER.exception("bench action %r failed", verb)
            return {"ok": False, "text": _ours(verb, error)}
        told = heed(self.bench, outcome)
        return {"ok": True, "text": str(outcome.text), **({"heed": told} if told else {})}

    def _should_send_property(self, key: str, value: Any) -> bool:
        """The whole view stays here unless it is asked for; its changes travel as ``step``."""
        return (key != "view" or self._whole) and bool(super()._should_send_property(key, value))

    def _update(self, answer: dict[str, Any], whole: bool = False) -> None:
        with self.hold_sync():
            if not self.retired:
                self._show(whole)
            self.answer = answer

    def _show(self, whole: bool = False) -> None:
        """Take up the bench as it is now, and send what has changed; all of it if ``whole``."""
        old, base = {**self.view}, self.view["stamp"]
        del old["stamp"]
        new = _screen(self.bench)
        found = what_changed(old, new)
        self._whole = whole or found is None
        try:
            self.view = {**new, "stamp": base + 1}
            if not self._whole:
                self.step = {"base": base, "stamp": base + 1, **(found or {})}
        finally:
            self._whole = False

    def refresh(self) -> None:
        """Show the bench as it is now, after something else has worked on it."""
        if not self.retired:
            self._show()

    def retire(self) -> None:
        """From now on this picture only says that a newer one exists."""
        self.retired = True
        self.answer = {"id": "", "ok": False, "text": RETIRED}


def _screen(bench: BenchLike) -> dict[str, Any]:
    """The bench's view, and the minutes of the actions that it names no price for."""
    view = bench.view()
    return {**view, "costs": {**COSTS, **view.get("costs", {})}}


def _newest(bench: BenchLike) -> int:
    """The number of the newest log line; a bench's own lines, where it has them, are quicker than its view."""
    log = getattr(bench, "entries", None) or bench.view().get("log") or [{"seq": -1}]
    return int(log[-1]["seq"])


def _ours(verb: str, error: Exception) -> str:
    return (
        f"Tankside failed while doing “{verb}” ({type(error).__name__}). This is not your mistake. "
        "Your log is safe. Run the notebook's cells again; if it happens again, show your instructor."
    )


def show_bench(bench: BenchLike) -> BenchWidget:
    """A widget for the bench. Older widgets on the same log file, opened as another bench, are retired."""
    path = _log_path(bench)
    for other in list(_live):
        if other.bench is not bench and path is not None and _log_path(other.bench) == path:
            other.retire()
    return BenchWidget(bench)


def _log_path(bench: object) -> object:
    file = getattr(bench, "_file", None)
    path = getattr(file, "path", None)
    return path.resolve() if path is not None else None
