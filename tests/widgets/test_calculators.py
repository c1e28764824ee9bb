"""Does the calculator show what the library works out, and refuse in words what it can't use?"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe

from tankside.measures import chosen
from tankside.widgets.calculator import Calculator
from tankside.widgets.calculators import FIELDS, ohm_watt, ohm_watt_calculator
from tankside.widgets.flame_current import flame_calculator, flame_microamps
from tankside.widgets.frontend import styles
from tankside.widgets.gas_input import orifice_calculator
from tankside.widgets.measures_buttons import measures_choice
from tests.widgets.stage import Stage

START = {field["id"]: float(field["start"]) for field in FIELDS}


def texts(**values: float) -> dict[str, str]:
    rows = ohm_watt(**{**START, **values})
    group = ""
    out = {}
    for row in rows:
        group = row.get("group", group)
        if "label" in row:
            out[f"{group}: {row['label']}"] = row["text"]
    return out


@pytest.mark.parametrize(
    ("watts", "volts", "amps", "ohms"),
    [(1440, 120, "12.0 A", "10.0 Ω"), (1400, 120, "11.7 A", "10.3 Ω"), (4500, 240, "18.8 A", "12.8 Ω")],
)
def test_from_the_plate(watts: float, volts: float, amps: str, ohms: str) -> None:
    """Amps and ohms of elements that textbooks work out by hand (Ohm's and Joule's laws: I = P/U, R = U²/P)."""
    found = texts(plate_watts=watts, plate_volts=volts)
    assert found["From the plate: Amps"] == amps
    assert found["From the plate: Ohms"] == ohms


@pytest.mark.parametrize(
    ("ohms", "words"),
    [(9.4, "below the band"), (9.6, "inside the band"), (11.0, "inside the band"), (11.2, "above the band")],
)
def test_the_band(ohms: float, words: str) -> None:
    """Is 1440 W at 120 V good from 9.52 to 11.1 Ω: +5/-10 % of its power (IEC 60335-1 10.1, from memory)?"""
    found = texts(ohms=ohms)
    assert found["From the plate: A good element reads"] == "9.52 to 11.1 Ω"
    assert found["As measured: These ohms are"] == words


def test_half_the_volts() -> None:
    """Does half of the volts give half of the amps and a quarter of the watts (Joule's law)?"""
    found = texts(volts=60, ohms=10)
    assert found["As measured: Amps"] == "6.00 A"
    assert found["As measured: Watts"] == "360 W"


@pytest.mark.parametrize("bad", [None, "12", True, float("nan"), float("inf"), -1, 1e9, [], {}])
@pytest.mark.parametrize("field", [f["id"] for f in FIELDS])
def test_what_cannot_be_used(field: str, bad: Any) -> None:
    """Is a value that isn't one answered beside its field, with what would do, and nothing raised?"""
    result = ohm_watt_calculator().work_out({**START, field: bad})
    assert result["rows"] == []
    assert set(result["problems"]) == {field}
    assert "Type a number from" in result["problems"][field]


@pytest.mark.parametrize("value", [None, -5, 1e9])
def test_a_refusal_ends_with_one_point(value: Any) -> None:
    """Is what may be typed a whole sentence, with a unit such as "in." too, and no power of ten in it?"""
    made = orifice_calculator()
    said = made.work_out({f["id"]: f["start"] for f in made.fields} | {"hole": value})["problems"]["hole"]
    assert said.endswith(" in.") and ".." not in said and "e+" not in said


def test_the_ends_of_every_field_work() -> None:
    """Can every field be at its lowest and highest value?"""
    for end in ("low", "high"):
        result = ohm_watt_calculator().work_out({f["id"]: f[end] for f in FIELDS})
        assert result["problems"] == {}
        assert "nan" not in str(result["rows"])


@pytest.mark.browser
@pytest.mark.parametrize("theme", ["light", "dark"])
def test_in_a_browser(page, theme: str) -> None:
    """Does typing and sliding change the rows; is a wrong number told at its field; does axe-core find nothing?"""
    page.set_viewport_size({"width": 768, "height": 800})
    Stage(page, {"a": ohm_watt_calculator()}, ["name", "fields", "result"], theme)
    ohms = page.get_by_label("Ohms measured, dead", exact=True)
    ohms.fill("20")
    page.locator(".ts-value", has_text="above the band").wait_for()
    assert page.get_by_label("Ohms measured, dead, slider").input_value() == "20"
    ohms.fill("")
    page.get_by_text("Type a number from 0.5 to 200").wait_for()
    assert ohms.get_attribute("aria-invalid") == "true"
    options = {"runOnly": ["wcag2a", "wcag2aa", "wcag21aa", "wcag22aa", "best-practice"]}
    slider = page.get_by_label("Ohms measured, dead, slider")
    slider.focus()
    page.keyboard.press("Home")
    page.locator(".ts-value", has_text="below the band").wait_for()
    found = Axe().run(page, options=options).response["violations"]
    assert [(v["id"], [n["html"] for n in v["nodes"]]) for v in found] == []


@pytest.mark.browser
def test_every_choice_of_a_list_is_worked_with(page) -> None:
    """Does a list whose values are numbers change the rows too, each choice to what the library makes of it?"""
    Stage(page, {"a": flame_calculator()}, ["name", "fields", "result"])
    leaks = page.get_by_label("Rod to burner over the insulator")
    choices = next(f["choices"] for f in flame_calculator().fields if f["id"] == "leak")
    shown = {f"{flame_microamps(leak=leak)[0]:.2f} µA" for leak, _ in choices}
    assert len(shown) == len(choices), "two choices that show the same would prove nothing"
    for leak, words in [*choices[1:], choices[0]]:
        leaks.select_option(label=words)
        page.locator(".ts-value", has_text=f"{flame_microamps(leak=leak)[0]:.2f} µA").wait_for()


# What JupyterLab 4 does to such lists in an output (its style sheet, as its page shows it).
JUPYTERLAB = """
.jp-OutputArea-output dl, .jp-OutputArea-output dt, .jp-OutputArea-output dd { display: block; }
.jp-OutputArea-output dl { width: 100%; padding: 0; margin: 0; }
.jp-OutputArea-output dt { font-weight: bold; float: left; width: 20%; padding: 0; margin: 0; }
.jp-OutputArea-output dd { float: left; width: 80%; padding: 0; margin: 0; }
"""


@pytest.mark.browser
@pytest.mark.parametrize("width", [560, 848])
def test_it_holds_together_between_jupyterlabs_and_other_widgets_styles(page, width: int) -> None:
    """Among JupyterLab's rules and a later widget's style sheet, is each row whole, inside, and below the one before?"""
    page.set_viewport_size({"width": width + 32, "height": 1000})
    Stage(page, {"a": orifice_calculator()}, ["name", "fields", "result"])
    page.evaluate(
        "(rules) => { document.querySelector('#host-a').classList.add('jp-OutputArea-output');"
        "const [first, later] = rules.map((text) => Object.assign(document.createElement('style'), { textContent: text }));"
        "document.head.prepend(first); document.head.append(later); }",
        [JUPYTERLAB, styles("base.css")],
    )
    rows = page.evaluate(
        "() => { const box = (n) => { const r = n.getBoundingClientRect(); return [r.left, r.top, r.right, r.bottom]; };"
        "return [...document.querySelectorAll('.ts-result, .ts-result-group')].map((row) => [box(row), ...[...row.children]"
        ".filter((n) => !n.matches('.ts-hidden')).map(box)]); }"
    )
    right = page.locator(".ts-calculator").evaluate("node => node.getBoundingClientRect().right")
    assert len(rows) > 6
    bottom = 0.0
    for row, *inner in rows:
        assert row[1] >= bottom - 1, "rows overlap"
        assert row[2] <= right + 1, "a row is cut off"
        assert all(box[0] >= row[0] - 1 and box[2] <= row[2] + 1 for box in inner)
        bottom = row[3]
    cut = page.locator(".ts-number, .ts-number + span").evaluate_all(
        "nodes => nodes.filter((n) => n.scrollWidth > n.clientWidth + 1 && n.clientWidth).map((n) => n.value || n.textContent)"
    )
    assert cut == []
    fields = page.locator(".ts-input").evaluate_all(
        "nodes => nodes.map((n) => [...n.querySelectorAll('label, .ts-number-box, select')].map((c) => c.getBoundingClientRect()))"
        ".filter(([a, b]) => a.right > b.left + 1 && a.bottom > b.top + 1 && b.bottom > a.top + 1).length"
    )
    assert fields == 0, "a label lies under its field"


def choosing(kind: str, amps: float) -> list[dict[str, Any]]:
    if amps > 5:
        raise ValueError("more than five amps blow the fuse")
    return [{"group": "Found"}, {"label": "Kind", "text": kind, "how": "", "mark": ""}]


def test_choices_and_what_does_not_go_together() -> None:
    """Is a choice that isn't offered left at its first, and a refusal of the library said as a sentence?"""
    fields: list[dict[str, Any]] = [
        {"id": "kind", "label": "Kind", "choices": [["fast", "fast blow"], ["slow", "slow blow"]], "start": "slow"},
        {"id": "amps", "label": "Amps", "unit": "A", "low": 0, "high": 10, "step": 1, "start": 1},
    ]  # fmt: skip
    made = Calculator("Fuses", fields, choosing)
    assert made.result["rows"][1]["text"] == "slow"
    assert made.work_out({"kind": "fast", "amps": 2})["rows"][1]["text"] == "fast"
    assert made.work_out({"kind": ["odd"], "amps": 2})["rows"][1]["text"] == "slow"
    assert "blow the fuse" in made.work_out({"kind": "fast", "amps": 7})["problems"]["amps"]


def test_measures_are_chosen_by_a_button(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("TANKSIDE_HOME", str(tmp_path))
    box = measures_choice()
    picker, example = box.children
    assert "140 °F (60 °C)" in example.value
    picker.value = "si"
    assert chosen() == "si" and "look like this: 60 °C" in example.value
