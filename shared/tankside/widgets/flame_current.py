"""A calculator for the current that proves a flame: what lowers it, and what the board makes of it."""

from __future__ import annotations

from functools import cache
from typing import Any

import numpy as np

from tankside.heater.model import load_model
from tankside.physics.ignition import rectified_si, spark_voltage_si
from tankside.widgets.calculator import Calculator

MODEL = "teal_10"
WEAK = 1.0
"""µA under which a flame's signal counts as weak (slides of a 2002 conference, ``tests/published/ignition.toml``)."""
CLEAN = 1e12
"""Ω over an insulator that is clean and dry."""

FIELDS: tuple[dict[str, Any], ...] = (
    {"id": "flame", "label": "Flame around the rod, of a good one", "unit": "%", "low": 0, "high": 100, "step": 5, "start": 100},
    {"id": "dirt", "label": "Dirt on the rod", "unit": "MΩ", "low": 0, "high": 300, "step": 1, "start": 0},
    {"id": "ground", "label": "Rust between burner and bracket", "unit": "MΩ", "low": 0, "high": 300, "step": 1, "start": 0},
    {"id": "leak", "label": "Rod to burner over the insulator", "start": CLEAN,
     "choices": [[CLEAN, "clean and dry: open"], [1e6, "1 MΩ"], [3e5, "300 kΩ"], [1e5, "100 kΩ"], [3e4, "30 kΩ"]]},
)  # fmt: skip
"""What is typed: its unit, lowest and highest value, and where it starts."""


@cache
def _nominal() -> dict[str, float]:
    return dict(load_model(MODEL).nominal)


def believes() -> float:
    """µA direct from which the model's board believes a flame."""
    return _nominal()["control_board.sense_threshold"]


def flame_microamps(
    flame: float = 1.0, dirt: float = 0.0, ground: float = 0.0, leak: float = CLEAN
) -> tuple[float, float]:
    """(µA direct, µA alternating) in the flame rod's lead of the model's board.

    Parameters
    ----------
    flame : 0 to 1, share of a flame that wraps the rod well
    dirt, ground : 0 or more, ohm on the rod, and between burner and bracket
    leak : more than 0, ohm from rod to burner over the insulator

    Raises
    ------
    ValueError
        A value out of range; says which.
    """
    if not 0.0 <= flame <= 1.0:
        raise ValueError(f"flame is {flame:g}: a share from 0 to 1")
    if not (dirt >= 0.0 and ground >= 0.0 and leak > 0.0):
        raise ValueError("ohms can't be below nothing, and an insulator has some")
    n = _nominal()
    volts = spark_voltage_si(n["control_board.sense_volts"], n["control_board.sense_source"], leak)
    there = n["flame_sensor.flame"] * flame
    series = n["flame_sensor.fouling"] + dirt + n["flame_sensor.burner_ground"] + ground
    direct, rest = rectified_si(volts, there, there / n["flame_sensor.area_ratio"], series, leak)
    return float(1e6 * np.maximum(direct, 0.0)), float(1e6 * rest)


def flame_signal(flame: float, dirt: float, ground: float, leak: float) -> list[dict[str, Any]]:
    """Rows of the calculator.

    Parameters
    ----------
    flame : 0 to 100 % of a good flame around the rod
    dirt, ground : 0 to 300 MΩ
    leak : ohm from rod to burner, one of the choices

    Raises
    ------
    ValueError
        A value out of range; says which.
    """
    direct, rest = flame_microamps(flame / 100.0, 1e6 * dirt, 1e6 * ground, leak)
    needs = believes()
    verdict = (
        "no flame: it locks out"
        if direct < needs
        else "a flame, but only just"
        if direct < WEAK
        else "a flame"
    )
    return [
        {"group": "In series with the rod's lead"},
        {
            "label": "Meter on µA direct",
            "text": f"{direct:.2f} µA",
            "how": f"{100 * (direct / flame_microamps()[0]):.0f} % of a good one",
            "mark": "good" if direct >= WEAK else "bad",
        },
        {
            "label": "Meter on µA alternating",
            "text": f"{rest:.2f} µA",
            "how": "this proves nothing",
            "mark": "",
        },
        {"group": "What comes of it"},
        {
            "label": "The board sees",
            "text": verdict,
            "how": f"it believes a flame from {needs:g} µA",
            "mark": "good" if direct >= WEAK else "bad",
        },
    ]


def flame_calculator() -> Calculator:
    """The calculator of lesson 6: flame, dirt, rust and a cracked insulator, and the microamps that are left."""
    return Calculator("Calculator for the flame's current", FIELDS, flame_signal)
