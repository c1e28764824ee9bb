"""Does the evidence never rule out what is really there, and does more of it never leave more?"""

from __future__ import annotations

import copy
from contextlib import suppress

import numpy as np
import pytest

from tankside.bench import Bench
from tankside.bench.bench import perform
from tankside.diagnosis.candidates import Follower, candidates, remedies_of
from tankside.diagnosis.survey import survey
from tankside.errors import BenchError, UnknownNameError
from tankside.faults.catalogue import faults
from tankside.heater.model import load_model
from tankside.labs import lab_ids, load_lab
from tankside.streams import Stream
from tests.orders import ISOLATE, OPEN_ALL, PROVE_ALL, SAFE, do_all, log_of, order_hiding
from tests.strategies import Step, fitting_faults, terminals_of

MODEL = load_model("heron_6")
FIRST: list[list[Step]] = [OPEN_ALL, SAFE, [*OPEN_ALL, *ISOLATE, *PROVE_ALL[:1]]]
"""How a log may begin, besides with nothing."""
ORDERS = 2
"""For every fault."""
LOGS = 25
"""For every order: more than a thousand in all."""


def some_work(stream: Stream) -> list[Step]:
    """A few legal and illegal steps, mostly measurements, now live, now isolated."""
    terminals = terminals_of(MODEL)
    out: list[Step] = []
    for _ in range(stream.integer(2, 9)):
        kind = stream.uniform()
        if kind < 0.6:
            out.append(("probe", {"red": stream.choice(terminals), "black": stream.choice(terminals)}))
        elif kind < 0.75:
            out.append(("meter", {"function": stream.choice(["V~", "Ω", "continuity", "V⎓"])}))
        elif kind < 0.85:
            out.append(
                stream.choice(
                    [
                        ("switch", {"part": "panel_switch", "position": stream.choice(["on", "off"])}),
                        ("switch", {"part": "breaker", "position": stream.choice(["on", "off"])}),
                        ("lift lead", {"wire": stream.choice(["W10", "W11"])}),
                        ("drain", {}),
                    ]
                )
            )
        else:
            out.append(
                stream.choice(
                    [
                        ("look", {}),
                        ("temperature", {}),
                        ("run tap", {"minutes": 10}),
                        ("wait", {"minutes": 45}),
                        ("zero leads", {}),
                    ]
                )
            )
    return out


@pytest.mark.parametrize("fault", fitting_faults(MODEL))
def test_sound_and_shrinking(fault: str) -> None:
    """Over 50 random logs for each fault: is the true fault always left, and does no line add one?"""
    for number in range(1, ORDERS + 1):
        begun = [Follower(order_hiding(fault, number))]
        for first in FIRST:
            begun.append(copy.deepcopy(begun[0]))
            for verb, args in first:
                perform(begun[-1].state, verb, args)
                begun[-1].after(0)
        for log in range(LOGS):
            fresh = begun[log % len(begun)]
            follower = copy.deepcopy(fresh)
            before = set(fresh.suspects.remaining())
            assert fault in before
            for line, (verb, args) in enumerate(some_work(Stream(f"{number} {log}", fault))):
                with suppress(BenchError, UnknownNameError):
                    perform(follower.state, verb, args)
                follower.after(line)
                left = set(follower.suspects.remaining())
                assert left <= before, (number, log, line, verb, args)
                assert fault in left, (number, log, line, verb, args)
                before = left


@pytest.mark.parametrize("fault", fitting_faults(MODEL))
def test_sound_at_both_ends_of_the_supply(fault: str) -> None:
    """On the heaters with the lowest and the highest supply of twenty: is the true fault left by every careful test?"""
    orders = sorted(
        (order_hiding(fault, n) for n in range(1, 21)), key=lambda order: order.case().site["voltage"]
    )
    low, high = (MODEL.number("site.voltage", end, "V") for end in MODEL.data.site.voltage)
    ends = orders[0], orders[-1]
    assert ends[1].case().site["voltage"] - ends[0].case().site["voltage"] > 0.6 * (high - low)
    for order in ends:
        follower = Follower(order)
        for line, (verb, args) in enumerate(survey(MODEL)):
            with suppress(BenchError):
                perform(follower.state, verb, args)
            follower.after(line)
            assert fault in follower.suspects.remaining(), (order.case().site["voltage"], line, verb, args)


def test_cutting_the_batch_changes_nothing() -> None:
    """Is what is left the same whether ruled-out variants are simulated on or dropped?"""
    order = order_hiding("splice-loose")
    cut, whole = Follower(order), Follower(order)
    for line, (verb, args) in enumerate(survey(MODEL)):
        for follower in (cut, whole):
            with suppress(BenchError):
                perform(follower.state, verb, args)
        cut.after(line)
        assert cut.suspects.remaining() == whole.suspects.remaining()
    assert cut.state.unit.batch == 1 < whole.state.unit.batch


def test_a_decisive_reading_decides() -> None:
    """Does 20 ohm where 10 are right leave only what explains it, and name the line that ruled the others out?"""
    order = order_hiding("element-wrong")
    bench = Bench(order)
    steps: list[Step] = [
        *SAFE, ("lift lead", {"wire": "W10"}), ("lift lead", {"wire": "W11"}), ("meter", {"function": "Ω"}),
        ("zero leads", {}), ("probe", {"red": "element.1", "black": "element.2"}),
    ]  # fmt: skip
    assert not do_all(bench, steps)
    left = candidates(order, log_of(bench))
    assert left.now == ("element-wrong",)
    line = left.ruled_out_at("thermostat-burnt-contact")
    assert line is not None and bench.entries[line]["verb"] in ("probe", "prove dead", "begin", "switch")
    assert left.ruled_out_at("element-wrong") is None


def test_without_evidence_everything_that_fits_is_left() -> None:
    """With no reading at all: is what is left just what would have given the same complaint?"""
    order = order_hiding("element-open")
    left = candidates(order, log_of(Bench(order)))
    assert "element-open" in left.now and "thermostat-stuck-open" in left.now
    assert "element-low" not in left.now  # it would have heated


@pytest.mark.parametrize("lab", lab_ids())
def test_the_survey_parts_every_repair(lab: str) -> None:
    """For every fault of a lab: does every careful test together leave only faults with the true fault's repair?"""
    for name in load_lab(lab).models:
        model = load_model(name)
        for fault in load_lab(lab).faults:
            if not faults()[fault].applies_to(model):
                continue
            follower = Follower(order_hiding(fault, 1, lab, name))
            for line, (verb, args) in enumerate(survey(model)):
                with suppress(BenchError):
                    perform(follower.state, verb, args)
                follower.after(line)
            left = follower.suspects.remaining()
            assert fault in left and remedies_of(left) == {faults()[fault].remedy}, (name, fault, left)


def test_same_order_same_batch() -> None:
    """Is the first row of the batch the very unit that the bench has?"""
    for fault in ("element-low", "sheath-breached-wet", "supply-low"):
        order = order_hiding(fault)
        alone, batch = Bench(order).state.unit, Follower(order).state.unit
        for key, value in alone.values.items():
            assert np.isclose(batch[key][0], value[0], rtol=3e-6, atol=0), key
