"""Does the air and fuel calculator show published numbers, in the measures that were chosen?"""

from __future__ import annotations

import re
from typing import Any

import pytest

from tankside.physics.fuels import fuel_names
from tankside.widgets.air_fuel import FUELS, air_fuel, air_fuel_calculator, fields
from tests.published import row

START: dict[str, Any] = {field["id"]: field["start"] for field in fields("us")}


def shown(system: str = "us", **values: Any) -> dict[str, str]:
    rows = air_fuel(**{**START, **values}, system=system)
    return {r["label"]: r["text"] for r in rows if "label" in r}


def number(text: str) -> float:
    return float(re.findall(r"-?[\d.,]+", text)[0].replace(",", ""))


@pytest.mark.parametrize("k", range(4))
def test_flue_gas_is_the_published_one(k: int) -> None:
    """Dry CO2 and O2 of propane at 0, 25, 50, 100 % excess air (element balance; chemicals 1.5 agrees)."""
    for id, label in (("propane-dry-co2", "CO2"), ("propane-dry-o2", "O2")):
        published = row("combustion", id)
        assert published.at
        found = shown(excess=float(published.at[k]))
        assert number(found[label]) == pytest.approx(published.values[k], abs=0.06), label  # shown to a tenth


def test_dew_point_is_the_published_one() -> None:
    """116.9 °F at 50 % excess air (CoolProp 8)."""
    assert number(shown(excess=50)["Water drips out below"]) == pytest.approx(
        row("combustion", "propane-flue-dewpoint").values[1], abs=1.5
    )


def test_air_free_by_the_trade_s_formula() -> None:
    """CO x 20.9 / (20.9 - O2), the published example's formula (hvacrschool.com: 87 ppm at 5 % is 114)."""
    found = shown(excess=28.4, monoxide=87)
    oxygen = number(found["O2"])
    assert oxygen == pytest.approx(5.0, abs=0.06)
    assert number(found["CO air-free"]) == pytest.approx(row("combustion", "co-air-free").value, abs=1.5)


def test_air_for_each_gas() -> None:
    """Volumes of air: (C + H/4) / 20.95 %, the textbook's balance of CH4, C3H8, C4H10."""
    for gas, oxygen in (("methane", 2.0), ("propane", 5.0), ("butane", 6.5)):
        found = shown(gas=gas)
        need = number(found["Air for one volume of gas"])
        assert need == pytest.approx(oxygen / 0.2095, abs=0.06)
        assert number(found["Air it needs"]) == pytest.approx(need * number(found["Gas burnt"]), rel=0.01)
        assert number(found["Air it gets"]) == pytest.approx(1.5 * number(found["Air it needs"]), rel=0.01)
    assert {name for name, _ in FUELS} <= set(fuel_names())


def test_both_limits_are_shown_and_differ() -> None:
    """Between 200 and 400 ppm air-free (hvactoday.com): over the one, within the other."""
    found = shown(excess=50, monoxide=200)
    assert 200 < number(found["CO air-free"]) < 400
    assert found["Limit for residential water heater"].startswith("OVER")
    assert found["Limit for vented heating equipment"] == "within it"


def test_hotter_stack_and_more_air_lose_more() -> None:
    """Does heat that leaves by the flue count, and air that takes it along?"""
    assert number(shown(flue=700)["Efficiency"]) < number(shown(flue=400)["Efficiency"])
    assert number(shown(excess=150)["Efficiency"]) < number(shown(excess=50)["Efficiency"])


def test_measures() -> None:
    """Does SI ask in kW and °C, and is 3 kW there what 10 236 BTU/h is here?"""
    assert {f["unit"] for f in fields("si") if "unit" in f} == {"kW", "%", "°C", "ppm"}
    metric = {r["label"]: r["text"] for r in air_fuel("propane", 3.0, 50, 260, 20, 20, "si") if "label" in r}
    ours = shown(heat=3000 / 0.293071, flue=500, room=68)
    assert metric["Gas burnt"].endswith("m³/h")
    assert number(metric["Efficiency"]) == pytest.approx(number(ours["Efficiency"]), abs=0.1)
    assert number(metric["Gas burnt"]) * 35.3147 == pytest.approx(number(ours["Gas burnt"]), rel=0.006)


def test_starts_and_refuses_in_words() -> None:
    """Does it show rows to begin with, and say which field can't be used?"""
    calculator = air_fuel_calculator()
    assert calculator.result["rows"] and not calculator.result["problems"]
    bad = calculator.work_out({**START, "excess": -5})
    assert "Type a number from 0 to 300 %" in bad["problems"]["excess"]
    for field in calculator.fields:
        for end in ("low", "high"):
            if end in field:
                assert calculator.work_out({**START, field["id"]: field[end]})["rows"], field["id"]
