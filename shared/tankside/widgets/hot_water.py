"""The hot water calculator of lesson 9: a view of the library's laws on tanks and taps, with no formula of its own."""

from __future__ import annotations

from typing import Any

from tankside.measures import amount, chosen
from tankside.physics.hot_water import (
    SCALD,
    heat_to_warm,
    hot_fraction,
    legionella_range,
    scald_time,
)
from tankside.physics.tank_heat import time_to_temperature
from tankside.physics.water import expanded_volume
from tankside.units import quantity
from tankside.widgets.calculator import Calculator, Rows

COUNTED = 0.70
"""Share of a tank that the trade counts on (secondary pages; tests/published/water.toml)."""
GERMS = {
    "cold": "too cold for germs",
    "cool": "germs grow slowly",
    "growth": "germs GROW here",
    "warm": "germs hold on",
    "hot store": "germs die off",
}


def fields(system: str | None = None) -> list[dict[str, Any]]:
    """What is typed, in the learner's measures; U.S. customary for who reads both."""
    si = (chosen() if system is None else system) == "si"
    tank = {"unit": "L", "low": 5, "high": 400, "step": 1, "start": 45}
    cold = {"unit": "°C", "low": 4, "high": 30, "step": 1, "start": 13}
    hot = {"unit": "°C", "low": 35, "high": 90, "step": 1, "start": 57}
    heat = {"unit": "kW", "low": 0.3, "high": 30, "step": 0.1, "start": 2.6}
    mixed = {"unit": "°C", "low": 31, "high": 49, "step": 1, "start": 40}
    flow = {"unit": "L/min", "low": 1, "high": 20, "step": 0.1, "start": 5.7}
    if not si:
        tank = {"unit": "gal", "low": 2, "high": 100, "step": 1, "start": 12}
        cold = {"unit": "°F", "low": 40, "high": 86, "step": 1, "start": 55}
        hot = {"unit": "°F", "low": 95, "high": 194, "step": 1, "start": 135}
        heat = {"unit": "BTU/h", "low": 1000, "high": 100000, "step": 100, "start": 8800}
        mixed = {"unit": "°F", "low": 88, "high": 120, "step": 1, "start": 105}
        flow = {"unit": "gal/min", "low": 0.3, "high": 5, "step": 0.1, "start": 1.5}
    return [
        {"id": "tank", "label": "Tank", **tank},
        {"id": "cold", "label": "Cold water", **cold},
        {"id": "hot", "label": "Hot water in the tank", **hot},
        {"id": "heat", "label": "Heat into the water", **heat},
        {"id": "mixed", "label": "Shower, as you like it", **mixed},
        {"id": "flow", "label": "Flow of the shower", **flow},
    ]


def hot_water(
    tank: float, cold: float, hot: float, heat: float, mixed: float, flow: float, system: str | None = None
) -> Rows:
    """Rows of the calculator.

    Parameters
    ----------
    tank : 2 to 100 gal; L in SI
    cold : 40 to 86 °F; °C in SI
    hot : 95 to 194 °F, at least ``mixed``; °C in SI
    heat : into the water, 1000 to 100 000 BTU/h; kW in SI
    mixed : 88 to 120 °F; °C in SI
    flow : 0.3 to 5 gal/min; L/min in SI
    system : "us", "si", "both"; None for the learner's choice

    Raises
    ------
    ValueError
        A value out of range; says which.
    """
    system = chosen() if system is None else system
    gallon, degree, power, minute = ("L", "degC", "kilowatt", "L/minute") if system == "si" else ("gallon", "degF", "BTU_per_hour", "gpm")  # fmt: skip
    volume, low, high = quantity(tank, gallon), quantity(cold, degree), quantity(hot, degree)
    wish = quantity(mixed, degree)
    if hot < mixed:
        sign = "°C" if system == "si" else "°F"
        raise ValueError(f"a shower of {mixed:g} {sign} can't come from a tank of {hot:g} {sign}")
    needed = heat_to_warm(volume, low, high)
    none, room = quantity(0.0, "W/delta_degC"), quantity(20.0, "degC")
    takes = time_to_temperature(high, low, volume, quantity(heat, power), none, room)
    part = float(hot_fraction(high, low, wish))
    lasts = (COUNTED * volume / (part * quantity(flow, minute))).to("minute").magnitude
    grown = expanded_volume(volume, low, high)

    def row(label: str, text: str, how: str, mark: str = "") -> dict[str, Any]:
        return {"label": label, "text": text, "how": how, "mark": mark}

    def burn(name: str) -> str:
        ends, _ = SCALD[name]
        kelvin = high.to("kelvin").magnitude
        if kelvin < ends[0]:
            return f"slower than {scald_time(quantity(ends[0], 'kelvin'), name).magnitude / 60:.0f} min"
        if kelvin > ends[-1]:
            return f"faster than {scald_time(quantity(ends[-1], 'kelvin'), name).magnitude:.0f} s"
        seconds = scald_time(high, name).magnitude
        return f"{seconds:.0f} s" if seconds < 90 else f"{seconds / 60:.1f} min"

    germs = legionella_range(high)
    return [
        {"group": "Heating"},
        row(
            "Heat it takes",
            amount(needed.magnitude, "J", "heat", system),
            "weight of the water × degrees",
        ),
        row("From cold to hot", f"{takes.magnitude:.0f} min", "heat it takes ÷ heat into the water"),
        row(
            "The water grows by",
            amount(grown.magnitude, "L", "small volume", system),
            "it needs room: cushion, or back to the main",
        ),
        {"group": "The shower"},
        row("Hot part", f"{100 * part:.0f} %", "(mixed − cold) ÷ (hot − cold)"),
        row("Lasts", f"{lasts:.0f} min", f"{100 * COUNTED:.0f} % of the tank counted, heat off"),
        {"group": "At the tap, not mixed"},
        row("Burns an adult, page 1", burn("cpsc"), "deep burn", "bad"),
        row("Burns an adult, page 3", burn("second degree"), "blisters; the pages disagree", "bad"),
        row("In the tank", GERMS[germs], "one guideline's ranges", {"growth": "bad", "hot store": "good"}.get(germs, "")),
    ]  # fmt: skip


def hot_water_calculator() -> Calculator:
    """The calculator of lesson 9: heat, time, growth, mixing and burns of a storage tank."""
    return Calculator("Calculator for a tank and its taps", fields(), hot_water)
