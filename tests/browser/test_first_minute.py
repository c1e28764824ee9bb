"""Does each of the three users get to a first useful act in three clicks and a minute, from the page that opens first?"""

from __future__ import annotations

import shutil
import time
from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe

ROOT = Path(__file__).parents[2]
pytestmark = pytest.mark.browser
RULES = {"runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]}
MINUTE = 60_000


@pytest.fixture(scope="module")
def course(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The course's folder as it is handed out, without what somebody did in it."""
    place = tmp_path_factory.mktemp("first") / "course"
    place.mkdir()
    for file in (ROOT / "course").glob("*.ipynb"):
        shutil.copyfile(file, place / file.name)
    return place


class Clicks:
    """A page that counts what is clicked."""

    def __init__(self, page: Any) -> None:
        self.page, self.count, self.began = page, 0, time.monotonic()

    def __call__(self, target: Any) -> None:
        target.click(timeout=MINUTE)
        self.count += 1

    def run_the_first_cell(self, file: str) -> None:
        """▶ of the page that has just opened, once its kernel is there."""
        panel = self.page.locator(".jp-NotebookPanel:not(.lm-mod-hidden)").filter(
            has=self.page.locator(".jp-Notebook")
        )
        self.page.locator(f".lm-TabBar-tab.lm-mod-current:has-text('{file}')").first.wait_for(timeout=MINUTE)
        self.page.get_by_text("| Idle").first.wait_for(timeout=MINUTE)
        self(
            panel.last.locator(
                "jp-button[data-command='notebook:run-cell-and-select-next'], [data-command='notebook:run-cell-and-select-next']"
            ).first
        )

    def done(self) -> None:
        """Three clicks at most; the time is printed."""
        assert self.count <= 3
        print(f"{self.count} clicks, {time.monotonic() - self.began:.0f} s")


def violations(page: Any, inside: str) -> list[str]:
    """What axe-core finds within our own part of the page; JupyterLab's frame isn't ours."""
    page.wait_for_function("document.getAnimations().length === 0")
    found = Axe().run(page, context={"include": [inside]}, options=RULES).response["violations"]
    return [f"{v['id']}: {n['html'][:150]} {n['failureSummary'][:200]}" for v in found for n in v["nodes"]]


def opened(page: Any, url: str) -> Clicks:
    page.goto(url)
    page.get_by_role("link", name="Work a call-out now").wait_for(timeout=MINUTE)
    return Clicks(page)


def test_an_apprentice_stands_at_a_heater(page: Any, jupyterlab: Any, course: Path, tmp_path: Path) -> None:
    """Start page, ▶, the room's first button: is there a bench with a work order and a report under it?"""
    url = jupyterlab(course, "start.ipynb")
    click = opened(page, url)
    page.screenshot(path=tmp_path / "1-start.png")
    click(page.get_by_role("link", name="Work a call-out now"))
    click.run_the_first_cell("practice.ipynb")
    page.get_by_role("button", name="Start this one").wait_for(timeout=MINUTE)
    assert violations(page, ".ts-room") == []
    page.screenshot(path=tmp_path / "2-room.png")
    click(page.get_by_role("button", name="Start this one"))
    page.locator(".ts-bench").wait_for(timeout=MINUTE)
    page.locator(".ts-desk").wait_for(timeout=MINUTE)
    click.done()
    page.screenshot(path=tmp_path / "3-bench.png")
    # The page is loaded again in the middle, and the call-out is there again after one press of ▶.
    before = page.locator(".ts-desk .ts-card-number b").inner_text()
    page.goto(url.replace("start.ipynb", "practice.ipynb"))
    Clicks(page).run_the_first_cell("practice.ipynb")
    page.locator(".ts-desk .ts-card-number b").wait_for(timeout=MINUTE)
    assert page.locator(".ts-desk .ts-card-number b").last.inner_text() == before


def test_an_instructor_sees_a_class(page: Any, jupyterlab: Any, course: Path, tmp_path: Path) -> None:
    """Start page, ▶, one button: is a class report there, and does its link open it?"""
    url = jupyterlab(course, "start.ipynb")
    click = opened(page, url)
    click(page.get_by_role("link", name="See a whole class"))
    click.run_the_first_cell("instructor.ipynb")
    click(page.get_by_role("button", name="Show me an invented class"))
    page.get_by_text("Done: on the class list 12").wait_for(timeout=MINUTE)
    click.done()
    assert violations(page, ".ts-front") == []
    with page.expect_popup() as popup:
        page.get_by_role("link", name="The class report").click()
    popup.value.get_by_text("Delia Wick").first.wait_for(timeout=MINUTE)
    assert (url.folder / "demo-report" / "lab03.html").exists()


def test_a_shop_hands_out_a_call_out(page: Any, jupyterlab: Any, course: Path) -> None:
    """Start page, ▶, a name, one button: is there a file to give, and a name that is none refused in words?"""
    url = jupyterlab(course, "start.ipynb")
    click = opened(page, url)
    click(page.get_by_role("link", name="Hand out a call-out"))
    click.run_the_first_cell("shop.ipynb")
    page.get_by_label("Name of the person").fill("Sam Reed")
    click(page.get_by_role("button", name="Make the call-out"))
    page.get_by_text("Done. Give Sam Reed the file").wait_for(timeout=MINUTE)
    click.done()
    assert (url.folder / "sam-reed-lab03.zip").exists()
    page.get_by_label("Name of the person").fill("??")
    page.get_by_role("button", name="Make the call-out").click()
    page.get_by_text("Type the person's name").wait_for(timeout=MINUTE)
