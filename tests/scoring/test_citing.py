"""Is a cited line worth what it tells, whichever came first of the readings that tell the same?"""

from __future__ import annotations

from collections.abc import Sequence

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tankside.bench import Bench
from tankside.diagnosis.candidates import candidates
from tankside.report import ServiceReport
from tankside.scoring import narrowing_lines, score
from tests.orders import OPEN_ALL, do_all, log_of, order_hiding
from tests.strategies import Step

ORDER = order_hiding("panel-switch-failed")
VOLTS: list[tuple[str, str]] = [
    ("supply.hot", "supply.neutral"), ("supply.hot", "supply.ground"), ("panel_switch.line", "panel_switch.load"),
    ("junction_box.hot_in", "junction_box.neutral_in"), ("heater_switch.line", "heater_switch.load"),
    ("thermostat.line", "thermostat.load"), ("element.1", "element.2"), ("element.1", "tank.shell"),
]  # fmt: skip


def probes(*pairs: tuple[str, str]) -> list[Step]:
    return [("probe", {"red": red, "black": black}) for red, black in pairs]


def work(steps: Sequence[Step]) -> list[str]:
    bench = Bench(ORDER)
    assert not do_all(bench, [*OPEN_ALL, *steps])
    return log_of(bench)


FIRST = 1 + len(OPEN_ALL)
"""The line of the first reading."""


def citing(log: list[str], *lines: int) -> float:
    """Points for citing these lines: what a report that cites nothing lacks."""

    def points(cited: tuple[int, ...]) -> float:
        return (
            score(ORDER, ServiceReport(diagnosis="panel-switch-failed", evidence=cited), log)
            .part("evidence")
            .points
        )

    return round(points(lines) - points(()), 2)


SHARE = 0.25 * 25
"""Points of lab 3 for citing: the default share of its evidence part."""


def test_a_reading_in_between() -> None:
    """When one lead is moved after the other, and the reading in between tells first: is the one that was meant worth as much?"""
    meant = ("panel_switch.line", "panel_switch.load")
    straight = work(probes(("supply.hot", "supply.neutral"), meant))
    # From the supply, black first: the meter shows something on the way, and the log has it.
    by_the_way = work(probes(("supply.hot", "supply.neutral"), ("supply.hot", "panel_switch.load"), meant))
    assert FIRST + 1 in narrowing_lines(candidates(ORDER, by_the_way))  # a line that nobody meant to take
    assert citing(by_the_way, FIRST, FIRST + 2) >= citing(straight, FIRST, FIRST + 1) == pytest.approx(SHARE)


def test_the_same_reading_again() -> None:
    """Is a reading that is taken twice worth the same whichever of the two is cited?"""
    log = work(probes(*VOLTS, *VOLTS))
    once, again = range(FIRST, FIRST + len(VOLTS)), range(FIRST + len(VOLTS), FIRST + 2 * len(VOLTS))
    left = candidates(ORDER, log)
    assert narrowing_lines(left)[-1] in once
    decide = [line for line in narrowing_lines(left) if line >= FIRST]
    assert citing(log, *decide) == pytest.approx(SHARE)
    assert citing(log, *(line + len(VOLTS) for line in decide)) == pytest.approx(SHARE)
    assert again[-1] == FIRST + 2 * len(VOLTS) - 1


def test_a_line_that_tells_nothing() -> None:
    """Are lines worth nothing that no fault would have shown otherwise, or that the log doesn't have?"""
    log = work([*probes(VOLTS[2]), ("wait", {"minutes": 1})])
    assert citing(log, 1, FIRST + 1, 10_000) == 0
    reasons = score(ORDER, ServiceReport(evidence=(1, FIRST + 1, 10_000)), log).part("evidence").reasons
    assert any(f"line {FIRST}" in reason.text for reason in reasons)  # which would have told
    assert any("no line 10000" in reason.text for reason in reasons)


def test_citing_everything_shows_nothing() -> None:
    """Does citing the whole log earn less than citing what decides?"""
    log = work(probes(*VOLTS, *VOLTS, *VOLTS))
    decide = [line for line in narrowing_lines(candidates(ORDER, log)) if line]
    assert citing(log, *range(1, len(log))) < citing(log, *decide)


@given(st.lists(st.sampled_from(VOLTS), min_size=1, max_size=6), st.data())
@settings(max_examples=8)
def test_more_lines_tell_more(pairs: list[tuple[str, str]], data: st.DataObject) -> None:
    """Is a cited line more never worth less, and is everything that decides worth all?"""
    log = work(probes(*pairs))
    lines = st.lists(st.integers(1, len(log) - 1), unique=True, max_size=2)
    few, more = data.draw(lines), data.draw(lines)
    all_that_decide = [line for line in narrowing_lines(candidates(ORDER, log)) if line]
    assert 0 <= citing(log, *few) <= citing(log, *{*few, *more}) <= SHARE + 0.01
    if all_that_decide:
        assert citing(log, *all_that_decide) == pytest.approx(SHARE, abs=0.01)
