"""Parts of the 12 V side: battery, converter, fuse, panel switch, limit chain, ground, board, valve, electrodes."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from tankside.heater.parts.base import (
    CONTACT,
    OPEN,
    Array,
    Feed,
    Getter,
    Parameter,
    PartType,
    Path,
    bond,
    closed,
    contact,
    flag,
    resistance,
)

ABSENT = 1e9
"""Ohm inside a source that gives nothing."""


def _battery_emf(get: Getter) -> Array:
    """At rest, 11.6 V empty to 12.7 V full, in between straight.

    A rule of thumb (lists.ettus.com) has 12.6, 12.4, 12.2, 12.0, 11.6 V at full, three quarters, half, a quarter, empty:
    the straight line is within 0.13 V of it, the size of a meter's error at 1 %. Real ones bend down near empty. Surface
    charge, which reads high for hours after charging, is left out.
    """
    return 11.6 + 1.1 * get("charge")


def _battery_inner(get: Getter) -> Array:
    """An empty battery also has the higher inner resistance, about five times (common practice, no source)."""
    return get("inner_resistance") * (1.0 + 4.0 * (1.0 - get("charge")))


def _gives(get: Getter) -> Array:
    return ((get("powered") > 0) & (get("dead") <= 0)).astype(float)


BATTERY = PartType(
    "battery",
    {"plus": "plus", "minus": "minus"},
    {
        "charge": Parameter("", 0.0, 1.0, "share of its charge that is left", 0.9),
        "inner_resistance": resistance("inner resistance when full", 0.02),
    },
    {},
    feeds=(Feed("battery", "plus", "minus", "direct", _battery_emf, _battery_inner),),
)

CONVERTER = PartType(
    "converter",
    {"line": "line", "neutral": "neutral", "plus": "plus", "minus": "minus"},
    {
        "volts": Parameter("V", 10.0, 15.0, "direct voltage that it gives", 13.6),
        "inner_resistance": resistance("inner resistance of its output", 0.05),
        "idle_resistance": resistance("what it looks like to the mains", 2000.0),
        "needs": Parameter("V", 50.0, 200.0, "alternating voltage from which it works", 95.0),
        "dead": flag("1 if it gives nothing"),
    },
    {"powered": 0.0},
    (Path("input", "line", "neutral", bond("idle_resistance")),),
    (
        Feed(
            "converter",
            "plus",
            "minus",
            "direct",
            lambda get: np.where(_gives(get) > 0, get("volts"), 0.0),
            lambda get: np.where(_gives(get) > 0, get("inner_resistance"), ABSENT),
        ),
    ),
)

FUSE = PartType(
    "fuse",
    {"line": "line side", "load": "load side"},
    {
        "resistance": resistance("resistance of the fuse and its clips", 0.01),
        "rating": Parameter("A", 0.1, 60.0, "current it carries for ever"),
    },
    {"blown": 0.0},
    (Path("fuse", "line", "load", lambda get: np.where(get("blown") > 0, OPEN, 1 / get("resistance"))),),
)

PANEL_SWITCH = PartType(
    "12 V panel switch",
    {"line": "line side", "load": "load side", "lamp": "fault lamp", "ground": "ground"},
    {
        **CONTACT,
        "lamp_resistance": resistance("fault lamp with its resistor", 470.0),
        "lights_from": Parameter("A", 1e-4, 1.0, "current from which the lamp is seen to glow", 0.006),
    },
    {"closed": 1.0},
    (Path("contact", "line", "load", closed), Path("lamp", "lamp", "ground", bond("lamp_resistance"))),
    positions=("on", "off"),
)

THERMOSTAT = contact(
    "12 V thermostat",
    {
        "opens_at": Parameter("degC", 0.0, 99.0, "water temperature at which it opens on rise"),
        "closes_at": Parameter("degC", 0.0, 99.0, "water temperature at which it closes again on fall"),
    },
)
HIGH_LIMIT = contact(
    "12 V high limit",
    {"opens_at": Parameter("degC", 0.0, 120.0, "water temperature at which it opens, once")},
    tripped=0.0,
)
LINK_BAR = PartType(
    "12 V link bar",
    {"line": "line side", "load": "load side"},
    {"resistance": resistance("resistance of the bar and its two screws", 0.003)},
    {},
    (Path("bar", "line", "load", bond("resistance")),),
)

GROUND_STUD = PartType(
    "ground stud",
    {"heater": "heater side", "return": "return side"},
    {"resistance": resistance("resistance of the stud and its lugs", 0.004)},
    {},
    (Path("stud", "heater", "return", bond("resistance")),),
)

HARNESS_PLUG = PartType(
    "harness plug",
    {
        "supply_in": "supply pin, panel side",
        "supply_out": "supply pin, heater side",
        "lamp_in": "lamp pin, heater side",
        "lamp_out": "lamp pin, panel side",
    },
    {
        "supply_pin": resistance("resistance of the supply pin", 0.005),
        "lamp_pin": resistance("resistance of the lamp pin", 0.005),
    },
    {},
    (
        Path("supply pin", "supply_in", "supply_out", bond("supply_pin")),
        Path("lamp pin", "lamp_in", "lamp_out", bond("lamp_pin")),
    ),
)


def _when(state: str, ohms: str) -> Callable[[Getter], Array]:
    return lambda get: np.where(get(state) > 0, 1.0 / get(ohms), OPEN)


def _idle(get: Getter) -> Array:
    return np.where(get("dead") > 0, 1e-6, 1.0 / get("idle_resistance"))


CONTROL_BOARD = PartType(
    "control board",
    {
        "supply": "supply",
        "ground": "ground",
        "valve": "valve output",
        "lamp": "lamp output",
        "sense": "flame sense",
        "spark": "spark output",
    },
    {
        "idle_resistance": resistance("what its logic draws, as a resistance", 80.0),
        "spark_resistance": resistance("what its spark generator draws, as a resistance", 24.0),
        "relay_resistance": resistance("closed contact of the valve relay", 0.05),
        "lamp_resistance": resistance("of its lamp output when on", 10.0),
        "min_volts": Parameter("V", 1.0, 11.0, "supply under which its logic stops", 6.0),
        "start_volts": Parameter("V", 1.0, 12.0, "supply from which its logic starts", 7.5),
        "full_volts": Parameter("V", 5.0, 13.0, "supply at which the spark has its full voltage", 11.0),
        "spark_volts": Parameter("V", 1e3, 4e4, "open-circuit voltage of the spark", 14e3),
        "spark_source": resistance("inner resistance of the spark generator", 1e6),
        "spark_coil": resistance("spark output to ground, at rest", 4700.0),
        "pulse": Parameter("s", 1e-6, 1e-3, "length of one spark pulse", 5e-5),
        "sense_volts": Parameter("V", 10.0, 300.0, "alternating voltage on the flame rod, r.m.s.", 90.0),
        "sense_source": resistance("inner resistance of the sensing output", 2e6),
        "sense_input": resistance("sensing output to ground, at rest", 5e6),
        "sense_threshold": Parameter("uA", 0.05, 10.0, "direct current from which it believes a flame", 0.7),
        "dead": flag("1 if its logic is dead"),
        "no_spark": flag("1 if its spark generator gives nothing"),
        "relay_fails": flag("1 if the valve relay doesn't pull in"),
        "sense_failed": flag("1 if it no longer sees a flame that is there"),
    },
    {
        "state": 0.0,
        "timer": 0.0,
        "tries": 0.0,
        "relights": 0.0,
        "relay": 0.0,
        "sparking": 0.0,
        "lamp_on": 0.0,
        "volts": 0.0,
        "spark_jumps": 0.0,
        "flame_current": 0.0,
    },
    (
        Path("logic", "supply", "ground", _idle),
        Path("spark generator", "supply", "ground", _when("sparking", "spark_resistance")),
        Path("valve relay", "supply", "valve", _when("relay", "relay_resistance")),
        Path("lamp output", "supply", "lamp", _when("lamp_on", "lamp_resistance")),
        Path("sensing output", "sense", "ground", bond("sense_input")),
        Path("spark coil", "spark", "ground", bond("spark_coil")),
    ),
)

GAS_VALVE = PartType(
    "gas valve",
    {"coil_1": "solenoid 1", "coil_2": "solenoid 2", "ground": "ground"},
    {
        "coil_1_resistance": resistance("of the first solenoid's coil", 48.0),
        "coil_2_resistance": resistance("of the second solenoid's coil", 48.0),
        "pull_current": Parameter("A", 0.01, 2.0, "through a coil, from which its plunger lifts", 0.15),
        "hold_current": Parameter("A", 0.005, 2.0, "through a coil, below which its plunger drops", 0.06),
        "stuck_shut_1": flag("1 if the first seat never opens"),
        "stuck_shut_2": flag("1 if the second seat never opens"),
        "stuck_open_1": flag("1 if the first seat never shuts"),
        "stuck_open_2": flag("1 if the second seat never shuts"),
        "leak_by": Parameter("", 0.0, 1.0, "share of the full flow that passes the shut seats", 0.0),
    },
    {"pulled_1": 0.0, "pulled_2": 0.0, "open": 0.0},
    (
        Path("coil 1", "coil_1", "ground", bond("coil_1_resistance")),
        Path("coil 2", "coil_2", "ground", bond("coil_2_resistance")),
    ),
)

IGNITER = PartType(
    "igniter",
    {"electrode": "electrode", "bracket": "bracket"},
    {
        "gap": Parameter("mm", 0.05, 12.0, "from the tip to the burner", 3.2),
        "quench": Parameter("mm", 0.0, 5.0, "gap under which the cold metal puts the kernel out", 1.8),
        "insulator": resistance("electrode to bracket over its insulator", 1e12),
    },
    {},
    (Path("insulator", "electrode", "bracket", bond("insulator")),),
)

FLAME_SENSOR = PartType(
    "flame sensor",
    {"rod": "rod", "burner": "burner face", "bracket": "bracket"},
    {
        "flame": Parameter("S", 1e-9, 1e-6, "conductance of a flame that wraps the rod well", 1e-7),
        "area_ratio": Parameter("", 1.0, 100.0, "burner over rod, where the flame touches them", 4.0),
        "fouling": resistance("of what has grown on the rod, to the flame", 1e3),
        "insulator": resistance("rod to burner over its insulator", 1e12),
        "burner_ground": resistance("burner to bracket", 0.02),
    },
    {},
    (
        Path("insulator", "rod", "burner", bond("insulator")),
        Path("burner ground", "burner", "bracket", bond("burner_ground")),
    ),
)

TYPES = (
    BATTERY,
    CONVERTER,
    FUSE,
    PANEL_SWITCH,
    THERMOSTAT,
    HIGH_LIMIT,
    LINK_BAR,
    GROUND_STUD,
    HARNESS_PLUG,
    CONTROL_BOARD,
    GAS_VALVE,
    IGNITER,
    FLAME_SENSOR,
)
