"""Figures that labs ask for: does each source hold against its way to be measured, and against published values?"""

from __future__ import annotations

import math
from typing import Any

import pytest

from tankside.bench import Bench
from tankside.case import as_found
from tankside.errors import BenchError
from tankside.figures import sources, truth, way_to
from tankside.figures.registry import DECIDED, unit_of
from tankside.figures.water import mixed_gallons
from tankside.heater.model import load_model
from tankside.heater.unit import make_unit
from tankside.labs import Lab
from tankside.labs.lab import Figure
from tankside.practice import lesson_order
from tankside.report import read_measure
from tankside_autograder.search import Searcher
from tests.published import row

SHARES = {
    "hardness": 0.3,
    "anode current": 0.4,
    "years of anode left": 0.4,
    "carbon monoxide air-free": 0.15,
    "anode left": 0.12,
}
"""How far a measured answer may lie from the truth beside the general 5 %: a strip has steps, a calculation adds up errors."""
LEAST = {
    "V": 0.6,
    "inWC": 0.3,
    "uA": 0.2,
    "ohm": 0.4,
    "degF": 3.0,
    "percent": 2.0,
    "ppm": 10.0,
    "min": 2.0,
    "mV": 0.3,
    "kg": 0.3,
    "mm": 0.02,
}


def worker(model: str, number: int = 3) -> Searcher:
    """A technician at a sound heater of the model."""
    names = [name for name in sources() if _fits(name, model)]
    figures = [
        Figure(id=f"f{k}", label=name, source=name, unit=unit_of(name), share=0.1)
        for k, name in enumerate(names)
    ]
    weights = {"safe-working": 25, "evidence": 25, "diagnosis": 20, "remedy": 15, "figures": 15}
    lab = Lab(
        id="all",
        title="All",
        level=1,
        minutes=60,
        models=(model,),
        faults=("no-fault",),
        weights=weights,
        figure=tuple(figures),
    )
    return Searcher(Bench(lesson_order(model=model, number=number)), lab)


def _fits(source: str, model: str) -> bool:
    """Whether a source can be computed on a model: it has the parts."""
    case = lesson_order(model=model).case()
    unit = make_unit(case.model)
    kinds = {record.type for record in case.model.parts.values()}
    needs = {
        "mains": "element", "supply": "mains supply", "element": "element", "plate": "element", "battery": "battery",
        "board": "control board", "volts": "control board", "valve": "control board", "flame": "flame sensor",
        "gas": "gas cylinder", "heat": "gas orifice", "orifice": "gas orifice", "oxygen": "burner", "carbon": "burner",
        "stack": "burner", "combustion": "burner", "hot": "house taps", "mixed": "house taps", "relief": "relief valve",
        "hardness": "cold inlet", "anode": "anode", "years": "anode", "thermocouple": "thermocouple",
    }  # fmt: skip
    word = source.split()[0]
    if source == "water pressure":
        return "cold inlet" in kinds
    if source.startswith(("minutes to warm", "water when")):
        return ("element" if "mains" in source else "control board") in kinds and bool(unit.batch)
    return needs.get(word, "tank") in kinds and way_to(source).situation != DECIDED


@pytest.mark.parametrize("model", ["plover_12", "heron_6", "dipper_6"])
def test_measured_as_computed(model: str) -> None:
    """On a sound heater, does the way to each figure give what its source computes, within instruments' errors?"""
    me = worker(model)
    case = me.bench.order.case()
    found = as_found(case)
    me.do("look")
    me.take_figures(fresh=True)
    me.take_the_rest()
    wrong: dict[str, Any] = {}
    for figure in me.lab.figure:
        true = truth(case, figure.source, found)
        said = read_measure(figure.label, me.figures[figure.id], figure.unit)
        slack = (
            max(SHARES.get(figure.source, 0.05) * abs(true.high), LEAST.get(figure.unit, 0.1))
            if math.isfinite(true.high)
            else 0.0
        )
        good = (
            said.open
            if true.is_open
            else said.value is not None and true.low - slack <= said.value <= true.high + slack
        )
        if not good:
            wrong[figure.source] = (me.figures[figure.id], true)
    assert not wrong


def test_heat_input_as_the_orifice_table_says() -> None:
    """Does a heater with a number 62 drill take in what the published table of propane orifices gives, at its pressure?"""
    case = lesson_order(model="plover_12", number=3).case()
    pressure = truth(case, "gas pressure under load").low
    table = dict(zip(row("gas", "orifice-input").at or [], row("gas", "orifice-input").value, strict=True))  # type: ignore[arg-type]
    expected = float(table[62]) * math.sqrt(pressure / 11.0)
    assert truth(case, "heat input").low == pytest.approx(expected, rel=0.05)


def test_millivolts_of_a_pilot_as_published() -> None:
    """On a sound standing pilot: 20 to 30 mV alone (published), under load less, yet above where the magnet lets go?

    And on a heater without one, and of a board's figures on a heater without a board: nothing to measure?
    """
    case = lesson_order(model="dipper_6", number=3).case()
    low, high = row("ignition_extra", "pilot-thermocouple-open").value  # type: ignore[misc]
    alone, across = (truth(case, f"thermocouple millivolts {where}") for where in ("open", "at the magnet"))
    assert float(low) <= alone.low == alone.high <= float(high)
    assert float(row("ignition_extra", "pilot-thermocouple-drop-out").value) < across.low < alone.low  # type: ignore[arg-type]
    other = lesson_order(model="plover_12", number=3).case()
    assert truth(other, "thermocouple millivolts open").is_open
    assert truth(case, "flame microamps").is_open and truth(case, "valve volts under call").is_open


def test_minutes_to_warm_as_the_rule_of_thumb_says() -> None:
    """8.33 BTU a gallon and degree (published) over the element's watts: is the computed time that, and a little for losses?"""
    case = lesson_order(model="heron_6", number=3).case()
    watts = truth(case, "plate power at the measured voltage").high
    gallons = load_model("heron_6").number("plate.capacity", case.model.plate.capacity, "gal")
    pounds = float(row("water", "heat-ten-gallons").value) / 80.0 / 10.0  # type: ignore[arg-type]
    simple = pounds * gallons * 40.0 / (watts * 3600 / 1055.056) * 60.0
    found = truth(case, "minutes to warm by 40 degF on mains")
    assert simple < found.low < 1.25 * simple


def test_mixed_water_balances() -> None:
    """Hot and cold water mixed: does the heat that goes in come out? (Mixing rule: hot share times rise is the mix's rise.)"""
    gallons = mixed_gallons(10.0, 60.0, 10.0)
    assert gallons * (40.6 - 10.0) == pytest.approx(10.0 * (60.0 - 10.0))
    assert mixed_gallons(10.0, 5.0, 10.0) == 0.0


@pytest.mark.parametrize("name", sources())
def test_every_source_has_a_way_and_a_unit_that_can_be_read(name: str) -> None:
    """Can an answer in the source's own unit be read, and "none" or "open" where there is nothing to measure?"""
    unit = unit_of(name)
    assert read_measure(name, f"12.3 {unit}", unit).value == pytest.approx(12.3)
    assert read_measure(name, "open" if unit == "ohm" else "none", unit).open
    assert callable(way_to(name).get)


@pytest.mark.parametrize(
    ("text", "unit", "value"),
    [
        ("27.4 mbar", "inWC", 11.0), ("10.8 in. WC", "inWC", 10.8), ("60 °C", "degF", 140.0), ("140 F", "degC", 60.0),
        ("3.4 kW", "BTU_per_hour", 11601.0), ("$120", "USD", 120.0), ("120 dollars", "USD", 120.0), ("300 kPa", "psi", 43.51),
        ("2 h", "min", 120.0), ("171.18 mg/L", "gpg", 10.0), ("3.6 µA", "uA", 3.6), ("1,5 V", "V", None),
    ],
)  # fmt: skip
def test_units_are_respected(text: str, unit: str, value: float | None) -> None:
    """Is a figure in another usual unit turned into the one that is asked for? (Factors: NIST SP 811; 1 gpg = 17.118 mg/L.)"""
    if value is None:
        with pytest.raises(Exception, match="point for decimals"):
            read_measure("x", text, unit)
    else:
        assert read_measure("x", text, unit).value == pytest.approx(value, rel=2e-3)


def test_a_way_that_ends_in_nothing() -> None:
    """With nothing to measure, does the technician write "none" instead of giving up?"""
    me = worker("heron_6")

    def nothing(_: Any) -> str:
        raise BenchError("There is nothing.")

    way = way_to("supply hot to neutral")
    assert (
        me._got(type(way)(way.situation, nothing), "V") == "none"
        and me._got(type(way)(0, nothing), "ohm") == "open"
    )
