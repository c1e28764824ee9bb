"""What lesson 11 shows of money: the bill line by line, minutes charged, repair or replace, a month's waste."""

from __future__ import annotations

import math

import numpy as np

from tankside.faults.catalogue import remedies
from tankside.heater.model import load_model
from tankside.lessons.maintenance_worked import REMEDY, bills, minutes_without_repair
from tankside.lessons.pages import reveal, table, together
from tankside.lessons.scales import Line, Scale, chart
from tankside.measures import amount
from tankside.notebook import Page
from tankside.questions.upkeep_ways import (
    KILOWATT_HOUR,
    LOOKED_AFTER,
    MODEL,
    POUND_OF_PROPANE,
    drawn_a_month,
    gas_efficiency,
    hot_water,
    laid_side_by_side,
    month,
    pays_from,
    standby,
)
from tankside.quoting import Quote, charged_minutes, load_prices, replacement

TESTING = 45.0
"""min to find a fault and prove its repair, in the comparisons."""
NEW_TANK = "replace-heater-tank"
REPAIRS = ("replace-thermostat", "replace-board", NEW_TANK)
AGES = (1, 4, 7, 10)
"""Years."""
DROP = 0.05
"""mL in a drop (from memory)."""


def price_list() -> Page:
    """The workshop's prices."""
    prices = load_prices()
    rows = [
        ("call-out", prices.money(prices.call_out), "for coming at all"),
        ("hour at the heater", prices.money(prices.hour), f"at least {prices.least_minutes:.0f} min, then in steps of {prices.round_minutes:.0f}, up"),
        ("parts", f"+{100 * prices.parts_markup:.0f} %", "on what the workshop pays, for fetching and standing behind them"),
        ("tax", f"{100 * prices.tax:.1f} %", "on the whole"),
    ]  # fmt: skip
    sizes = [
        f"up to {amount(h.up_to_gallons, 'gallon', 'volume')}: {prices.money(h.cost)}, {h.minutes:.0f} min"
        for h in prices.heater
    ]
    rows.append(("new heater", "by size", "; ".join(sizes)))
    return table("Prices of an invented workshop", ("what", "price", "how it counts"), rows)


def minutes_charged() -> Page:
    """Minutes worked and minutes charged."""
    prices = load_prices()
    rows = []
    for worked in (8.0, 30.0, 31.0, 45.0, 46.0, 100.0):
        charged = charged_minutes(worked, prices)
        rows.append((f"{worked:.0f} min", f"{charged:.0f} min", prices.money(charged / 60 * prices.hour)))
    note = "Up, never down. So one minute over a step costs the owner a whole step. Plan for it, and say it before."
    return reveal(table("Minutes", ("worked", "charged", "labor"), rows, note), "Show what is charged")


def lines_of(bill: Quote) -> list[tuple[str, str, str]]:
    """The bill's lines and its total, as they stand on paper."""
    prices = load_prices()
    return [
        *((line.what, line.how, prices.money(line.amount)) for line in bill.lines),
        ("total", "the sum", prices.money(bill.total)),
    ]


def bill() -> Page:
    """The bill of the worked visit, line by line."""
    with_rod, _, _ = bills()
    repair = remedies()[REMEDY]
    note = (
        f"Worked: {minutes_without_repair():.0f} min for the round and {repair.minutes:.0f} min for the rod, "
        f"{minutes_without_repair() + repair.minutes:.0f} in all. Charged: {with_rod.minutes:.0f}."
    )
    return reveal(
        table("The bill of that visit", ("line", "how", "money"), lines_of(with_rod), note), "Show the bill"
    )


def now_or_later() -> Page:
    """The rod now, or another visit for it."""
    with_rod, without, again = bills()
    prices = load_prices()
    rows = [
        ("new rod now", prices.money(with_rod.total), ""),
        ("only the round now", prices.money(without.total), ""),
        ("and again for the rod", prices.money(again.total), f"{again.minutes:.0f} min charged, and the call-out"),
        ("both visits", prices.money(without.total + again.total), f"{prices.money(without.total + again.total - with_rod.total)} more"),
    ]  # fmt: skip
    return reveal(table("Now or later", ("plan", "price", ""), rows), "Show both plans")


def _most(years_left: float) -> float:
    return replacement(load_model(MODEL)).total * years_left / LOOKED_AFTER


def repair_or_new() -> Page:
    """Three faults at four ages: money for each year of hot water, repaired and new."""
    prices = load_prices()
    names = remedies()
    rows = []
    for remedy in REPAIRS:
        # A new tank in the old jacket starts again; any other repair leaves the tank its age.
        for age in (0,) if remedy == NEW_TANK else AGES:
            left = LOOKED_AFTER - age
            found = laid_side_by_side(remedy, TESTING, left, LOOKED_AFTER)
            rows.append(
                (
                    names[remedy].name,
                    "any" if remedy == NEW_TANK else "1 year" if age == 1 else f"{age} years",
                    prices.money(found.repair.total),
                    f"{left:.0f} years",
                    prices.money(found.repair_a_year),
                    prices.money(found.new_a_year),
                    found.better,
                )
            )
    head = ("repair", "heater's age", "price", "it then lasts", "a year, repaired", "a year, new", "cheaper")
    note = (
        f"{load_model(MODEL).plate.name}. A tank that is looked after is taken to last {LOOKED_AFTER:.0f} years (common practice, no source); "
        "a new tank in the old jacket as well, if burner, valve and board hold out. The last column knows money only."
    )
    return reveal(table("Repair or replace", head, rows, note), "Show the table")


def half_rule() -> Page:
    """The most that a repair may cost, by the years that the tank has left, against half of a new heater's price."""
    prices = load_prices()
    new = replacement(load_model(MODEL)).total
    left = np.linspace(0.0, LOOKED_AFTER, 49)
    names = {
        "replace-thermostat": "new thermostat",
        "replace-board": "new board",
        "replace-heater-tank": "new tank",
    }
    levels = [(laid_side_by_side(r, TESTING, 1.0, LOOKED_AFTER).repair.total, names[r]) for r in REPAIRS]
    rows = []
    for (price, name), remedy in zip(levels, REPAIRS, strict=True):
        from_years = pays_from(laid_side_by_side(remedy, TESTING, 1.0, LOOKED_AFTER))
        rows.append(
            (
                name,
                prices.money(price),
                f"{100 * price / new:.0f} %",
                "replace" if price > new / 2 else "repair",
                f"{from_years:.1f} years or more",
            )
        )
    top = 500.0 * math.ceil(new / 500.0)
    words = (
        f"A new heater costs {prices.money(new)} and lasts {LOOKED_AFTER:.0f} years. The line is what a repair may cost at most: "
        f"nothing with no years left, {prices.money(_most(LOOKED_AFTER / 2))} with half of them. "
        + "It pays: "
        + "; ".join(f"{row[0]}, {row[1]}, from {row[4].removesuffix(' or more')} on" for row in rows)
        + "."
    )
    drawn = chart(
        f"What a repair may cost at most, {prices.sign}",
        Scale(0.0, LOOKED_AFTER, "years", marks=tuple((float(k), str(k)) for k in range(0, int(LOOKED_AFTER) + 1, 2)), words="that the tank still has"),
        Scale(0.0, top, "", marks=tuple((500.0 * k, f"{500 * k:,}") for k in range(int(top / 500) + 1))),
        (Line(left, [_most(float(y)) for y in left], "no dearer a year than a new heater"),),
        words, words, [levels[1], (new / 2, "half of a new one: the saying")], "right", high=220.0,
    )  # fmt: skip
    head = ("repair", "price", "of a new one", "the saying", "it pays, if the tank has")
    return reveal(together(Page(drawn, words), table("The saying and the sum", head, rows)), "Show the line")


def waste() -> Page:
    """What a month of standing, of a wet jacket, of drips and of sediment costs by gas and by mains."""
    prices = load_prices()
    drops = DROP * 86_400.0 * 30.0 / 1e3
    used = month(drawn_a_month() + standby())
    muddy = month(drawn_a_month() + standby(), 0.019)
    cases = [
        ("the hot water itself, two people", month(drawn_a_month()), ""),
        ("heat through the jacket, hot day and night", month(standby()), ""),
        ("the same, jacket soaked", month(standby(4.0)), "four times the heat: a figure of ours"),
        ("a hot tap that drips, a drop each second", month(hot_water(drops)), f"{amount(drops, 'L', 'volume')} of water"),
        ("a hot leak that runs in a thread", month(hot_water(0.2 * 60 * 24 * 30)), f"{amount(0.2, 'L/minute', 'water flow')} day and night"),
    ]  # fmt: skip
    rows = [
        (name, amount(m.heat, "J", "heat"), prices.money(m.gas), prices.money(m.mains), more)
        for name, m, more in cases
    ]
    rows.append(
        (
            f"mud, {amount(19.0, 'mm', 'small length')} deep",
            "–",
            prices.money(muddy.gas - used.gas),
            prices.money(0.0),
            "more than clean; the element sits above it",
        )
    )
    head = ("a month of", "heat", "by gas", "by mains", "")
    note = (
        f"Invented prices: {prices.money(POUND_OF_PROPANE)} a pound of propane, {prices.money(KILOWATT_HOUR)} a kilowatt hour. "
        f"Of the gas's heat {100 * gas_efficiency():.0f} % gets into the water of this {load_model(MODEL).plate.name}."
    )
    return reveal(table("What a month costs", head, rows, note), "Show the month")
