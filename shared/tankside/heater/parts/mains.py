"""Parts of the mains side: supply, breaker, switches, limit chain, splices."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from tankside.heater.parts.base import (
    OPEN,
    Array,
    Feed,
    Getter,
    Parameter,
    PartType,
    Path,
    bond,
    contact,
    flag,
    resistance,
)


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
        "hot_resistance": resistance("resistance of the hot conductor back to the transformer", 0.15),
        "neutral_resistance": resistance("resistance of the neutral conductor back to the transformer", 0.15),
        "ground_resistance": resistance("resistance of the grounding conductor back to the panel", 0.2),
        "crossed": flag("1 if hot and neutral are swapped at the outlet"),
    },
    {"plugged": 1.0},
    (
        Path("hot to hot", "source", "hot", _crossing("hot_resistance", False)),
        Path("hot to neutral", "source", "neutral", _crossing("hot_resistance", True)),
        Path("neutral to neutral", "earth", "neutral", _crossing("neutral_resistance", False)),
        Path("neutral to hot", "earth", "hot", _crossing("neutral_resistance", True)),
        Path("ground", "earth", "ground", bond("ground_resistance")),
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

BREAKER = contact(
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
SWITCH = contact("switch", {}, ("on", "off"))
THERMOSTAT = contact(
    "thermostat",
    {
        "opens_at": Parameter("degC", 0.0, 99.0, "water temperature at which it opens on rise"),
        "closes_at": Parameter("degC", 0.0, 99.0, "water temperature at which it closes again on fall"),
    },
)
HIGH_LIMIT = contact(
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
        "hot_splice": resistance("resistance of the hot splice", 0.005),
        "neutral_splice": resistance("resistance of the neutral splice", 0.005),
    },
    {},
    (
        Path("hot splice", "hot_in", "hot_out", bond("hot_splice")),
        Path("neutral splice", "neutral_in", "neutral_out", bond("neutral_splice")),
    ),
)

LINK_BAR = PartType(
    "link bar",
    {"line": "line side", "load": "load side"},
    {"resistance": resistance("resistance of the bar and its two screws", 0.002)},
    {},
    (Path("bar", "line", "load", bond("resistance")),),
)

TYPES = (MAINS_SUPPLY, BREAKER, SWITCH, THERMOSTAT, HIGH_LIMIT, SPLICE_BOX, LINK_BAR)
