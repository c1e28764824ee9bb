"""Is the sequence of operation in the right order, for every way through the table?"""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tankside.heater.sequence import CONDITIONS, NUMBER, RESPONDS, STATES, TABLE, TIMED, among, follow

NOTHING = dict.fromkeys(CONDITIONS, False)


def step(state: str, *holds: str) -> str:
    """The next state of one board for which only ``holds`` hold."""
    conditions = {name: np.array([name in holds]) for name in CONDITIONS}
    return STATES[int(follow(np.array([NUMBER[state]]), conditions)[0])]


@pytest.mark.parametrize(
    ("state", "holds", "then"),
    [
        ("off", ("power", "no flame", "time up"), "purge"),
        ("off", ("no power", "no flame", "time up"), "off"),
        ("purge", ("power", "no flame"), "purge"),
        ("purge", ("power", "no flame", "time up"), "trial"),
        ("purge", ("power", "flame"), "lockout"),
        ("purge", ("no power", "no flame", "time up"), "off"),
        ("trial", ("power", "no flame"), "trial"),
        ("trial", ("power", "flame", "time up"), "run"),
        ("trial", ("power", "no flame", "time up"), "wait"),
        ("trial", ("power", "no flame", "time up", "last try"), "lockout"),
        ("trial", ("no power", "no flame"), "wait"),
        ("trial", ("no power", "no flame", "last try"), "lockout"),
        ("wait", ("power", "no flame"), "wait"),
        ("wait", ("power", "no flame", "time up"), "trial"),
        ("wait", ("no power", "no flame"), "off"),
        ("run", ("power", "flame"), "run"),
        ("run", ("power", "no flame"), "doubt"),
        ("run", ("no power", "flame"), "off"),
        ("doubt", ("power", "flame"), "run"),
        ("doubt", ("power", "no flame"), "doubt"),
        ("doubt", ("power", "no flame", "time up"), "wait"),
        ("doubt", ("power", "no flame", "time up", "no relight left"), "lockout"),
        ("doubt", ("no power", "no flame"), "off"),
        ("lockout", ("power", "no flame", "time up"), "lockout"),
        ("lockout", ("power", "flame"), "lockout"),
        ("lockout", ("no power", "no flame"), "off"),
    ],
)
def test_one_step(state: str, holds: tuple[str, ...], then: str) -> None:
    """What follows on each state, for what may hold in it? (The order is common practice, no source.)"""
    assert step(state, *holds) == then


def worlds() -> list[tuple[str, ...]]:
    """Every combination of conditions that can hold together."""
    either = (
        ("power", "no power"),
        ("flame", "no flame"),
        ("time up", ""),
        ("last try", ""),
        ("no relight left", ""),
    )
    return [tuple(name for name in chosen if name) for chosen in itertools.product(*either)]


def test_gas_needs_a_trial_first() -> None:
    """Can gas start to flow in any other way than by a trial, and a trial without a purge or a wait before it?"""
    for state, holds in itertools.product(STATES, worlds()):
        then = step(state, *holds)
        if then in RESPONDS["valve"] and state not in RESPONDS["valve"]:
            assert then == "trial"
            assert state in ("purge", "wait")


def test_lockout_stays() -> None:
    """Does only taking the power away end a lockout, whatever else happens?"""
    for holds in worlds():
        assert step("lockout", *holds) == ("off" if "no power" in holds else "lockout")


def test_no_power_no_gas() -> None:
    """Without power, is the gas shut after at most two steps from every state?"""
    for state, holds in itertools.product(STATES, worlds()):
        if "no power" in holds:
            twice = step(step(state, *holds), *holds)
            assert twice in ("off", "lockout")
            assert twice not in RESPONDS["valve"]


def test_run_needs_a_flame() -> None:
    """Is the run state only entered with a flame proven?"""
    for state, holds in itertools.product(STATES, worlds()):
        if step(state, *holds) == "run" and state != "run":
            assert "flame" in holds


def test_the_table_is_whole() -> None:
    """Are all states reached and left, timed states all timed, and no row hidden by an earlier one?"""
    assert {row.state for row in TABLE} == set(STATES) == {row.then for row in TABLE}
    assert {row.state for row in TABLE if "time up" in row.when} == set(TIMED)
    for k, row in enumerate(TABLE):
        for before in TABLE[:k]:
            assert not (before.state == row.state and set(before.when) <= set(row.when)), row


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(st.sampled_from(STATES), st.sampled_from(worlds())), min_size=1, max_size=40))
def test_alone_or_in_a_batch(cases: list[tuple[str, tuple[str, ...]]]) -> None:
    """Does a board in a batch do what it does alone?"""
    state = np.array([NUMBER[s] for s, _ in cases])
    conditions = {name: np.array([name in holds for _, holds in cases]) for name in CONDITIONS}
    assert [STATES[int(k)] for k in follow(state, conditions)] == [step(s, *holds) for s, holds in cases]
    assert list(among(state, ("run",))) == [s == "run" for s, _ in cases]
