"""Orders that are proven and handed out, logs that are marked, candidate sets that are kept up to date."""

from __future__ import annotations

import copy
import json
from contextlib import suppress
from datetime import date
from itertools import count

from benchmarks.figure import Figure, seconds_each
from tankside.bench import Bench, replay
from tankside.bench.bench import perform
from tankside.diagnosis.candidates import Follower
from tankside.diagnosis.survey import survey
from tankside.dispatch import make_order
from tankside.errors import BenchError
from tankside.labs import load_lab
from tankside.practice import practice_order
from tankside.report import ServiceReport
from tankside.scoring import score

LAB = "lab03"
PROBE = {"red": "junction_box.hot_in", "black": "junction_box.neutral_in"}


def figures() -> list[Figure]:
    """Proven orders, scoring of a log of some sixty actions, one update of a candidate set, one replay."""
    lab = load_lab(LAB)
    order = practice_order(lab)
    bench = Bench(order)
    for verb, args in survey(order.case().model):
        with suppress(BenchError):
            bench.do(verb, **args)
    lines = [json.dumps(entry, ensure_ascii=False) for entry in bench.entries]
    follower = Follower(order)
    perform(follower.state, "open cover", {"place": "junction-box"})

    def update() -> None:
        twin = copy.copy(follower.suspects)
        twin.alive = follower.suspects.alive.copy()
        follower.state.witness = twin
        perform(follower.state, "probe", PROBE)

    numbers = count()
    making = seconds_each(lambda: make_order(lab, None, f"{next(numbers):032x}", date(2026, 1, 1)), 2.0, 3)
    marking = seconds_each(lambda: score(order, ServiceReport(), lines), 1.0, 3)
    again = seconds_each(lambda: replay(order, lines), 0.5, 3)
    return [
        Figure(f"work orders of {LAB}, drawn and proven", 1 / making, "orders/s", 5, True),
        Figure(f"marking a log of {len(lines)} lines", marking, "s", 0.5),
        Figure(f"doing {len(lines)} lines again on one heater", again, "s"),
        Figure(
            f"a reading on {follower.state.unit.batch} variants, and what it leaves",
            1e3 * seconds_each(update),
            "ms",
        ),
    ]
