"""Do marks hang on what was done and written alone: not on units, not on names, not on the order of things in the data?"""

from __future__ import annotations

import random
import re
import tomllib
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import tankside.case
from tankside.bench import Bench
from tankside.case import Case, as_found
from tankside.faults.catalogue import faults
from tankside.figures import truth
from tankside.heater.model import MODELS, HeaterModel, ModelFile, load_model
from tankside.labs import Figure, lab_ids, load_lab
from tankside.measures import SYSTEMS, choose
from tankside.report import ServiceReport, read_measure
from tankside.scoring import Marks, score
from tankside.scoring.figures import figures
from tankside.units import quantity
from tankside.workorder import WorkOrder
from tests.orders import CONNECT, SAFE, do_all, log_of, order_hiding
from tests.strategies import Step

ORDER = order_hiding("element-wrong")
LAB = load_lab("lab03")
WORK: list[Step] = [
    ("prove meter", {}), ("probe", {"red": "supply.hot", "black": "supply.neutral"}), *SAFE,
    ("lift lead", {"wire": "W10"}), ("lift lead", {"wire": "W11"}), ("meter", {"function": "Ω"}), ("zero leads", {}),
    ("probe", {"red": "element.1", "black": "element.2"}), ("probe", {"red": "element.1", "black": "tank.shell"}),
    ("run tap", {"minutes": 20}), ("drain", {}), ("repair", {"remedy": "replace-element"}),
    ("land lead", {"wire": "W10"}), ("land lead", {"wire": "W11"}), ("fill", {}), *CONNECT, ("prove operation", {}),
]  # fmt: skip
SAID = ServiceReport(
    figures={"plate-resistance": "10 ohm", "element-resistance": "21 ohm", "element-to-ground": "open"},
    diagnosis="element-wrong", evidence=(3, 16, 17), remedy="replace-element", condition="in service",
)  # fmt: skip

UNITS: dict[str, tuple[tuple[str, str], ...]] = {
    # A figure's unit -> how else it may be written, and what pint calls that.
    "V": (("V", "V"), ("mV", "mV"), ("kV", "kV"), ("volts", "V")),
    "mV": (("mV", "mV"), ("V", "V")),
    "A": (("A", "A"), ("mA", "mA"), ("amps", "A")),
    "mA": (("mA", "mA"), ("A", "A")),
    "uA": (("µA", "uA"), ("uA", "uA"), ("mA", "mA")),
    "W": (("W", "W"), ("kW", "kW"), ("watts", "W")),
    "ohm": (("ohm", "ohm"), ("kohm", "kohm"), ("Ω", "ohm"), ("kΩ", "kohm"), ("MΩ", "Mohm")),
    "degF": (("°F", "degF"), ("°C", "degC"), ("degC", "degC")),
    "degC": (("°C", "degC"), ("°F", "degF")),
    "inWC": (("inWC", "inWC"), ("in. WC", "inWC"), ("mbar", "mbar"), ("kPa", "kPa"), ("Pa", "Pa")),
    "psi": (("psi", "psi"), ("kPa", "kPa"), ("bar", "bar")),
    "BTU_per_hour": (("BTU/h", "BTU_per_hour"), ("kW", "kW"), ("W", "W")),
    "mm": (("mm", "mm"), ("in", "inch")),
    "kg": (("kg", "kg"), ("lb", "pound"), ("g", "g")),
    "gal": (("gal", "gallon"), ("L", "liter")),
    "gpm": (("gpm", "gpm"), ("L/min", "liter/minute")),
    "gpg": (("gpg", "gpg"), ("mg/L", "mg/liter")),
    "min": (("min", "min"), ("h", "hour")),
}


@given(st.sampled_from(sorted(UNITS)), st.floats(0.01, 5000), st.data())
@settings(max_examples=80)
def test_the_unit_of_an_answer(unit: str, value: float, data: st.DataObject) -> None:
    """Is a value read as the same amount in whatever unit of its kind it is written? Conversions: pint's."""
    written, known = data.draw(st.sampled_from(UNITS[unit]))
    given_as = quantity(value, unit).to(known).magnitude
    found = read_measure("figure", f"{given_as:.12g} {written}", unit)
    assert found.value == pytest.approx(value, rel=1e-5, abs=1e-9)


FIGURES = [(lab_id, figure.id) for lab_id in lab_ids() for figure in load_lab(lab_id).figure]


@pytest.mark.parametrize(("lab_id", "figure_id"), FIGURES, ids=["-".join(pair) for pair in FIGURES])
def test_the_unit_changes_no_mark(lab_id: str, figure_id: str) -> None:
    """For every figure of every lab: within its tolerance right in every unit, outside it wrong in every unit?"""
    lab = load_lab(lab_id)
    figure = next(f for f in lab.figure if f.id == figure_id)
    cases = (_case(lab.faults, model, n) for n in range(40) for model in lab.models)
    case = next(case for case in cases if _number(case, figure))
    found, true = as_found(case), truth(case, figure.source)
    slack = max(figure.share * max(abs(true.low), abs(true.high)), figure.least)
    for value, right in ((true.high + 0.9 * slack, True), (true.high + 1.2 * slack + 1e-6, False)):
        for written, known in UNITS.get(figure.unit, ((figure.unit, ""),)):
            number = quantity(value, figure.unit).to(known).magnitude if known else value
            said = ServiceReport(figures={figure.id: f"{number:.12g} {written}"})
            only = lab.model_copy(update={"figure": (figure,)})
            assert (figures(only, case, said, found).points > 0) is right, (written, number)


def _case(scope: tuple[str, ...], model: str, number: int) -> Case:
    return tankside.case.draw_case(model, scope, f"{number:032x}")


def _number(case: Case, figure: Figure) -> bool:
    true = truth(case, figure.source)
    return not true.is_open and 0 < true.low <= true.high < 1e9


def marks_of(order: WorkOrder, steps: list[Step], said: ServiceReport = SAID) -> Marks:
    bench = Bench(order)
    assert not do_all(bench, steps)
    return score(order, said, log_of(bench), LAB)


def same(one: Marks, two: Marks) -> None:
    """The same points, part by part, and the same faults left."""
    assert [part.points for part in one.parts] == [part.points for part in two.parts]
    assert set(one.candidates) == set(two.candidates) and one.unsafe == two.unsafe
    assert [row["left"] for row in one.path] == [row["left"] for row in two.path]


MARKS = marks_of(ORDER, WORK)
CASE = ORDER.case()


def test_the_work_is_worth_something() -> None:
    """Is the work that the others compare marked in every part?"""
    assert all(part.points > 0 for part in MARKS.parts) and MARKS.candidates == ("element-wrong",)


def _model(content: dict[str, Any], name: str) -> HeaterModel:
    return HeaterModel(name, Path(f"{name}.toml"), ModelFile.model_validate(content))


@given(st.randoms(use_true_random=False))
@settings(max_examples=5)
def test_the_order_of_the_data(draw: random.Random) -> None:
    """With a model's places, parts, wires and cables, and the faults in scope, in another order: the same marks?"""
    content = tomllib.loads((MODELS / "heron_6.toml").read_text(encoding="utf-8"))
    for rows in content.values():
        if isinstance(rows, list):
            draw.shuffle(rows)
    scope = list(ORDER.scope)
    draw.shuffle(scope)
    shuffled = _with(CASE, _model(content, "heron_6"))
    order = ORDER.model_copy(update={"scope": tuple(scope)})
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(WorkOrder, "case", lambda _order: shuffled)
        same(marks_of(order, WORK), MARKS)


@given(st.randoms(use_true_random=False))
@settings(max_examples=5)
def test_the_names_of_wires_and_places(draw: random.Random) -> None:
    """With wires and places under other names, in the data and in the log: the same marks?"""
    text = (MODELS / "heron_6.toml").read_text(encoding="utf-8")
    named = {
        re.match(r"[^.]*", key.on[1:]).group(0)
        for f in faults().values()
        for key in f.effect
        if key.on[0] == "@"
    }  # type: ignore[union-attr]
    model = load_model("heron_6")
    free = [name for name in (*model.wires, *model.places) if name not in named and name not in model.parts]
    new = [f"{draw.choice('abcxyz')}{n}" for n in range(len(free))]
    draw.shuffle(new)
    names = dict(zip(free, new, strict=True))

    def renamed(value: Any) -> Any:
        if isinstance(value, str):
            return names.get(value, value)
        if isinstance(value, list):
            return [renamed(item) for item in value]
        return {key: renamed(item) for key, item in value.items()} if isinstance(value, dict) else value

    other = _with(CASE, _model(renamed(tomllib.loads(text)), "heron_6"))
    steps = [(verb, {key: renamed(value) for key, value in args.items()}) for verb, args in WORK]
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(WorkOrder, "case", lambda _order: other)
        same(marks_of(ORDER, steps), MARKS)


@given(st.randoms(use_true_random=False))
@settings(max_examples=5)
def test_the_names_of_parts(draw: random.Random) -> None:
    """With every part under another name, in the data, in the log, and on the plate in words: the same marks?"""
    content = tomllib.loads((MODELS / "heron_6.toml").read_text(encoding="utf-8"))
    ids = [
        row["id"] for row in content["part"] if row["type"] != "tank"
    ]  # there is one tank, and it is called so
    new = [f"{draw.choice('abcxyz')}{n}" for n in range(len(ids))]
    draw.shuffle(new)
    names = dict(zip(ids, new, strict=True))

    def renamed(value: Any) -> Any:
        if isinstance(value, str):
            part, dot, end = value.partition(".")
            return f"{names[part]}{dot}{end}" if part in names else value
        if isinstance(value, list):
            return [renamed(item) for item in value]
        return (
            {renamed(key): renamed(item) for key, item in value.items()} if isinstance(value, dict) else value
        )

    ours = ("wire", "cable", "part", "spread")
    data = {key: renamed(rows) if key in ours else rows for key, rows in content.items()}
    for rows, old in zip(data["part"], content["part"], strict=True):
        rows.update(type=old["type"], place=old["place"], name=f"what {draw.choice('abcxyz')} calls it")
    model = _model(data, "heron_6")
    own = {renamed(key): value for key, value in CASE.own.items()}
    assert set(own) <= set(model.nominal) and set(own) != set(CASE.own)
    steps = [(verb, {key: renamed(value) for key, value in args.items()}) for verb, args in WORK]
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(WorkOrder, "case", lambda _order: replace(CASE, model=model, own=own))
        same(marks_of(ORDER, steps), MARKS)


@pytest.mark.parametrize("system", SYSTEMS)
def test_the_chosen_measures(system: str, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """Whichever units the learner reads in, and whichever the grader's machine is set to: the same marks and reasons?"""
    monkeypatch.setenv("TANKSIDE_HOME", str(tmp_path))
    choose(system)
    bench = Bench(ORDER)
    assert not do_all(bench, WORK)
    for graders in SYSTEMS:
        choose(graders)
        marks = score(ORDER, SAID, log_of(bench), LAB)
        same(marks, MARKS)
        assert not marks.findings and marks.total == MARKS.total


def _with(case: Case, model: HeaterModel) -> Case:
    """The same case on another model's data; figures of single wires go by their new names."""
    own = {key: value for key, value in case.own.items() if key in model.nominal}
    assert len(own) == len(case.own), "the model's own figures are all of parts, not of wires"
    return replace(case, model=model, own=own)
