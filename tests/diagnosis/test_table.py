"""The test-by-fault table: against meters connected one by one, and what it says about faults."""

from __future__ import annotations

import math
from datetime import date

import numpy as np
import pytest

from tankside.bench.bench import perform, start_state
from tankside.bench.terminals import Terminals
from tankside.case import SYMPTOMS, draw_case, symptom, variants
from tankside.diagnosis.candidates import remedies_of
from tankside.diagnosis.path import walk
from tankside.diagnosis.planner import best_plan, quick_plan
from tankside.diagnosis.proof import prove, reference_of
from tankside.diagnosis.reference import EXACT_SIZE, EXACT_STATES, reference
from tankside.diagnosis.situations import SITUATIONS, meter_outcomes, steps_to
from tankside.diagnosis.table import make_table
from tankside.dispatch import make_order
from tankside.faults.catalogue import faults
from tankside.heater.model import load_model
from tankside.instruments.multimeter import Multimeter
from tankside.labs import lab_ids, load_lab
from tankside.streams import Stream

ISSUED = date(2026, 1, 1)


MODEL = load_model("heron_6")
SCOPE = load_lab("lab03").faults


@pytest.mark.parametrize("situation", [0, 3])
def test_all_pairs_at_once_equal_a_meter_on_each(situation: int) -> None:
    """Does Thevenin's short cut give what a meter connected between two terminals finds?"""
    found = variants(draw_case("heron_6", SCOPE, "ab" * 16), SCOPE)
    unit = found.unit
    order = make_order(load_lab("lab03"), None, "ab" * 16, ISSUED)
    state = start_state(order, unit)
    state.open_covers |= set(MODEL.places)
    for step in range(situation + 1):
        for verb, args in steps_to(MODEL, step):
            perform(state, verb, args)
    outcomes = meter_outcomes(state.unit, situation)
    meter = Multimeter(Stream("0", "any"))
    network = Terminals(state.unit)
    draw = Stream("1", "pairs")
    for _ in range(25):
        column, value = draw.choice(outcomes)
        direct, disturbed = meter.sees(column.function, network, column.red, column.black)
        plain = np.broadcast_to(disturbed <= 2.0, direct.shape) & (direct < 60e6)
        assert np.allclose(value[plain], direct[plain], rtol=1e-4, atol=1e-4), column.name


def test_the_healthy_heater_detects_nothing_and_every_fault_is_detected() -> None:
    """Is each fault told from the healthy heater by some test, at every severity, on any heater of the model?"""
    table = make_table(MODEL, SCOPE)
    for fault in SCOPE:
        assert table.detects(fault), fault
    assert not make_table(MODEL, ("no-fault",)).detects("no-fault")


def test_ambiguity_groups_ask_for_one_repair() -> None:
    """Do the faults that no test parts on this heater at least share a remedy?"""
    table = make_table(MODEL, SCOPE, draw_case("heron_6", SCOPE, "cd" * 16))
    for group in table.ambiguity_groups():
        assert len(remedies_of(group)) == 1, group


def test_classes_are_what_meters_can_part() -> None:
    """Do cells of one class overlap with their neighbours, and cells of different classes never?"""
    table = make_table(MODEL, SCOPE)
    draw = Stream("2", "columns")
    for _ in range(40):
        j = draw.integer(0, len(table.columns) - 1)
        for a in range(0, len(table.cells), 7):
            apart = (table.low[a, j] > table.high[:, j]) | (table.high[a, j] < table.low[:, j])
            different = table.classes[a, j] != table.classes[:, j]
            assert np.all(apart[different]), table.columns[j].name


def test_the_frame_reads() -> None:
    """Is the table to be looked at as faults by tests, in words?"""
    frame = make_table(MODEL, ("element-open", "no-fault")).frame()
    assert list(frame.index) == ["element-open", "no-fault", "healthy"]
    name = "leads lifted: Ω element.1 to element.2"
    assert frame.loc["healthy", name] != frame.loc["element-open", name]


@pytest.mark.parametrize("lab_id", lab_ids())
def test_every_order_is_proven_and_its_path_ends_at_the_fault(lab_id: str) -> None:
    """Over many orders: does the path end with the true fault among what is left, of one repair?"""
    lab = load_lab(lab_id)
    seen: dict[str, int] = {}
    for k in range(60):
        order = make_order(lab, None, f"{k:032x}", ISSUED)
        fault = order.case().fault.id
        seen[fault] = seen.get(fault, 0) + 1
        proof = prove(order)
        assert proof.solvable
        assert fault in proof.left
        assert proof.as_data() == order.proof
    assert len(seen) >= 0.7 * len(lab.faults)


def test_the_walk_makes_no_unsafe_act() -> None:
    """Does the reference path keep every safety rule?"""
    lab = load_lab("lab03")
    for k in range(25):
        order = make_order(lab, None, f"{k:032x}", ISSUED)
        state = start_state(order)
        walk(reference_of(order, symptom(state.unit)), state)
        assert state.stopped is None


@pytest.mark.parametrize("noticed", range(5))
def test_the_quick_plan_is_near_the_exact_one(noticed: int) -> None:
    """Is the plan that looks one test ahead within 5 % of the exact optimum?"""
    if not make_table(MODEL, SCOPE).noticed[:, noticed].any():
        pytest.skip(f"no fault in scope shows symptom {noticed}")
    found = reference("heron_6", SCOPE, (noticed,))
    exact, quick = best_plan(found.problem), quick_plan(found.problem)
    assert exact.exact
    assert quick.minutes <= 1.05 * exact.minutes + 1e-9


def test_the_path_that_is_handed_out_is_the_optimum() -> None:
    """Where a plan that looks one test ahead is more than 5 % above the optimum, is the exact one handed out?

    An ignition whose flame doesn't come has thirteen things to tell apart. ``run.py bench paths`` does all sides of all models.
    """
    model = load_model("teal_10")
    scope = tuple(name for name in load_lab("lab05").faults if faults()[name].applies_to(model))
    noticed = SYMPTOMS.index("gas dead")
    found = reference("teal_10", scope, (noticed,), exact=False)
    optimum, quick = best_plan(found.problem, 40_000, 60), quick_plan(found.problem)
    assert optimum.exact and len(found.cells) > 12 and quick.minutes > 1.05 * optimum.minutes
    handed_out = best_plan(found.problem, EXACT_STATES, EXACT_SIZE)
    assert handed_out.minutes == pytest.approx(optimum.minutes, rel=1e-9)


def test_situations_have_their_price() -> None:
    """Does draining cost its fifteen minutes, and does nothing come free?"""
    table = make_table(MODEL, ("no-fault",))
    assert table.minutes[SITUATIONS.index("drained")] == pytest.approx(15.0)
    assert all(minutes > 0 for minutes in table.minutes[1:])
    assert all(math.isfinite(minutes) for minutes in table.minutes)
    assert len(faults()) >= len(SCOPE)
