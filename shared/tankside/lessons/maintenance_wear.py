"""What lesson 11 shows of wear: rods, sediment and flame rods over the years, and the interval that follows."""

from __future__ import annotations

from functools import cache

import numpy as np

from tankside.heater.corrosion import Wear, wear
from tankside.lessons.pages import reveal, table, together
from tankside.lessons.scales import Line, Scale, chart
from tankside.measures import amount
from tankside.notebook import Page
from tankside.questions.anode_ways import WARM, fate, in_water, tank, years
from tankside.questions.upkeep_ways import (
    MODEL,
    minutes_on_gas,
    month,
    rumbles_from,
    sediment_a_year,
    standby,
)
from tankside.widgets.flame_current import believes, flame_microamps

WATERS = (
    ("few salts", 200.0, 30.0),
    ("usual", 600.0, 150.0),
    ("many salts", 1200.0, 150.0),
    ("softened", 1200.0, 5.0),
)
"""What it is called, µS/cm, mg/L."""
SHOWN = 6
"""Years."""
SITES = (("quiet site", 2e6), ("dusty site", 6e6))
"""Where the heater stands, and ohm that grow on its flame rod in a year (figures of ours)."""


@cache
def rod(conductivity: float, hardness: float) -> Wear:
    """A new rod on that water over the years that are shown."""
    return wear(tank(in_water(conductivity, hardness), model=MODEL), float(SHOWN), WARM, 1 / 12)


def rods_over_years() -> Page:
    """Years against the metal left, in four waters; and when to look first."""
    lines, rows, said = [], [], []
    for name, conductivity, hardness in WATERS:
        found = rod(conductivity, hardness)
        share = found.mass / found.mass[0]
        lines.append(Line(found.years, share, name))
        life = fate(tank(in_water(conductivity, hardness), model=MODEL)).life
        after_one = float(np.interp(1.0, found.years, share))
        said.append(f"{name}: {100 * after_one:.0f} % left after a year, used up after {years(life)}")
        rows.append(
            (
                name,
                f"{conductivity:.0f} µS/cm, {amount(hardness, 'mg/L', 'hardness')}",
                f"{100 * after_one:.0f} %",
                years(life),
                years(life / 2),
            )
        )
    words = f"One kind of rod, four waters: {'; '.join(said)}."
    drawn = chart(
        "Metal left on the rod, in percent",
        Scale(0.0, float(SHOWN), "years", marks=tuple((float(k), str(k)) for k in range(SHOWN + 1)), words="since the rod was new"),
        Scale(0.0, 1.0, "", marks=tuple((k / 4, f"{25 * k}") for k in range(5))),
        lines, words, words, ((0.5, "half is gone: the trade renews it here"),), "right",
    )  # fmt: skip
    head = ("water", "test it: meter and strip", "left after a year", "used up after", "look first after")
    note = "Look first at half of the life that the water lets you expect. What you find then sets the next date."
    return reveal(
        together(Page(drawn, words), table("From the water to the date", head, rows, note)), "Show the rods"
    )


def sediment_over_years() -> Page:
    """Years of sediment in three waters and two settings: depth, minutes on gas, what standby costs with it, the noise."""
    clean, noisy = minutes_on_gas(0.0), rumbles_from()
    rows = []
    for hardness in (50.0, 150.0, 350.0):
        for hotter in (0.0, 8.0):
            yearly = sediment_a_year(hardness, hotter)
            five = 5 * yearly
            longer = minutes_on_gas(five) / clean - 1.0
            rows.append(
                (
                    f"{amount(hardness, 'mg/L', 'hardness')}, {_set_at(hotter)}",
                    amount(1e3 * five, "mm", "small length"),
                    f"{100 * longer:.1f} % longer",
                    f"after {years(noisy / yearly)}",
                )
            )
    head = ("water and thermostat", "sediment in five years", "gas then takes", "it rumbles")
    more = month(standby(), 5 * sediment_a_year(350.0, 8.0)).gas / month(standby()).gas - 1.0
    note = (
        f"From cold to off takes {clean:.0f} min by gas in a clean tank. The worst of these after five years needs {100 * more:.0f} % more gas. "
        f"It rumbles from {amount(1e3 * noisy, 'mm', 'small length')} on: there the steel below boils the water in the mud. "
        "How much lime falls out is an order of magnitude of ours. One field study found about 5 % lost after some 20 years."
    )
    return reveal(table("Sediment over the years", head, rows, note), "Show the mud")


def _set_at(hotter: float) -> str:
    unit = tank(model=MODEL)
    return "set to " + amount(float(unit["thermostat.opens_at"][0]) + hotter, "degC", "temperature")


def flame_rod_trend() -> Page:
    """Microamps of a flame rod that gets dirty, at yearly visits, on two sites."""
    ages = np.linspace(0.0, float(SHOWN), 49)
    lines, said = [], []
    for name, dirt in SITES:
        found = np.array([flame_microamps(dirt=dirt * age)[0] for age in ages])
        lines.append(Line(ages, found, name))
        at = [f"{float(np.interp(k, ages, found)):.1f}" for k in range(SHOWN + 1)]
        low = found < believes()
        ends = (
            f"it locks out in year {ages[int(np.argmax(low))]:.1f}"
            if low.any()
            else "it still runs at the end"
        )
        said.append(f"{name}: {', '.join(at)} µA at yearly visits, and {ends}")
    words = f"A flame rod that nobody cleans: {'; '.join(said)}. The board wants {believes():.1f} µA."
    drawn = chart(
        "Current of the flame rod, µA",
        Scale(0.0, float(SHOWN), "years", marks=tuple((float(k), str(k)) for k in range(SHOWN + 1)), words="since it was clean"),
        Scale(0.0, 3.5, "", marks=tuple((k / 2, f"{k / 2:g}") for k in range(8))),
        lines, words, words, ((believes(), "below: the board sees no flame"), (flame_microamps()[0] / 2, "half of a clean rod's: clean it here")), "right",
    )  # fmt: skip
    return reveal(Page(drawn, words), "Show the current")
