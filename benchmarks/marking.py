"""Orders that are proven and handed out, logs that are marked, candidate sets that are kept up to date.

Logs are of a careful survey, and each is of another order, as a class's are: what was worked out for one is of no use to the next.
"""

from __future__ import annotations

import json
import time
from contextlib import suppress
from dataclasses import dataclass
from datetime import date
from itertools import count, cycle, pairwise

from benchmarks.figure import Figure, seconds_each
from tankside.bench import Bench, replay
from tankside.diagnosis.candidates import Follower, candidates
from tankside.diagnosis.survey import survey
from tankside.dispatch import make_order
from tankside.errors import BenchError
from tankside.labs import load_lab
from tankside.report import ServiceReport
from tankside.scoring import narrowing_lines, score
from tankside.workorder import WorkOrder

LAB = "lab03"
ORDERS = 8


@dataclass(frozen=True)
class HandIn:
    """One learner's order, log and report."""

    order: WorkOrder
    lines: list[str]
    report: ServiceReport


def hand_in(number: int) -> HandIn:
    """A survey of the n-th order, right in everything, that cites what decided and one line more."""
    order = make_order(load_lab(LAB), None, f"{number:032x}", date(2026, 1, 1))
    bench = Bench(order)
    for verb, args in survey(order.case().model):
        with suppress(BenchError):
            bench.do(verb, **args)
    lines = [json.dumps(entry, ensure_ascii=False) for entry in bench.entries]
    decide = narrowing_lines(candidates(order, lines))[-3:]
    fault = order.case().fault
    said = ServiceReport(diagnosis=fault.id, remedy=fault.remedy, evidence=(*decide, len(lines) - 1))
    return HandIn(order, lines, said)


def update_times(one: HandIn) -> list[float]:
    """Seconds of each action on all variants, with what it leaves; reading the log and making the variants not counted."""
    follower = Follower(one.order)
    times = [time.perf_counter()]

    def after(line: int) -> None:
        follower.after(line)
        times.append(time.perf_counter())

    replay(one.order, one.lines, follower.state, after)
    return [end - start for start, end in pairwise(times[1:])]


def figures() -> list[Figure]:
    """Proven orders, marking a log of some sixty actions, an update of the candidate set, one replay."""
    lab = load_lab(LAB)
    numbers = count()
    making = seconds_each(lambda: make_order(lab, None, f"{next(numbers):032x}", date(2026, 1, 1)), 2.0, 3)
    class_of = [hand_in(n) for n in range(ORDERS)]
    actions = sum(len(one.lines) for one in class_of) / ORDERS
    turn = cycle(class_of)

    def mark() -> None:
        one = next(turn)
        score(one.order, one.report, one.lines)

    def do_again() -> None:
        one = next(turn)
        replay(one.order, one.lines)

    marking = seconds_each(mark, 2.0, 5)
    again = seconds_each(do_again, 1.0, 3)
    rounds = [[t for one in class_of for t in update_times(one)] for _ in range(5)]
    updates = [min(times) for times in zip(*rounds, strict=True)]
    return [
        Figure(f"work orders of {LAB}, drawn and proven", 1 / making, "orders/s", 100, True),
        Figure(f"marking a log of {actions:.0f} lines", 1e3 * marking, "ms", 30),
        Figure(f"doing {actions:.0f} lines again on one heater", 1e3 * again, "ms"),
        Figure(
            "an action on all variants, and what it leaves: mean", 1e3 * sum(updates) / len(updates), "ms", 2
        ),
        Figure("the dearest of them", 1e3 * max(updates), "ms"),
    ]
