"""Can every work order that is handed out be solved, and does every fault get its turn?"""

from __future__ import annotations

from collections import Counter
from contextlib import suppress
from datetime import date

import pytest

from tankside.bench.bench import perform, start_state
from tankside.case import all_as_found, symptom
from tankside.diagnosis.candidates import Follower, remedies_of
from tankside.diagnosis.proof import prove
from tankside.diagnosis.survey import survey
from tankside.dispatch import drawn, make_order, worded
from tankside.errors import BenchError, WorkOrderError
from tankside.faults.catalogue import faults
from tankside.heater.model import load_model
from tankside.heater.unit import Unit
from tankside.labs import Lab, lab_ids, load_lab
from tankside.streams import Stream
from tankside.workorder import WorkOrder

TODAY = date(2026, 1, 1)
LEARNER = "a learner"
SEEDS = 200
PROVE_EVERY = 5
SURVEY_EVERY = 25
TOGETHER = 50
"""Heaters that run through their owners' hours as one batch."""


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


def first_draws(lab: Lab) -> list[tuple[WorkOrder, Unit]]:
    """The first draw of each seed with its words and its heater as found, which is most of what ``make_order`` does.

    The heaters of a model run through their owners' hours together, which costs a tenth of running them one by one.
    """
    orders = [drawn(lab, LEARNER, f"{number:032x}", TODAY) for number in range(SEEDS)]
    units: dict[str, Unit] = {}
    for model in lab.models:
        own = [order for order in orders if order.model == model]
        for k in range(0, len(own), TOGETHER):
            piece = own[k : k + TOGETHER]
            units |= zip(
                [order.seed for order in piece],
                all_as_found([order.case() for order in piece]),
                strict=True,
            )
    return [(worded(lab, order, symptom(units[order.seed])), units[order.seed]) for order in orders]


@pytest.mark.slow
@pytest.mark.parametrize("lab_id", lab_ids())
def test_solvable_and_fair(lab_id: str) -> None:
    """Do 200 seeds give 200 different orders, does each fault get its turn and none far too often, do the proofs hold?

    Drawn are all 200. A proof costs more than all else: proven are every fifth, and each fault's until one may be
    handed out. A few go through ``make_order`` itself, and through the survey, which knows nothing of the proof.
    """
    lab = load_lab(lab_id)
    orders = first_draws(lab)
    assert len({order.seed for order, _ in orders}) == len({order.order for order, _ in orders}) == SEEDS
    cases = [order.case() for order, _ in orders]
    assert len({f"{case.model.name} {case.fault.id} {case.site}" for case in cases}) == SEEDS
    turn: set[str] = set()
    refused = 0
    for number, ((order, unit), case) in enumerate(zip(orders, cases, strict=True)):
        assert order.fits and order.complaint
        if number % PROVE_EVERY and case.fault.id in turn:
            continue
        proof = prove(order, start_state(order, unit))
        fitting = proof.solvable and lab.difficulty[0] <= proof.difficulty <= lab.difficulty[1]
        if fitting:
            assert proof.minutes > 0 and proof.suspects >= 1
            turn.add(case.fault.id)
        refused += not fitting and number % PROVE_EVERY == 0
        if number % SURVEY_EVERY == 0:
            made = make_order(lab, LEARNER, f"{number:032x}", TODAY)
            if fitting:
                assert made == order.model_copy(update={"proof": proof.as_data()})
            assert solved(made), number
    possible = {f for f in lab.faults if any(faults()[f].applies_to(load_model(m)) for m in lab.models)}
    assert possible == turn, f"starved: {possible - turn}"
    # With a quarter of the draws refused, a fault whose draws never are comes 4 : 3 as often as it is drawn.
    assert refused <= SEEDS / PROVE_EVERY / 4
    most = Counter(case.fault.id for case in cases).most_common(1)[0][1]
    assert most < 3 * SEEDS / len(possible)


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
