"""Does each thing that hands can do have its effect, cost its minutes, and get refused where it can't be done?"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from tankside.bench import Bench
from tankside.bench.bench import perform
from tankside.errors import BenchError, TanksideError
from tankside.heater.model import load_model
from tankside.instruments.multimeter import FUNCTIONS
from tankside.practice import lesson_order
from tankside.widgets.costs import COSTS
from tests.orders import CONNECT, ISOLATE, OPEN_ALL, PROVE_ALL, SAFE, do_all, log_of
from tests.strategies import Step

ORDER = lesson_order()


def bench(*steps: Step, fault: str = "no-fault") -> Bench:
    """A bench on a lesson's heater after these steps, all of which can be done."""
    out = Bench(lesson_order(fault))
    refused = do_all(out, steps)
    assert not refused
    return out


def value(outcome: Any) -> float:
    """The number on the display."""
    return float(outcome.readings[0]["value"])


def test_time_adds_up() -> None:
    """Is every line's time the time of the line before and its minutes, and the clock the sum?"""
    work = bench(*SAFE, ("wait", {"minutes": 12.5}), *CONNECT)
    at = 0.0
    for entry in work.entries:
        assert entry["at"] == pytest.approx(at)
        at += entry["minutes"]
    assert work.state.clock == pytest.approx(at) == work.view()["clock"]


def test_left_alone_a_heater_stands_still() -> None:
    """Does the clock go on, with the same result, where nobody looks at the heater again?"""
    on, left = (bench(*SAFE[:1]).state for _ in range(2))
    found = {key: array.copy() for key, array in left.unit.values.items()}
    gave = perform(on, "look", {}), perform(left, "look", {}, leave=True)
    assert gave[0] == gave[1] and on.clock == left.clock
    assert all((left.unit[key] == array).all() for key, array in found.items())
    assert any((on.unit[key] != array).any() for key, array in found.items())


def test_the_screen_says_what_it_costs() -> None:
    """Are the minutes that the screen names beforehand the minutes that the log has afterwards?"""
    named = dict(COSTS)
    named |= {row["verb"]: row["minutes"] for row in Bench(ORDER).view()["actions"]}
    steps: list[Step] = [
        *SAFE, ("lift lead", {"wire": "W10"}), ("land lead", {"wire": "W10"}), ("meter", {"function": "Ω"}),
        ("zero leads", {}), ("probe", {"red": "element.1", "black": "element.2"}), ("drain", {}), ("fill", {}),
        ("meter", {"function": "V~"}), ("prove meter", {}), ("close cover", {"place": "panel"}), *CONNECT,
        ("look", {}), ("run tap", {"minutes": 5}), ("temperature", {}), ("wait", {"minutes": 10}),
        ("prove operation", {}), ("jumper", {"part": "high_limit"}), ("make safe", {}),
    ]  # fmt: skip
    work = bench(("run tap", {"minutes": 30}), *steps)
    done = {entry["verb"]: entry["minutes"] for entry in work.entries}
    for verb, minutes in named.items():
        if verb in done:
            assert minutes == done[verb], verb
    on_gas = {"sniff", "gas pressure", "soap test"}  # this heater has none
    assert set(COSTS) - on_gas <= set(done)


def test_covers() -> None:
    """Is what is behind a cover out of reach until it is off, and does putting it back take the lead off?"""
    work = bench(("meter", {"function": "V~"}))
    with pytest.raises(BenchError, match="behind a cover"):
        work.probe("element.1", "element.2")
    work.open_cover("heater-front")
    with pytest.raises(BenchError, match="open already"):
        work.open_cover("heater-front")
    work.probe("element.1", "element.2")
    assert work.view()["meter"]["red"] == "element.1"
    work.close_cover("heater-front")
    meter = work.view()["meter"]
    assert meter["red"] is meter["black"] is meter["reading"] is None
    with pytest.raises(BenchError, match="no open cover"):
        work.close_cover("heater-front")
    with pytest.raises(BenchError, match="open already"):
        work.open_cover("supply")  # it has none


def test_a_lock_holds() -> None:
    """Does a lock go only on an isolator that is off, and then keep it there?"""
    work = bench()
    with pytest.raises(BenchError, match="off"):
        work.lock_out()
    work.switch("breaker", "off")
    work.lock_out()
    assert work.state.locked == "breaker"
    with pytest.raises(BenchError, match="Your lock is on it"):
        work.switch("breaker", "on")
    with pytest.raises(BenchError, match="already on"):
        work.lock_out("supply")
    with pytest.raises(BenchError, match="Your lock is on it"):
        work.repair("reset-breaker")
    assert (
        work.view()["switches"][[s["id"] for s in work.view()["switches"]].index("breaker")]["position"]
        == "off"
    )
    work.unlock()
    work.switch("breaker", "on")
    with pytest.raises(BenchError, match="no lock"):
        work.unlock()


def test_an_electrician_at_the_supply_leaves_the_plug_out() -> None:
    """With the plug out and locked: does having the supply put right plug it in behind one's back?"""
    work = bench(*SAFE, fault="supply-low")
    work.repair("correct-the-supply")
    assert work.state.switches()["supply"] == "out"
    outcome = work.lift("W10")
    assert "broke" not in outcome.entry["result"]


def test_leads_lift_and_land() -> None:
    """Does a lifted lead open the circuit at its end, and landing it close the circuit again?"""
    work = bench(*SAFE, ("meter", {"function": "Ω"}), ("zero leads", {}))
    landed = work.probe("element.1", "high_limit.load")
    assert value(landed) < 1
    with pytest.raises(BenchError, match="on its terminal"):
        work.probe("W10.end", "element.1")
    work.lift("W10")
    assert work.probe("element.1", "high_limit.load").readings[0]["digits"] == "OL"
    assert value(work.probe("W10.end", "high_limit.load")) < 1
    with pytest.raises(BenchError, match="off already"):
        work.lift("W10")
    work.land("W10")
    assert work.view()["meter"]["red"] is None  # the lead was on the loose end
    with pytest.raises(BenchError, match="on its terminal"):
        work.land("W10")
    assert value(work.probe("element.1", "high_limit.load")) < 1


def test_water() -> None:
    """Do draining, filling, running and measuring follow the water there is?"""
    work = bench(*ISOLATE)
    with pytest.raises(BenchError, match="full already"):
        work.fill()
    hot = work.temperature().entry["result"]["temperature"]
    work.run_tap(10)
    assert work.temperature().entry["result"]["temperature"] < hot
    work.drain()
    for impossible in (work.temperature, work.drain, lambda: work.run_tap(1), work.prove_operation):
        with pytest.raises(BenchError, match=r"empty|full|no water|Fill"):
            impossible()
    work.fill()
    cold = work.temperature().entry["result"]["temperature"]
    assert cold == pytest.approx(work.state.unit["site.cold_water"][0], abs=1.0)


def test_proving_operation() -> None:
    """After a tap has run: does a good heater prove that it heats, and one with an open element that it doesn't?"""
    good = bench(("run tap", {"minutes": 30}))
    outcome = good.prove_operation()
    assert outcome.entry["result"]["heats"] and "It heats." in outcome.text
    bad = bench(("run tap", {"minutes": 30}), fault="element-open")
    outcome = bad.prove_operation()
    assert not outcome.entry["result"]["heats"] and "does not heat" in outcome.text


def test_a_hot_tank_proves_nothing() -> None:
    """When the thermostat is open because the water is hot: is that told apart from a heater that doesn't heat?"""
    work = bench()
    while work.state.flag("thermostat.closed"):
        work.wait(10)
    outcome = work.prove_operation()
    if not outcome.entry["result"]["heats"]:
        assert "hot already" in outcome.text


def test_proving_dead_by_hand() -> None:
    """Do proving the meter, three dead readings and proving it again count as proof, and does half of it not?"""
    work = bench(*OPEN_ALL, *ISOLATE, ("meter", {"function": "V~"}))
    pairs = [
        ("heater_switch.line", "element.2"),
        ("heater_switch.line", "element.sheath"),
        ("element.2", "element.sheath"),
    ]
    for red, black in pairs:
        work.probe(red, black)
    work.prove_meter()
    assert work.state.dead_places == set()  # the meter hadn't been proven before
    for red, black in pairs[:2]:
        work.probe(red, black)
    work.prove_meter()
    assert work.state.dead_places == set()
    work.probe(*pairs[2])
    work.prove_meter()
    assert work.state.dead_places == {"heater-front"}


def test_a_closed_switch_is_not_proven_dead_across_itself() -> None:
    """At a live switch that is on, where a meter shows 0 V across it: does proving dead find it live?"""
    work = bench(*OPEN_ALL)
    assert abs(value(work.probe("panel_switch.line", "panel_switch.load"))) < 3
    outcome = work.prove_dead("panel")
    assert outcome.entry["result"]["dead"] is False and "NOT dead" in outcome.text
    do_all(work, ISOLATE)
    assert work.prove_dead("panel").entry["result"]["dead"] is True


def test_proof_lapses_where_power_comes_back() -> None:
    """Does switching on undo the proof where it is live then, and a switch moved under lock undo nothing?"""
    work = bench(*SAFE)
    work.switch("heater_switch", "off")
    work.switch("heater_switch", "on")
    assert work.state.dead_places == {"panel", "junction-box", "heater-front"}
    do_all(work, CONNECT)
    assert work.state.dead_places == set()


ILLEGAL: list[tuple[str, Step]] = [
    ("no such verb", ("fly", {})),
    ("no place", ("open cover", {})),
    ("no such place", ("open cover", {"place": "roof"})),
    ("place is a number", ("open cover", {"place": 3})),
    ("no such switch", ("switch", {"part": "element", "position": "on"})),
    ("no such position", ("switch", {"part": "breaker", "position": "in"})),
    ("no such function", ("meter", {"function": "A~"})),
    ("no such terminal", ("probe", {"red": "element.3", "black": "element.2"})),
    ("hidden node", ("probe", {"red": "element.breach", "black": "supply.hot"})),
    ("the earth itself", ("probe", {"red": "earth", "black": "supply.hot"})),
    ("one terminal twice", ("probe", {"red": "supply.hot", "black": "supply.hot"})),
    ("only one lead", ("probe", {"red": "supply.hot"})),
    ("no such wire", ("lift lead", {"wire": "W99"})),
    ("a wire that stays", ("lift lead", {"wire": "W1"})),
    ("no minutes", ("wait", {})),
    ("minutes of NaN", ("wait", {"minutes": float("nan")})),
    ("minutes for ever", ("wait", {"minutes": float("inf")})),
    ("minutes backwards", ("wait", {"minutes": -1})),
    ("no time at all", ("wait", {"minutes": 0})),
    ("minutes in words", ("wait", {"minutes": "ten"})),
    ("minutes that are true", ("wait", {"minutes": True})),
    ("minutes beyond counting", ("wait", {"minutes": 10**400})),
    ("a whole day", ("wait", {"minutes": 1441})),
    ("no such remedy", ("repair", {"remedy": "hit it"})),
    ("no such isolator", ("lock out", {"part": "panel_switch"})),
    ("nothing to make safe", ("make safe", {})),
    ("zeroing on volts", ("zero leads", {})),
    ("NaN beside it", ("look", {"x": float("nan")})),
    ("a page of text", ("look", {"x": "a" * 100_000})),
    ("a list", ("look", {"x": [1]})),
    ("half a character", ("look", {"x": "\ud800"})),
    ("a line break", ("look", {"x": "a\u2028b"})),
    ("a hundred arguments", ("look", {f"x{k}": 1 for k in range(100)})),
]


@pytest.mark.parametrize(("what", "step"), ILLEGAL, ids=[what for what, _ in ILLEGAL])
def test_what_cannot_be_done(what: str, step: Step, tmp_path: Path) -> None:
    """Is it refused in one sentence, with nothing changed and nothing written?"""
    file = tmp_path / "bench-log.jsonl"
    work = Bench(ORDER, file)
    before, text = work.view(), file.read_bytes()
    numbers = {key: array.copy() for key, array in work.state.unit.values.items()}
    with pytest.raises(TanksideError) as caught:
        work.do(step[0], **step[1])
    assert 5 < len(str(caught.value)) < 1500 and "\n" not in str(caught.value)
    assert work.view() == before and file.read_bytes() == text
    assert all((work.state.unit[key] == array).all() for key, array in numbers.items())


def test_the_view_hides_the_heater() -> None:
    """Does the screen's data hold nothing that a technician couldn't see, however the heater is broken?"""
    healthy, broken = bench(*SAFE).view(), bench(*SAFE, fault="element-low").view()
    for view in (healthy, broken):
        for key in ("log", "order"):  # readings, and another heater's site
            view.pop(key)
        view["scene"].pop("inside")  # a lesson's; a lab's view has none (test_scene)
    assert healthy == broken


@pytest.mark.parametrize("function", FUNCTIONS)
def test_readings_are_logged_as_shown(function: str) -> None:
    """Is what the display shows what the log's line and the screen hold?"""
    work = bench(*SAFE, ("meter", {"function": function}))
    outcome = work.probe("element.1", "element.2")
    assert outcome.readings[0] == outcome.entry["result"]["reading"] == work.view()["meter"]["reading"]
    assert outcome.readings[0]["function"] == function
    assert outcome.readings[0]["digits"] in outcome.text


def test_every_terminal_has_a_name() -> None:
    """Can every terminal and loose end be probed by the names that the screen gives?"""
    work = bench(*SAFE, ("lift lead", {"wire": "W10"}), ("lift lead", {"wire": "W11"}))
    view = work.view()
    terminals = [t["id"] for part in view["parts"] for t in part["terminals"]]
    terminals += [wire["end"]["id"] for wire in view["wires"] if wire["liftable"]]
    assert len(terminals) >= len(load_model("heron_6").terminals)
    for terminal in terminals[1:]:
        work.probe(terminals[0], terminal)
    assert len(log_of(work)) == len(work.entries)


def test_nothing_is_done_while_stopped() -> None:
    """After a dangerous act: is making safe the only thing left to do?"""
    work = bench(("jumper", {"part": "high_limit"}))
    assert work.state.stopped is not None
    for verb, args in (*OPEN_ALL, *ISOLATE, *PROVE_ALL):
        with pytest.raises(BenchError, match="stopped"):
            work.do(verb, **args)
    assert all(not row["enabled"] for row in work.view()["actions"] if row["verb"] != "make safe")
    work.make_safe()
    assert work.state.switches()["supply"] == "out"
    assert not do_all(work, OPEN_ALL)
