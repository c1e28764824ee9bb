"""A unit in time: closed form from one event to the next, batched.

Between events nothing switches, so the tank follows one exponential and the time of the next
event has a formula. Every variant of the batch steps to its own next event; all arrive at
the same end.
"""

from __future__ import annotations

from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from tankside.heater import burner, controls, corrosion, electrics, gas, ignition, plumbing
from tankside.heater.controls import Until
from tankside.heater.memo import replayed
from tankside.heater.unit import Unit
from tankside.physics.circuit import Solution
from tankside.physics.tank_heat import arrival_si, temperature_after_si

Array = NDArray[np.float64]

RELIEF = 98.9
"""°C (210 °F) at which the tank gets no hotter on a model without a water side. From memory: references, section 4."""
_HAIR = 1e-9
_MAX_EVENTS = 100_000
_MANY, _WORTHWHILE = 16, 0.3
"""Variants from which on, and the share of them under which, it pays to go on with the late ones alone."""


class Subsystem(Protocol):
    """A module with these four functions; it does nothing on a model without its parts."""

    def settle(self, unit: Unit) -> None:
        """What follows at once from the state, before the network is solved."""

    def heat(self, unit: Unit, solution: Solution) -> Array:
        """(B,) W that it puts into the water now."""

    def horizon(self, unit: Unit, solution: Solution, until: Until) -> Array:
        """(B,) s until something in it switches by itself; infinite if nothing will."""

    def age(self, unit: Unit, solution: Solution, step: Array) -> None:
        """What (B,) s of time do to it."""


SUBSYSTEMS: tuple[Subsystem, ...] = (controls, gas, burner, ignition, plumbing, corrosion)
"""In the order in which one acts on the next."""
_SETTLES = tuple(replayed(s.settle) if s is ignition else s.settle for s in SUBSYSTEMS)
"""A board and its network go through the same few states again and again, whatever the water's temperature."""


def energise(unit: Unit) -> Solution:
    """Bring everything that follows at once in line with the unit's state, and solve its network."""
    settle(unit)
    solution = electrics.solve(unit)
    if electrics.power_converters(unit, solution):
        settle(unit)
    return solution


def settle(unit: Unit) -> None:
    """Everything that follows at once from the state."""
    for act in _SETTLES:
        act(unit)


def advance(unit: Unit, minutes: float) -> None:
    """Let so many minutes pass, as the unit stands."""
    _run(unit, np.full(unit.batch, minutes * 60.0))
    settle(unit)  # whoever looks next solves the network as it then stands


def _run(unit: Unit, left: Array) -> None:
    """Go from event to event until (B,) s are over, with those alone that aren't there yet."""
    for _ in range(_MAX_EVENTS):
        late = left > _HAIR
        if not late.any():
            return
        if unit.batch >= _MANY and late.sum() < _WORTHWHILE * unit.batch:
            rows = np.flatnonzero(late)
            rest = unit.take(rows)
            _run(rest, left[rows])
            unit.put(rows, rest)
            return
        left = left - _step(unit, left, energise(unit))
    raise RuntimeError(f"more than {_MAX_EVENTS} events at one go: a control chatters")


def heat_into_water(unit: Unit, solution: Solution) -> Array:
    """(B,) W into the water from everything that heats it."""
    return sum((subsystem.heat(unit, solution) for subsystem in SUBSYSTEMS), np.zeros(unit.batch))


def _step(unit: Unit, left: Array, solution: Solution) -> Array:
    """Go to each variant's next event, or to its end; the seconds taken."""
    heat = heat_into_water(unit, solution)
    start, room = unit["tank.temperature"], unit["site.room"]
    loss, draw, cold = plumbing.standing(unit)
    capacity = plumbing.heat_capacity(unit)

    until = arrival_si(start, capacity, heat, loss, room, draw, cold)
    soon = left
    for subsystem in SUBSYSTEMS:
        soon = np.minimum(soon, subsystem.horizon(unit, solution, until))
    soon = np.minimum(soon, plumbing.ice_event(unit, heat, until))
    step = np.where(left > _HAIR, soon, 0.0)
    warmed = temperature_after_si(step, start, capacity, heat, loss, room, draw, cold)
    if plumbing.has_plumbing(unit):
        unit.values["tank.temperature"] = plumbing.follow(unit, step, warmed, heat, capacity)
    else:
        unit.values["tank.temperature"] = np.minimum(warmed, RELIEF)
    for subsystem in SUBSYSTEMS:
        subsystem.age(unit, solution, step)
    return step


def draw(unit: Unit, litres: float | Array) -> None:
    """Run so many litres of hot water off; cold comes in and mixes with what is left (one node)."""
    if plumbing.has_plumbing(unit):
        plumbing.drawn(unit, np.broadcast_to(litres, (unit.batch,)))
        return
    share = litres / 1000.0 / unit["tank.volume"]
    cold = unit["site.cold_water"]
    mixed = cold + (unit["tank.temperature"] - cold) * np.exp(-share)
    unit.values["tank.temperature"] = np.where(unit["tank.fill"] > 0.98, mixed, unit["tank.temperature"])


def drain(unit: Unit) -> None:
    """Empty the tank."""
    unit.set("tank.fill", 0.0)
    settle(unit)


def fill(unit: Unit) -> None:
    """Fill the tank with cold water; what was in it mixes."""
    share = unit["tank.fill"]
    unit.values["tank.temperature"] = share * unit["tank.temperature"] + (1 - share) * unit["site.cold_water"]
    unit.set("tank.fill", 1.0)
    for element in unit.model.of_type("element"):
        unit.set(f"{element}.dry_heat", 0.0)
    settle(unit)
