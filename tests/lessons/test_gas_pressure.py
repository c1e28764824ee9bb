"""Does what lesson 7 says in words follow from what it computes?"""

from __future__ import annotations

import re
from itertools import pairwise

import numpy as np
import pytest

from tankside.lessons import gas_pressure_leaks as leaks
from tankside.lessons import gas_pressure_line as line
from tankside.lessons import gas_pressure_orifice as jet
from tankside.lessons.gas_pressure_worked import gas_example, worked
from tankside.physics.cylinder import vapour_pressure_si
from tankside.physics.fuels import STANDARD_PRESSURE, fuel
from tankside.questions.burning import burning
from tankside.widgets.gas_input import fields, orifice_input
from tests.published import row

LIMIT = float(str(row("combustion", "co-limit-vented-heating").value))


def test_cylinder_chart_is_the_published_vapour_pressure() -> None:
    """Propane at -20 to 100 °F in the trade's chart (gas.toml, V2, 8 %): does the lesson's law give it?"""
    chart = row("gas", "propane-vapour-pressure-chart")
    assert chart.at
    for k, fahrenheit in enumerate(chart.at):
        kelvin = (float(str(fahrenheit)) - 32) / 1.8 + 273.15
        gauge = vapour_pressure_si(fuel("propane"), kelvin) - STANDARD_PRESSURE
        assert chart.agrees(float(gauge) / 6894.757, k)


def test_which_cylinders_keep_up() -> None:
    """Full ones give enough on the cold day, quarter-full ones don't; and is more draw colder at the same fill?"""
    words = [text.split(" | ") for text in line.drawn_from().text.splitlines() if " | " in text][1:]
    assert [cells[-1] for cells in words] == ["yes", "no", "yes", "no"]
    ends = [line.cooled(mass, watts, np.linspace(0, 2, 121))[0][-1] for _, mass, watts in line.draws()]
    assert ends[0] > ends[1] and ends[0] > ends[2] > ends[3] and max(ends) < line.COLD


def test_gauge_stays_and_scale_falls() -> None:
    """Is the gauge the same at every fill, as the lesson says?"""
    rows = [text.split(" | ") for text in leaks.fill_by_weight().text.splitlines() if " | " in text][1:]
    assert len({cells[1] for cells in rows}) == 1 and len({cells[2] for cells in rows}) == len(rows)


def test_the_table_of_readings() -> None:
    """Each line of the lesson's table of readings: right or not at rest, running at 3, at 2, and at tap 1."""
    good = line.readings({})
    signs = {}
    for name, changed in line.states():
        found = line.readings(changed)
        signs[name] = "".join("=" if abs(a / b - 1) < 0.1 else "+" if a > b else "-" for a, b in zip(found, good, strict=True))  # fmt: skip
    assert signs == {
        "nothing wrong": "====", "regulator set low": "-=--", "regulator's vent plugged": "+=--",
        "regulator fouled": "==--", "regulator creeps": "+===", "excess-flow check has shut": "=---",
        "hose kinked": "==--", "cock half shut": "===-", "jet half blocked": "====",
    }  # fmt: skip


def test_fouled_regulator_is_perfect_with_one_burner() -> None:
    """Right at rest and with our burner, gone with three?"""
    rows = dict(text.split(" | ", 1) for text in line.regulator_curves().text.splitlines() if " | " in text)
    healthy, fouled = (rows[name].split(" | ") for name in ("healthy", "fouled"))
    assert healthy[:2] == fouled[:2] and healthy[2] != fouled[2]


def test_jets_stand_at_the_gauge() -> None:
    """Does the pressure stay within 3 % with every jet, and is only the natural-gas jet's flame orange?"""
    found = [burning(line.MODEL, changed) for _, changed in jet.jets()]
    assert all(now.pressure[0] == pytest.approx(found[0].pressure[0], rel=0.03) for now in found)
    assert [now.kind[0] == "lazy orange" for now in found] == [False] * 6 + [True]
    assert found[-1].air_free[0] > LIMIT


def test_plumbing_textbook_jets() -> None:
    """Drills 66 to 62 at 11 in. WC: within 3 % of 2500 BTU/ft3 times the textbook's flow (gas.toml)?"""
    table = row("gas", "orifice-input")
    for k, bore in enumerate(row("gas", "orifice-drill-diameter").values):
        assert table.agrees(jet.input_through(float(bore), 11.0), k)


def test_bigger_jets_heat_faster_and_poison() -> None:
    """More input with every step, the CO over the limit in the end, and still blue?"""
    found = [burning(line.MODEL, {"orifice.diameter": s * line.usual("orifice.diameter")}) for s in (1, 1.1, 1.2, 1.3)]  # fmt: skip
    assert all(a.input[0] < b.input[0] and a.air_free[0] < b.air_free[0] for a, b in pairwise(found))  # fmt: skip
    assert found[-1].air_free[0] > LIMIT and {now.kind[0] for now in found} == {"steady blue"}


def test_reading_at_rest_misses() -> None:
    """Five of seven lines read right at rest, one is right?"""
    rows = [text.split(" | ") for text in jet.good_at_rest().text.splitlines() if " | " in text][1:]
    assert [cells[1].endswith("right") for cells in rows] == [True] * 5 + [False] * 2
    assert [cells[2].endswith("right") for cells in rows] == [True] + [False] * 6


def test_limits_of_the_cabin_are_published() -> None:
    """1.7 % by one book, 2.1 % by the other (gas.toml): does the cabin's gas follow?"""
    for book, name in zip(leaks.BOOKS, ("iec", "nfpa"), strict=True):
        lower = float(row("gas", f"flammability-{name}").values[2])
        assert leaks.explosive_gas(10.0, book)[0] == pytest.approx(lower / 10)


def test_tests_are_the_published_ones() -> None:
    """8 in. WC for 3 minutes, 2 and 5 minutes, 10 minutes, 10 psi for 15 minutes: does the lesson show just these?"""
    said = leaks.procedures().text
    assert float(str(row("gas_pressure", "timed-test-vehicle-pressure").value)) == leaks.TEST.magnitude
    assert float(str(row("gas", "timed-leak-test-duration").value)) == leaks.MINUTES.magnitude
    settle, test = row("gas_pressure", "tightness-test-minutes").values
    assert f"{settle:g} min to settle, then {test:g} min" in said
    assert f"{row('gas_pressure', 'tightness-test-leaflet').value:g} min" in said
    assert f"{row('gas', 'piping-pressure-test').value:.1f} psi" in said
    assert f"{row('gas', 'piping-pressure-test-duration').value:g} min" in said


def test_a_warming_line_hides_what_soap_finds() -> None:
    """Does one kelvin move the gauge more than the smallest of the lesson's leaks?"""
    rows = [text.split(" | ") for text in leaks.warm_or_leak().text.splitlines() if " | " in text][1:]
    first, fall = leaks.small_leaks().text.splitlines()[2].split(" | "), rows[2]
    # A kelvin is 1.8 °F: equal steps must look equal.
    steps = [re.fullmatch(r"(-?[\d.]+) °F \((-?\d+) K\)", one[0]) for one in rows]
    assert all(s and float(s[1]) == pytest.approx(1.8 * int(s[2])) for s in steps) and len(steps) == 6
    start = 8.0
    assert start - float(fall[1].split()[0]) > start - float(first[3].split()[0]) > 0


def test_worked_example_narrows_to_one_and_breaks_no_rule() -> None:
    """Fewer faults with the readings, one at last, pressure back in the end, and nothing unsafe on the way?"""
    steps = gas_example()
    left = [step.left for step in steps]
    assert left == sorted(left, reverse=True) and left[0] > 4 and left[-1] == 1
    running = [float(step.did.split()[0]) for step in steps if "valve, with the burner on" in step.did]
    assert running[0] < 0.5 * running[-1]
    bench, _ = worked()
    assert not [entry["text"] for entry in bench.entries if "broke" in entry["result"]]


def test_calculator_shows_the_library() -> None:
    """Propane through No. 64 at 11 in. WC, sea level and 5000 ft by both rules (gas.toml: 20 and 12 %)."""
    for rule, share in zip(("above sea level", "above 2000 ft"), row("gas", "altitude-derate-5000-ft").values, strict=True):  # fmt: skip
        rows = {
            r["label"]: r
            for r in orifice_input("propane", 0.036, 11, 10000, 5000, rule, "us")
            if "label" in r
        }
        assert rows["The rule takes off"]["text"] == f"{float(share):.0f} %"
        assert rows["This jet is off by"]["mark"] == "bad"
    rows = {
        r["label"]: r for r in orifice_input("propane", 0.036, 11, 10300, 0, "none", "us") if "label" in r
    }
    assert rows["This jet is off by"]["mark"] == "good" and "No. 64" in rows["Hole for that"]["how"]
    # 0.0324 in. is nine tenths of 0.036: 11 in. WC over 0.9 to the fourth power makes up for it, and nothing has no sign.
    rows = {
        r["label"]: r
        for r in orifice_input("propane", 0.0324, 11 / 0.9**4, 10300, 0, "none", "us")
        if "label" in r
    }
    assert rows["This jet is off by"]["text"] == "0 %"
    for system in ("us", "si"):
        start = {f["id"]: f["start"] for f in fields(system)}
        assert len(orifice_input(**start, system=system)) > 6
        for end in ("low", "high"):
            assert orifice_input(**{f["id"]: f.get(end, f["start"]) for f in fields(system)}, system=system)
