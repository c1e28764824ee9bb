"""Does the reference technician work every lab's orders safely, to the end, and for full marks?"""

from __future__ import annotations

import json
from functools import cache
from pathlib import Path

import pytest

from tankside.bench import Bench
from tankside.bench.replay import replay
from tankside.figures.mains import written
from tankside.labs import Lab, lab_ids, load_lab
from tankside.notebook import answer_lines
from tankside.practice import practice_order
from tankside.report import build_report, parse_answers
from tankside.scoring import left_undone, score
from tankside.workorder import WorkOrder
from tankside_autograder.reference import solve

ORDERS = range(1, 7)


# One worker for all tests of a lab: they look at the same work.
@pytest.fixture(params=[pytest.param(x, marks=pytest.mark.xdist_group(f"reference-{x}")) for x in lab_ids()])
def lab(request: pytest.FixtureRequest) -> Lab:
    return load_lab(request.param)


@cache
def worked(lab_id: str, number: int = 1) -> tuple[WorkOrder, tuple[str, ...], dict[str, str]]:
    """An order of a lab, the reference technician's log and the answers; worked once, whatever is asked of it."""
    lab = load_lab(lab_id)
    order = practice_order(lab, number)
    lines, answers = solve(order, lab)
    return order, tuple(lines), answers


def test_full_marks(lab: Lab) -> None:
    """Does it get all points on the order that the notebooks solve, and all but a little of its pace on others?

    Where two faults can't be told apart but need one repair, it may name the wrong one of the two.
    """
    for number in ORDERS:
        order, lines, answers = worked(lab.id, number)
        report, problems = build_report(lab, answers)
        marks = score(order, report, lines, lab)
        lost = [(part.id, r.text) for part in marks.parts for r in part.reasons if part.points < part.out_of]
        assert not problems and not marks.findings and not marks.unsafe and marks.passed, (order.order, lost)
        # A survey from the outside in isn't the shortest path; that may cost a point of the evidence.
        least = 100.0 if number == 1 else 99.0
        if len(marks.candidates) > 1:
            least -= 0.4 * lab.weights["diagnosis"]
        assert marks.total >= least, (order.order, lost)


def test_nothing_broken_and_nothing_left_undone(lab: Lab) -> None:
    """Does doing its log again break no safety rule and leave covers on, leads on, tank full?"""
    for number in ORDERS:
        order, lines, _ = worked(lab.id, number)
        done = replay(order, lines)
        assert done.broke == [] and done.state is not None and left_undone(done.state) == []


def test_answers_every_question_with_the_labels_asked(lab: Lab) -> None:
    """Are its labels the ones of the lab's answer cells, each with an answer?"""
    asked = [line.partition("=")[0].strip() for line in answer_lines(lab).splitlines()]
    _, _, answers = worked(lab.id)
    assert list(answers) == asked and all(answers.values())
    text = "\n".join(f"{label} = {value}" for label, value in answers.items())
    assert list(parse_answers(text).values()) == list(answers.values())


def test_the_log_on_disk_is_the_log_returned(lab: Lab, tmp_path: Path) -> None:
    """Can the bench be opened again from the file it leaves, and does a second run give the same?"""
    order, path = practice_order(lab), tmp_path / "bench-log.jsonl"
    lines, answers = solve(order, lab, path)
    assert [json.loads(line) for line in path.read_text(encoding="utf-8").splitlines()] == [
        json.loads(line) for line in lines
    ]
    assert len(Bench(order, path).entries) == len(lines)
    assert worked(lab.id) == (order, tuple(lines), answers)


@pytest.mark.parametrize(
    ("reading", "text"),
    [
        ({"function": "V~", "value": 119.6, "digits": "119.6", "unit": "V"}, "119.6 V"),
        ({"function": "Ω", "value": 10.2, "digits": "10.2", "unit": "Ω"}, "10.2 ohm"),
        ({"function": "Ω", "value": 2379.0, "digits": "2.379", "unit": "kΩ"}, "2.379 kohm"),
        ({"function": "Ω", "value": 4.8e7, "digits": "47.77", "unit": "MΩ"}, "open"),
        ({"function": "Ω", "value": None, "digits": "OL", "unit": "MΩ"}, "open"),
    ],
)
def test_how_a_reading_is_written(reading: dict[str, object], text: str) -> None:
    """Is a reading written with its unit, and no circuit as "open"?"""
    assert written(reading) == text
