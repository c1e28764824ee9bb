"""What lesson 9 shows of scalds, of mud on the bottom and of frost."""

from __future__ import annotations

import numpy as np

from tankside.heater import plumbing
from tankside.heater.simulation import advance, energise
from tankside.lessons.pages import reveal, table, together
from tankside.lessons.scales import Line, Scale, chart
from tankside.measures import amount
from tankside.notebook import Page
from tankside.physics.hot_water import GROWTH, SCALD, STORE_ABOVE, legionella_range_si, scald_time_si
from tankside.physics.water import T0
from tankside.questions.water_ways import degrees, freezing, heater, heats, minutes_to_heat
from tankside.units import quantity

MODEL = "plover_12"
TABLES = {
    "cpsc": "deep burn, page 1",
    "other": "scald, page 2",
    "second degree": "blisters, page 3",
    "third degree": "deep burn, page 3",
}
"""The published tables by the library's names, as the lesson calls them."""


def scald() -> Page:
    """Seconds to a burn against temperature, by four published tables."""
    lines = []
    for name, words in TABLES.items():
        kelvin, _ = SCALD[name]
        warm = np.linspace(kelvin[0], kelvin[-1], 60)
        lines.append(Line(warm - T0, scald_time_si(warm, name), words))
    low, high = (float(quantity(f, "degF").to("degC").magnitude) for f in (115, 160))
    said = "Time until an adult's skin is burnt, by water of each temperature. Four published tables, which disagree."
    drawn = chart(
        "Time to a burn",
        Scale(low, high, "degC", "temperature", "water on the skin"),
        Scale(
            1.0,
            600.0,
            "",
            marks=((1, "1 s"), (3, "3 s"), (10, "10 s"), (30, "30 s"), (60, "1 min"), (300, "5 min"), (600, "10 min")),
            log=True,
        ),
        lines,
        f"{said} The scale on the left counts in tens.",
        said,
    )  # fmt: skip
    return reveal(together(Page(drawn, said), scald_table()), "Show the seconds")


def scald_table() -> Page:
    """The tables beside each other at round temperatures; a dash where a table doesn't reach."""
    rows = []
    for fahrenheit in (120, 125, 130, 135, 140, 150):
        kelvin = float(quantity(fahrenheit, "degF").to("kelvin").magnitude)
        cells = []
        for name in TABLES:
            ends = SCALD[name][0]
            inside = ends[0] - 0.2 <= kelvin <= ends[-1] + 0.2
            printed = min(abs(kelvin - end) for end in ends) < 0.2
            words = seconds(float(scald_time_si(kelvin, name)))
            cells.append((words if printed else f"about {words}") if inside else "–")
        rows.append((degrees(kelvin - T0), *cells))
    note = "'About': read between two rows of that table. Children and old people burn sooner than any of them says."
    return table("Seconds on the skin", ("water", *TABLES.values()), rows, note)


def seconds(time: float) -> str:
    """A short time as one says it."""
    return f"{time:.0f} s" if time < 90 else f"{time / 60:.2g} min"


def sediment() -> Page:
    """Mud on the bottom: heat by gas and by mains, time to get hot, how hot the steel gets, and the noise."""
    depths = np.array([0.0, 2.0, 4.0, 8.0, 12.0])
    unit = heater(MODEL, {"vessel.sediment": depths / 1e3, "element.resistance": 1e9}, len(depths), warm=False)
    unit.set("tank.temperature", 40.0)
    advance(unit, 3.0)
    solution = energise(unit)
    steel, noise = plumbing.bottom_temperature(unit, solution), plumbing.rumbles(unit, solution)
    rows = []
    for k, depth in enumerate(depths):
        watts = heats(MODEL, float(depth) / 1e3)
        gas, mains = (minutes_to_heat(MODEL, watts[side]) for side in ("gas", "mains"))
        rows.append(
            (
                amount(float(depth), "mm", "small length") if depth else "clean",
                amount(watts["gas"], "W", "heat rate"),
                f"{gas:.0f} min",
                f"{mains:.0f} min",
                degrees(steel[k]),
                "rumbles" if noise[k] else "quiet",
            )
        )
    head = ("mud", "heat by gas", "gas: from cold to off", "mains: from cold to off", "steel under the flame", "the tank")  # fmt: skip
    note = (
        "The element sits above the mud, and all its heat goes into the water. How well mud carries heat is from memory: "
        "trust the direction, not the degrees. One field study found about 5 % lost on gas after some 20 years; a plumber's page says 48 %, unconfirmed."
    )
    return reveal(table("Mud on the bottom", head, rows, note), "Show the mud")


def left_full() -> Page:
    """A heater left full of cold water: hours until check valve and tank freeze and crack."""
    rows = []
    for fahrenheit in (30, 25, 20, 10, 0):
        low = float(quantity(fahrenheit, "degF").to("degC").magnitude)
        found = freezing(MODEL, low)
        rows.append((degrees(low), *(_hours(h) for h in (found.flap, found.split, found.ice, found.tank))))
    head = ("hard air at", "check valve: flap bends after", "its body cracks after", "ice in the tank after", "the tank cracks after")  # fmt: skip
    unit = heater(MODEL, warm=False)
    note = (
        f"{unit.model.plate.name}, no heat, no wind, water at {degrees(unit['site.cold_water'][0])}. The fitting's size and what "
        "ice does to it are figures of ours."
    )
    return reveal(table("Left full in the frost", head, rows, note), "Show the hours")


def _hours(hours: float) -> str:
    if not np.isfinite(hours):
        return "not in six weeks"
    return f"{60 * hours:.0f} min" if hours < 1 else f"{hours:.0f} h" if hours < 48 else f"{hours / 24:.0f} days"


def germs() -> Page:
    """Which range each temperature lies in for legionella, beside the seconds to a burn."""
    rows = []
    for fahrenheit in (70, 95, 110, 120, 135, 145):
        kelvin = float(quantity(fahrenheit, "degF").to("kelvin").magnitude)
        name = legionella_range_si(kelvin)
        words = {
            "cold": "too cold for them",
            "cool": "slow",
            "growth": "they GROW",
            "warm": "they hold on",
            "hot store": "they die",
        }[name]
        burn = seconds(float(scald_time_si(kelvin))) if kelvin >= SCALD["cpsc"][0][0] - 0.2 else "–"
        rows.append((degrees(kelvin - T0), words, burn))
    note = f"One guideline: store above {degrees(STORE_ABOVE - T0)}; they grow from {degrees(GROWTH[0] - T0)} to {degrees(GROWTH[1] - T0)}."
    return table("Germs and burns", ("water", "legionella germs", "an adult's skin burns in"), rows, note)
