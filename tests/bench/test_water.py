"""Do hands on the water side find what is there, and are dangerous ones stopped?"""

from __future__ import annotations

from datetime import date

import numpy as np
import pytest

from tankside.bench.bench import perform, start_state
from tankside.bench.state import BenchState
from tankside.bench.view import view_of
from tankside.case import SYMPTOMS, as_found, draw_case
from tankside.diagnosis.candidates import Follower, remedies_of
from tankside.diagnosis.survey import survey
from tankside.errors import BenchError
from tankside.faults.catalogue import faults
from tankside.heater import corrosion, plumbing
from tankside.heater.model import load_model
from tankside.instruments.water_strip import STEPS, strip, water_tools
from tankside.workorder import WorkOrder
from tests.published import row

WATER = ("check-valve-jammed", "check-valve-stuck", "check-valve-leaks", "bypass-half-open", "lines-crossed",
         "mixing-tap-crosses", "strainer-blocked", "inlet-valve-half-shut", "water-pressure-high", "cushion-lost",
         "relief-weeps", "relief-opens-early", "relief-seized", "relief-wrong-rating", "sediment", "jacket-wet",
         "tank-seam-leaks", "no-fault")  # fmt: skip
ANODE = ("anode-used-up", "anode-passive", "anode-insulated", "anode-zinc", "anode-missing", "water-softened",
         "lining-bare", "tank-perforated", "no-fault")  # fmt: skip


def order_for(model: str, fault: str, scope: tuple[str, ...]) -> WorkOrder:
    """An order on the model that hides this fault."""
    for k in range(10_000):
        seed = f"{k:032x}"
        if draw_case(model, scope, seed).fault.id == fault:
            return WorkOrder(
                order="TEST",
                lab="check",
                seed=seed,
                model=model,
                scope=scope,
                issued=date(2026, 1, 1),
                complaint="",
            )
    raise AssertionError(fault)


def bench(model: str = "grebe_12", fault: str = "no-fault", scope: tuple[str, ...] = ()) -> BenchState:
    """A bench on an order; every cover off."""
    state = start_state(order_for(model, fault, scope or (fault, "no-fault")))
    state.open_covers |= {place.id for place in state.model.places.values() if place.cover}
    return state


def do(state: BenchState, verb: str, **args: object) -> dict[str, float]:
    """The readings of an action, by unit."""
    data = perform(state, verb, dict(args)).data
    return {r["reading"]["unit"]: r["reading"]["value"] for r in data.get("readings", [])}


@pytest.mark.parametrize("fault", ["check-valve-jammed", "cushion-lost", "anode-zinc", "mixing-tap-crosses"])
def test_one_repair_is_left(fault: str) -> None:
    """Does the careful survey leave one repair, the right one, among all faults that fit the model?"""
    model = load_model("grebe_12")
    scope = tuple(f.id for f in faults().values() if f.applies_to(model))
    follower = Follower(order_for("grebe_12", fault, scope))
    for verb, args in survey(model):
        try:
            perform(follower.state, verb, args)
        except BenchError:
            continue
        follower.after(0)
    left = follower.suspects.remaining()
    assert fault in left and len(remedies_of(left)) == 1


@pytest.mark.parametrize("fault", WATER)
@pytest.mark.parametrize("model", ["grebe_12", "ouzel_23"])
def test_faults_fit(model: str, fault: str) -> None:
    """Can every water-side fault be put into both models, and does the unit then still compute?"""
    unit = as_found(draw_case(model, (fault,), "abcd" * 4))
    assert all(np.isfinite(value).all() for value in unit.values.values())
    assert SYMPTOMS[int(unit["seen.symptom"][0])]


@pytest.mark.parametrize("fault", ANODE)
def test_anode_faults_fit_the_steel_tank_alone(fault: str) -> None:
    """Are faults of the anode offered on the model that has one, and only there?"""
    assert faults()[fault].applies_to(load_model("grebe_12"))
    assert faults()[fault].applies_to(load_model("ouzel_23")) == (fault == "no-fault")


def test_mixing_at_the_tap_is_measured() -> None:
    """Does the thermometer at the tap show the mixture that the bypass makes?"""
    state = bench(fault="bypass-half-open")
    state.unit.set("tank.temperature", 57.0)
    hot = plumbing.hot_tap(state.unit)
    seen = do(state, "tap test", tap="hot")
    assert seen["°C"] == pytest.approx(float(hot.temperature[0]), abs=1.0)
    assert seen["°C"] < 50.0
    assert seen["L/min"] == pytest.approx(float(hot.flow[0]) * 60e3, rel=0.06)
    perform(state, "switch", {"part": "bypass", "position": "shut"})
    state.unit.set("tank.temperature", 57.0)
    assert do(state, "tap test", tap="hot")["°C"] > 55.0


@pytest.mark.parametrize("index", range(1, 4))
def test_scald_time_is_the_published_one(index: int) -> None:
    """Does the tap test name the published seconds to a burn at the published temperatures?"""
    fahrenheit, seconds = row("water", "scald-cpsc").pairs()[index]
    state = bench()
    state.unit.set("tank.temperature", (fahrenheit - 32) / 1.8)
    text = perform(state, "tap test", {"tap": "hot"}).text
    named = float(text.split("about ")[1].split(" s")[0])
    assert named == pytest.approx(float(seconds), rel=0.35)  # the thermometer is right to 0.4 K and 0.2 %


def test_healthy_water_side() -> None:
    """On a healthy heater: nothing past the shut-off, no drips, pressure below the relief valve's, lever works."""
    state = bench()
    assert do(state, "shut-off test")["L/min"] == 0
    assert do(state, "catch drips")["mL/min"] == 0
    assert do(state, "water pressure")["kPa"] < row("water", "relief-valve-pressure").values[0] * 6.894757
    assert perform(state, "lift relief lever", {}).data["flows"]


def test_anode_out() -> None:
    """Drained: does the caliper show the radius that Faraday's law left, and the scales magnesium?"""
    state = bench(fault="anode-half-used")
    perform(state, "switch", {"part": "supply", "position": "out"})
    perform(state, "drain", {})
    found = perform(state, "look at anode", {})
    size, heavy = (r["reading"]["value"] for r in found.data["readings"])
    assert size == pytest.approx(2e3 * corrosion.radius(state.unit)[0], abs=0.3)
    assert heavy == pytest.approx(1.738, rel=0.05)


def test_sealant_is_found_with_an_ohmmeter() -> None:
    """Drained, ohms from the anode's head to the tank: open with sealant, nothing without."""
    for fault, wide in (("anode-insulated", True), ("no-fault", False)):
        state = bench(fault=fault)
        for verb, args in survey(state.model):
            if verb == "drain":
                break
            if verb in ("switch", "lock out", "run tap"):
                perform(state, verb, args)
        perform(state, "drain", {})
        perform(state, "meter", {"function": "Ω"})
        reading = perform(state, "probe", {"red": "anode.head", "black": "tank.shell"}).data["reading"]
        assert (reading["value"] is None or reading["value"] > 1000) == wide


@pytest.mark.parametrize(
    "verb", ["look at anode", "look at check valve", "lamp in tank", "relief on the stand"]
)
def test_nothing_comes_out_of_a_full_tank(verb: str) -> None:
    """Is a fitting that is opened under pressure stopped as dangerous, and nothing changed?"""
    state = bench()
    result = perform(state, verb, {})
    assert result.blocked and "under-pressure" in result.broke
    assert state.stopped is not None and state.stopped["rule"] == "under-pressure"


def test_relief_valve_is_never_plugged() -> None:
    """Is plugging the relief valve stopped as dangerous?"""
    state = bench()
    assert perform(state, "plug relief valve", {}).broke == ["plugged-relief"]
    assert state.stopped is not None


def test_hot_lever_scalds() -> None:
    """Is lifting the lever of a hot tank marked, and that of a cool one not?"""
    state = bench()
    state.unit.set("tank.temperature", 57.0)
    assert perform(state, "lift relief lever", {}).broke == ["scald"]
    state.unit.set("tank.temperature", 30.0)
    assert perform(state, "lift relief lever", {}).broke == []


def test_a_model_without_water_parts_says_so() -> None:
    """On the first labs' heater: one clear sentence, and no water actions on the screen."""
    state = bench("heron_6", "no-fault", ("no-fault", "element-open"))
    with pytest.raises(BenchError, match="has no house taps"):
        perform(state, "tap test", {"tap": "hot"})
    order = order_for("heron_6", "no-fault", ("no-fault", "element-open"))
    verbs = [a["verb"] for a in view_of(order, state, [])["actions"]]
    assert "catch drips" not in verbs and "drain" in verbs


def test_strip_and_gauges() -> None:
    """Does the strip show a step of its card, in a band that holds the true value; and do gauges hold theirs?"""
    for hardness in np.linspace(0.0, 600.0, 61):
        step, low, high = strip(float(hardness))
        assert step in STEPS and low <= hardness <= high
    tools = water_tools("7")
    for gauge in vars(tools).values():
        for share in (0.0, 0.01, 0.3, 0.9):
            value = share * gauge.scale.ranges[0]
            low, high = gauge.agrees(gauge.show(value), np.array([value]))
            assert low[0] <= value <= high[0], gauge.scale.id


@pytest.mark.parametrize("fault", ["check-valve-stuck", "lines-crossed"])
def test_a_tap_that_hardly_runs_has_no_temperature(fault: str) -> None:
    """Do bucket and thermometer agree that nothing can be measured at a tap that hardly runs, as the report wants it?"""
    state = bench(fault=fault, scope=WATER)
    assert "Hardly anything comes" in perform(state, "tap test", {"tap": "hot"}).text
    said = perform(state, "temperature", {}).text
    assert said.startswith("Hardly anything comes from the hot tap.") and "hot outlet" in said
    assert perform(bench(), "temperature", {}).text.startswith("Hot water at the tap:")
