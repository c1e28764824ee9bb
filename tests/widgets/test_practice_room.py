"""Does the practice room hand out call-outs that can be solved, keep them, and count what they show?"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from tankside import practice_screen as room_module
from tankside.bench.log import LOG_NAME
from tankside.errors import TanksideError, WorkOrderError
from tankside.faults.catalogue import faults, remedies
from tankside.practice import LEVELS, TOPICS, topic_faults, topic_of, topic_order, topic_scope
from tankside.practice_screen import PracticeRoom, practice_room
from tankside.report import LABELS
from tankside.widgets.practice_room_widget import LOOKING, UNCLEAR, PracticeRoomWidget


def test_every_fault_has_its_topic() -> None:
    """Is each fault of the catalogue in one topic, those on one heater's mains side under mains, and none in none?"""
    without = [fault.id for fault in faults().values() if topic_of(fault) is None]
    assert without == ["no-fault"]
    assert {topic_of(fault) for fault in faults().values()} == {None, *TOPICS}
    # A heater without gas has mains, water and an anode; whatever fails on it belongs to one of these.
    from tankside.heater.model import load_model

    heron = load_model("heron_6")
    here = {topic_of(f) for f in faults().values() if f.applies_to(heron)}
    assert here <= {"mains", "water", "anode", None}


@pytest.mark.parametrize("topic", ["mains", "anode"])
def test_orders_of_a_topic(topic: str) -> None:
    """Is each order proven, of the topic, the same again for the same number, and another for another?"""
    orders = [topic_order(topic, 1, n) for n in (1, 2)]
    for order in orders:
        assert order.learner is None and order.proof["difficulty"] >= LEVELS[1][1]
        fault = order.case().fault
        assert topic_of(fault) == topic and fault.id in order.scope
        assert set(order.scope) <= set(topic_faults(topic)[order.model])
    assert topic_order(topic, 1, 1) == orders[0]
    assert orders[0].seed != orders[1].seed


@pytest.mark.parametrize("topic", TOPICS)
def test_easy_handfuls_come_round(topic: str) -> None:
    """Over enough easy call-outs, does every fault of the topic come into scope on every heater?"""
    for model, every in topic_faults(topic).items():
        hands = [topic_scope(topic, 1, model, n) for n in range(1, 12)]
        assert {f for hand in hands for f in hand} == set(every)
        assert max(map(len, hands)) <= 6 or len(every) <= 6
        assert topic_scope(topic, 2, model, 1) == every


@pytest.mark.parametrize(
    ("topic", "level", "number"),
    [("cars", 1, 1), ("mains", 4, 1), ("mains", True, 1), ("mains", 1, 0), ("mains", 1, 1.5)],
)
def test_what_there_is_not(topic: str, level: Any, number: Any) -> None:
    """Is a topic, level or number that there isn't answered in a sentence?"""
    with pytest.raises(TanksideError):
        topic_order(topic, level, number)


@pytest.fixture
def room(tmp_path: Path) -> PracticeRoom:
    one = practice_room(tmp_path)
    one.start("mains", 1)
    return one


def solve(room: PracticeRoom) -> None:
    """A report with the right answers, out of nothing: enough to see what is counted."""
    form = room.form
    assert form is not None
    fault = form.order.case().fault
    form.write("diagnosis", fault.name)
    form.write("remedy", remedies()[fault.remedy].name)
    form.write(LABELS["evidence"], "0")
    form.write(LABELS["condition"], "in service")


def test_nothing_is_lost(room: PracticeRoom, tmp_path: Path) -> None:
    """After the kernel ended: is the same call-out open, with its log, its report, its hints?"""
    assert room.form is not None and room.open is not None
    room.form.bench().do("look")
    solve(room)
    room.hint(1)
    room.why_not(room.view()["open"]["faults"][0]["text"])
    again = practice_room(tmp_path)
    assert again.form is not None
    assert again.form.state() == room.form.state()
    assert again.view() == room.view()
    assert again.open == room.open and len(again.open["hints"]) == 1


def test_the_first_finish_counts_once(room: PracticeRoom, tmp_path: Path) -> None:
    """Is one result kept for a call-out, however often it is finished, right only if it was passed?"""
    assert room.form is not None
    solve(room)
    done = [room.form.finish() for _ in range(3)]
    results = room.store.results()
    assert [(r.item, r.good) for r in results] == [("call-out/mains/1", done[0]["passed"])]
    again = practice_room(tmp_path)
    assert again.form is not None
    again.form.finish()
    assert len(again.store.results()) == 1
    assert again.view()["open"]["finished"]


def test_the_third_hint_moves_nobody_on(room: PracticeRoom, monkeypatch: pytest.MonkeyPatch) -> None:
    """Passed, but with the hint that names the test: is it kept as not right?"""
    assert room.form is not None
    room.hint(3)
    room._finish({"passed": True, "total": 90.0, "out_of": 100})
    assert [r.good for r in room.store.results()] == [False]


def test_a_new_one_each_time(room: PracticeRoom, tmp_path: Path) -> None:
    """Is each start another call-out in a folder of its own, with the one before left as it was?"""
    assert room.form is not None
    room.form.bench().do("look")
    first = room.form.folder
    before = {p.name: p.read_bytes() for p in first.iterdir()}
    room._next()
    assert room.form.folder != first and room.open is not None and room.open["number"] == 2
    assert {p.name: p.read_bytes() for p in first.iterdir()} == before
    room.leave()
    assert practice_room(tmp_path).view()["open"] is None
    assert (first / LOG_NAME).exists()


@pytest.mark.parametrize("text", ["", "{", "[]", '{"open": {"order": 7}}', '{"open": {"order": "../..", "topic": "mains", "level": 1, "number": 1, "hints": []}, "numbers": {}, "finished": []}', '{"numbers": {"mains/1": "x"}, "finished": [], "open": null}'])  # fmt: skip
def test_a_room_file_that_is_damaged(room: PracticeRoom, tmp_path: Path, text: str) -> None:
    """Does the room open with a sentence, and is the next call-out one that writes over none?"""
    assert room.form is not None
    order = (room.form.folder / "practice-order.json").read_bytes()
    (tmp_path / "room.json").write_text(text, encoding="utf-8")
    again = practice_room(tmp_path)
    assert again.view()["trouble"] and again.view()["open"] is None
    again.start("mains", 1)
    assert (room.form.folder / "practice-order.json").read_bytes() == order


def test_a_topic_that_cant_be_proven(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """When no order can be made, is that said, the topic no longer offered, and what was open still open?"""
    room = practice_room(tmp_path)
    room.start("mains", 1)
    assert room.open is not None
    before = dict(room.open)

    def none(*_: object) -> None:
        raise WorkOrderError("No call-out on water can be proven at the bench yet. Choose another topic.")

    monkeypatch.setattr(room_module, "topic_order", none)
    widget = PracticeRoomWidget(room)
    answer = widget.receive({"id": "1", "do": "start", "topic": "water", "level": 1})
    assert answer == {"id": "1", "ok": False, "text": "No call-out on water can be proven at the bench yet. Choose another topic."}  # fmt: skip
    water = next(t for t in widget.room["topics"] if t["id"] == "water")
    assert not water["ready"] and room.open == before


@pytest.mark.parametrize("content", [None, 7, "x", [], {}, {"do": "start"}, {"do": "start", "topic": "cars", "level": 1}, {"do": "start", "topic": "mains", "level": "1"}, {"do": "hint"}, {"do": "hint", "level": 9}, {"do": "why", "fault": "gremlins"}, {"do": "why", "fault": "x" * 1_000_000}])  # fmt: skip
def test_messages_that_make_no_sense(room: PracticeRoom, content: Any) -> None:
    """Is a broken wish answered in words, without an error, with the call-out still open?"""
    before = json.dumps(room.open)
    answer = PracticeRoomWidget(room).receive(content)
    assert not answer["ok"] and (answer["text"] == UNCLEAR or len(answer["text"]) < 400)
    assert json.dumps(room.open) == before


def test_without_an_open_call_out(tmp_path: Path) -> None:
    """Is a hint without a call-out refused calmly, and is one told that looking takes a while?"""
    widget = PracticeRoomWidget(practice_room(tmp_path))
    assert widget.receive({"do": "hint", "level": 1})["text"] == "No call-out is open. Start one first."
    seen: list[str] = []
    widget.observe(lambda change: seen.append(change["new"]["busy"]), "room")
    widget.receive({"do": "start", "topic": "mains", "level": 1})
    assert seen == [LOOKING, ""]
