"""The reference technician: works a call-out safely and to the end, and writes the service report.

It works every lab on every model through the bench alone: ``search`` finds the fault along the reference path,
``finish`` repairs and brings the heater back into service, ``safe_hands`` does first what each action needs. The answers
in the labs' solution regions are its answers.
"""

from __future__ import annotations

import json
from pathlib import Path

from tankside.bench import Bench
from tankside.diagnosis.candidates import remedies_of
from tankside.errors import BenchError
from tankside.faults.catalogue import fault_named, remedies
from tankside.labs import Lab
from tankside.report import LABELS
from tankside.workorder import WorkOrder
from tankside_autograder.finish import finished
from tankside_autograder.search import Searcher


def solve(order: WorkOrder, lab: Lab, log: Path | None = None) -> tuple[list[str], dict[str, str]]:
    """Work an order to the end.

    Parameters
    ----------
    log : where the bench writes its log; nowhere by default

    Returns
    -------
    (log lines, answers)
        The bench log as JSON lines, and label -> text for every label that the lab's answer cells hold.
    """
    bench = Bench(order, log)
    answers = work(bench, lab)
    return [json.dumps(entry, ensure_ascii=False) for entry in bench.entries], answers


def work(bench: Bench, lab: Lab) -> dict[str, str]:
    """Work the order of a fresh bench to the end; the answers, label -> text."""
    me = Searcher(bench, lab)
    me.search()
    me.take_the_rest()
    found = verdict(me)
    me.remedy = remedies()[fault_named(found).remedy]
    me.quote()
    condition = finished(me, me.remedy, lab.expects)
    return report(me, found, condition)


def verdict(me: Searcher) -> str:
    """The fault that is left. Where the meters can't part the last ones, all need the same repair: the first."""
    if not me.left:
        raise BenchError(f"What the bench showed on {me.bench.order.order} fits none of the lab's faults.")
    if len(remedies_of(me.left)) > 1:
        raise BenchError(
            f"The tests on {me.bench.order.order} leave more than one repair: {', '.join(me.left)}."
        )
    return me.left[0]


def report(me: Searcher, found: str, condition: str) -> dict[str, str]:
    """Every label of the lab's answer cells, in their order."""
    out = {figure.label: me.figures[figure.id] for figure in me.lab.figure if figure.id in me.figures}
    remedy = me.remedy or remedies()[fault_named(found).remedy]
    out[LABELS["diagnosis"]] = fault_named(found).name
    out[LABELS["evidence"]] = ", ".join(str(line) for line in me.evidence) or "1"
    out[LABELS["remedy"]] = remedy.name
    out[LABELS["condition"]] = condition
    return out
