"""Where a heater has two faults: does the report form let both be named and each repair, and nowhere else?"""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Any

import pytest

from tankside.dispatch import make_order
from tankside.faults.catalogue import remedy_named
from tankside.labs import lab_ids, load_lab
from tankside.notebook import open_lab
from tankside.report import LABELS
from tankside.widgets.desk_form import Form, WatchedBench
from tankside.widgets.desk_widget import show_desk
from tests.widgets.stage import Stage

SOME = ("element-open", "link-bar-burnt", "limit-tripped", "splice-loose", "supply-low")
LAB = load_lab("lab03").model_copy(
    update={"faults": SOME, "faults_at_once": 2, "difficulty": (0.0, 100.0), "figure": ()}
)
ORDER = make_order(LAB, None, f"{5:032x}", date(2026, 1, 1))
FAULTS = [fault.name for fault in ORDER.case().faults]
CURES = [remedy_named(fault.remedy).name for fault in ORDER.case().faults]


def form_of(folder: Path) -> Form:
    bench = WatchedBench(ORDER, folder / "bench-log.jsonl")
    return Form(LAB, ORDER, folder, folder / "work-order.json", lambda: bench)


def test_both_are_read(tmp_path: Path) -> None:
    """Are two names kept as one answer, shown apart again, and read as the pair that the heater has?"""
    form = form_of(tmp_path)
    form.write(LABELS["diagnosis"], "; ".join(FAULTS))
    form.write(LABELS["remedy"], "; ".join(CURES))
    report, _ = form.report()
    assert report.diagnosis == ORDER.case().fault.id and report.remedy == ORDER.case().fault.remedy
    values = form.state()["values"]
    assert values[LABELS["diagnosis"]]["parts"] == FAULTS and values[LABELS["remedy"]]["parts"] == CURES
    assert not values[LABELS["diagnosis"]]["problem"] and not values[LABELS["remedy"]]["problem"]


def test_one_of_two_is_asked_about(tmp_path: Path) -> None:
    """Does the look before handing in say that one is missing, and only then?"""
    form = form_of(tmp_path)
    form.write(LABELS["diagnosis"], FAULTS[0])
    assert any("two faults" in row["text"] for row in form.check() if row["label"] == LABELS["diagnosis"])
    form.write(LABELS["diagnosis"], "; ".join(FAULTS))
    assert not any("two faults" in row["text"] for row in form.check())


@pytest.mark.parametrize("lab", lab_ids())
def test_nowhere_else(lab: str, tmp_path: Path) -> None:
    """In a lab with one fault: one field for it, one for its remedy, and no word of a second?"""
    assert load_lab(lab).faults_at_once == 1
    form = open_lab(lab, tmp_path).form()
    assert not any("each" in field for field in form.fields)
    assert not any("two faults" in field["title"] for field in form.fields)
    assert not any("parts" in value for value in form.state()["values"].values())


@pytest.mark.browser
def test_in_a_browser(page: Any, tmp_path: Path) -> None:
    """By keyboard: two fields for the faults and two for the repairs, each with its name, and both answers kept?"""
    form = form_of(tmp_path)
    Stage(page, {"a": show_desk(form)}, ["card", "state", "answer"], "light")
    for title, names in (("Diagnosis: the two faults", FAULTS), ("Remedy: what cures each", CURES)):
        group = page.get_by_role("group", name=title)
        fields = group.get_by_role("combobox")
        assert fields.count() == 2
        for word, name in zip(("first", "second"), names, strict=True):
            field = group.get_by_role("combobox", name=f"The {word}")
            field.fill(name[:14])
            field.press("ArrowDown")
            group.get_by_role("option", name=name).first.click()
        assert [field.input_value() for field in fields.all()] == names
    report, _ = form.report()
    assert report.diagnosis == ORDER.case().fault.id and report.remedy == ORDER.case().fault.remedy
