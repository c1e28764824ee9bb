"""Do the gas side's tests stand in the table as the bench makes them, and does the reference path use them?"""

from __future__ import annotations

from datetime import date

import pytest

from tankside.bench.bench import perform, start_state
from tankside.case import draw_case
from tankside.diagnosis.gas_tests import gas_tests, make, slack
from tankside.diagnosis.proof import prove, reference_of
from tankside.diagnosis.table import make_table
from tankside.dispatch import make_order
from tankside.faults.catalogue import faults
from tankside.heater.model import load_model
from tankside.labs.lab import Lab
from tankside.practice import lesson_order

MODEL = load_model("smew_10")
FAULTS = tuple(f.id for f in faults().values() if f.applies_to(MODEL))
SOME = (
    "hose-kinked",
    "union-leaks",
    "tube-web",
    "regulator-low",
    "gas-cock-shut",
    "cylinder-empty",
    "no-fault",
)


def lab(names: tuple[str, ...]) -> Lab:
    """A lab on the gas heater."""
    return Lab(
        id="gas", title="Gas", level=2, minutes=60, models=("smew_10",), faults=names,
        weights={"safe-working": 25, "evidence": 25, "diagnosis": 25, "remedy": 15, "figures": 10},
    )  # fmt: skip


def test_mains_heaters_have_none() -> None:
    """Does a heater without a gas side keep its table as it was?"""
    assert gas_tests(load_model("heron_6")) == {}


@pytest.mark.parametrize("fault", ["no-fault", "hose-kinked", "tube-web"])
def test_the_table_says_what_the_bench_shows(fault: str) -> None:
    """Is every number that a test gives at the bench within the interval of its fault's cells in the table?"""
    order = lesson_order(fault, "smew_10").model_copy(update={"scope": (fault,)})
    case = order.case()
    table = make_table(MODEL, (fault,), case)
    state = start_state(order)
    state.open_covers |= {place.id for place in MODEL.places.values() if place.cover}
    rows = table.of_fault(fault)
    for j, column in enumerate(table.columns):
        test = gas_tests(MODEL).get((column.situation, column.function, column.red, column.black))
        if test and test.situation == 0:
            value = float(test.finds(state.unit)[0])
            assert table.low[rows, j].min() - 1e-9 <= value <= table.high[rows, j].max() + 1e-9, column.name
            assert (slack(test, table.low[rows, j]) >= 0).all()


def test_each_test_can_be_made() -> None:
    """Does the bench know each verb with these arguments, in words?"""
    state = start_state(lesson_order("no-fault", "smew_10"))
    perform(state, "open cover", {"place": "heater-front"})
    for test in gas_tests(MODEL).values():
        value, text = make(state, test)
        assert value == value and len(text) > 10


def test_every_gas_fault_is_detected_by_some_test() -> None:
    """Before anything is taken apart, does some test tell each fault, somewhere on its way, from the healthy heater?"""
    case = draw_case("smew_10", ("no-fault",), f"{1:032x}")
    table = make_table(MODEL, FAULTS, case)
    blind = []
    for fault in FAULTS:
        rows = table.of_fault(fault)
        apart = (table.low[rows] > table.high[-1]) | (table.high[rows] < table.low[-1])
        if not apart.any() and not table.noticed[rows, 1:].any():
            blind.append(fault)
    assert blind == ["no-fault"]


def test_orders_are_proven_along_the_gas_path() -> None:
    """Are orders on gas made, solvable, and shorter by the reference path than by the survey?"""
    for number in range(3):
        order = make_order(lab(SOME), None, f"{number:032x}", date(2026, 1, 1))
        proof = prove(order)
        assert proof.solvable and order.case().fault.id in proof.left
        found = reference_of(order, "normal")
        assert any(column.function in ("gas pressure", "inspect", "soap test", "sniff", "weigh cylinder")
                   for column in found.table.columns)  # fmt: skip
        assert proof.minutes < 120
