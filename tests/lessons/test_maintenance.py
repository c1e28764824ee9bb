"""Does what lesson 11 says in words follow from what it computes, and are its limits the published ones?"""

from __future__ import annotations

import re
from itertools import pairwise
from pathlib import Path

import pytest

from tankside import measures
from tankside.bench.gas import AIR_FREE_LIMIT
from tankside.errors import UnknownNameError
from tankside.heater.model import load_model
from tankside.labs import load_lab
from tankside.lessons import maintenance as lesson
from tankside.lessons import maintenance_wear, maintenance_worked
from tankside.notebook import price_list
from tankside.questions import upkeep_ways as ways
from tankside.questions.water_ways import heater
from tankside.widgets.flame_current import believes, flame_microamps
from tankside.widgets.repair_choice import REPAIRS, fields, repair_or_replace_calculator, repair_rows
from tests.published import row

ROOT = Path(__file__).parents[2]


def cells(text: str) -> dict[str, list[str]]:
    return {line.split(" | ")[0]: line.split(" | ")[1:] for line in text.splitlines() if " | " in line}


def number(words: str) -> float:
    return float(re.findall(r"-?\d[\d,]*(?:\.\d+)?", words)[0].replace(",", ""))


def test_limits_are_the_published_ones() -> None:
    """C84.1, Z21.22, VDE 0701-0702, CO air-free, flame current: each against its row."""
    assert list(lesson.SERVICE) == row("electrical", "service-voltage").value
    assert row("water", "relief-valve-pressure").value == lesson.RELIEF
    assert row("gas", "lock-up-pressure").value == lesson.LOCK_UP
    assert row("ignition", "flame-current-weak").value == lesson.WEAK
    assert row("electrical", "insulation-resistance").value[1] == lesson.INSULATION  # type: ignore[index]
    assert row("combustion", "co-limit-vented-heating").value == AIR_FREE_LIMIT
    assert row("combustion", "co-limit-water-heater").value == lesson.WATER_HEATER_CO
    low, high = row("electrical", "element-power-tolerance").value  # type: ignore[misc,str-unpack]
    shown = next(line for line in lesson.round_of_the_year().text.splitlines() if " | element | " in line)
    ends = [float(n) for n in re.findall(r"(\d+\.\d) to (\d+\.\d) Ω", shown)[0]]
    assert ends == pytest.approx([120**2 / (1440 * high), 120**2 / (1440 * low)], abs=0.06)  # type: ignore[operator]


def test_rods_last_by_their_water() -> None:
    """The saltier and the softer the water, the sooner: the sign that an ASHRAE abstract gives (corrosion.toml)."""
    found = [maintenance_wear.rod(c, h).life for _, c, h in maintenance_wear.WATERS]
    assert found == sorted(found, reverse=True) and found[-1] < 1.1 < 4 < found[0]
    assert row("corrosion", "softened-water").status == "V1"


def test_mud_costs_little_gas() -> None:
    """About 5 % after some 20 years (ASHRAE field study: water.toml, scale-gas): is ours within a factor of two in usual water?"""
    depth = 20 * ways.sediment_a_year(150.0)
    lost = 1 - ways.gas_efficiency(depth) / ways.gas_efficiency()
    published = row("water", "scale-gas")
    assert float(published.value) / 200 < lost < float(published.value) / 50  # type: ignore[arg-type]
    hot = [ways.sediment_a_year(h, k) for h in (50.0, 350.0) for k in (0.0, 8.0)]
    assert hot[1] > 2 * hot[0] and hot[2] > 5 * hot[0]
    assert 1e3 * ways.rumbles_from() == pytest.approx(5.5, abs=0.3)


def test_the_flame_rod_drops_fast_at_first() -> None:
    found = [flame_microamps(dirt=6e6 * age)[0] for age in range(5)]
    steps = [a - b for a, b in pairwise(found)]
    assert steps == sorted(steps, reverse=True)
    assert found[0] / 2 > believes()  # cleaned at half, it never locks out


def test_a_month_of_heat() -> None:
    """21 591 Btu/lb in the trade (gas.toml), 3.6 MJ a kWh, and 1.163 Wh for a kilogram and a kelvin."""
    trade = row("gas", "propane-hhv-pound-trade")
    assert pytest.approx(float(trade.value) * 1055.056, rel=0.01) == ways.PER_POUND  # type: ignore[arg-type]
    found = ways.month(ways.hot_water(1000.0))
    unit = heater(ways.MODEL)
    step = float(unit["thermostat.opens_at"][0] - unit["site.cold_water"][0])
    assert found.kilowatt_hours == pytest.approx(
        1.163 * step * 0.985, rel=0.02
    )  # hot water is that much lighter
    assert found.propane * ways.PER_POUND * ways.gas_efficiency() == pytest.approx(found.heat)
    watts = 2.3 * ((135 + 115) / 2 - 62.5) / 1.8
    assert ways.standby() == pytest.approx(watts * 30 * 86_400, rel=1e-6)


def test_the_bill_adds_up() -> None:
    """By hand from the price list and the log's own minutes."""
    with_rod, without, again = maintenance_worked.bills()
    worked = maintenance_worked.minutes_without_repair() + 30
    steps = -(-worked // 15) * 15
    assert with_rod.total == pytest.approx((65 + steps / 60 * 96 + 16 * 1.25) * 1.07, abs=0.006)
    assert without.total + again.total > with_rod.total + 65
    shown = cells(lesson.bill().text)
    lines = [number(v[-1]) for k, v in shown.items() if k not in ("line", "total")]
    assert sum(lines) == pytest.approx(number(shown["total"][-1]), abs=0.02)


def test_the_example_is_safe_and_closes_in() -> None:
    bench, _ = maintenance_worked.visit()
    assert not [e["text"] for e in bench.entries if e["result"].get("broke")]
    left = [s.left for s in maintenance_worked.visit_example()]
    assert left == sorted(left, reverse=True) and left[0] > 8 and left[-1] == 1
    old, new = maintenance_worked.fate_of_old(), maintenance_worked.fate_of_new()
    assert old.life < 1.0 < new.life  # "would not have held until the next round"
    verbs = [e["verb"] for e in bench.entries]
    assert verbs.index("sniff") < verbs.index("watch start") < verbs.index("lock out") < verbs.index("drain")
    assert verbs.index("soap test") < len(verbs) - 1 and verbs[-1] == "prove operation"


def test_repair_or_replace_by_hand() -> None:
    prices = {
        "replace-board": 65 + 75 / 60 * 96 + 120 * 1.25,
        "replace-thermostat": 65 + 75 / 60 * 96 + 24 * 1.25,
    }
    new = (65 + 270 / 60 * 96 + 940 * 1.25) * 1.07
    for remedy, before in prices.items():
        for left in (1.0, 2.0, 5.0, 9.0):
            found = ways.laid_side_by_side(remedy, 45.0, left, 12.0)
            assert found.repair_a_year == pytest.approx(before * 1.07 / left, rel=1e-4)
            assert found.better == ("repair" if before * 1.07 / left <= new / 12 else "replace")
            assert ways.pays_from(found) == pytest.approx(before * 1.07 / (new / 12), rel=1e-4)


def test_the_saying_errs_both_ways() -> None:
    """Right with half of the years left; too dear for an old tank, too strict for a young one."""
    shown = cells(lesson.half_rule().text)
    assert shown["new tank"][2] == "replace" and number(shown["new tank"][3]) < ways.LOOKED_AFTER
    assert shown["new board"][2] == "repair" and number(shown["new board"][3]) > 2
    table = [line.split(" | ") for line in lesson.repair_or_new().text.splitlines()]
    board = [line[-1] for line in table if line[0].startswith("Replace the control board")]
    assert board[0] == "repair" and board[-1] == "replace"


def test_waste() -> None:
    """A wet jacket costs more than drip and mud together, a hot leak most; standing nearly as much as the water drawn."""
    shown = {k.split(",")[0]: number(v[1]) for k, v in cells(lesson.waste().text).items() if len(v) > 2 and "$" in v[1]}  # fmt: skip
    names = list(shown)
    assert max(shown, key=lambda k: shown[k]) == "a hot leak that runs in a thread"
    assert shown["the same"] > 5 * (shown["a hot tap that drips"] + shown[names[-1]])
    assert 0.6 < shown["heat through the jacket"] / shown["the hot water itself"] < 1.0


@pytest.mark.parametrize("remedy", REPAIRS)
def test_the_calculator(remedy: str) -> None:
    rows = {r["label"]: r["text"] for r in repair_rows("plover_12", remedy, 45, 8, 12) if "label" in r}
    left = 12 if remedy == "replace-heater-tank" else 4
    price = number(rows["Price of the repair"])
    assert number(rows["Repaired"]) == pytest.approx(price / left, abs=0.01)
    better = "repair" if price / left <= number(rows["Price, fitted"]) / 12 else "replace"
    assert rows["Cheaper a year"] == better


def test_the_calculator_says_what_it_cannot_do() -> None:
    made = repair_or_replace_calculator()
    start = {f["id"]: f["start"] for f in fields()}
    assert made.result["rows"] and not made.result["problems"]
    gone = {r["label"]: r for r in made.work_out({**start, "age": 30})["rows"] if "label" in r}
    assert gone["Repaired"]["text"] == "–" and gone["Cheaper a year"]["text"] == "replace"
    assert "testing" in made.work_out({**start, "testing": 1000})["problems"]
    with pytest.raises(UnknownNameError):
        repair_rows("plover_12", "replace-all", 45, 8, 12)


def test_the_price_list_is_in_the_measures_chosen(monkeypatch: pytest.MonkeyPatch) -> None:
    """Who chose liters reads liters in lesson and lab: 7 U.S. gal are 26.5 L (a gallon is 231 in³ by definition)."""
    for system, wanted, other in (("si", "26.5 L", " gal"), ("us", "7.00 gal", " L")):
        monkeypatch.setattr(measures, "chosen", lambda system=system: system)
        for page in (lesson.price_list(), price_list()):
            assert f"up to {wanted}" in page.text and other not in page.text
    liters = 7 * 231 * 0.0254**3 * 1000
    assert f"{liters:.1f}" == "26.5"


def test_lab_11_says_how_thick_a_new_rod_is() -> None:
    """Its figure can't be worked out otherwise; are the sizes in the lab's text those of its heaters?"""
    text = (ROOT / "solutions/lab11/lab11.md").read_text(encoding="utf-8")
    found = re.search(r"([\d.]+) in\. \((\d+) mm\) across, on a wire of ([\d.]+) in\. \((\d+) mm\)", text)
    assert found
    for name in load_lab("lab11").models:
        sheet = load_model(name).nominal
        for inches, mm, key in ((found[1], found[2], "anode.radius"), (found[3], found[4], "anode.core")):
            assert 2 * sheet[key] / 0.0254 == pytest.approx(float(inches), abs=0.005)
            assert f"{2e3 * sheet[key]:.0f}" == mm
