"""Does what lesson 10 says in words follow from what it computes, and does that agree with what is published?"""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from scipy import constants

from tankside.heater import corrosion as cell
from tankside.heater.corrosion import wear
from tankside.lessons import corrosion as lesson
from tankside.lessons import corrosion_rods as rods
from tankside.lessons import corrosion_worked as worked
from tankside.measures import choose
from tankside.questions.anode_ways import WARM, alone, fate, idle_gas, tank
from tankside.quoting import load_prices
from tankside.widgets.anode_life import anode_calculator, anode_life, fields
from tests.published import row


@cache
def cells(name: str) -> dict[str, list[str]]:
    """A page's table rows by their first cell."""
    lines = getattr(lesson, name)().text.splitlines()
    return {line.split(" | ")[0]: line.split(" | ")[1:] for line in lines if " | " in line}


def first(words: str) -> float:
    return float(re.findall(r"-?[\d.,]+", words)[0].replace(",", ""))


def test_the_manual_to_its_printed_digit() -> None:
    """TM 5-811-7: 184.8 lb, 10.9 anodes, 227 lb, 26.7 mA, 32 anodes."""
    one, two = cells("manual")["first example"], cells("manual")["second example"]
    assert one[1].startswith(f"{row('corrosion', 'anode-weight-first').value:g} lb (")
    assert one[2].startswith(f"{row('corrosion', 'anode-count-first').values[0]:g} anodes")
    assert two[1].startswith(f"{row('corrosion', 'anode-weight-second').value:g} lb (")
    for said in (one[1], two[1]):  # a pound is 0.45359237 kg by definition
        pounds, kilograms = map(float, re.findall(r"[\d.]+", said))
        assert kilograms == pytest.approx(0.45359237 * pounds, rel=0.005)
    assert two[2].startswith(f"{row('corrosion', 'anode-current-second').value:g} mA")
    assert two[2].endswith(f"{row('corrosion', 'anode-count-second').value:g} anodes")


def test_the_manual_in_kilograms(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """Who reads SI: kilograms to reckon with, and the manual's pounds beside what comes out?"""
    monkeypatch.setenv("TANKSIDE_HOME", str(tmp_path))
    choose("si")
    said = lesson.manual().text
    each = re.search(r"years × ([\d.]+) kg × amps", said)
    assert each and float(each[1]) == pytest.approx(0.45359237 * 8.8, rel=0.002)
    assert re.search(r"kg \(184\.8 lb\)", said)


def test_what_a_metal_gives_is_published() -> None:
    """Ah/kg of magnesium, aluminum, zinc and iron; 1000 and 372 Ah/lb (Corrosion 1(2):59)."""
    for metal, wanted in row("corrosion", "capacity").pairs():
        name = "steel (iron)" if metal == "iron" else str(metal)
        assert first(cells("metals")[name][0]) == pytest.approx(wanted, rel=1e-3)
    for metal, wanted in row("corrosion", "capacity-pound-printed").pairs():
        assert first(cells("metals")[str(metal)][1]) == pytest.approx(wanted, rel=1e-3)


def test_series_is_published_and_in_order() -> None:
    """Copper sulfate, silver chloride and calomel as in corrosion.toml; each column rises from magnesium to copper."""
    shown = {name: (low, high) for name, low, high, _, _ in lesson.SERIES}
    sulfate = dict(row("corrosion", "potential-copper-sulfate").pairs())
    assert (
        shown["magnesium"][0] == sulfate["magnesium most negative"]
        and shown["zinc"] == (sulfate["zinc"],) * 2
    )
    silver = dict(row("corrosion", "potential-silver-chloride").pairs())
    calomel = dict(row("corrosion", "potential-seawater-sce").pairs())
    found = cells("series")
    assert [first(found[n][1]) for n in ("magnesium", "zinc", "steel")] == [silver[n] for n in ("magnesium", "zinc", "mild steel")]  # fmt: skip
    names = {"zinc": "zinc", "aluminum rod": "aluminum 3003", "steel": "carbon steel", "copper": "copper"}
    assert [first(found[n][2]) for n in names] == [calomel[p] for p in names.values()]
    for column in (0, 1, 2):
        volts = [first(r[column]) for n, r in found.items() if n != "metal" and r[column] != "–"]
        assert volts == sorted(volts)


def test_curves_meet_where_the_heater_says() -> None:
    """The lesson's own path of ohms at 600 µS/cm: the same current as the heater's cell, and the criterion published?"""
    text = lesson.curves().text
    now = fate(tank())
    assert f"600 µS/cm: {1e3 * now.current:.1f} mA, steel at {now.steel:.2f} V" in text
    assert f"{row('corrosion', 'protection-criterion').value:.2f} V" in text
    amps = [float(v) for v in re.findall(r"([\d.]+) mA", text)]
    assert amps == sorted(amps)


def test_current_at_the_criterion_is_in_the_published_band() -> None:
    """Bare steel in hot fresh water takes 5 to 15 mA/ft² to be held at -0.85 V (MIL-HDBK-1004/10)."""
    from tankside.physics.galvanic import PROTECTED, Steel, steel_current_si

    cathodic, anodic = steel_current_si(PROTECTED, Steel())
    low, high = row("corrosion", "bare-steel-hot").values
    assert low <= (cathodic - anodic) * 1e3 * 0.3048**2 <= high


def test_four_times_the_bare_steel_is_less_than_four_times_the_current() -> None:
    """Richer water gives more, exponent below the manual's 1 (row current-against-resistivity), for the steel's part."""
    one, four = (fate(tank(times={"vessel.bare_area": f})).current for f in (1.0, 4.0))
    assert one < four < 4 * one
    poor, rich = (fate(tank({"tank.water_conductivity": c})).current for c in (0.5, 1.0))
    assert 1.0 < rich / poor < 2.0 ** -float(str(row("corrosion", "current-against-resistivity").value))


def test_life_is_faradays() -> None:
    """Life between the metal over the first and over the last current; and does fate agree with fine steps of wear?"""
    unit = tank()
    found, fine = fate(unit), wear(tank(), 6.0, WARM, 1 / 96)
    assert found.life == pytest.approx(fine.life, abs=0.02)
    assert found.through == pytest.approx(fine.perforated, abs=0.04)
    hours = found.mass * 0.5 * float(dict(row("corrosion", "capacity").pairs())["magnesium"]) / 8766
    last = fine.current[fine.current > 0][-1]
    assert hours / found.current < found.life < hours / last


def test_half_the_metal_at_seven_tenths() -> None:
    """The rule that the lesson gives: at half of the metal about seven tenths of the diameter, at half of it about a quarter."""
    found = wear(tank(), 2.2, WARM, 1 / 48)
    half = float(np.interp(-0.5, -found.mass / found.mass[0], found.radius)) / found.radius[0]
    assert 0.68 < half < 0.74
    quarter = float(np.interp(-0.5, -found.radius / found.radius[0], found.mass)) / found.mass[0]
    assert 0.2 < quarter < 0.27


def test_ten_tanks() -> None:
    """Which are safe, which rods look new: as the lesson's list says."""
    found = cells("failures")
    unsafe = {name for name, r in found.items() if r[2] == "NO"}
    assert {name.split(":")[0].split(",")[0] for name in unsafe} == {"rod used up", "passivated", "insulated", "a plain plug"}  # fmt: skip
    new = first(rods.across(tank()["anode.radius"][0]))
    thick = {n for n, r in found.items() if "(" in r[3] and first(r[3]) > 0.97 * new}
    assert {n.split(":")[0] for n in thick} == {"passivated", "insulated", "zinc rod", "aluminum rod"}
    assert first(found["insulated: thread packed with sealant"][0]) > 100


def test_neglect_takes_the_years_that_the_trade_says() -> None:
    """Without a rod the wall is through in about two and a half years (practice.toml: common practice, no source)."""
    assert alone(tank()) == pytest.approx(float(str(row("practice", "anode-neglect").value)), abs=0.5)


def test_sayings() -> None:
    """Two of four rods hide pits, both thick; softer water wears the rod faster (sign: row softened-water)."""
    found = cells("looks_new")
    bad = {n for n, r in found.items() if "wall" in r[-1]}
    assert {n.split(":")[1].strip() for n in bad} == {"insulated", "passivated"}
    for n in ("1", "2", "3", "4"):  # told before the answer: what came out, never what it is
        before = next(r for name, r in found.items() if name == f"rod {n}")
        assert before == next(r for name, r in found.items() if name.startswith(f"{n}:"))[:2]
    lives = [fate(tank({"inlet.hardness": h})).life for h in (300.0, 150.0, 75.0, 5.0)]
    assert float(str(row("corrosion", "softened-water").value)) > 0 and lives == sorted(lives, reverse=True)


def test_aluminium_outlasts_bare_steel() -> None:
    """A share of the wall after thirty years, where steel is through in three."""
    assert "30 years" in cells("aluminum")["aluminum, no rod"][1]
    assert first(cells("aluminum")["aluminum, no rod"][1]) < 50 and alone(tank()) < 3.5


def test_hydrogen_by_faraday() -> None:
    """Two electrons a molecule, 22.4 L a mole at 0 °C (scipy's constants): the gas of what the rod wastes, and of all."""
    unit = tank()
    amps = float(np.atleast_1d(cell.cell(unit).current)[0])
    mole = 22.414 * 293.15 / 273.15
    useful = amps * 30 * 86400 / (2 * constants.e * constants.N_A) * mole
    assert idle_gas(unit, 30) == pytest.approx((useful, 2 * useful), rel=1e-3)


def test_meter_in_series_takes_some_away() -> None:
    """The milliammeter shows less than flows without it, and more than half."""
    read, free = (float(v) for v in re.findall(r"([\d.]+) mA", lesson.joint().text))
    assert 0.5 * free < read < free


def test_worked_example_is_decided_by_the_ohms() -> None:
    """Many faults before the ohms across the thread, one after; nothing unsafe on the way; and mains stay off to the end?"""
    steps = worked.insulated_example()
    left = [s.left for s in steps]
    ohms = next(k for k, s in enumerate(steps) if "Ω" in s.did)
    assert left[ohms - 1] >= 10 and left[ohms] == 1
    bench, _ = worked._worked()
    assert not [e for e in bench.entries if e["result"].get("broke")] and bench.state.stopped is None
    assert "anode" in steps[0].did
    verbs = [e["verb"] for e in bench.entries]
    assert verbs.index("lock out") < verbs.index("drain") < verbs.index("look at anode")


def test_repair_or_replace_is_plain_division() -> None:
    """Each price by its years; a wall that is through can't be repaired; deeper pits buy fewer years."""
    found = cells("repair_or_new")
    for name, (pit, price, buys, a_year, _, cheaper) in found.items():
        if pit == "through":
            assert cheaper == "replace" and price == "no repair", name
        elif "year" in buys and name != "found after":
            assert first(price.lstrip("$")) / first(buys) == pytest.approx(
                first(a_year.lstrip("$")), rel=0.03
            ), name
    pits = [worked.pit_after(age, True) for age in (1.0, 2.0, 3.0)]
    assert pits == sorted(pits) and pits[-1] == 1.0
    assert load_prices().name.endswith("(invented)")


def shown(system: str = "us", **values: Any) -> dict[str, str]:
    start = {f["id"]: f["start"] for f in fields(system)}
    return {r["label"]: r["text"] for r in anode_life(**{**start, **values}, system=system) if "label" in r}


def test_calculator_is_the_heaters_cell() -> None:
    """Typed in inches and °F or in mm and °C: the current and years of the heater's own cell."""
    us = shown(diameter=0.75, length=9, bare=7.75, warm=134.6, hardness=150 / 17.118)
    si = shown("si", diameter=19.05, length=228.6, bare=50, warm=57, hardness=150)
    found = fate(tank())
    for rows in (us, si):
        assert rows["Current"] == f"{1e3 * found.current:.2f} mA"
        assert first(rows["Rod used up after"]) == pytest.approx(found.life, abs=0.06)
    assert us["Without any rod"] == si["Without any rod"]


@pytest.mark.parametrize(
    "values",
    [
        {
            "conductivity": 50.0,
            "bare": 300.0,
            "diameter": 0.25,
            "length": 4.0,
            "metal": "aluminum",
            "warm": 40.0,
        },
        {
            "conductivity": 5000.0,
            "bare": 0.2,
            "diameter": 2.0,
            "length": 48.0,
            "hardness": 0.0,
            "warm": 176.0,
        },
        {"conductivity": 5000.0, "bare": 300.0, "diameter": 0.25, "length": 4.0, "metal": "zinc"},
    ],
)
def test_calculator_at_its_ends(values: dict[str, Any]) -> None:
    """At the ends of its sliders: rows without a number that isn't one?"""
    assert not re.search(r"\bnan\b|\binf\b", " ".join(shown(**values).values()))


def test_calculator_refuses_in_words() -> None:
    """One clear sentence for a number out of range."""
    widget = anode_calculator()
    found = widget.work_out({**{f["id"]: f["start"] for f in widget.fields}, "conductivity": 1.0})
    assert found["rows"] == [] and "50 to 5000" in str(found["problems"])
