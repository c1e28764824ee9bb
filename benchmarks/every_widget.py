"""Every widget of every lesson, lab and page, pressed in a real JupyterLab: ``run.py bench every_widget [NAME ...]``.

``run.py bench every_widget 03-element-and-supply lab03 start``; without names all of them. Each notebook is run from the top.
Then whatever can be pressed, typed in, chosen or dragged in its outputs is used, round after round, until nothing new
turns up: lists option by option, sliders at both ends and in the middle, fields with an ordinary number, an absurd one,
letters and nothing. The order of a round is drawn from the notebook's name, so that hands do what no careful person
would. Shown are the widgets seen and used, those that never could be pressed, those that something lay over, and every
traceback and error of the browser's console. Exit code 1 if there is one of the last two kinds.
"""

from __future__ import annotations

import argparse
import json
import os
import random
import sys
import tempfile
import time
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import asdict, dataclass, field
from pathlib import Path
from typing import Any

from rich.console import Console
from rich.table import Table

ROOT = Path(__file__).resolve().parents[1]
LOOKS = Path(__file__).with_suffix(".js")
ROUNDS = 20
"""Rounds after which a notebook is left, whatever turns up still."""
SOON = 1500
"""ms that a press may take until nothing lies over it any more."""
TYPED = ("12", "-999999", "1e30", "abc", "", "12")
TEXTS = ("R2 ???", "x" * 300, "", "12 V")
STIRS = 5
"""Times that something is pressed once more when a round brought nothing new."""
OPENS = ("cover off", "make safe", "isolate")
LATE = ("leave", "start over", "begin again", "new call-out", "hand in", "take in")
"""What ends something is pressed after the rest of its round."""
QUIET = ("favicon", "404", "Autosave", "ResizeObserver", "Failed to load resource", "WebSocket", "wasm")
"""JupyterLab's own words in the console."""


@dataclass
class Walk:
    """One notebook: cells, widgets by name, what was never to be pressed (and why), what lay under something, errors."""

    notebook: str
    cells: int = 0
    seen: set[str] = field(default_factory=set)
    used: set[str] = field(default_factory=set)
    refused: dict[str, str] = field(default_factory=dict)
    covered: dict[str, str] = field(default_factory=dict)
    errors: list[str] = field(default_factory=list)
    acts: int = 0
    seconds: float = 0.0

    @property
    def left(self) -> list[str]:
        """Seen and never used."""
        return sorted(self.seen - self.used)


class Walker:
    """Uses whatever it finds on the open notebook's page."""

    def __init__(self, page: Any, name: str, most: float) -> None:
        self.page, self.found = page, Walk(name)
        self._draw, self._end = random.Random(name), time.monotonic() + most
        page.on("pageerror", lambda error: self.found.errors.append(f"page: {error}"[:300]))
        page.on("console", self._said)

    def _said(self, message: Any) -> None:
        if message.type == "error" and not any(word in message.text for word in QUIET):
            self.found.errors.append(f"console: {message.text}"[:300])

    def _idle(self) -> None:
        self.page.wait_for_timeout(60)
        with suppress(Exception):
            self.page.get_by_text("| Idle").wait_for(timeout=20_000)

    def run_cells(self) -> None:
        """From the top, one after another, as Shift+Enter does it."""
        from tests.jupyterlab import run_all_cells

        run_all_cells(self.page)
        last = self.page.locator(".jp-CodeCell").last.locator(".jp-InputPrompt")
        self.page.wait_for_timeout(1_000)
        self.page.get_by_text("| Idle").wait_for(timeout=180_000)
        with suppress(Exception):
            last.filter(has_text="]:").wait_for(timeout=5_000)
        self.page.wait_for_timeout(1_500)
        self.page.evaluate(LOOKS.read_text(encoding="utf-8"))
        self._lay_out()

    def _lay_out(self) -> None:
        """Scroll through, so that every cell has been laid out."""
        panel = "document.querySelector('.jp-WindowedPanel-outer')"
        y = 0
        while y < self.page.evaluate(f"{panel}.scrollHeight"):
            self.page.evaluate(f"{panel}.scrollTop = {y}")
            self.page.wait_for_timeout(80)
            y += 700
        self.found.cells = self.page.locator(".jp-Notebook .jp-Cell").count()

    def widgets(self) -> list[dict[str, Any]]:
        """All that there is now; those not seen before are noted."""
        now: list[dict[str, Any]] = self.page.evaluate("window.tsWidgets()")
        for one in now:
            self.found.seen.add(one["key"])
        return now

    def walk(self) -> Walk:
        """Round after round."""
        began = time.monotonic()
        self.run_cells()
        stirred = 0
        for _ in range(ROUNDS):
            fresh = [w for w in self.widgets() if w["key"] not in self.found.used]
            todo = [w for w in fresh if w["enabled"]]
            self._draw.shuffle(todo)
            todo.sort(key=lambda w: (w["kind"] != "summary", any(word in w["key"].lower() for word in LATE)))
            before = len(self.found.used)
            for one in todo:
                if time.monotonic() > self._end:
                    break
                if one["key"] not in self.found.used:
                    self._use(one)
            if time.monotonic() > self._end:
                break
            if len(self.found.used) == before:
                if stirred == STIRS:
                    break
                stirred += 1
                self._stir()
        for one in self.widgets():
            if one["key"] not in self.found.used and not one["enabled"]:
                self.found.refused[one["key"]] = one["why"]
        self._tracebacks()
        self.found.seconds = time.monotonic() - began
        return self.found

    def _stir(self) -> None:
        """Press again some of what was pressed before, covers first: what couldn't be reached may be, after it."""
        again = [
            w for w in self.widgets() if w["enabled"] and w["kind"] in ("button", "radio") and w["shown"]
        ]
        self._draw.shuffle(again)
        again.sort(key=lambda w: not any(word in w["key"].lower() for word in OPENS))
        first = sum(any(word in w["key"].lower() for word in OPENS) for w in again)
        for one in again[: first + 8]:
            self._use(one)

    def _use(self, one: dict[str, Any]) -> None:
        place = self.page.locator(f'[data-walk="{one["id"]}"]')
        try:
            if not place.count() or not place.is_enabled():
                return
            self._do(one, place)
        except Exception as error:
            text = str(error)
            if "intercepts pointer events" in text:
                line = next(row for row in text.splitlines() if "intercepts pointer events" in row)
                self.found.covered[one["key"]] = line.strip()[:160]
            return
        self.found.acts += 1
        self.found.used.add(one["key"])
        self.found.covered.pop(one["key"], None)
        self._idle()

    def _do(self, one: dict[str, Any], place: Any) -> None:
        kind = one["kind"]
        if kind == "summary":
            if not one["open"]:
                place.click(timeout=SOON)
        elif kind == "select":
            for value in one["options"]:
                place.select_option(value=value, timeout=SOON)
                self._idle()
        elif kind == "range":
            for value in (one["low"], one["high"], (one["low"] + one["high"]) / 2):
                place.fill(f"{value:g}", timeout=SOON)
                self._idle()
        elif kind in ("number", "text", "search", "textarea"):
            for text in TYPED if kind == "number" else TEXTS:
                with suppress(Exception):  # a number field refuses letters by itself
                    place.fill(text, timeout=SOON)
                    place.press("Tab", timeout=SOON)
                    self._idle()
        elif kind == "file":
            with tempfile.TemporaryDirectory() as folder:
                file = Path(folder) / "no-log.json"
                file.write_text("not what is wanted", encoding="utf-8")
                place.set_input_files(str(file))
        elif kind in ("radio", "checkbox"):
            with suppress(Exception):
                place.scroll_into_view_if_needed(timeout=SOON)
            place.click(timeout=SOON)
        else:
            place.click(timeout=SOON)

    def _tracebacks(self) -> None:
        """Whatever a learner would see as a traceback, anywhere on the page."""
        texts = self.page.evaluate(
            "[...document.querySelectorAll('.jp-OutputArea-output')].map((e) => e.textContent)"
            ".filter((t) => t.includes('Traceback') || t.includes('Error loading widget'))"
        )
        self.found.errors += [f"output: {text[-300:]}" for text in texts]


def notebooks(names: Sequence[str]) -> list[tuple[Path, str]]:
    """(folder, file) of every notebook that is named, or of all: lessons and pages, then labs."""
    course = [(ROOT / "course", file.name) for file in sorted((ROOT / "course").glob("*.ipynb"))]
    labs = [(folder, f"{folder.name}.ipynb") for folder in sorted((ROOT / "exercises").glob("lab*"))]
    known = {file.removesuffix(".ipynb"): (folder, file) for folder, file in course + labs}
    for name in names:
        if name not in known:
            raise SystemExit(f"No notebook is called {name!r}. There are: {', '.join(known)}.")
    return [known[name] for name in names] if names else list(known.values())


def show(out: Console, walks: Sequence[Walk]) -> int:
    """The table and what was found; 1 if there is an error or something that lay under something."""
    table = Table(
        "notebook", "cells", "seen", "used", "never to be pressed", "left", "covered", "errors", "s"
    )
    for walk in walks:
        left = set(walk.left) - set(walk.refused)
        numbers = (walk.cells, len(walk.seen), len(walk.used), len(set(walk.refused) - walk.used), len(left))
        table.add_row(
            walk.notebook, *map(str, numbers), str(len(walk.covered)), str(len(walk.errors)), f"{walk.seconds:.0f}"
        )  # fmt: skip
    out.print(table)
    for walk in walks:
        for text in dict.fromkeys(walk.errors):
            out.print(f"{walk.notebook}: {text}", markup=False, highlight=False)
        for key, why in walk.covered.items():
            out.print(f"{walk.notebook}: {key}: {why}", markup=False, highlight=False)
    return int(any(walk.errors or walk.covered for walk in walks))


def main(arguments: Sequence[str] | None = None) -> int:
    """Walk the notebooks; what was found of each is printed as soon as it is through."""
    from playwright.sync_api import sync_playwright

    from run import find_browser
    from tests.jupyterlab import JupyterLab

    parser = argparse.ArgumentParser("run.py bench every_widget", description=__doc__)
    parser.add_argument(
        "name", nargs="*", help="03-element-and-supply, lab03, start …; all, if none is named"
    )
    parser.add_argument("--most", type=float, default=600, help="seconds that a notebook may take")
    parser.add_argument("--into", type=Path, metavar="FILE", help="write what was found here, as JSON")
    chosen = parser.parse_args(arguments)
    wanted, out, walks = notebooks(chosen.name), Console(width=max(Console().width, 120)), []
    options = ["--disable-gpu", *(["--no-sandbox"] if hasattr(os, "geteuid") and os.geteuid() == 0 else [])]
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as folder, sync_playwright() as playwright:
        server = JupyterLab(Path(folder))
        try:
            server.wait()
            browser = playwright.chromium.launch(executable_path=find_browser(), args=options)
            for source, file in wanted:
                page = browser.new_page(viewport={"width": 1280, "height": 900})
                page.add_init_script("window.print = () => {}")
                walker = Walker(page, file.removesuffix(".ipynb"), chosen.most)
                page.goto(server(source, file))
                try:
                    walks.append(walker.walk())
                except Exception as error:
                    walker.found.errors.append(f"walk: {error}"[:400])
                    walks.append(walker.found)
                last = walks[-1]
                print(
                    f"{last.notebook}: {len(last.used)} of {len(last.seen)} used, {last.acts} acts, "
                    f"{len(last.errors)} errors, {last.seconds:.0f} s",
                    flush=True,
                )
                page.close()
                if chosen.into:
                    data = [asdict(w) | {"seen": sorted(w.seen), "used": sorted(w.used)} for w in walks]
                    chosen.into.write_text(json.dumps(data, indent=1), encoding="utf-8")
            browser.close()
        finally:
            server.stop()
    return show(out, walks)


if __name__ == "__main__":
    sys.exit(main())
