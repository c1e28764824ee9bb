"""The situations at the bench in which tests are made, the way from one to the next, and where the meter is held in each."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

from tankside.bench.bench import perform
from tankside.bench.state import BenchState
from tankside.diagnosis.bench_tests import Step, dc_dead_pairs, dc_loaded_pairs, dc_switch
from tankside.diagnosis.notes import ON_PAIRS, Pairs
from tankside.diagnosis.survey import isolate, lift
from tankside.heater.model import HeaterModel
from tankside.heater.simulation import energise
from tankside.heater.unit import Unit, make_unit
from tankside.instruments.multimeter import Multimeter
from tankside.streams import Stream

Array = NDArray[np.float64]

SITUATIONS = ("as found", "calling", "isolated", "leads lifted", "drained")
"""In the order in which a technician reaches them: running as found; calling for heat (hot water drawn off);
power off, locked and proven dead; the element's leads lifted; the tank drained."""
_LIVE = 2
"""Situations before this one are live: volts. From it on: ohms."""
_MAINS = ("hot", "switched hot", "neutral", "ground")


@dataclass(frozen=True)
class Column:
    """What one test shows: situation, meter function and the two terminals; or the test, and which of its observations."""

    situation: int
    function: str
    red: str
    black: str

    @property
    def name(self) -> str:
        """In words."""
        pair = f" {self.red} to {self.black}" if self.black else f" {self.red}"
        return f"{SITUATIONS[self.situation]}: {self.function}{pair}"


class Asked(set[str]):
    """Covers that are off, remembering which of them anything depended on."""

    def __init__(self, places: Iterable[str]) -> None:
        super().__init__(places)
        self.asked: set[str] = set()

    def __contains__(self, place: object) -> bool:
        self.asked.add(str(place))
        return super().__contains__(place)


def steps_to(model: HeaterModel, situation: int) -> list[Step]:
    """The actions that lead from one situation to the next, as a technician would take them."""
    if situation == 1:
        return [("run tap", {"minutes": 10})]
    if situation == 2:
        knobs = [p for kind in ("pilot gas valve", "hand gas valve") for p in model.of_type(kind)]
        gas_off: list[Step] = [("switch", {"part": part, "position": "off"}) for part in knobs]
        ohms: list[Step] = [("meter", {"function": "Ω"}), ("zero leads", {})]
        return [*isolate(model, prove=False), *dc_switch(model, "off"), *gas_off, *ohms]
    if situation == 3:
        return [*lift(model), ("meter", {"function": "Ω"})]
    if situation == 4:
        return [("drain", {})]
    return []


@cache
def places_for(model: HeaterModel, situation: int) -> frozenset[str]:
    """The covers that must be off for the step to a situation: those that the bench asks for on the way."""
    unit = make_unit(model)
    healthy = {key: float(value[0]) for key, value in unit.values.items()}
    state = BenchState(unit, healthy, Multimeter(Stream("0", "any")))
    covers = Asked(place.id for place in model.places.values() if place.cover)
    state.open_covers = covers
    for now in range(situation + 1):
        covers.asked.clear()
        for verb, args in steps_to(model, now):
            perform(state, verb, args)
    return frozenset(covers.asked)


@cache
def _mains_pairs(model: HeaterModel) -> Pairs:
    """Every two terminals of the mains side."""
    roles: dict[str, set[str]] = {}
    for wire in model.wires.values():
        for end in (wire.from_, wire.to):
            roles.setdefault(end, set()).add(wire.role)
    parts = {t.split(".")[0] for t, found in roles.items() if found & set(_MAINS)}
    terminals = [
        t
        for t in model.terminals
        if roles.get(t, set()) & set(_MAINS) or (roles.get(t) == {"bond"} and t.split(".")[0] in parts)
    ]
    one, two = np.triu_indices(len(terminals), k=1)
    return tuple((terminals[i], terminals[j]) for i, j in zip(one, two, strict=True))


def _meter_pairs(model: HeaterModel, situation: int) -> list[tuple[str, Pairs]]:
    """What the meter is held to in a situation: function and pairs."""
    mains = _mains_pairs(model)
    if situation < _LIVE:
        return [("V~", mains), ("V⎓", dc_loaded_pairs(model))]
    out = [("Ω", mains)]
    if situation == _LIVE:
        out.append(("Ω", dc_dead_pairs(model)))
    if SITUATIONS[situation] == "drained":
        tanks = model.of_type("tank")
        out.append(("Ω", tuple((f"{a}.head", f"{t}.shell") for a in model.of_type("anode") for t in tanks)))
    return out


def meter_outcomes(unit: Unit, situation: int) -> list[tuple[Column, Array]]:
    """(B,) what the meter finds on each pair in a situation, before accuracy."""
    energise(unit)
    return [
        (Column(situation, function, red, black), value)
        for function, pairs in _meter_pairs(unit.model, situation)
        if pairs
        for (red, black), value in zip(pairs, ON_PAIRS[function](unit, pairs), strict=True)
    ]
