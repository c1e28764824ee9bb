"""Does the call-out desk keep, check and hand over a service report? Without a browser."""

from __future__ import annotations

import json
import zipfile
from pathlib import Path
from typing import Any

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tankside.errors import TanksideError
from tankside.labs import lab_ids, load_lab
from tankside.notebook import LabDesk, open_lab
from tankside.report import LABELS, build_report, read_measure
from tankside.widgets.desk_answers import AnswerSheet
from tankside.widgets.desk_form import NO_NUMBER, UNITS, Form, join_measure, split_measure, units
from tankside.widgets.desk_widget import RETIRED, UNCLEAR, DeskWidget, show_desk
from tankside.workorder import ORDER_NAME, WorkOrder, write_order_file
from tests.widgets.benches import order

LAB = load_lab("lab03")
KEY = "a key of the tests"
FIGURE = LAB.figure[1].label


@pytest.fixture
def desk(tmp_path: Path) -> LabDesk:
    """A lab with a class's order, opened as a notebook opens it."""
    write_order_file(order(), tmp_path / ORDER_NAME, KEY)
    return open_lab("lab03", tmp_path)


def kept(folder: Path) -> dict[str, Any]:
    found: dict[str, Any] = json.loads((folder / "service-report.json").read_text(encoding="utf-8"))
    return found


def say(widget: DeskWidget, wish: str, **rest: Any) -> dict[str, Any]:
    return widget.receive({"id": "1", "do": wish, **rest})


@pytest.mark.parametrize("lab_id", lab_ids())
def test_the_form_is_made_from_the_labs_data(lab_id: str, tmp_path: Path) -> None:
    """Has every figure a number and a unit, and can every answer that the form offers be read without a problem?"""
    lab = load_lab(lab_id)
    form = open_lab(lab_id, tmp_path).form()
    fields = {f["label"]: f for f in form.fields}
    assert list(fields) == [*(f.label for f in lab.figure), *LABELS.values()]
    for figure in lab.figure:
        for unit, _ in fields[figure.label]["units"]:
            form.write(figure.label, join_measure("12.5", unit))
            assert figure.label not in form.problems()
    for label in (LABELS["diagnosis"], LABELS["remedy"], LABELS["condition"]):
        for option in fields[label]["options"]:
            form.write(label, option["text"])
            assert label not in form.problems()
    form.write(LABELS["evidence"], "0")
    assert form.check() == []


NAMES = {
    "BTU/h": "Btu/hour", "BTU_per_hour": "Btu/hour", "%": "percent", "°F": "degF", "°C": "degC", "in.": "inch",
    "gal": "gallon", "gal/min": "gallon/minute", "gpm": "gallon/minute", "L/min": "liter/minute", "gpg": "grain/gallon",
    "mg/L": "mg/liter", "uA": "microampere", "µA": "microampere", "h": "hour", "min": "minute", "kohm": "kiloohm",
    "Mohm": "megaohm",
}  # fmt: skip


def _by_pint(written: str, unit: str) -> float:
    """Two of ``written`` in ``unit``, by pint's own registry, which has nothing of ours."""
    theirs = pint.UnitRegistry()
    theirs.define("in_WC = 2.54 * centimeter_H2O")
    names = {**NAMES, "in. WC": "in_WC", "inWC": "in_WC", "years": "year", "months": "year / 12"}
    if written == unit or unit == "USD":
        return 2.0
    two = theirs.Quantity(2, "degF" if written == "°F" else "degC") if written[0] == "°" else None
    two = two if two is not None else 2 * theirs.parse_expression(names.get(written, written))
    return float(two.to(names.get(unit, unit)).magnitude)


def test_every_unit_is_one_that_marking_reads() -> None:
    """Is each entry of each drop-down a unit that the report's own reader takes, with the scale that it shows?"""
    for unit, rows in UNITS.items():
        for written, _ in rows:
            found = read_measure("x", join_measure("2", written), unit)
            assert found.open == (written == "open") and found.over == (written == "over range")
            if written not in NO_NUMBER:
                assert found.value == pytest.approx(_by_pint(written, unit), rel=2e-3)


@given(
    st.floats(min_value=0, max_value=1e6),
    st.sampled_from([(u, w) for u, rows in UNITS.items() for w, _ in rows]),
)
def test_a_number_and_its_unit_come_back(value: float, which: tuple[str, str]) -> None:
    """Is what the number field and the drop-down hold the same after it went through the answer's text?"""
    asked, written = which
    known = [u for u, _ in units(asked)]
    number, unit = split_measure(join_measure(f"{value:.4g}", written), known)
    assert unit == written
    assert number == ("" if written in NO_NUMBER else f"{value:.4g}")


@pytest.mark.parametrize("unit", ["V", "uA", "mV", "inWC"])
def test_nothing_to_measure_can_be_picked(unit: str) -> None:
    """On a touch screen's number pad nobody can type "none": is it in the drop-down, read, and shown again as picked?"""
    known = [u for u, _ in units(unit)]
    assert known[-1] == "none" and join_measure("3.2", "none") == "none"
    assert read_measure("x", "none", unit).open
    assert split_measure("none", known) == split_measure("No flame", known) == ("", "none")
    assert "none" not in [u for u, _ in units("ohm")]


@given(st.text(max_size=60))
def test_what_cant_be_split_stays_whole(text: str) -> None:
    """Is no letter of an odd answer lost on its way into the number field?"""
    number, unit = split_measure(text, [u for u, _ in units("ohm")])
    assert (
        "".join(f"{number}{unit}".split()) == "".join(text.split())
        or unit == "open"
        or unit in ("kohm", "Mohm", "ohm")
    )


def test_form_and_cells_make_the_same_report(desk: LabDesk, tmp_path: Path) -> None:
    """Do answers typed in the form make the report that the same answers in cells make?"""
    answers = {
        FIGURE: "open",
        "diagnosis": "element burnt open",
        LABELS["evidence"]: "0",
        "remedy": "Replace the element",
    }
    for label, text in answers.items():
        desk.form().write(label, text)
    typed = desk.report()
    other = tmp_path / "other"
    other.mkdir()
    cells = open_lab("lab03", other)
    cells.take_answers("\n".join(f"{label} = {text}" for label, text in answers.items()))
    assert typed == cells.report() == build_report(LAB, answers)
    assert kept(tmp_path)["answers"] == kept(other)["answers"] == answers


def test_a_cell_counts_before_the_form_and_a_blank_one_leaves_it(desk: LabDesk) -> None:
    """Blank cell: does the form count? Both: does the cell count, and is that said on both sides? Newer cell: in step?"""
    desk.form().write("diagnosis", "limit tripped")
    page = desk.take_answers("diagnosis =\nremedy =\n")
    assert desk.answers["diagnosis"] == "limit tripped"
    assert "report form counts" in page.text
    desk.take_answers("diagnosis = element burnt open")
    assert desk.answers["diagnosis"] == "element burnt open"
    assert desk.form().state()["values"]["diagnosis"] == {
        "text": "element burnt open",
        "problem": "",
        "cell": "",
    }
    desk.form().write("diagnosis", "limit tripped")
    assert desk.answers["diagnosis"] == "element burnt open"
    assert desk.form().state()["values"]["diagnosis"]["cell"] == "element burnt open"
    assert any("The cell counts" in row["text"] for row in desk.form().check())
    assert "the cell counts" in desk.take_answers("diagnosis = element burnt open").text
    desk.take_answers("diagnosis = ")
    assert desk.answers["diagnosis"] == "limit tripped"


def test_opened_again(desk: LabDesk, tmp_path: Path) -> None:
    """After the kernel ended: are answers, notes, log and what was handed in as they were?"""
    desk.the_bench().do("look")
    desk.form().write(FIGURE, "10.2 ohm")
    desk.form().write_notes("call the owner\nabout the cabin")
    before = desk.form().state()
    again = open_lab("lab03", tmp_path)
    assert again.form().state() == before
    assert before["values"][FIGURE]["number"] == "10.2" and before["values"][FIGURE]["unit"] == "ohm"


def test_two_notebooks_on_one_folder(desk: LabDesk, tmp_path: Path) -> None:
    """Does what another kernel wrote stay when this one writes?"""
    other = AnswerSheet(tmp_path, desk.order.order)
    desk.form().write("remedy", "Replace the element")
    other.take_form("diagnosis", "limit tripped")
    desk.form().write(LABELS["evidence"], "0")
    assert set(kept(tmp_path)["form"]) == {"remedy", "diagnosis", LABELS["evidence"]}


def test_a_report_on_another_order_is_put_aside(desk: LabDesk, tmp_path: Path) -> None:
    """Is another order's report kept under another name, and is a damaged one too?"""
    AnswerSheet(tmp_path / ".", "TW-OTHER").take_form("diagnosis", "theirs")
    form = open_lab("lab03", tmp_path).form()
    assert form.sheet.answers == {}
    form.write("diagnosis", "limit tripped")
    assert "theirs" in (tmp_path / "service-report-before-1.json").read_text(encoding="utf-8")
    (tmp_path / "service-report.json").write_text("{half", encoding="utf-8")
    form.write("remedy", "Replace the element")
    assert (tmp_path / "service-report-before-2.json").read_text(encoding="utf-8") == "{half"
    assert kept(tmp_path)["form"] == {"diagnosis": "limit tripped", "remedy": "Replace the element"}


def test_a_disk_that_is_full(desk: LabDesk, monkeypatch: pytest.MonkeyPatch) -> None:
    """Is a change that can't be kept refused in words, with what was there before still there?"""
    desk.form().write("diagnosis", "limit tripped")
    widget = show_desk(desk.form())

    def full(*_: object, **__: object) -> None:
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as patch:
        patch.setattr(Path, "write_text", full)
        answer = say(widget, "answer", label="diagnosis", text="element burnt open")
    assert not answer["ok"] and "No space left" in answer["text"] and "not kept" in answer["text"]
    assert widget.state["values"]["diagnosis"]["text"] == "limit tripped"


def test_what_cannot_be_shown_is_answered_all_the_same(
    desk: LabDesk, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A screen sends nothing more until it is answered: does it get a sentence when the desk itself fails?"""
    widget = show_desk(desk.form())

    def broken(_: Form) -> dict[str, Any]:
        raise KeyError("values")

    with monkeypatch.context() as patch:
        patch.setattr(Form, "state", broken)
        answer = say(widget, "check")
    assert (answer["id"], answer["ok"]) == ("1", False)
    assert "not your mistake" in answer["text"]
    assert say(widget, "check")["ok"]


def test_the_bench_redraws_the_desk(desk: LabDesk) -> None:
    """Does an action at the bench show in the desk's log and clock at once, on every screen of that desk?"""
    one, two = show_desk(desk.form()), show_desk(desk.form())
    before = len(one.state["log"])
    desk.the_bench().do("look")
    assert len(one.state["log"]) == len(two.state["log"]) == before + 1
    assert one.state["log"][-1]["text"].startswith("Looked around")
    say(two, "answer", label="diagnosis", text="limit tripped")
    assert one.state["values"]["diagnosis"]["text"] == "limit tripped"


def test_an_older_picture(desk: LabDesk, tmp_path: Path) -> None:
    """Does a desk from before the lab was opened again say so, and change nothing?"""
    old = show_desk(desk.form())
    new = show_desk(open_lab("lab03", tmp_path).form())
    assert say(old, "answer", label="diagnosis", text="limit tripped") == {
        "id": "1",
        "ok": False,
        "text": RETIRED,
    }
    assert new.state["answered"] == 0


@pytest.mark.parametrize(
    "content",
    [None, 7, "x", [], {}, {"do": 3}, {"do": "answer"}, {"do": "answer", "label": [], "text": "x"},
     {"do": "answer", "label": "diagnosis", "text": 7}, {"do": "answer", "label": "diagnosis", "lines": ["x"]},
     {"do": "answer", "label": "diagnosis", "lines": [True, -1]}, {"do": "answer", "label": "nonsense", "text": "x"},
     {"do": "notes"}, {"do": "hand in the house"}, {"id": {}, "do": "check", "x": float("nan")}],
)  # fmt: skip
def test_messages_that_make_no_sense(desk: LabDesk, tmp_path: Path, content: Any) -> None:
    """Is a broken message answered in words, without an error, and with nothing changed?"""
    desk.form().write("diagnosis", "limit tripped")
    before = kept(tmp_path)
    answer = show_desk(desk.form()).receive(content)
    assert answer["ok"] or answer["text"] == UNCLEAR or "no such line" in answer["text"]
    assert kept(tmp_path) == before


@pytest.mark.parametrize("text", ["x" * 1_000_000, "1," * 500_000, "1 " * 300_000])
def test_a_megabyte_pasted(desk: LabDesk, text: str) -> None:
    """Is a megabyte in any field or in the notes refused calmly, with what stood there left?"""
    widget = show_desk(desk.form())
    for label in (FIGURE, *LABELS.values()):
        say(widget, "answer", label=label, text="0")
        answer = say(widget, "answer", label=label, text=text)
        assert not answer["ok"] and "It was left as it was before." in answer["text"]
        assert widget.state["values"][label]["text"] == "0"
    assert not say(widget, "notes", text=text)["ok"]


@pytest.mark.parametrize(
    ("number", "unit", "said"),
    [("abc", "ohm", "can't read 'abc ohm'"), ("10", "", "The unit is missing"), ("1,5", "ohm", "Use a point for decimals"),
     ("10 V", "ohm", "isn't a unit that fits"), ("--5", "ohm", "can't read"), ("9" * 390, "ohm", "can't read")],
)  # fmt: skip
def test_garbage_in_a_number_field(desk: LabDesk, number: str, unit: str, said: str) -> None:
    """Does the field say in place what is wrong, and keep what was typed?"""
    widget = show_desk(desk.form())
    assert say(widget, "answer", label=FIGURE, number=number, unit=unit)["ok"]
    value = widget.state["values"][FIGURE]
    assert said in value["problem"] and value["number"] == number and value["unit"] == unit
    assert widget.state["answered"] == 0, "what can't be read is no answer"


def test_lines_that_arent_there(desk: LabDesk) -> None:
    """Is a log line that doesn't exist yet pointed out?"""
    desk.form().write(LABELS["evidence"], "0, 99")
    assert "There is no line 99 yet" in desk.form().problems()[LABELS["evidence"]]


def whole(form: Form) -> None:
    for figure in LAB.figure:
        form.write(figure.label, "open" if figure.unit == "ohm" else f"1 {figure.unit}")
    form.write("diagnosis", "element burnt open")
    form.write(LABELS["evidence"], "0")
    form.write("remedy", "Replace the element")
    form.write(LABELS["condition"], "in service")


def test_handing_in(desk: LabDesk, tmp_path: Path) -> None:
    """Is one file written, only once all is answered or one insists, with what is on the disk, and noticed when stale?"""
    widget = show_desk(desk.form())
    told = say(widget, "hand in")
    assert [row["label"] for row in told["check"]] == [*(f.label for f in LAB.figure), *LABELS.values()]
    assert not list(tmp_path.glob("*.zip"))
    assert say(widget, "hand in", anyway=True)["package"]["name"]
    assert widget.state["handed"]["stale"] is False
    whole(desk.form())
    assert widget.state["handed"]["stale"] is True
    (tmp_path / "lab03.ipynb").write_text("{}", encoding="utf-8")
    done = say(widget, "hand in")["package"]
    assert done["name"] == f"handin-lab03-{desk.order.order.replace('-', '')}.zip" and done["notebook"]
    with zipfile.ZipFile(tmp_path / done["name"]) as archive:
        assert sorted(archive.namelist()) == [
            f"lab03/{n}" for n in ("bench-log.jsonl", "lab03.ipynb", "service-report.json", "work-order.json")
        ]
        for name in archive.namelist():
            assert archive.read(name) == (tmp_path / name.removeprefix("lab03/")).read_bytes()
    assert not list(tmp_path.glob(".handin*"))


def test_a_lost_order_file(desk: LabDesk, tmp_path: Path) -> None:
    """With the work order's file gone: is that said by name, and is no half file left?"""
    (tmp_path / ORDER_NAME).unlink()
    answer = say(show_desk(desk.form()), "hand in", anyway=True)
    assert not answer["ok"] and answer["text"].startswith("work-order.json isn't in the lab's folder")
    assert not list(tmp_path.glob("*handin*"))


def test_a_practice_order_is_finished_not_handed_in(tmp_path: Path) -> None:
    """Does practice end with marks, the fault and both paths, and a class's order with none of them?"""
    lab = open_lab("lab03", tmp_path)
    whole(lab.form())
    widget = show_desk(lab.form())
    assert "practice order" in say(widget, "hand in")["text"]
    done = say(widget, "finish")["finished"]
    assert {p["name"] for p in done["parts"]} == {
        "Safe working",
        "Evidence",
        "Diagnosis",
        "Remedy",
        "Figures",
    }
    assert (
        done["picture"].startswith("<svg") and done["fault"] and 0 <= done["total"] <= done["out_of"] == 100
    )
    given: WorkOrder = order()
    other = tmp_path / "class"
    other.mkdir()
    write_order_file(given, other / ORDER_NAME, KEY)
    shown = show_desk(open_lab("lab03", other).form())
    assert "Marks come from your instructor" in say(shown, "finish", anyway=True)["text"]
    with pytest.raises(TanksideError, match="Hints are for practice"):
        shown.form.hint(1)
