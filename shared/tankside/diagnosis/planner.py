"""The best order of tests: least expected minutes until what is left asks for one repair.

A sequential test problem, as in testability engineering: weighted hypotheses, tests that part
them into classes, and a cost for each test that depends on the situation at the bench. Some
tests need the power off, leads lifted, the tank empty; situations only move forward, because
a technician who has drained a tank doesn't fill it again to take one more reading.

Exact where it is small enough (dynamic programming over sets of hypotheses with a lower
bound); otherwise the best plan found, with a bound that proves how far from the best it can be.

Sources: K. Pattipati, M. Alexandridis, "Application of heuristic search and information theory
to sequential fault diagnosis", IEEE Trans. SMC 20(4), 1990 (abstract read): the problem is
NP-complete; Huffman and entropy bounds. U.S. Army IT0338: the half-split rule.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

LOOK_AHEAD = 6
"""Tests tried at each step when looking one test ahead."""


@dataclass(frozen=True)
class Trial:
    """One test: the classes it parts hypotheses into (bit masks), and where and at what cost it is made.

    ``situation`` indexes the problem's situations; ``needs`` is a bit mask of things to open first.
    """

    name: str
    classes: tuple[int, ...]
    minutes: float = 1.0
    situation: int = 0
    needs: int = 0


@dataclass(frozen=True)
class Problem:
    """What there is to tell apart, and with what.

    ``weights`` of the hypotheses add up to 1; ``groups`` gives each its goal (hypotheses of one
    goal needn't be told apart). ``moves[i]`` are the minutes to get from situation i to i + 1,
    ``move_needs[i]`` what must be open for that. ``opens`` are the minutes of each thing to open.
    """

    weights: tuple[float, ...]
    groups: tuple[int, ...]
    tests: tuple[Trial, ...]
    moves: tuple[float, ...] = ()
    move_needs: tuple[int, ...] = ()
    opens: tuple[float, ...] = ()
    lost: tuple[tuple[int, ...], ...] = ()
    """[situation][hypothesis]: those of other goals that only earlier situations part from it. Left out, it is what the
    tests' classes say; given, it may say more: two hypotheses that a third one joins in a class can be told apart once
    the third is ruled out."""


@dataclass(frozen=True)
class Step:
    """A node of a plan: the test to make, and the plan for each class of its outcome. A leaf has no test."""

    left: int
    test: Trial | None = None
    outcomes: tuple[tuple[int, Step], ...] = ()


@dataclass(frozen=True)
class Plan:
    """A plan, its expected minutes, and a proven lower bound on any plan's. Exact if they are equal."""

    root: Step
    minutes: float
    bound: float
    exact: bool
    states: int

    @property
    def gap(self) -> float:
        """How much longer than the best it can be, as a share of the bound."""
        return 0.0 if self.exact or self.bound <= 0 else self.minutes / self.bound - 1.0


def entropy(weights: Sequence[float]) -> float:
    """Bits of a distribution (weights need not add up to 1)."""
    total = sum(weights)
    return -sum(w / total * math.log2(w / total) for w in weights if w > 0) if total > 0 else 0.0


def huffman(weights: Sequence[float], branches: int = 2) -> float:
    """Least expected number of tests if every test of so many outcomes could be made (Huffman 1952)."""
    import heapq

    if len(weights) <= 1:
        return 0.0
    heap = list(weights)
    while (len(heap) - 1) % (branches - 1):
        heap.append(0.0)
    heapq.heapify(heap)
    total, all_weight = 0.0, sum(weights)
    while len(heap) > 1:
        merged = sum(heapq.heappop(heap) for _ in range(branches))
        total += merged
        heapq.heappush(heap, merged)
    return total / all_weight


def _dominates(one: Trial, two: Trial) -> bool:
    """True if ``one`` can be had wherever ``two`` can, and costs no more."""
    return one.situation <= two.situation and one.minutes <= two.minutes and one.needs & ~two.needs == 0


@dataclass
class _Search:
    problem: Problem
    limit: int
    careless: bool = False
    """True if moving on may lose what only an earlier situation parts."""
    memo: dict[tuple[int, int, int], tuple[float, Trial | None]] = field(default_factory=dict)
    weight_of: dict[int, float] = field(default_factory=dict)
    bound_of: dict[int, float] = field(default_factory=dict)
    greedy_memo: dict[tuple[int, int, int], tuple[float, Step]] = field(default_factory=dict)
    useful_memo: dict[tuple[int, int], list[Trial]] = field(default_factory=dict)
    overrun: bool = False

    def __post_init__(self) -> None:
        problem = self.problem
        self.cheapest = min((test.minutes for test in problem.tests), default=0.0)
        self.branches = max((len(test.classes) for test in problem.tests), default=2)
        self.group_masks: dict[int, int] = {}
        for i, group in enumerate(problem.groups):
            self.group_masks[group] = self.group_masks.get(group, 0) | 1 << i
        self.lost = self._lost()

    def _lost(self) -> list[list[int]]:
        """[situation][hypothesis] -> those of other goals that only earlier situations part from it."""
        if self.problem.lost:
            return [list(row) for row in self.problem.lost]
        n = len(self.problem.weights)
        last = max((test.situation for test in self.problem.tests), default=0)
        parted = [[0] * n for _ in range(last + 1)]
        full = (1 << n) - 1
        for test in self.problem.tests:
            for i in range(n):
                mine = [c for c in test.classes if c >> i & 1]
                parted[test.situation][i] |= sum(
                    1 << j for j in range(n) if [c for c in test.classes if c >> j & 1] != mine
                )
        for s in range(last - 1, -1, -1):
            parted[s] = [here | later for here, later in zip(parted[s], parted[s + 1], strict=True)]
        others = [full & ~self.group_masks[g] for g in self.problem.groups]
        return [[parted[0][i] & ~parted[s][i] & others[i] for i in range(n)] for s in range(last + 1)]

    def keeps(self, part: int, situation: int) -> bool:
        """True if moving on to a situation leaves nothing together that could still have been parted."""
        lost = self.lost[situation]
        return not any(part >> i & 1 and part & lost[i] for i in range(part.bit_length()))

    def weight(self, mask: int) -> float:
        if mask not in self.weight_of:
            bits = (i for i in range(mask.bit_length()) if mask >> i & 1)
            self.weight_of[mask] = sum(self.problem.weights[i] for i in bits)
        return self.weight_of[mask]

    def settled(self, mask: int) -> bool:
        """True if all that is left has one goal."""
        return any(mask & ~group == 0 for group in self.group_masks.values())

    @staticmethod
    def parts(mask: int, test: Trial) -> list[int]:
        return [mask & c for c in test.classes if mask & c]

    def cost(self, test: Trial, situation: int, opened: int) -> tuple[float, int]:
        """Minutes to get to the test and make it, and what is open afterwards."""
        needs = test.needs
        for i in range(situation, test.situation):
            needs |= self.problem.move_needs[i]
        fresh = needs & ~opened
        minutes = sum(self.problem.moves[situation : test.situation]) + test.minutes
        minutes += sum(self.problem.opens[i] for i in range(len(self.problem.opens)) if fresh >> i & 1)
        return minutes, opened | needs

    def useful(self, mask: int, situation: int) -> list[Trial]:
        """Tests that part what is left; of those that part it alike, none that is dominated."""
        key = (mask, situation)
        if key not in self.useful_memo:
            self.useful_memo[key] = self._useful(mask, situation)
        return list(self.useful_memo[key])

    def _useful(self, mask: int, situation: int) -> list[Trial]:
        best: dict[tuple[int, ...], list[Trial]] = {}
        for test in self.problem.tests:
            if test.situation >= situation:
                parts = tuple(mask & c for c in test.classes if mask & c)
                if len(parts) > 1 and (
                    self.careless or all(self.keeps(part, test.situation) for part in parts)
                ):
                    rivals = best.setdefault(parts, [])
                    if not any(_dominates(r, test) for r in rivals):
                        rivals.append(test)
        return [test for tests in best.values() for test in tests]

    def goal_weights(self, mask: int) -> list[float]:
        return [self.weight(mask & g) for g in self.group_masks.values() if mask & g]

    def bound(self, mask: int) -> float:
        """Minutes that no plan can beat: Huffman's expected number of the cheapest test, over the goals left."""
        if mask not in self.bound_of:
            apart = self.apart(mask)
            self.bound_of[mask] = huffman(apart, self.branches) * self.cheapest
        return self.bound_of[mask]

    def apart(self, mask: int) -> list[float]:
        """Weights of what must end up apart. Goals that no test parts count as one: no plan can do better."""
        masks = [mask & g for g in self.group_masks.values() if mask & g]
        joined: list[int] = []
        for piece in masks:
            alike = [j for j in joined if not any(self._parts_fully(j, piece, t) for t in self.problem.tests)]
            for j in alike:
                joined.remove(j)
                piece |= j
            joined.append(piece)
        return [self.weight(j) for j in joined]

    @staticmethod
    def _parts_fully(one: int, two: int, test: Trial) -> bool:
        """True if some outcome of the test is possible under one and not under the other."""
        return any(bool(one & c) != bool(two & c) for c in test.classes)

    def score(self, mask: int, test: Trial, situation: int, opened: int) -> float:
        """Bits about the goal gained for each minute."""
        minutes, _ = self.cost(test, situation, opened)
        before = entropy(self.goal_weights(mask))
        after = sum(
            self.weight(part) / self.weight(mask) * entropy(self.goal_weights(part))
            for part in self.parts(mask, test)
        )
        # A test that parts hypotheses of one goal gains nothing now but may open a way.
        return (before - after + 1e-6) / minutes

    def greedy(self, mask: int, situation: int, opened: int) -> tuple[float, Step]:
        """Always the test with the most bits a minute; expected minutes and plan."""
        key = (mask, situation, opened)
        if key not in self.greedy_memo:
            tests = [] if self.settled(mask) else self.useful(mask, situation)
            if not tests:
                self.greedy_memo[key] = (0.0, Step(mask))
            else:
                test = max(tests, key=lambda t: self.score(mask, t, situation, opened))
                self.greedy_memo[key] = self._after(mask, test, situation, opened, self.greedy)
        return self.greedy_memo[key]

    def ahead(self, mask: int, situation: int, opened: int) -> tuple[float, Step]:
        """Of the few tests with the most bits a minute, the one after which the greedy plan is shortest."""
        tests = [] if self.settled(mask) else self.useful(mask, situation)
        if not tests:
            return 0.0, Step(mask)
        tests.sort(key=lambda t: -self.score(mask, t, situation, opened))
        few = tests[:LOOK_AHEAD]
        best = min(few, key=lambda t: self._after(mask, t, situation, opened, self.greedy)[0])
        return self._after(mask, best, situation, opened, self.ahead)

    def _after(
        self,
        mask: int,
        test: Trial,
        situation: int,
        opened: int,
        then: Callable[[int, int, int], tuple[float, Step]],
    ) -> tuple[float, Step]:
        """A test, and what a way of planning does with each of its outcomes."""
        minutes, now = self.cost(test, situation, opened)
        total = self.weight(mask)
        branches = []
        for part in self.parts(mask, test):
            value, step = then(part, test.situation, now)
            minutes += self.weight(part) / total * value
            branches.append((part, step))
        return minutes, Step(mask, test, tuple(branches))

    def exact(self, mask: int, situation: int, opened: int) -> float:
        """Least expected minutes; infinity once the search has overrun."""
        if self.settled(mask):
            return 0.0
        key = (mask, situation, opened)
        if key in self.memo:
            return self.memo[key][0]
        tests = self.useful(mask, situation)
        if not tests:
            self.memo[key] = (0.0, None)
            return 0.0
        if len(self.memo) >= self.limit:
            self.overrun = True
            return math.inf
        best, choice = math.inf, None
        tests.sort(key=lambda t: -self.score(mask, t, situation, opened))
        for test in tests:
            minutes, now = self.cost(test, situation, opened)
            parts = self.parts(mask, test)
            total = self.weight(mask)
            shares = [self.weight(p) / total for p in parts]
            floor = minutes + sum(s * self.bound(p) for s, p in zip(shares, parts, strict=True))
            if floor >= best:
                continue
            value = floor
            for share, part in sorted(zip(shares, parts, strict=True), reverse=True):
                value += share * (self.exact(part, test.situation, now) - self.bound(part))
                if value >= best:
                    break
            if value < best - 1e-12:
                best, choice = value, test
            if self.overrun:
                return math.inf
        self.memo[key] = (best, choice)
        return best

    def tree(self, mask: int, situation: int, opened: int) -> Step:
        """The plan behind the exact value."""
        test = None if self.settled(mask) else self.memo.get((mask, situation, opened), (0.0, None))[1]
        if test is None:
            return Step(mask)
        _, now = self.cost(test, situation, opened)
        return Step(mask, test, tuple((p, self.tree(p, test.situation, now)) for p in self.parts(mask, test)))


def expected_minutes(problem: Problem, step: Step) -> float:
    """Expected minutes of a plan, counted test by test."""
    search = _Search(problem, 0)

    def walk(here: Step, situation: int, opened: int) -> float:
        if here.test is None:
            return 0.0
        minutes, now = search.cost(here.test, situation, opened)
        total = search.weight(here.left)
        return minutes + sum(
            search.weight(part) / total * walk(then, here.test.situation, now) for part, then in here.outcomes
        )

    return walk(step, 0, 0)


def best_plan(problem: Problem, limit: int = 20_000, largest: int = 60) -> Plan:
    """The plan of least expected minutes.

    Parameters
    ----------
    problem : hypotheses, tests and costs
    limit : how many states the exact search may visit before it gives up
    largest : how many hypotheses are tried exactly at all

    Returns
    -------
    Plan
        Exact if the search ended; otherwise a plan that looks one test ahead, with Huffman's bound. Where ``lost`` keeps
        a plan from moving on, so that it ends with goals together, the bound may be too high and the search miss the
        best: then the shorter of the two plans is taken, and not called exact if it is the other one.
    """
    search = _Search(problem, limit)
    everything = (1 << len(problem.weights)) - 1
    minutes, root = search.ahead(everything, 0, 0)
    if len(problem.weights) <= largest:
        value = search.exact(everything, 0, 0)
        if not search.overrun and value <= minutes + 1e-9:
            return Plan(search.tree(everything, 0, 0), value, value, True, len(search.memo))
    return Plan(root, minutes, min(minutes, search.bound(everything)), False, len(search.memo))


def next_test(problem: Problem, left: int, situation: int = 0, opened: int = 0) -> Trial | None:
    """The test to make next when some hypotheses are left: the first of the plan that looks one test ahead."""
    return _Search(problem, 0).ahead(left, situation, opened)[1].test


def plan_from(
    problem: Problem, left: int, situation: int, opened: int, careless: bool = False
) -> tuple[float, Step]:
    """The plan that looks one test ahead, for some hypotheses from some situation on; its expected minutes.

    ``careless``: moving on may lose what only an earlier situation parts.
    """
    return _Search(problem, 0, careless).ahead(left, situation, opened)


def cost_of(problem: Problem, test: Trial, situation: int, opened: int) -> tuple[float, int]:
    """Minutes to get to a test and make it, and what is open afterwards."""
    return _Search(problem, 0).cost(test, situation, opened)


def quick_plan(problem: Problem) -> Plan:
    """The plan that looks one test ahead, without the exact search."""
    return best_plan(problem, 0, 0)
