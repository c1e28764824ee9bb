"""Is a whole page of the course, as JupyterLab shows it, for everyone: its text, tables, pictures and widgets?"""

from __future__ import annotations

import os
import shutil
from pathlib import Path
from typing import Any

import nbformat
import pytest
from axe_playwright_python.sync_playwright import Axe

from tankside.widgets.progress import FILE_NAME, ProgressStore
from tests.jupyterlab import choose_theme, run_all_cells

ROOT = Path(__file__).parents[2]
pytestmark = [pytest.mark.browser, pytest.mark.slow]
RULES = {"runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]}
MINUTE = 60_000
OURS = [[".jp-MarkdownOutput"], [".jp-OutputArea-output"]]
"""What is shown of the notebook's text and of its cells; JupyterLab's frame around them isn't ours."""
NOT_OURS = [[".jp-InternalAnchorLink"]]
PAGES = {
    "start.ipynb": ".jp-MarkdownOutput table",
    "02-ohm-and-watt.ipynb": ".ts-calculator",
    "04-limit-chains.ipynb": ".jp-OutputArea-output svg",
    "10-corrosion.ipynb": ".ts-calculator",
    "practice.ipynb": ".ts-progress",
}
"""Page -> something that is there once its last cell has run."""


def violations(page: Any) -> list[str]:
    page.wait_for_function("document.getAnimations().every((a) => a.playState !== 'running')")
    found = Axe().run(page, context={"include": OURS, "exclude": NOT_OURS}, options=RULES)
    return [
        f"{v['id']}: {n['html'][:150]} {n['failureSummary'][:200]}"
        for v in found.response["violations"]
        for n in v["nodes"]
    ]


@pytest.mark.parametrize("file", PAGES)
def test_a_page_of_the_course(page: Any, jupyterlab: Any, tmp_path: Path, file: str) -> None:
    """With all cells run, light and dark: does axe-core find nothing, and do tables begin at the left?"""
    course = tmp_path / file.removesuffix(".ipynb")
    course.mkdir()
    shutil.copyfile(ROOT / "course" / file, course / file)
    done = ProgressStore(jupyterlab.home / "learner" / FILE_NAME)
    done.path.parent.mkdir(exist_ok=True)
    done.add("call-out/mains/1", True)  # the progress page has a row to show
    page.goto(jupyterlab(course, file))
    run_all_cells(page)
    page.locator(PAGES[file]).last.wait_for(timeout=MINUTE)
    page.get_by_text("| Idle").wait_for(timeout=MINUTE)
    page.add_style_tag(
        content="* { content-visibility: visible !important; }"
    )  # cells out of sight count too
    texts = [c for c in nbformat.read(course / file, as_version=4).cells if c.cell_type == "markdown"]
    assert page.locator(".jp-MarkdownOutput").count() == len(texts)
    if "TANKSIDE_SHOTS" in os.environ:
        page.set_viewport_size({"width": 1280, "height": 4000})
        page.wait_for_timeout(1500)
        page.screenshot(path=f"{os.environ['TANKSIDE_SHOTS']}/{course.name}.png")
    try:
        assert violations(page) == []
        choose_theme(page, "JupyterLab Dark")
        assert violations(page) == []
    finally:
        choose_theme(page, "JupyterLab Light")  # the server keeps it for the tests that come after
        done.path.unlink()
    aside = page.evaluate(
        """[...document.querySelectorAll('.jp-OutputArea-output tr > :first-child')].filter((c) => c.getClientRects().length)
        .filter((c) => !['start', 'left'].includes(getComputedStyle(c).textAlign)).map((c) => c.outerHTML.slice(0, 120))"""
    )
    assert aside == []
    if file == "practice.ipynb":
        assert page.locator(".ts-progress tbody th").count() == 1
