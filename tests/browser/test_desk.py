"""A whole call-out in JupyterLab without a pointer: bench, report, hand-in, with the kernel restarted in the middle."""

from __future__ import annotations

import json
import zipfile
from pathlib import Path
from typing import Any

import nbformat
import pytest
from nbformat.v4 import new_code_cell, new_markdown_cell, new_notebook

from tankside.report import LABELS
from tankside.workorder import ORDER_NAME, write_order_file
from tests.browser.lab_page import SLOW
from tests.widgets.benches import order

pytestmark = pytest.mark.browser


class Keys:
    """The keyboard, and what the focus is on."""

    def __init__(self, page: Any) -> None:
        self.page = page
        self.press, self.type = page.keyboard.press, page.keyboard.type

    def at(self, test: str) -> bool:
        """Is the focus on an element ``e`` of which this JavaScript holds?"""
        return bool(
            self.page.evaluate(f"(() => {{ const e = document.activeElement; return Boolean({test}); }})()")
        )

    def to(self, test: str, key: str = "Tab", most: int = 150) -> None:
        """Press Tab (or another key) until the focus is there."""
        for _ in range(most):
            self.press(key)
            if self.at(test):
                return
        raise AssertionError(f"{key} never reaches {test}")

    def act(self, words: str) -> None:
        """An action of the bench, by the beginning of its label; wait for its log line."""
        before = self.lines()
        self.to(f"e.matches('.ts-actions button') && e.textContent.trim().startsWith({json.dumps(words)})")
        self.press("Enter")
        self.wait_lines(before + 1)

    def walk_to(self, terminal: str, lead: str) -> None:
        """In the wiring: Home, arrows to the terminal, the lead's letter, Enter."""
        self.press("Home")
        wanted = json.dumps(terminal)
        if not self.at(f"e.textContent.trim().startsWith({wanted})"):
            self.to(f"e.textContent.trim().startsWith({wanted})", "ArrowRight")
        self.press(lead)
        self.press("Enter")

    def lines(self) -> int:
        return int(self.page.locator(".ts-desk .ts-cite-line").count())

    def wait_lines(self, number: int) -> None:
        self.page.wait_for_function(
            "(n) => document.querySelectorAll('.ts-desk .ts-cite-line').length >= n && !document.querySelector('.ts-bench[data-busy]')",
            arg=number,
            timeout=SLOW,
        )

    def run_all(self) -> None:
        """Shift+Enter from the first cell on."""
        self.press("Escape")
        for _ in range(5):
            self.press("k")
        for _ in range(3):
            self.press("Shift+Enter")
        self.page.locator(".ts-desk .ts-cite-line").first.wait_for(timeout=SLOW)
        self.page.locator(".ts-bench .ts-stop-terminal").first.wait_for(timeout=SLOW)


def notebook(folder: Path) -> None:
    folder.mkdir()
    write_order_file(order(), folder / ORDER_NAME, "key")
    sources = [
        'from tankside import open_lab\nlab = open_lab("lab03")\nlab.card()',
        "lab.bench()",
        "lab.desk()",
    ]
    cells = [new_code_cell(source, id=f"cell-{i}") for i, source in enumerate(sources)]
    cells.append(new_markdown_cell("The end.", id="end"))
    kernel = {"name": "python3", "display_name": "Python 3", "language": "python"}
    nbformat.write(new_notebook(cells=cells, metadata={"kernelspec": kernel}), folder / "lab03.ipynb")


def test_a_call_out_by_keyboard_alone(page: Any, jupyterlab: Any, tmp_path: Path) -> None:
    """From the first cell to the file to send: is every step open to the keyboard, and does a restart lose nothing?"""
    notebook(tmp_path / "desk")
    url = jupyterlab(tmp_path / "desk", "lab03.ipynb")
    page.goto(url)
    page.get_by_text("| Idle").wait_for(timeout=SLOW)
    page.locator(".jp-Notebook .jp-Cell").first.wait_for(timeout=SLOW)
    keys = Keys(page)
    keys.run_all()
    # From the notebook's end back into the bench.
    keys.to("e.matches('.ts-bench .ts-stage button')", "Shift+Tab")
    keys.walk_to("supply outlet hot", "r")
    keys.walk_to("supply outlet neutral", "b")
    keys.wait_lines(2)
    keys.act("Prove the meter")
    keys.act("Look at the switches")
    # Into the report: two lines cited, a number that is none, the diagnosis.
    keys.to("e.matches('.ts-cite-lines')")
    keys.press("Home")
    keys.press("ArrowDown")
    keys.press("Space")
    keys.press("ArrowDown")
    keys.press("Space")
    keys.to("e.matches('[data-label] input')")
    keys.type("abc")
    keys.press("Tab")
    keys.press("ArrowDown")
    keys.to("e.matches('[role=combobox]') && e.closest('[data-label=diagnosis]')")
    keys.type("elem open")
    keys.press("Enter")
    page.wait_for_function("document.querySelector('.ts-desk-say').textContent === 'Saved.'")
    page.screenshot(path=tmp_path / "half.png")

    # Restarted in the middle, by keyboard: 0 twice, Enter. Then the cells again.
    log = (url.folder / "bench-log.jsonl").read_text(encoding="utf-8")
    keys.to("e.matches('.jp-Cell')", "Shift+Tab")
    keys.press("0")
    keys.press("0")
    page.get_by_role("button", name="Confirm Kernel Restart").wait_for(timeout=SLOW)
    keys.press("Enter")
    page.get_by_text("| Idle").wait_for(timeout=SLOW)
    keys.run_all()
    assert (url.folder / "bench-log.jsonl").read_text(encoding="utf-8") == log
    bad = page.locator(".ts-desk [data-label='element resistance by the data plate']")
    assert bad.locator("input").input_value() == "abc"
    assert "Can't read 'abc ohm'" in (bad.text_content() or "")

    keys.to("e.matches('[data-label] input') && e.value === 'abc'", "Shift+Tab")
    keys.press("Control+a")
    keys.type("10")
    keys.to("e.matches('[role=combobox]') && e.closest('[data-label=remedy]')")
    keys.type("replace the element")
    keys.press("Enter")
    keys.to("e.matches('[data-label] input[type=checkbox]')", "Tab")
    keys.press("Tab")
    keys.press("Space")
    keys.to("e.textContent.trim() === 'Hand in'")
    keys.press("Enter")
    page.get_by_text("2 things are missing or unclear").wait_for(timeout=SLOW)
    keys.to("e.textContent.trim() === 'Hand in all the same'")
    keys.press("Enter")
    page.get_by_text("Ready to send").wait_for(timeout=SLOW)
    page.screenshot(path=tmp_path / "handed-in.png")

    (made,) = url.folder.glob("handin-lab03-*.zip")
    with zipfile.ZipFile(made) as archive:
        assert {name.rpartition("/")[2] for name in archive.namelist()} == {
            ORDER_NAME, "bench-log.jsonl", "service-report.json", "lab03.ipynb",
        }  # fmt: skip
        answers = json.loads(archive.read("lab03/service-report.json"))["answers"]
    assert answers == {
        "element resistance by the data plate": "10 ohm",
        "diagnosis": "element burnt open",
        LABELS["evidence"]: "1, 2",
        "remedy": "Replace the element",
        LABELS["condition"]: "locked out and reported",
    }
