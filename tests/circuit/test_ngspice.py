"""Does ngspice, which shares nothing with our solver, find the same volts?"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

from tankside.bench.terminals import Terminals
from tankside.faults.catalogue import faults
from tankside.faults.effects import put_in
from tankside.heater.model import load_model
from tankside.heater.simulation import energise
from tankside.heater.unit import Unit, make_unit, site_of, spread_of
from tankside.instruments.multimeter import FUNCTIONS, INPUT_CAPACITANCE, INPUT_RESISTANCE, TEST_VOLTS
from tankside.physics.circuit import Load
from tankside.streams import Stream
from tests.circuit.spice import Island, solve
from tests.strategies import Network, fitting_faults, network

pytestmark = pytest.mark.ngspice

RANDOM = 240
LOOSE = 2e-5
"""Relative. Where a conductor floats, microsiemens decide beside kilosiemens: both solvers lose eleven digits there."""
TIGHT = 1e-8
"""Relative to a network's highest volts, for networks between 0.1 ohm and 1 Mohm."""


LOST_GROUND = {"ground-lead-open", "outlet-ground-missing", "tank-live"}


def random_network(number: int) -> Network:
    """3 to 12 nodes, resistors, capacitors, sources of both kinds; from its number alone."""
    stream = Stream(f"{number}", "random network")
    size = stream.integer(3, 12)

    def ends() -> tuple[int, int]:
        a = stream.integer(0, size - 1)
        return a, (a + stream.integer(1, size - 1)) % size

    pairs = [(node, stream.integer(0, node - 1)) for node in range(1, size)]
    pairs += [ends() for _ in range(stream.integer(0, size))]
    ohms = [stream.log_uniform(0.1, 1e6) for _ in pairs]
    sources = [
        (
            *ends(),
            stream.uniform(-200, 200),
            stream.choice([stream.log_uniform(1e-3, 1e3)]),
            stream.uniform() < 0.6,
        )
        for _ in range(stream.integer(1, 3))
    ]
    capacitors = [(*ends(), stream.log_uniform(1e-12, 1e-5)) for _ in range(stream.integer(0, 4))]
    return network(pairs, ohms, sources, capacitors)


def test_random_networks(tmp_path: Path) -> None:
    """Do 240 random networks of resistors, capacitors and sources have the same volts, alternating and direct?"""
    drawn = [random_network(number) for number in range(RANDOM)]
    islands = [
        Island(
            n.circuit,
            n.conductance[0],
            n.emf[0],
            n.inner[0],
            n.capacitance[0] if n.capacitance.size else None,
        )
        for n in drawn
    ]
    ac, dc = solve(islands, tmp_path)
    for number, (mine, alternating, direct) in enumerate(zip(drawn, ac, dc, strict=True)):
        for drive, theirs in (("alternating", alternating), ("direct", direct)):
            ours = mine.solve(drive).potentials[0]  # type: ignore[arg-type]
            slack = TIGHT * (np.abs(theirs).max() + 1.0)
            np.testing.assert_allclose(
                ours, theirs, rtol=TIGHT, atol=slack, err_msg=f"network {number}, {drive}"
            )


SEVERITIES = (0.0, 0.5, 1.0)
LEAST_SIEMENS = 1e-12
"""What two solvers may differ by on ohms: a third of the last digit at the far end of the 60 Mohm range."""
PAIRS = (
    ("junction_box.hot_in", "junction_box.neutral_in"),
    ("element.1", "element.2"),
    ("element.1", "tank.shell"),
    ("panel_switch.load", "supply.ground"),
    ("thermostat.line", "thermostat.load"),
)


def siemens(current: float, volts: float) -> float:
    """The conductance that an ohmmeter's test current has found, without the meter's own."""
    return (current - volts * current / TEST_VOLTS) / volts


def states(unit: Unit) -> Iterator[tuple[str, Unit]]:
    """The heater as it runs; with the panel switch off; drained; and pulled out with its element's leads lifted."""
    yield "running", unit.copy()
    off = unit.copy()
    off.set("panel_switch.closed", 0.0)
    yield "panel switch off", off
    drained = unit.copy()
    drained.set("tank.fill", 0.0)
    drained.set("supply.plugged", 0.0)
    yield "drained", drained
    lifted = unit.copy()
    lifted.set("supply.plugged", 0.0)
    for wire in ("W10", "W11"):
        lifted.set(f"{wire}.lifted", 1.0)
    yield "leads lifted", lifted


def test_the_heater_under_a_meter(tmp_path: Path) -> None:
    """With every mains fault at three severities, in four states, what does a meter find on five pairs of terminals?

    Volts: phasors at 60 Hz with the cables' capacitance and the meter's 10 Mohm and 100 pF. Ohms: the test
    current of each range, direct. Both are compared as the meter's terminals see them.
    """
    model = load_model("heron_6")
    islands: list[Island] = []
    checks: list[tuple[str, str, float]] = []
    for number, name in enumerate(fitting_faults(model)):
        stream = Stream(f"{number}", "ngspice")
        base = make_unit(model, site_of(model, stream), spread_of(model, stream))
        for severity in SEVERITIES if faults()[name].graded else SEVERITIES[:1]:
            unit = base.copy()
            put_in(unit, faults()[name], severity)
            for state, heater in states(unit):
                energise(heater)
                wiring = heater.wiring
                conductance, emf, inner, farads = wiring.whole.numbers(heater.values, True)
                assert farads is not None
                full = FUNCTIONS["Ω"].ranges[(number + int(2 * severity)) % len(FUNCTIONS["Ω"].ranges)]
                current = TEST_VOLTS / (2 * full)
                for a, b in PAIRS:
                    where = f"{name} {severity} {state} {a} {b}"
                    volts = Terminals(heater).alternating(a, b, 1 / INPUT_RESISTANCE, INPUT_CAPACITANCE)[0]
                    test = Terminals(heater).direct(a, b, current / TEST_VOLTS, current)[0]
                    loads = (
                        ("V~", Load(a, b, 1 / INPUT_RESISTANCE, INPUT_CAPACITANCE), volts),
                        ("Ω", Load(a, b, current / TEST_VOLTS, current=current), test),
                    )
                    for kind, load, ours in loads:
                        islands.append(
                            Island(wiring.circuit, conductance[0], emf[0], inner[0], farads[0], (load,))
                        )
                        checks.append((f"{kind} {where}", kind, float(ours)))
    # A process takes its time for a large netlist faster than in proportion: a few hundred circuits each.
    assert len(islands) > 1000
    for part, chunk in enumerate(_chunks(len(islands), 400)):
        folder = tmp_path / str(part)
        folder.mkdir()
        ac, dc = solve([islands[k] for k in chunk], folder)
        for k, alternating, direct in zip(chunk, ac, dc, strict=True):
            where, kind, ours = checks[k]
            a, b = islands[k].loads[0].a, islands[k].loads[0].b
            index = islands[k].circuit.index
            found = alternating if kind == "V~" else direct
            difference = found[index[a]] - found[index[b]]
            if kind == "V~":
                # A tank without its ground floats, and no solver is sure of its last digits.
                floats = where.split()[1] in LOST_GROUND
                assert ours == pytest.approx(abs(difference), rel=5e-3 if floats else LOOSE, abs=2e-7), where
                continue
            current = islands[k].loads[0].current
            one, two = (siemens(current, volts) for volts in (ours, float(np.real(difference))))
            assert one == pytest.approx(two, rel=1e-6, abs=LEAST_SIEMENS), where


def _chunks(count: int, size: int) -> list[range]:
    return [range(start, min(start + size, count)) for start in range(0, count, size)]
