"""Random numbers: are they the same everywhere, within their bounds, and independent of each other's draws?"""

from __future__ import annotations

import random
from collections import Counter

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tankside.streams import Stream

NAMES = st.lists(st.text(max_size=8), max_size=3)


@given(st.text(max_size=20), NAMES)
def test_the_same_names_the_same_numbers(seed: str, names: list[str]) -> None:
    """Does the same seed and name give the same numbers, and another name others?"""
    one, two = Stream(seed, *names), Stream(seed, *names)
    drawn = [one.uniform() for _ in range(5)]
    assert drawn == [two.uniform() for _ in range(5)]
    assert drawn != [Stream(seed, *names, "more").uniform() for _ in range(5)]


def test_global_random_is_left_alone() -> None:
    """Is Python's own generator neither used nor moved?"""
    random.seed(1)
    before = random.getstate()
    assert Stream("a").uniform() == Stream("a").uniform()
    Stream("b").shuffled(list(range(50)))
    assert random.getstate() == before


@given(st.text(max_size=8), st.floats(-1e6, 1e6), st.floats(0, 1e6), st.integers(-50, 50), st.integers(0, 40))
def test_bounds(seed: str, low: float, width: float, first: int, more: int) -> None:
    """Is every number between its ends, and every whole number one of those that may be?"""
    stream = Stream(seed)
    for _ in range(20):
        assert low <= stream.uniform(low, low + width) <= low + width
        assert first <= stream.integer(first, first + more) <= first + more
        assert 1e-3 * (1 - 1e-9) <= stream.log_uniform(1e-3, 1e3) <= 1e3 * (1 + 1e-9)


def test_every_whole_number_and_choice_comes() -> None:
    """Do both ends of a range and every item come, about as often as they should?"""
    stream = Stream("counts")
    assert {stream.integer(1, 6) for _ in range(300)} == set(range(1, 7))
    drawn = Counter(stream.choice("abc", [1, 2, 0]) for _ in range(3000))
    assert drawn["c"] == 0
    assert drawn["b"] / drawn["a"] == pytest.approx(2, rel=0.15)
    assert sum(stream.uniform() for _ in range(4000)) / 4000 == pytest.approx(0.5, abs=0.02)


@given(st.text(max_size=8), st.lists(st.integers(), max_size=12))
def test_shuffled(seed: str, items: list[int]) -> None:
    """Does shuffling keep every item, leave the list as it was, and give the same order again?"""
    kept = list(items)
    out = Stream(seed).shuffled(items)
    assert sorted(out) == sorted(items) and items == kept
    assert out == Stream(seed).shuffled(items)
