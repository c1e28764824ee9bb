"""Is the fault that is really there ever ruled out? ``run.py bench soundness [--logs 1000] [--keep FILE]``.

Every fault of the catalogue gets so many random legal logs, some on each model that can have it and most on the smallest
of those, on heaters, sites and severities drawn anew. A log begins with nothing done, with the covers off, locked out and proven dead, with
leads lifted or with the tank drained; then come tests of the careful survey in any order, leads on any two terminals,
switches, taps and waiting. What the bench refuses isn't in the log. Whether a fault survives hangs on its own severities
alone, so that each batch holds the true heater and its fault at every severity. ``--keep`` writes each piece to a file
as soon as it is there, and does only what the file lacks.
"""

from __future__ import annotations

import argparse
import json
import os
import time
from collections import Counter
from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor, as_completed
from contextlib import suppress
from functools import cache
from pathlib import Path
from typing import Any

from rich.console import Console
from rich.progress import track
from rich.table import Table

from tankside.bench.bench import perform, start_state
from tankside.bench.state import BenchState
from tankside.case import variants
from tankside.diagnosis.candidates import Suspects
from tankside.diagnosis.situations import SITUATIONS, steps_to
from tankside.diagnosis.survey import survey
from tankside.errors import TanksideError
from tankside.faults.catalogue import faults
from tankside.heater.model import HeaterModel, load_model, model_names
from tankside.heater.wiring import loose_end
from tankside.instruments.multimeter import FUNCTIONS
from tankside.practice import lesson_order
from tankside.streams import Stream

Step = tuple[str, dict[str, Any]]
Piece = tuple[str, str, int]
"""Fault, model, logs."""
ON_ONE_HEATER = 25
"""Logs that one drawn heater serves."""
LEAST, MOST = 4, 12
"""Steps of a log after its beginning."""
TRIES = 3
"""Steps tried for each that the bench may refuse."""


def pieces(logs: int, models: Sequence[str]) -> list[Piece]:
    """Every fault on every model that can have it: a few logs on each, and the rest on the smallest, whose logs cost least."""
    out: list[Piece] = []
    by_size = sorted(models, key=lambda name: len(load_model(name).terminals))
    for fault in faults().values():
        able = [name for name in by_size if fault.applies_to(load_model(name))]
        if not able:
            continue
        smallest, *others = able
        few = min(ON_ONE_HEATER, logs)
        out += [(fault.id, name, few) for name in others]
        out.append((fault.id, smallest, max(logs - few * len(others), few)))
    return out


@cache
def tests_of(model: HeaterModel) -> tuple[Step, ...]:
    """The careful survey's steps, each once, without those that make the heater dead: a beginning does that."""
    found = {repr(step): step for step in survey(model)}
    return tuple(step for step in found.values() if step[0] not in ("lock out", "drain"))


def draw_step(model: HeaterModel, stream: Stream) -> Step:
    """One step of a random log."""
    kind = stream.uniform()
    if kind < 0.55:
        return stream.choice(tests_of(model))
    if kind < 0.75:
        terminals = [*model.terminals, *(loose_end(w.id) for w in model.wires.values() if w.lifts_at)]
        return "probe", {"red": stream.choice(terminals), "black": stream.choice(terminals)}
    if kind < 0.82:
        return "meter", {"function": stream.choice(list(FUNCTIONS))}
    if kind < 0.9:
        hands = [(part, p) for part, record in model.types.items() for p in record.positions]
        part, position = stream.choice(hands)
        return "switch", {"part": part, "position": position}
    some: list[Step] = [
        ("wait", {"minutes": 45}),
        ("wait", {"minutes": 5}),
        ("run tap", {"minutes": 10}),
        ("look", {}),
        ("temperature", {}),
        ("zero leads", {}),
        ("make safe", {}),
    ]
    return stream.choice(some)


def beginnings(model: HeaterModel) -> list[list[Step]]:
    """How a log may begin."""
    covers: list[Step] = [("open cover", {"place": p.id}) for p in model.places.values() if p.cover]
    proofs: list[Step] = [("prove dead", {"place": p.id}) for p in model.places.values() if p.cover]
    out: list[list[Step]] = [[], covers]
    dead = list(covers)
    for situation in range(2, len(SITUATIONS)):
        dead = [*dead, *steps_to(model, situation), *(proofs if situation == 2 else [])]
        out.append(list(dead))
    return out


def _do(state: BenchState, step: Step) -> bool:
    """A step, if the bench lets one do it; whether it did. What is refused leaves the state as it was."""
    before = state.snapshot()
    try:
        perform(state, *step)
    except TanksideError:
        vars(state).update(vars(before))
        return False
    return True


def work(piece: Piece) -> dict[str, Any]:
    """The logs of one fault on one model: how many, how many lines, and each one that ruled the true fault out."""
    fault, name, logs = piece
    model, lines, verbs, lost = load_model(name), 0, Counter[str](), []
    began = time.perf_counter()
    for first in range(0, logs, ON_ONE_HEATER):
        order = lesson_order(fault, name, first // ON_ONE_HEATER + 1)
        found = variants(order.case(), order.scope)
        starts = []
        for steps in beginnings(model):
            state, suspects = start_state(order, found.unit.copy()), Suspects(found)
            state.witness = suspects
            state.see_positions()
            for step in steps:
                _do(state, step)
            starts.append((state, suspects))
        for number in range(first, min(first + ON_ONE_HEATER, logs)):
            stream = Stream(f"{number}", f"soundness {name} {fault}")
            start, seen = starts[number % len(starts)]
            state, suspects = start.snapshot(), Suspects(found)
            suspects.alive = seen.alive.copy()
            state.witness = suspects
            done: list[Step] = []
            wanted = stream.integer(LEAST, MOST)
            for _ in range(TRIES * wanted):
                step = draw_step(model, stream)
                if _do(state, step):
                    done.append(step)
                    verbs[step[0]] += 1
                if len(done) == wanted:
                    break
            lines += len(done)
            if fault not in suspects.remaining():
                lost.append({"number": number, "begun": number % len(starts), "steps": done})
    return {
        "piece": piece,
        "logs": logs,
        "lines": lines,
        "verbs": verbs,
        "lost": lost,
        "seconds": time.perf_counter() - began,
    }


def kept(file: Path | None) -> dict[Piece, dict[str, Any]]:
    """The pieces that an earlier run wrote; a line that was cut off by its end is left out."""
    out = {}
    for line in file.read_text(encoding="utf-8").splitlines() if file and file.is_file() else ():
        with suppress(ValueError, KeyError, TypeError):
            row = json.loads(line)
            fault, model, logs = row["piece"]
            out[str(fault), str(model), int(logs)] = row
    return out


def show(out: Console, rows: Sequence[dict[str, Any]], seconds: float) -> int:
    """The table by model; 1 if a true fault was ruled out, or no verb but a few was used."""
    table = Table("model", "faults", "logs", "lines", "true fault ruled out")
    for name in dict.fromkeys(row["piece"][1] for row in rows):
        mine = [row for row in rows if row["piece"][1] == name]
        numbers = (len(mine), *(sum(row[key] for row in mine) for key in ("logs", "lines")))
        table.add_row(name, *(f"{n:,}" for n in numbers), str(sum(len(row["lost"]) for row in mine)))
    out.print(table)
    by_fault: Counter[str] = Counter()
    verbs: Counter[str] = Counter()
    for row in rows:
        by_fault[row["piece"][0]] += row["logs"]
        verbs.update(row["verbs"])
    out.print(f"Verbs in them: {', '.join(f'{verb} {n:,}' for verb, n in verbs.most_common())}.")
    lost = [(row["piece"], one) for row in rows for one in row["lost"]]
    for (fault, model, _), one in lost[:20]:
        out.print(f"{fault} on {model}, log {one['number']}: {one['steps']}", highlight=False)
    out.print(
        f"{len(by_fault)} faults, at least {min(by_fault.values()):,} logs each, {sum(by_fault.values()):,} in all: "
        f"the true fault was ruled out in {len(lost)}. {seconds:.0f} s."
    )
    return int(bool(lost))


def main(arguments: Sequence[str] | None = None) -> int:
    """Work the logs, with progress; exit code 1 if a true fault was ever ruled out."""
    parser = argparse.ArgumentParser("run.py bench soundness", description=__doc__)
    parser.add_argument("--logs", type=int, default=50, help="random logs for every fault")
    parser.add_argument("--model", action="append", help="only this model; may be given again")
    parser.add_argument("--workers", type=int, default=min(os.cpu_count() or 1, 2))
    parser.add_argument("--keep", type=Path, metavar="FILE", help="keep the pieces here, and go on from them")
    chosen = parser.parse_args(arguments)
    wanted = pieces(chosen.logs, chosen.model or model_names())
    out, began = Console(width=max(Console().width, 120)), time.perf_counter()
    found = kept(chosen.keep)
    with ProcessPoolExecutor(chosen.workers) as pool:
        jobs = [pool.submit(work, piece) for piece in wanted if piece not in found]
        for job in track(as_completed(jobs), "Working logs", total=len(jobs), console=out, transient=True):
            row = job.result()
            found[tuple(row["piece"])] = row
            if chosen.keep:
                with chosen.keep.open("a", encoding="utf-8") as file:
                    file.write(json.dumps(row) + "\n")
    return show(out, [found[piece] for piece in wanted], time.perf_counter() - began)


if __name__ == "__main__":
    raise SystemExit(main())
