"""``python3 run.py check labs LAB [LAB ...]``: is a lab fit to be handed out?

Some orders are drawn. The reference technician works each through the bench, and so does each kind of learner. Shown are
the orders solved at full marks, how many different orders a class may get, the minutes at the bench, and whether the kinds'
marks come in their order. What is wrong is said in words, with the order's number to try it again.
"""

from __future__ import annotations

import argparse
import json
import os
import statistics
import sys
from collections import Counter
from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field
from datetime import date
from itertools import pairwise
from pathlib import Path

from rich.console import Console
from rich.table import Table

from tankside.bench import Bench
from tankside.case import all_as_found, symptom
from tankside.datafiles import load
from tankside.diagnosis.candidates import remedies_of
from tankside.dispatch import drawn, make_order, worded
from tankside.errors import TanksideError
from tankside.figures.registry import sources, unit_of, way_to
from tankside.labs import Lab, load_lab
from tankside.report import build_report, read_measure
from tankside.scoring import Marks, score
from tankside.workorder import WorkOrder
from tankside_autograder.reference import solve
from tankside_autograder.technicians import KINDS

ISSUED = date(2026, 1, 1)
DISTINCT = 200
"""Different orders that a lab should have at least."""
PIECE = 250
"""Heaters that are run through their owners' hours together."""
SLACK = 0.5
"""Points by which the upper kinds may change places: rounding, and a test that one of them skips."""
UPPER, LOWER = ("brilliant", "careful", "slow"), ("part-swapper", "guesser", "unsafe")


@dataclass
class Worked:
    """One order: what the reference technician and the kinds got on it, and what is wrong."""

    number: int
    model: str = ""
    fault: str = ""
    marks: float = 0.0
    minutes: float = 0.0
    isolated: float | None = None
    path: float = 0.0
    kinds: dict[str, float] = field(default_factory=dict)
    wrong: list[str] = field(default_factory=list)


def figures_of(lab: Lab) -> list[str]:
    """What is wrong with the figures that a lab asks for, in words."""
    out = []
    for figure in lab.figure:
        if figure.source not in sources():
            out.append(
                f"{figure.id}: no figure source is called {figure.source!r}; there are: {', '.join(sources())}."
            )
        elif figure.unit != unit_of(figure.source):
            out.append(
                f"{figure.id}: {figure.source!r} is computed in {unit_of(figure.source)!r}, not in {figure.unit!r}."
            )
        else:
            read_measure(figure.label, f"1 {figure.unit}", figure.unit)
            way_to(figure.source)
    return out


def work(lab: Lab, number: int, kinds: bool = True) -> Worked:
    """Draw one order, have it worked and marked."""
    out = Worked(number)
    try:
        order = make_order(lab, "x", f"{number:032x}", ISSUED)
    except TanksideError as error:
        out.wrong.append(str(error))
        return out
    out.model, out.fault = order.model, order.case().fault.id
    out.path = float(order.proof["minutes"])
    try:
        lines, answers = solve(order, lab)
    except TanksideError as error:
        out.wrong.append(f"the reference technician gives up: {error}")
        return out
    marks, problems = _marked(order, lab, lines, answers)
    out.marks, out.minutes, out.isolated = marks.total, marks.minutes, marks.isolated
    out.wrong += [*problems, *(f"unsafe: {name}" for name in marks.unsafe), *lost(marks)]
    for kind in KINDS if kinds else ():
        bench = Bench(order)
        try:
            told = KINDS[kind](bench, lab)
        except TanksideError as error:
            out.wrong.append(f"the {kind} learner gives up: {error}")
            continue
        written = [json.dumps(entry, ensure_ascii=False) for entry in bench.entries]
        got, _ = _marked(order, lab, written, told)
        out.kinds[kind] = got.total
        if kind == "unsafe" and got.passed:
            out.wrong.append("the unsafe learner passes")
    out.wrong += out_of_order(out.kinds)
    return out


def _marked(order: WorkOrder, lab: Lab, lines: list[str], answers: dict[str, str]) -> tuple[Marks, list[str]]:
    report, problems = build_report(lab, answers)
    return score(order, report, lines, lab), problems


def lost(marks: Marks) -> list[str]:
    """Where the reference technician lost points, in the marks' own words.

    Two faults that no test parts and that need one repair are no loss: it may name the wrong one of the two.
    """
    out = []
    for part in marks.parts:
        if part.points > part.out_of - 0.01:
            continue
        if part.id == "diagnosis" and len(marks.candidates) > 1 and len(remedies_of(marks.candidates)) == 1:
            continue
        said = [r.text for r in part.reasons if r.points <= 0] or [r.text for r in part.reasons]
        out.append(f"{part.name} {part.points:g} of {part.out_of:g}: {' '.join(said)[:400]}")
    return out


def out_of_order(total: dict[str, float]) -> list[str]:
    """Which kinds of learner got more than one that should be above them."""
    out = [
        f"the {low} learner ({total[low]:g}) is above the {high} one ({total[high]:g})"
        for high, low in pairwise(UPPER)
        if high in total and low in total and total[low] > total[high] + SLACK
    ]
    return out + [
        f"the {low} learner ({total[low]:g}) isn't below the {high} one ({total[high]:g})"
        for high in UPPER
        for low in LOWER
        if high in total and low in total and total[low] >= total[high]
    ]


def different(lab: Lab, seeds: int) -> tuple[int, Counter[str]]:
    """How many different orders so many seeds draw (model, fault, owner's words, site), and how often each fault comes.

    Counted are first draws; one that can't be proven is drawn again when orders are handed out.
    """
    by_model: dict[str, list[WorkOrder]] = {}
    for number in range(seeds):
        order = drawn(lab, None, f"{number:032x}", ISSUED)
        by_model.setdefault(order.model, []).append(order)
    found, faults = set(), Counter[str]()
    for orders in by_model.values():
        for k in range(0, len(orders), PIECE):
            piece = orders[k : k + PIECE]
            cases = [order.case() for order in piece]
            for order, case, unit in zip(piece, cases, all_as_found(cases), strict=True):
                said = worded(lab, order, symptom(unit))
                found.add((order.model, case.fault.id, said.complaint, *said.site.values()))
                faults[case.fault.id] += 1
    return len(found), faults


def check(lab: Lab, orders: int, seeds: int, kinds: int, out: Console) -> bool:
    """Check one lab and print what was found; True if nothing is wrong."""
    wrong = figures_of(lab)
    for text in wrong:
        out.print(text, markup=False)
    if wrong:
        return False
    with ProcessPoolExecutor(os.cpu_count()) as pool:
        counted = pool.submit(different, lab, seeds) if seeds else None
        found = []
        for row in pool.map(
            work, [lab] * orders, range(orders), [number < kinds for number in range(orders)]
        ):
            found.append(row)
            verdict = f"{row.marks:g} marks" if row.fault else "no order"
            out.print(f"order {row.number}: {row.model} {row.fault}, {verdict}", markup=False)
            for text in row.wrong:
                out.print(f"    {text}", markup=False)
        out.print(_table(lab, found))
        if kinds:
            out.print(_kinds(lab, found))
        holds = not any(row.wrong for row in found)
        if counted is not None:
            number, faults = counted.result()
            never = [fault for fault in lab.faults if fault not in faults]
            out.print(
                f"{number} different orders in {seeds} seeds (at least {DISTINCT} are wanted).", markup=False
            )
            if never:
                out.print(
                    f"Never drawn: {', '.join(never)}. Does one of the lab's models have them?", markup=False
                )
            holds = holds and not never and number >= min(DISTINCT, seeds)
    return holds


def _table(lab: Lab, found: Sequence[Worked]) -> Table:
    done = [row for row in found if row.fault]
    table = Table(
        "orders",
        "at full marks",
        "minutes at the bench",
        "minutes to one repair",
        "reference path",
        title=lab.title,
    )
    full = sum(not any(w for w in row.wrong) for row in done)
    minutes = [row.minutes for row in done] or [0.0]
    narrowed = [row.isolated for row in done if row.isolated is not None] or [0.0]
    path = [row.path for row in done] or [0.0]
    table.add_row(str(len(found)), str(full), *(_spread(values) for values in (minutes, narrowed, path)))
    return table


def _kinds(lab: Lab, found: Sequence[Worked]) -> Table:
    table = Table("learner", "mean", "lowest", "highest", title=f"{lab.title}: the kinds of learners' marks")
    for kind in (*UPPER, *LOWER):
        marks = [row.kinds[kind] for row in found if kind in row.kinds] or [0.0]
        table.add_row(kind, f"{statistics.mean(marks):.1f}", f"{min(marks):.1f}", f"{max(marks):.1f}")
    return table


def _spread(values: Sequence[float]) -> str:
    return f"{statistics.median(values):.0f} ({min(values):.0f} to {max(values):.0f})"


def lab_of(word: str) -> Lab:
    """A lab by its id, or from a data file that isn't installed yet."""
    return load(Path(word), Lab) if word.endswith(".toml") else load_lab(word)


def main(words: Sequence[str] | None = None) -> int:
    """The command. 0: all labs hold; 1: something is wrong; 2: an unknown word."""
    parser = argparse.ArgumentParser(
        prog="run.py check labs",
        description="Have a lab's orders worked by the reference technician and every kind of learner.",
    )
    parser.add_argument("lab", nargs="+", help="a lab's id, or a data file (.toml) to try")
    parser.add_argument("--orders", type=int, default=20, help="orders that are worked (default 20)")
    parser.add_argument(
        "--seeds", type=int, default=10_000, help="seeds among which different orders are counted (0: none)"
    )
    parser.add_argument(
        "--kinds",
        type=int,
        default=8,
        help="of these, orders that every kind of learner works (default 8; 0: none)",
    )
    asked = parser.parse_args(words)
    if not 1 <= asked.orders <= 10_000 or not 0 <= asked.seeds <= 1_000_000:
        parser.error("orders are 1 to 10,000, seeds 0 to 1,000,000")
    out = Console() if sys.stdout.isatty() else Console(width=150)
    try:
        hold = [check(lab_of(word), asked.orders, asked.seeds, asked.kinds, out) for word in asked.lab]
        return 0 if all(hold) else 1
    except TanksideError as error:
        out.print(str(error), style="bold", markup=False)
        return 1


if __name__ == "__main__":
    sys.exit(main())
