"""A careful survey of a heater: every test that a patient technician would make, outside in, safely.

It is derived from the model's parts and wires, not written for one model. The proof that a
work order can be solved is that this survey solves it.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from tankside.diagnosis import survey_gas, survey_ignition, survey_water
from tankside.heater.model import HeaterModel

Step = tuple[str, dict[str, Any]]
_MAINS_ROLES = ("hot", "switched hot", "neutral")


def survey(model: HeaterModel) -> Iterator[Step]:
    """The steps, in order; the caller may stop as soon as it knows enough."""
    yield "look", {}
    yield "prove meter", {}
    live = list(_live_pairs(model))
    outside = [pair for pair in live if not _covered(model, pair)]
    for red, black in outside:
        yield "probe", {"red": red, "black": black}
    for place in model.places.values():
        if place.cover:
            yield "open cover", {"place": place.id}
    if any(kind.positions and _hidden(model, part) for part, kind in model.types.items()):
        yield "look", {}
    inside = [pair for pair in live if pair not in outside]
    for red, black in inside:
        yield "probe", {"red": red, "black": black}
    yield "temperature", {}
    yield from survey_water.as_found(model)
    yield from survey_ignition.as_found(model)
    yield from survey_gas.as_found(model)
    yield "run tap", {"minutes": 10}
    for red, black in live:
        yield "probe", {"red": red, "black": black}
    yield from survey_ignition.calling(model)
    yield from survey_gas.calling(model)
    yield from survey_gas.shut(model)
    yield from survey_water.cooled(model)
    yield from isolate(model)
    yield from survey_ignition.isolated(model)
    yield "meter", {"function": "Ω"}
    yield "zero leads", {}
    for red, black in ohm_pairs(model):
        yield "probe", {"red": red, "black": black}
    for wire in model.wires.values():
        if wire.lifts_at:
            yield "lift lead", {"wire": wire.id}
    for red, black in element_pairs(model):
        yield "probe", {"red": red, "black": black}
    yield "drain", {}
    for red, black in element_pairs(model):
        yield "probe", {"red": red, "black": black}
    yield from survey_water.drained(model)


def isolate(model: HeaterModel, prove: bool = True) -> Iterator[Step]:
    """Breaker off, plug out, lock on; then live-dead-live at every covered place with conductors."""
    for part in model.of_type("breaker"):
        yield "switch", {"part": part, "position": "off"}
    for part in model.of_type("mains supply"):
        yield "switch", {"part": part, "position": "out"}
        yield "lock out", {"part": part}
    for place in model.places.values() if prove else ():
        if place.cover and _has_mains(model, place.id):
            yield "prove dead", {"place": place.id}


def _has_mains(model: HeaterModel, place: str) -> bool:
    """True if conductors of the mains side end at a place."""
    ends = (end for w in model.wires.values() if w.role in _MAINS_ROLES for end in (w.from_, w.to))
    return any(model.parts[end.split(".")[0]].place == place for end in ends)


def lift(model: HeaterModel) -> Iterator[Step]:
    """Prove dead where the mains side's leads come off, and lift them."""
    wires = [w for w in model.wires.values() if w.lifts_at and w.role in _MAINS_ROLES]
    places = dict.fromkeys(
        model.parts[(w.to if w.lifts_at == "to" else w.from_).split(".")[0]].place for w in wires
    )
    for place in places:
        if _has_mains(model, place):
            yield "prove dead", {"place": place}
    for wire in wires:
        yield "lift lead", {"wire": wire.id}


def _hidden(model: HeaterModel, part: str) -> bool:
    return model.places[model.parts[part].place].cover and not model.parts[part].outside


def _covered(model: HeaterModel, pair: tuple[str, str]) -> bool:
    return any(model.places[model.parts[t.split(".")[0]].place].cover for t in pair)


def _live_pairs(model: HeaterModel) -> Iterator[tuple[str, str]]:
    """Volts: source, splices, across every contact, at the load, and to ground."""
    for part in model.of_type("mains supply"):
        yield f"{part}.hot", f"{part}.neutral"
        yield f"{part}.hot", f"{part}.ground"
        yield f"{part}.neutral", f"{part}.ground"
    for part in model.of_type("splice box"):
        yield f"{part}.hot_in", f"{part}.neutral_in"
        yield f"{part}.hot_out", f"{part}.neutral_out"
        yield f"{part}.hot_in", f"{part}.ground"
        yield f"{part}.hot_in", f"{part}.hot_out"
        yield f"{part}.neutral_in", f"{part}.neutral_out"
    for part, kind in model.types.items():
        if set(kind.terminals) == {"line", "load"}:
            yield f"{part}.line", f"{part}.load"
    for part in model.of_type("element"):
        yield f"{part}.1", f"{part}.2"
        yield f"{part}.1", f"{part}.sheath"
        yield f"{part}.2", f"{part}.sheath"


def ohm_pairs(model: HeaterModel) -> Iterator[tuple[str, str]]:
    """Ohms across every contact and splice, isolated."""
    for part, kind in model.types.items():
        if set(kind.terminals) == {"line", "load"}:
            yield f"{part}.line", f"{part}.load"
    for part in model.of_type("splice box"):
        yield f"{part}.hot_in", f"{part}.hot_out"
        yield f"{part}.neutral_in", f"{part}.neutral_out"


def element_pairs(model: HeaterModel) -> Iterator[tuple[str, str]]:
    """Ohms of the element and from it to the tank, leads lifted."""
    for part in model.of_type("element"):
        yield f"{part}.1", f"{part}.2"
        for tank in model.of_type("tank"):
            yield f"{part}.1", f"{tank}.shell"
            yield f"{part}.2", f"{tank}.shell"
