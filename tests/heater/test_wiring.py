"""Where a model's alternating and direct sides are solved by themselves: is it what the whole network gives?"""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest

from tankside.faults.catalogue import faults
from tankside.faults.effects import put_in
from tankside.heater.model import load_model, model_names
from tankside.heater.simulation import energise
from tankside.heater.unit import Unit, make_unit
from tankside.heater.wiring import split, wiring_of
from tankside.physics.circuit import Drive, Load
from tests.strategies import fitting_faults, terminals_of

SPLIT = [
    name
    for name in model_names()
    if wiring_of(load_model(name)).sides["direct"] is not wiring_of(load_model(name)).whole
]


LOST_GROUND = {"ground-lead-open", "outlet-ground-missing", "tank-live"}


def with_every_fault(name: str) -> Unit:
    """A healthy heater and one with each fault, as one batch."""
    model = load_model(name)
    found = fitting_faults(model)
    unit = make_unit(model, batch=len(found) + 1)
    for row, fault in enumerate(found):
        put_in(unit, faults()[fault], 0.6, np.array([row]))
    energise(unit)
    return unit


def test_some_models_have_two_sides() -> None:
    """Is there any model with both kinds of source to try this on?"""
    assert SPLIT


@pytest.mark.parametrize("name", SPLIT)
@pytest.mark.parametrize("drive", ["alternating", "direct"])
def test_sides_are_the_whole(name: str, drive: Drive) -> None:
    """With every fault, under a meter on any two terminals: do side and whole show the same volts?

    To a microvolt and two parts in a hundred thousand: where a conductor floats, no solver is surer than that.
    """
    unit = with_every_fault(name)
    lost = np.array([fault in LOST_GROUND for fault in [*fitting_faults(unit.model), ""]])
    wiring = unit.wiring
    numbers = wiring.whole.numbers(unit.values, True)
    terminals = terminals_of(unit.model)
    pairs = list(combinations(terminals, 2))
    for a, b in pairs[:: max(1, len(pairs) // 40)]:
        load = (Load(a, b, 1e-7, 1e-10 if drive == "alternating" else 0.0),)
        side = wiring.solve(unit.values, drive, load).between(a, b)
        whole = wiring.circuit.solve(*numbers, drive=drive, frequency=wiring.frequency, loads=load).between(
            a, b
        )
        side, whole = np.abs(side), np.abs(whole)
        np.testing.assert_allclose(side[~lost], whole[~lost], rtol=2e-5, atol=1e-6, err_msg=f"{a} {b}")
        # A tank without its ground floats: there the network is nearly singular, and a meter shows a tenth of a volt.
        np.testing.assert_allclose(side[lost], whole[lost], rtol=5e-3, atol=5e-3, err_msg=f"{a} {b}")


def test_where_two_nets_join() -> None:
    """Is the joint found where one node joins both kinds, and no split made where two do?"""
    ends = [
        ("alternating", "a", "earth"),
        ("", "a", "b"),
        ("", "b", "earth"),
        ("direct", "c", "b"),
        ("", "c", "b"),
    ]
    found = split(ends)
    assert found is not None and found[0] == "b"
    assert found[1] == {"a", "b", "earth"} and found[2] == {"b", "c"}
    assert split([*ends, ("", "c", "a")]) is None
    assert split([("alternating", "a", "earth")]) is None
