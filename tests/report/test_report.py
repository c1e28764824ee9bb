"""Are answers read as a person means them, and are those that can't be read told how to write them?"""

from __future__ import annotations

import json
import math
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tankside.errors import AnswerError
from tankside.faults.catalogue import faults, remedies
from tankside.heater.model import load_model
from tankside.labs import lab_ids, load_lab
from tankside.notebook import open_lab
from tankside.report import LABELS, MAX_TEXT, build_report, fault_list, parse_answers, read_measure

LAB = load_lab("lab03")


@pytest.mark.parametrize(
    ("text", "unit", "value"),
    [
        ("119.6 V", "V", 119.6),
        ("119.6V", "V", 119.6),
        ("119.6 volts", "V", 119.6),
        ("1.2e2 V", "V", 120.0),
        ("-3 V", "V", -3.0),
        ("\u22123 V", "V", -3.0),  # a typographer's minus
        ("12 A", "A", 12.0),
        ("850 mA", "A", 0.85),
        ("1,440 W", "W", 1440.0),
        ("1.44 kW", "W", 1440.0),
        ("10.2 ohm", "ohm", 10.2),
        ("10.2 \u03a9", "ohm", 10.2),  # Greek capital omega
        ("10.2 \u2126", "ohm", 10.2),  # the ohm sign
        ("10.2\u03c9", "ohm", 10.2),
        ("5.1 k\u03a9", "ohm", 5100.0),
        ("5.1 kohm", "ohm", 5100.0),
        ("5.1k", "ohm", 5100.0),
        ("2 M\u03a9", "ohm", 2e6),
        ("2 megohms", "ohm", 2e6),
        (".5 ohm", "ohm", 0.5),
        ("+7. ohm", "ohm", 7.0),
    ],
)
def test_numbers(text: str, unit: str, value: float) -> None:
    """Is a number in any usual way of writing it read for what it is?"""
    assert read_measure("label", text, unit).value == pytest.approx(value, rel=1e-12)


@pytest.mark.parametrize("text", ["open", "OL", "O.L.", "Open circuit", "no continuity", "infinite"])
def test_open(text: str) -> None:
    """Is "open" read as an answer on ohms, and refused on volts?"""
    assert read_measure("label", text, "ohm").open
    with pytest.raises(AnswerError, match="number with its unit"):
        read_measure("label", text, "V")


@pytest.mark.parametrize(
    ("text", "hint"),
    [
        ("nan", "number with its unit"),
        ("inf ohm", "number with its unit"),
        ("ten", "number with its unit"),
        ("10,5", "point for decimals"),
        ("10,5 ohm", "point for decimals"),
        ("10", "unit is missing"),
        ("10 V", "isn't a unit that fits"),
        ("10 m\u03a9", "isn't a unit that fits"),  # milliohm, or meant for megohm: ask
        ("10 mohm", "isn't a unit that fits"),
        ("10 ohm or so", "isn't a unit that fits"),
        ("10 to 11 ohm", "isn't a unit that fits"),
        ("", "number with its unit"),
        ("x" * 100_000, "number with its unit"),
        ("9" * 400 + " ohm", "number with its unit"),
    ],
    ids=range(14),
)
def test_what_cannot_be_read(text: str, hint: str) -> None:
    """Does it say which answer, what was written, and how to write it, in one short sentence or two?"""
    with pytest.raises(AnswerError, match=hint) as caught:
        read_measure("element resistance", text, "ohm")
    assert str(caught.value).startswith("element resistance: ") and len(str(caught.value)) < 250


@given(st.text(max_size=80), st.sampled_from(["V", "A", "W", "ohm"]))
def test_any_text(text: str, unit: str) -> None:
    """Whatever is written: is it a finite number, open, or an answer error?"""
    try:
        found = read_measure("label", text, unit)
    except AnswerError:
        return
    assert found.open or (found.value is not None and math.isfinite(found.value))


@given(st.floats(min_value=1e-6, max_value=1e9), st.sampled_from(["V", "A", "W", "ohm"]))
def test_round_trip(value: float, unit: str) -> None:
    """Is what one would write of a number read back as that number?"""
    for text in (f"{value:.6g} {unit}", f"{value!r} {unit}"):
        assert read_measure("label", text, unit).value == pytest.approx(value, rel=1e-5)


def test_answer_lines() -> None:
    """Are labels read whatever their case and spaces, comments and blanks left out, and does a later line win?"""
    text = (
        "# a note\n%%answers\ndiagnosis = first\n\nDIAGNOSIS   =  second = third \nremedy =\nno equals sign\n"
    )
    assert parse_answers(text) == {"diagnosis": "second = third"}
    assert len(parse_answers("x = 1\n" * 1_000_000)) == 1
    assert parse_answers("diagnosis = a\r\nremedy = b") == {"diagnosis": "a", "remedy": "b"}


def test_an_answer_wiped_out_is_gone(tmp_path: Path) -> None:
    """With an answer's line left blank and its cell run again: is the answer gone, and every other one kept?"""
    desk = open_lab("lab03", tmp_path)
    desk.take_answers("diagnosis = element burnt open\nremedy = Replace the element")
    desk.take_answers("diagnosis =\n")
    assert desk.answers == {"remedy": "Replace the element"}
    assert desk.report()[0].diagnosis is None
    kept = json.loads((tmp_path / "service-report.json").read_text(encoding="utf-8"))
    assert kept["answers"] == desk.answers


@given(st.text(max_size=300))
def test_any_cell(text: str) -> None:
    """Whatever a cell holds: is there a report, and a sentence for each answer that is missing or wrong?"""
    report, problems = build_report(LAB, parse_answers(text))
    assert problems and all(isinstance(problem, str) and problem for problem in problems)
    assert report.diagnosis is None or report.diagnosis in LAB.faults


@pytest.mark.parametrize("lab_id", lab_ids())
def test_whole_report(lab_id: str) -> None:
    """With every answer given by its words from the list: is the report whole, without a problem?"""
    lab = load_lab(lab_id)
    listed = {row for model in lab.models for row in fault_list(lab, load_model(model))}
    assert {fault for _, _, fault in listed} == set(lab.faults)  # no fault that none of the lab's heaters can have
    for name, _, fault in sorted(listed):
        answers = {figure.label: f"1.0 {figure.unit}" for figure in lab.figure}
        answers |= {
            "Diagnosis": name.upper(),
            LABELS["evidence"]: "3, 4 and 5",
            "remedy": f"{remedies()[faults()[fault].remedy].name}.",
            LABELS["condition"]: "in service",
        }
        report, problems = build_report(lab, answers)
        assert problems == []
        assert (report.diagnosis, report.remedy, report.evidence) == (
            fault,
            faults()[fault].remedy,
            (3, 4, 5),
        )
        assert set(report.figures) == {figure.id for figure in lab.figure}


def test_near_misses_are_told() -> None:
    """Does a misspelt answer get the right words, and an unknown label get named?"""
    _, problems = build_report(
        LAB, {"diagnosis": "element burnt opn", "remedi": "x", LABELS["evidence"]: "seven"}
    )
    assert any("Did you mean 'element burnt open'?" in problem for problem in problems)
    assert any(problem.startswith("remedi: this label isn't asked for") for problem in problems)
    assert any("Write the numbers of log lines" in problem for problem in problems)


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("anode", "More than one fault has that in its name."),
        ("rod too thin", "Did you mean 'anode rod too thin'?"),
        ("anode-zink", "Did you mean 'zinc anode instead of magnesium'?"),
        ("gremlin", "Pick one fault from the list"),
    ],
)
def test_what_is_suggested_is_a_name_that_people_read(typed: str, said: str) -> None:
    """Is a part of a name, or a slip in a fault's short name, answered with the words of the list?"""
    _, problems = build_report(load_lab("lab10"), {"diagnosis": typed})
    assert any(said in problem for problem in problems), problems


def test_a_megabyte_of_answer() -> None:
    """Is a text of a megabyte in any field read or refused with a short sentence?"""
    for label in (*(figure.label for figure in LAB.figure), *LABELS.values(), "x" * MAX_TEXT):
        for text in ("A" * 1_000_000, "1 " * 500_000, "1," * 500_000, "9" * 1_000_000):
            _, problems = build_report(LAB, {label: text})
            assert all(len(problem) < 400 for problem in problems)
