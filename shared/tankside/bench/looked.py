"""What a close look at the burner and the flue found, in steps that a picture can draw; and how they stand inside."""

from __future__ import annotations

from typing import Any

from tankside.bench.gas_points import LOOKS
from tankside.bench.state import BenchState
from tankside.faults.catalogue import remedies

DRAWN = ("burner", "flue")
"""The parts that a picture opens up, once somebody has looked."""

Steps = dict[str, int]
"""A part's parameter -> which word its sense has for it, counted from 0 (see ``instruments.senses``)."""


def looked_at(entries: list[dict[str, Any]]) -> dict[str, dict[str, Any]]:
    """Part -> ``at`` (minute of the log), ``words`` and ``steps`` of the last close look at it.

    What a repair has renewed since isn't told any more; a part of which nothing is left is left out.
    """
    out: dict[str, dict[str, Any]] = {}
    renewed: set[str] = set()
    for entry in reversed(entries):
        result = entry["result"]
        if entry["verb"] == "repair" and result.get("remedy") in remedies():
            renewed |= set(remedies()[result["remedy"]].renews)
        part = entry["args"].get("part")
        if entry["verb"] != "inspect" or part not in DRAWN or part in out or "seen" not in result:
            continue
        found = [
            (key.partition(".")[2], sense.words.index(word), word)
            for (key, sense), word in zip(LOOKS[part].senses, result["seen"], strict=False)
            if key not in renewed and word in sense.words
        ]
        out[part] = {
            "at": entry["at"],
            "words": [word for _, _, word in found],
            "steps": {key: step for key, step, _ in found},
        }
    return {part: found for part, found in out.items() if found["steps"]}


def inside(state: BenchState) -> dict[str, dict[str, Any]]:
    """The same for the heater as it stands now, seen or not: for practice alone."""
    out = {}
    for part in DRAWN:
        if part not in state.model.parts:
            continue
        found = [(key, sense, state.unit[key][:1]) for key, sense in LOOKS[part].senses]
        out[part] = {
            "words": [sense.says(value) for _, sense, value in found],
            "steps": {key.partition(".")[2]: int(sense.classes(value)[0]) for key, sense, value in found},
        }
    return out
