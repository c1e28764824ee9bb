"""Do the marks order kinds of learners as they should? Every kind works the same call-outs; the marks are compared.

``python3 run.py bench kinds [--call-outs 2000] [--labs lab01 lab02 lab03 lab12] [--keep FILE]``. Each call-out is worked
by six kinds: an expert, a methodical beginner, a slow and anxious one, a part-swapper, a guesser, an unsafe one. On each,
nobody below may have more than somebody above: the expert first, then the beginner, then the slow one; the part-swapper and
the guesser below all three; the unsafe one below all three and without a pass. ``--keep`` writes every call-out's marks to
a file as soon as they are there, and does only what the file lacks: a stopped run goes on where it stopped.
"""

from __future__ import annotations

import argparse
import json
import os
import statistics
import time
from collections import Counter
from concurrent.futures import ProcessPoolExecutor, as_completed
from datetime import date
from itertools import pairwise
from pathlib import Path
from typing import Any

from rich.console import Console
from rich.progress import track
from rich.table import Table

from tankside.bench import Bench
from tankside.dispatch import make_order
from tankside.labs import PARTS, load_lab
from tankside.report import build_report
from tankside.scoring import score
from tankside_autograder.technicians import KINDS

ROWS = {
    "expert": "brilliant",
    "methodical beginner": "careful",
    "slow and anxious": "slow",
    "part-swapper": "part-swapper",
    "guesser": "guesser",
    "unsafe": "unsafe",
}
UPPER, LOWER = tuple(ROWS)[:3], tuple(ROWS)[3:]
LABS = ("lab01", "lab02", "lab03", "lab12")
SLACK = 0.5
"""Points by which the expert, the beginner and the slow one may change places: rounding, and a test that one of them skips."""
AIM = 99.0
"""Percent of the call-outs on which the kinds should be in order."""

CallOut = dict[str, Any]
"""``lab``, ``number``, ``fault``, and ``kinds``: name -> ``total``, ``passed``, ``parts`` (points in the order of ``PARTS``)."""


def work(lab_id: str, number: int) -> CallOut:
    """One call-out worked by every kind."""
    lab = load_lab(lab_id)
    order = make_order(lab, "x", f"{number:032x}", date(2026, 1, 1))
    kinds = {}
    for name, kind in ROWS.items():
        bench = Bench(order)
        report, _ = build_report(lab, KINDS[kind](bench, lab))
        marks = score(order, report, [json.dumps(e, ensure_ascii=False) for e in bench.entries], lab)
        kinds[name] = {"total": marks.total, "passed": marks.passed, "parts": [p.points for p in marks.parts]}
    return {"lab": lab_id, "number": number, "fault": order.case().fault.id, "kinds": kinds}


def wrong(found: CallOut) -> list[str]:
    """What is out of order on one call-out."""
    total = {name: row["total"] for name, row in found["kinds"].items()}
    out = [
        f"{below} above {above}" for above, below in pairwise(UPPER) if total[below] > total[above] + SLACK
    ]
    out += [
        f"{below} not below {above}" for above in UPPER for below in LOWER if total[below] >= total[above]
    ]
    return out + (["unsafe passed"] if found["kinds"]["unsafe"]["passed"] else [])


def all_call_outs(labs: list[str], count: int, keep: Path | None, out: Console) -> list[CallOut]:
    """So many call-outs, shared out evenly to the labs; those that ``keep`` holds already are taken from it."""
    wanted = [(labs[n % len(labs)], n // len(labs)) for n in range(count)]
    found = {(row["lab"], row["number"]): row for row in _kept(keep)}
    missing = [key for key in wanted if key not in found]
    with ProcessPoolExecutor(os.cpu_count()) as pool:
        jobs = [pool.submit(work, *key) for key in missing]
        for job in track(
            as_completed(jobs), "Working call-outs", total=len(jobs), console=out, transient=True
        ):
            row = job.result()
            found[row["lab"], row["number"]] = row
            if keep:
                with keep.open("a", encoding="utf-8") as file:
                    file.write(json.dumps(row) + "\n")
    return [found[key] for key in wanted]


def _kept(keep: Path | None) -> list[CallOut]:
    """What an earlier run wrote; a line that was cut off by its end is left out."""
    rows = []
    for line in keep.read_text(encoding="utf-8").splitlines() if keep and keep.is_file() else ():
        try:
            rows.append(json.loads(line))
        except ValueError:
            continue
    return [row for row in rows if set(row["kinds"]) == set(ROWS)]


def table(title: str, found: list[CallOut]) -> Table:
    """A row a kind: points, passes, points of each part."""
    out = Table("kind", "mean", "lowest", "highest", "passed", *PARTS, title=title)
    for name in ROWS:
        rows = [call_out["kinds"][name] for call_out in found]
        totals = [row["total"] for row in rows]
        means = [statistics.mean(row["parts"][k] for row in rows) for k in range(len(PARTS))]
        passed = f"{100 * sum(row['passed'] for row in rows) / len(rows):.0f} %"
        points = (statistics.mean(totals), min(totals), max(totals))
        out.add_row(name, *(f"{p:.1f}" for p in points), passed, *(f"{m:.1f}" for m in means))
    return out


def main(arguments: list[str] | None = None) -> int:
    """Print the tables; 1 if the kinds are in order on fewer call-outs than they should be."""
    parser = argparse.ArgumentParser(prog="run.py bench kinds", description=__doc__.splitlines()[0])
    parser.add_argument("--call-outs", type=int, default=200, help="call-outs, each worked by every kind")
    parser.add_argument("--labs", nargs="+", default=list(LABS), metavar="LAB")
    parser.add_argument("--keep", type=Path, metavar="FILE", help="keep the marks here, and go on from them")
    options = parser.parse_args(arguments)
    out = Console(width=max(Console().width, 120))
    began = time.perf_counter()
    found = all_call_outs(options.labs, max(len(options.labs), options.call_outs), options.keep, out)
    for lab in options.labs:
        rows = [row for row in found if row["lab"] == lab]
        good = sum(not wrong(row) for row in rows)
        out.print(table(f"{lab}: {len(rows)} call-outs, in order on {good}", rows))
    troubles = Counter((row["lab"], row["fault"], text) for row in found for text in wrong(row))
    for (lab, fault, text), times in sorted(troubles.items()):
        out.print(f"{times} x {lab}, {fault}: {text}")
    share = 100 * sum(not wrong(row) for row in found) / len(found)
    seconds = time.perf_counter() - began
    out.print(
        f"In order on {share:.2f} % of {len(found)} call-outs ({len(found) * len(ROWS)} workings), {seconds:.0f} s."
    )
    return 0 if share >= AIM else 1


if __name__ == "__main__":
    raise SystemExit(main())
