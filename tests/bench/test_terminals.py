"""Does a pair of terminals, once its network is worked out, answer as the whole network does with the meter on it?"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tankside.bench.terminals import Terminals
from tankside.case import variants
from tankside.heater.simulation import energise
from tankside.heater.unit import Unit
from tankside.instruments.multimeter import COUNTS, INPUT_CAPACITANCE, INPUT_RESISTANCE
from tankside.physics.circuit import Load
from tests.orders import order_hiding
from tests.strategies import faulty_heaters, terminals_of

ORDER = order_hiding("element-wrong")
UNSEEN = 3e-3
"""V: the three counts of the volt function's own accuracy on its lowest range (6 V in 6,000 counts). Two solves of one
network may differ by so much: beside a closed contact's thousands of siemens, the leakage of an island that hangs on
megohms is lost to rounding."""
PAIRS = st.lists(
    st.lists(st.sampled_from(terminals_of(ORDER.case().model)), min_size=2, max_size=2, unique=True),
    min_size=3,
    max_size=3,
)


def agree(unit: Unit, pairs: Sequence[Sequence[str]]) -> None:
    """Volts with the meter's input, and with an ohmmeter's current, against a solve with the meter in the network."""
    energise(unit)
    for a, b in pairs:  # the first, the second and the third are worked out in different ways
        seen = Terminals(unit)
        meter = Load(a, b, 1 / INPUT_RESISTANCE, INPUT_CAPACITANCE)
        with_it = np.abs(unit.wiring.solve(unit.values, "alternating", (meter,)).between(a, b))
        assert seen.alternating(a, b, meter.conductance, meter.capacitance) == pytest.approx(
            with_it, rel=1e-6, abs=UNSEEN
        )
        for current in (1e-3, 1e-7):
            ohmmeter = Load(a, b, current / 2.0, current=current)
            with_it = np.real(unit.wiring.solve(unit.values, "direct", (ohmmeter,)).between(a, b))
            assert seen.direct(a, b, ohmmeter.conductance, current) == pytest.approx(
                with_it, rel=0.5 / COUNTS, abs=1e-5
            )


@given(faulty_heaters(), PAIRS, st.booleans(), st.booleans())
@settings(max_examples=12)
def test_any_heater(
    found: tuple[Unit, str, float], pairs: list[list[str]], plugged: bool, lifted: bool
) -> None:
    """On any faulty heater, live or unplugged, its element's leads on or off?"""
    unit = found[0]
    unit.set("supply.plugged", float(plugged))
    for wire in unit.model.wires.values():
        if wire.lifts_at:
            unit.set(f"{wire.id}.lifted", float(lifted))
    agree(unit, pairs)


@given(PAIRS)
@settings(max_examples=4)
def test_every_variant(pairs: list[list[str]]) -> None:
    """On a batch of variants, of which many are the same network?"""
    agree(variants(ORDER.case(), ORDER.scope).unit, pairs)
