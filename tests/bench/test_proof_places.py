"""Does the bench's screen offer to prove dead where there is something to prove, and lock what opens every wire?"""

from __future__ import annotations

import pytest

from tankside.errors import BenchError
from tankside.heater.model import model_names
from tankside.notebook import plain_bench


@pytest.mark.parametrize("model", model_names())
def test_a_place_is_offered_where_the_proof_can_be_made(model: str) -> None:
    """With all covers off: the places marked provable take the proof, the others refuse it, whatever the heater."""
    bench = plain_bench("no-fault", model)
    for place in bench.view()["places"]:
        if place["cover"]:
            bench.open_cover(place["id"])
    offered = {place["id"] for place in bench.view()["places"] if place["provable"]}
    taken = set()
    for place in bench.view()["places"]:
        try:
            bench.prove_dead(place["id"])
            taken.add(place["id"])
        except BenchError:
            continue
    assert offered == taken


@pytest.mark.parametrize(
    ("off", "locked"),
    [(("breaker",), "breaker"), (("supply",), "supply"), (("breaker", "supply"), "supply")],
)
def test_the_screen_locks_a_pulled_plug_first(off: tuple[str, ...], locked: str) -> None:
    """A breaker opens one wire, a plug all: with both off, does the screen's lock keep the plug out?"""
    bench = plain_bench("polarity-swapped", "heron_6")
    for part in off:
        bench.switch(part, "out" if part == "supply" else "off")
    row = next(a for a in bench.view()["actions"] if a["verb"] == "lock out")
    bench.do("lock out", **row.get("args", {}))
    assert bench.entries[-1]["result"]["part"] == locked


def test_nothing_to_lock_is_said_where_there_are_no_mains() -> None:
    """Does a heater that burns gas alone send nobody to look for a breaker?"""
    bench = plain_bench("no-fault", "smew_10")
    row = next(a for a in bench.view()["actions"] if a["verb"] == "lock out")
    assert not row["enabled"] and "no mains supply" in row["why"]
    with pytest.raises(BenchError, match="no mains supply"):
        bench.do("lock out")
