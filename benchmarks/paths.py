"""Reference paths against the exact optimum: ``run.py bench paths [--states 40000] [--most 60]``.

For every side of every model, and every symptom that leaves two repairs or more: the plan that is handed out with an order, the
one that looks one test ahead (the coach's), and the exact search with so many states to visit. Where it ends, shown is how
far the plans are above the optimum; where it doesn't, how far the plan handed out can be above it at the most, by the
planner's own lower bound. That one counts only the number of tests, each as short as the shortest: a loose bound.
"""

from __future__ import annotations

import argparse
import os
import statistics
import time
from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor, as_completed
from dataclasses import dataclass

from rich.console import Console
from rich.progress import track
from rich.table import Table

from benchmarks.orders import Scope, scopes
from tankside.case import SYMPTOMS
from tankside.diagnosis.candidates import remedies_of
from tankside.diagnosis.planner import best_plan, quick_plan
from tankside.diagnosis.reference import EXACT_SIZE, EXACT_STATES, reference, suspects

AIM = 0.05
"""Share by which a reference path may be above the exact optimum."""


@dataclass(frozen=True)
class Path:
    """One planning problem: side, symptom, hypotheses, minutes of both plans, the optimum (None: not known), a lower bound."""

    model: str
    side: str
    symptom: str
    size: int
    given: float
    quick: float
    exact: float | None
    bound: float


def paths(scope: Scope, states: int, most: int) -> list[Path]:
    """The problems of one side of one model."""
    model, side, names = scope
    out = []
    for k, symptom in enumerate(SYMPTOMS):
        if len(remedies_of(suspects(model, names, (k,)))) < 2:
            continue
        found = reference(model, names, (k,), exact=False)
        given, quick = best_plan(found.problem, EXACT_STATES, EXACT_SIZE), quick_plan(found.problem)
        full = given if given.exact else best_plan(found.problem, states, most)
        optimum = full.minutes if full.exact else None
        out.append(
            Path(model, side, symptom, len(found.cells), given.minutes, quick.minutes, optimum, quick.bound)
        )
    return out


def show(out: Console, rows: Sequence[Path], seconds: float) -> int:
    """The table of models; 1 if a path is further above the optimum than it may be."""
    table = Table(
        "model", "call-outs", "hypotheses", "optimum known", "its minutes", "handed out: above it, most",
        "one ahead: mean", "most", "not known: at most above the bound",
    )  # fmt: skip
    for name in dict.fromkeys(row.model for row in rows):
        mine = [row for row in rows if row.model == name]
        known = [row for row in mine if row.exact]
        ahead = [_above(row.quick, row) for row in known]
        open_ones = [row.given / row.bound - 1 for row in mine if row.exact is None and row.bound > 0]
        sizes = [row.size for row in mine]
        table.add_row(
            name,
            str(len(mine)),
            f"{min(sizes)} to {max(sizes)}",
            str(len(known)),
            f"{statistics.mean(row.exact for row in known if row.exact):.1f}" if known else "-",
            f"{100 * max(_above(row.given, row) for row in known):.1f} %" if known else "-",
            f"{100 * statistics.mean(ahead):.2f} %" if ahead else "-",
            f"{100 * max(ahead):.1f} %" if ahead else "-",
            f"{100 * max(open_ones):.0f} %" if open_ones else "-",
        )
    out.print(table)
    known = [row for row in rows if row.exact]
    for row in sorted(known, key=lambda row: -_above(row.quick, row))[:5]:
        out.print(
            f"{row.model}, {row.side}, “{row.symptom}”: one ahead {row.quick:.2f} min, optimum {row.exact:.2f} min",
            highlight=False,
        )
    within = sum(_above(row.given, row) <= AIM for row in known)
    out.print(
        f"Handed out within {100 * AIM:.0f} % of the optimum: {within} of {len(known)}. {seconds:.0f} s."
    )
    return int(within < len(known))


def _above(minutes: float, row: Path) -> float:
    """By what share some minutes are above the optimum; 0 where there is nothing to test."""
    return minutes / row.exact - 1 if row.exact else 0.0


def main(arguments: Sequence[str] | None = None) -> int:
    """Plan, with progress; exit code 1 if a path is too far above a known optimum."""
    parser = argparse.ArgumentParser("run.py bench paths", description=__doc__)
    parser.add_argument("--states", type=int, default=40_000, help="states that the exact search may visit")
    parser.add_argument("--most", type=int, default=60, help="hypotheses that are tried exactly at all")
    parser.add_argument("--workers", type=int, default=min(os.cpu_count() or 1, 2))
    chosen = parser.parse_args(arguments)
    wanted = sorted(scopes(), key=lambda scope: -len(scope[2]))  # the longest first
    out, began = Console(width=max(Console().width, 140)), time.perf_counter()
    rows: list[Path] = []
    with ProcessPoolExecutor(chosen.workers) as pool:
        jobs = [pool.submit(paths, scope, chosen.states, chosen.most) for scope in wanted]
        for job in track(as_completed(jobs), "Planning", total=len(jobs), console=out, transient=True):
            rows += job.result()
    rows.sort(key=lambda row: (row.model, row.side, row.symptom))
    return show(out, rows, time.perf_counter() - began)


if __name__ == "__main__":
    raise SystemExit(main())
