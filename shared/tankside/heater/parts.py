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


def _resistance(text: str, default: float | None, low: float = 1e-6, high: float = 1e12) -> Parameter:
    return Parameter("ohm", low, high, text, default)


def _flag(text: str) -> Parameter:
    return Parameter("", 0.0, 1.0, text, 0.0)


def _closed(get: Getter) -> Array:
    """A contact conducts when it is welded, or when it is told to be closed and isn't stuck open."""
    closed = (get("welded") > 0) | ((get("closed") > 0) & (get("stuck_open") <= 0))
    return np.where(closed, 1.0 / get("contact_resistance"), OPEN)


_CONTACT = {
    "contact_resistance": _resistance("resistance of the closed contact", 0.01),
    "stuck_open": _flag("1 if the contact never closes"),
    "welded": _flag("1 if the contact never opens"),
}


def _contact(
    name: str, extra: dict[str, Parameter], positions: tuple[str, ...] = (), **states: float
) -> PartType:
    return PartType(
        name,
        {"line": "line side", "load": "load side"},
        {**_CONTACT, **extra},
        {"closed": 1.0, **states},
        (Path("contact", "line", "load", _closed),),
        positions=positions,
    )


def _bond(key: str) -> Callable[[Getter], Array]:
    return lambda get: 1.0 / get(key)


def _crossing(key: str, crossed: bool) -> Callable[[Getter], Array]:
    """Through the plug, straight or swapped at the outlet."""

    def value(get: Getter) -> Array:
        made = ((get("crossed") > 0) == crossed) & (get("plugged") > 0)
        return np.where(made, 1.0 / get(key), OPEN)

    return value


MAINS_SUPPLY = PartType(
    "mains supply",
    {"hot": "hot", "neutral": "neutral", "ground": "ground"},
    {
        "voltage": Parameter("V", 0.0, 300.0, "open-circuit voltage of the site"),
        "hot_resistance": _resistance("resistance of the hot conductor back to the transformer", 0.15),
        "neutral_resistance": _resistance(
            "resistance of the neutral conductor back to the transformer", 0.15
        ),
        "ground_resistance": _resistance("resistance of the grounding conductor back to the panel", 0.2),
        "crossed": _flag("1 if hot and neutral are swapped at the outlet"),
    },
    {"plugged": 1.0},
    (
        Path("hot to hot", "source", "hot", _crossing("hot_resistance", False)),
        Path("hot to neutral", "source", "neutral", _crossing("hot_resistance", True)),
        Path("neutral to neutral", "earth", "neutral", _crossing("neutral_resistance", False)),
        Path("neutral to hot", "earth", "hot", _crossing("neutral_resistance", True)),
        Path("ground", "earth", "ground", _bond("ground_resistance")),
    ),
    (
        Feed(
            "mains",
            "source",
            "earth",
            "alternating",
            lambda get: get("voltage"),
            lambda get: 0.0 * get("voltage"),
        ),
    ),
    hidden=("source",),
    positions=("in", "out"),
    moves="plugged",
)

BREAKER = _contact(
    "breaker",
    {
        "rating": Parameter("A", 1.0, 100.0, "current it carries for ever"),
        "time_constant": Parameter("s", 1.0, 600.0, "of its bimetal", 60.0),
        "trips_at": Parameter("", 1.0, 5.0, "heat at which it trips, in squares of the rating", 1.3),
        "residual": Parameter("A", 1e-3, 1e3, "current to ground at which it trips at once", 0.03),
    },
    ("on", "off"),
    heat=0.0,
    tripped=0.0,
)
SWITCH = _contact("switch", {}, ("on", "off"))
THERMOSTAT = _contact(
    "thermostat",
    {
        "opens_at": Parameter("degC", 0.0, 99.0, "water temperature at which it opens on rise"),
        "closes_at": Parameter("degC", 0.0, 99.0, "water temperature at which it closes again on fall"),
    },
)
HIGH_LIMIT = _contact(
    "high limit",
    {"opens_at": Parameter("degC", 0.0, 120.0, "water temperature at which it opens, once")},
    tripped=0.0,
)

SPLICE_BOX = PartType(
    "splice box",
    {
        "hot_in": "hot (supply side)",
        "hot_out": "hot (heater side)",
        "neutral_in": "neutral (supply side)",
        "neutral_out": "neutral (heater side)",
        "ground": "ground",
    },
    {
        "hot_splice": _resistance("resistance of the hot splice", 0.005),
        "neutral_splice": _resistance("resistance of the neutral splice", 0.005),
    },
    {},
    (
        Path("hot splice", "hot_in", "hot_out", _bond("hot_splice")),
        Path("neutral splice", "neutral_in", "neutral_out", _bond("neutral_splice")),
    ),
)

LINK_BAR = PartType(
    "link bar",
    {"line": "line side", "load": "load side"},
    {"resistance": _resistance("resistance of the bar and its two screws", 0.002)},
    {},
    (Path("bar", "line", "load", _bond("resistance")),),
)


def _half(other: bool) -> Callable[[Getter], Array]:
    def value(get: Getter) -> Array:
        part = get("breach_position")
        if other:
            part = 1.0 - part
        ohms = get("resistance") * get("hot_factor") * part
        return np.where(get("burnt") > 0, OPEN, 1.0 / ohms)

    return value


def _breach(get: Getter) -> Array:
    """Water bridges a breached sheath, in proportion to how well the site's water conducts."""
    wet = (get("covered") > 0) & (get("breached") > 0)
    return np.where(wet, get("water_conductivity") / get("breach_wet"), OPEN)


def _in_water(ohms: float) -> Callable[[Getter], Array]:
    """Bare metal in the water: so many ohms at 500 µS/cm while the water covers it."""
    return lambda get: np.where(get("covered") > 0, get("water_conductivity") / ohms, OPEN)


ELEMENT = PartType(
    "element",
    {"1": "terminal 1", "2": "terminal 2", "sheath": "sheath"},
    {
        "resistance": _resistance("cold resistance of the coil", None),
        "breach_position": Parameter(
            "", 0.01, 0.99, "where along the coil the sheath is breached, from terminal 1", 0.5
        ),
        "breached": _flag("1 if the sheath is breached"),
        "breach_wet": _resistance(
            "resistance from the coil through the breach with water at 500 µS/cm in it", 5e3
        ),
        "breach_dry": _resistance("resistance from the coil to the sheath when dry", 5e9),
        "thermal_resistance": Parameter("K/W", 0.0, 5.0, "coil above water, per watt, covered", 0.22),
        "heat_capacity": Parameter("J/K", 1.0, 5e3, "of coil, packing and sheath", 170.0),
        "height": Parameter("", 0.0, 1.0, "share of the tank that must be full to cover it", 0.3),
        "burnout_temperature": Parameter("degC", 300.0, 1400.0, "at which the coil parts", 950.0),
    },
    {"burnt": 0.0, "hot_factor": 1.0, "covered": 1.0, "water_conductivity": 1.0, "dry_heat": 0.0},
    (
        Path("coil, first part", "1", "breach", _half(other=False)),
        Path("coil, second part", "breach", "2", _half(other=True)),
        Path("packing", "breach", "sheath", _bond("breach_dry")),
        Path("breach", "breach", "tank water", _breach),
        Path("sheath in water", "sheath", "tank water", _in_water(40.0)),
    ),
    hidden=("breach",),
)

TANK = PartType(
    "tank",
    {"shell": "shell"},
    {
        "volume": Parameter("m^3", 1e-3, 1.0, "water that fits"),
        "loss": Parameter("W/K", 0.05, 50.0, "heat lost for each kelvin above the room"),
    },
    {"fill": 1.0, "temperature": 10.0, "covered": 1.0, "water_conductivity": 1.0},
    (Path("water on steel", "tank water", "shell", _in_water(5.0)),),
)

PART_TYPES: dict[str, PartType] = {
    t.name: t
    for t in (MAINS_SUPPLY, BREAKER, SWITCH, THERMOSTAT, HIGH_LIMIT, SPLICE_BOX, LINK_BAR, ELEMENT, TANK)
}
