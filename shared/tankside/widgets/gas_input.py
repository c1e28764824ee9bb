"""The orifice calculator of lesson 7: a view of the library's gas functions, with no formula of its own."""

from __future__ import annotations

from typing import Any, cast

from tankside.measures import amount, chosen
from tankside.physics.fuels import fuel as fuel_named
from tankside.physics.fuels import specific_gravity
from tankside.physics.gas import (
    Rule,
    altitude_bore_si,
    altitude_derate,
    heat_input,
    nearest_drill,
    orifice_diameter,
    orifice_flow,
)
from tankside.units import quantity
from tankside.widgets.calculator import Calculator, Rows

FUELS = (["propane", "propane"], ["butane", "butane"], ["methane", "methane (most of natural gas)"])
"""What can be chosen, by the library's names."""
DERATES = (
    ["above sea level", "4 % for each 1000 ft above the sea"],
    ["above 2000 ft", "4 % for each 1000 ft above 2000 ft"],
    ["none", "none"],
)
NEAR = 5.0
"""% from the wanted input that counts as near (a figure of ours; the maker's decides)."""


def fields(system: str | None = None) -> list[dict[str, Any]]:
    """What is typed, in the learner's measures; U.S. customary for who reads both."""
    si = (chosen() if system is None else system) == "si"
    hole = {"unit": "mm", "low": 0.35, "high": 1.5, "step": 0.005, "start": 0.915}
    push = {"unit": "mbar", "low": 1.5, "high": 60, "step": 0.5, "start": 27.5}
    plate = {"unit": "kW", "low": 0.5, "high": 12, "step": 0.05, "start": 2.95}
    height = {"unit": "m", "low": 0, "high": 4000, "step": 50, "start": 0}
    if not si:
        hole = {"unit": "in.", "low": 0.0135, "high": 0.06, "step": 0.0005, "start": 0.036}
        push = {"unit": "in. WC", "low": 0.5, "high": 25, "step": 0.5, "start": 11}
        plate = {"unit": "BTU/h", "low": 2000, "high": 40000, "step": 100, "start": 10000}
        height = {"unit": "ft", "low": 0, "high": 13000, "step": 100, "start": 0}
    return [
        {"id": "gas", "label": "Gas", "choices": [list(row) for row in FUELS], "start": "propane"},
        {"id": "hole", "label": "Hole of the jet", **hole},
        {"id": "pressure", "label": "Running pressure", **push},
        {"id": "plate", "label": "Input on the data plate", **plate},
        {"id": "altitude", "label": "Height above the sea", **height},
        {"id": "rule", "label": "Rule for height", "choices": [list(row) for row in DERATES], "start": "above sea level"},
    ]  # fmt: skip


def orifice_input(
    gas: str,
    hole: float,
    pressure: float,
    plate: float,
    altitude: float,
    rule: str,
    system: str | None = None,
) -> Rows:
    """Rows of the calculator.

    Parameters
    ----------
    gas : "propane", "butane" or "methane"
    hole : of the jet, 0.0135 to 0.06 in; mm in SI
    pressure : running, at the jet, 0.5 to 25 in. WC; mbar in SI (from 1.5)
    plate : input on the data plate, 2000 to 40 000 BTU/h; kW in SI
    altitude : 0 to 13 000 ft; m in SI
    rule : "above sea level", "above 2000 ft" or "none"
    system : "us", "si", "both"; None for the learner's choice

    Raises
    ------
    ValueError
        A value out of range; says which.
    """
    system = chosen() if system is None else system
    si = system == "si"
    one, height = fuel_named(gas), quantity(altitude, "m" if si else "ft")
    bore, push = quantity(hole, "mm" if si else "in"), quantity(pressure, "mbar" if si else "inWC")
    gravity = specific_gravity(one)
    flow = orifice_flow(bore, push, gravity, altitude=height)
    sea = orifice_flow(bore, push, gravity)
    made = float(heat_input(flow, one).to("BTU_per_hour").magnitude)
    at_sea = float(heat_input(sea, one).to("BTU_per_hour").magnitude)
    less = float(altitude_derate(height, cast(Rule, rule)).magnitude)
    rated = float(quantity(plate, "kilowatt" if si else "BTU_per_hour").to("BTU_per_hour").magnitude)
    # Tables of jets are made for sea level. There thin air takes nothing, so the jet is counted without its share.
    allowed = rated * float(altitude_bore_si(height.to("m").magnitude, cast(Rule, rule))) ** 2
    wanted = orifice_diameter(sea * (allowed / at_sea), push, gravity)
    inch = float(wanted.to("in").magnitude)
    off = 100 * (at_sea / allowed - 1)
    drill = f"No. {nearest_drill(wanted)}" if 0.013 <= inch <= 0.060 else "outside of drills 80 to 53"

    def heat(value: float) -> str:
        return amount(value, "BTU_per_hour", "heat rate", system)

    def row(label: str, text: str, how: str, mark: str = "") -> dict[str, Any]:
        return {"label": label, "text": text, "how": how, "mark": mark}

    verdict = "near enough" if abs(off) <= NEAR else "TOO MUCH GAS" if off > 0 else "too little gas"
    return [
        {"group": "This jet"},
        row("Gas flow", amount(float(flow.magnitude), "cfh", "gas flow", system), "area of the hole × root of the pressure, at this height"),
        row("Heat input here", heat(made), "gas flow × heat in the gas"),
        row("The same jet at sea level", heat(at_sea), "tables of jets are made for sea level"),
        {"group": "Against the data plate"},
        row("The rule takes off", f"{less:.0f} %", "of the plate, at this height"),
        row("So the jet should be made for", heat(allowed), "counted at sea level: up here thin air takes its share by itself"),
        row("This jet is off by", f"{off:+.0f} %" if abs(off) >= 0.5 else "0 %", verdict, "good" if abs(off) <= NEAR else "bad"),
        row("Hole for that", amount(inch, "in", "small length", system), f"nearest drill: {drill}"),
    ]  # fmt: skip


def orifice_calculator() -> Calculator:
    """The calculator of lesson 7: gas flow and heat input of a jet, against the plate and the height."""
    return Calculator("Calculator for jet, pressure and heat input", fields(), orifice_input)
