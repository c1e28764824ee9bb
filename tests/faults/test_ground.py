"""A ground that is gone: unseen while all is well, deadly with a leak, and found by ohms from shell to ground."""

from __future__ import annotations

from datetime import date

import numpy as np
import pytest

from tankside.bench.bench import perform, start_state
from tankside.bench.state import BenchState
from tankside.case import SYMPTOMS, Case, as_found, draw_case
from tankside.faults.catalogue import fault_named, faults
from tankside.heater.model import load_model, model_names
from tankside.heater.simulation import energise
from tankside.heater.touch import BODY, FELT, tingles, touches
from tankside.heater.unit import Unit
from tankside.workorder import WorkOrder

GROUND = ("ground-lead-open", "outlet-ground-missing", "tank-live")
MODELS = [name for name in model_names() if load_model(name).of_type("mains supply")]


def found(model: str, fault: str, severity: float = 0.5) -> Unit:
    """The unit as its owner leaves it, at the middle of the model's sites."""
    return as_found(Case(load_model(model), {}, {}, fault_named(fault), severity))


def bench(model: str, fault: str) -> BenchState:
    """A bench on it, everything open, switched off and locked."""
    order = WorkOrder(order="TEST", lab="check", seed="ab" * 16, model=model, scope=(fault,), issued=date(2026, 1, 1), complaint="")  # fmt: skip
    state = start_state(order)
    state.open_covers |= {place.id for place in state.model.places.values() if place.cover}
    for verb, args in (
        ("switch", {"part": "breaker", "position": "off"}),
        ("switch", {"part": "supply", "position": "out"}),
        ("lock out", {"part": "supply"}),
        ("prove meter", {}),
        ("prove dead", {"place": "junction-box"}),
        ("meter", {"function": "Ω"}),
    ):
        perform(state, verb, args)
    return state


def ohms(state: BenchState, red: str, black: str) -> float:
    """What the meter shows; infinite for an open line."""
    reading = perform(state, "probe", {"red": red, "black": black}).data["reading"]
    return np.inf if reading["digits"] == "OL" else float(reading["value"])


@pytest.mark.parametrize("model", MODELS)
@pytest.mark.parametrize("fault", GROUND)
def test_applies_wherever_there_is_mains(model: str, fault: str) -> None:
    """Can every heater with a mains side lose its ground?"""
    assert faults()[fault].applies_to(load_model(model))


@pytest.mark.parametrize("model", MODELS)
def test_shell_to_ground(model: str) -> None:
    """Isolated, ohms from the tank to the box's ground: under an ohm when it is there, open when the lead is off?"""
    assert ohms(bench(model, "no-fault"), "tank.shell", "junction_box.ground") < 1.0
    assert ohms(bench(model, "ground-lead-open"), "tank.shell", "junction_box.ground") > 1e5
    missing = bench(model, "outlet-ground-missing")
    assert ohms(missing, "tank.shell", "junction_box.ground") < 1.0


@pytest.mark.parametrize("model", MODELS)
def test_it_tingles_only_with_both(model: str) -> None:
    """Neither a leak nor a lost ground alone is felt; both together are, with the current that Ohm's law gives?"""
    for fault in ("sheath-breached-wet", "ground-lead-open", "outlet-ground-missing", "no-fault"):
        assert not tingles(found(model, fault, 1.0)).any(), fault
    for severity in (0.0, 0.5, 1.0):
        unit = found(model, "tank-live", severity)
        assert SYMPTOMS[int(unit["seen.symptom"][0])] == "tingles"
        unit.set("tank.temperature", 20.0)  # the thermostat calls: the coil is live along its length
        energise(unit)
        felt = float(touches(unit, ["tank.shell"])[0, 0])
        part = float(unit["element.breach_position"][0])
        # Hot at terminal 1, neutral at terminal 2: the breach sits at (1 - part) of the supply; in series with it the
        # water and the body. Sheath, thread and water on steel are small beside them.
        volts = float(unit["supply.voltage"][0]) * (1.0 - part)
        water = float(unit["element.breach_wet"][0] / unit["element.water_conductivity"][0])
        assert felt == pytest.approx(volts / (water + BODY), rel=0.06)
        assert felt > FELT
        unit.set("W12.resistance", 0.01)
        assert not tingles(unit).any()


@pytest.mark.parametrize("model", MODELS)
def test_a_lost_ground_heats_as_before(model: str) -> None:
    """Does the water of a heater without its ground warm exactly as with it?"""
    good, bad = found(model, "no-fault"), found(model, "ground-lead-open")
    assert bad["seen.first_hour"][0] == pytest.approx(good["seen.first_hour"][0], abs=1e-3)
    assert draw_case(model, ("ground-lead-open",), "ab" * 16).fault.id == "ground-lead-open"
