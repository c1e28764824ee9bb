"""``python3 run.py check``: prove that the data files for models, faults and labs hold together.

For whoever adds a heater model, a fault or a lab: nothing here needs Python. The first thing
wrong is one line with file, key, what was expected and what was found; exit code 1.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterator, Sequence
from datetime import date

from rich.console import Console
from rich.progress import track
from rich.table import Table

from tankside.bench.bench import perform
from tankside.case import SYMPTOMS, draw_case
from tankside.diagnosis.candidates import Follower, remedies_of
from tankside.diagnosis.survey import survey
from tankside.dispatch import make_order
from tankside.errors import BenchError, TanksideError
from tankside.faults.catalogue import Fault, faults
from tankside.heater.model import HeaterModel, load_model, model_names
from tankside.heater.simulation import advance
from tankside.heater.unit import make_unit
from tankside.labs import lab_ids, load_lab
from tankside.workorder import WorkOrder

HEAT_WITHIN = 600.0
"""min in which a healthy heater must bring cold water to its thermostat's setting."""
SATISFIED = (
    ("thermostat", "closed"),
    ("12 V thermostat", "closed"),
    ("pilot thermostat", "closed"),
    ("hand gas valve", "calls"),
)
"""What ends a call for heat, and its state that is then 0."""
SAMPLES = 3
"""Severities at which each fault is tried."""


def check_model(model: HeaterModel) -> float:
    """Minutes that a healthy unit takes to its thermostat's setting; ``TanksideError`` if it never gets there."""
    unit = make_unit(model)
    for minutes in range(10, int(HEAT_WITHIN) + 1, 10):
        advance(unit, 10.0)
        if any(unit[f"{part}.{state}"][0] == 0 for kind, state in SATISFIED for part in model.of_type(kind)):
            return float(minutes)
    raise TanksideError(
        f"{model.file.name}: a healthy unit doesn't reach its thermostat's setting in {HEAT_WITHIN:g} min; "
        f"it stands at {unit['tank.temperature'][0]:.1f} °C. Is an element wired between hot and neutral, or does gas reach the burner?"
    )


def orders_for(model: HeaterModel, fault: Fault, scope: Sequence[str]) -> Iterator[WorkOrder]:
    """A few orders on the model, with all of ``scope`` to tell apart, that hide this fault."""
    found = number = 0
    while found < SAMPLES:
        number += 1
        seed = f"{number:032x}"
        if draw_case(model.name, scope, seed).fault.id == fault.id:
            found += 1
            yield WorkOrder(
                order="CHECK",
                lab="check",
                seed=seed,
                model=model.name,
                scope=tuple(scope),
                issued=date(2026, 1, 1),
                complaint="",
            )


def check_fault(
    model: HeaterModel, fault: Fault, scope: Sequence[str]
) -> tuple[str, int | None, tuple[str, ...]]:
    """What an owner notices, after how many tests the healthy heater is ruled out (None: never), and what is left.

    The worst of the samples counts.
    """
    noticed, seen, left = set[str](), list[int | None](), set[str]()
    for order in orders_for(model, fault, scope):
        follower = Follower(order)
        noticed.add(SYMPTOMS[int(follower.state.unit["seen.symptom"][0])])
        ruled_out = None if follower.suspects.healthy_alive else 0
        tests = 0
        for verb, args in survey(model):
            try:
                perform(follower.state, verb, args)
            except BenchError:
                continue
            tests += 1
            follower.after(tests)
            if ruled_out is None and not follower.suspects.healthy_alive:
                ruled_out = tests
        seen.append(ruled_out)
        left |= set(follower.suspects.remaining())
    worst = None if None in seen else max(n for n in seen if n is not None)
    return ", ".join(sorted(noticed)), worst, tuple(sorted(left))


def _models(out: Console) -> None:
    table = Table("model", "plate", "parts", "wires", "terminals", "heats in", title="Heater models")
    for name in model_names():
        model = load_model(name)
        minutes = check_model(model)
        counts = (str(len(model.parts)), str(len(model.wires)), str(len(model.terminals)))
        table.add_row(name, model.plate.name, *counts, f"{minutes:g} min")
    out.print(table)


def _faults(out: Console) -> int:
    bad = 0
    for name in model_names():
        model = load_model(name)
        scope = [f.id for f in faults().values() if f.applies_to(model)]
        table = Table(
            "fault", "owner notices", "shows by test", "left after all tests", title=f"Faults on {name}"
        )
        for fault_id in track(scope, f"Trying every fault on {name}", console=out, transient=True):
            noticed, tests, left = check_fault(model, faults()[fault_id], scope)
            healthy = fault_id == "no-fault"
            wrong = (tests is None and not healthy) or fault_id not in left or len(remedies_of(left)) > 1
            bad += wrong
            shows = (
                "-"
                if healthy
                else ("never" if tests is None else ("complaint" if tests == 0 else str(tests)))
            )
            table.add_row(fault_id, noticed, shows, ", ".join(left) + ("   <- look here" if wrong else ""))
        out.print(table)
    if bad:
        out.print(f"{bad} faults don't show, or can't be told from one with another remedy.")
    return bad


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
    parser = argparse.ArgumentParser(prog="run.py check", description="Prove models, faults and labs.")
    parser.add_argument("what", nargs="?", choices=("all", "models", "faults", "labs"), default="all")
    what = parser.parse_args(arguments).what
    out = Console()
    try:
        if what in ("all", "models"):
            _models(out)
        bad = _faults(out) if what in ("all", "faults") else 0
        if what in ("all", "labs"):
            _labs(out)
    except TanksideError as error:
        out.print(str(error), style="bold", markup=False)
        return 1
    return 1 if bad else 0


if __name__ == "__main__":
    sys.exit(main())
