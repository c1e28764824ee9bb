"""The bench of every heater model, and every calculator: does axe-core find nothing, in the looks that people choose?

Desk, practice room, progress page and the counters are looked at in ``test_desk_browser``, questions and the entry check
in ``test_self_check`` and ``test_entry_check``, whole pages in JupyterLab in ``tests/browser/test_whole_pages``.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe

from tankside import widgets
from tankside.heater.model import model_names
from tankside.notebook import plain_bench
from tankside.widgets.bench_widget import BenchWidget
from tests.widgets.stage import Stage

pytestmark = pytest.mark.browser
RULES = {"runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]}
LOOKS: dict[str, tuple[dict[str, Any], str, int]] = {
    # At 200 % a window of 1280 pixels has room for 640.
    "light, zoomed to 200 %": ({"device_scale_factor": 2}, "light", 640),
    "dark, on a tablet": ({}, "dark", 768),
    "high contrast": ({"forced_colors": "active"}, "light", 1280),
}
MADE: dict[str, Callable[[], Any]] = {
    name: getattr(widgets, name) for name in widgets._PUBLIC if name.endswith(("_calculator", "_builder"))
}


@pytest.fixture(params=LOOKS)
def look(browser: Any, request: pytest.FixtureRequest) -> Iterator[tuple[Any, str]]:
    """A page in one of the looks, and the theme to draw in."""
    options, theme, width = LOOKS[request.param]
    context = browser.new_context(
        viewport={"width": width, "height": 900}, reduced_motion="reduce", **options
    )
    yield context.new_page(), theme
    context.close()


def wrong(page: Any) -> list[str]:
    """What axe-core finds, and what runs out of the page."""
    page.evaluate("document.querySelectorAll('details').forEach((fold) => (fold.open = true))")
    page.wait_for_function("document.getAnimations().length === 0")
    found = Axe().run(page, options=RULES).response["violations"]
    said = [f"{v['id']}: {n['html'][:120]} {n['failureSummary'][:160]}" for v in found for n in v["nodes"]]
    out = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
    return [*said, *([f"{out} px run out of the page"] if out > 0 else [])]


@pytest.mark.parametrize("model", model_names())
def test_the_bench_of_every_model(look: tuple[Any, str], model: str) -> None:
    """All covers off, the inside shown, looked closely, a part in hand: is it for everyone?"""
    page, theme = look
    bench = plain_bench("no-fault", model)
    for place in bench.view()["places"]:
        if place["cover"]:
            bench.open_cover(place["id"])
    for part in {"burner", "flue"} & set(bench.state.model.parts):
        bench.do("inspect", part=part)
    Stage(page, {"a": BenchWidget(bench)}, ["view", "step", "answer"], theme)
    for label in ("look inside", "show what is live"):
        page.get_by_label(label).check()
    page.locator(".ts-part-pick").first.click()
    assert wrong(page) == []


@pytest.mark.parametrize("name", MADE)
def test_every_calculator(look: tuple[Any, str], name: str) -> None:
    """As it opens, and with a number that it can't use: is it for everyone?"""
    page, theme = look
    Stage(page, {"a": MADE[name]()}, ["name", "fields", "result"], theme)
    assert wrong(page) == []
    numbers = page.locator("input[type=number]")
    if numbers.count():
        numbers.first.fill("")
        page.wait_for_timeout(300)
        assert wrong(page) == []


def test_the_calculators_are_all_there() -> None:
    """Did the test above look at each that lessons open?"""
    assert len(MADE) >= 8
