"""Do the bench's tests stand in the table as the bench makes them, on every side of the heater?"""

from __future__ import annotations

from datetime import date

import pytest

from tankside.bench.bench import perform, start_state
from tankside.bench.state import BenchState
from tankside.diagnosis.bench_tests import bench_tests
from tankside.diagnosis.notes import Notes
from tankside.diagnosis.proof import prove
from tankside.diagnosis.situations import SITUATIONS, steps_to
from tankside.diagnosis.table import TableTest, make_table
from tankside.dispatch import make_order
from tankside.errors import BenchError
from tankside.faults.catalogue import fault_named
from tankside.heater.model import load_model, model_names
from tankside.labs.lab import Lab
from tankside.practice import lesson_order
from tankside.workorder import WorkOrder

SIDES = {
    "plover_12": (
        "fuse-blown",
        "connector-corroded",
        "rod-fouled",
        "sediment",
        "anode-half-used",
        "union-leaks",
    ),
    "smew_10": ("hose-kinked", "tube-web", "regulator-low"),
    "dipper_6": ("thermocouple-weak", "magnet-weak"),
    "ouzel_23": ("check-valve-leaks", "relief-weeps"),
}
TODAY = date(2026, 1, 1)


def lab(model: str, names: tuple[str, ...]) -> Lab:
    """A lab on one model."""
    return Lab(
        id="any", title="Any", level=2, minutes=60, models=(model,), faults=names,
        weights={"safe-working": 25, "evidence": 25, "diagnosis": 25, "remedy": 15, "figures": 10},
    )  # fmt: skip


def order_on(model: str, scope: tuple[str, ...], fault: str) -> WorkOrder:
    """An order on a model that hides this fault."""
    for number in range(1000):
        order = lesson_order(model=model).model_copy(update={"scope": scope, "seed": f"{number:032x}"})
        if order.case().fault.id == fault:
            return order
    raise AssertionError(fault)


def shows(state: BenchState, test: TableTest) -> dict[str, float]:
    """What a test shows at a bench, by the name of the observation; the bench is as before afterwards."""
    twin = state.snapshot()
    twin.witness = notes = Notes()
    for verb, args in test.steps:
        perform(twin, verb, args)
    return {seen.label: seen.shown for seen in notes.seen}


def test_mains_heaters_have_none() -> None:
    """Does a heater with only a mains side keep its table as it was?"""
    assert bench_tests(load_model("heron_6")) == ()


@pytest.mark.parametrize("name", SIDES)
def test_the_table_says_what_the_bench_shows(name: str) -> None:
    """Is all that a technician sees on an order's heater, test by test, within its fault's intervals in the table?"""
    model, scope = load_model(name), SIDES[name]
    for fault in scope[:: 2 if name == "plover_12" else 1]:
        order = order_on(name, scope, fault)
        table = make_table(model, scope, order.case())
        rows = table.of_fault(fault)
        state = start_state(order)
        state.open_covers |= {place.id for place in model.places.values() if place.cover}
        compared = 0
        for situation in range(len(SITUATIONS)):
            for verb, args in steps_to(model, situation):
                perform(state, verb, args)
            for test in table.tests:
                if test.situation != situation or (test.steps[-1][0] == "probe" and len(test.steps) == 2):
                    continue  # two terminals and a meter: compared in test_table
                try:
                    seen = shows(state, test)
                except BenchError:
                    continue  # this heater's state puts it out of reach
                for label, j in test.columns:
                    if label in seen:
                        low, high = table.low[rows, j].min(), table.high[rows, j].max()
                        assert low <= seen[label] <= high, f"{fault}, {test.name}, {label}"
                        compared += 1
        assert compared > 10


def test_minutes_and_covers_are_the_benchs() -> None:
    """Does a test cost what the bench takes for it, and need the covers that the bench asks for?"""
    model = load_model("plover_12")
    table = make_table(model, ("fuse-blown",))
    tests = {test.name: test for test in table.tests}
    board = tests["isolated: control board on its test set"]
    assert board.minutes == 8 and board.places == {"burner-bay"}
    weigh = tests["as found: weigh the cylinder"]
    assert weigh.minutes == 3 and not weigh.places
    volts = tests["calling: watch a start, volts control_board.supply to control_board.ground"]
    assert volts.places == {"burner-bay"} and volts.minutes == pytest.approx(3.0)  # a nose, then a start
    drained = tests["drained: take the anode out and look"]
    assert drained.minutes == 12 and table.minutes[drained.situation] == pytest.approx(15.0)


@pytest.mark.parametrize("name", SIDES)
def test_orders_are_proven_on_every_side(name: str) -> None:
    """Are orders made and solvable, and does the path end at the fault well within the survey's hours?"""
    for number in range(4):
        order = make_order(lab(name, SIDES[name]), None, f"{number:032x}", TODAY)
        proof = prove(order)
        fault = order.case().fault
        assert proof.solvable and {fault_named(f).remedy for f in proof.left} == {fault.remedy}
        assert proof.minutes < 80


def test_every_model_has_tests_of_its_own_parts() -> None:
    """Does every model beyond the mains side have tests for what it has?"""
    for name in model_names():
        model = load_model(name)
        words = " ".join(test.name for test in bench_tests(model))
        assert ("flame rod" in words) == bool(model.of_type("control board"))
        assert ("anode" in words) == bool(model.of_type("anode"))
        assert ("cylinder" in words) == bool(model.of_type("gas cylinder"))
