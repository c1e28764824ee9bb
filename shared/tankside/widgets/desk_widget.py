"""The call-out desk on a screen: the work order, the log, the report form, handing in."""

from __future__ import annotations

import logging
from dataclasses import asdict
from typing import Any
from weakref import WeakSet

import anywidget
import traitlets

from tankside.errors import TanksideError
from tankside.widgets.desk_form import Form, join_measure
from tankside.widgets.frontend import module, styles

LOGGER = logging.getLogger(__name__)
RETIRED = "This is an older picture of the desk. The lab has been opened again: use the newest one."
UNCLEAR = "That did not reach the desk in one piece. Nothing was changed. Try it again."
SAVED = "Saved."

_live: WeakSet[DeskWidget] = WeakSet()


class DeskWidget(anywidget.AnyWidget):
    """One desk on a screen.

    The front end sends ``{"id", "do", ...}``: ``answer`` (``label``, ``text`` or ``number`` and ``unit`` or ``lines``),
    ``notes`` (``text``), ``check``, ``hand in`` (``anyway``), ``finish``. It gets one update of ``state`` and
    ``answer`` back: ``{"id", "ok", "text", ...}``. What can't be done comes back as a sentence. The widget keeps
    nothing of its own.
    """

    _esm = module("report_desk.js")
    _css = styles("base.css", "report_desk.css")

    card = traitlets.Dict().tag(sync=True)
    state = traitlets.Dict().tag(sync=True)
    answer = traitlets.Dict().tag(sync=True)

    def __init__(self, form: Form) -> None:
        super().__init__(card=form.card(), state=form.state(), answer={})
        self.form = form
        self.retired = False
        form.screens.add(self)
        _live.add(self)
        self.on_msg(self._on_message)

    def _on_message(self, _widget: object, content: Any, _buffers: object) -> None:
        self.receive(content)

    def receive(self, content: Any) -> dict[str, Any]:
        """Act on one message and send one update. Returns the answer; never raises for a bad message."""
        number = content.get("id") if isinstance(content, dict) else None
        key = number if isinstance(number, str) and len(number) <= 100 else ""
        if self.retired:
            answer: dict[str, Any] = {"ok": False, "text": RETIRED}
        elif not isinstance(content, dict):
            answer = {"ok": False, "text": UNCLEAR}
        else:
            try:
                answer = self._act(content)
            except TanksideError as error:
                answer = {"ok": False, "text": str(error)}
            except Exception as error:  # a fault of ours must not look like the learner's
                LOGGER.exception("the desk failed")
                answer = {"ok": False, "text": _ours(error)}
        try:
            state = None if self.retired else self.form.state()
        except Exception as error:  # without an answer the screen would wait for ever
            LOGGER.exception("the desk can't be shown")
            state, answer = None, {"ok": False, "text": _ours(error)}
        with self.hold_sync():
            if state is not None:
                self.state = state
            self.answer = {"id": key, **answer}
        if answer["ok"] and isinstance(content, dict) and content.get("do") == "next" and self.form.on_next:
            self.form.on_next()  # last, because it takes this screen away
        return self.answer

    def _act(self, content: dict[str, Any]) -> dict[str, Any]:
        wish = content.get("do")
        if wish == "answer":
            label, text = content.get("label"), _text_of(content)
            if not isinstance(label, str) or text is None:
                return {"ok": False, "text": UNCLEAR}
            self.form.write(label, text)
            return {"ok": True, "text": SAVED}
        if wish == "notes" and isinstance(content.get("text"), str):
            self.form.write_notes(content["text"])
            return {"ok": True, "text": SAVED}
        if wish == "check":
            return {"ok": True, "text": "", "check": self.form.check()}
        if wish == "hand in":
            wrong = self.form.check()
            if wrong and content.get("anyway") is not True:
                return {"ok": True, "text": "", "check": wrong}
            return {"ok": True, "text": "", "package": asdict(self.form.hand_in())}
        if wish == "finish":
            wrong = self.form.check()
            if wrong and content.get("anyway") is not True:
                return {"ok": True, "text": "", "check": wrong}
            return {"ok": True, "text": "", "finished": self.form.finish()}
        if wish == "next" and self.form.on_next:
            return {"ok": True, "text": "Looking for a call-out that can be proven …"}
        return {"ok": False, "text": UNCLEAR}

    def refresh(self) -> None:
        """Show the desk as it is now, after something else has worked on it."""
        if not self.retired:
            self.state = self.form.state()

    def retire(self) -> None:
        """From now on this picture only says that a newer one exists."""
        self.retired = True
        self.form.screens.discard(self)
        self.answer = {"id": "", "ok": False, "text": RETIRED}


def show_desk(form: Form) -> DeskWidget:
    """A widget for the desk. Older ones on the same folder, opened by another ``open_lab``, are retired."""
    for other in list(_live):
        if other.form is not form and other.form.folder.resolve() == form.folder.resolve():
            other.retire()
    return DeskWidget(form)


def _text_of(content: dict[str, Any]) -> str | None:
    """The text of an answer, whichever of its three shapes a message has; None for none of them."""
    lines = content.get("lines")
    if isinstance(lines, list):
        whole = all(isinstance(n, int) and not isinstance(n, bool) and 0 <= n < 10**6 for n in lines)
        return ", ".join(str(n) for n in sorted(set(lines))[:200]) if whole else None
    number, unit = content.get("number"), content.get("unit")
    if isinstance(number, str) and isinstance(unit, str):
        return join_measure(number, unit)
    text = content.get("text")
    return text if isinstance(text, str) else None


def _ours(error: Exception) -> str:
    return (
        f"Tankside failed at the desk ({type(error).__name__}). This is not your mistake. What you had written is "
        "safe. Run the notebook's cells again; if it happens again, show your instructor."
    )
