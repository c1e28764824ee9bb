"""Parts of a standing pilot: the thermocouple and the valve whose magnet it holds."""

from __future__ import annotations

from tankside.heater.parts.base import (
    CONTACT,
    Feed,
    Parameter,
    PartType,
    Path,
    bond,
    contact,
    flag,
    resistance,
)
from tankside.physics.ignition import type_k_si

THERMOCOUPLE = PartType(
    "thermocouple",
    {"lead": "lead", "sheath": "sheath"},
    {
        "strength": Parameter("", 0.0, 1.0, "share of a new one's voltage", 1.0),
        "inner_resistance": resistance("of the couple and its lead", 0.015),
        "in_flame": Parameter("degC", 20.0, 1000.0, "tip in a good pilot flame", 640.0),
        "time_constant": Parameter("s", 1.0, 120.0, "of its tip", 12.0),
    },
    {"tip": 640.0, "joint": 20.0},
    feeds=(
        Feed(
            "thermocouple",
            "lead",
            "sheath",
            "direct",
            lambda get: get("strength") * (type_k_si(get("tip") + 273.15) - type_k_si(get("joint") + 273.15)),
            lambda get: get("inner_resistance"),
        ),
    ),
)

PILOT_LIMIT = contact(
    "pilot high limit",
    {"opens_at": Parameter("degC", 0.0, 120.0, "water temperature at which it opens, once")},
    tripped=0.0,
)

PILOT_THERMOSTAT = PartType(
    "pilot thermostat",
    {},
    {
        "opens_at": Parameter("degC", 0.0, 99.0, "water temperature at which it shuts the burner's gas"),
        "closes_at": Parameter("degC", 0.0, 99.0, "water temperature at which it lets gas through again"),
        "stuck_open": CONTACT["stuck_open"],
        "welded": CONTACT["welded"],
    },
    {"closed": 1.0},
)

PILOT_VALVE = PartType(
    "pilot gas valve",
    {"magnet": "magnet connection", "body": "body"},
    {
        "magnet_resistance": resistance("of the electromagnet's coil", 0.015),
        "joint_resistance": resistance("where the thermocouple screws in", 0.002),
        "hold_current": Parameter("A", 0.01, 2.0, "that holds a freshly seated armature", 0.25),
        "drop_current": Parameter("A", 0.005, 2.0, "below which a held armature lets go", 0.12),
        "pilot_blocked": flag("1 if no gas reaches the pilot"),
        "leak_by": Parameter("", 0.0, 1.0, "share of the full flow that passes the shut seat", 0.0),
        "stuck_shut_1": flag("1 if the main seat never opens"),
    },
    {"knob": 1.0, "pressed": 0.0, "held": 1.0, "pilot": 1.0, "open": 0.0, "current": 0.0},
    (
        Path("joint", "magnet", "coil", bond("joint_resistance")),
        Path("magnet", "coil", "body", bond("magnet_resistance")),
    ),
    hidden=("coil",),
    positions=("on", "off"),
    moves="knob",
)

TYPES = (THERMOCOUPLE, PILOT_LIMIT, PILOT_THERMOSTAT, PILOT_VALVE)
