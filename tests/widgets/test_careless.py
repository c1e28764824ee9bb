"""Does a lesson's or a practice bench say at once that an act was careless, and does a class's lab keep still?"""

from __future__ import annotations

from typing import Any

import pytest

from tankside.bench.rules import RULES
from tankside.notebook import plain_bench
from tankside.widgets.bench_widget import show_bench
from tankside.widgets.text_bench import TextBench
from tests.widgets.benches import real_bench
from tests.widgets.stage import Stage

OFF: list[tuple[str, dict[str, Any]]] = [
    ("open cover", {"place": "heater-front"}),
    ("switch", {"part": "breaker", "position": "off"}),
]
PROVEN: list[tuple[str, dict[str, Any]]] = [("lock out", {}), ("prove dead", {"place": "heater-front"})]


def said(bench: Any, *steps: tuple[str, dict[str, Any]]) -> list[str]:
    """What the bench's widget says beside each action's own sentence."""
    widget = show_bench(bench)
    told = []
    for k, (verb, args) in enumerate(steps):
        answer = widget.receive({"id": str(k), "verb": verb, "args": args})
        assert answer["ok"], answer
        told.append(answer.get("heed", ""))
    return told


def test_hands_on_dead_wiring_without_lock_or_proof() -> None:
    """Is each rule named that was broken, with what to do instead, and only then?"""
    *quiet, told = said(plain_bench(), *OFF, ("lift lead", {"wire": "W10"}))
    assert not any(quiet)
    for rule in (RULES["no-lock-out"], RULES["not-proven-dead"]):
        assert rule.name in told
        assert rule.instead in told


def test_nothing_is_said_of_safe_hands() -> None:
    """Locked out and proven dead first: does the bench keep still?"""
    assert not any(said(plain_bench(), *OFF, *PROVEN, ("lift lead", {"wire": "W10"})))


def test_a_dangerous_act_is_left_to_the_stop() -> None:
    """Hands on a live wire stop the bench, which says why: isn't it said a second time as careless?"""
    bench = plain_bench()
    *_, told = said(bench, OFF[0], ("run tap", {"minutes": 10}), ("lift lead", {"wire": "W10"}))
    assert bench.state.stopped
    assert RULES["hands-on-live"].name not in told


def test_a_class_order_is_not_coached() -> None:
    """The same act on an order that was handed out to a learner: is nothing said, though the log keeps it for the marks?"""
    bench = real_bench()
    assert bench.order.learner is not None
    assert not any(said(bench, *OFF, ("lift lead", {"wire": "W10"})))
    assert bench.entries[-1]["result"]["broke"]


def test_typed_words_get_it_too() -> None:
    """Does the bench in plain text say it after the action's sentence?"""
    text = TextBench(plain_bench())
    for line in ("open heater front", "breaker off"):
        assert "Careless" not in text.type(line)
    assert f"\nCareless: {RULES['no-lock-out'].name}." in text.type("lift W10")


@pytest.mark.browser
def test_it_stands_on_the_screen(page: Any) -> None:
    """Is it seen beside the meter and by the hands, marked as a warning, and gone with the next act?"""
    bench = plain_bench()
    for verb, args in OFF:
        bench.do(verb, **args)
    Stage(page, {"a": show_bench(bench)}, ["view", "answer"])
    page.locator(".ts-actions button", has_text="Lift W10").click()
    for place in (".ts-say.ts-calm", ".ts-near.ts-calm"):
        page.locator(place, has_text=RULES["not-proven-dead"].instead).wait_for()
    page.locator(".ts-actions button", has_text="Look at the switches").click()
    page.locator(".ts-say:not(.ts-calm)", has_text="Looked around").wait_for()
