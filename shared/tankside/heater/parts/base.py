"""Part types: the terminals, the parameters and the electrical paths of each kind of part.

A part's *parameters* are its hidden condition (a resistance, a contact's state); a fault
changes them. Its *states* are what time and hands change (switched on, tripped, burnt).
Both are arrays over the batch, so that one description serves one heater or a thousand.
No part knows a fault's name, and none knows a meter.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Getter = Callable[[str], Array]

SHARED_NODES = ("earth", "tank water")
"""Nodes that no single part owns."""

OPEN = 1e-11
"""S across an open contact or a broken wire: 100 GΩ of air and dust."""


@dataclass(frozen=True)
class Parameter:
    """One number that describes a part: its unit, valid range and what it is."""

    unit: str
    low: float
    high: float
    text: str
    default: float | None = None


@dataclass(frozen=True)
class Path:
    """A conductance inside a part, from terminal ``a`` to terminal ``b``; ``value`` gives siemens."""

    name: str
    a: str
    b: str
    value: Callable[[Getter], Array]


@dataclass(frozen=True)
class Feed:
    """A voltage source inside a part: e.m.f. in volts and inner resistance in ohms."""

    name: str
    a: str
    b: str
    drive: str
    emf: Callable[[Getter], Array]
    inner: Callable[[Getter], Array]


@dataclass(frozen=True)
class PartType:
    """A kind of part. ``hidden`` terminals exist in the network but can't be probed."""

    name: str
    terminals: dict[str, str]
    parameters: dict[str, Parameter]
    states: dict[str, float]
    paths: tuple[Path, ...] = ()
    feeds: tuple[Feed, ...] = ()
    hidden: tuple[str, ...] = ()
    positions: tuple[str, ...] = ()
    """Words for the positions of what a hand can move: made, then broken."""
    moves: str = "closed"
    """The state that the hand moves."""


def resistance(text: str, default: float | None, low: float = 1e-6, high: float = 1e12) -> Parameter:
    return Parameter("ohm", low, high, text, default)


def flag(text: str) -> Parameter:
    return Parameter("", 0.0, 1.0, text, 0.0)


def closed(get: Getter) -> Array:
    """A contact conducts when it is welded, or when it is told to be closed and isn't stuck open."""
    closed = (get("welded") > 0) | ((get("closed") > 0) & (get("stuck_open") <= 0))
    return np.where(closed, 1.0 / get("contact_resistance"), OPEN)


CONTACT = {
    "contact_resistance": resistance("resistance of the closed contact", 0.01),
    "stuck_open": flag("1 if the contact never closes"),
    "welded": flag("1 if the contact never opens"),
}


def contact(
    name: str, extra: dict[str, Parameter], positions: tuple[str, ...] = (), **states: float
) -> PartType:
    return PartType(
        name,
        {"line": "line side", "load": "load side"},
        {**CONTACT, **extra},
        {"closed": 1.0, **states},
        (Path("contact", "line", "load", closed),),
        positions=positions,
    )


def bond(key: str) -> Callable[[Getter], Array]:
    return lambda get: 1.0 / get(key)


def in_water(ohms: float) -> Callable[[Getter], Array]:
    """Bare metal in the water: so many ohms at 500 µS/cm while the water covers it."""
    return lambda get: np.where(get("covered") > 0, get("water_conductivity") / ohms, OPEN)
