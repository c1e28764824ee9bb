"""The coach: hints, why not, debrief."""

from __future__ import annotations

import json

import pytest

from tankside.bench import Bench
from tankside.bench.bench import start_state
from tankside.case import symptom
from tankside.diagnosis import coach
from tankside.diagnosis.candidates import remedies_of
from tankside.diagnosis.debrief_picture import in_words, picture
from tankside.diagnosis.path import walk
from tankside.diagnosis.proof import reference_of
from tankside.errors import UnknownNameError
from tankside.faults.catalogue import fault_named
from tankside.labs import load_lab
from tankside.practice import practice_order, topic_order

LAB = load_lab("lab03")


def log(bench: Bench) -> list[str]:
    return [json.dumps(entry, ensure_ascii=False) for entry in bench.entries]


@pytest.mark.parametrize("number", [1, 2, 3, 4, 5])
def test_following_the_hints_solves_the_call_out(number: int) -> None:
    """Does whoever makes the hinted measurements come down to one repair?"""
    order = practice_order(LAB, number)
    bench = Bench(order)
    walk(reference_of(order, symptom(bench.state.unit)), bench.state)  # the state a finished path leaves
    fresh = Bench(order)
    texts = [coach.hint(order, log(fresh), level) for level in coach.LEVELS]
    assert order.complaint in texts[0]
    assert all(len(text) > 40 for text in texts)
    assert fault_named(order.case().fault.id).name not in texts[0]


def test_a_hint_names_a_test_that_parts_what_is_left() -> None:
    """After a few readings, does the third hint still name a measurement and what each outcome would mean?"""
    order = practice_order(LAB, 2)
    bench = Bench(order)
    bench.prove_meter()
    bench.probe("supply.hot", "supply.neutral")
    text = coach.hint(order, log(bench), 3)
    assert text.startswith(("Measure", "Look"))
    assert " if it is " in text


def test_an_unknown_level_is_answered_plainly() -> None:
    """Is a fourth level one clear error?"""
    order = practice_order(LAB, 1)
    with pytest.raises(UnknownNameError, match="hint level"):
        coach.hint(order, log(Bench(order)), 4)


def test_why_not_names_the_line() -> None:
    """Does a ruled-out fault come with the line and the reading that ruled it out, and the true one with none?"""
    order = practice_order(LAB, 2)
    bench = Bench(order)
    bench.prove_meter()
    bench.probe("supply.hot", "supply.neutral")
    true = order.case().fault.id
    assert "still possible" in coach.why_not(order, log(bench), true)
    said = [coach.why_not(order, log(bench), fault) for fault in LAB.faults if fault != true]
    assert any("ruled out at line" in text or "wouldn't show" in text for text in said)


def test_the_debrief_holds_both_paths() -> None:
    """Does the picture show both paths, and do they say the same in words?"""
    order = practice_order(LAB, 2)
    bench = Bench(order)
    bench.prove_meter()
    bench.probe("supply.hot", "supply.neutral")
    found = coach.debrief(order, log(bench))
    assert found.reference[-1].repairs == 1
    assert found.learner[0].faults == found.reference[0].faults
    assert [p.faults for p in found.learner] == sorted((p.faults for p in found.learner), reverse=True)
    drawn = picture(found)
    assert drawn.count("<path") >= 4
    assert in_words(found) in drawn.replace("&#x27;", "'")


def test_both_paths_begin_with_the_same_faults() -> None:
    """Where the plan for every heater of the model begins with more faults than this heater can have, do both paths
    begin alike all the same, and does neither ever rise or lose the true fault?"""
    order = topic_order("dc", 2, 2)
    assert len(reference_of(order, symptom(Bench(order).state.unit)).suspects) > 2
    found = coach.debrief(order, log(Bench(order)))
    assert found.learner[0] == found.reference[0]
    left = [p.faults for p in found.reference]
    assert left == sorted(left, reverse=True)
    assert left[-1] >= 1


def test_the_reference_path_goes_on_to_one_repair() -> None:
    """Where the plan for all heaters ends with several repairs, does the debrief draw the path that the proof went on with?"""
    lab = load_lab("lab09")
    for number in range(1, 13):
        order = practice_order(lab, number)
        state = start_state(order)
        if len(remedies_of(walk(reference_of(order, symptom(state.unit)), state).left)) > 1:
            break
    else:
        raise AssertionError("none of the first twelve orders goes on: take another lab")
    last = coach.debrief(order, log(Bench(order))).reference[-1]
    assert last.repairs == 1
    assert last.at == pytest.approx(order.proof["minutes"], abs=0.06)


def test_the_words_name_the_minute_that_settled_it() -> None:
    """Repair and proof rule nothing out: is the minute the one of the last reading that did, not the log's last?"""
    order = practice_order(LAB, 2)
    bench = Bench(order)
    bench.prove_meter()
    bench.probe("supply.hot", "supply.neutral")
    found = coach.debrief(order, log(bench))
    left = found.learner[-1].faults
    settled = next(p.at for p in found.learner if p.faults == left)
    bench.wait(300)
    later = coach.debrief(order, log(bench))
    assert later.learner[-1].faults == left
    assert later.learner[-1].at > settled + 200
    assert f"{left} after {settled:.0f} min." in in_words(later)
