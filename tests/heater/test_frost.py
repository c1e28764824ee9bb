"""Does frost take fittings before tanks, spare what was drained, and give what the catalogue's faults of frost say?"""

from __future__ import annotations

from datetime import date

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from tankside.bench.bench import perform, start_state
from tankside.case import SYMPTOMS, as_found, draw_case, winter_low
from tankside.errors import BenchError
from tankside.faults.catalogue import faults
from tankside.faults.effects import level
from tankside.heater import plumbing
from tankside.heater.frost import FITTING_LOSS, FITTING_WATER, frost, leave_in_frost
from tankside.heater.model import load_model
from tankside.heater.simulation import advance
from tankside.heater.unit import Unit, make_unit
from tankside.workorder import WorkOrder

MODELS = ("grebe_12", "ouzel_23", "plover_12")
FROST = ("frost-flap-bent", "frost-fitting-split", "frost-tank-split")


def left_full(model: str, batch: int = 1) -> Unit:
    """A healthy heater full of cold water."""
    unit = make_unit(load_model(model), batch=batch)
    unit.set("tank.temperature", 8.0)
    return unit


def frozen_after(mass: float, loss: float, low: float, start: float, hours: float) -> float:
    """kg of ice by scipy: sensible heat first, then latent, with the heat that leaves at each moment."""

    def slope(_t: float, y: np.ndarray) -> list[float]:
        out = loss * (max(y[0], 0.0) - low)
        return [0.0, out / 333.55e3] if y[0] <= 1e-9 else [-out / (mass * 4188.0), 0.0]

    def cold(_t: float, y: np.ndarray) -> float:
        return float(y[0])

    cold.terminal = True  # type: ignore[attr-defined]
    cool = solve_ivp(slope, (0.0, hours * 3600.0), [start, 0.0], events=[cold], rtol=1e-9, atol=1e-9)
    left = hours * 3600.0 - cool.t[-1]
    if not len(cool.t_events[0]) or left <= 0:
        return 0.0
    return float(min(-loss * low * left / 333.55e3, mass))


@pytest.mark.parametrize("model", MODELS)
@pytest.mark.parametrize(("low", "hours"), [(-3.0, 40.0), (-10.0, 12.0), (-22.0, 72.0)])
def test_against_an_integration(model: str, low: float, hours: float) -> None:
    """Is the tank's ice, and the fitting's, what an integration with sensible and latent heat gives?"""
    unit = left_full(model)
    found = frost(unit, low, hours)
    loss = float(plumbing.standing(unit)[0][0])
    kilos = float(unit["tank.volume"][0]) * 1000.0
    assert found.ice[0] == pytest.approx(frozen_after(kilos, loss, low, 8.0, hours), rel=0.01, abs=0.02)
    share = frozen_after(FITTING_WATER, FITTING_LOSS, low, 8.0, hours) / FITTING_WATER
    assert found.leaks_back[0] == pytest.approx(share, rel=0.01, abs=0.01)


def test_it_is_the_ice_of_the_simulation() -> None:
    """A cold room at the bench: does the tank hold the same ice as the law of the spell?"""
    unit = make_unit(load_model("grebe_12"), {"room": -12.0, "cold_water": 8.0})
    unit.set("panel_switch.closed", 0.0)
    told = frost(unit, -12.0, 40.0)
    advance(unit, 40.0 * 60.0)
    assert unit["vessel.ice"][0] == pytest.approx(told.ice[0], rel=0.01) and told.ice[0] > 1.0


@pytest.mark.parametrize("model", MODELS)
def test_fittings_first(model: str) -> None:
    """Longer and longer at -15 °C: flap, then body, then tank, each only ever worse?"""
    hours = np.linspace(0.0, 400.0, 801)
    found = frost(left_full(model, len(hours)), -15.0, hours)
    began = [int(np.argmax(value > 0)) for value in (found.jammed, found.split, found.seep)]
    assert 0 < began[0] < began[1] < began[2]
    for value in (found.jammed, found.leaks_back, found.split, found.seep, found.ice):
        assert (np.diff(value) >= -1e-12).all()


@pytest.mark.parametrize("model", MODELS)
def test_drained_or_warm_nothing_happens(model: str) -> None:
    """Drained for winter, or never below zero: is nothing broken, however long?"""
    for fill, low in ((0.0, -40.0), (1.0, 0.0), (1.0, 5.0)):
        unit = left_full(model)
        unit.set("tank.fill", fill)
        assert not frost(unit, low, 8000.0).damage.any()


@pytest.mark.parametrize(
    ("low", "hours"), [(-61.0, 5.0), (41.0, 5.0), (-5.0, -1.0), (-5.0, 9000.0), (float("nan"), 5.0)]
)
def test_refuses(low: float, hours: float) -> None:
    """Is a spell that can't be refused by name?"""
    with pytest.raises(ValueError, match="out of range"):
        frost(left_full("grebe_12"), low, hours)
    with pytest.raises(ValueError, match="no water side"):
        frost(make_unit(load_model("heron_6")), -5.0, 5.0)


@pytest.mark.parametrize("model", MODELS)
@pytest.mark.parametrize("name", FROST)
def test_the_catalogue_says_what_frost_does(model: str, name: str) -> None:
    """At least, middling, and worst: does some spell below the fault's own winter give all of its numbers together?"""
    fault = faults()[name]
    assert fault.winter_below is not None
    low, hours = (
        a.ravel()
        for a in np.meshgrid(np.linspace(-25.0, fault.winter_below, 22), np.geomspace(1, 2000, 1200))
    )
    unit = left_full(model, low.size)
    leave_in_frost(unit, low, hours)
    for severity in (0.0, 0.5, 1.0):
        close = np.ones(low.size, dtype=bool)
        for effect in fault.effect:
            kind, _, key = effect.on.rpartition(".")
            value = unit[f"{unit.model.of_type(kind)[0]}.{key}"]
            close &= np.abs(value / level(effect, np.array(severity)) - 1.0) < 0.03
        assert close.any(), severity


NOTICED = {
    "frost-flap-bent": ("lukewarm tap", "weak hot tap", "normal"),
    "frost-fitting-split": ("puddle",),
    "frost-tank-split": ("puddle",),
}


@pytest.mark.parametrize("name", FROST)
def test_owners_notice(name: str) -> None:
    """Does the owner notice what the fault does, and was the winter before it cold enough?"""
    for seed in ("ab" * 16, "cd" * 16):
        case = draw_case("plover_12", (name,), seed)
        assert SYMPTOMS[int(as_found(case)["seen.symptom"][0])] in NOTICED[name]
        coldest = winter_low(case, seed)
        assert coldest is not None and coldest <= (faults()[name].winter_below or 0.0)
    healthy = [winter_low(draw_case("plover_12", ("no-fault",), f"{k:032x}"), f"{k:032x}") for k in range(30)]
    assert min(c for c in healthy if c is not None) < -5.0 < 0.0 < max(c for c in healthy if c is not None)


def test_winterised_by_hand() -> None:
    """Refused while it could be switched on dry; done with everything off: drained, bypass open, and frost does nothing?"""
    order = WorkOrder(order="TEST", lab="check", seed="ab" * 16, model="plover_12", scope=("no-fault",), issued=date(2026, 1, 1), complaint="")  # fmt: skip
    state = start_state(order)
    with pytest.raises(BenchError, match="Switch the breaker off"):
        perform(state, "winterise", {})
    assert state.unit["tank.fill"][0] == 1.0
    perform(state, "switch", {"part": "breaker", "position": "off"})
    perform(state, "switch", {"part": "dc_panel_switch", "position": "off"})
    done = perform(state, "winterise", {})
    assert done.data["positions"]["bypass"] == "open" and state.unit["tank.fill"][0] == 0.0
    assert not frost(state.unit, -30.0, 2000.0).damage.any()
