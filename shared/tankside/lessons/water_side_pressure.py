"""What lesson 9 shows of growing water: a shut tank, the air cushion, and a relief valve that drips."""

from __future__ import annotations

import numpy as np

from tankside.heater import plumbing
from tankside.heater.simulation import advance
from tankside.lessons.pages import reveal, table, together
from tankside.lessons.scales import Line, Scale, chart
from tankside.measures import amount, chosen
from tankside.notebook import Page
from tankside.physics.boiling import ATMOSPHERE, saturation_temperature_si
from tankside.physics.water import T0, closed_tank_pressure_rise_si, expanded_volume
from tankside.questions.water_ways import Array, degrees, heater, pressure_when_warm, warming
from tankside.units import quantity

MODEL = "plover_12"
DRIPS = "grebe_12"
NO_CUSHION = {"cushion.volume": 1e-9}
RIGID = {"cushion.volume": 1e-9, "vessel.stretch": 0.0}


def bars(pascal: float) -> str:
    """A pressure as the learner reads it."""
    return amount(float(pascal), "Pa", "pressure")


def growing() -> Page:
    """How much the water of three tanks grows when it is heated, and a degree's pressure if nothing gives."""
    rows = []
    for name in ("plover_12", "ouzel_23"):
        unit = heater(name)
        cold, hot = float(unit["site.cold_water"][0]), float(unit["thermostat.opens_at"][0])
        volume = float(unit["tank.volume"][0])
        grown = expanded_volume(quantity(volume, "m^3"), quantity(cold, "degC"), quantity(hot, "degC"))
        rows.append(
            (
                unit.model.plate.name,
                amount(volume, "m^3", "volume"),
                f"{degrees(cold)} to {degrees(hot)}",
                amount(float(grown.magnitude), "L", "small volume"),
                amount(float(unit["cushion.volume"][0]), "m^3", "small volume"),
            )
        )
    head = ("heater", "tank", "heated from, to", "the water grows by", "air cushion")
    return reveal(table("Water grows", head, rows), "Show how much")


def shut_tank() -> Page:
    """Pressure against temperature in a shut tank: nothing gives, only the steel gives, with its air cushion."""
    unit = heater(MODEL)
    cold, opens = float(unit["site.cold_water"][0]), float(unit["thermostat.opens_at"][0])
    lifts, bursts = float(unit["relief_valve.lifts_at"][0]), float(unit["vessel.bursts_at"][0])
    warm = np.linspace(cold, opens, 180)
    ways: list[tuple[str, dict[str, float]]] = [
        ("with its air cushion", {}),
        ("no cushion: the steel gives", NO_CUSHION),
        ("nothing gives at all", RIGID),
    ]
    top = 1.15 * bursts
    lines = []
    for words, changes in ways:
        found = pressure_when_warm(MODEL, warm, changes)
        inside = found <= top
        lines.append(Line(warm[inside], found[inside], words))
    sixty = float(quantity(60, "degF").to("kelvin").magnitude)
    degree, step = ("Celsius", 1.0) if chosen() == "si" else ("Fahrenheit", 5.0 / 9.0)
    rise = float(closed_tank_pressure_rise_si(sixty, sixty + step))
    rows = [(words, *_levels(changes, lifts, bursts)) for words, changes in ways]
    said = (
        f"{unit.model.plate.name}, shut at {degrees(cold)} and {bars(float(unit['inlet.pressure'][0]))}, then heated, its relief "
        f"valve left out. If nothing gave, one degree {degree} at {degrees(sixty - T0)} would add {bars(rise)}."
    )
    drawn = chart(
        "Pressure in the tank",
        Scale(cold, opens, "degC", "temperature", "water in the tank"),
        Scale(0.0, top, "Pa", "pressure"),
        lines,
        said,
        said,
        ((lifts, "the relief valve lifts"), (bursts, "this tank tears")),
        "right",
    )
    head = ("", "the relief valve would lift at", "the tank would tear at")
    note = "Water held in by a check valve or a pump. How far the steel gives and where it tears are figures of ours."
    return reveal(together(Page(drawn, said), table("How warm until", head, rows, note)), "Show the pressure")


def _levels(changes: dict[str, float], *levels: float) -> list[str]:
    unit = heater(MODEL, changes, warm=False)
    out = []
    for level in levels:
        found = float(plumbing.warm_to(unit, np.array([level]))[0])
        out.append(degrees(found) if found < 100.0 else "not below boiling")
    return out


def held_back() -> Page:
    """What a relief valve holds back: how hot water gets under its pressure before it boils; and a tank without one."""
    unit = heater(MODEL)
    lifts, opens = float(unit["relief_valve.lifts_at"][0]), float(unit["relief_valve.opens_at"][0])
    boils = float(saturation_temperature_si(lifts + ATMOSPHERE)) - T0
    changes = {"relief_valve.seized": 1.0, **NO_CUSHION}
    torn = heater(DRIPS, changes, warm=False)
    minutes = 0
    while not torn["vessel.burst"][0] and minutes < 240:
        advance(torn, 1.0)
        minutes += 1
    rows = [
        ("water boils in an open pot at", degrees(float(saturation_temperature_si(ATMOSPHERE)) - T0)),
        (f"water boils under {bars(lifts)} at", degrees(boils)),
        ("the relief valve opens by heat at", degrees(opens)),
        (f"{torn.model.plate.name} with a sound thermostat, but no air cushion and a seized relief valve: its tank is torn", f"after {minutes} min of heating"),
    ]  # fmt: skip
    note = "Water far above the pot's boiling point turns to steam in part the moment the tank tears. That is why the valve opens by heat as well."
    return table("What the valve holds back", ("", ""), rows, note)


DRIPPING: tuple[tuple[str, str, float, bool], ...] = (
    ("air cushion lost", "cushion.volume", 6e-5, False),
    ("house pressure far too high", "inlet.pressure", 7.4e5, False),
    ("grit on the seat", "relief_valve.weep", 6e-4, True),
    ("spring tired", "relief_valve.lifts_at", 4.3e5, True),
    ("probe opens too cool", "relief_valve.opens_at", 53.0, True),
)
"""What makes a relief valve drip, the number that makes it so, and whether the valve itself is bad."""


def drips_of() -> tuple[Array, Array, Array, Array, Array]:
    """(B,) for ``DRIPPING``: Pa of the supply, highest Pa, mL while heating, mL in the hour after, °C at the end."""
    sound = heater(DRIPS)
    batch = len(DRIPPING)
    changed: dict[str, tuple[float, ...]] = {}
    for k, (_, key, value, _) in enumerate(DRIPPING):
        values = [float(sound[key][0])] * batch
        values[k] = value
        changed[key] = tuple(values)
    changed["relief_valve.closes_at"] = tuple(
        min(float(sound["relief_valve.closes_at"][0]), opens - 5.0)
        for opens in changed["relief_valve.opens_at"]
    )
    found = warming(DRIPS, tuple(changed.items()), batch)
    return found.supply, found.highest, found.caught, found.after, found.temperature


def drips() -> Page:
    """Five relief valves that drip: pressure, and how much comes when; is the valve bad?"""
    supply, highest, caught, after, _ = drips_of()
    rows = [
        (
            name,
            bars(supply[k]),
            bars(highest[k]),
            _water(caught[k]),
            _water(after[k]),
            "yes" if bad else "NO",
        )
        for k, (name, _, _, bad) in enumerate(DRIPPING)
    ]
    head = ("what is wrong", "pressure, tap just run", "highest, taps shut", "caught while it heats", "in the hour after", "valve bad?")  # fmt: skip
    sound = heater(DRIPS)
    note = (
        f"One heating from cold, taps shut. Its valve is made for {bars(float(sound['relief_valve.lifts_at'][0]))} and "
        f"{degrees(sound['relief_valve.opens_at'][0])}. Whatever the cause: the heater keeps its valve, open end and all."
    )
    return reveal(table("Five valves that drip", head, rows, note), "Show the five")


def _water(millilitres: float) -> str:
    if millilitres < 1.0:
        return "nothing"
    return amount(float(millilitres), "mL", "small volume" if millilitres < 950 else "volume")
