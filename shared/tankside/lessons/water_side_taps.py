"""What lesson 9 shows of lukewarm and missing hot water: three places, a leaking check valve, eight complaints."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tankside.heater import plumbing
from tankside.heater.simulation import advance
from tankside.lessons.pages import reveal, table
from tankside.measures import amount
from tankside.notebook import Page
from tankside.questions.water_ways import RUNS, Places, degrees, heater, three_places
from tankside.units import quantity

MODEL = "grebe_12"
TOO_COOL = float(quantity(100, "degF").to("degC").magnitude)
"""°C below which a hot tap is called lukewarm here."""

CAUSES: tuple[tuple[str, str, float], ...] = (
    ("all is well", "", 0.0),
    ("bypass half open", "bypass.open", 0.5),
    ("bypass wide open", "bypass.open", 1.0),
    ("a mixing tap lets cold across", "house.crossover", 4e-4),
    ("thermostat opens far too soon", "thermostat.opens_at", 36.0),
    ("check valve jammed", "check_valve.jammed", 0.93),
    ("check valve stuck shut", "check_valve.jammed", 0.9995),
    ("hot and cold lines crossed", "inlet.crossed", 1.0),
)
"""Cause in words, and the number of a part that makes it so."""


def places_of(cause: str) -> Places:
    """The three places of one of the causes."""
    key, value = next((key, value) for name, key, value in CAUSES if name == cause)
    return three_places(heater(MODEL, {key: value} if key else {}))


def three_points() -> Page:
    """Water temperature at three places for causes of lukewarm water, the flow, and what comes past the heater."""
    rows = []
    for name, _, _ in CAUSES:
        found = places_of(name)
        runs = found.flow[0] > RUNS
        warm = [degrees(t[0]) if runs else "nothing runs" for t in (found.outlet, found.behind, found.tap)]
        past = "still runs" if found.past[0] > RUNS else "stops"
        rows.append((name, *warm, amount(float(found.flow[0]), "L/minute", "water flow") if runs else "hardly any", past))  # fmt: skip
    head = ("what is wrong", "A: heater's outlet", "B: past the bypass", "C: at the tap", "flow at the tap", "heater's cold shut: the tap")  # fmt: skip
    unit = heater(MODEL)
    note = (
        f"{unit.model.plate.name}, water as hot as its thermostat lets it, cold at {degrees(unit['site.cold_water'][0])}, "
        "the hot tap wide open. Water as it runs, before the tank cools."
    )
    return reveal(table("Three places, eight heaters", head, rows, note), "Show the readings")


def at_rest() -> Page:
    """A check valve that leaks back: the hot line at rest, and what it costs in a day."""
    leaks = np.array([0.0, 0.3, 0.6, 1.0])
    unit = heater(MODEL, {"check_valve.leaks_back": leaks}, len(leaks))
    line, loss = plumbing.hot_line(unit), plumbing.standing(unit)[0]
    room, tank = unit["site.room"], unit["tank.temperature"]
    a_day = loss * (tank - room) * 24.0 / 1e3
    rows = [
        (
            f"flap {100 * leak:.0f} % open" if leak else "flap shuts",
            degrees(line[k]),
            f"{a_day[k]:.1f} kWh",
            f"{100 * (a_day[k] / a_day[0] - 1):.0f} % more" if leak else "",
        )
        for k, leak in enumerate(leaks)
    ]
    head = (
        "check valve",
        "hot line after an hour of rest",
        "heat lost in a day",
        "against a flap that shuts",
    )
    note = f"Room at {degrees(room[0])}, tank at {degrees(tank[0])}. How fast heat creeps up the line is a figure of ours."
    return reveal(table("The line that should be cool", head, rows, note), "Show the line")


@dataclass(frozen=True)
class Complaint:
    """A heater that was left on for two hours: what is wrong, and what makes it so."""

    name: str
    changes: tuple[tuple[str, float], ...]


COMPLAINTS = (
    Complaint("element burnt open", (("element.resistance", 1e9),)),
    Complaint("high limit open", (("high_limit.tripped", 1.0),)),
    Complaint("bypass wide open", (("bypass.open", 1.0),)),
    Complaint("a mixing tap lets cold across", (("house.crossover", 6e-4),)),
    Complaint("lines crossed at the heater", (("inlet.crossed", 1.0),)),
    Complaint("check valve stuck shut", (("check_valve.jammed", 0.9995),)),
    Complaint("tap's strainer blocked", (("house.blocked", 0.95),)),
    Complaint("cold shut-off nearly closed", (("inlet.passes", 6e-6),)),
)


@dataclass(frozen=True)
class After:
    """What one finds: °C in the tank and at the tap, L/min."""

    tank: float
    tap: float
    flow: float

    @property
    def good(self) -> bool:
        """Whether the tank got hot."""
        return self.tank > TOO_COOL


def two_hours_on(complaint: Complaint) -> After:
    """A heater with that fault, switched on cold two hours ago; then the hot tap is opened."""
    unit = heater(MODEL, dict(complaint.changes), warm=False)
    advance(unit, 120.0)
    tap = plumbing.hot_tap(unit)
    return After(float(unit["tank.temperature"][0]), float(tap.temperature[0]), float(tap.flow[0]) * 60e3)


def no_hot_water() -> Page:
    """Eight complaints of no hot water: tank and tap after two hours, and whether the heater did its work."""
    rows, good = [], 0
    for complaint in COMPLAINTS:
        found = two_hours_on(complaint)
        good += found.good
        tap = degrees(found.tap) if found.flow > RUNS else "next to nothing"
        flow = amount(found.flow, "L/minute", "water flow") if found.flow > RUNS else "hardly any"
        rows.append((complaint.name, degrees(found.tank), tap, flow, "yes" if found.good else "NO"))
    head = ("what is wrong", "in the tank", "at the tap", "flow", "did it heat?")
    note = f"Each switched on cold, two hours ago. {good} of {len(COMPLAINTS)} tanks are hot."
    return reveal(table("Eight times no hot water", head, rows, note), "Show the eight")
