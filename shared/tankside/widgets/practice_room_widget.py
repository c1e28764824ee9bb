"""The practice room's counter on a screen: choose a topic, ask for hints, ask why not."""

from __future__ import annotations

import logging
from typing import Any, Protocol

import anywidget
import traitlets

from tankside.errors import TanksideError
from tankside.widgets.frontend import module, styles

LOGGER = logging.getLogger(__name__)
UNCLEAR = "That did not arrive in one piece. Nothing was done. Try it again."
LOOKING = "Looking for a call-out that can be proven. This can take a while the first time …"


class RoomLike(Protocol):
    """What the widget needs of a practice room. Each method raises ``TanksideError`` with one sentence."""

    def view(self) -> dict[str, Any]:
        """Everything that the screen shows."""

    def start(self, topic: str, level: int) -> None:
        """A new call-out."""

    def leave(self) -> None:
        """Back to the choice; what was done is kept."""

    def hint(self, level: int) -> None:
        """Show a hint."""

    def why_not(self, fault: str) -> None:
        """Show why a fault can't be it."""


class PracticeRoomWidget(anywidget.AnyWidget):
    """The front end sends ``{"id", "do": "start" | "next" | "leave" | "hint" | "why", ...}`` and gets ``room`` and ``answer``."""

    _esm = module("practice_room.js")
    _css = styles("base.css", "report_desk.css", "practice_room.css")

    room = traitlets.Dict().tag(sync=True)
    answer = traitlets.Dict().tag(sync=True)

    def __init__(self, room: RoomLike) -> None:
        super().__init__(room=room.view(), answer={})
        self.keeper = room
        self.on_msg(self._on_message)

    def _on_message(self, _widget: object, content: Any, _buffers: object) -> None:
        self.receive(content)

    def receive(self, content: Any) -> dict[str, Any]:
        """Act on one message; never raises for a bad one."""
        number = content.get("id") if isinstance(content, dict) else None
        key = number if isinstance(number, str) and len(number) <= 100 else ""
        try:
            text = self._act(content)
            answer = {"id": key, "ok": text == "", "text": text}
        except TanksideError as error:
            answer = {"id": key, "ok": False, "text": str(error)}
        except Exception as error:  # a fault of ours must not look like the learner's
            LOGGER.exception("the practice room failed")
            text = f"Tankside failed in the practice room ({type(error).__name__}). This is not your mistake. Your work is kept."
            answer = {"id": key, "ok": False, "text": text}
        with self.hold_sync():
            self.room = self.keeper.view()
            self.answer = answer
        return self.answer

    def _act(self, content: Any) -> str:
        if not isinstance(content, dict):
            return UNCLEAR
        wish, topic, fault, level = (content.get(key) for key in ("do", "topic", "fault", "level"))
        if isinstance(level, bool) or not isinstance(level, int):
            level = 0
        if wish == "start" and isinstance(topic, str):
            self.room = {**self.room, "busy": LOOKING}
            self.keeper.start(topic, level)
        elif wish == "leave":
            self.keeper.leave()
        elif wish == "hint":
            self.keeper.hint(level)
        elif wish == "why" and isinstance(fault, str):
            self.keeper.why_not(fault)
        else:
            return UNCLEAR
        return ""

    def refresh(self) -> None:
        """Show the room as it is now."""
        self.room = self.keeper.view()
