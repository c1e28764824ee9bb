"""Two faults at once: drawn with different remedies, proven like one, and never dropped by the candidate set."""

from __future__ import annotations

from contextlib import suppress
from datetime import date

import pytest

from tankside.bench.bench import perform
from tankside.bench.view import view_of
from tankside.diagnosis.candidates import Follower, remedies_of
from tankside.diagnosis.proof import prove
from tankside.dispatch import make_order
from tankside.errors import BenchError, UnknownNameError
from tankside.faults.catalogue import apart, fault_named, remedy_named
from tankside.faults.effects import cure
from tankside.faults.together import pairs
from tankside.heater.model import load_model
from tankside.labs import load_lab
from tankside.labs.lab import Lab
from tankside.streams import Stream

SOME = (
    "element-open",
    "element-low",
    "limit-tripped",
    "link-bar-burnt",
    "splice-loose",
    "supply-low",
    "heater-switch-failed",
)
TODAY = date(2026, 1, 1)


def lab(model: str = "heron_6", names: tuple[str, ...] = SOME) -> Lab:
    """A lab that gives every heater two faults."""
    return load_lab("lab03").model_copy(
        update={"models": (model,), "faults": names, "faults_at_once": 2, "difficulty": (0.0, 100.0)}
    )


def test_a_pair_is_made_of_two() -> None:
    """Has a pair both faults' effects, both remedies, both names, and does a wrong half get its sentence?"""
    both = fault_named("element-open--supply-low")
    one, two = fault_named("element-open"), fault_named("supply-low")
    assert both.effect == one.effect + two.effect
    assert set(apart(both.remedy)) == {one.remedy, two.remedy}
    assert one.name in both.name and two.name in both.name
    assert remedy_named(both.remedy).minutes == sum(remedy_named(f.remedy).minutes for f in (one, two))
    with pytest.raises(UnknownNameError, match="nonsense"):
        fault_named("element-open--nonsense")


def test_pairs_have_different_remedies_and_touch_different_things() -> None:
    """Is no pair offered that one repair cures, or in which one fault overwrites the other?"""
    found = pairs((*SOME, "no-fault"), load_model("heron_6"))
    assert found and not any("no-fault" in pair for pair in found)
    for pair in found:
        one, two = (fault_named(name) for name in apart(pair))
        assert one.remedy != two.remedy
        assert not {e.on for e in one.effect} & {e.on for e in two.effect}
    assert "element-low--element-open" not in found and "element-open--element-low" not in found


@pytest.mark.parametrize("model", ["heron_6", "pintail_10"])
def test_orders_with_two_faults_are_proven(model: str) -> None:
    """Does each order carry two faults, and does its path end at both remedies?"""
    scope = SOME if model == "heron_6" else ("fuse-blown", "rod-fouled", "regulator-low", "gap-wide")
    for number in range(6):
        order = make_order(lab(model, scope), None, f"{number:032x}", TODAY)
        case = order.case()
        assert len(case.faults) == 2 and case.faults[0].remedy != case.faults[1].remedy
        proof = prove(order)
        assert proof.solvable and remedies_of(proof.left) == {case.fault.remedy}
        assert proof.as_data() == order.proof


def test_the_true_pair_is_never_dropped() -> None:
    """Over random legal logs with repairs in them: are the two true faults always among what is left?"""
    for number in range(8):
        order = make_order(lab(), None, f"{number:032x}", TODAY)
        true, draw = order.case().fault.id, Stream(str(number), "log")
        follower = Follower(order)
        follower.state.open_covers |= {
            place.id for place in follower.state.model.places.values() if place.cover
        }
        for line in range(25):
            terminals = list(follower.state.model.terminals)
            verb, args = draw.choice(
                [
                    ("probe", {"red": draw.choice(terminals), "black": draw.choice(terminals)}),
                    ("meter", {"function": draw.choice(["V~", "Ω"])}),
                    ("temperature", {}),
                    ("look", {}),
                    ("run tap", {"minutes": 5}),
                    ("switch", {"part": "breaker", "position": draw.choice(["on", "off"])}),
                    ("repair", {"remedy": draw.choice(apart(order.case().fault.remedy))}),
                ]
            )
            if follower.state.stopped:
                break
            with suppress(BenchError):
                perform(follower.state, verb, args)
            follower.after(line)
            assert true in follower.suspects.remaining(), (number, line, verb, args)


def test_curing_one_leaves_the_other() -> None:
    """After one of the two repairs, does the heater still show the second fault, and only that?"""
    order = make_order(lab(), None, f"{3:032x}", TODAY)
    follower = Follower(order)
    state, (first, second) = follower.state, order.case().faults
    state.open_covers |= {place.id for place in state.model.places.values() if place.cover}
    cure(state.unit, remedy_named(first.remedy), state.healthy)
    for fault, healed in ((first, True), (second, False)):
        for effect in fault.effect:
            kind, _, key = effect.on.rpartition(".")
            part = kind[1:] if kind.startswith("@") else state.model.of_type(kind)[0]
            same = state.unit[f"{part}.{key}"][0] == pytest.approx(state.healthy[f"{part}.{key}"])
            assert bool(same) == healed
    assert view_of(order, state, [])
