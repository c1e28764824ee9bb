"""A counter for those who teach or run a shop: one button that does their first useful thing, without a terminal.

It runs the instructor's own commands in a process of its own, because this side never imports that one.
"""

from __future__ import annotations

import csv
import logging
import os
import re
import shutil
import subprocess
import sys
import unicodedata
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import anywidget
import traitlets

from tankside.errors import TanksideError, UnknownNameError
from tankside.measures import own_folder
from tankside.widgets.frontend import module, styles

LOGGER = logging.getLogger(__name__)
UNCLEAR = "That did not arrive in one piece. Nothing was done. Try it again."
LAB = "lab03"
MOST_NAME, MOST_SECONDS = 60, 600
_COLOR = re.compile(r"\x1b\[[0-9;]*m")
KINDS: dict[str, dict[str, Any]] = {
    "instructor": {
        "title": "See a whole class, from hand-out to report",
        "words": "Twelve invented learners get a call-out each, hand in what such people hand in, and are marked. "
        "This takes about 20 seconds.",
        "button": "Show me an invented class",
        "busy": "Handing out, working, collecting, marking. About 20 seconds …",
        "field": "",
    },
    "shop": {
        "title": "Hand one person a signed call-out",
        "words": "Type who it is for. You get one file to give to them: the lab, and a sealed work order that only they have.",
        "button": "Make the call-out",
        "busy": "Drawing a heater, proving that its fault can be found, sealing the order …",
        "field": "Name of the person",
    },
}


def show_class(place: Path) -> dict[str, Any]:
    """Run the invented class and put its report into ``place``/demo-report; its summary in words."""
    folder = own_folder() / "demo"
    told = _run("tankside_autograder.demo", "--folder", str(folder))
    target = place / "demo-report"
    _replace(folder / "class" / "results", target)
    _replace(folder / "class" / "feedback", place / "demo-feedback")
    summary = re.search(r"^on the class list.*?(?=\n\n|\Z)", told, re.DOTALL | re.MULTILINE)
    first, *more = summary[0].splitlines() if summary else ["the class was marked"]
    return {
        "text": "\n".join([f"Done: {first}.", *more]),
        "files": [
            {"path": f"demo-report/{LAB}.html", "name": "The class report"},
            {"path": "demo-feedback/index.html", "name": "What each learner reads"},
        ],
    }


def make_call_out(name: str, place: Path) -> dict[str, Any]:
    """A signed call-out for one person; the file to give them lands in ``place``."""
    words = " ".join(name.split())
    plain = unicodedata.normalize("NFKD", words.casefold()).encode("ascii", "ignore").decode()  # ö becomes o
    who = re.sub(r"[^a-z0-9]+", "-", plain).strip("-")
    if not who or len(words) > MOST_NAME:
        raise TanksideError(
            f"Type the person's name with letters from a to z, accents allowed, at most {MOST_NAME} of them."
        )
    shop = own_folder() / "shop"
    people = {**_people(shop / "list.csv"), who: words}
    try:
        shop.mkdir(parents=True, exist_ok=True)
        with (shop / "list.csv").open("w", encoding="utf-8", newline="") as file:
            csv.writer(file).writerows([("id", "name"), *people.items()])
        _run("tankside_autograder", "give", str(shop / "class"), LAB, "--list", str(shop / "list.csv"))
        made = f"{who}-{LAB}.zip"
        shutil.copyfile(shop / "class" / "handed-out" / made, place / made)
    except OSError as error:
        raise TanksideError(
            f"The call-out can't be written ({error.strerror}). Make the folder writable, then try again."
        ) from None
    return {
        "text": f"Done. Give {words} the file {made}. It lies beside this page, in the list of files on the left. "
        "When it comes back, sit down together and look at what it shows.",
        "files": [{"path": made, "name": made}],
        "note": f"Keep the folder {shop}. It holds the key that shows whether an order is genuine.",
    }


def _people(path: Path) -> dict[str, str]:
    try:
        with path.open(encoding="utf-8", newline="") as file:
            return {row["id"]: row["name"] for row in csv.DictReader(file)}
    except (OSError, KeyError, csv.Error):
        return {}


def _replace(source: Path, target: Path) -> None:
    try:
        if target.exists():
            shutil.rmtree(target)
        shutil.copytree(source, target)
    except OSError as error:
        raise TanksideError(f"The report can't be put beside this page ({error.strerror}).") from None


def _run(program: str, *words: str) -> str:
    """Run one of the instructor's commands; what it said, or its last line as an error."""
    command: Sequence[str] = [sys.executable, "-X", "utf8", "-m", program, *words]
    # A notebook's kernel asks every program for colors. They would stand in the text as garbage; and no line is cut at 80.
    plain = {k: v for k, v in os.environ.items() if k not in ("FORCE_COLOR", "CLICOLOR", "CLICOLOR_FORCE")}
    try:
        done = subprocess.run(command, capture_output=True, text=True, encoding="utf-8", errors="replace", timeout=MOST_SECONDS, check=False, env=plain | {"NO_COLOR": "1", "COLUMNS": "1000"})  # fmt: skip
    except (OSError, subprocess.TimeoutExpired) as error:
        LOGGER.warning("%s failed: %s", program, error)
        raise TanksideError("That took too long or could not be started. Try it again.") from None
    if done.returncode:
        LOGGER.warning("%s said: %s", program, done.stderr[-2000:])
        last = [line.strip() for line in (done.stderr or done.stdout).splitlines() if line.strip()]
        raise TanksideError(f"That didn't work: {last[-1][:300] if last else 'nothing was said why'}")
    return _COLOR.sub("", done.stdout)


class FrontDesk(anywidget.AnyWidget):
    """The front end sends ``{"do": "go", "name"}`` and gets ``desk``: what is said, and the files that were made."""

    _esm = module("front_desk.js")
    _css = styles("base.css", "front_desk.css")

    desk = traitlets.Dict().tag(sync=True)

    def __init__(self, kind: str, place: Path) -> None:
        if kind not in KINDS:
            raise UnknownNameError("front desk", kind, list(KINDS))
        self.kind, self.place = kind, place
        self._said: dict[str, Any] = {"ok": True, "text": "", "files": [], "note": "", "n": 0}
        super().__init__(desk=self._view())
        self.on_msg(self._on_message)

    def _view(self, busy: bool = False) -> dict[str, Any]:
        return {**KINDS[self.kind], **self._said, "busy": KINDS[self.kind]["busy"] if busy else ""}

    def _on_message(self, _widget: object, content: Any, _buffers: object) -> None:
        self.receive(content)

    def receive(self, content: Any) -> dict[str, Any]:
        """Act on one message; never raises for a bad one."""
        said: dict[str, Any]
        try:
            said = {"ok": True, **self._act(content)}
        except TanksideError as error:
            said = {"ok": False, "text": str(error)}
        except Exception as error:  # a fault of ours must not look like the user's
            LOGGER.exception("the front desk failed")
            said = {
                "ok": False,
                "text": f"Tankside failed here ({type(error).__name__}). This is not your mistake.",
            }
        self._said = {"files": [], "note": "", **said, "n": self._said["n"] + 1}
        self.desk = self._view()
        return self.desk

    def _act(self, content: Any) -> dict[str, Any]:
        name = content.get("name", "") if isinstance(content, dict) else None
        if not isinstance(name, str) or content.get("do") != "go":
            raise TanksideError(UNCLEAR)
        self.desk = self._view(busy=True)
        return show_class(self.place) if self.kind == "instructor" else make_call_out(name, self.place)


def counter(kind: str) -> FrontDesk:
    """The counter for an ``"instructor"`` or a ``"shop"``; what it makes lies beside the notebook."""
    return FrontDesk(kind, Path.cwd())
