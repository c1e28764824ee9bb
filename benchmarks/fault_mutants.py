"""Would the signs of the faults notice a changed catalogue? ``python3 run.py bench fault_mutants``.

Each two faults' parameters swapped, each effect at its healthy value, each effect half as strong: how many of these does a
sign in ``tests/faults/signs.toml`` notice. ``tests/faults/test_signs.py`` holds the first two at all of them.
"""

from __future__ import annotations

import sys
from pathlib import Path

from benchmarks.figure import Figure
from tankside.faults.catalogue import fault_named

sys.path.insert(0, str(Path(__file__).parents[1]))

from tests.faults.signs import all_signs, verdict


def figures() -> list[Figure]:
    """Tried and noticed."""
    said, of = verdict(), all_signs().fault
    alone = sum(len(fault_named(name).effect) == 1 for name in of)
    swaps, zeros = len(said.swaps), alone + len(said.zeroings)
    signs = sum(len(fault.signs) for fault in of.values())
    showable = sum(said.halvings[m] for m in said.showable)
    return [
        Figure("faults with signs", len(of), f"faults, {signs} signs"),
        Figure("two faults' parameters swapped: noticed", sum(any(f) for f in said.swaps.values()), f"of {swaps}", swaps, True),
        Figure("an effect at its healthy value: noticed", alone + sum(said.zeroings.values()), f"of {zeros}", zeros, True),
        Figure("an effect half as strong: noticed", sum(said.halvings.values()), f"of {len(said.halvings)}"),
        Figure("of those that any instrument shows", showable, f"of {len(said.showable)}"),
    ]  # fmt: skip
