"""Do the marks order kinds of learners as they should? Every kind works the same call-outs; the marks are compared.

``python3 run.py bench kinds [--call-outs 2000] [--lab lab12]``. Each order is worked by five kinds (an expert, a methodical
beginner, a part-swapper, a guesser, an unsafe one): so many call-outs in all. On each order the expert must not have
less than the beginner, the beginner more than the part-swapper and the guesser, and the unsafe one no pass and less
than the beginner.
"""

from __future__ import annotations

import argparse
import json
import os
import statistics
import time
from concurrent.futures import ProcessPoolExecutor
from datetime import date

from rich.console import Console
from rich.progress import track
from rich.table import Table

from tankside.bench import Bench
from tankside.dispatch import make_order
from tankside.labs import load_lab
from tankside.report import build_report
from tankside.scoring import score
from tankside_autograder.technicians import KINDS

ROWS = {
    "expert": "brilliant",
    "methodical beginner": "careful",
    "part-swapper": "part-swapper",
    "guesser": "guesser",
    "unsafe": "unsafe",
}
SLACK = 0.5
"""Points by which an expert may fall behind a beginner: rounding and the price of a test that a rule of thumb skips."""

Result = dict[str, tuple[float, bool, tuple[float, ...]]]


def work(lab_id: str, number: int) -> tuple[str, Result]:
    """One order worked by every kind: the fault, and each kind's total, pass and parts."""
    lab = load_lab(lab_id)
    order = make_order(lab, "x", f"{number:032x}", date(2026, 1, 1))
    out: Result = {}
    for name, kind in ROWS.items():
        bench = Bench(order)
        report, _ = build_report(lab, KINDS[kind](bench, lab))
        marks = score(order, report, [json.dumps(e, ensure_ascii=False) for e in bench.entries], lab)
        out[name] = marks.total, marks.passed, tuple(part.points for part in marks.parts)
    return order.case().fault.id, out


def wrong(found: Result) -> list[str]:
    """What is out of order on one order."""
    total = {name: row[0] for name, row in found.items()}
    checks = {
        "expert behind the beginner": total["expert"] >= total["methodical beginner"] - SLACK,
        "part-swapper level with the beginner": total["methodical beginner"] > total["part-swapper"],
        "guesser level with the beginner": total["methodical beginner"] > total["guesser"],
        "unsafe level with the beginner": total["methodical beginner"] > total["unsafe"],
        "unsafe passed": not found["unsafe"][1],
    }
    return [text for text, holds in checks.items() if not holds]


def main(arguments: list[str] | None = None) -> int:
    """Print the table; 1 if fewer than 99 % of the orders are as they should be."""
    parser = argparse.ArgumentParser(prog="run.py bench kinds", description=__doc__.splitlines()[0])
    parser.add_argument("--call-outs", type=int, default=200, help="call-outs worked in all (five an order)")
    parser.add_argument("--lab", default="lab12")
    options = parser.parse_args(arguments)
    orders = max(1, options.call_outs // len(ROWS))
    out = Console()
    began = time.perf_counter()
    found: list[tuple[str, Result]] = []
    with ProcessPoolExecutor(os.cpu_count()) as pool:
        jobs = [pool.submit(work, options.lab, n) for n in range(orders)]
        for job in track(jobs, "Working call-outs", console=out, transient=True):
            found.append(job.result())
    parts = load_lab(options.lab).weights
    table = Table("kind", "mean", "lowest", "highest", "passed", *parts, title=f"{orders} orders of {options.lab}")
    for name in ROWS:
        totals = [result[name][0] for _, result in found]
        means = [statistics.mean(result[name][2][k] for _, result in found) for k in range(len(parts))]
        passed = sum(result[name][1] for _, result in found)
        cells = (f"{statistics.mean(totals):.1f}", f"{min(totals):.1f}", f"{max(totals):.1f}", f"{100 * passed / orders:.0f} %")
        table.add_row(name, *cells, *(f"{m:.1f}" for m in means))
    out.print(table)
    bad = [(fault, text) for fault, result in found for text in wrong(result)]
    orders_bad = sum(bool(wrong(result)) for _, result in found)
    share = 100 * (1 - orders_bad / orders)
    for fault, text in sorted(set(bad)):
        out.print(f"{bad.count((fault, text))} x {fault}: {text}")
    out.print(f"In order on {share:.1f} % of {orders} orders ({orders * len(ROWS)} call-outs), {time.perf_counter() - began:.0f} s.")
    return 0 if share >= 99 else 1


if __name__ == "__main__":
    raise SystemExit(main())
