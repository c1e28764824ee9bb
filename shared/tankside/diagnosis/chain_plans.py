"""Finding the one open contact in a row: plans of tests, from the library's own planner."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from tankside.diagnosis.planner import Plan, Problem, Step, Trial, best_plan, quick_plan

MOST = 16
"""Contacts in a row, at most."""


def _row(parts: int) -> tuple[float, ...]:
    if not 2 <= parts <= MOST:
        raise ValueError(f"a row of {parts} parts: 2 to {MOST} can be planned")
    return (1 / parts,) * parts


@cache
def by_halves(parts: int) -> Plan:
    """The best order of volt tests along a row of ``parts`` equally likely contacts (2 to 16): each test is 1 long.

    A test between two contacts says on which side the open one lies.
    """
    every = (1 << parts) - 1
    cuts = tuple(Trial(str(k), ((1 << k) - 1, every ^ ((1 << k) - 1))) for k in range(1, parts))
    return best_plan(Problem(_row(parts), tuple(range(parts)), cuts))


@cache
def one_by_one(parts: int) -> Plan:
    """One contact after another, each tested by itself, 2 to 16 of them: with equal chances no order is better."""
    every = (1 << parts) - 1
    tests = tuple(Trial(str(k), (1 << k, every ^ (1 << k))) for k in range(parts))
    return quick_plan(Problem(_row(parts), tuple(range(parts)), tests))


@dataclass(frozen=True)
class Walk:
    """The tests of a plan that one open contact needs: after which contact (by halves), or of which contact."""

    tests: tuple[int, ...]

    @property
    def number(self) -> int:
        """How many."""
        return len(self.tests)


def walk(plan: Plan, open_part: int) -> Walk:
    """Follow a plan to the contact that is open (counted from 1)."""
    bit, step, made = 1 << (open_part - 1), plan.root, []
    while step.test is not None:
        made.append(int(step.test.name) if step.outcomes else 0)
        step = _after(step, bit)
    return Walk(tuple(made))


def longest(plan: Plan, parts: int) -> int:
    """The most tests that any open contact needs."""
    return max(walk(plan, k).number for k in range(1, parts + 1))


def _after(step: Step, bit: int) -> Step:
    return next(follows for mask, follows in step.outcomes if mask & bit)
