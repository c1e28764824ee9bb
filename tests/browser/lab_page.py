"""A lab in JupyterLab as a learner meets it: run cells, work the bench, type answers, save."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

SLOW = 40_000
"""ms that a JupyterLab on a busy machine may take."""


class LabPage:
    """One open lab notebook. Everything goes through what a learner can see and press."""

    def __init__(self, page: Any, shots: Path | None = None) -> None:
        self.page, self.shots = page, shots

    def open(self, url: str) -> None:
        """Open the notebook and wait until its first cell is there and its kernel answers."""
        self.page.goto(url)
        self.page.locator(".jp-Notebook .jp-Cell").first.wait_for(timeout=SLOW)
        self.wait_ready()

    def wait_ready(self) -> None:
        """Until the kernel answers: JupyterLab silently drops what is run before."""
        self.page.get_by_text("| Idle").wait_for(timeout=SLOW)

    def start(self) -> None:
        """As the notebook says: click the first cell to run, then Shift+Enter, until the bench has run.

        What is pressed before the kernel is connected is lost without a word; like anyone, press again.
        """
        first = self.page.locator(".jp-CodeCell").filter(has_text="open_lab").first
        for _ in range(20):
            first.locator(".cm-content").click()
            for _ in range(3):  # the order card, the text between, the bench
                self.page.keyboard.press("Shift+Enter")
            if first.locator(".jp-InputPrompt").inner_text() != "[ ]:":
                return
            self.page.wait_for_timeout(100)
        raise AssertionError("the notebook's first cell doesn't run")

    @property
    def bench(self) -> Any:
        """The bench on the page."""
        return self.page.locator(".ts-bench")

    def usable(self) -> None:
        """Wait until the bench shows a terminal that can be pressed."""
        self.bench.locator(".ts-stop-terminal").first.wait_for(timeout=SLOW)

    def terminal(self, name: str) -> Any:
        """A terminal's button."""
        return self.bench.get_by_role("button", name=name, exact=True)

    def press(self, name: str) -> None:
        """Press one of the bench's plainly labelled buttons, by the beginning of its label; wait for the log line."""
        before = self.lines()
        label = self.page.locator(".ts-what", has_text=re.compile(f"^{re.escape(name)}"))
        self.bench.locator(".ts-actions button").filter(has=label).click()
        self.wait_line_after(before)

    def choose(self, label: str, option: str, act: str) -> None:
        """Choose from a list of the bench, then press what does it."""
        self.bench.get_by_label(label).select_option(label=option)
        self.press(act)

    def function(self, name: str) -> None:
        """Set the meter."""
        before = self.lines()
        self.bench.get_by_role("radio", name=name).check()
        self.wait_line(before + 1)

    def probe(self, red: str, black: str) -> str:
        """Both leads by pointer; the reading as the face shows it. A lead that is there already stays."""
        moved = False
        for lead, name in (("red", red), ("black", black)):
            if self.terminal(f"{name}, {lead} lead is here").count():
                continue
            before, reads = self.lines(), bool(self.bench.locator(".ts-stop-terminal[data-lead]").count())
            self.bench.locator(".ts-meter").get_by_role("radio", name=lead.capitalize()).check()
            self.bench.locator(f"[data-stop='{self.stop_of(name)}']").click()
            if reads:
                self.wait_line_after(before)
            moved = True
        if not moved:
            self.press_meter("Read again")
        return self.reading()

    def stop_of(self, name: str) -> str:
        """The picture's own mark of a terminal, whichever leads are on it."""
        found = self.bench.locator(".ts-stop-terminal").filter(has_text=name)
        texts = [t.lstrip("RB\n").split(",")[0].strip() for t in found.all_inner_texts()]
        assert name in texts, (name, texts)
        return str(found.nth(texts.index(name)).get_attribute("data-stop"))

    def press_meter(self, name: str) -> None:
        """Press a key of the meter."""
        before = self.lines()
        self.bench.locator(".ts-meter").get_by_role("button", name=name).click()
        self.wait_line_after(before)

    def flip(self, name: str) -> None:
        """Press a switch in the wiring picture; ``name`` is the beginning of what it says of itself."""
        before = self.lines()
        self.bench.locator(".ts-stage").get_by_role("button", name=name).click()
        self.wait_line_after(before)

    def walk_to(self, name: str, lead: str) -> None:
        """By keyboard alone: Home, then arrows to the terminal, the lead's letter, Enter."""
        before = self.lines()
        self.bench.locator(".ts-stage button[tabindex='0']").focus()
        self.page.keyboard.press("Home")
        for _ in range(80):
            if self.page.evaluate("document.activeElement.textContent").startswith(name):
                break
            self.page.keyboard.press("ArrowRight")
        else:
            raise AssertionError(f"the arrow keys never reach {name}")
        self.page.keyboard.press(lead)
        self.page.keyboard.press("Enter")
        self.wait_line_after(before)

    def choose_starting(self, label: str, start: str, act: str) -> None:
        """As ``choose``, by the beginning of the option."""
        options = self.bench.get_by_label(label).locator("option").all_inner_texts()
        self.choose(label, next(o for o in options if o.startswith(start)), act)

    def last_line(self) -> int:
        """The number of the newest log line, as the bench shows it."""
        return self.lines() - 1

    def log_text(self) -> str:
        """The newest line of the log in words."""
        return str(self.bench.locator(".ts-line").last.inner_text())

    def see_bench(self) -> None:
        """Scroll to where the bench begins. JupyterLab takes cells off the page that are far from what one sees."""
        self.page.locator(".jp-Notebook .jp-Cell").first.hover()
        for _ in range(60):
            if self.bench.count():
                break
            self.page.mouse.wheel(0, -500 if self.below() else 500)
            self.page.wait_for_timeout(50)
        self.bench.first.evaluate("node => node.scrollIntoView({block: 'start'})")
        self.page.wait_for_timeout(300)

    def below(self) -> bool:
        """Is what one sees below the bench's cell?"""
        return bool(self.page.locator(".jp-CodeCell").filter(has_text="lab.choices()").count())

    def says(self, words: str) -> None:
        """Wait until the notebook shows these words."""
        self.page.get_by_text(words).first.wait_for(timeout=SLOW)

    def restart_kernel_and_run_all(self) -> None:
        """Kernel > Restart Kernel and Run All Cells, confirmed; waits until the old bench is gone."""
        old = self.bench.first.element_handle()
        self.page.get_by_role("menuitem", name="Kernel", exact=True).click()
        self.page.get_by_text("Restart Kernel and Run All Cells…", exact=True).click()
        self.page.get_by_role("button", name="Confirm Kernel Restart").click()
        self.page.wait_for_function("(node) => !node.isConnected", arg=old, timeout=SLOW)
        self.wait_ready()

    def reading(self) -> str:
        """What the meter's face says: digits and unit."""
        return f"{self.bench.locator('.ts-digits').inner_text()} {self.bench.locator('.ts-unit').first.inner_text()}"

    def lines(self) -> int:
        """How many log lines the bench shows."""
        return int(self.bench.locator(".ts-line").count())

    def wait_line(self, count: int) -> None:
        """Wait until the log has that many lines."""
        self.page.wait_for_function(
            "(n) => document.querySelectorAll('.ts-bench .ts-line').length >= n", arg=count, timeout=SLOW
        )

    def wait_line_after(self, before: int) -> None:
        """Wait for one more line, then until the bench is at rest."""
        self.wait_line(before + 1)
        self.page.wait_for_function("() => !document.querySelector('.ts-bench[data-busy]')", timeout=SLOW)

    def answer(self, label: str, text: str) -> None:
        """Type an answer after its label's equals sign."""
        line = self.find(".jp-CodeCell .cm-line", f"{label} =")
        line.click()
        self.page.keyboard.press("End")
        self.page.keyboard.type(f" {text}")

    def find(self, kind: str, words: str) -> Any:
        """Scroll down until there is something of this kind with these words."""
        found = self.page.locator(kind).filter(has_text=words).first
        for _ in range(40):
            if found.count():
                break
            self.page.locator(".jp-WindowedPanel-outer").evaluate("node => node.scrollBy(0, 400)")
            self.page.wait_for_timeout(100)
        found.scroll_into_view_if_needed()
        return found

    def run_cell_with(self, text: str) -> None:
        """Click into the cell that holds this text and press Shift+Enter."""
        self.find(".jp-CodeCell", text).locator(".cm-content").click()
        self.page.keyboard.press("Shift+Enter")

    def save(self) -> None:
        """Ctrl+S, and wait until the notebook's tab no longer shows it as changed."""
        self.page.locator(".jp-NotebookPanel-toolbar").click(position={"x": 600, "y": 10})
        self.page.keyboard.press("Control+s")
        self.page.locator(".lm-TabBar-tab.lm-mod-current:not(.jp-mod-dirty)").first.wait_for(timeout=SLOW)
        self.page.wait_for_function(
            "() => !document.querySelector('.jp-DirListing-item[data-is-dirty=true], .lm-DockPanel-tabBar .jp-mod-dirty')",
            timeout=SLOW,
        )

    def shot(self, name: str) -> None:
        """A screenshot for people to look at."""
        if self.shots:
            self.page.screenshot(path=self.shots / f"{name}.png")
