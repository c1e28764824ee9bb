"""What a hand, a clipboard or a slow kernel can do to the bench's screen: is each met calmly, with nothing lost?"""

from __future__ import annotations

from typing import Any

import pytest

from tankside.bench import Bench
from tankside.practice import lesson_order
from tankside.widgets.bench_widget import BEHIND, RETIRED, BenchWidget, show_bench
from tests.widgets.benches import real_bench
from tests.widgets.stage import Stage

pytestmark = pytest.mark.browser
MEGABYTE = "x" * 1_000_000


def shown(page: Any, bench: Any) -> Stage:
    return Stage(page, {"a": BenchWidget(bench)}, ["view", "step", "answer"], wired=True)


def lines(page: Any, count: int) -> None:
    page.wait_for_function("(n) => document.querySelectorAll('.ts-line').length === n", arg=count)


def said(page: Any) -> str:
    page.locator(".ts-say.ts-calm:not(:empty)").wait_for()
    return str(page.locator(".ts-say").inner_text())


def paste(page: Any, target: Any, text: str) -> None:
    """As a clipboard does: all at once, with one event."""
    target.evaluate("(e, text) => { e.focus(); e.value = text; e.dispatchEvent(new Event('input', { bubbles: true })); }", text)  # fmt: skip


def isolated() -> Any:
    bench = real_bench()
    bench.open_cover("heater-front")
    bench.switch("breaker", "off")
    bench.lock_out()
    bench.prove_dead("heater-front")
    bench.meter("Ω")
    return bench


def test_a_lead_on_what_is_not_there_any_more(page) -> None:
    """After a lifted lead is landed, and after the cover is back: is the old spot gone, is the lead off, is it said?"""
    bench = isolated()
    shown(page, bench)
    page.get_by_role("button", name="Lift W10").click()
    end = page.get_by_role("button", name="loose end of high limit to element terminal 1", exact=True)
    end.wait_for()
    end.click()
    page.get_by_role("button", name="element terminal 2", exact=True).click()
    page.wait_for_function("document.querySelector('.ts-digits').textContent.startsWith('OL')")
    page.get_by_role("button", name="Put back W10").click()
    end.wait_for(state="detached")
    assert bench.view()["meter"]["red"] is None
    again = page.get_by_role("button", name="Read again")
    assert again.get_attribute("aria-disabled") == "true"
    count = len(bench.entries)
    again.click(force=True)
    assert said(page) == "Put both leads on terminals first."
    page.get_by_role("button", name="Cover back on: behind the heater's front cover").click()
    lines(page, count + 1)
    assert page.get_by_role("button", name="element terminal 2", exact=True).count() == 0
    finder = page.get_by_role("combobox", name="red lead on")
    finder.fill("element terminal 2")
    page.locator(".ts-options li", has_text="element terminal 2").first.wait_for()
    finder.press("Enter")
    finder = page.get_by_role("combobox", name="black lead on")
    finder.fill("tank shell")
    finder.press("Enter")
    assert "behind a cover" in said(page)
    assert len(bench.entries) == count + 1


@pytest.mark.parametrize("typed", ["", "-5", "0", "1e9", "1e400", "-"])
def test_garbage_for_minutes(page, typed: str) -> None:
    """Is what is no number of minutes refused in one sentence, with no line in the log and the field as it was?"""
    bench = real_bench()
    shown(page, bench)
    field = page.get_by_label("Wait: minutes")
    field.press("Control+a")
    field.press("Delete")
    field.type(typed)
    kept = field.input_value()
    page.get_by_role("button", name="Wait", exact=True).click()
    assert "minutes" in said(page)
    assert len(said(page)) < 120
    assert typed or said(page) == "Say how many minutes, as a number."
    assert field.input_value() == kept
    assert [e["verb"] for e in bench.entries] == ["begin"]


@pytest.mark.parametrize("lesson", [True, False])
def test_only_a_work_order_asks_for_evidence(page, lesson: bool) -> None:
    """Does a lesson's bench, which has no report, leave out that its lines are to be cited?"""
    shown(page, Bench(lesson_order()) if lesson else real_bench())
    assert page.get_by_text("Cite these line numbers as evidence").is_visible() != lesson


def test_a_megabyte_pasted(page) -> None:
    """Into a lead's field, into a number: does the bench stay usable, and is nothing sent that it can't use?"""
    bench = real_bench()
    shown(page, bench)
    finder = page.get_by_role("combobox", name="red lead on")
    paste(page, finder, MEGABYTE)
    assert page.locator(".ts-options li:visible").count() == 0
    finder.press("Enter")
    finder.blur()
    assert finder.input_value() == ""
    paste(page, page.get_by_label("Wait: minutes"), MEGABYTE)
    page.get_by_role("button", name="Wait", exact=True).click()
    assert "minutes" in said(page)
    assert len(said(page)) < 120
    page.get_by_role("button", name="Look at the switches").click()
    lines(page, 2)
    assert [e["verb"] for e in bench.entries] == ["begin", "look"]


@pytest.mark.parametrize(
    ("verb", "args"),
    [
        ("wait", {"minutes": MEGABYTE}),
        ("probe", {"red": MEGABYTE, "black": "supply.hot"}),
        ("repair", {"remedy": MEGABYTE}),
        ("look", {MEGABYTE: 1}),
        (MEGABYTE, {}),
    ],
    ids=lambda value: str(value)[:12],
)
def test_a_megabyte_in_a_message(verb: str, args: dict[str, Any]) -> None:
    """Is it refused in a sentence that doesn't say it all again, with nothing written?"""
    widget = show_bench(real_bench())
    answer = widget.receive({"id": "m", "verb": verb, "args": args, "seen": 0})
    assert not answer["ok"]
    assert len(answer["text"]) < 1000
    assert len(widget.bench.entries) == 1


def test_clicks_while_an_action_runs(page) -> None:
    """Are clicks that come before the answer kept, one message at a time, and done in their order?"""
    bench = real_bench()
    shown(page, bench)
    page.evaluate("window.models.a.silent = true")
    page.get_by_role("button", name="Look at the switches").click()
    page.get_by_role("button", name="Measure the hot water").click()
    page.get_by_role("button", name="Breaker is on: put it off").click()
    page.wait_for_timeout(300)
    assert page.evaluate("window.models.a.sent.map((m) => m.verb)") == ["look"]
    assert len(bench.entries) == 1
    page.evaluate("window.models.a.silent = false")
    page.evaluate("async () => window.models.a.take(await window.toPython('a', window.models.a.sent[0]))")
    lines(page, 4)
    assert [e["verb"] for e in bench.entries] == ["begin", "look", "temperature", "switch"]
    assert page.locator(".ts-bench").get_attribute("data-busy") is None


def test_clicks_after_a_refusal(page) -> None:
    """When the first of several clicks is refused, are the others dropped, since they counted on it, and is it said?"""
    bench = real_bench()
    shown(page, bench)
    page.evaluate("window.models.a.silent = true")
    field = page.get_by_label("Wait: minutes")
    field.fill("-1")
    page.get_by_role("button", name="Wait", exact=True).click()
    page.get_by_role("button", name="Breaker is on: put it off").click()
    page.evaluate("window.models.a.silent = false")
    page.evaluate("async () => window.models.a.take(await window.toPython('a', window.models.a.sent[0]))")
    assert "minutes" in said(page)
    assert len(bench.entries) == 1
    page.get_by_role("button", name="Breaker is on: put it off").click()
    lines(page, 2)


def test_a_stale_picture(page) -> None:
    """Something else worked on the bench, and then the same log was opened anew: is the old picture calm both times?"""
    bench = real_bench()
    at = shown(page, bench)
    bench.look()
    page.get_by_role("button", name="Measure the hot water").click()
    assert said(page) == BEHIND
    lines(page, 2)
    assert [e["verb"] for e in bench.entries] == ["begin", "look"]
    page.get_by_role("button", name="Measure the hot water").click()
    lines(page, 3)
    at.widgets["a"].retire()  # type: ignore[attr-defined]
    page.get_by_role("button", name="Look at the switches").click()
    page.wait_for_function("(text) => document.querySelector('.ts-say').textContent === text", arg=RETIRED)
    assert len(bench.entries) == 3
