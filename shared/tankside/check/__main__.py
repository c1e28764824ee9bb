"""The command line of the proofs."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from datetime import date
from pathlib import Path
from time import perf_counter

from rich.console import Console
from rich.table import Table

from tankside.check.apart import Shown
from tankside.check.models import check_model
from tankside.check.places import table as places_table
from tankside.check.tables import show as show_tables
from tankside.check.work import Proven, prove_all
from tankside.dispatch import make_order
from tankside.errors import TanksideError
from tankside.heater.model import load_model, model_names
from tankside.labs import lab_ids, load_lab

WIDTH = 190
"""Columns of a table that doesn't go to a screen."""
WHAT = ("all", "models", "faults", "places", "labs", "table")


def _models(out: Console, names: Sequence[str]) -> None:
    table = Table("model", "plate", "parts", "wires", "terminals", "heats in", title="Heater models")
    for name in names:
        model = load_model(name)
        minutes = check_model(model)
        counts = (str(len(model.parts)), str(len(model.wires)), str(len(model.terminals)))
        table.add_row(name, model.plate.name, *counts, f"{minutes:g} min")
    out.print(table)


def _prove(out: Console, names: Sequence[str]) -> list[Proven]:
    """Every model's faults, with a line as soon as a model is done."""
    start, done = perf_counter(), []
    out.print(f"Trying every fault on {len(names)} models ...")
    for proven in prove_all(names):
        done.append(proven)
        wrong = sum(not s.holds for s in proven.faults)
        verdict = "all show" if not wrong else f"{wrong} don't show, or look like another"
        out.print(
            f"{len(done)}/{len(names)} {proven.model}: {len(proven.faults)} faults, {proven.variants} variants, "
            f"{proven.observations} observations, {proven.seconds:.1f} s; {verdict}."
        )
    out.print(f"Done in {perf_counter() - start:.1f} s.")
    return sorted(done, key=lambda p: p.model)


def _value(number: float, shown: Shown) -> str:
    """A reading in its unit; what is only seen has none."""
    if not shown.unit:
        return "-"
    return f"{number:.3g} {shown.unit}"


def errors_of(errors: float) -> str:
    """How many instrument errors; an infinite number is plain to see or hear."""
    return "plain" if errors == float("inf") else f"{errors:.1f}"


def _faults(out: Console, proven: Sequence[Proven]) -> int:
    bad = 0
    for one in proven:
        table = Table(
            "fault", "owner notices", "shows at its least by", "instrument", "healthy", "faulty", "errors",
            "may be taken for", title=f"Faults on {one.model}",
        )  # fmt: skip
        for s in one.faults:
            bad += not s.holds
            mark = "" if s.holds else f"   <- look here: {', '.join(s.alike) or 'it does not show'}"
            table.add_row(
                s.fault, ", ".join(s.noticed), s.test + mark, s.instrument, _value(s.healthy, s), _value(s.faulty, s),
                errors_of(s.errors), ", ".join(s.mistaken_for),
            )  # fmt: skip
        out.print(table)
    if bad:
        out.print(f"{bad} faults don't show, or can't be told from one with another remedy.")
    return bad


def _places(out: Console, proven: Sequence[Proven]) -> None:
    table = Table(
        "place", "faults", "instruments", "published checks", "weakest fault shows by",
        title="The places where a technician looks",
    )  # fmt: skip
    rows = places_table(proven)
    for row in rows:
        checks = f"{row.published} ({row.hard} hard)"
        figure = f"{errors_of(row.errors)} errors: {row.weakest} on {row.model}"
        table.add_row(row.place, str(row.faults), ", ".join(row.instruments), checks, figure)
    out.print(table)
    out.print(f"{len(rows)} places, {sum(row.faults for row in rows)} faults.")


def _labs(out: Console) -> None:
    table = Table("lab", "title", "level", "minutes", "faults", "orders tried", title="Labs")
    for lab_id in lab_ids():
        lab = load_lab(lab_id)
        tried = 20
        for k in range(tried):
            make_order(lab, None, f"{k:032x}", date(2026, 1, 1))
        cells = (str(lab.level), str(lab.minutes), str(len(lab.faults)), f"{tried}, all solvable")
        table.add_row(lab_id, lab.title, *cells)
    out.print(table)


def main(arguments: Sequence[str] | None = None) -> int:
    """The command. 0: all holds; 1: something doesn't; 2: an unknown word."""
    parser = argparse.ArgumentParser(
        prog="run.py check", description="Prove models, faults, places and labs."
    )
    parser.add_argument("what", nargs="?", choices=WHAT, default="all")
    parser.add_argument("name", nargs="*", help="these heater models alone; with table, these labs")
    parser.add_argument(
        "--into", type=Path, metavar="FOLDER", help="write the table of a lab here, as CSV and as a picture"
    )
    asked = parser.parse_args(arguments)
    out = Console() if sys.stdout.isatty() else Console(width=WIDTH)
    bad = 0
    try:
        if asked.what == "table":
            show_tables(out, asked.name, asked.into)
            return 0
        names = [load_model(name).name for name in asked.name] or model_names()
        if asked.what in ("all", "models"):
            _models(out, names)
        if asked.what in ("all", "faults", "places"):
            proven = _prove(out, model_names() if asked.what == "places" else names)
            if asked.what != "places":
                bad = _faults(out, proven)
            if asked.what != "faults" and len(proven) == len(model_names()):
                _places(out, proven)
        if asked.what in ("all", "labs"):
            _labs(out)
    except TanksideError as error:
        out.print(str(error), style="bold", markup=False)
        return 1
    return 1 if bad else 0


if __name__ == "__main__":
    sys.exit(main())
