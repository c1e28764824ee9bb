"""Are the feedback page, its index and the class report free of accessibility faults, in light, dark and on a tablet?"""

from __future__ import annotations

import io
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from rich.console import Console

from tankside_autograder.demo import run_demo

from .fakelab import write_lab

if TYPE_CHECKING:
    from playwright.sync_api import Page

pytestmark = pytest.mark.browser
PAGES = ["feedback/corin.dask-lab03.html", "feedback/gita.rowe-lab03.html", "feedback/index.html", "results/lab03.html"]


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    place = tmp_path_factory.mktemp("pages")
    write_lab(place / "exercises" / "lab03" / "lab03.ipynb")
    return run_demo(place / "out", Console(file=io.StringIO()), place / "exercises", place / "none").room.folder


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("file", PAGES)
def test_axe(page: Page, folder: Path, file: str, scheme: str) -> None:
    """axe-core's rules for WCAG 2.2 A and AA; no sideways scrolling of the page at 768 and 320 px (WCAG 1.4.10)."""
    from axe_playwright_python.sync_playwright import Axe

    page.emulate_media(color_scheme=scheme)  # type: ignore[arg-type]
    page.goto((folder / file).as_uri())
    tags = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]
    # The page's own policy keeps scripts out of it; axe is a script.
    found = Axe().run(page, options={"runOnly": tags})
    assert found.violations_count == 0, found.generate_report()
    for width in (768, 320):
        page.set_viewport_size({"width": width, "height": 900})
        assert page.evaluate("document.documentElement.scrollWidth") <= width


def test_axe_would_see_a_fault(page: Page) -> None:
    """The same call finds a picture without words for it."""
    from axe_playwright_python.sync_playwright import Axe

    page.set_content('<html lang="en"><title>t</title><main><img src="data:,"></main></html>')
    assert Axe().run(page, options={"runOnly": ["wcag2a"]}).violations_count > 0
