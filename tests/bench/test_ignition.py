"""What ears, eyes and the other instruments find on the 12 V side: is it what the heater is like?"""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from tankside.bench import Bench
from tankside.bench.replay import replay
from tankside.errors import BenchError, UnknownNameError
from tankside.practice import lesson_order

PLACES = ("panel", "junction-box", "heater-front", "burner-bay")


def at_work(fault: str = "no-fault", model: str = "teal_10", cool: bool = True) -> Bench:
    """A bench with the covers off and cool water in the tank."""
    work = Bench(lesson_order(fault, model))
    for place in work.state.model.places.values():
        if place.cover:
            work.open_cover(place.id)
    if cool:
        work.run_tap(10)
    return work


def watched(fault: str) -> dict[str, float]:
    """What one sees and hears of a start."""
    out: dict[str, float] = at_work(fault).do("watch start").entry["result"]["seen"]
    return out


@pytest.mark.parametrize(
    ("fault", "spark", "clicks", "flame", "stays", "lamp"),
    [
        ("no-fault", 1, 2, 1, 1, 0),
        ("board-no-spark", 0, 2, 0, 0, 1),
        ("hv-lead-broken", 0, 2, 0, 0, 1),
        ("board-relay-fails", 1, 0, 0, 0, 1),
        ("valve-lead-open", 1, 0, 0, 0, 1),
        ("solenoid-open", 1, 1, 0, 0, 1),
        ("solenoid-stuck-shut", 1, 1, 0, 0, 1),
        ("gap-narrow", 1, 2, 0, 0, 1),
        ("rod-fouled", 1, 2, 1, 0, 1),
        ("burner-ground-poor", 1, 2, 1, 0, 1),
        ("board-sense-failed", 1, 2, 1, 0, 1),
        ("board-dead", 0, 0, 0, 0, 0),
        ("fuse-blown", 0, 0, 0, 0, 0),
    ],
)
def test_a_start(fault: str, spark: int, clicks: int, flame: int, stays: int, lamp: int) -> None:
    """Does each fault look and sound as a technician knows it? (Common practice, no source.)"""
    seen = watched(fault)
    assert (seen["spark"], seen["clicks"], seen["flame"]) == (spark, clicks, flame)
    assert (seen["flame stays"], seen["lamp at last"]) == (stays, lamp)


def test_the_lamp_shows_that_it_can() -> None:
    """Does a good lamp glow while the board starts, and a burnt out one not?"""
    assert watched("no-fault")["lamp at first"] == 1
    assert watched("lamp-failed")["lamp at first"] == 0


def volts(work: Bench, red: str, black: str) -> tuple[float, float]:
    """In the trial, and afterwards."""
    readings = work.do("watch start", meter="volts", red=red, black=black).readings
    return float(readings[0]["value"]), float(readings[1]["value"])


def test_a_bad_ground_shows_only_under_load() -> None:
    """Are volts lost across a corroded ground while current flows, and (almost) none when it doesn't?"""
    for fault, least in (("no-fault", 0.0), ("ground-corroded", 3.0)):
        trial, _ = volts(at_work(fault), "ground_stud.heater", "ground_stud.return")
        assert abs(trial) >= least
        assert fault != "no-fault" or abs(trial) < 0.1


def test_the_flame_current_tells_flame_from_sense() -> None:
    """Microamperes: plenty with a failed board, too few with a fouled rod?"""
    good = float(at_work("board-sense-failed").do("watch start", meter="flame").readings[0]["value"])
    poor = float(at_work("rod-fouled").do("watch start", meter="flame").readings[0]["value"])
    assert good > 1.0 > poor


def test_time_of_a_start() -> None:
    """Does watching a start cost what the screen says, and does the heater live through just that time?"""
    work = at_work()
    before = work.state.clock
    entry = work.do("watch start").entry
    assert entry["minutes"] == pytest.approx(2.0)
    assert work.state.clock - before == pytest.approx(2.0)
    named = {row["verb"]: row["minutes"] for row in work.view()["actions"]}
    assert named["watch start"] == entry["minutes"]


def test_the_board_on_its_test_set() -> None:
    """Does the test set tell the ways in which a board fails from each other, whatever the harness is like?"""
    found = {
        fault: at_work(fault).do("board test").entry["result"]["facts"]
        for fault in (
            "no-fault",
            "board-no-spark",
            "board-relay-fails",
            "board-sense-failed",
            "ground-corroded",
        )
    }
    assert all(found["no-fault"].values()) and all(found["ground-corroded"].values())
    for fault, fails in (("board-no-spark", "spark"), ("board-relay-fails", "valve output")):
        assert [name for name, ok in found[fault].items() if not ok] == [fails]
    assert not found["board-sense-failed"]["sees a flame signal"]


def test_clamp_follows_ohm() -> None:
    """Does the clamp find the current that volts and ohms ask for, on both sides?"""
    work = at_work()
    unit = work.state.unit
    ampere = float(work.do("clamp", wire="W10").readings[0]["value"])
    watts = ampere**2 * unit["element.resistance"][0] * unit["element.hot_factor"][0]
    assert watts == pytest.approx(1440, rel=0.15)
    assert float(work.do("clamp", wire="board_lead").readings[0]["value"]) >= 0.14


def test_an_insulation_test_into_the_board() -> None:
    """Does 500 V on a lead that still hangs on the board ruin it, and spare it with the lead lifted?"""
    for lift in (True, False):
        work = at_work()
        work.switch("dc_panel_switch", "off")
        if lift:
            work.lift("hv_lead")
        work.do("insulation test", red="igniter.electrode", black="igniter.bracket")
        assert work.state.unit["control_board.dead"][0] == (not lift)


def test_bubbles() -> None:
    """No bubbles behind a tight valve, bubbles behind one that leaks by; refused while the burner is on?"""
    for fault, any_bubbles in (("no-fault", False), ("valve-leaks-by", True)):
        work = at_work(fault, cool=False)
        work.switch("dc_panel_switch", "off")
        assert (float(work.do("bubble test").readings[0]["value"]) > 0) == any_bubbles
    work = at_work()
    work.do("watch start")
    with pytest.raises(BenchError, match="burner is on"):
        work.do("bubble test")


def test_one_stuck_seat_is_found_with_the_other_alone() -> None:
    """With the second solenoid's lead lifted, does only a stuck second seat still let the burner light?"""
    for fault, flame in (("no-fault", 0), ("solenoid-stuck-open", 1)):
        work = at_work(fault)
        work.lift("coil_jumper")
        assert work.do("watch start").entry["result"]["seen"]["flame"] == flame


@pytest.mark.parametrize("fault", ["ground-corroded", "rod-fouled", "fuse-blown", "hv-lead-broken"])
def test_repair_cures(fault: str) -> None:
    """After the right repair, does it light?"""
    from tankside.faults.catalogue import fault_named

    work = at_work(fault)
    work.switch("dc_panel_switch", "off")
    work.switch("breaker", "off")
    work.repair(fault_named(fault).remedy)
    work.switch("dc_panel_switch", "on")
    assert work.do("watch start").entry["result"]["seen"]["flame stays"] == 1


def test_the_element_cannot_vouch_for_the_burner() -> None:
    """With both sources on, is a heater only seen to run when each of them heats?"""
    for fault, heats in (("no-fault", True), ("rod-fouled", False), ("element-open", False)):
        result = at_work(fault).prove_operation().entry["result"]
        assert result["heats"] == heats
    work = at_work("element-open")
    work.switch("panel_switch", "off")
    assert work.prove_operation().entry["result"]["heats"]


def test_pilot_by_hand() -> None:
    """Does a good pilot stay, a weak couple let go, and do millivolts tell why?"""
    good = at_work("no-fault", "dipper_6")
    assert good.do("light pilot").entry["result"]["stays"]
    result = good.do("thermocouple test").entry["result"]
    loaded, opened = (float(r["reading"]["value"]) for r in result["readings"])
    assert 20 < opened < 30  # "20 to 30 mV open circuit", trade pages, V2
    assert loaded == pytest.approx(opened * 0.017 / 0.038, rel=0.02)
    assert result["stays"]
    weak = at_work("thermocouple-weak", "dipper_6")
    assert not weak.do("light pilot").entry["result"]["stays"]
    assert float(weak.do("thermocouple test").readings[1]["value"]) < 8


def test_what_a_model_hasnt_got() -> None:
    """On a heater without the part, is each action refused in plain words, with nothing changed?"""
    plain = at_work(model="heron_6", cool=False)
    before = len(plain.entries)
    for verb in ("watch start", "gap gauge", "board test", "bubble test", "light pilot", "thermocouple test"):
        with pytest.raises(BenchError, match=r"[Tt]his heater has no"):
            plain.do(verb)
    assert len(plain.entries) == before
    verbs = {row["verb"] for row in plain.view()["actions"]}
    assert not verbs & {"watch start", "light pilot", "board test"}


@pytest.mark.parametrize(
    "args",
    [
        {"meter": "ears"},
        {"meter": "volts"},
        {"meter": "volts", "red": "fuse.line", "black": "fuse.line"},
        {"meter": 7},
    ],
)
def test_nonsense(args: dict[str, Any]) -> None:
    """Is nonsense refused, and nothing lost?"""
    work = at_work()
    clock, temperature = work.state.clock, work.state.unit["tank.temperature"].copy()
    with pytest.raises((BenchError, UnknownNameError)):
        work.do("watch start", **args)
    assert work.state.clock == clock
    assert np.array_equal(work.state.unit["tank.temperature"], temperature)


def test_replayed(tmp_path: Any) -> None:
    """Does a log with every new action replay to the same readings?"""
    import json

    order = lesson_order("rod-fouled", "teal_10")
    path = tmp_path / "bench-log.jsonl"
    work = Bench(order, path)
    for place in PLACES:
        work.open_cover(place)
    work.run_tap(10)
    work.do("watch start", meter="flame")
    work.do("clamp", wire="valve_lead")
    work.switch("dc_panel_switch", "off")
    work.do("gap gauge")
    work.do("board test")
    work.do("insulation test", red="flame_sensor.rod", black="flame_sensor.burner")
    work.do("look")
    lines = path.read_text(encoding="utf-8").splitlines()
    assert not replay(order, lines).findings
    assert json.loads(lines[-1])["result"]["positions"]["dc_panel_switch"] == "off"
