"""Can every work order that is handed out be solved, and does every fault get its turn?"""

from __future__ import annotations

from collections import Counter
from contextlib import suppress
from datetime import date

import pytest

from tankside.bench.bench import perform
from tankside.diagnosis.candidates import Follower, remedies_of
from tankside.diagnosis.survey import survey
from tankside.dispatch import make_order
from tankside.errors import BenchError, WorkOrderError
from tankside.faults.catalogue import faults
from tankside.heater.model import load_model
from tankside.labs import lab_ids, load_lab
from tankside.streams import Stream
from tankside.workorder import WorkOrder

TODAY = date(2026, 1, 1)
SEEDS = 200


def solved(order: WorkOrder) -> bool:
    """True if the survey, which knows nothing of the proof, comes down to the right repair."""
    follower = Follower(order)
    for line, (verb, args) in enumerate(survey(order.case().model)):
        with suppress(BenchError):
            perform(follower.state, verb, args)
        follower.after(line)
        if len(remedies_of(follower.suspects.remaining())) == 1:
            break
    return remedies_of(follower.suspects.remaining()) == {order.case().fault.remedy}


@pytest.mark.slow
@pytest.mark.parametrize("lab_id", lab_ids())
def test_solvable_and_fair(lab_id: str) -> None:
    """Over 200 seeds: does each give an order with its proof, is every fault drawn, and none far too often?"""
    lab = load_lab(lab_id)
    drawn: Counter[str] = Counter()
    for number in range(SEEDS):
        order = make_order(lab, "a learner", f"{number:032x}", TODAY)
        drawn[order.case().fault.id] += 1
        assert order.proof["minutes"] > 0 and order.proof["suspects at first"] >= 1
        assert order.fits and order.complaint
        if number % 25 == 0:
            assert solved(order), number
    possible = [f for f in lab.faults if any(faults()[f].applies_to(load_model(m)) for m in lab.models)]
    assert set(possible) == set(drawn), f"starved: {set(possible) - set(drawn)}"
    assert max(drawn.values()) < 4 * SEEDS / len(possible)


def test_what_cannot_be_told_apart_is_never_handed_out() -> None:
    """With only faults that look the same and need different repairs: is that said instead of an order?"""
    lab = load_lab("lab03").model_copy(update={"difficulty": (99.0, 100.0)})
    with pytest.raises(WorkOrderError, match="lab03"):
        make_order(lab, None, "0" * 32, TODAY)


def test_orders_differ() -> None:
    """Do 60 learners of one class get 60 numbers, and far more than one heater?"""
    lab = load_lab("lab02")
    orders = [
        make_order(lab, f"learner {k}", f"{Stream('class', str(k)).integer(0, 2**60):016x}", TODAY)
        for k in range(60)
    ]
    assert len({order.order for order in orders}) == len({order.seed for order in orders}) == 60
    assert len({str(order.case().site) for order in orders}) == 60
