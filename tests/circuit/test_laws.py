"""Do solutions obey the laws that every linear network obeys?"""

from __future__ import annotations

import numpy as np
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from tankside.heater.model import load_model
from tankside.heater.unit import Unit
from tankside.physics.circuit import FLOOR, Drive, Load, Solution
from tests.strategies import Network, faulty_heaters, networks, terminals_of

DRIVES: st.SearchStrategy[Drive] = st.sampled_from(["alternating", "direct"])
HZ = 60.0


def capacitor_currents(net: Network, found: Solution, drive: Drive) -> np.ndarray:
    """A through every capacitance; none in the direct analysis."""
    if drive == "direct":
        return np.zeros(len(net.circuit.capacitances))
    drops = np.array([found.between(c.a, c.b)[0] for c in net.circuit.capacitances])
    return 2j * np.pi * HZ * net.capacitance[0] * drops


def biggest(net: Network, found: Solution) -> float:
    """The largest current that flows anywhere, and no less than 1 µA."""
    return float(max(1e-6, np.abs(found.currents()).max(), np.abs(found.source_currents).max()))


@given(networks(), DRIVES)
def test_current_is_conserved(net: Network, drive: Drive) -> None:
    """Kirchhoff: does all that flows into a node flow out again?"""
    found = net.solve(drive)
    into = dict.fromkeys(net.nodes, 0j)
    for branch, current in zip(net.circuit.conductances, found.currents()[0], strict=True):
        into[branch.a] -= current
        into[branch.b] += current
    for branch, current in zip(net.circuit.capacitances, capacitor_currents(net, found, drive), strict=True):
        into[branch.a] -= current
        into[branch.b] += current
    for source, current in zip(net.circuit.sources, found.source_currents[0], strict=True):
        into[source.a] += current
        into[source.b] -= current
    for node in net.circuit.nodes:
        into[node] -= FLOOR * found.potential(node)[0]
        assert abs(into[node]) < 1e-9 * biggest(net, found)


@given(networks(), DRIVES)
def test_sources_keep_their_volts(net: Network, drive: Drive) -> None:
    """Does each source give its e.m.f. less the drop over its inner resistance, or nothing if it is of the other kind?"""
    found = net.solve(drive)
    for k, source in enumerate(net.circuit.sources):
        emf = net.emf[0, k] if source.drive == drive else 0.0
        drop = net.inner[0, k] * found.source_currents[0, k]
        scale = 1.0 + abs(emf) + abs(drop)
        assert abs(found.between(source.a, source.b)[0] - (emf - drop)) < 1e-9 * scale


@given(networks(), DRIVES)
def test_energy_balances(net: Network, drive: Drive) -> None:
    """Tellegen: is the power that sources give just what resistances turn to heat?"""
    found = net.solve(drive)
    given_off, inner = 0.0, 0.0
    for k, source in enumerate(net.circuit.sources):
        current = found.source_currents[0, k]
        emf = net.emf[0, k] if source.drive == drive else 0.0
        given_off += float(np.real(emf * np.conj(current)))
        inner += float(net.inner[0, k] * abs(current) ** 2)
    heat = float(found.powers().sum()) + FLOOR * float(np.sum(np.abs(found.potentials) ** 2))
    assert abs(given_off - inner - heat) <= 1e-8 * (abs(given_off) + inner + heat) + 1e-15


@given(networks(sources=1), DRIVES)
def test_passive(net: Network, drive: Drive) -> None:
    """Without capacitors, is any node of a network with one source outside the source's own two volts?"""
    found = net.circuit.solve(net.conductance, net.emf, net.inner, drive=drive)
    emf = abs(net.emf[0, 0]) if net.circuit.sources[0].drive == drive else 0.0
    potentials = np.real(np.array([found.potential(node)[0] for node in net.nodes]))
    assert potentials.max() - potentials.min() <= emf * (1 + 1e-9) + 1e-12
    assert (found.powers() >= 0).all()


def transfer(net: Network, into: str, at: str) -> complex:
    """Volts at one node for one ampere pushed into another, all sources silent."""
    push = Load(into, net.circuit.reference, current=1.0)
    found = net.solve("alternating", [push], emf=np.zeros_like(net.emf))
    return complex(found.potential(at)[0])


@given(networks(), st.data())
def test_reciprocal(net: Network, data: st.DataObject) -> None:
    """Is the effect of a current at one place on another the same the other way round?"""
    one = data.draw(st.sampled_from(net.circuit.nodes))
    two = data.draw(st.sampled_from(net.circuit.nodes))
    there, back = transfer(net, one, two), transfer(net, two, one)
    assert abs(there - back) <= 1e-8 * max(abs(transfer(net, one, one)), abs(transfer(net, two, two)))


@given(networks(sources=3), DRIVES)
def test_superposition(net: Network, drive: Drive) -> None:
    """Is the whole answer the sum of each source's answer alone?"""
    total = net.solve(drive).potentials
    alone = sum(net.solve(drive, emf=net.emf * (np.arange(3) == k)).potentials for k in range(3))
    np.testing.assert_allclose(total, alone, rtol=1e-9, atol=1e-9 * (1 + np.abs(net.emf).max()))


def input_ohms(net: Network, a: str, b: str, conductance: np.ndarray) -> float:
    """Direct-current resistance between two nodes, sources silent."""
    found = net.solve(
        "direct", [Load(a, b, current=1.0)], conductance=conductance, emf=np.zeros_like(net.emf)
    )
    return float(np.real(found.between(a, b)[0]))


@given(networks(), st.data(), st.floats(1.0, 1e6))
def test_more_resistance_never_less(net: Network, data: st.DataObject, factor: float) -> None:
    """Rayleigh: can raising one resistance lower the resistance between any two nodes?"""
    a, b = data.draw(st.lists(st.sampled_from(net.nodes), min_size=2, max_size=2, unique=True))
    k = data.draw(st.integers(0, net.conductance.shape[1] - 1))
    raised = net.conductance.copy()
    raised[0, k] /= factor
    before, after = input_ohms(net, a, b, net.conductance), input_ohms(net, a, b, raised)
    assert after >= before * (1 - 1e-9)


@given(networks(), st.data())
def test_seen_from(net: Network, data: st.DataObject) -> None:
    """Thevenin: does the network seen from two nodes predict what a load between them finds?"""
    a, b = (
        data.draw(st.lists(st.sampled_from(net.circuit.nodes), min_size=2, max_size=2, unique=True))
        if (len(net.circuit.nodes) > 1)
        else (None, None)
    )
    assume(a is not None)
    load = data.draw(st.floats(-8, 1).map(lambda power: 10.0**power))
    values = (net.conductance, net.emf, net.inner, net.capacitance)
    open_volts, ohms = net.circuit.seen_from([a, b], *values)
    volts = open_volts[0, 0] - open_volts[0, 1]
    inner = ohms[0, 0, 0] + ohms[0, 1, 1] - ohms[0, 0, 1] - ohms[0, 1, 0]
    found = net.solve("alternating", [Load(str(a), str(b), load)]).between(str(a), str(b))[0]
    expected = volts / (1 + inner * load)
    scale = 1e-8 * (1.0 + np.abs(open_volts).max())
    assert abs(found - expected) <= scale


@given(st.lists(faulty_heaters(), min_size=2, max_size=5), st.data())
@settings(max_examples=40)
def test_batched_is_one_by_one(heaters: list[tuple[Unit, str, float]], data: st.DataObject) -> None:
    """Is every variant of a batch solved to the very bits that it gets alone?

    Marking does a log again on a batch; the bench worked on one heater. A reading may not tell them apart.
    """
    model = load_model("heron_6")
    a, b = data.draw(st.lists(st.sampled_from(terminals_of(model)), min_size=2, max_size=2, unique=True))
    drive = data.draw(DRIVES)
    load = (Load(a, b, 1e-7, 1e-10, 0.0 if drive == "alternating" else 1e-6),)
    units = [unit for unit, _, _ in heaters]
    joined = Unit(model, {key: np.concatenate([u[key] for u in units]) for key in units[0].values})
    together = joined.wiring.solve(joined.values, drive, load).potentials
    for row, unit in enumerate(units):
        alone = unit.wiring.solve(unit.values, drive, load).potentials
        assert (alone[0] == together[row]).all()


@given(networks(), DRIVES, st.integers(min_value=1, max_value=5))
@settings(max_examples=25)
def test_equal_variants_of_a_large_batch(net: Network, drive: Drive, kinds: int) -> None:
    """Thirty variants of a few kinds: is each what it is alone, whichever of the others are the same network?"""
    which = np.arange(30) * 7 % kinds
    conductance = net.conductance * (1.0 + 0.5 * which[:, None])
    emf, inner = (np.repeat(values[:1], 30, axis=0) for values in (net.emf, net.inner))
    capacitance = np.broadcast_to(net.capacitance[:1], (30, net.capacitance.shape[1]))
    together = net.circuit.solve(conductance, emf, inner, capacitance, drive=drive, frequency=HZ)
    for k in range(kinds):
        row = int(np.flatnonzero(which == k)[0])
        alone = net.circuit.solve(
            conductance[row : row + 1], emf[:1], inner[:1], capacitance[:1], drive=drive, frequency=HZ
        )
        for other in np.flatnonzero(which == k):
            np.testing.assert_allclose(together.potentials[other], alone.potentials[0], rtol=1e-9, atol=1e-12)
