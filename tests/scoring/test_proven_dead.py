"""Is a place proven dead by what was measured, whichever button did it, and by nothing less?"""

from __future__ import annotations

from collections.abc import Sequence

import pytest

from tankside.bench import Bench
from tankside.bench.replay import replay
from tankside.labs import load_lab
from tankside.report import ServiceReport
from tankside.scoring import score
from tests.orders import ISOLATE, OPEN_ALL, do_all, log_of, order_hiding
from tests.strategies import Step

LAB = load_lab("lab01")
ORDER = order_hiding("supply-low", lab="lab01")
HOT, NEUTRAL, SHEATH, SHELL = "heater_switch.line", "element.2", "element.sheath", "tank.shell"
PROVE: Step = ("prove meter", {})
PAIRS = ((HOT, NEUTRAL), (HOT, SHEATH), (NEUTRAL, SHEATH))
"""Hot to neutral, hot to ground, neutral to ground: the trade's three (as in lesson 1)."""


def probe(red: str, black: str) -> Step:
    return ("probe", {"red": red, "black": black})


def bench_after(steps: Sequence[Step]) -> Bench:
    bench = Bench(ORDER)
    assert not do_all(bench, [("meter", {"function": "V~"}), *OPEN_ALL, *steps])
    return bench


def asked_for(bench: Bench) -> bool:
    """True if the marks miss the proof that lab 1 asks for."""
    reasons = score(ORDER, ServiceReport(), log_of(bench), LAB).part("safe-working").reasons
    return any("prove a place dead" in reason.text for reason in reasons)


@pytest.mark.parametrize("ground", [SHEATH, SHELL, "supply.ground"])
def test_pair_by_pair(ground: str) -> None:
    """Three probes between two proofs of the meter: do they count, on any terminal of the ground, with leads turned?"""
    bench = bench_after(
        [*ISOLATE, PROVE, probe(NEUTRAL, HOT), probe(HOT, ground), probe(ground, NEUTRAL), PROVE]
    )
    assert not asked_for(bench) and "heater-front" in bench.state.dead_places
    bench.do("lift lead", wire="W10")
    assert not replay(ORDER, log_of(bench)).broke


@pytest.mark.parametrize("missing", range(3))
def test_a_pair_left_out(missing: int) -> None:
    """Without one of the three: no proof?"""
    some = [probe(*pair) for k, pair in enumerate(PAIRS) if k != missing]
    assert asked_for(bench_after([*ISOLATE, PROVE, *some, PROVE]))


@pytest.mark.parametrize(("before", "after"), [(0, 1), (1, 0), (0, 0)])
def test_a_meter_in_doubt(before: int, after: int) -> None:
    """With the meter proven on one side only, or on none: no proof?"""
    every = [probe(*pair) for pair in PAIRS]
    assert asked_for(bench_after([*ISOLATE, *[PROVE] * before, *every, *[PROVE] * after]))


def test_live_is_no_proof() -> None:
    """Live, "dead", live with the plug in, in one go and pair by pair: neither counts?"""
    assert asked_for(bench_after([("prove dead", {"place": "heater-front"})]))
    assert asked_for(bench_after([PROVE, *[probe(*pair) for pair in PAIRS], PROVE]))
    assert not asked_for(bench_after([*ISOLATE, ("prove dead", {"place": "heater-front"})]))


def test_ohms_prove_nothing_dead() -> None:
    """Do the same three pairs in ohms count?"""
    ohms: Step = ("meter", {"function": "Ω"})
    volts: Step = ("meter", {"function": "V~"})
    assert asked_for(bench_after([*ISOLATE, PROVE, ohms, *[probe(*pair) for pair in PAIRS], volts, PROVE]))


def test_an_open_neutral_fools_nobody() -> None:
    """Where no ground comes to a place: is it still found live when the neutral is open and hot to neutral shows nothing?"""
    order = order_hiding("neutral-open", model="plover_12")
    bench = Bench(order)
    bench.do("meter", function="V~")
    ghost = bench.do("probe", red="converter.line", black="converter.neutral").readings[0]["value"]
    told = bench.do("prove dead", place="battery-box").entry["result"]
    assert ghost < 3.0 and not told["dead"]  # 3 V: what the bench calls dead
