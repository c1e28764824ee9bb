"""Marks where a heater has two faults at once: both earn all, one earns about half, whichever way it is written."""

from __future__ import annotations

from datetime import date

import pytest

from tankside.bench import Bench
from tankside.dispatch import make_order
from tankside.errors import BenchError
from tankside.faults.catalogue import apart, fault_named, remedy_named
from tankside.labs import load_lab
from tankside.report import build_report
from tankside.scoring import score
from tankside.scoring.diagnosis import ONE_OF_TWO
from tests.orders import CONNECT, SAFE, do_all, log_of

SOME = ("element-open", "link-bar-burnt", "limit-tripped", "splice-loose", "supply-low")
LAB = load_lab("lab03").model_copy(
    update={"faults": SOME, "faults_at_once": 2, "difficulty": (0.0, 100.0), "figure": ()}
)
ORDER = make_order(LAB, None, f"{5:032x}", date(2026, 1, 1))
FAULTS = ORDER.case().faults


def worked() -> list[str]:
    """A log in which both repairs are made, safely, after the element was measured."""
    bench = Bench(ORDER)
    do_all(bench, SAFE)
    do_all(bench, [("meter", {"function": "Ω"}), ("probe", {"red": "element.1", "black": "element.2"})])
    do_all(bench, [("drain", {})])
    do_all(bench, [("repair", {"remedy": fault.remedy}) for fault in FAULTS])
    do_all(bench, [("fill", {}), *CONNECT, ("run tap", {"minutes": 10}), ("prove operation", {})])
    return log_of(bench)


def marks(faults: str, remedies: str, log: list[str]) -> dict[str, float]:
    """Share of the diagnosis and of the remedy part that an answer earns."""
    answers = {
        "diagnosis": faults,
        "remedy": remedies,
        "log lines that show it": "9",
        "condition left": "in service",
    }
    report, problems = build_report(LAB, answers)
    assert not problems
    found = score(ORDER, report, log, LAB)
    return {part.id: part.points / part.out_of for part in found.parts if part.out_of}


def test_both_named_in_either_order_are_the_same_answer() -> None:
    """Does it matter which of the two is written first, or by name or id? It must not."""
    names, ids = [f.name for f in FAULTS], [f.id for f in FAULTS]
    cures = [remedy_named(f.remedy).name for f in FAULTS]
    written = [
        build_report(LAB, {"diagnosis": a, "remedy": b})[0]
        for a, b in (
            (" ; ".join(names), " + ".join(cures)),
            (f"{ids[1]}; {ids[0]}", f"{cures[1]}; {cures[0]}"),
        )
    ]
    assert written[0].diagnosis == written[1].diagnosis == ORDER.case().fault.id
    assert written[0].remedy == written[1].remedy == ORDER.case().fault.remedy
    assert build_report(LAB, {"diagnosis": " ; "})[1]


def test_one_of_two_earns_about_half() -> None:
    """Is one right fault worth less than both, and more than nothing, in diagnosis and in remedy?"""
    log, both = worked(), ORDER.case().fault
    full = marks("; ".join(apart(both.id)), "; ".join(apart(both.remedy)), log)
    half = marks(FAULTS[0].id, FAULTS[0].remedy, log)
    wrong = next(
        f for f in SOME if f not in apart(both.id) and fault_named(f).remedy not in apart(both.remedy)
    )
    none = marks(wrong, fault_named(wrong).remedy, log)
    assert full["diagnosis"] > half["diagnosis"] > none["diagnosis"]
    assert half["diagnosis"] == pytest.approx(ONE_OF_TWO * full["diagnosis"], abs=0.02)
    assert full["remedy"] > half["remedy"] > none["remedy"]


def test_the_bench_makes_one_repair_at_a_time() -> None:
    """Is an id that joins two repairs refused in one sentence that names both, with nothing done and nothing logged?"""
    bench = Bench(ORDER)
    do_all(bench, [*SAFE, ("drain", {})])
    before = len(bench.entries)
    names = [remedy_named(fault.remedy).name for fault in FAULTS]
    with pytest.raises(BenchError) as told:
        bench.do("repair", remedy=ORDER.case().fault.remedy)
    assert all(name in str(told.value) for name in names) and "\n" not in str(told.value)
    assert len(bench.entries) == before and not bench.state.repaired
