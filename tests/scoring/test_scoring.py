"""Are marks fair: the better worker above the worse, danger fails, and nothing that is written breaks the marking?"""

from __future__ import annotations

import json
import math
from collections.abc import Sequence

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tankside.bench import Bench
from tankside.bench.rules import RULES
from tankside.faults.catalogue import faults, remedies
from tankside.heater.model import load_model
from tankside.labs import PARTS, lab_ids, load_lab
from tankside.practice import lesson_order
from tankside.report import CONDITIONS, ServiceReport, build_report
from tankside.scoring import Marks, figures, narrowing_lines, score
from tankside.scoring.readings import repaired
from tankside.workorder import WorkOrder
from tests.orders import CONNECT, SAFE, do_all, log_of, order_hiding
from tests.strategies import Step

LAB = load_lab("lab03")
ORDER = order_hiding("element-wrong")
COVERS_ON: list[Step] = [("close cover", {"place": p}) for p in ("panel", "junction-box", "heater-front")]
LIFT: list[Step] = [("lift lead", {"wire": w}) for w in ("W10", "W11")]
LAND: list[Step] = [("land lead", {"wire": w}) for w in ("W10", "W11")]
MEASURE: list[Step] = [
    ("meter", {"function": "Ω"}), ("zero leads", {}), ("probe", {"red": "element.1", "black": "element.2"}),
    ("probe", {"red": "element.1", "black": "tank.shell"}),
]  # fmt: skip
REPAIR: list[Step] = [("run tap", {"minutes": 20}), ("drain", {}), ("repair", {"remedy": "replace-element"})]
GOOD: list[Step] = [
    ("prove meter", {}), ("probe", {"red": "supply.hot", "black": "supply.neutral"}), *SAFE, *LIFT, *MEASURE, *REPAIR,
    *LAND, ("fill", {}), *COVERS_ON, *CONNECT, ("prove operation", {}),
]  # fmt: skip
FIGURES = {"plate-resistance": "10 ohm", "element-resistance": "", "element-to-ground": "open"}


def work(steps: Sequence[Step], order: WorkOrder = ORDER) -> Bench:
    bench = Bench(order)
    assert not do_all(bench, steps)
    return bench


def measured(bench: Bench) -> dict[str, str]:
    """The figures, with the element's ohms from the log if it was measured."""
    shown = [e["result"]["reading"] for e in bench.entries if e["args"] == MEASURE[2][1]]
    return FIGURES | {"element-resistance": f"{shown[0]['digits']} ohm" if shown else "10 ohm"}


def report(bench: Bench, **changes: object) -> ServiceReport:
    """A good report on this log; anything in it can be changed."""
    marks = score(ORDER, ServiceReport(), log_of(bench))
    lines = tuple(
        row["seq"] for k, row in enumerate(marks.path) if k and row["left"] < marks.path[k - 1]["left"]
    )
    said: dict[str, object] = {
        "figures": measured(bench), "diagnosis": "element-wrong", "evidence": lines, "remedy": "replace-element",
        "condition": "in service",
    }  # fmt: skip
    return ServiceReport(**(said | changes))


FULL = work(GOOD)
PARTIAL = work(
    [("prove meter", {}), ("probe", {"red": "supply.hot", "black": "supply.neutral"}), ("look", {})]
)
NOTHING = work([])


def test_full_marks() -> None:
    """Does a careful technician with the right answers get everything, and pass?"""
    marks = score(ORDER, report(FULL), log_of(FULL))
    assert marks.total == marks.out_of == 100 and marks.passed
    assert marks.unsafe == marks.findings == () and marks.candidates == ("element-wrong",)


def test_order_of_learners() -> None:
    """Full work, right with part of the evidence, a lucky guess, wrong with evidence, wrong with none: in that order?"""
    kinds = {
        "full work": (FULL, report(FULL)),
        "right, partial evidence": (PARTIAL, report(PARTIAL, evidence=())),
        "lucky guess": (NOTHING, report(NOTHING, evidence=(), figures={})),
        "wrong guess": (
            NOTHING,
            report(NOTHING, diagnosis="breaker-off", remedy="reset-breaker", evidence=(), figures={}),
        ),
        "nothing": (NOTHING, ServiceReport()),
    }
    totals = {kind: score(ORDER, said, log_of(bench)).total for kind, (bench, said) in kinds.items()}
    assert list(totals.values()) == sorted(totals.values(), reverse=True)
    full, partial, lucky, wrong, nothing = totals.values()
    assert full > partial > lucky > wrong >= nothing == 0
    assert not any(score(ORDER, said, log_of(bench)).passed for bench, said in list(kinds.values())[2:])


def test_reasoning_counts_in_the_diagnosis() -> None:
    """For the same right answer: more marks the further the readings narrow it down, in each part that rests on them?"""
    steps = [0, 1, 2, len(GOOD) // 3, len(GOOD) - 12]
    points = []
    for count in steps:
        bench = work(GOOD[:count])
        marks = score(ORDER, report(bench), log_of(bench))
        points.append((marks.part("evidence").points, marks.part("diagnosis").points))
    assert points == sorted(points)
    assert points[0][0] == 0 < points[-1][0] and points[0][1] < points[-1][1]


def test_readings_against_the_answer() -> None:
    """With readings that rule the answer out: no marks for it, and a reason that names the line?"""
    marks = score(ORDER, report(FULL, diagnosis="thermostat-burnt-contact"), log_of(FULL))
    part = marks.part("diagnosis")
    assert part.points == 0
    assert any("rules that out" in reason.text or "noticed" in reason.text for reason in part.reasons)


DANGEROUS: dict[str, list[Step]] = {
    "bridged-safety": [("jumper", {"part": "high_limit"}), ("make safe", {}), ("switch", {"part": "supply", "position": "in"})],
    "hands-on-live": [
        ("run tap", {"minutes": 20}), ("open cover", {"place": "heater-front"}), ("lift lead", {"wire": "W10"}),
        ("make safe", {}), ("switch", {"part": "supply", "position": "in"}), ("close cover", {"place": "heater-front"}),
    ],
}  # fmt: skip


@pytest.mark.parametrize("rule", DANGEROUS)
def test_danger_fails(rule: str) -> None:
    """After a dangerous act, with everything else right: no marks for safe working, no pass, and the reason said?"""
    bench = work([*DANGEROUS[rule], *GOOD])
    marks = score(ORDER, report(bench), log_of(bench))
    assert marks.part("safe-working").points == 0 and not marks.passed
    assert marks.unsafe == (RULES[rule].name,)
    assert any(RULES[rule].instead in reason.text for reason in marks.part("safe-working").reasons)
    assert marks.total >= 60  # it is not the sum that fails it


def test_carelessness_costs() -> None:
    """Does each careless act cost something, the second of a kind less, and none of them everything?"""
    hasty = work([*SAFE[:6], *LIFT])
    marks = score(ORDER, ServiceReport(), log_of(hasty))
    reasons = [r for r in marks.part("safe-working").reasons if r.points < 0 and r.text.startswith("Line")]
    assert len(reasons) == 2 and reasons[0].points < reasons[1].points < 0
    assert 0 < marks.part("safe-working").points < 25


def test_work_left_undone_costs() -> None:
    """Do covers off, leads off, an empty tank and a lock left on each cost safe-working marks, with a sentence?"""
    bench = work(GOOD[: GOOD.index(REPAIR[2]) + 1])
    texts = [
        reason.text for reason in score(ORDER, report(bench), log_of(bench)).part("safe-working").reasons
    ]
    for words in ("cover is still off", "lead is still off", "tank was left empty", "lock is still on"):
        assert any(words in text for text in texts), words


def test_looking_on_is_no_safe_work() -> None:
    """Does a log of looking and waiting, in a lab that expects no action, earn nothing for safe working?"""
    assert not LAB.expects
    idle = work([("look", {}), ("meter", {"function": "Ω"}), ("zero leads", {}), ("wait", {"minutes": 5})])
    part = score(ORDER, report(idle), log_of(idle)).part("safe-working")
    assert part.points == 0 and "only looked" in part.reasons[0].text
    assert score(ORDER, report(PARTIAL), log_of(PARTIAL)).part("safe-working").points > 0


def test_another_fault_of_the_same_repair() -> None:
    """When the readings rule the named fault out but lead to its repair: less than right, more than a wrong repair?"""
    order = order_hiding("sheath-leaks-dry", 2)
    bench = work([*SAFE, *LIFT, *MEASURE], order)
    twin, other = "element-open", "thermostat-stuck-open"
    parts = {
        said: score(order, ServiceReport(diagnosis=said), log_of(bench))
        for said in ("sheath-leaks-dry", twin, other)
    }
    assert faults()[twin].remedy == faults()["sheath-leaks-dry"].remedy != faults()[other].remedy
    right, same, wrong = (parts[said].part("diagnosis").points for said in parts)
    assert right > same > wrong == 0


def test_a_part_swap_is_no_diagnosis() -> None:
    """Changed before the readings singled it out: does the right part earn less than after?"""
    lucky = work([*SAFE, *REPAIR, ("fill", {}), *COVERS_ON, *CONNECT, ("prove operation", {})])
    guessed = score(ORDER, report(lucky), log_of(lucky)).part("remedy").points
    assert guessed < score(ORDER, report(FULL), log_of(FULL)).part("remedy").points


def test_parts_changed_for_nothing() -> None:
    """Does changing parts that hadn't failed cost remedy marks?"""
    wasteful = work([*GOOD[:-11], ("repair", {"remedy": "replace-thermostat"}), *GOOD[-11:]])
    thrifty = score(ORDER, report(FULL), log_of(FULL)).part("remedy")
    wasted = score(ORDER, report(wasteful), log_of(wasteful)).part("remedy")
    assert wasted.points < thrifty.points
    assert any("had not failed" in reason.text for reason in wasted.reasons)


def test_a_condition_that_the_log_does_not_bear_out() -> None:
    """Does a report that says locked out cost marks where no lock is on, and one that says in service where one is?"""
    unlocked = score(ORDER, report(FULL, condition="locked out and reported"), log_of(FULL)).part("remedy")
    assert unlocked.points < score(ORDER, report(FULL), log_of(FULL)).part("remedy").points
    assert any("no lock is on" in reason.text for reason in unlocked.reasons) and unlocked.advice
    locked = work([*SAFE, *LIFT, *MEASURE])
    told = [r.text for r in score(ORDER, report(locked), log_of(locked)).part("remedy").reasons]
    assert any("your lock is on it" in text for text in told)
    truly = report(locked, condition="locked out and reported")
    told = [r.text for r in score(ORDER, truly, log_of(locked)).part("remedy").reasons]
    assert not any("lock is on" in text for text in told)


def test_a_repair_that_the_bench_stopped_is_none() -> None:
    """A hand to a live lead: is nothing said to have been changed, and do later readings count as evidence?"""
    order = order_hiding("element-wrong")
    bench = Bench(order)
    do_all(
        bench,
        [
            ("open cover", {"place": "heater-front"}),
            ("repair", {"remedy": "replace-heater-switch"}),
            ("make safe", {}),
        ],
    )
    assert bench.entries[2]["result"]["broke"] and not repaired(bench.entries[2])
    do_all(
        bench,
        [*SAFE, *LIFT, *MEASURE, *REPAIR, *LAND, ("fill", {}), *COVERS_ON, *CONNECT, ("prove operation", {})],
    )
    marks = score(order, report(bench), log_of(bench))
    told = " ".join(reason.text for part in marks.parts for reason in part.reasons)
    assert "before your readings singled it out" not in told
    assert marks.part("evidence").points > 0.5 * LAB.weights["evidence"]


def test_run_and_cold_is_no_proof_left_out() -> None:
    """Who repaired the wrong part and ran the heater, which stayed cold: are they sent to that line, and not told that they didn't run it?"""
    steps = [("repair", {"remedy": "replace-thermostat"}) if step == REPAIR[-1] else step for step in GOOD]
    bench = work(steps, order_hiding("element-open"))
    told = " ".join(
        r.text for r in score(bench.order, report(bench), log_of(bench)).part("safe-working").reasons
    )
    assert "the run didn't prove that it heats" in told and "didn't run" not in told


def test_another_repair_than_the_report_says() -> None:
    """Is a learner who wrote one repair and did another told which was done and which is missing?"""
    steps = [*GOOD[:-11], ("repair", {"remedy": "replace-thermostat"}), *GOOD[-10:]]
    other = work([step for step in steps if step != REPAIR[-1]])
    told = " ".join(r.text for r in score(ORDER, report(other), log_of(other)).part("remedy").reasons)
    one, two = (remedies()[name].name for name in ("replace-thermostat", "replace-element"))
    assert f"The log shows “{one}”. It doesn't show “{two}”." in told
    none = work([step for step in GOOD if step != REPAIR[-1]])
    told = " ".join(r.text for r in score(ORDER, report(none), log_of(none)).part("remedy").reasons)
    assert "doesn't show the repair being carried out" in told


def check(marks: Marks) -> None:
    """What holds for all marks."""
    assert [part.id for part in marks.parts] == list(PARTS)
    for part in marks.parts:
        assert 0 <= part.points <= part.out_of and math.isfinite(part.points)
        assert part.reasons and all(
            r.text and len(r.text) < 1500 and math.isfinite(r.points) for r in part.reasons
        )
        total = min(max(sum(reason.points for reason in part.reasons), 0.0), part.out_of)
        assert part.points == pytest.approx(total, abs=0.01 * len(part.reasons) + 0.01)
    assert marks.total == pytest.approx(sum(part.points for part in marks.parts), abs=0.01)
    assert marks.out_of == 100
    assert json.loads(json.dumps(marks.to_dict(), allow_nan=False))["total"] == marks.total


@pytest.mark.parametrize("bench", [FULL, PARTIAL, NOTHING], ids=["full", "partial", "nothing"])
def test_sums(bench: Bench) -> None:
    """Is each part between nothing and all of it, the sum of its reasons, and the total the sum of the parts?"""
    check(score(ORDER, report(bench), log_of(bench)))


def test_pure() -> None:
    """Are marks the same the second time, and are report, order and lines left as they were?"""
    said, lines = report(FULL), log_of(FULL)
    before = (said.model_dump_json(), ORDER.model_dump_json(), list(lines))
    one, two = score(ORDER, said, lines), score(ORDER, said, iter(lines))
    assert one == two
    assert before == (said.model_dump_json(), ORDER.model_dump_json(), lines)


@given(st.permutations(list(FIGURES)), st.randoms(use_true_random=False))
@settings(max_examples=8)
def test_invariant_under_order(names: list[str], random: object) -> None:
    """Does it matter in which order figures and evidence are written, how often a line is cited, or who one is?"""
    said = report(FULL)
    evidence = [*said.evidence, *said.evidence[:2]]
    random.shuffle(evidence)  # type: ignore[attr-defined]
    shuffled = said.model_copy(
        update={"figures": {name: said.figures[name] for name in names}, "evidence": tuple(evidence)}
    )
    renamed = ORDER.model_copy(update={"learner": "someone else"})
    assert score(renamed, shuffled, log_of(FULL)).total == score(ORDER, said, log_of(FULL)).total


def test_invariant_under_the_orders_number() -> None:
    """Does the same heater under another order's number earn the same for the same work?"""
    other = ORDER.model_copy(update={"order": "ANOTHER-9"})
    bench = work(GOOD, other)
    assert (
        score(other, report(FULL), log_of(bench)).to_dict()["parts"]
        == score(ORDER, report(FULL), log_of(FULL)).to_dict()["parts"]
    )


GARBAGE = [
    "nan", "NaN ohm", "inf", "-inf V", "ten", "10 kΩ", "10,5", "10,5 ohm", "10.2", "", " ", "=", "1e999 ohm",
    "1e99 ohm", "-10 ohm", "10 V", "10 ohm 20 ohm", "0x10 ohm", "10.2.3 ohm", "\x00", "open sesame",
    "None", "1/0 ohm", "__import__('os') ohm", "9" * 400 + " ohm", "A" * 1_000_000, "1" * 1_000_000 + " ohm", "<b>10</b> ohm",
]  # fmt: skip


@pytest.mark.parametrize("text", GARBAGE, ids=range(len(GARBAGE)))
def test_garbage_figures(text: str) -> None:
    """Is an answer that can't be right, or can't be read, worth nothing, said in a short sentence and nothing more?"""
    said = ServiceReport(
        figures={"plate-resistance": text, "element-resistance": text, "element-to-ground": text}
    )
    marks = score(ORDER, said, log_of(NOTHING))
    check(marks)
    assert marks.part("figures").points == 0
    assert all(len(reason.text) < 400 for reason in marks.part("figures").reasons)


TEXT = st.text(max_size=40) | st.sampled_from(GARBAGE[:25])
REPORTS = st.builds(
    ServiceReport,
    figures=st.dictionaries(
        st.sampled_from([f.id for f in LAB.figure]) | st.text(max_size=8), TEXT, max_size=5
    ),
    diagnosis=st.none() | st.sampled_from([*faults(), "gremlins", ""]) | TEXT,
    evidence=st.lists(st.integers(-5, 10**12), max_size=40).map(tuple),
    remedy=st.none() | st.sampled_from([*remedies(), "pray", ""]) | TEXT,
    condition=st.none() | st.sampled_from([*CONDITIONS, "fine"]) | TEXT,
    unread=st.lists(TEXT, max_size=3).map(tuple),
)


@given(REPORTS, st.sampled_from([FULL, PARTIAL, NOTHING]))
@settings(max_examples=40)
def test_any_report_is_marked(said: ServiceReport, bench: Bench) -> None:
    """Whatever a report says: are there marks, with everything that holds for marks?"""
    check(score(ORDER, said, log_of(bench)))


@pytest.mark.parametrize("lab_id", lab_ids())
def test_every_labs_faults_can_be_marked(lab_id: str) -> None:
    """For every lab and fault: does an empty hand-in and a blind right answer get marks, and the right one more?"""
    lab = load_lab(lab_id)
    for fault in lab.faults:
        model = next(name for name in lab.models if faults()[fault].applies_to(load_model(name)))
        order = order_hiding(fault, 1, lab_id, model)
        bench = Bench(order)
        empty = score(order, ServiceReport(), log_of(bench))
        blind = score(order, ServiceReport(diagnosis=fault, remedy=faults()[fault].remedy), log_of(bench))
        check(empty)
        check(blind)
        assert empty.fault == fault and blind.total > empty.total
        assert not blind.passed


def test_narrowing_lines_are_those_that_count() -> None:
    """Are the lines that the marks ask to cite just those at which fewer faults were left?"""
    said, problems = build_report(LAB, {"log lines that show it": "7 and 9; 12"})
    assert said.evidence == (7, 9, 12) and problems
    from tankside.diagnosis.candidates import candidates

    left = candidates(ORDER, log_of(FULL))
    for line in narrowing_lines(left):
        before = left.history[line - 1] if line else left.at_first
        assert len(left.history[line]) < len(before)


@pytest.mark.parametrize(
    ("fault", "right", "wrong"),
    [
        ("orifice-wrong-fuel", ("over range", "OL", "60000 ppm"), ("none", "900 ppm", "0 ppm", "open")),
        ("no-fault", (), ("over range", "OL", "none")),
    ],
)
def test_over_the_cells_range_is_an_answer(
    fault: str, right: tuple[str, ...], wrong: tuple[str, ...]
) -> None:
    """More CO than the analyzer counts: is saying so right, and a number that is no less; and only there?"""
    lab, case = load_lab("lab08"), lesson_order(fault, "pintail_10").case()
    for written in (*right, *wrong):
        made = figures.figures(lab, case, ServiceReport(figures={"co": written}), None)
        assert (made.points > 0) == (written in right), (written, made)
