"""Is the catalogue whole, is a bad entry refused, and does each remedy undo its fault?"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given

from tankside.case import HEALTHY, SYMPTOMS, Case, draw_case, variants
from tankside.errors import DataFileError, UnknownNameError
from tankside.faults.catalogue import (
    fault_named,
    faults,
    read_catalogue,
    remedies,
    remedies_for,
    remedy_named,
)
from tankside.faults.complaints import wordings
from tankside.faults.effects import cure, level, put_in
from tankside.heater import plumbing
from tankside.heater.model import load_model, model_names
from tankside.heater.simulation import advance, energise
from tankside.heater.unit import Unit, make_unit
from tankside.scoring import cures
from tests.strategies import faulty_heaters, fitting_faults

GOOD = """
[[remedy]]
id = "replace-element"
name = "Replace the element"
renews = ["element.*"]
minutes = 45
parts_cost = 38

[[fault]]
id = "element-low"
name = "element shorted"
place = "element"
remedy = "replace-element"
hazard = "Heat."
how = "Turns touch."
mistaken_for = []
[[fault.effect]]
on = "element.resistance"
change = "times"
low = 0.78
high = 0.45
"""
BAD = {
    "no such parameter": ('on = "element.resistance"', 'on = "element.resistanse"', "effect[0].on"),
    "no such type": ('on = "element.resistance"', 'on = "elephant.resistance"', "effect[0].on"),
    "below its range": ('change = "times"\nlow = 0.78', 'change = "set"\nlow = -4', "effect[0].low"),
    "factor of nothing": ("low = 0.78", "low = 0.0", "effect[0].low"),
    "unknown change": ('change = "times"', 'change = "halve"', "effect.0.change"),
    "nan": ("low = 0.78", "low = nan", "effect.0.low"),
    "log of nothing": ("high = 0.45", 'high = 0.0\nscale = "log"', "effect.0"),
    "unknown remedy": ('remedy = "replace-element"', 'remedy = "pray"', "element-low.remedy"),
    "mistaken for nothing": ("mistaken_for = []", 'mistaken_for = ["gremlins"]', "element-low.mistaken_for"),
    "no effect": ("[[fault.effect]]", "[[fault.effects]]", "fault.0"),
    "remedy that renews nothing": (
        'renews = ["element.*"]',
        'renews = ["elephant.*"]',
        "remedy[0].renews[0]",
    ),
    "remedy without minutes": ("minutes = 45", "minutes = 0", "remedy.0.minutes"),
    "bad id": ('id = "element-low"', 'id = "Element low"', "fault.0.id"),
    "the same twice": ("[[fault]]", GOOD + "[[fault]]", "remedy[1].id"),
}


@pytest.mark.parametrize("what", BAD)
def test_bad_entries(what: str, tmp_path: Path) -> None:
    """Does a bad fault or remedy become one sentence with its key?"""
    old, new, key = BAD[what]
    assert old in GOOD
    file = tmp_path / "harbour.toml"
    file.write_text(GOOD.replace(old, new, 1), encoding="utf-8")
    with pytest.raises(DataFileError) as caught:
        read_catalogue([file])
    assert key in caught.value.key
    assert "\n" not in str(caught.value)


def test_good_entries(tmp_path: Path) -> None:
    """Is the file that the bad ones are made from a good one?"""
    (tmp_path / "harbour.toml").write_text(GOOD, encoding="utf-8")
    found, cures_ = read_catalogue([tmp_path / "harbour.toml"])
    assert set(found) == {"element-low"} and set(cures_) == {"replace-element"}


def test_a_part_named_in_the_catalogue_has_what_is_changed() -> None:
    """Does every effect and every remedy fit every model that it applies to?"""
    for name in model_names():
        model = load_model(name)
        for fault in faults().values():
            fault.applies_to(model)


def test_unknown_names_are_told() -> None:
    """Does a wrong name get the right one suggested?"""
    with pytest.raises(UnknownNameError, match="Did you mean 'element-open'"):
        fault_named("element-opened")
    with pytest.raises(UnknownNameError, match="There are"):
        remedy_named("x" * 100_000)


def healthy_case(name: str, severity: float, model: str) -> Case:
    return Case(load_model(model), {}, {}, fault_named(name), severity)


@pytest.mark.parametrize("model", model_names())
def test_a_remedy_takes_its_fault_away(model: str) -> None:
    """For every fault at any severity: does its own remedy bring back every number of the healthy heater?"""
    found = load_model(model)
    for name in fitting_faults(found):
        for severity in (0.0, 0.37, 1.0):
            healthy = make_unit(found)
            unit = healthy.copy()
            put_in(unit, faults()[name], severity)
            changed = [key for key in unit.values if unit[key][0] != healthy[key][0]]
            assert changed or name == "no-fault", name
            cure(
                unit,
                remedies()[faults()[name].remedy],
                {key: float(v[0]) for key, v in healthy.values.items()},
            )
            left = {
                key: (unit[key][0], healthy[key][0]) for key in changed if unit[key][0] != healthy[key][0]
            }
            assert not left, name


def test_a_cured_heater_heats_again() -> None:
    """For every fault, on a model that can have it: does the heater, with its remedy carried out, heat when it is run?"""
    for fault in faults().values():
        model = next(name for name in model_names() if fault.applies_to(load_model(name)))
        assert cures(healthy_case(fault.id, 0.37, model), fault.remedy), (fault.id, model)


def test_remedies_that_cure_nothing() -> None:
    """Does a remedy for another part leave the fault in?"""
    assert not cures(healthy_case("element-open", 0.5, "heron_6"), "replace-thermostat")
    assert not cures(healthy_case("breaker-off", 0.5, "heron_6"), "switch-on")
    assert cures(
        healthy_case("limit-tripped", 0.5, "heron_6"), "replace-thermostat"
    )  # it replaces the limit too


@given(faulty_heaters())
def test_faults_touch_parameters_only(drawn: tuple[Unit, str, float]) -> None:
    """Does a fault leave every number that it doesn't name as it was, and give only numbers that are possible?"""
    unit, name, _ = drawn
    named = {effect.on.rpartition(".")[2] for effect in faults()[name].effect}
    clean = make_unit(unit.model)
    for key, value in unit.values.items():
        assert np.isfinite(value).all()
        part, _, parameter = key.rpartition(".")
        if part in unit.model.types and parameter in unit.model.types[part].parameters and parameter in named:
            limits = unit.model.types[part].parameters[parameter]
            assert limits.low <= value[0] <= limits.high
    assert set(unit.values) == set(clean.values)


def test_severity_is_monotonic() -> None:
    """Does more severity always push a number further the same way?"""
    steps = np.linspace(0, 1, 21)
    for fault in faults().values():
        for effect in fault.effect:
            numbers = level(effect, steps)
            assert (np.diff(numbers) * np.sign(effect.high - effect.low) >= 0).all()
            assert numbers[0] == pytest.approx(effect.low) and numbers[-1] == pytest.approx(effect.high)


def test_variants_hold_every_fault_and_the_healthy_heater() -> None:
    """Is each fault of a scope tried over the whole of its severities, beside the true unit and the healthy one?"""
    case = Case(load_model("heron_6"), {}, {}, fault_named("element-wrong"), 0.4321)
    scope = fitting_faults(case.model)
    found = variants(case, scope)
    assert found.fault_of[0] == -1 and found.fault_of[-1] == HEALTHY
    assert set(found.fault_of[1:-1]) == set(range(len(scope)))
    ohms = found.unit["element.resistance"]
    mine = found.fault_of == list(found.names).index("element-wrong")
    assert ohms[0] in ohms[mine]
    assert ohms[-1] == case.model.nominal["element.resistance"]
    assert ohms[mine].min() == pytest.approx(13.5) and ohms[mine].max() == pytest.approx(22.0)


def test_every_symptom_has_its_words() -> None:
    """On every model, does each symptom that some fault shows there have several complaints that speak of that heater?"""
    for name in model_names():
        model = load_model(name)
        scope = [fault.id for fault in faults().values() if fault.applies_to(model)]
        found = variants(draw_case(name, scope, "5e" * 16), scope)
        for index in sorted(set(found.unit["seen.symptom"].astype(int))):
            assert len(wordings(SYMPTOMS[index], model)) >= 2, (name, SYMPTOMS[index])


def test_owners_speak_of_what_the_heater_has() -> None:
    """Is a heater without a burner never complained of for its gas, nor one without an anode for its anode?"""
    mains_only = load_model("heron_6")
    for symptom in SYMPTOMS:
        for said in wordings(symptom, mains_only):
            assert not any(word in said.text.lower() for word in (" gas", "flame", "burner", "anode")), (
                said.text
            )


@pytest.mark.parametrize("name", [n for n in model_names() if load_model(n).of_type("air cushion")])
def test_a_new_cushion_starts_at_the_inlets_pressure(name: str) -> None:
    """Once air is back in a hot tank that ran without, does it stand at the inlet's pressure?"""
    unit = make_unit(load_model(name))
    healthy = {key: float(value[0]) for key, value in unit.values.items()}
    put_in(unit, faults()["cushion-lost"], 1.0)
    advance(unit, 60.0)
    cure(unit, remedies()["restore-air-cushion"], healthy)
    energise(unit)
    (inlet,) = load_model(name).of_type("cold inlet")
    assert plumbing.pressure(unit) == pytest.approx(unit[f"{inlet}.pressure"], rel=1e-6)
    assert unit["cushion.volume"] == healthy["cushion.volume"]


@pytest.mark.parametrize("name", model_names())
def test_what_can_be_done_on_a_heater(name: str) -> None:
    """Is every fault's remedy offered, and none for a part that the heater hasn't got?"""
    model = load_model(name)
    offered = {remedy.id for remedy in remedies_for(model)}
    assert {fault.remedy for fault in faults().values() if fault.applies_to(model)} <= offered
    assert ("replace-12v-thermostat" in offered) == bool(model.of_type("12 V thermostat"))
    assert ("replace-pilot-valve" in offered) == bool(model.of_type("pilot gas valve"))
    assert ("replace-element" in offered) == bool(model.of_type("element"))


def test_owners_speak_of_what_may_be_wrong() -> None:
    """In a gas lab, does nobody who noticed nothing speak of the electric side? Are places named as the faults name them?"""
    both_sides = load_model("plover_12")
    gas_faults = ("orifice-blocked", "tube-web", "no-fault")
    told = wordings("normal", both_sides, gas_faults)
    assert told and not any("electric" in said.text or "mains" in said.text for said in told)
    assert any("mains" in said.text for said in wordings("normal", both_sides, ("element-open",)))
    assert wordings("tingles", both_sides, gas_faults) == wordings("tingles", both_sides)
    places = {fault.place for fault in faults().values()}
    for symptom in SYMPTOMS:
        assert all(set(said.about) <= places for said in wordings(symptom, both_sides)), symptom
