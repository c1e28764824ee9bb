"""Do desk, practice room and progress page work in a browser: by pointer, touch and keyboard, for everyone's eyes?"""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe

from tankside.notebook import LabDesk, open_lab
from tankside.practice_screen import practice_room, progress
from tankside.report import LABELS
from tankside.widgets.desk_widget import show_desk
from tankside.widgets.front_desk import FrontDesk
from tankside.widgets.practice_room_widget import PracticeRoomWidget
from tankside.workorder import ORDER_NAME, write_order_file
from tests.widgets.benches import order
from tests.widgets.stage import Stage

pytestmark = pytest.mark.browser
RULES = {"runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]}
DESK, ROOM, PROGRESS = ["card", "state", "answer"], ["room", "answer"], ["page", "answer"]
FIGURE = "Element resistance by your meter"


def worked(folder: Path, practice: bool = False) -> LabDesk:
    """A lab with a little work behind it and half a report, something wrong in it."""
    folder.mkdir(exist_ok=True)
    if not practice:
        write_order_file(order(), folder / ORDER_NAME, "key")
    desk = open_lab("lab03", folder)
    bench = desk.the_bench()
    bench.do("look")
    bench.do("meter", function="V~")
    bench.do("prove meter")
    bench.do("probe", red="supply.hot", black="supply.neutral")
    form = desk.form()
    form.write(FIGURE.lower(), "abc ohm")
    desk.take_answers("diagnosis = limit tripped")
    form.write("diagnosis", "element burnt open")
    form.write(LABELS["evidence"], "3, 4")
    return desk


def screens(folder: Path) -> Iterator[tuple[str, Any, list[str], str]]:
    """Every screen that there is: its name, its widget, what it sends, and a button to press first."""
    yield "desk", show_desk(worked(folder / "desk").form()), DESK, "Hand in"
    yield (
        "marks",
        show_desk(worked(folder / "practice", practice=True).form()),
        DESK,
        "Finish the call-out;Finish all the same",
    )
    room = practice_room(folder / "room")
    now = datetime.now(UTC)
    for item, days, good in (
        ("call-out/mains/1", 9, True),
        ("call-out/gas/1", 1, False),
        ("question/safety/order", 0, True),
    ):
        room.store.add(item, good, now=now - timedelta(days=days))
    yield "choice", PracticeRoomWidget(room), ROOM, ""
    working = practice_room(folder / "working")
    working.start("mains", 1)
    working.hint(1)
    working.why_not(working.view()["open"]["faults"][0]["text"])
    yield "working", PracticeRoomWidget(working), ROOM, ""
    yield "progress", progress(folder / "room"), PROGRESS, ""
    yield "instructor", FrontDesk("instructor", folder), ["desk"], ""
    yield "shop", FrontDesk("shop", folder), ["desk"], "Make the call-out"


@pytest.fixture(scope="module")
def every(tmp_path_factory: pytest.TempPathFactory) -> list[tuple[str, Any, list[str], str]]:
    return list(screens(tmp_path_factory.mktemp("screens")))


LOOKS = {
    # At 200 % a window of 1280 pixels has room for 640.
    "light, zoomed to 200 %": ({"device_scale_factor": 2}, "light", 640),
    "dark, on a tablet": ({}, "dark", 768),
    "high contrast": ({"forced_colors": "active"}, "light", 1280),
}


@pytest.mark.parametrize("look", LOOKS)
def test_for_everyones_eyes(browser: Any, every: list[tuple[str, Any, list[str], str]], look: str) -> None:
    """On each screen: does axe-core find nothing, does nothing run out of the page, and is no script failing?"""
    options, theme, width = LOOKS[look]
    context = browser.new_context(viewport={"width": width, "height": 900}, **options)
    for name, widget, traits, press in every:
        page = context.new_page()
        failed: list[str] = []
        page.on("pageerror", lambda error, failed=failed: failed.append(str(error)))
        Stage(page, {"a": widget}, traits, theme)
        for label in filter(None, press.split(";")):
            page.get_by_role("button", name=label, exact=True).click()
        for fold in page.locator("summary").all():
            fold.click()
        page.wait_for_function("document.getAnimations().length === 0")
        found = Axe().run(page, options=RULES).response["violations"]
        assert [
            f"{v['id']}: {n['html'][:120]} {n['failureSummary'][:160]}" for v in found for n in v["nodes"]
        ] == [], name
        assert page.evaluate("document.documentElement.scrollWidth - innerWidth") <= 0, name
        assert failed == [], name
        small = page.evaluate(
            """() => [...document.querySelectorAll('.ts-root :is(button, select, input:not([type=file]), summary, [role=option])')]
                 .filter((e) => e.getClientRects().length && !e.closest('label') && Math.min(e.offsetWidth, e.offsetHeight) < 24)
                 .map((e) => e.outerHTML.slice(0, 80))"""
        )
        assert small == [], (name, small)  # WCAG 2.2, 2.5.8: a target of 24 by 24 CSS pixels
        page.close()
    context.close()


def field(page: Any, label: str) -> Any:
    return page.locator(f"[data-label='{label.lower()}']")


def test_a_report_by_keyboard_alone(page: Any, tmp_path: Path) -> None:
    """From the first field to the file: Tab, letters, arrows, space and Enter, and nothing else?"""
    desk = worked(tmp_path)
    desk.take_answers("diagnosis =")
    Stage(page, {"a": show_desk(desk.form())}, DESK)
    keys = page.keyboard

    def tab_to(test: str) -> None:
        for _ in range(60):
            keys.press("Tab")
            if page.evaluate(f"(() => {{ const e = document.activeElement; return Boolean({test}); }})()"):
                return
        raise AssertionError(f"Tab never reaches {test}")

    tab_to("e.matches('[role=listbox][aria-multiselectable]')")
    keys.press("Home")
    keys.press("ArrowDown")
    keys.press("Space")
    tab_to("e.closest('[data-label]') && e.matches('input')")
    keys.type("10")
    keys.press("Tab")
    keys.press("ArrowDown")
    keys.press("Tab")
    keys.press("Control+a")
    keys.type("10.2")
    keys.press("Tab")
    tab_to("e.matches('select') && e.value === ''")
    keys.press("End")
    tab_to("e.matches('[role=combobox]')")
    keys.press("Control+a")
    keys.type("elem open")
    keys.press("Enter")
    tab_to("e.matches('[role=combobox]')")
    keys.type("replace elem")
    keys.press("ArrowDown")
    keys.press("ArrowUp")
    keys.press("Enter")
    tab_to("e.matches('input[type=checkbox]')")
    keys.press("Space")
    tab_to("e.textContent.startsWith('Hand in')")
    keys.press("Enter")
    page.get_by_text("Ready to send").wait_for()
    assert page.evaluate("document.activeElement.textContent") == "Ready to send"
    assert desk.answers == {
        "element resistance by the data plate": "10 ohm",
        FIGURE.lower(): "10.2 ohm",
        "resistance from the element to the tank, leads lifted, tank full": "open",
        "diagnosis": "element burnt open",
        LABELS["evidence"]: "1, 3, 4",
        "remedy": "Replace the element",
        LABELS["condition"]: "in service",
    }
    assert desk.report()[1] == [] and list(tmp_path.glob("handin-*.zip"))


def test_the_first_line_pressed_is_the_one_ticked(page: Any, tmp_path: Path) -> None:
    """In a log that is longer than its list: does the focus that comes with the first press leave the line in place?"""
    desk = worked(tmp_path)
    for _ in range(12):
        desk.the_bench().do("prove meter")
    Stage(page, {"a": show_desk(desk.form())}, DESK)
    line = page.locator(".ts-cite-line[data-seq='2']")
    line.scroll_into_view_if_needed()
    line.click()
    assert line.get_attribute("aria-selected") == "true"


def test_bad_input_is_met_calmly(page: Any, tmp_path: Path) -> None:
    """Garbage in a number, a megabyte pasted, a fault that isn't on the list: said in place, and nothing lost?"""
    desk = worked(tmp_path)
    stage = Stage(page, {"a": show_desk(desk.form())}, DESK)
    number = field(page, FIGURE).locator("input")
    assert number.input_value() == "abc" and number.get_attribute("aria-invalid") == "true"
    assert "can't read 'abc ohm'" in field(page, FIGURE).inner_text().casefold()
    number.evaluate("(e) => { e.value = 'x'.repeat(1000000); e.dispatchEvent(new Event('change')); }")
    assert "It was left as it was before." in page.locator(".ts-desk-say").inner_text()
    assert number.input_value() == "abc" and desk.answers[FIGURE.lower()] == "abc ohm"
    notes = page.get_by_label("Your notes")
    notes.evaluate("(e) => { e.value = 'x'.repeat(1000000); e.dispatchEvent(new Event('change')); }")
    assert notes.input_value() == ""
    diagnosis = field(page, "diagnosis").get_by_role("combobox")
    diagnosis.fill("gremlins")
    diagnosis.press("Tab")
    assert "The answers cell in the notebook says “limit tripped”" in field(page, "diagnosis").inner_text()
    desk.take_answers("diagnosis =")
    stage.push("a")
    assert diagnosis.input_value() == "gremlins"
    assert "can't read 'gremlins'" in field(page, "diagnosis").inner_text().casefold()


@pytest.mark.parametrize(
    ("typed", "number", "unit", "kept"),
    [
        ("10.2 ohm", "10.2", "ohm", "10.2 ohm"),
        ("10.2 kΩ", "10.2", "kohm", "10.2 kohm"),
        ("10.2KOHM", "10.2", "kohm", "10.2 kohm"),
        ("10.2 V", "10.2 V", "ohm", "10.2 V ohm"),
    ],
)
def test_a_unit_typed_behind_the_number(
    page: Any, tmp_path: Path, typed: str, number: str, unit: str, kept: str
) -> None:
    """With a unit in the list already: does a unit typed as well go into the list, and stay to be told of if it can't?"""
    desk = worked(tmp_path)
    Stage(page, {"a": show_desk(desk.form())}, DESK)
    row = field(page, FIGURE)
    assert row.locator("select").input_value() == "ohm"
    row.locator("input").fill(typed)
    row.locator("input").press("Tab")
    assert row.locator("input").input_value() == number
    assert row.locator("select").input_value() == unit
    assert desk.answers[FIGURE.lower()] == kept
    assert ("can't read" in row.inner_text().casefold()) == (number == typed)


def test_two_answers_to_one_question(page: Any, tmp_path: Path) -> None:
    """Where cell and form differ: is that said once at its field, and in the list by the field's name, which leads there?"""
    desk = worked(tmp_path)
    desk.take_answers("diagnosis = element burnt open")
    Stage(page, {"a": show_desk(desk.form())}, DESK)
    mine = field(page, "diagnosis")
    mine.get_by_role("combobox").fill("thermostat failed open")
    mine.get_by_role("combobox").press("Tab")
    page.get_by_role("button", name="Check the report").click()
    row = page.locator(".ts-missing-list li", has_text="the answers cell says")
    assert row.inner_text().startswith("Diagnosis: the answers cell says “element burnt open”")
    assert mine.inner_text().count("element burnt open") == 1
    row.get_by_role("button").click()
    assert mine.evaluate("(node) => node.contains(document.activeElement)")


def test_a_kernel_that_doesnt_answer(page: Any, tmp_path: Path) -> None:
    """While nothing answers, does what is typed stay, is it sent once the answer comes, the last of several alone?"""
    page.clock.install()
    desk = worked(tmp_path)
    stage = Stage(page, {"a": show_desk(desk.form())}, DESK)
    page.evaluate("window.models.a.silent = true")
    number = field(page, FIGURE).locator("input")
    for text in ("1", "12", "12.5"):
        number.fill(text)
        number.press("Tab")
    page.clock.run_for(9000)
    assert page.locator(".ts-desk-say").inner_text().startswith("Not saved yet")
    desk.the_bench().do("look")
    stage.push("a")
    assert number.input_value() == "12.5", "a redraw must not take away what was typed"
    sent = page.evaluate("window.models.a.sent")
    assert [m["number"] for m in sent] == ["1"]
    page.evaluate("window.models.a.silent = false")
    page.evaluate("async () => window.models.a.take(await window.toPython('a', window.models.a.sent[0]))")
    page.wait_for_function("window.models.a.sent.length === 2")
    page.wait_for_function("document.querySelector('.ts-desk-say').textContent === 'Saved.'")
    assert desk.answers[FIGURE.lower()] == "12.5 ohm"


def test_by_touch(browser: Any, tmp_path: Path) -> None:
    """On a tablet, by taps alone: lines, units, ticks, a pick from the list?"""
    desk = worked(tmp_path)
    context = browser.new_context(viewport={"width": 768, "height": 1024}, has_touch=True, is_mobile=True)
    page = context.new_page()
    Stage(page, {"a": show_desk(desk.form())}, DESK)
    page.locator(".ts-cite-line[data-seq='2']").tap()
    page.locator('.ts-cited-off[aria-label="Don\'t cite line 3"]').tap()
    page.get_by_label("Locked out, tagged and reported").tap()
    remedy = field(page, "remedy").get_by_role("combobox")
    remedy.tap()
    page.get_by_role("option", name=re.compile(r"^Replace the element\s+\d")).tap()
    page.wait_for_function("document.querySelector('.ts-desk-say').textContent === 'Saved.'")
    assert desk.answers[LABELS["evidence"]] == "2, 4"
    assert desk.answers[LABELS["condition"]] == "locked out and reported"
    assert desk.answers["remedy"] == "Replace the element"
    context.close()


def test_a_copy_goes_out_and_comes_in(page: Any, tmp_path: Path) -> None:
    """Does “Save a copy” give a file that “Take in a copy” takes, and is a file that is none refused in words?"""
    home, away = practice_room(tmp_path / "home"), practice_room(tmp_path / "away")
    home.store.add("call-out/gas/1", True)
    Stage(page, {"a": progress(tmp_path / "home"), "b": progress(tmp_path / "away")}, PROGRESS)
    with page.expect_download() as download:
        page.locator("#host-a").get_by_role("button", name="Save a copy").click()
    download.value.save_as(tmp_path / "copy.json")
    page.locator("#host-b input[type=file]").set_input_files(tmp_path / "copy.json")
    page.locator("#host-b").get_by_text("1 result taken in. Nothing of yours was lost.").wait_for()
    assert away.store.results() == home.store.results()
    (tmp_path / "photo.json").write_bytes(bytes(range(256)) * 4000)
    page.locator("#host-b input[type=file]").set_input_files(tmp_path / "photo.json")
    page.locator("#host-b").get_by_text("This isn't a progress file").wait_for()


def test_clicks_while_the_room_is_looking(page: Any, tmp_path: Path) -> None:
    """Is a second press while a call-out is being looked for met with a word, and only one call-out made?"""
    room = practice_room(tmp_path)
    Stage(page, {"a": PracticeRoomWidget(room)}, ROOM)
    page.evaluate("window.models.a.silent = true")
    start = page.get_by_role("button", name="Start a call-out")
    start.click()
    start.click()
    assert "still being worked on" in page.locator(".ts-room-say").inner_text()
    page.evaluate(
        "async () => { window.models.a.silent = false; window.models.a.take(await window.toPython('a', window.models.a.sent[0])); }"
    )
    page.get_by_role("heading", name="Call-out 1").wait_for()
    assert page.evaluate("window.models.a.sent.length") == 1 and room.numbers == {"mains/1": 1}
    assert page.evaluate("document.activeElement.textContent") == "Call-out 1"


def test_a_dangerous_act_is_named_beside_the_marks(page: Any, tmp_path: Path) -> None:
    """After a dangerous act, does the end of a practice order say why no points are enough to pass?"""
    desk = open_lab("lab03", tmp_path)
    desk.the_bench().do("jumper", part="high_limit")
    Stage(page, {"a": show_desk(desk.form())}, DESK)
    for label in ("Finish the call-out", "Finish all the same"):
        page.get_by_role("button", name=label, exact=True).click()
    page.get_by_text("Not passed, whatever the points").wait_for()
