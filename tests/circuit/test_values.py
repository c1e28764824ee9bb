"""Numbers that no network can have, and the textbook cases that need no other solver."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest

from tankside.heater.model import load_model
from tankside.heater.unit import make_unit
from tankside.physics.circuit import Circuit, Conductance, Load, Source
from tests.published import row
from tests.strategies import Network, network


def divider() -> Network:
    """120 V, 1 Mohm in series, nothing at the end."""
    return network([(1, 2), (2, 0)], [1e6, 1e15], [(1, 0, 120.0, 0.0, True)], [(1, 2, 1e-12)])


def test_a_meter_loads_what_it_measures() -> None:
    """What do 10 Mohm read of 120 V behind 1 Mohm? (Published: 109.1 V.)"""
    found = divider().circuit.solve(
        divider().conductance, divider().emf, divider().inner, loads=[Load("n2", "earth", 1e-7)]
    )
    assert row("electrical", "meter-loading").agrees(float(found.potential("n2")[0]))


@pytest.mark.parametrize("bad", [-1.0, math.nan, math.inf, -math.inf])
@pytest.mark.parametrize("what", ["conductance", "emf", "inner", "capacitance"])
def test_impossible_values(what: str, bad: float) -> None:
    """Is a value that is negative or not finite refused with its branch, instead of travelling on as NaN?"""
    if what == "emf" and bad == -1.0:
        return  # a source may be connected the other way round
    net = divider()
    values = {
        "conductance": net.conductance,
        "emf": net.emf,
        "inner": net.inner,
        "capacitance": net.capacitance,
    }
    values[what] = values[what].copy()
    values[what][0, -1] = bad
    with pytest.raises(ValueError, match=r"e\.m\.f\.|R1|V0|C0"):
        net.solve(**values)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    "make",
    [
        lambda: Circuit([Conductance("R", "a", "b")]),
        lambda: divider().solve(loads=[Load("n2", "nowhere", 1.0)]),
    ],
    ids=["no reference", "load on no node"],
)
def test_impossible_topologies(make: Callable[[], object]) -> None:
    """Is a circuit without its reference, or a meter on a node that isn't there, refused by name?"""
    with pytest.raises(ValueError, match=r"earth|nowhere"):
        make()


def test_a_branch_from_a_node_to_itself_does_nothing() -> None:
    """Does a resistor with both ends on one node leave the network as it is?"""
    plain = [Conductance("R1", "a", "b"), Conductance("R2", "b", "earth")]
    source = [Source("V", "a", "earth", "direct")]
    values = {"emf": np.array([[10.0]]), "inner": np.array([[0.0]])}
    one = Circuit(plain, source).solve(np.array([[1.0, 3.0]]), **values, drive="direct")
    two = Circuit([*plain, Conductance("R3", "b", "b")], source).solve(
        np.array([[1.0, 3.0, 7.0]]), **values, drive="direct"
    )
    assert one.potential("b")[0] == two.potential("b")[0] == pytest.approx(2.5)


def test_voltage_drop_through_our_wires() -> None:
    """What do 50 ft of 14 AWG there and back drop at 11.667 A? (Published, at 75 °C: 3.58 V, 2.98 %.)

    The model's wires are stated at 20 °C; brought to 75 °C by the published resistances of that wire.
    """
    published = row("electrical", "voltage-drop-check")
    model = load_model("heron_6")
    feet = {
        wire.id: model.number("length", wire.length, "ft") for wire in model.wires.values() if wire.length
    }
    per_foot = {model.nominal[f"{wire}.resistance"] / length for wire, length in feet.items()}
    cold = dict(row("electrical", "copper-solid-20c").pairs())[14] / 1000
    warm = dict(row("electrical", "copper-solid-75c").pairs())[14] / 1000
    assert max(per_foot) == pytest.approx(min(per_foot)) == pytest.approx(cold, rel=5e-3)
    ohms = 50 * per_foot.pop() * warm / cold
    net = network([(1, 2), (2, 3), (3, 0)], [ohms, 1e9, ohms], [(1, 0, 120.0, 0.0, True)], [])
    found = net.solve(loads=[Load("n3", "n2", current=11.667)])
    drop = 120.0 - float(abs(found.between("n2", "n3")[0]))
    assert published.agrees(drop, 0) and published.agrees(100 * drop / 120, 1)


def test_the_element_gets_what_the_wires_leave() -> None:
    """Is the element's voltage the site's less the drop over every wire and contact, by Ohm's law alone?"""
    unit = make_unit(load_model("heron_6"), {"voltage": 120.0})
    values = {key: float(value[0]) for key, value in unit.values.items()}
    series = ["supply.hot_resistance", "supply.neutral_resistance", "breaker.contact_resistance"]
    series += [
        f"{part}.contact_resistance" for part in ("panel_switch", "heater_switch", "thermostat", "high_limit")
    ]
    series += ["junction_box.hot_splice", "junction_box.neutral_splice", "link_bar.resistance"]
    series += [f"W{k}.resistance" for k in (1, 2, 3, 4, 6, 7, 8, 9, 10, 11)]
    ohms = sum(values[key] for key in series) + 2 * 1e-3  # and two screws
    found = unit.wiring.solve(unit.values, coupled=False)
    across = float(abs(found.between("element.1", "element.2")[0]))
    assert across == pytest.approx(120.0 * 10 / (10 + ohms), rel=1e-6)
    assert row("electrical", "outlet-voltage").agrees(across)
