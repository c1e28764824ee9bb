"""The part of the careful survey that looks at water, tank and anode; nothing on a model without a water side."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from tankside.heater.model import HeaterModel

Step = tuple[str, dict[str, Any]]


def as_found(model: HeaterModel) -> Iterator[Step]:
    """While the tank is as it was found: hands, eyes and ears first, then cups, then taps."""
    if not model.of_type("cold inlet"):
        return
    yield "trace lines", {}
    for verb in ("feel hot line", "feel jacket", "listen to tank", "catch drips", "water pressure"):
        yield verb, {}
    yield "tap test", {"tap": "cold"}
    yield "tap test", {"tap": "hot"}
    yield "shut-off test", {}
    yield "water test", {}


def cooled(model: HeaterModel) -> Iterator[Step]:
    """With cool water in the tank."""
    if not model.of_type("cold inlet"):
        return
    yield "run tap", {"minutes": 30}
    for verb in ("drain flow", "lift relief lever", "cushion test"):
        yield verb, {}


def drained(model: HeaterModel) -> Iterator[Step]:
    """With the tank empty: what is screwed out of it, and the anode's contact to the tank."""
    if not model.of_type("cold inlet"):
        return
    for part in model.of_type("anode"):
        yield "probe", {"red": f"{part}.head", "black": "tank.shell"}
        yield "look at anode", {}
    for verb in ("lamp in tank", "look at check valve", "relief on the stand"):
        yield verb, {}
