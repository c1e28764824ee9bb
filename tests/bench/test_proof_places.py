"""Does the bench's screen offer to prove dead exactly where there is something to prove?"""

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
