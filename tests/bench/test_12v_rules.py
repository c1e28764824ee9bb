"""The 12 V side's own safety rules, what a start asks first, and the battery and fuse behind them."""

from __future__ import annotations

import numpy as np
import pytest

from tankside.bench import Bench
from tankside.bench.gas import BLOCKED
from tankside.bench.rules import RULES
from tankside.faults.catalogue import faults
from tankside.faults.effects import put_in
from tankside.heater import ignition
from tankside.heater.electrics import branch_current, side
from tankside.heater.model import load_model
from tankside.heater.parts import PART_TYPES
from tankside.heater.simulation import advance
from tankside.heater.unit import make_unit
from tankside.practice import lesson_order
from tests.published import row

OFF = {"part": "dc_panel_switch", "position": "off"}
ON = {"part": "dc_panel_switch", "position": "on"}


def at_work(model: str = "plover_12", cool: bool = True) -> Bench:
    """A bench on a healthy heater that runs, covers off."""
    work = Bench(lesson_order("no-fault", model))
    for place in work.state.model.places.values():
        if place.cover:
            work.open_cover(place.id)
    if cool:
        work.run_tap(10)
    return work


def broke(work: Bench, verb: str, **args: object) -> list[str]:
    """The rules that one action breaks."""
    return list(work.do(verb, **args).entry["result"].get("broke", []))


@pytest.mark.parametrize("model", ["teal_10", "pintail_10", "plover_12"])
def test_a_lead_on_12_volts(model: str) -> None:
    """Live with 12 V: careless, nothing worse, and no lock is asked for; off at the panel: nothing at all?"""
    work = at_work(model)
    assert broke(work, "lift lead", wire="board_lead") == ["lifted-live-12v"]
    assert work.state.stopped is None and not RULES["lifted-live-12v"].dangerous
    assert broke(work, "land lead", wire="board_lead") == ["lifted-live-12v"]
    work.do("switch", **OFF)
    assert broke(work, "lift lead", wire="board_lead") == []
    assert broke(work, "land lead", wire="board_lead") == []


def test_a_spark_lead_while_it_sparks() -> None:
    """Is the spark lead's rule the same while the board sparks, and quiet while it doesn't?"""
    work = at_work("teal_10")
    work.do("switch", **OFF)
    assert broke(work, "lift lead", wire="hv_lead") == []
    assert broke(work, "land lead", wire="hv_lead") == []
    for board in work.state.model.of_type("control board"):
        work.state.unit.set(f"{board}.sparking", 1.0)
        work.state.unit.set("dc_panel_switch.closed", 1.0)
        work.state.unit.set(f"{board}.state", 2.0)
        work.state.unit.set(f"{board}.timer", 6.5)
        work.state.unit.set(f"{board}.relay_fails", 1.0)
    assert "lifted-live-12v" in broke(work, "lift lead", wire="hv_lead")


def test_mains_leads_keep_their_rules() -> None:
    """Does a lead where the mains comes still ask for lock and proof?"""
    work = at_work()
    work.do("switch", part="breaker", position="off")
    assert set(broke(work, "lift lead", wire="W10")) == {"no-lock-out", "not-proven-dead"}


def test_a_start_asks_what_lighting_asks() -> None:
    """Not smelt for gas: careless. Smelt: nothing. Gas in the chamber: refused. An empty tank: refused."""
    work = at_work()
    assert broke(work, "watch start") == ["no-sniff"]
    assert broke(work, "sniff", place="burner-bay") == []
    assert broke(work, "watch start") == []
    work.state.unit.set("burner.lit", 0.0)
    work.state.unit.set("burner.chamber", 0.05)
    work.state.unit.set("orifice.leak", 0.3)
    entry = work.do("watch start").entry["result"]
    assert "lit-in-smell" in entry["broke"] and "seen" not in entry
    assert work.state.stopped is not None


@pytest.mark.parametrize("model", ["teal_10", "plover_12"])
def test_no_fire_under_an_empty_tank(model: str) -> None:
    """Drained: is a start refused, and switching on dangerous; filled again, is neither?"""
    for verb, args in (("watch start", {}), ("switch", ON)):
        work = at_work(model)
        for part, position in (("breaker", "off"), ("dc_panel_switch", "off")):
            work.do("switch", part=part, position=position)
        work.do("drain")
        if verb == "watch start":
            work.state.unit.set("dc_panel_switch.closed", 1.0)
        assert "dry-burner" in broke(work, verb, **args)
        assert RULES["dry-burner"].dangerous and work.state.stopped is not None
        work.do("make safe")
        work.state.unit.set("dc_panel_switch.closed", 0.0)
        work.do("fill")
        assert "dry-burner" not in broke(work, "switch", **ON)
        assert "dry-burner" not in broke(work, "watch start")
    assert set(BLOCKED) <= set(RULES)


def test_battery_at_rest() -> None:
    """Does the battery's e.m.f. follow the published rule of thumb within its tolerance?"""
    feed = PART_TYPES["battery"].feeds[0]
    found = row("electrical", "battery-at-rest")
    assert found.hard
    for k, (charge, _) in enumerate(found.pairs()):
        volts = feed.emf(lambda key, c=charge: np.array([{"charge": c / 100.0}.get(key, 0.0)]))
        assert found.agrees(float(volts[0]), k), charge


@pytest.mark.parametrize("model", ["teal_10", "plover_12"])
@pytest.mark.parametrize("mains", [0.0, 1.0])
def test_nothing_lies_where_the_fuse_is_simplified(
    model: str, mains: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whatever fails: does the 12 V side draw either less than the fuse's rating or about twice it and more?"""
    monkeypatch.setattr(ignition, "FUSE_OPENS", 1e9)  # so that the current is seen, not the open fuse
    found = load_model(model)
    scope = [fault for fault in faults().values() if fault.applies_to(found)]
    for severity in (0.0, 0.5, 1.0):
        unit = make_unit(found, batch=len(scope))
        for k, fault in enumerate(scope):
            put_in(unit, fault, severity, np.array([k]))
        unit.set("supply.plugged", mains)
        most = np.zeros(len(scope))
        for _ in range(10):
            advance(unit, 1.0 / 60.0)
            most = np.maximum(most, branch_current(unit, "fuse: fuse", side(unit, "direct")))
        share = most / unit["fuse.rating"][0]
        assert not ((share > 1.0) & (share < 1.85)).any(), [scope[k].id for k in np.flatnonzero(share > 1.0)]
    limits = row("electrical", "fuse-opens-within")
    times = dict(limits.pairs())
    assert times[200] < times[135]  # so what is twice the rating is what a fuse is made to open soon
