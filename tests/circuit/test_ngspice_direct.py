"""Does ngspice find the same direct volts on the 12 V side, with every fault of it, all through a start?"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from tankside.bench.terminals import Terminals
from tankside.faults.catalogue import faults
from tankside.faults.effects import put_in
from tankside.heater.model import load_model
from tankside.heater.simulation import advance, energise
from tankside.heater.unit import make_unit, site_of, spread_of
from tankside.instruments.multimeter import INPUT_RESISTANCE
from tankside.physics.circuit import Load
from tankside.streams import Stream
from tests.circuit.spice import Island, solve

pytestmark = pytest.mark.ngspice

PAIRS = (
    ("battery.plus", "battery.minus"),
    ("control_board.supply", "control_board.ground"),
    ("control_board.valve", "control_board.ground"),
    ("gas_valve.coil_2", "gas_valve.ground"),
    ("ground_stud.heater", "ground_stud.return"),
    ("harness_plug.supply_in", "harness_plug.supply_out"),
    ("dc_panel_switch.lamp", "dc_panel_switch.ground"),
    ("dc_thermostat.line", "dc_high_limit.load"),
    ("control_board.supply", "tank.shell"),
    ("fuse.load", "supply.ground"),
)
MOMENTS = (1.0, 3.4, 3.0, 90.0)
"""s let pass before each look: in the purge, in the trial, in run or trial, at the end."""
SEVERITIES = (0.0, 0.5, 1.0)


def test_every_fault_through_a_start(tmp_path: Path) -> None:
    """With every fault of the 12 V side at three severities, at four moments of a start, what does a meter find?

    ngspice gets the whole heater's network; ours solves the 12 V side by itself unless the meter bridges the sides.
    """
    model = load_model("teal_10")
    islands: list[Island] = []
    checks: list[tuple[str, float]] = []
    names = [f.id for f in faults().values() if f.applies_to(model)]
    mine = [n for n in names if "12 V" in faults()[n].place or not _touches_mains(n)]
    assert len(mine) >= 30
    for number, name in enumerate(mine):
        stream = Stream(f"{number}", "ngspice direct")
        base = make_unit(model, site_of(model, stream), spread_of(model, stream))
        for severity in SEVERITIES if faults()[name].graded else SEVERITIES[:1]:
            unit = base.copy()
            unit.set("panel_switch.closed", 0.0)
            put_in(unit, faults()[name], severity)
            for moment, seconds in enumerate(MOMENTS):
                advance(unit, seconds / 60.0)
                energise(unit)
                conductance, emf, inner, _ = unit.wiring.whole.numbers(unit.values, False)
                network = Terminals(unit)
                a, b = PAIRS[(number + moment + int(2 * severity)) % len(PAIRS)]
                for one, two in ((a, b), PAIRS[1]):
                    ours = network.direct(one, two, 1 / INPUT_RESISTANCE, 0.0)[0]
                    load = Load(one, two, 1 / INPUT_RESISTANCE)
                    circuit = unit.wiring.circuit
                    islands.append(Island(circuit, conductance[0], emf[0], inner[0], None, (load,)))
                    checks.append((f"{name} {severity} look {moment}: {one} to {two}", float(ours)))
    for start in range(0, len(islands), 200):
        folder = tmp_path / str(start)
        folder.mkdir()
        chunk = range(start, min(start + 200, len(islands)))
        _, direct = solve([islands[k] for k in chunk], folder)
        for k, found in zip(chunk, direct, strict=True):
            where, ours = checks[k]
            index = islands[k].circuit.index
            load = islands[k].loads[0]
            theirs = float(np.real(found[index[load.a]] - found[index[load.b]]))
            assert ours == pytest.approx(theirs, rel=2e-5, abs=2e-5), where


def _touches_mains(name: str) -> bool:
    """True for a fault of the mains side alone."""
    kinds = (
        "element",
        "thermostat",
        "high limit",
        "link bar",
        "breaker",
        "switch",
        "splice box",
        "mains supply",
    )
    ons = [effect.on for effect in faults()[name].effect]
    return all(
        on.rpartition(".")[0] in kinds or on.startswith(("@panel_switch", "@heater_switch")) for on in ons
    )
