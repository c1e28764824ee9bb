"""Work on gas at the bench: is the unsafe way caught, the safe way let pass, and nothing true ruled out?"""

from __future__ import annotations

import json
import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tankside.bench import Bench, replay
from tankside.bench.bench import perform
from tankside.bench.gas_points import JOINTS, LOOKS, TAPS
from tankside.bench.rules import RULES
from tankside.diagnosis.candidates import Follower, candidates
from tankside.diagnosis.survey import survey
from tankside.errors import BenchError, TanksideError
from tankside.faults.catalogue import faults
from tankside.figures import truth
from tankside.heater.model import load_model
from tankside.instruments.flue_gas_analyzer import MONOXIDE
from tankside.practice import lesson_order
from tankside.workorder import WorkOrder

Step = tuple[str, dict[str, Any]]
MODEL = "smew_10"
FAULTS = sorted(f.id for f in faults().values() if f.applies_to(load_model(MODEL)))
GAS_RULES = {
    "flame-search", "lit-in-smell", "relight-unpurged", "gas-not-shut", "no-sniff", "no-leak-test",
    "relit-over-limit",
}  # fmt: skip

FRONT: Step = ("open cover", {"place": "heater-front"})
SNIFF: Step = ("sniff", {"place": "heater-front"})
LIGHT: Step = ("light", {})
SHUT: Step = ("switch", {"part": "cylinder", "position": "shut"})
OPEN: Step = ("switch", {"part": "cylinder", "position": "open"})
TEST: Step = ("leak test", {})
TAP: Step = ("run tap", {"minutes": 10})


def order(fault: str, scope: tuple[str, ...] = (), number: int = 1) -> WorkOrder:
    """A training order on the gas heater."""
    made = lesson_order(fault, MODEL, number)
    return made.model_copy(update={"scope": scope}) if scope else made


def do(bench: Bench, steps: list[Step]) -> list[str]:
    """The rules broken on the way."""
    for verb, args in steps:
        bench.do(verb, **args)
    return [rule for entry in bench.entries for rule in entry["result"].get("broke", [])]


SCENARIOS: list[tuple[str, str, list[Step], list[Step]]] = [
    ("flame-search", "hose-leaks", [("search with flame", {})], [("soap test", {"part": "hose"})]),
    (
        "gas-not-shut",
        "orifice-too-large",
        [FRONT, ("repair", {"remedy": "replace-orifice"})],
        [FRONT, SHUT, ("repair", {"remedy": "replace-orifice"})],
    ),
    ("gas-not-shut", "no-fault", [FRONT, ("inspect", {"part": "orifice"})], [FRONT, SHUT, ("inspect", {"part": "orifice"})]),
    ("no-sniff", "pilot-out", [FRONT, LIGHT], [FRONT, SNIFF, LIGHT]),
    (
        "no-leak-test",
        "regulator-low",
        [FRONT, SHUT, ("repair", {"remedy": "replace-regulator"}), OPEN, SNIFF, LIGHT],
        [FRONT, SHUT, ("repair", {"remedy": "replace-regulator"}), OPEN,
         ("soap test", {"part": "cylinder"}), SNIFF, LIGHT],
    ),
    (
        "relight-unpurged",
        "air-in-line",
        [FRONT, SNIFF, LIGHT, LIGHT],
        [FRONT, SNIFF, LIGHT, ("wait", {"minutes": 6}), LIGHT],
    ),
    (
        "relit-over-limit",
        "orifice-wrong-fuel",
        [FRONT, TAP, ("flue gas", {}), TEST, SNIFF, LIGHT],
        [FRONT, TAP, ("flue gas", {}), SHUT, ("repair", {"remedy": "replace-orifice"}), OPEN, SNIFF, LIGHT],
    ),
]  # fmt: skip


@pytest.mark.parametrize(
    ("rule", "fault", "unsafe", "safe"), SCENARIOS, ids=[f"{s[0]}-{s[1]}" for s in SCENARIOS]
)
def test_rules(rule: str, fault: str, unsafe: list[Step], safe: list[Step]) -> None:
    """Is the rule broken by the last step of the unsafe way, and by no step of the safe one?"""
    bench = Bench(order(fault))
    assert rule not in do(bench, unsafe[:-1])
    assert rule in do(bench, unsafe[-1:])
    assert (bench.state.stopped is not None) == RULES[rule].dangerous
    assert rule not in do(Bench(order(fault)), safe)


def test_no_light_where_gas_is_smelt() -> None:
    """With a leak at the heater: is lighting refused as dangerous, and nothing lit?"""
    bench = Bench(order("orifice-loose"))
    unit = bench.state.unit
    do(bench, [FRONT])
    unit.set("gas_valve.pilot", 0.0)
    unit.set("burner.chamber", 0.02)
    outcome = bench.do("light")
    assert "lit-in-smell" in outcome.entry["result"]["broke"]
    assert unit["gas_valve.pilot"][0] == 0


def test_no_spark_where_gas_is_smelt() -> None:
    """Spark ignition: is switching it on with a leak at the burner dangerous, and without one nothing?"""
    for leak, rules in ((0.3, ["lit-in-smell"]), (0.0, [])):
        bench = Bench(lesson_order("no-fault", "pintail_10"))
        bench.do("switch", part="dc_panel_switch", position="off")
        bench.state.unit.set("burner.chamber", leak / 10)
        done = bench.do("switch", part="dc_panel_switch", position="on")
        assert [r for r in done.entry["result"].get("broke", []) if r in GAS_RULES] == rules


def test_over_the_cells_range() -> None:
    """More carbon monoxide than the analyzer can count: no number is made of it, and the figure is the cell's end or more?"""
    one = order("orifice-wrong-fuel")
    bench = Bench(one)
    case, found = one.case(), bench.state.unit.copy()
    do(bench, [FRONT, TAP])
    done = bench.do("flue gas")
    assert {r["function"]: r["value"] for r in done.readings}["CO"] is None
    assert done.entry["result"]["air free"] is None
    assert "CO OL" in done.text and "no CO air-free" in done.text and "air-free 1" not in done.text
    free = truth(case, "carbon monoxide air-free", found)
    assert free.exists and free.low >= MONOXIDE.ranges[-1] and free.high == math.inf
    assert not truth(case, "combustion efficiency", found).exists
    assert truth(case, "oxygen in the flue", found).exists


def test_figures_of_a_good_heater() -> None:
    """Are the figures that a report may ask for those that the gauges and the analyzer show?"""
    one = order("no-fault")
    bench = Bench(one)
    case, found = one.case(), bench.state.unit.copy()
    do(bench, [FRONT, TAP])
    load = bench.do("gas pressure", tap="heater").readings[0]["value"]
    assert truth(case, "gas pressure under load", found).low == pytest.approx(load, rel=0.02, abs=0.2)
    assert truth(case, "gas pressure at rest", found).high > load
    readings = {r["function"]: r["value"] for r in bench.do("flue gas").readings}
    free = truth(case, "carbon monoxide air-free", found)
    measured = readings["CO"] * 20.9 / (20.9 - readings["O2"])
    assert free.low * 0.7 - 10 <= measured <= free.high * 1.3 + 10
    efficiency = truth(case, "combustion efficiency", found)
    assert 70 < efficiency.low <= efficiency.high < 85
    assert 6000 < truth(case, "heat input", found).low < 9000
    assert truth(case, "orifice for the altitude", found).low == pytest.approx(
        0.838, abs=0.002
    )  # number 66: 0.033 in


def test_every_gas_rule_is_tried() -> None:
    """Is there a scenario for each rule of the gas side?"""
    assert {s[0] for s in SCENARIOS} | {"lit-in-smell"} == GAS_RULES <= set(RULES)


def test_making_safe_shuts_the_cylinder() -> None:
    """After a dangerous act: is the gas off?"""
    bench = Bench(order("no-fault"))
    do(bench, [("search with flame", {}), ("make safe", {})])
    assert bench.state.switches()["cylinder"] == "shut"


@pytest.mark.parametrize(
    ("fault", "joint"),
    [
        ("cylinder-connection-leaks", "cylinder"),
        ("hose-leaks", "hose"),
        ("union-leaks", "gas_cock"),
        ("orifice-loose", "orifice"),
    ],
)
def test_soap_finds_the_leak(fault: str, joint: str) -> None:
    """Does soap bubble at the leaking joint, and at no other?"""
    bench = Bench(order(fault))
    do(bench, [FRONT, TAP])
    for part in JOINTS:
        bubbles = bench.do("soap test", part=part).entry["result"]["bubbles"]
        assert (bubbles != "no bubbles") == (part == joint)


@pytest.mark.parametrize(("model", "pilot"), [("plover_12", False), ("smew_10", True)])
def test_only_a_heater_with_a_pilot_is_left_with_it_out(model: str, pilot: bool) -> None:
    """Does the timed test speak of a pilot just where there is one?"""
    bench = Bench(lesson_order("no-fault", model))
    for place in bench.state.model.places.values():
        if place.cover:
            bench.state.open_covers.add(place.id)
    assert ("pilot" in bench.do("leak test").entry["text"]) is pilot


@pytest.mark.parametrize(
    ("position", "said"), [("open", "Opened the cylinder again"), ("shut", "stays shut")]
)
def test_the_timed_test_says_how_it_leaves_the_cylinder(position: str, said: str) -> None:
    """Is the cylinder left as it stood, and does the log say so?"""
    bench = Bench(order("no-fault"))
    do(bench, [FRONT])
    if position == "shut":
        bench.do("switch", part="cylinder", position="shut")
    assert said in bench.do("leak test").entry["text"]
    assert bench.state.flag("cylinder.valve") is (position == "open")


def test_a_place_is_told_as_one_would_say_it() -> None:
    """Is no place smelt for gas "at behind" something?"""
    for model in ("plover_12", "smew_10"):
        bench = Bench(lesson_order("no-fault", model))
        for place in bench.state.model.places:
            assert "At behind" not in bench.do("sniff", place=place).entry["text"]


def test_the_timed_test_finds_what_the_regulator_hides() -> None:
    """A line that leaks falls on the gauge; a tight one holds; a leak before the regulator isn't in it?"""
    found = {}
    for fault in ("no-fault", "hose-leaks", "union-leaks", "cylinder-connection-leaks"):
        bench = Bench(order(fault))
        do(bench, [FRONT])
        found[fault] = bench.do("leak test").entry["result"]["holds"]
    assert found == {
        "no-fault": True,
        "hose-leaks": False,
        "union-leaks": False,
        "cylinder-connection-leaks": True,
    }


def test_air_is_purged_by_the_remedy() -> None:
    """Air in the line: no light before the purge, light after it, and heat?"""
    bench = Bench(order("air-in-line"))
    do(bench, [FRONT, SNIFF])
    assert not bench.do("light").entry["result"]["pilot"]
    do(bench, [("repair", {"remedy": "purge-line"}), SNIFF])
    assert bench.do("light").entry["result"]["pilot"]
    assert bench.do("prove operation").entry["result"]["heats"]


@pytest.mark.parametrize("fault", FAULTS)
def test_each_remedy_cures(fault: str) -> None:
    """After the right remedy and lighting: does the heater burn blue, hold its pressure, and heat?"""
    remedy = faults()[fault].remedy
    bench = Bench(order(fault))
    do(bench, [FRONT, TAP, ("wait", {"minutes": 6}), SHUT])
    if remedy != "show-the-owner":
        bench.do("repair", remedy=remedy)
    if bench.state.switches()["cylinder"] == "shut":
        bench.do("switch", part="cylinder", position="open")
    do(bench, [("soap test", {"part": p}) for p in ("cylinder", "hose", "gas_cock")] + [TEST, SNIFF])
    assert bench.do("light").entry["result"]["pilot"]
    assert "main flame steady blue" in bench.do("look at flame").entry["result"]["seen"]
    assert bench.do("prove operation").entry["result"]["heats"]


@pytest.mark.parametrize("call", [
    ("sniff", {"place": "attic"}), ("sniff", {}), ("gas pressure", {"tap": "moon"}),
    ("gas pressure", {"tap": "heater"}), ("gas pressure", {"tap": "line", "draw": "lots"}), ("soap test", {"part": "tank"}),
    ("inspect", {"part": "burner"}), ("inspect", {"part": "tank"}), ("light", {}), ("look at flame", {}),
])  # fmt: skip
def test_refused(call: Step) -> None:
    """Is what can't be done as asked one clear sentence, with nothing changed and nothing logged?"""
    bench = Bench(order("no-fault"))
    before = json.dumps(bench.view(), sort_keys=True)
    with pytest.raises(TanksideError) as caught:
        bench.do(call[0], **call[1])
    assert "\n" not in str(caught.value) and len(str(caught.value)) > 10
    assert json.dumps(bench.view(), sort_keys=True) == before


def test_heaters_without_gas_say_so() -> None:
    """On a heater without a gas side: is every gas action refused, and the view without one?"""
    bench = Bench(lesson_order("no-fault", "heron_6"))
    assert bench.view()["gas"] is None
    for verb, args in (
        ("weigh cylinder", {}),
        ("flue gas", {}),
        ("sniff", {"place": "panel"}),
        ("leak test", {}),
    ):
        with pytest.raises(BenchError, match="no gas side"):
            bench.do(verb, **args)


def test_the_view_names_what_can_be_done() -> None:
    """Does the view carry every target, as plain data, with why one is out of reach?"""
    bench = Bench(order("no-fault"))
    shown = json.loads(json.dumps(bench.view()))["gas"]
    assert {t["id"] for t in shown["taps"]} == set(TAPS) and {t["id"] for t in shown["inspect"]} == set(LOOKS)
    assert any(t["why"] for t in shown["taps"])
    bench.do("open cover", place="heater-front")
    assert not any(t["why"] for t in bench.view()["gas"]["taps"])
    verbs = {row["verb"] for row in bench.view()["actions"]}
    assert {"light", "flue gas", "leak test", "weigh cylinder"} <= verbs


steps = st.one_of(
    st.sampled_from([FRONT, SNIFF, LIGHT, SHUT, OPEN, TEST, TAP, ("flue gas", {}), ("look at flame", {}), ("room air", {}),
                     ("weigh cylinder", {}), ("wait", {"minutes": 6}), ("altitude", {}), ("look", {})]),
    st.builds(lambda p: ("soap test", {"part": p}), st.sampled_from(sorted(JOINTS))),
    st.builds(lambda p: ("inspect", {"part": p}), st.sampled_from(sorted(LOOKS))),
    st.builds(lambda t, d: ("gas pressure", {"tap": t, "draw": d}), st.sampled_from(sorted(TAPS)), st.sampled_from(["yes", "no"])),
)  # fmt: skip


@settings(max_examples=6, deadline=None)
@given(st.sampled_from(FAULTS), st.lists(steps, min_size=3, max_size=12), st.integers(1, 50))
def test_the_truth_is_never_ruled_out(fault: str, walk: list[Step], number: int) -> None:
    """Whatever is looked at: is the fault that is there still a suspect, and does the log replay to the letter?"""
    scope = tuple(dict.fromkeys((fault, *FAULTS[:: max(len(FAULTS) // 6, 1)])))
    seed = next(
        s
        for s in (f"{k:032x}" for k in range(number * 1000, number * 1000 + 900))
        if order(fault, scope).model_copy(update={"seed": s}).case().fault.id == fault
    )
    one = order(fault, scope).model_copy(update={"seed": seed})
    bench = Bench(one)
    for verb, args in walk:
        try:
            bench.do(verb, **args)
        except BenchError:
            continue
    lines = [json.dumps(entry) for entry in bench.entries]
    assert replay(one, lines).findings == []
    left = candidates(one, lines)
    assert left.replay is not None and left.replay.findings == []
    assert fault in left.now


@pytest.mark.parametrize("fault", ["excess-flow-shut", "air-in-line", "orifice-not-derated", "union-leaks"])
def test_the_survey_isolates(fault: str) -> None:
    """With the whole catalogue of the heater in scope: does the survey leave one repair? (``run.py check`` tries all.)"""
    scope = tuple(FAULTS)
    seed = next(
        s
        for s in (f"{k:032x}" for k in range(5000))
        if order(fault, scope).model_copy(update={"seed": s}).case().fault.id == fault
    )
    follower = Follower(order(fault, scope).model_copy(update={"seed": seed}))
    for number, (verb, args) in enumerate(survey(load_model(MODEL))):
        try:
            perform(follower.state, verb, args)
        except BenchError:
            continue
        follower.after(number)
    assert {faults()[name].remedy for name in follower.suspects.remaining()} == {faults()[fault].remedy}
    assert np.isfinite(follower.state.clock)
