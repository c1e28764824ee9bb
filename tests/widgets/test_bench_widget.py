"""Does the bench's widget pass actions on, answer calmly, and keep benches apart? No browser, no kernel."""

from __future__ import annotations

import json
import logging
from typing import Any

import pytest

from tankside.errors import BenchError
from tankside.heater.model import model_names
from tankside.notebook import plain_bench
from tankside.widgets.bench_widget import BEHIND, RETIRED, UNCLEAR, BenchWidget, show_bench
from tankside.widgets.costs import COSTS
from tankside.widgets.difference import apply
from tankside.widgets.difference import step as what_changed
from tests.widgets.benches import real_bench


class Wire:
    """Stands where the notebook's connection would: keeps what the widget sends."""

    comm_id = "test"

    def __init__(self) -> None:
        self.sent: list[dict[str, Any]] = []

    def send(self, data: Any = None, **_: Any) -> None:
        self.sent.append(data)

    def open(self, *_: Any, **__: Any) -> None: ...
    def close(self, *_: Any, **__: Any) -> None: ...
    def on_msg(self, *_: Any) -> None: ...


def wired(widget: BenchWidget) -> Wire:
    wire = Wire()
    widget.comm = wire
    return wire


def message(widget: BenchWidget, verb: str, number: str = "1", **args: Any) -> dict[str, Any]:
    return {"id": number, "verb": verb, "args": args, "seen": widget.view["log"][-1]["seq"]}


def test_one_message_one_update() -> None:
    """Does one action give exactly one small update, with what has changed and the answer in it?"""
    widget = show_bench(real_bench())
    wire = wired(widget)
    before = widget.view
    widget._handle_custom_msg(message(widget, "open cover", place="heater-front"), [])
    assert [data["method"] for data in wire.sent] == ["update"]
    state = wire.sent[0]["state"]
    assert set(state) == {"step", "answer"}
    assert state["answer"] == {"id": "1", "ok": True, "text": widget.bench.entries[-1]["text"]}
    step = state["step"]
    assert [line["text"] for line in step["lines"]] == [widget.bench.entries[-1]["text"]]
    drawn = apply({**before, "log": [*before["log"], *step["lines"]]}, step["changes"])
    assert {**drawn, "stamp": step["stamp"]} == widget.view
    assert len(json.dumps(step, ensure_ascii=False)) < len(json.dumps(before, ensure_ascii=False)) / 4


def test_the_whole_view_is_there_for_a_page_that_opens() -> None:
    """Does the widget's state hold the whole view as it is now, and does a front end that is behind get it?"""
    widget = show_bench(real_bench())
    wire = wired(widget)
    widget._handle_custom_msg(message(widget, "look"), [])
    assert widget.get_state()["view"]["log"][-1]["text"] == widget.bench.entries[-1]["text"]
    wire.sent.clear()
    widget._handle_custom_msg({"id": "w", "whole": True}, [])
    assert wire.sent[0]["state"]["view"]["log"] == widget.view["log"]
    wire.sent.clear()
    late = message(widget, "wait", "late", minutes=5)
    widget.bench.look()
    widget._handle_custom_msg(late, [])
    assert wire.sent[0]["state"]["answer"]["text"] == BEHIND
    assert len(wire.sent[0]["state"]["view"]["log"]) == len(widget.bench.entries)


@pytest.mark.parametrize("model", model_names())
def test_changes_add_up_to_the_view(model: str) -> None:
    """Over a walk of actions, do the changes alone keep a copy of the view equal to the view itself?"""
    bench = plain_bench("no-fault", model)
    copy = {**bench.view()}
    switches = [s["id"] for s in copy["switches"]]
    steps: list[tuple[str, dict[str, Any]]] = [
        ("open cover", {"place": p["id"]}) for p in copy["places"] if p["cover"]
    ]
    steps += [
        ("switch", {"part": s, "position": p})
        for s in switches
        for p in bench.state.model.types[s].positions[::-1]
    ]
    steps += [("run tap", {"minutes": 10}), ("wait", {"minutes": 30}), ("look", {})]
    for verb, args in steps:
        if bench.state.stopped:
            bench.make_safe()
        else:
            bench.do(verb, **args)
        step = what_changed(copy, bench.view())
        assert step is not None
        copy = apply({**copy, "log": [*copy["log"], *step["lines"]]}, step["changes"])
        assert copy == bench.view()


def test_the_reading_is_the_benchs() -> None:
    """Is what the widget shows what the bench itself says?"""
    bench = real_bench()
    widget = show_bench(bench)
    widget.receive(message(widget, "probe", red="supply.hot", black="supply.neutral"))
    assert widget.view["meter"]["reading"] == bench.view()["meter"]["reading"]
    assert widget.view["meter"]["reading"]["digits"] == bench.entries[-1]["result"]["reading"]["digits"]


@pytest.mark.parametrize(
    ("verb", "args", "words"),
    [
        ("probe", {"red": "element.1", "black": "element.2"}, "cover"),
        ("probe", {"red": "supply.hot", "black": "supply.hot"}, "same terminal"),
        ("probe", {"red": "supply.hott", "black": "supply.neutral"}, "supply.hot"),
        ("wait", {"minutes": "ten"}, "minutes"),
        ("wait", {"minutes": float("nan")}, "minutes"),
        ("dance", {}, "dance"),
    ],
)
def test_what_cannot_be_done_comes_back_as_a_sentence(verb: str, args: dict[str, Any], words: str) -> None:
    """Is an impossible action answered in words, with nothing written to the log?"""
    widget = show_bench(real_bench())
    before = len(widget.bench.entries)
    answer = widget.receive(message(widget, verb, **args))
    assert not answer["ok"]
    assert words in answer["text"]
    assert "Traceback" not in answer["text"]
    assert len(widget.bench.entries) == before


@pytest.mark.parametrize(
    "content",
    [
        None, 7, "probe", [], {}, {"verb": 3}, {"verb": "wait", "args": []}, {"verb": "wait", "args": {3: 4}},
        {"verb": "wait", "args": {"verb": "x"}}, {"id": ["x"], "verb": None},
    ],
)  # fmt: skip
def test_a_broken_message_is_answered_calmly(content: Any) -> None:
    """Does a message that makes no sense do nothing and say so?"""
    widget = show_bench(real_bench())
    answer = widget.receive(content)
    assert answer == {"id": "", "ok": False, "text": UNCLEAR} or answer["text"] == UNCLEAR
    assert len(widget.bench.entries) == 1


def test_wrong_arguments_are_not_a_traceback() -> None:
    """Is an argument that the bench doesn't expect answered, not raised?"""
    widget = show_bench(real_bench())
    answer = widget.receive(message(widget, "switch", part=["breaker"], position="off"))
    assert not answer["ok"]


def test_the_same_message_twice_is_done_once() -> None:
    """Is a message that arrives again (after a reconnection) answered, but not done again?"""
    widget = show_bench(real_bench())
    sent = message(widget, "wait", "w-1", minutes=5)
    first = widget.receive(sent)
    assert widget.receive(sent) == first
    assert [e["verb"] for e in widget.bench.entries] == ["begin", "wait"]


def test_a_picture_that_is_behind_does_nothing() -> None:
    """Is an action refused when the bench has moved on since the picture was drawn, and the picture renewed?"""
    widget = show_bench(real_bench())
    late = message(widget, "wait", minutes=5)
    widget.bench.look()
    answer = widget.receive(late)
    assert (answer["ok"], answer["text"]) == (False, BEHIND)
    assert widget.bench.entries[-1]["verb"] == "look"
    assert widget.view["log"][-1]["seq"] == 1


def test_two_pictures_of_one_bench_agree() -> None:
    """Does a second picture of the same bench follow what is done on the first?"""
    bench = real_bench()
    one, two = show_bench(bench), show_bench(bench)
    one.receive(message(one, "look"))
    assert two.view == one.view


def test_two_benches_share_nothing() -> None:
    """Does an action on one bench leave another bench, and its picture, alone?"""
    one, two = show_bench(real_bench()), show_bench(real_bench())
    before = two.view
    one.receive(message(one, "switch", part="breaker", position="off"))
    assert two.view == before
    assert two.answer == {}


def test_an_older_picture_of_a_reopened_bench_is_retired(tmp_path) -> None:
    """When the same log is opened as a new bench, does the old picture say so, and stop acting?"""
    log = tmp_path / "bench-log.jsonl"
    old = show_bench(real_bench(log_path=log))
    old.receive(message(old, "look"))
    new = show_bench(real_bench(log_path=log))
    answer = old.receive(message(old, "wait", "late", minutes=5))
    assert (answer["ok"], answer["text"]) == (False, RETIRED)
    assert [e["verb"] for e in new.bench.entries] == ["begin", "look"]
    assert new.receive(message(new, "look"))["ok"]
    assert len(log.read_text(encoding="utf-8").splitlines()) == 3


def test_a_fault_of_ours_says_so(caplog) -> None:
    """Is a bug inside the bench told apart from a learner's mistake, and written to the log of the program?"""

    class Broken:
        def view(self) -> dict[str, Any]:
            return {"log": [{"seq": 0}]}

        def do(self, verb: str, **_: Any) -> Any:
            raise ZeroDivisionError

    widget = BenchWidget(Broken())
    with caplog.at_level(logging.ERROR):
        answer = widget.receive({"id": "1", "verb": "look", "args": {}, "seen": 0})
    assert "not your mistake" in answer["text"]
    assert "look" in caplog.text


def test_the_minutes_on_the_buttons_are_the_logs() -> None:
    """Does each action cost what its button says?"""
    bench = real_bench()
    steps: list[tuple[str, dict[str, Any]]] = [
        ("open cover", {"place": "heater-front"}),
        ("switch", {"part": "breaker", "position": "off"}),
        ("lock out", {}),
        ("prove dead", {"place": "heater-front"}),
        ("lift lead", {"wire": "W10"}),
        ("land lead", {"wire": "W10"}),
        ("meter", {"function": "Ω"}),
        ("zero leads", {}),
        ("probe", {"red": "element.1", "black": "element.2"}),
        ("close cover", {"place": "heater-front"}),
        ("look", {}),
        ("drain", {}),
        ("fill", {}),
        ("temperature", {}),
        ("unlock", {}),
        ("prove operation", {}),
    ]
    gas = plain_bench("no-fault", "smew_10")
    gas.open_cover("heater-front")
    points = gas.view()["gas"]
    gas_steps: list[tuple[str, dict[str, Any]]] = [
        ("sniff", {"place": points["sniff"][0]["id"]}),
        ("gas pressure", {"tap": points["taps"][0]["id"]}),
        ("soap test", {"part": points["joints"][0]["id"]}),
        *(("inspect", {"part": part["id"]}) for part in points["inspect"] if not part["apart"]),
    ]
    looks = {part["id"]: part["minutes"] for part in points["inspect"]}
    for verb, args in gas_steps:
        said = looks[args["part"]] if verb == "inspect" else COSTS[verb]
        assert gas.do(verb, **args).entry["minutes"] == pytest.approx(said), verb
    for verb, args in steps:
        prices = {a["verb"]: a["minutes"] for a in bench.view()["actions"]} | COSTS
        assert bench.do(verb, **args).entry["minutes"] == pytest.approx(prices[verb]), verb
    assert set(COSTS) <= {verb for verb, _ in [*steps, *gas_steps]}


def test_bench_errors_are_the_kind_that_is_caught() -> None:
    """Does the bench refuse with the error that the widget turns into a sentence?"""
    with pytest.raises(BenchError):
        real_bench().do("unlock")
