"""Orders that hide what a test wants, and logs as text."""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from functools import cache
from typing import Any

from tankside.bench import Bench
from tankside.bench.log import link, start_link
from tankside.case import draw_case
from tankside.errors import TanksideError
from tankside.labs import load_lab
from tankside.practice import lesson_order
from tankside.workorder import WorkOrder
from tests.strategies import Step

Entry = dict[str, Any]


def order_hiding(fault: str, number: int = 1, lab: str = "lab03", model: str = "heron_6") -> WorkOrder:
    """The n-th order of a lab that hides this fault among all of the lab's faults."""
    scope = load_lab(lab).faults
    scope = scope if fault in scope else (*scope, fault)
    return lesson_order(model=model).model_copy(
        update={
            "order": f"TEST-{number}",
            "lab": lab,
            "scope": scope,
            "seed": _seed(fault, scope, model, number),
        }
    )


@cache
def _seed(fault: str, scope: Sequence[str], model: str, number: int) -> str:
    found = 0
    for trial in range(100_000):
        seed = f"{trial:032x}"
        found += draw_case(model, scope, seed).fault.id == fault
        if found == number:
            return seed
    raise AssertionError(f"{fault} is never drawn")


def lines(entries: Iterable[Entry]) -> list[str]:
    """Entries as the log's lines."""
    return [json.dumps(entry, ensure_ascii=False, separators=(",", ":")) for entry in entries]


def log_of(bench: Bench) -> list[str]:
    """A bench's log, as its file would hold it."""
    return lines(bench.entries)


def chained_again(entries: Iterable[Entry], order: WorkOrder) -> list[str]:
    """Entries numbered and linked anew, as someone would who has read how the chain is made."""
    out, last = [], start_link(order.order)
    for seq, entry in enumerate(entries):
        entry = {**entry, "seq": seq}
        entry["link"] = last = link(last, entry)
        out.append(entry)
    return lines(out)


def do_all(bench: Bench, steps: Iterable[Step]) -> list[str]:
    """Do what can be done; the sentences about the rest."""
    refused = []
    for verb, args in steps:
        try:
            bench.do(verb, **args)
        except TanksideError as error:
            refused.append(str(error))
    return refused


OPEN_ALL: list[Step] = [("open cover", {"place": p}) for p in ("panel", "junction-box", "heater-front")]
ISOLATE: list[Step] = [
    ("switch", {"part": "breaker", "position": "off"}),
    ("switch", {"part": "supply", "position": "out"}),
    ("lock out", {"part": "supply"}),
]
PROVE_ALL: list[Step] = [("prove dead", {"place": p}) for p in ("panel", "junction-box", "heater-front")]
SAFE: list[Step] = [*OPEN_ALL, *ISOLATE, *PROVE_ALL]
"""Covers off, isolated, locked, proven dead everywhere."""
CONNECT: list[Step] = [
    ("unlock", {}),
    ("switch", {"part": "supply", "position": "in"}),
    ("switch", {"part": "breaker", "position": "on"}),
]
