"""How long from opening a lab's notebook to a bench that can be used? In a real JupyterLab, in Chromium.

``python benchmarks/notebook_open.py [--lab lab03] [--times 5]`` starts one JupyterLab, then opens a copy of the released
lab in it again and again, each time in a browser that remembers nothing and with a kernel of its own. The clock starts
at the double click on the notebook. The cells down to the bench are run as soon as JupyterLab takes them, and the clock
stops when a terminal of the bench can be pressed. Exit code 1 if the median is over the budget.
"""

from __future__ import annotations

import argparse
import os
import statistics
import sys
import tempfile
import time
from dataclasses import dataclass
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT))  # run as a script, the folder of the tests isn't on the path

from run import find_browser  # noqa: E402
from tests.browser.lab_page import SLOW, LabPage  # noqa: E402
from tests.jupyterlab import JupyterLab  # noqa: E402

BUDGET = 6.0
"""s from opening the notebook to a usable bench."""


@dataclass(frozen=True)
class Opening:
    """Seconds: JupyterLab's own loading before; then from the double click until cells show, the kernel answers, the bench
    can be used."""

    jupyterlab: float
    shown: float
    ready: float
    usable: float


def open_once(browser: Any, url: str, notebook: str) -> Opening:
    """Load JupyterLab on the lab's folder in a fresh browser context, open the notebook, wait for its bench."""
    context = browser.new_context(viewport={"width": 1280, "height": 800})
    page = context.new_page()
    lab = LabPage(page)
    start = time.perf_counter()
    page.goto(url)
    file = page.locator(".jp-DirListing-item").filter(has_text=notebook)
    file.wait_for(timeout=SLOW)
    page.locator("#jupyterlab-splash").wait_for(state="detached", timeout=SLOW)
    opened = time.perf_counter()
    file.dblclick()
    page.locator(".jp-Notebook .jp-Cell").first.wait_for(timeout=SLOW)
    shown = time.perf_counter()
    lab.wait_ready()
    ready = time.perf_counter()
    lab.start()
    lab.usable()
    usable = time.perf_counter()
    context.close()
    return Opening(opened - start, shown - opened, ready - opened, usable - opened)


def measure(lab: str, times: int) -> list[Opening]:
    """``times`` openings, one after the other, on one server; the first one's disk caches may be cold."""
    from playwright.sync_api import sync_playwright

    options = ["--disable-gpu"]
    if hasattr(os, "geteuid") and os.geteuid() == 0:
        options.append("--no-sandbox")  # Chromium refuses to start as root with it
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as folder, sync_playwright() as playwright:
        server = JupyterLab(Path(folder))
        try:
            server.wait()
            browser = playwright.chromium.launch(executable_path=find_browser(), args=options)
            urls = [server(ROOT / "exercises" / lab) for _ in range(times)]
            found = [open_once(browser, url, f"{lab}.ipynb") for url in urls]
            browser.close()
        finally:
            server.stop()
    return found


def main() -> int:
    """The command line. 0: within the budget; 1: over it."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--lab", default="lab03")
    parser.add_argument("--times", type=int, default=5)
    options = parser.parse_args()
    found = measure(options.lab, options.times)
    for name in ("jupyterlab", "shown", "ready", "usable"):
        seconds = [getattr(one, name) for one in found]
        print(f"{name:<10} median {statistics.median(seconds):.2f} s, worst {max(seconds):.2f} s")
    median = statistics.median(one.usable for one in found)
    print(f"open to usable bench, {options.lab}: {median:.2f} s (budget {BUDGET:g} s, {len(found)} openings)")
    return 0 if median <= BUDGET else 1


if __name__ == "__main__":
    sys.exit(main())
