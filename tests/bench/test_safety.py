"""Does each safety rule catch the unsafe way, and let the safe way to the same end pass?"""

from __future__ import annotations

from dataclasses import dataclass

import pytest

from tankside.bench import Bench
from tankside.bench.rules import RULES
from tankside.bench.terminals import FELT, Terminals
from tankside.practice import lesson_order
from tests.orders import CONNECT, ISOLATE, OPEN_ALL, PROVE_ALL, SAFE, do_all
from tests.strategies import Step

LIFT: Step = ("lift lead", {"wire": "W10"})
NEUTRAL: Step = ("lift lead", {"wire": "W11"})
OHMS: Step = ("meter", {"function": "Ω"})
ELEMENT: Step = ("probe", {"red": "element.1", "black": "element.2"})
BREAKER_OFF: Step = ("switch", {"part": "breaker", "position": "off"})
COOL: list[Step] = [("run tap", {"minutes": 30})]


@dataclass(frozen=True)
class Scenario:
    """An unsafe way that ends in a rule broken, and a safe way with the same last step."""

    rule: str
    unsafe: list[Step]
    safe: list[Step]
    fault: str = "no-fault"


SCENARIOS = [
    Scenario("hands-on-live", [*COOL, *OPEN_ALL, LIFT], [*SAFE, LIFT]),
    Scenario("hands-on-live", [*COOL, *OPEN_ALL, BREAKER_OFF, LIFT], [*SAFE, LIFT], "polarity-swapped"),
    Scenario("hands-on-live", [*COOL, *OPEN_ALL, NEUTRAL], [*SAFE, NEUTRAL]),  # harmless until it comes off
    Scenario(
        "hands-on-live",
        [*OPEN_ALL, ("repair", {"remedy": "remake-splices"})],
        [*SAFE, ("repair", {"remedy": "remake-splices"})],
    ),
    Scenario("no-lock-out", [*OPEN_ALL, *ISOLATE[:2], *PROVE_ALL, LIFT], [*SAFE, LIFT]),
    Scenario("not-proven-dead", [*OPEN_ALL, *ISOLATE, LIFT], [*SAFE, LIFT]),
    Scenario("not-proven-dead", [*SAFE, *CONNECT, *ISOLATE, LIFT], [*SAFE, *CONNECT, *ISOLATE, *PROVE_ALL, LIFT]),
    Scenario("ohms-on-live", [*COOL, *OPEN_ALL, OHMS, ELEMENT], [*SAFE, OHMS, ELEMENT]),
    Scenario("dry-fire", [*COOL, *ISOLATE, ("drain", {}), *CONNECT], [*COOL, *ISOLATE, ("drain", {}), ("fill", {}), *CONNECT]),
    Scenario("dry-fire", [*COOL, ("drain", {})], [*COOL, *ISOLATE, ("drain", {})]),
    Scenario(
        "dry-fire",
        [("drain", {}), ("repair", {"remedy": "reset-breaker"})],
        [("repair", {"remedy": "reset-breaker"})],
        "breaker-off",
    ),
    Scenario("bridged-safety", [("jumper", {"part": "high_limit"})], [("probe", {"red": "supply.hot", "black": "supply.neutral"})]),
    Scenario("bridged-safety", [("jumper", {"part": "thermostat"})], [("look", {})]),
    Scenario("scald", [*ISOLATE, ("drain", {})], [*ISOLATE, *COOL, ("drain", {})]),
    Scenario(
        "flood",
        [*SAFE, ("repair", {"remedy": "replace-element"})],
        [*COOL, *SAFE, ("drain", {}), ("repair", {"remedy": "replace-element"})],
    ),
    Scenario("energised-open", [*COOL, *SAFE, LIFT, *CONNECT], [*COOL, *SAFE, LIFT, ("land lead", {"wire": "W10"}), *CONNECT]),
    Scenario(
        "energised-open",
        [*COOL, *SAFE, ("lift lead", {"wire": "W11"}), *CONNECT],
        [*COOL, *SAFE, ("lift lead", {"wire": "W11"}), ("switch", {"part": "heater_switch", "position": "off"}),
         ("switch", {"part": "heater_switch", "position": "on"})],
    ),
]  # fmt: skip
MAINS_RULES = {
    "hands-on-live", "no-lock-out", "not-proven-dead", "ohms-on-live", "dry-fire", "bridged-safety", "scald", "flood",
    "energised-open",
}  # fmt: skip


def rules_broken(bench: Bench) -> list[str]:
    """Every rule in the log, in order."""
    return [rule for entry in bench.entries for rule in entry["result"].get("broke", [])]


@pytest.mark.parametrize("scenario", SCENARIOS, ids=[f"{s.rule}-{k}" for k, s in enumerate(SCENARIOS)])
def test_rule(scenario: Scenario) -> None:
    """Is the rule broken by the last step of the unsafe way, and by no step of the safe way?"""
    bench = Bench(lesson_order(scenario.fault))
    assert not do_all(bench, scenario.unsafe[:-1])
    assert scenario.rule not in rules_broken(bench)
    outcome = bench.do(scenario.unsafe[-1][0], **scenario.unsafe[-1][1])
    assert scenario.rule in outcome.entry["result"]["broke"]
    rule = RULES[scenario.rule]
    if rule.dangerous:
        assert outcome.stopped is not None
        assert outcome.stopped["name"] == rule.name and outcome.stopped["now"] == rule.instead
    else:
        assert outcome.stopped is None
    careful = Bench(lesson_order(scenario.fault))
    assert not do_all(careful, scenario.safe)
    assert scenario.rule not in rules_broken(careful)


def test_every_rule_has_a_scenario() -> None:
    """Is there a scenario for each rule of the mains side, and does each rule say why and what instead?"""
    assert {scenario.rule for scenario in SCENARIOS} == MAINS_RULES <= set(RULES)
    for rule in RULES.values():
        assert len(rule.why) > 30 and len(rule.instead) > 20 and rule.id in RULES


def test_the_safe_way_breaks_nothing() -> None:
    """Does a careful call-out from end to end break no rule at all?"""
    bench = Bench(lesson_order("element-open"))
    steps: list[Step] = [
        ("look", {}), ("meter", {"function": "V~"}), ("prove meter", {}),
        ("probe", {"red": "supply.hot", "black": "supply.neutral"}), ("run tap", {"minutes": 30}), *SAFE,
        LIFT, ("lift lead", {"wire": "W11"}), OHMS, ("zero leads", {}), ELEMENT, ("drain", {}),
        ("repair", {"remedy": "replace-element"}), ("land lead", {"wire": "W10"}), ("land lead", {"wire": "W11"}),
        ("fill", {}), *[("close cover", {"place": p}) for p in ("panel", "junction-box", "heater-front")], *CONNECT,
        ("prove operation", {}),
    ]  # fmt: skip
    assert not do_all(bench, steps)
    assert rules_broken(bench) == []
    assert bench.state.operated and bench.state.repaired == ["replace-element"]


def test_a_drained_tank_that_calls_for_heat_later_is_a_dry_start_too() -> None:
    """Drained hot with the supply on: the thermostat closes minutes later. Is the bench stopped then, with the reason?"""
    bench = Bench(lesson_order("no-fault", "grebe_12"))
    assert not bench.state.flag("thermostat.closed") and not bench.state.flag("element.burnt")
    entry = bench.do("drain").entry
    assert bench.state.flag("element.burnt")
    assert "dry-fire" in entry["result"]["broke"] and "without water" in entry["text"]
    assert bench.state.stopped and bench.state.stopped["rule"] == "dry-fire"


def test_a_dry_start_burns_the_element_out() -> None:
    """After a dry start: is the element open for good, until it is replaced?"""
    bench = Bench(lesson_order())
    do_all(bench, [*COOL, *ISOLATE, ("drain", {}), *CONNECT])
    assert bench.state.flag("element.burnt")
    bench.make_safe()
    steps: list[Step] = [("fill", {}), *OPEN_ALL, ("lock out", {"part": "supply"}), *PROVE_ALL, OHMS, ELEMENT]
    assert not do_all(bench, steps)
    assert bench.entries[-1]["result"]["reading"]["digits"] == "OL"
    assert not do_all(
        bench, [("drain", {}), ("repair", {"remedy": "replace-element"}), ("fill", {}), OHMS, ELEMENT]
    )
    assert bench.entries[-1]["result"]["reading"]["value"] == pytest.approx(10, abs=1)


def test_a_swapped_outlet_keeps_the_heater_live() -> None:
    """With hot and neutral swapped and the breaker off: which terminals are live, and does a hand feel them?"""
    bench = Bench(lesson_order("polarity-swapped"))
    do_all(bench, [*COOL, *OPEN_ALL, BREAKER_OFF])
    touch = Terminals(bench.state.unit)
    for terminal in (
        "junction_box.neutral_in",
        "element.2",
        "element.1",
        "panel_switch.line",
        "breaker.load",
    ):
        assert touch.touch(terminal)[0] > 50 * FELT, terminal
    for terminal in ("breaker.line", "tank.shell", "junction_box.ground"):
        assert touch.touch(terminal)[0] < FELT, terminal
    assert bench.prove_dead("heater-front").entry["result"]["dead"] is False
    outcome = bench.lift("W10")
    assert outcome.stopped is not None and not bench.state.lifted("W10")  # the hand didn't get that far
    healthy = Bench(lesson_order())
    do_all(healthy, [*COOL, *OPEN_ALL, BREAKER_OFF])
    assert not any(
        Terminals(healthy.state.unit).touch(t)[0] > FELT
        for t in ("element.1", "element.2", "panel_switch.line")
    )


def test_an_open_neutral_is_live_through_the_element() -> None:
    """With the supply's neutral open and everything on: is the neutral side live up to the break?"""
    bench = Bench(lesson_order("neutral-open"))
    do_all(bench, [*COOL, *OPEN_ALL])
    touch = Terminals(bench.state.unit)
    assert touch.touch("junction_box.neutral_in")[0] > 50 * FELT
    assert touch.touch("element.2")[0] > 50 * FELT
    assert bench.do("lift lead", wire="W11").stopped is not None


def test_a_loaded_neutral_is_not_live() -> None:
    """While the element draws: is a neutral that stands a volt or two above earth left alone, and its hot side named?

    30 V is the limit of IEC 61010-1 for accessible parts in normal dry condition (from memory), 50 V that of IEC 60364-4-41
    and OSHA 1910.333: both far above what a sound neutral drops, far below the mains.
    """
    unit = Bench(lesson_order()).state.unit
    unit.set("tank.temperature", 15.0)
    touch = Terminals(unit)
    drop = float(touch.alternating("junction_box.neutral_in", "junction_box.ground", 1e-7, 0.0)[0])
    assert 0.75 < drop < 6.0  # the current through 1500 Ω would be above the threshold of perception
    assert touch.touch("junction_box.neutral_in")[0] > FELT
    assert not touch.live("junction_box.neutral_in") and not touch.live("element.2")
    assert touch.live("junction_box.hot_in") and touch.live("element.1")


def test_a_breached_sheath_without_ground() -> None:
    """With a breached sheath: does the breaker open at once, and would an open ground make the tank live?"""
    bench = Bench(lesson_order("sheath-breached-wet"))
    assert bench.state.switches()["breaker"] == "tripped"
    unit = Bench(lesson_order("no-fault")).state.unit
    unit.set("tank.temperature", 15.0)
    unit.set("element.breached", 1.0)
    unit.set("element.breach_wet", 1000.0)
    unit.set("supply.ground_resistance", 1e9)
    assert Terminals(unit).touch("tank.shell")[0] > FELT
    assert unit["breaker.tripped"][0] == 0  # no current flows to ground until a person is there
