"""``run.py bench orders --seeds 10000 [--keep FILE]``: work orders drawn over every model and every side of it, and what they are like.

A scope is one side of one model (the faults of one data file) or all of it. Half of a scope's orders take any
difficulty; the rest ask in turn for the easier and the harder half, as labs with a band do. Shown are seeds for which no
order can be solved (there must be none), draws that the proof refused, faults in scope that are hardly ever drawn,
difficulty against what was asked, and orders a second. ``--keep`` writes every piece of a scope to a file as soon as it is
there, and does only what the file lacks: a stopped run goes on where it stopped.
"""

from __future__ import annotations

import argparse
import json
import os
import statistics
import time
import tomllib
from collections import Counter
from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor, as_completed
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path

from rich.console import Console
from rich.progress import Progress
from rich.table import Table

from tankside.dispatch import drawn, make_order
from tankside.errors import WorkOrderError
from tankside.faults.catalogue import DATA, fault_named, faults
from tankside.heater.model import load_model, model_names
from tankside.labs.lab import Lab

ISSUED = date(2026, 1, 1)
WHOLE = "whole heater"
FEWEST = 4
"""Faults that a side must have to be a scope."""
PIECE = 40
"""Orders that one process makes at a time, all of one scope."""
STARVED = 0.25
"""Share of its fair turn below which a fault counts as starved, once a fair turn is ``ENOUGH`` orders."""
ENOUGH = 12
WEIGHTS = {"safe-working": 25, "evidence": 25, "diagnosis": 25, "remedy": 15, "figures": 10}
EDGES = (2.0, 4.0, 6.0, 8.0, 12.0)

Scope = tuple[str, str, tuple[str, ...]]
"""Model, side, faults."""


Job = tuple[Scope, int, int]
"""A piece of a scope: its first seed, and how many."""


@dataclass
class Found:
    """What some seeds of a scope gave."""

    made: int = 0
    unsolvable: list[str] = field(default_factory=list)
    refused: int = 0
    seconds: float = 0.0
    drawn: Counter[str] = field(default_factory=Counter)
    difficulty: list[float] = field(default_factory=list)
    minutes: list[float] = field(default_factory=list)
    asked: int = 0
    within: int = 0
    nothing_in_band: int = 0

    def add(self, other: Found) -> None:
        """Count another piece in."""
        for name in ("made", "refused", "seconds", "drawn", "asked", "within", "nothing_in_band"):
            setattr(self, name, getattr(self, name) + getattr(other, name))
        for name in ("unsolvable", "difficulty", "minutes"):
            getattr(self, name).extend(getattr(other, name))


def scopes() -> list[Scope]:
    """Every side of every model that has enough faults, and every model as a whole."""
    sides = {
        file.stem: [fault["id"] for fault in tomllib.loads(file.read_text(encoding="utf-8")).get("fault", [])]
        for file in sorted(DATA.glob("*.toml"))
    }
    out: list[Scope] = []
    for name in model_names():
        model = load_model(name)
        fitting = {fault.id for fault in faults().values() if fault.applies_to(model)}
        own = {side: tuple(f for f in ids if f in fitting) for side, ids in sides.items()}
        out += [
            (name, side, ids) for side, ids in own.items() if len(ids) >= FEWEST and len(ids) < len(fitting)
        ]
        out.append((name, WHOLE, tuple(f for f in faults() if f in fitting)))
    return out


def lab_of(scope: Scope, band: tuple[float, float] = (0.0, 1000.0)) -> Lab:
    """A lab that draws from a scope."""
    model, side, ids = scope
    return Lab(
        id="bench",
        title=side,
        level=2,
        minutes=60,
        models=(model,),
        faults=ids,
        weights=WEIGHTS,
        difficulty=band,
    )


def piece(scope: Scope, first: int, count: int) -> Found:
    """Orders from some seeds of one scope."""
    out, began = Found(), time.perf_counter()
    for number in range(first, first + count):
        seed, half = f"{number:032x}", number - first >= (count + 1) // 2
        middle = statistics.median(out.difficulty) if half and out.difficulty else 0.0
        bands = ((0.0, round(middle, 2)), (round(middle, 2), 1000.0))
        lab = lab_of(scope, bands[number % 2]) if half else lab_of(scope)
        try:
            order = make_order(lab, None, seed, ISSUED)
        except WorkOrderError as error:
            out.nothing_in_band += half
            if not half:
                out.unsolvable.append(f"{scope[0]}, {scope[1]}, seed {number}: {error}")
            continue
        out.made += 1
        out.refused += not half and drawn(lab, None, seed, ISSUED).seed != order.seed
        difficulty = float(order.proof["difficulty"])
        if half:
            out.asked += 1
            out.within += lab.difficulty[0] <= difficulty <= lab.difficulty[1]
            continue
        out.drawn[order.case().fault.id] += 1
        out.difficulty.append(difficulty)
        out.minutes.append(float(order.proof["minutes"]))
    out.seconds = time.perf_counter() - began
    return out


def kept(file: Path | None) -> dict[Job, Found]:
    """The pieces that an earlier run wrote; a line that was cut off by its end is left out."""
    out = {}
    for line in file.read_text(encoding="utf-8").splitlines() if file and file.is_file() else ():
        try:
            row = json.loads(line)
            (model, side, ids), first, count = row["job"]
            out[(model, side, tuple(ids)), first, count] = Found(
                **row["found"] | {"drawn": Counter(row["found"]["drawn"])}
            )
        except (ValueError, KeyError, TypeError):
            continue
    return out


def starved(scope: Scope, found: Found) -> list[str]:
    """Faults of a scope that hardly get their turn, though there were enough orders for one."""
    fair = len(found.difficulty) / len(scope[2])
    return [f for f in scope[2] if fair >= ENOUGH and found.drawn[f] < STARVED * fair]


def _row(scope: Scope, found: Found) -> tuple[str, ...]:
    """A scope's line: minutes and difficulty as least, median, most."""
    model, side, ids = scope
    counts = (len(ids), found.made, found.refused, len(found.unsolvable))
    spread = [
        f"{min(values):.0f} / {statistics.median(values):.0f} / {max(values):.0f}" if values else "-"
        for values in (found.minutes, found.difficulty)
    ]
    return (model, side, *map(str, counts), *spread, f"{found.made / max(found.seconds, 1e-9):.1f}")


def show(out: Console, results: dict[Scope, Found], elapsed: float, workers: int) -> int:
    """The tables; 1 if something is unsolvable or starved."""
    table = Table(
        "model", "side", "faults", "orders", "refused", "unsolvable", "minutes", "difficulty", "a second"
    )
    for scope, found in results.items():
        table.add_row(*_row(scope, found))
    Console(width=max(out.width, 120)).print(table)
    every = Found()
    for found in results.values():
        every.add(found)
    steps = Counter(sum(d >= edge for edge in EDGES) for d in every.difficulty)
    histogram = Table("difficulty", "orders", "", title="Difficulty where any was asked")
    for k in range(len(EDGES) + 1):
        low, high = (0.0, *EDGES)[k], (*EDGES, None)[k]
        words = f"{low:g} to {high:g}" if high else f"from {low:g}"
        share = steps[k] / max(len(every.difficulty), 1)
        histogram.add_row(words, str(steps[k]), "█" * round(40 * share))
    out.print(histogram)
    hungry = {scope: names for scope, found in results.items() if (names := starved(scope, found))}
    out.print(
        f"{every.made} orders in {elapsed:.0f} s on {workers} processes: {every.made / elapsed:.1f} a second."
    )
    out.print(
        f"Asked for a band: {every.asked}, within it {every.within}; no order in the band after all draws: {every.nothing_in_band}."
    )
    out.print(f"Draws that the proof refused before the order that was handed out: {every.refused}.")
    out.print(f"Unsolvable: {len(every.unsolvable)}.", *every.unsolvable[:20], sep="\n  ")
    names = [
        f"{model}, {side}: {', '.join(fault_named(n).id for n in names)}"
        for (model, side, _), names in hungry.items()
    ]
    out.print(f"Starved faults: {sum(map(len, hungry.values()))}.", *names, sep="\n  ")
    return int(bool(every.unsolvable or hungry))


def main(arguments: Sequence[str] | None = None) -> int:
    """Draw, with progress; exit code 1 if an order can't be solved or a fault is starved."""
    parser = argparse.ArgumentParser("run.py bench orders", description=__doc__)
    parser.add_argument("--seeds", type=int, default=400)
    parser.add_argument("--workers", type=int, default=min(os.cpu_count() or 1, 2))
    parser.add_argument("--model", action="append", help="only this model; may be given again")
    parser.add_argument("--keep", type=Path, metavar="FILE", help="keep the pieces here, and go on from them")
    chosen = parser.parse_args(arguments)
    wanted = [scope for scope in scopes() if not chosen.model or scope[0] in chosen.model]
    each = max(chosen.seeds // len(wanted), 1)
    # A scope's pieces run one after another in few processes, so that its table is made once in each.
    jobs: list[Job] = [
        (scope, 1_000_000 * k + first, min(PIECE, each - first))
        for k, scope in enumerate(wanted)
        for first in range(0, each, PIECE)
    ]
    results = {scope: Found() for scope in wanted}
    began = time.perf_counter()
    out, before = Console(), kept(chosen.keep)
    left = Counter(scope for scope, *_ in jobs)

    def count_in(job: Job, found: Found) -> None:
        scope = job[0]
        results[scope].add(found)
        progress.advance(bar, job[2])
        left[scope] -= 1
        if not left[scope]:
            out.print("  ".join(_row(scope, results[scope])), highlight=False)

    with ProcessPoolExecutor(chosen.workers) as pool, Progress(console=out) as progress:
        bar = progress.add_task(f"{len(wanted)} scopes, {each} seeds each", total=each * len(wanted))
        waiting = {pool.submit(piece, *job): job for job in jobs if job not in before}
        for job in jobs:
            if job in before:
                count_in(job, before[job])
        for done in as_completed(tuple(waiting)):
            job, found = waiting.pop(done), done.result()
            if chosen.keep:
                with chosen.keep.open("a", encoding="utf-8") as file:
                    file.write(json.dumps({"job": job, "found": vars(found)}) + "\n")
            count_in(job, found)
    return show(out, results, time.perf_counter() - began, chosen.workers)


if __name__ == "__main__":
    raise SystemExit(main())
