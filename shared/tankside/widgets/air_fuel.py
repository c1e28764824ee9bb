"""The air and fuel calculator of lesson 8: a view of the library's combustion functions, with no formula of its own."""

from __future__ import annotations

from typing import Any

from tankside.measures import amount, chosen
from tankside.physics.carbon_monoxide import limits, monoxide_made, within_limit
from tankside.physics.combustion import air_free, air_need, flue_gas
from tankside.physics.combustion_heat import stack_loss
from tankside.physics.fuels import fuel as fuel_named
from tankside.physics.fuels import heating_value
from tankside.units import quantity, significant
from tankside.widgets.calculator import Calculator, Rows

FUELS = (["propane", "propane"], ["butane", "butane"], ["methane", "methane (most of natural gas)"])
"""What can be chosen, by the library's names."""


def fields(system: str | None = None) -> list[dict[str, Any]]:
    """What is typed, in the learner's measures; U.S. customary for who reads both."""
    si = (chosen() if system is None else system) == "si"
    heat = {"unit": "kW", "low": 0.5, "high": 60, "step": 0.1, "start": 3}
    hot = {"unit": "°C", "low": 50, "high": 600, "step": 1, "start": 260}
    room = {"unit": "°C", "low": -20, "high": 50, "step": 1, "start": 20}
    if not si:
        heat = {"unit": "BTU/h", "low": 2000, "high": 200000, "step": 100, "start": 10000}
        hot = {"unit": "°F", "low": 120, "high": 1100, "step": 1, "start": 500}
        room = {"unit": "°F", "low": 0, "high": 120, "step": 1, "start": 70}
    return [
        {"id": "gas", "label": "Gas", "choices": [list(row) for row in FUELS], "start": "propane"},
        {"id": "heat", "label": "Gas input", **heat},
        {"id": "excess", "label": "Air on top of the need", "unit": "%", "low": 0, "high": 300, "step": 1, "start": 50},
        {"id": "flue", "label": "Stack temperature", **hot},
        {"id": "room", "label": "Air in the room", **room},
        {"id": "monoxide", "label": "CO on the analyzer", "unit": "ppm", "low": 0, "high": 10000, "step": 1, "start": 20},
    ]  # fmt: skip


def air_fuel(
    gas: str, heat: float, excess: float, flue: float, room: float, monoxide: float, system: str | None = None
) -> Rows:
    """Rows of the calculator.

    Parameters
    ----------
    gas : "propane", "butane" or "methane"
    heat : gas input, 2000 to 200 000 BTU/h; kW in SI
    excess : air on top of the need, 0 to 300 %
    flue : stack temperature, 120 to 1100 °F; °C in SI
    room : the air that burns, 0 to 120 °F; °C in SI
    monoxide : carbon monoxide as the analyzer shows it, 0 to 10 000 ppm
    system : "us", "si", "both"; None for the learner's choice

    Raises
    ------
    ValueError
        A value out of range; says which.
    """
    system = chosen() if system is None else system
    power, degree = ("kilowatt", "degC") if system == "si" else ("BTU_per_hour", "degF")
    one, extra = fuel_named(gas), quantity(excess, "percent")
    flow = (quantity(heat, power) / heating_value(one)).to("cfh")
    need, leaves = air_need(one).volume, flue_gas(one, extra)
    oxygen, reading = leaves.dry["O2"], quantity(monoxide, "ppm")
    loss = stack_loss(
        one, quantity(flue, degree), oxygen, room=quantity(room, degree), carbon_monoxide=reading
    )
    free = air_free(reading, oxygen)
    good = monoxide_made(one, extra).magnitude

    def per_hour(volumes: float) -> str:
        return amount(float(flow.magnitude) * volumes, "cfh", "gas flow", system)

    def row(label: str, text: str, how: str, mark: str = "") -> dict[str, Any]:
        return {"label": label, "text": text, "how": how, "mark": mark}

    def against(name: str) -> dict[str, Any]:
        ok = within_limit(free, name)
        words = "within it" if ok else "OVER it"
        return row(
            f"Limit for {name}", words, f"{limits()[name].ppm:g} ppm air-free", "good" if ok else "bad"
        )

    return [
        {"group": "The air"},
        row("Gas burnt", per_hour(1.0), "input ÷ heat in the gas"),
        row("Air for one volume of gas", f"{need:.1f} volumes", "oxygen for each atom of the gas"),
        row("Air it needs", per_hour(need), "gas × that number"),
        row("Air it gets", per_hour(need * (1 + excess / 100)), f"{excess:g} % on top"),
        {"group": "The flue, if all of it burns"},
        row("O2", f"{oxygen.magnitude:.1f} %", "what the flame left over, dry"),
        row("CO2", f"{leaves.dry['CO2'].magnitude:.1f} %", "from the carbon in the gas, dry"),
        row("Water drips out below", amount(leaves.dew_point.magnitude, "degC", "temperature", system), "dew point"),
        row("CO from a well-mixed flame", f"{significant(good)} ppm", "air-free; a teaching model, no forecast"),
        {"group": "Your readings"},
        row("CO air-free", f"{significant(free.magnitude)} ppm", "as if no air had thinned it"),
        against("residential water heater"),
        against("vented heating equipment"),
        row("Efficiency", f"{loss.efficiency.magnitude:.1f} %", "heat that doesn't leave by the flue"),
    ]  # fmt: skip


def air_fuel_calculator() -> Calculator:
    """The calculator of lesson 8: air, flue gas, CO air-free and efficiency of a gas flame."""
    return Calculator("Calculator for air, fuel and flue gas", fields(), air_fuel)
