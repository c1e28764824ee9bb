"""The planner of tests: against published figures, Huffman's tree, and an exhaustive search written apart from it."""

from __future__ import annotations

from functools import cache
from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tankside.diagnosis.planner import (
    Problem,
    Trial,
    best_plan,
    entropy,
    expected_minutes,
    huffman,
    next_test,
    quick_plan,
)
from tests.published import row


def chain(n: int) -> Problem:
    """N equally likely parts in a row; a test between two parts says on which side the fault lies."""
    full = (1 << n) - 1
    cuts = tuple(Trial(f"cut {i}", ((1 << i) - 1, full ^ ((1 << i) - 1))) for i in range(1, n))
    return Problem((1 / n,) * n, tuple(range(n)), cuts)


def one_by_one(n: int) -> Problem:
    """N equally likely parts, each tested by itself."""
    full = (1 << n) - 1
    tests = tuple(Trial(f"part {i}", (1 << i, full ^ (1 << i))) for i in range(n))
    return Problem((1 / n,) * n, tuple(range(n)), tests)


@pytest.mark.parametrize("index", [0, 1])
def test_half_split_falls_out_on_a_chain(index: int) -> None:
    """Does a plain chain of 8 and 16 parts take 3 and 4 tests? (references: diagnosis, mean-tests-half-split)"""
    published = row("diagnosis", "mean-tests-half-split")
    n = (8, 16)[index]
    plan = best_plan(chain(n))
    assert plan.exact
    assert published.agrees(plan.minutes, index)
    assert published.agrees(quick_plan(chain(n)).minutes, index)


def test_testing_in_sequence() -> None:
    """Without a way to split, is it 4.375 and 8.4375 tests? (references: diagnosis, mean-tests-sequential)"""
    published = row("diagnosis", "mean-tests-sequential")
    plan = best_plan(one_by_one(8))
    assert plan.exact
    assert published.agrees(plan.minutes, 0)
    assert published.agrees(quick_plan(one_by_one(16)).minutes, 1)


def test_entropy_and_huffman_bounds() -> None:
    """With every two-way test to be had, is the best plan Huffman's tree, and no less than the entropy?"""
    p = (0.4, 0.2, 0.2, 0.1, 0.1)
    assert row("diagnosis", "entropy-example").agrees(entropy(p))
    assert row("diagnosis", "huffman-example").agrees(huffman(p))
    full = (1 << len(p)) - 1
    every = tuple(Trial(str(mask), (mask, full ^ mask)) for mask in range(1, full // 2 + 1))
    plan = best_plan(Problem(p, tuple(range(len(p))), every))
    assert row("diagnosis", "huffman-example").agrees(plan.minutes)
    assert entropy(p) <= plan.minutes + 1e-9


def brute(problem: Problem) -> float:
    """Least expected minutes by trying every test everywhere: no bound, no memory shared with the planner."""

    @cache
    def least(left: frozenset[int], situation: int, opened: int) -> float:
        if len({problem.groups[i] for i in left}) <= 1:
            return 0.0
        best = float("inf")
        for test in problem.tests:
            if test.situation < situation:
                continue
            parts = [frozenset(i for i in left if mask >> i & 1) for mask in test.classes]
            parts = [part for part in parts if part]
            if len(parts) < 2:
                continue
            needs = test.needs
            for s in range(situation, test.situation):
                needs |= problem.move_needs[s]
            minutes = test.minutes + sum(problem.moves[situation : test.situation])
            minutes += sum(m for k, m in enumerate(problem.opens) if needs >> k & 1 and not opened >> k & 1)
            weight = sum(problem.weights[i] for i in left)
            for part in parts:
                share = sum(problem.weights[i] for i in part) / weight
                minutes += share * least(part, test.situation, opened | needs)
            best = min(best, minutes)
        return best if best < float("inf") or partable(left) else 0.0

    def partable(left: frozenset[int]) -> bool:
        """Could any test at all have parted two goals here? Then a plan must not end with them together."""
        return any(
            problem.groups[i] != problem.groups[j]
            and [m >> i & 1 for m in t.classes] != [m >> j & 1 for m in t.classes]
            for t in problem.tests
            for i in left
            for j in left
        )

    return least(frozenset(range(len(problem.weights))), 0, 0)


@st.composite
def problems(draw: st.DrawFn) -> Problem:
    """Small problems with situations, covers and unequal costs."""
    n = draw(st.integers(2, 5))
    raw = draw(st.lists(st.floats(0.05, 1.0), min_size=n, max_size=n))
    groups = draw(st.lists(st.integers(0, n - 1), min_size=n, max_size=n))
    tests = []
    for k in range(draw(st.integers(1, 5))):
        side = draw(st.lists(st.integers(0, 2), min_size=n, max_size=n))
        masks = tuple(m for m in (sum(1 << i for i in range(n) if side[i] == s) for s in range(3)) if m)
        minutes = draw(st.sampled_from([0.5, 1.0, 2.0, 5.0]))
        tests.append(Trial(f"t{k}", masks, minutes, draw(st.integers(0, 2)), draw(st.integers(0, 3))))
    return Problem(
        tuple(w / sum(raw) for w in raw),
        tuple(groups),
        tuple(tests),
        (draw(st.sampled_from([1.0, 10.0])), 3.0),
        (0, draw(st.integers(0, 3))),
        (3.0, 2.0),
    )


@settings(max_examples=150, deadline=None)
@given(problems())
def test_the_exact_plan_is_the_best_there_is(problem: Problem) -> None:
    """Does the planner agree with an exhaustive search, and is the quick plan never better and the bound never above?"""
    least = brute(problem)
    plan, quick = best_plan(problem), quick_plan(problem)
    assert plan.exact
    assert plan.minutes == pytest.approx(least, abs=1e-9)
    assert expected_minutes(problem, plan.root) == pytest.approx(plan.minutes, abs=1e-9)
    assert expected_minutes(problem, quick.root) == pytest.approx(quick.minutes, abs=1e-9)
    assert quick.minutes >= least - 1e-9
    assert quick.bound <= least + 1e-9


def test_what_must_be_open_counts_once() -> None:
    """Is a cover paid for at the first test behind it only?"""
    tests = (Trial("a", (1, 6), needs=1), Trial("b", (3, 4), needs=1))
    problem = Problem((0.25, 0.25, 0.5), (0, 1, 2), tests, opens=(3.0,))
    assert best_plan(problem).minutes == pytest.approx(3.0 + 1.0 + 0.5)


def test_the_next_test_is_the_plans_first() -> None:
    """Does the coach's question get the plan's answer?"""
    problem = chain(8)
    test = next_test(problem, 0b1111)
    assert test is not None
    assert test.name == "cut 2"
    assert next_test(problem, 0b1) is None


def test_an_unpartable_pair_ends_the_plan() -> None:
    """Are two hypotheses that no test parts left together, at no cost?"""
    problem = Problem((0.5, 0.5), (0, 1), (Trial("blind", (3,)),))
    assert best_plan(problem).minutes == 0.0


def test_all_orders_of_weights_give_the_same_minutes() -> None:
    """Does the order in which hypotheses are listed matter? It must not."""
    base = chain(4)
    values = set()
    for shift in product(range(4), repeat=1):
        k = shift[0]
        turn = [(i + k) % 4 for i in range(4)]
        tests = tuple(
            Trial(t.name, tuple(sum(1 << turn[i] for i in range(4) if m >> i & 1) for m in t.classes))
            for t in base.tests
        )
        values.add(round(best_plan(Problem(base.weights, base.groups, tests)).minutes, 9))
    assert values == {2.0}
