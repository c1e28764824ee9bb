"""Can every side of a heater be worked: by the reference technician at full marks, and by the kinds in their order?"""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from tankside.bench.replay import replay
from tankside.bench.rules import RULES
from tankside.dispatch import make_order
from tankside.labs import Lab
from tankside.labs.lab import Figure
from tankside.report import build_report
from tankside.scoring import left_undone, score
from tankside_autograder import check_labs
from tankside_autograder.check_labs import figures_of, lost, out_of_order, work
from tankside_autograder.reference import solve
from tankside_autograder.safe_hands import PREPARES

WEIGHTS = {"safe-working": 25, "evidence": 25, "diagnosis": 20, "remedy": 15, "figures": 15}
NEVER = {"board-overvoltage", "bridged-safety", "plugged-relief", "flame-search", "relit-over-limit"}
"""What no preparation makes right."""


def lab_of(model: str, faults: str, figures: str) -> Lab:
    """A small lab: faults by id, figures as "source, unit, share, least"."""
    rows = [line.rsplit(",", 3) for line in figures.split(";")]
    asked = [
        Figure(
            id=f"f{k}",
            label=source.strip(),
            source=source.strip(),
            unit=unit.strip(),
            share=float(share),
            least=float(least),
        )
        for k, (source, unit, share, least) in enumerate(rows)
    ]
    return Lab(
        id="small", title="A small lab", level=2, minutes=60, models=(model,), faults=tuple(faults.split()),
        weights=WEIGHTS, least_suspects=1, figure=tuple(asked),
    )  # fmt: skip


LABS = {
    "12 V side": lab_of(
        "teal_10",
        "dc-link-bar-burnt ground-corroded connector-corroded fuse-blown dc-thermostat-stuck-open",
        "board volts under call, V, 0.03, 0.1; volts lost on the ground under call, V, 0.05, 0.05; repair quote, USD, 0.01, 1",
    ),
    "ignition": lab_of(
        "teal_10", "rod-fouled gap-wide hv-lead-broken board-dead sense-lead-open", "flame microamps, uA, 0.1, 0.2"
    ),
    "pilot": lab_of(
        "dipper_6",
        "thermocouple-weak pilot-blocked standing-pilot-out pilot-knob-off",
        "minutes to warm by 40 degF on gas, min, 0.1, 1; thermocouple millivolts open, mV, 0.05, 0.3; "
        "thermocouple millivolts at the magnet, mV, 0.05, 0.3; flame microamps, uA, 0.05, 0.1; valve volts under call, V, 0.03, 0.2",
    ),
    "gas": lab_of(
        "smew_10",
        "regulator-low hose-leaks cylinder-empty gas-cock-half-shut union-leaks",
        "gas pressure at rest, inWC, 0.05, 0.3; gas pressure under load, inWC, 0.05, 0.3; heat input, BTU_per_hour, 0.08, 0",
    ),
    "flame": lab_of(
        "smew_10",
        "shutter-open baffle-missing orifice-too-small flue-sooted tube-web",
        "oxygen in the flue, percent, 0.05, 0.5; carbon monoxide air-free, ppm, 0.1, 15; stack temperature, degF, 0.05, 10",
    ),
    "water": lab_of(
        "grebe_12",
        "relief-opens-early cushion-lost mixing-tap-crosses bypass-half-open relief-weeps",
        "hot tap temperature, degF, 0.02, 2; mixed water from a tank, gal, 0.08, 0.5; water pressure, psi, 0.05, 1",
    ),
    "anode": lab_of(
        "grebe_12",
        "anode-used-up anode-missing anode-zinc anode-insulated tank-perforated",
        "anode left, percent, 0.1, 10; anode current, mA, 0.5, 1; years of anode left, years, 0.5, 0.5; hardness, gpg, 0.1, 0.5",
    ),
}  # fmt: skip


@pytest.mark.parametrize("side", LABS)
@pytest.mark.parametrize("number", [1, 2])
def test_full_marks(side: str, number: int) -> None:
    """Does the reference technician work it safely, to the end, with nothing left undone, for all points?"""
    lab = LABS[side]
    order = make_order(lab, None, f"{number:032x}", date(2026, 1, 1))
    lines, answers = solve(order, lab)
    report, problems = build_report(lab, answers)
    marks = score(order, report, lines, lab)
    assert not problems and not marks.findings and not lost(marks), (
        order.case().fault.id,
        problems,
        lost(marks),
    )
    done = replay(order, lines)
    assert done.broke == [] and done.state is not None and left_undone(done.state) == []
    assert done.state.operated and not done.state.gas.opened & {"cylinder", "hose", "gas_cock"}


def test_a_board_in_lockout_is_started_again() -> None:
    """The cylinder was shut and the board has locked out: after opening it, is the switch turned off and on, and a flame seen?"""
    lab = lab_of("pintail_10", "cylinder-valve-shut rod-fouled", "flame microamps, uA, 0.1, 0.2")
    orders = (make_order(lab, None, f"{number:032x}", date(2026, 1, 1)) for number in range(1, 30))
    order = next(o for o in orders if o.case().fault.id == "cylinder-valve-shut")
    lines, answers = solve(order, lab)
    marks = score(order, build_report(lab, answers)[0], lines, lab)
    assert not lost(marks), lost(marks)


@pytest.mark.parametrize(("side", "number"), [("ignition", 1), ("gas", 2), ("anode", 1)])
def test_the_kinds_come_in_order(side: str, number: int) -> None:
    """Expert, beginner, anxious one; below them the part-swapper, the guesser and the unsafe one, who doesn't pass?"""
    worked = work(LABS[side], number)
    assert len(worked.kinds) == 6 and worked.wrong == []


def test_the_order_of_marks_can_be_wrong() -> None:
    """Is a guesser above a careful learner, or a slow one above, said in words?"""
    good = {
        "brilliant": 100.0,
        "careful": 99.0,
        "slow": 95.0,
        "part-swapper": 40.0,
        "guesser": 20.0,
        "unsafe": 70.0,
    }
    assert out_of_order(good) == []
    assert (
        len(out_of_order({**good, "guesser": 96.0})) == 1 and len(out_of_order({**good, "slow": 99.6})) == 1
    )


def test_every_rule_is_prepared_for_or_never_done() -> None:
    """Does a technician know, for each safety rule, what to do first, or that the act is never done?"""
    assert set(PREPARES) | NEVER == set(RULES) and not set(PREPARES) & NEVER


def test_check_labs_on_a_data_file(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Can a lab's author try a file before it is in its place, and is a wrong figure source named?"""
    text = """
id = "mine"
title = "Mine"
level = 1
minutes = 60
models = ["heron_6"]
faults = ["breaker-off", "supply-low", "heater-switch-off"]
least_suspects = 1
[weights]
safe-working = 25
evidence = 25
diagnosis = 20
remedy = 15
figures = 15
[[figure]]
id = "volts"
label = "volts at the outlet"
source = "supply hot to neutral"
unit = "V"
share = 0.02
least = 1.0
"""
    file = tmp_path / "mine.toml"
    file.write_text(text, encoding="utf-8")
    assert check_labs.main([str(file), "--orders", "2", "--seeds", "300", "--kinds", "0"]) == 0
    assert "different orders in 300 seeds" in capsys.readouterr().out
    file.write_text(text.replace("hot to neutral", "hot to nothing"), encoding="utf-8")
    assert check_labs.main([str(file), "--orders", "1"]) == 1
    assert "no figure source is called 'supply hot to nothing'" in capsys.readouterr().out
    lab = LABS["gas"]
    wrong = lab.figure[0].model_copy(update={"unit": "psi"})
    assert "computed in 'inWC'" in figures_of(lab.model_copy(update={"figure": (wrong,)}))[0]
