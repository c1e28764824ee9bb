"""Does what lesson 12 says in words follow from what it computes?"""

from __future__ import annotations

import re
from itertools import pairwise

import pytest

from tankside.lessons import call_out as lesson
from tankside.notebook import plain_bench
from tankside.quoting import quote


def test_words_leave_much_or_little() -> None:
    counts = [int(n) for n in re.findall(r"” \| (\d+) \|", lesson.words_leave().text)]
    assert len(counts) == len(lesson.HEARD) and min(counts) >= 1 and max(counts) > 2 * min(counts)


def test_best_tests_come_first() -> None:
    """In falling order of bits a minute; none tells more than a yes-or-no or a few classes can (log2 of the scope)."""
    found = lesson.best_of_each()
    worth = [gain / minutes for gain, minutes, _ in found]
    assert worth == sorted(worth, reverse=True) and len(found) >= 6
    assert all(0 < gain <= 4 for gain, _, _ in found)


def test_the_first_pair_spans_the_breaker() -> None:
    """What the lesson says below its list: full volts across an open breaker, a few with current, none without."""
    assert (
        lesson.tests_and_prices().text.splitlines()[2].startswith("V~ supply outlet hot to breaker load side")
    )
    across = ("supply.hot", "breaker.load")
    drawing, open_element, off = (
        plain_bench(f, lesson.MODEL) for f in ("no-fault", "element-open", "breaker-off")
    )
    for bench in (drawing, open_element):
        bench.run_tap(10.0)
    volts = [b.probe(*across).readings[0]["value"] for b in (drawing, open_element, off)]
    assert 0.02 < volts[0] < 1.0 and volts[1] < 0.02 and volts[2] > 100


def test_swapping_costs_more() -> None:
    """Two cures worked on paper: half the time the first, half the time both; and is testing the cheaper in the lesson?"""
    one, two = "replace-element", "replace-thermostat"
    swapped, tested = lesson.average_bills((one, two), 15.0, 45.0)
    assert swapped == pytest.approx((quote([one], 15).total + quote([one, two], 30).total) / 2)
    assert tested == pytest.approx((quote([one], 45).total + quote([two], 45).total) / 2)
    bills = [float(v) for v in re.findall(r"\$([\d.]+)", lesson.swapping().text)]
    assert bills[0] > bills[1] and bills[2] > bills[3]


def test_the_example_closes_in_with_covers_on() -> None:
    steps = lesson.call_out_example()
    left = [s.left for s in steps]
    assert left == sorted(left, reverse=True) and left[0] >= 3 and left[-1] == 1
    assert not any("cover off" in s.did for s in steps)


def test_the_list_of_suspects_shrinks_to_the_cause() -> None:
    """Does each test of the picture leave fewer suspects, later than the one before, and the last one the true fault?"""
    _, suspects, walked = lesson.shrinking_path()
    left = [set(suspects), *(set(stretch.left) for stretch in walked.stretches)]
    assert len(left) >= 4 and left[-1] == {lesson.CHECKED}
    assert all(after < before for before, after in pairwise(left))
    minutes = [stretch.at for stretch in walked.stretches]
    assert (
        minutes == sorted(minutes) and minutes[-1] > 2 * minutes[-2]
    )  # draining comes last, and takes the longest


def test_the_picture_shows_the_path() -> None:
    """Has the picture a bar for each suspect, as long as it stays on the list, and does its text tell when each goes?"""
    _, suspects, walked = lesson.shrinking_path()
    page = lesson.shrinking()
    wide = [float(w) for w in re.findall(r'width="([\d.]+)" height="17"', page.markup)]
    assert len(wide) == len(suspects) and wide == sorted(wide)
    first, last = walked.stretches[0].at, walked.stretches[-1].at
    assert wide[0] / wide[-1] == pytest.approx(first / last, abs=0.005)
    for number, stretch in enumerate(walked.stretches, 1):
        assert f"test {number} after {stretch.at:.0f} min rules out" in page.text
