"""Does lesson 6 show what the board does, what is published, and nothing that was typed in?"""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from tankside.bench.bench import perform, start_state
from tankside.faults.catalogue import fault_named
from tankside.faults.effects import put_in
from tankside.heater.model import load_model
from tankside.lessons import ignition_sequence as lesson
from tankside.lessons.ignition_example import FAULT, ignition_example
from tankside.measures import choose
from tankside.practice import lesson_order
from tankside.questions.ignition_starts import (
    FULL_MODEL,
    RUNGS,
    cold_unit,
    kinds_of_start,
    pattern_of,
    record,
    start_of,
)
from tankside.widgets.flame_current import flame_calculator, flame_microamps, flame_signal
from tests.published import row

MODEL = "teal_10"


def test_a_start_keeps_the_boards_times() -> None:
    """Air, then gas with the spark, then a flame and no spark: at the times of the model's file?"""
    seen, times = record(cold_unit(MODEL), 12.0), load_model(MODEL).timing
    opens, lights = times["pre_purge"], times["pre_purge"] + times["lights_in"]
    assert seen.spans("gas")[0][0] == pytest.approx(opens)
    assert seen.spans("flame")[0][0] == pytest.approx(lights)
    assert seen.spans("spark") == [pytest.approx((opens, lights))]
    assert pattern_of(seen).works


def test_a_flame_that_is_not_believed_burns_out_the_trial() -> None:
    """Does a flame that the rod can't see last from lighting to the end of the trial, each time, until lockout?"""
    seen, times = start_of("rod-fouled", MODEL, 1.0), load_model(MODEL).timing
    spans = seen.spans("flame")
    assert len(spans) == load_model(MODEL).data.ignition.tries  # type: ignore[union-attr]
    assert all(b - a == pytest.approx(times["trial"] - times["lights_in"]) for a, b in spans)
    assert pattern_of(seen).lockout


def test_the_bench_sees_the_same_pattern() -> None:
    """Would somebody at the bench, who watches a start with eyes and ears, notice what the recordings show?"""
    for kind in kinds_of_start():
        p = kind.pattern
        for fault in dict.fromkeys((kind.faults[0], kind.faults[-1])):
            told = [_watched(fault.id, severity) for severity in RUNGS]
            assert (p.lamp_first, p.spark, p.clicks, p.flames > 0, p.lockout) in told, (fault.id, told)


def _watched(fault: str, severity: float) -> tuple[float, ...]:
    """Lamp at first, spark, clicks, flame, lamp at last: as the bench's own action tells them."""
    unit = cold_unit(FULL_MODEL)
    put_in(unit, fault_named(fault), severity)
    if not unit["dc_panel_switch.closed"][0]:
        return (0.0, 0.0, 0.0, 0.0, 0.0)  # the bench says that the switch is off
    seen = perform(start_state(lesson_order(model=FULL_MODEL), unit), "watch start", {}).data["seen"]
    return tuple(seen[n] for n in ("lamp at first", "spark", "clicks", "flame", "lamp at last"))


def test_flame_current_is_what_is_published() -> None:
    """Does a good flame give 1 to 10 µA, also within the 2 to 5 µA of small burners, and a mere leak none?"""
    direct, _ = flame_microamps()
    assert row("ignition", "flame-current-direct").agrees(direct)
    assert row("ignition", "flame-current-in-shot").agrees(direct)
    assert "gives no net direct current" in str(row("ignition", "flame-rectification-why").value)
    for leak in (1e4, 1e5, 1e6):
        leaked, alternating = flame_microamps(flame=0.0, leak=leak)
        assert leaked == pytest.approx(0.0, abs=1e-9) and alternating > direct
    assert flame_microamps(dirt=3e7)[0] == pytest.approx(flame_microamps(ground=3e7)[0])


def test_the_calculator_agrees_with_the_heater() -> None:
    """Is what the calculator works out what a whole heater with the same numbers shows?"""
    for changed, given in (
        ({}, {}),
        ({"flame_sensor.fouling": 2e7 + 1e3}, {"dirt": 2e7}),
        ({"flame_sensor.burner_ground": 5e7}, {"ground": 5e7}),
        ({"flame_sensor.insulator": 3e5}, {"leak": 3e5}),
        ({"flame_sensor.flame": 0.4 * load_model(MODEL).nominal["flame_sensor.flame"]}, {"flame": 0.4}),
    ):
        unit = cold_unit(MODEL)
        for key, value in changed.items():
            unit.set(key, value)
        shown = record(unit, 8.0).seen["current"].max()
        assert flame_microamps(**given)[0] == pytest.approx(shown, rel=1e-3, abs=1e-4)


def test_the_calculator_answers_and_refuses() -> None:
    """Does it give rows for what it starts with, none for no flame, and one sentence for a wrong number?"""
    first = flame_calculator().result
    assert first["problems"] == {} and any(r.get("mark") == "good" for r in first["rows"])
    assert any("no flame" in r.get("text", "") for r in flame_signal(0.0, 0.0, 0.0, 3e4))
    refused = flame_calculator().work_out({"flame": 140, "dirt": 0, "ground": 0, "leak": 1e12})
    assert list(refused["problems"]) == ["flame"]
    with pytest.raises(ValueError, match="flame is 2"):
        flame_microamps(flame=2.0)


def test_the_saying() -> None:
    """Does the table bear out the text: a board cures one cause of five, and so does a clean rod?"""
    text = lesson.claim().text
    assert "A new board cures 1 of 5" in text and "Cleaning the rod cures 1," in text


def test_pilots_within_what_is_published() -> None:
    """20 to 30 mV open in a good flame (secondary pages), and some seconds to let go?"""
    line = next(x for x in lesson.pilot_table().text.splitlines() if x.startswith("all is well"))
    opened, loaded = (float(n) for n in re.findall(r"([\d.]+) mV", line))
    assert row("ignition_extra", "pilot-thermocouple-open").agrees(opened)
    assert 0.3 * opened < loaded < 0.7 * opened
    later = re.search(r"lets go (\d+) s later", lesson.pilot_curve().text)
    assert later and int(later[1]) > 10 * load_model(MODEL).timing["flame_response"]


def test_gaps_within_what_is_published() -> None:
    """Is the good igniter's gap one that trade pages name, and does only that one light the gas?"""
    text = lesson.gap().text
    millimetres = float(re.search(r"As it should be: [^(]*\(([\d.]+) mm\)", text)[1])  # type: ignore[index]
    assert row("ignition", "spark-gap").agrees(round(millimetres / 25.4, 3))
    assert text.count("lights the gas") == 1 and text.count("doesn't light") == 3


def test_the_gaps_scale_follows_the_chosen_measures(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Does the gap stand in inches, in millimetres or in both, as the learner chose, with 0.1 in. under 2.54 mm?"""
    monkeypatch.setenv("TANKSIDE_HOME", str(tmp_path))
    signs = {}
    for system in ("us", "si", "both"):
        choose(system)
        drawn = lesson.gap().markup
        signs[system] = {sign for sign in ("in.", "mm") if f">{sign}<" in drawn}
    assert signs == {"us": {"in."}, "si": {"mm"}, "both": {"in.", "mm"}}
    places = {words: float(x) for x, words in re.findall(r'<text x="([\d.]+)"[^>]*>([\d.]+)</text>', drawn)}
    millimetre = (places["8"] - places["2"]) / 6
    assert (places["0.3"] - places["0.1"]) / 0.2 == pytest.approx(25.4 * millimetre, rel=0.005)


def test_raw_gas_burns_and_goes() -> None:
    """Does the gas of failed tries reach what burns, and is it gone after five minutes of draft?"""
    text = lesson.raw_gas().text
    assert re.search(r"the mix in this chamber can burn", text)
    left = re.search(r"Five minutes after it, ([\d.]+) % is left", text)
    assert left and float(left[1]) < 0.1


def test_worked_example_ends_with_one_fault() -> None:
    """Does each step leave no more faults than before, and the last one only the right one, proven by a flame that stays?"""
    steps = ignition_example()
    left = [step.left for step in steps]
    assert left == sorted(left, reverse=True) and left[-1] == 1 and left[0] > 20
    assert fault_named(FAULT).remedy == "clean-burner-ground"
    assert "fault lamp dark at the end" in steps[-1].did
