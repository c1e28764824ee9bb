"""Does what lesson 9 says in words follow from what it computes?"""

from __future__ import annotations

import re

import numpy as np
import pytest

from tankside.heater import plumbing
from tankside.heater.history import tap_curve
from tankside.lessons import water_side as lesson
from tankside.lessons import water_side_pressure as pressure
from tankside.lessons import water_side_seasons as seasons
from tankside.lessons import water_side_taps as taps
from tankside.lessons.scales import Scale
from tankside.lessons.water_side_worked import lukewarm_example
from tankside.measures import choose
from tankside.physics.water import closed_tank_pressure_rise
from tankside.questions import water_ways as ways
from tankside.units import quantity
from tests.published import row

PSI = 6894.757


def rows_of(text: str) -> dict[str, list[str]]:
    """A page's table rows by their first cell."""
    found = [line.split(" | ") for line in text.splitlines() if " | " in line]
    return {first: rest for first, *rest in found}


def test_three_places_name_the_cause() -> None:
    """The lesson's rule: the first place that is cool is where it happens; and the shut-off test stops for the rest."""
    for cause, cool, past in (
        ("all is well", "", False),
        ("bypass half open", "B", True),
        ("bypass wide open", "B", True),
        ("a mixing tap lets cold across", "C", True),
        ("thermostat opens far too soon", "A", False),
    ):
        found = taps.places_of(cause)
        warm = [float(t[0]) for t in (found.outlet, found.behind, found.tap)]
        first = next((name for name, t in zip("ABC", warm, strict=True) if t < 45.0), "")
        assert first == cool and (found.past[0] > ways.RUNS) == past, cause
    for cause in ("check valve stuck shut", "hot and cold lines crossed"):
        assert taps.places_of(cause).flow[0] < ways.RUNS


def test_mixing_is_a_heat_balance() -> None:
    """Half open: does the temperature at B follow from the flows of tank and bypass, k times the root of the pressure?"""
    unit = ways.heater("grebe_12", {"bypass.open": 0.5})
    through = (4e-4**-2 + 5e-4**-2) ** -0.5
    share = through / (through + 0.5 * 4e-4)
    cold, hot = float(unit["site.cold_water"][0]), float(unit["tank.temperature"][0])
    assert ways.three_places(unit).behind[0] == pytest.approx(cold + share * (hot - cold), abs=0.01)


def test_saying_about_no_hot_water() -> None:
    """Is the tank hot in all but the two whose own heat is gone?"""
    found = {complaint.name: taps.two_hours_on(complaint) for complaint in taps.COMPLAINTS}
    cold = {name for name, after in found.items() if not after.good}
    assert cold == {"element burnt open", "high limit open"}
    assert all(after.tap < taps.TOO_COOL or after.flow < 1.0 for after in found.values())


def test_saying_about_dripping() -> None:
    """Do the valves that are called good lift at their rating, and the bad ones run below it?"""
    supply, highest, caught, after, _ = pressure.drips_of()
    made = float(ways.heater(pressure.DRIPS)["relief_valve.lifts_at"][0])
    assert (caught > 100).all()
    for k, (name, _, _, bad) in enumerate(pressure.DRIPPING):
        assert (highest[k] > 0.97 * made) == (not bad), name
        assert (after[k] > 100) == (name in ("grit on the seat", "probe opens too cool")), name
    assert supply[1] > 2 * supply[0]


def test_pressure_of_a_rigid_tank_is_the_published_one() -> None:
    """27.8 psi for a degree F at 60 °F (CoolProp 8: water.toml); does the heater's own shut tank do the same if nothing gives?"""
    published = row("water", "rigid-tank-pressure")
    assert f"{published.value:g} psi" in pressure.shut_tank().text
    cold, sixty = 15.0, np.array([15.0, 16.0])
    unit = ways.heater(pressure.MODEL, {**pressure.RIGID, "site.cold_water": cold, "tank.temperature": cold}, 2, warm=False)  # fmt: skip
    plumbing.refilled(unit, plumbing.full(unit))
    unit.set("tank.temperature", sixty)
    low, high = plumbing.pressure(unit)
    wanted = closed_tank_pressure_rise(quantity(15, "degC"), quantity(16, "degC")).to("Pa").magnitude
    assert high - low == pytest.approx(wanted, rel=0.12)  # the heater keeps water's squeeze constant


def test_cushion_is_what_keeps_the_pressure_down() -> None:
    """With it the valve isn't reached in daily use, without it within thirty degrees (°F)."""
    unit = ways.heater(pressure.MODEL)
    hot, cold = float(unit["tank.temperature"][0]), float(unit["site.cold_water"][0])
    lifts = float(unit["relief_valve.lifts_at"][0])
    assert ways.pressure_when_warm(pressure.MODEL, np.array([hot]))[0] < 0.6 * lifts
    warm = np.array([cold, cold + 30 / 1.8])
    assert ways.pressure_when_warm(pressure.MODEL, warm, pressure.NO_CUSHION)[1] > lifts


def test_growth_and_boiling_are_published() -> None:
    """Volume x expansion (CoolProp 8); water under 150 psi boils at 365.9 °F."""
    grown = rows_of(pressure.growing().text)["Plover 12"]
    ounces = float(grown[2].split()[0])
    assert ounces == pytest.approx(
        12 * 128 * row("water", "expansion").values[0] / 100, rel=0.08
    )  # 55 to 135 °F
    assert f"{row('water', 'saturation-150-psig').value:.0f} °F" in pressure.held_back().text


def test_a_hot_line_at_rest_tells_of_the_check_valve() -> None:
    """Room-warm when it shuts, above blood-warm when it leaks, and the loss grows with the leak."""
    unit = ways.heater("grebe_12", {"check_valve.leaks_back": [0.0, 0.3, 1.0]}, 3)
    line = plumbing.hot_line(unit)
    assert line[0] == pytest.approx(float(unit["site.room"][0])) and line[1] > 37.0 and line[2] > line[1]


def test_layers_keep_the_tap_hot_for_longer() -> None:
    """Does the counted 70 % (water.toml) lie between the mixed tank and the layered one, as the lesson says?"""
    unit = ways.heater(lesson.MODEL)
    volume = float(unit["tank.volume"][0]) * 1e3
    litres = np.linspace(0.0, 1.4 * volume, 300)
    ends = []
    for layers in (lesson.LAYERS, 1):
        curve = tap_curve(unit, list(litres / lesson.FLOW), lesson.FLOW, layers)
        ends.append(float(np.interp(-lesson.SHOWER, -curve, litres)) / volume)
    assert ends[1] < float(str(row("water", "first-hour-fraction").value)) < ends[0]
    # A mixed tank: 1 - exp(-drawn/V), the textbook's; does the picture's dashed line say so?
    cold, hot = float(unit["site.cold_water"][0]), float(unit["tank.temperature"][0])
    assert ends[1] == pytest.approx(np.log((hot - cold) / (lesson.SHOWER - cold)), rel=0.02)


def test_times_to_get_hot() -> None:
    """10 gallons by 80 °F, rescaled to the heater's own gallons, degrees and watts (water.toml): within its losses?"""
    for name in lesson.MODELS:
        unit = ways.heater(name)
        gallons = float(unit["tank.volume"][0]) * 264.172
        rise = 1.8 * float(unit["tank.temperature"][0] - unit["site.cold_water"][0])
        for watts in ways.heats(name).values():
            bare = 81.4 * gallons / 10 * rise / 80 * 1440 / watts
            assert bare < ways.minutes_to_heat(name, watts) < 1.06 * bare


def test_idle_day_is_the_jackets_loss() -> None:
    """UA times the mean of the swing over the room, for a day; three rounds of the thermostat."""
    found = re.search(r"(\d+) times.*?([\d.]+) kWh", lesson.idle_day().text)
    assert found
    unit = ways.heater(lesson.MODEL)
    middle = float((unit["thermostat.opens_at"] + unit["thermostat.closes_at"])[0]) / 2
    wanted = float(unit["tank.loss"][0]) * (middle - float(unit["site.room"][0])) * 24 / 1e3
    assert float(found[2]) == pytest.approx(wanted, rel=0.05) and found[1] == "3"


def test_scald_tables_are_the_published_ones() -> None:
    """Is each printed row shown as printed, without "about" (water.toml, all four)?"""
    shown = rows_of(seasons.scald_table().text)
    for fahrenheit, seconds in row("water", "scald-cpsc").pairs():
        cell = next(cells for first, cells in shown.items() if first.startswith(f"{fahrenheit:g} °F"))[0]
        assert cell == seasons.seconds(float(seconds))
    other = dict(row("water", "scald-other").pairs())
    assert shown["135 °F (57 °C)"][1] == seasons.seconds(other[135])
    for k, name in ((2, "scald-second-degree"), (3, "scald-third-degree")):
        times = dict(row("water", name).pairs())
        assert shown["140 °F (60 °C)"][k] == seasons.seconds(times[60])
        assert shown["120 °F (49 °C)"][k] == seasons.seconds(times[49])


def test_germs_by_the_published_ranges() -> None:
    """Grows from 25 to 45 °C, store above 60 °C (ASHRAE Guideline 12-2000, water.toml)."""
    shown = rows_of(seasons.germs().text)
    low, high = row("water", "legionella-growth").values
    store = float(str(row("water", "legionella-store").value))
    for first, (words, _) in ((k, v) for k, v in shown.items() if "°C" in k):
        celsius = (float(first.split()[0]) - 32) / 1.8
        assert ("GROW" in words) == (low <= celsius <= high) and ("die" in words) == (celsius > store)


def test_mud_is_heard_before_it_is_timed() -> None:
    """On gas a few percent and a rumble, on mains nothing (scale-electric: unchanged, water.toml)."""
    clean, muddy = ways.heats("plover_12"), ways.heats("plover_12", 0.012)
    assert muddy["mains"] == clean["mains"] and 0.9 < muddy["gas"] / clean["gas"] < 0.99
    text = seasons.sediment().text
    assert text.index("quiet") < text.index("rumbles")


def test_fittings_freeze_before_tanks() -> None:
    """Days between them in every frost of the table?"""
    for low in (-1.1, -4.0, -7.0, -12.0, -18.0):
        found = ways.freezing("plover_12", low)
        assert found.flap < found.split < found.tank - 24 and found.ice < found.tank


def test_example_ends_with_one_fault_and_a_proof() -> None:
    """Do the faults left only get fewer, down to one, with the tap stopped by the repair and then hot?"""
    steps = lukewarm_example()
    left = [step.left for step in steps]
    assert left == sorted(left, reverse=True) and left[0] > 5 and left[-1] == 1
    warm = [
        float(m[1]) for step in steps if (m := re.search(r"Hot tap: .* L/min\), .*\(([\d.]+) °C", step.did))
    ]
    assert len(warm) == 2 and warm[0] < taps.TOO_COOL < warm[1]
    runs = [m[1] for step in steps if (m := re.search(r"hot tap open: (.*) runs", step.did))]
    flow = re.search(r"\(([\d.]+) L/min\) still", runs[0])
    assert flow and float(flow[1]) > 3.0 and runs[1] == "nothing"


def test_scales_are_in_the_measures_that_were_chosen(
    tmp_path: object, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Two rows of marks for both, one for one system; is 60 °C marked where 60 °C lies?"""
    monkeypatch.setenv("TANKSIDE_HOME", str(tmp_path))
    scale = Scale(10.0, 65.0, "degC", "temperature")
    assert [sign for sign, _ in scale.systems()] == ["°F", "°C"]
    for sign, marks in scale.systems():
        for value, words in marks:
            assert value == pytest.approx(float(words) if sign == "°C" else (float(words) - 32) / 1.8)
    choose("si")
    assert [sign for sign, _ in scale.systems()] == ["°C"]
    assert Scale(1.0, 100.0, "", log=True).at(10.0) == pytest.approx(0.5)
