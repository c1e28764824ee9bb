"""Does the heater light, prove its flame, and fail as its parts say: in time, on 12 V?"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tankside.errors import DataFileError
from tankside.faults.catalogue import fault_named
from tankside.faults.effects import put_in
from tankside.heater import ignition
from tankside.heater.electrics import side
from tankside.heater.model import MODELS, load_model, read_model
from tankside.heater.sequence import NUMBER, STATES
from tankside.heater.simulation import advance, energise
from tankside.heater.unit import Unit, make_unit
from tankside.physics.ignition import breakdown_voltage
from tankside.units import quantity
from tests.published import row

MODEL = "teal_10"
TIMES = load_model(MODEL).timing


def cold(batch: int = 1, **numbers: float) -> Unit:
    """A healthy unit on gas alone."""
    unit = make_unit(load_model(MODEL), batch=batch)
    unit.set("panel_switch.closed", 0.0)
    for key, value in numbers.items():
        unit.set(key.replace("__", "."), value)
    return unit


def at(unit: Unit, seconds: float) -> Unit:
    """After so many seconds, with its network solved."""
    advance(unit, seconds / 60.0)
    energise(unit)
    return unit


def state(unit: Unit) -> str:
    """The first variant's."""
    return STATES[int(unit["control_board.state"][0])]


def walk(unit: Unit, seconds: float, step: float = 0.1) -> list[tuple[float, str]]:
    """The states passed through, each with when it was first seen."""
    energise(unit)
    out = [(0.0, state(unit))]
    for k in range(1, round(seconds / step) + 1):
        at(unit, step)
        if state(unit) != out[-1][1]:
            out.append((k * step, state(unit)))
    return out


def test_a_good_start() -> None:
    """Purge, trial, run: at the times of the model's data file?"""
    seen = walk(cold(), 12.0)
    assert [name for _, name in seen] == ["purge", "trial", "run"]
    assert seen[1][0] == pytest.approx(TIMES["pre_purge"], abs=0.11)
    assert seen[2][0] == pytest.approx(TIMES["pre_purge"] + TIMES["lights_in"], abs=0.11)


def test_no_flame() -> None:
    """Without a spark: so many trials of so many seconds, the pauses between, then lockout with the lamp on?"""
    unit = cold(control_board__no_spark=1.0)
    seen = walk(unit, 60.0, 0.5)
    assert [name for _, name in seen] == ["purge", "trial", "wait", "trial", "wait", "trial", "lockout"]
    lasts = TIMES["pre_purge"] + 3 * TIMES["trial"] + 2 * TIMES["between_tries"]
    assert seen[-1][0] == pytest.approx(lasts, abs=0.51)
    assert ignition.lamp_glows(unit)[0] == 1
    at(unit, 3 * 3600)
    assert state(unit) == "lockout"
    assert unit["gas_valve.open"][0] == 0


def test_reset() -> None:
    """Does switching off and on reset a lockout, and start from the purge?"""
    unit = at(cold(control_board__no_spark=1.0), 80)
    assert state(unit) == "lockout"
    unit.set("dc_panel_switch.closed", 0.0)
    assert state(at(unit, 1)) == "off"
    unit.set("dc_panel_switch.closed", 1.0)
    unit.set("control_board.no_spark", 0.0)
    energise(unit)
    assert state(unit) == "purge"
    assert state(at(unit, 6)) == "run"


def test_flame_lost() -> None:
    """When the flame goes out, is the gas shut within the flame response time, and is a relight tried?"""
    unit = at(cold(), 30)
    unit.set("burner.ready", 0.0)
    energise(unit)
    assert state(unit) == "doubt"
    assert unit["gas_valve.open"][0] == 1
    at(unit, TIMES["flame_response"] + 0.01)
    assert state(unit) == "wait"
    assert unit["gas_valve.open"][0] == 0
    unit.set("burner.ready", 1.0)
    assert state(at(unit, TIMES["between_tries"] + TIMES["lights_in"] + 0.1)) == "run"


def test_flame_lost_too_often() -> None:
    """Does a flame that won't stay end in lockout and not in endless relighting?"""
    unit = at(cold(), 30)
    for _ in range(4):
        unit.set("burner.ready", 0.0)
        at(unit, TIMES["flame_response"] + 0.1)
        unit.set("burner.ready", 1.0)
        at(unit, TIMES["between_tries"] + TIMES["lights_in"] + 0.2)
    assert state(unit) == "lockout"


def test_timing_within_what_is_published() -> None:
    """Do the model's times lie in the published ranges? (Recalled rows: bounds only.)"""
    assert 0 < TIMES["flame_response"] <= 10.0  # vehicle heaters: automatic, 10 s at most (references 3, V2)
    assert 1 <= TIMES["trial"] <= 60


def test_flame_current_within_what_is_published() -> None:
    """Is the healthy flame's direct current inside the published range, and is a lamp's worth of leak no flame?"""
    low, high = row("ignition", "flame-current-direct").value  # type: ignore[misc]
    unit = at(cold(), 30)
    assert low <= unit["control_board.flame_current"][0] <= high
    unit = at(cold(flame_sensor__insulator=1e5, gas_valve__stuck_shut_1=1.0), 30)
    assert unit["control_board.flame_current"][0] == 0


def test_spark_against_breakdown() -> None:
    """Does the spark fail at just the gap at which the published breakdown law asks for more than there is?"""
    unit = at(cold(batch=80, burner__ready=0.0), TIMES["pre_purge"] + 0.1)
    unit.values["igniter.gap"] = np.linspace(1.0, 11.0, 80)
    energise(unit)
    kilovolts = ignition.spark_kilovolts(unit, "control_board")
    needed = [breakdown_voltage(quantity(float(gap), "mm")).magnitude for gap in unit["igniter.gap"]]
    assert list(unit["control_board.spark_jumps"] > 0) == list(kilovolts >= needed)
    assert 0 < unit["control_board.spark_jumps"].sum() < 80


def test_a_corroded_ground_reads_fine_open() -> None:
    """Does a ground of 10 ohm pass a test without load, and fail under current by Ohm's law?"""
    unit = cold(ground_stud__resistance=10.0, control_board__dead=1.0)
    energise(unit)
    assert unit["control_board.volts"][0] > 12.0
    unit = at(cold(ground_stud__resistance=10.0, burner__ready=0.0), TIMES["pre_purge"] + 0.5)
    solution = side(unit, "direct")
    amperes = unit["control_board.volts"][0] * sum(1 / ohm for ohm in (80.0, 24.0, 48.0, 48.0))
    lost = np.real(solution.between("ground_stud.heater", "ground_stud.return"))[0]
    assert lost == pytest.approx(10.0 * amperes, rel=0.01)
    assert state(at(unit, 80)) == "lockout"


def test_two_seats_in_series() -> None:
    """With one seat stuck open, does the other still shut the gas? With both, does gas pass?"""
    for seats, flows in (((1, 0), 0), ((0, 1), 0), ((1, 1), 1)):
        unit = cold(dc_panel_switch__closed=0.0)
        for k, stuck in enumerate(seats, 1):
            unit.set(f"gas_valve.stuck_open_{k}", float(stuck))
        energise(unit)
        assert unit["gas_valve.open"][0] == flows


def test_plungers_hold_below_what_pulls_them() -> None:
    """Does a plunger that is in stay in at a current that wouldn't have pulled it, and drop below the hold current?"""
    unit = cold(batch=2)
    unit.values["gas_valve.pulled_1"][:] = unit.values["gas_valve.pulled_2"][:] = (0.0, 1.0)
    unit.set("control_board.state", NUMBER["run"])
    unit.set("gas_valve.coil_1_resistance", 120.0)
    unit.set("gas_valve.coil_2_resistance", 120.0)
    unit.set("control_board.min_volts", 1.0)
    energise(unit)
    assert list(unit["gas_valve.pulled_1"]) == [0.0, 1.0]
    unit.set("gas_valve.coil_1_resistance", 400.0)
    energise(unit)
    assert list(unit["gas_valve.pulled_1"]) == [0.0, 0.0]


def test_a_short_takes_the_fuse_and_nothing_else() -> None:
    """Does a shorted coil blow the fuse in the first trial, and the supply stay up before it?"""
    unit = at(cold(gas_valve__coil_2_resistance=0.3), 30)
    assert unit["fuse.blown"][0] == 1
    assert state(unit) == "off"
    solution = side(unit, "direct")
    assert np.real(solution.between("battery.plus", "battery.minus"))[0] > 12.5


def test_mains_gone() -> None:
    """With the plug out, does the battery take over from the converter?"""
    unit = at(cold(), 30)
    before = unit["control_board.volts"][0]
    unit.set("supply.plugged", 0.0)
    energise(unit)
    assert unit["converter.powered"][0] == 0
    assert 11.5 < unit["control_board.volts"][0] < before
    assert state(unit) == "run"


def test_sides_are_solved_as_the_whole_is() -> None:
    """Has each side by itself the volts that it has in the whole network?"""
    unit = at(cold(), 30)
    for drive in ("alternating", "direct"):
        part = unit.wiring.sides[drive]  # type: ignore[index]
        assert len(part.nodes) < len(unit.wiring.whole.nodes)
        mine = side(unit, drive)  # type: ignore[arg-type]
        numbers = unit.wiring.whole.numbers(unit.values, False)
        whole = unit.wiring.circuit.solve(*numbers, drive=drive, frequency=60.0)  # type: ignore[arg-type]
        for branch in part.circuit.conductances:
            ours, theirs = mine.between(branch.a, branch.b)[0], whole.between(branch.a, branch.b)[0]
            assert ours == pytest.approx(theirs, rel=1e-5, abs=1e-5), branch.name


GAS_FAULTS = (
    "ground-corroded",
    "rod-fouled",
    "gap-wide",
    "board-dead",
    "solenoid-open",
    "fuse-blown",
    "converter-dead",
)


@settings(max_examples=10, deadline=None)
@given(
    st.lists(st.tuples(st.sampled_from(GAS_FAULTS), st.floats(0, 1)), min_size=1, max_size=6),
    st.lists(st.floats(0.1, 900), min_size=1, max_size=4),
)
def test_a_batch_does_what_each_does_alone(faults: list[tuple[str, float]], waits: list[float]) -> None:
    """Has every variant in a batch, to the last bit, the numbers that it has alone?"""
    together = cold(batch=len(faults))
    alone = [cold() for _ in faults]
    for k, (name, severity) in enumerate(faults):
        put_in(together, fault_named(name), severity, np.array([k]))
        put_in(alone[k], fault_named(name), severity)
    for seconds in waits:
        at(together, seconds)
        for unit in alone:
            at(unit, seconds)
    for key, values in together.values.items():
        assert np.isfinite(values).all(), key
        for k, unit in enumerate(alone):
            assert values[k] == unit[key][0], (key, faults[k])


@settings(max_examples=12, deadline=None)
@given(st.floats(0.5, 400), st.integers(1, 6), st.sampled_from(GAS_FAULTS), st.floats(0, 1))
def test_time_adds_up(seconds: float, pieces: int, name: str, severity: float) -> None:
    """Is it all one whether time passes at once or in pieces?"""
    one, many = cold(), cold()
    for unit in (one, many):
        put_in(unit, fault_named(name), severity)
    at(one, seconds)
    for _ in range(pieces):
        at(many, seconds / pieces)
    if min(abs(one["control_board.timer"][0]), abs(many["control_board.timer"][0])) > 1e-6:
        assert state(one) == state(many)
    assert one["tank.temperature"][0] == pytest.approx(many["tank.temperature"][0], abs=1e-3)


@settings(max_examples=20, deadline=None)
@given(
    st.dictionaries(
        st.sampled_from(
            (
                "ground_stud.resistance", "harness_plug.supply_pin", "dc_thermostat.contact_resistance",
                "gas_valve.coil_1_resistance", "gas_valve.coil_2_resistance", "fuse.resistance",
                "flame_sensor.fouling", "igniter.insulator", "hv_lead.resistance",
            )
        ),
        st.floats(-2, 9),
        max_size=4,
    )
)  # fmt: skip
def test_it_always_comes_to_rest(changed: dict[str, float]) -> None:
    """Whatever any resistance on the 12 V side is, does the board come to rest, with no gas unless it runs or tries?"""
    unit = cold(**{key.replace(".", "__"): 10.0**power for key, power in changed.items()})
    for seconds in (0.5, 3, 5, 20, 100, 3600):
        at(unit, seconds)
        if unit["gas_valve.open"][0]:
            assert state(unit) in ("trial", "run", "doubt")
        if unit["burner.lit"][0]:
            assert unit["gas_valve.open"][0] == 1


BAD = {
    "no gas input": ('gas_input = "10000 BTU/hour"\n', "", "plate.gas_input", "nothing"),
    "huge burner": ('gas_input = "10000 BTU/hour"', 'gas_input = "900 kW"', "plate.gas_input", "100 kW"),
    "no time to light": ('trial = "7 s"', 'trial = "1 s"', "ignition.trial", "lights_in"),
    "endless trial": ('trial = "7 s"', 'trial = "7 hour"', "ignition.trial", "600 s"),
    "no time at all": (
        'flame_response = "0.8 s"',
        'flame_response = "0 s"',
        "ignition.flame_response",
        "above 0",
    ),
    "trial in metres": ('trial = "7 s"', 'trial = "7 m"', "ignition.trial", "number"),
    "no tries": ("tries = 3", "tries = 0", "ignition.tries", "1"),
    "lead of another name": ('id = "hv_lead"', 'id = "spark_lead"', "wire", "hv_lead"),
    "no such kind": ('kind = "spark"', 'kind = "match"', "ignition.kind", "pilot"),
    "pilot without a pilot valve": ('kind = "spark"', 'kind = "pilot"', "part", "pilot gas valve"),
}


@pytest.mark.parametrize("case", BAD)
def test_a_bad_ignition_table(case: str, tmp_path: Path) -> None:
    """Is an ignition that can't exist refused with file, key, what was expected and what was found?"""
    old, new, key, word = BAD[case]
    good = (MODELS / f"{MODEL}.toml").read_text(encoding="utf-8")
    assert old in good
    file = tmp_path / "bad.toml"
    file.write_text(good.replace(old, new, 1), encoding="utf-8")
    with pytest.raises(DataFileError) as caught:
        read_model(file)
    assert "bad.toml" in str(caught.value) and key in str(caught.value) and word in str(caught.value)
