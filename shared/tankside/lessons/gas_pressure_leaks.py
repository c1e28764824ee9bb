"""What lesson 7 works out about gas that gets out: cabins, leaks, soap and the timed test."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Literal

from tankside.heater import burner, gas
from tankside.instruments.senses import BUBBLES
from tankside.lessons.gas_pressure_line import low, readings, unit_with, usual
from tankside.lessons.pages import reveal, table, together
from tankside.measures import amount, chosen
from tankside.notebook import Page
from tankside.physics.cylinder import liquid_density, vapour_pressure_si
from tankside.physics.fuels import (
    STANDARD_PRESSURE,
    density_si,
    flammable_range,
    fuel,
    heating_value,
    specific_gravity,
)
from tankside.physics.leaks import leak_flow, leak_from_test, leak_test_pressure, warmed_gauge
from tankside.units import quantity

ROOM = burner.ROOM
"""m3 of a small cabin."""
LAYER = 0.1
"""Share of the cabin's height that a layer along the floor takes (a figure of ours, to show what sinking does)."""
TEST, MINUTES = quantity(8, "inWC"), quantity(3, "minute")
"""A timed test as it is common for vehicles (8 in. WC: V2; 3 min: from memory)."""
SHOWS = quantity(0.1, "inWC")
"""The least fall that our manometer shows: its last digit."""
HOLES = (0.02, 0.05, 0.1, 0.2, 0.5)
"""mm."""
Book = Literal["IEC 60079-20-1", "NFPA 497"]
BOOKS: tuple[Book, ...] = ("IEC 60079-20-1", "NFPA 497")


def explosive_gas(room: float = ROOM, book: Book = "IEC 60079-20-1") -> tuple[float, float]:
    """m3 of propane in so many m3 of air and gas at the lower and the upper limit, by one of ``BOOKS``."""
    ends = flammable_range(fuel("propane"), book)
    return room * ends[0], room * ends[1]


def cylinder_gauge() -> float:
    """Pa gauge in our cylinder."""
    warm = usual("cylinder.liquid") + 273.15
    return float(vapour_pressure_si(fuel("propane"), warm)) - STANDARD_PRESSURE


def escapes(hole_mm: float, gauge: float) -> float:
    """m3/s of propane through a hole at a gauge pressure in Pa."""
    flow = leak_flow(quantity(hole_mm, "mm"), quantity(gauge, "Pa"), fuel("propane"))
    return float(flow.to("m^3/s").magnitude)


def explosive_cabin() -> Page:
    """How much propane makes a small cabin's air burn, by two books, and how soon it is in there."""
    one, rows = fuel("propane"), []
    liquid = float(liquid_density(one, quantity(60, "degF")).magnitude)
    for book in BOOKS:
        least, most = explosive_gas(ROOM, book)
        weight = least * density_si(one)
        rows.append(
            (
                book,
                f"{100 * least / ROOM:.1f} % to {100 * most / ROOM:.1f} %",
                amount(least, "m^3", "gas volume"),
                amount(weight, "kg", "small mass"),
                amount(1e3 * weight / liquid, "L", "small volume"),
                amount(1e3 * LAYER * weight / liquid, "L", "small volume"),
            )
        )
    head = ("published by", "burns with gas in air", "gas for the whole cabin", "weighs", "as liquid", "liquid for a floor layer")  # fmt: skip
    size = amount(ROOM, "m^3", "gas volume")
    note = f"A cabin of {size}; the layer is the lowest tenth. Propane weighs {specific_gravity(one, 'real'):.2f} times as much as air. It sinks."  # fmt: skip
    first = table("Enough to explode", head, rows, note)
    least = explosive_gas()[0]
    ways: Sequence[tuple[str, float]] = (
        ("our burner's gas on, no flame", float(gas.line(unit_with({}), 1.0).burner[0])),
        (f"hole of {amount(0.5, 'mm', 'small length')} behind the regulator", escapes(0.5, readings({})[0])),
        ("the same hole before the regulator", escapes(0.5, cylinder_gauge())),
    )
    times = [
        (words, amount(flow, "m^3/s", "gas flow"), _hours(least / flow), _hours(LAYER * least / flow))
        for words, flow in ways
    ]
    columns = ("gas gets out by", "each hour", "whole cabin burns after", "floor layer after")
    second = table("How soon, with everything shut", columns, times, "By the lower limit of the first book.")
    return reveal(together(first, second), "Show how little it takes")


def _hours(seconds: float) -> str:
    if seconds < 7200:
        return f"{max(seconds / 60, 1):.0f} min"
    return f"{seconds / 3600:.0f} h" if seconds < 172800 else f"{seconds / 86400:,.0f} days"


def _tiny(hole: float) -> str:
    """A hole of so many mm in the learner's measures."""
    words = {"us": f"{hole / 25.4:.4f} in.", "si": f"{hole:g} mm"}
    return words.get(chosen(), f"{words['us']} ({words['si']})")


def small_leaks() -> Page:
    """Holes from tiny to small: what the timed test shows, what soap shows, how soon it is enough."""
    volume = quantity(float(gas.line_volume(unit_with({}))[0]), "m^3")
    rest, rows = readings({})[0], []
    for hole in HOLES:
        at_test = quantity(escapes(hole, float(TEST.to("Pa").magnitude)), "m^3/s")
        end = leak_test_pressure(TEST, at_test, volume, MINUTES)
        flow = escapes(hole, rest)
        fall = float((TEST - end).to("inWC").magnitude)
        words = low(float(end.to("Pa").magnitude))
        rows.append(
            (
                _tiny(hole),
                f"{amount(3600 * flow, 'm^3', 'small volume')} an hour",
                BUBBLES.words[int(BUBBLES.classes([flow])[0])],  # type: ignore[arg-type]
                words if fall >= float(SHOWS.magnitude) else f"{words}: looks tight",
                _hours(LAYER * explosive_gas()[0] / flow),
            )
        )
    start = low(float(TEST.to("Pa").magnitude))
    head = ("hole", "leaks", "soap on it", f"gauge, from {start}, after {MINUTES.magnitude:g} min", "floor layer burns after")  # fmt: skip
    note = "The last column is for a cabin shut tight. Real ones breathe, but a locker or a bilge may not. When soap shows is a figure of ours."  # fmt: skip
    return reveal(table("Small leaks in our line", head, rows, note), "Show the small leaks")


def least_leak(liters: float) -> float:
    """m3/s: the least leak that moves our gauge's last digit in the timed test of a line of so many liters."""
    found = leak_from_test(TEST, TEST - SHOWS, quantity(liters, "L"), MINUTES)
    return float(found.to("m^3/s").magnitude)


def bigger_line() -> Page:
    """The least leak that the timed test shows, by the size of the line."""
    own = 1e3 * float(gas.line_volume(unit_with({}))[0])
    rows = []
    for words, liters in (("half of our line", own / 2), ("our line", own), ("a house's pipes", 10 * own)):
        least = least_leak(liters)
        rows.append(
            (
                words,
                amount(liters, "L", "volume"),
                f"{amount(3600 * least, 'm^3', 'small volume')} an hour",
                f"{least / BUBBLES.steps[0]:.1f} times",
            )
        )
    head = ("line", "it holds", "least leak that the gauge shows", "of the least that soap shows")
    return table("The bigger the line, the blinder the gauge", head, rows)


def _degrees(kelvin: float, places: int) -> str:
    """A small change of temperature: °F to the tenth, for whole ones would make equal steps look unequal."""
    words = {"us": f"{1.8 * kelvin:.1f} °F", "si": f"{kelvin:.{places}f} K"}
    return words.get(chosen(), f"{words['us']} ({words['si']})")


def warm_or_leak() -> Page:
    """What a change of temperature does to the gauge on a tight line, and which leak would look the same."""
    rows = []
    for change in (-3.0, -2.0, -1.0, 1.0, 2.0, 3.0):
        warm = quantity(293.15 + change, "K")
        end = warmed_gauge(TEST, quantity(293.15, "K"), warm)
        rows.append(
            (
                _degrees(change, 0),
                low(float(end.to("Pa").magnitude)),
                "a tight line that looks leaky" if change < 0 else "hides a leak",
            )
        )
    start = low(float(TEST.to("Pa").magnitude))
    head = ("the gas in the line changes by", f"gauge, from {start}", "so it is")
    one = float(
        (TEST - warmed_gauge(TEST, quantity(293.15, "K"), quantity(292.15, "K"))).to("inWC").magnitude
    )
    share = float(SHOWS.magnitude) / one
    note = f"To move the gauge by its last digit, {_degrees(share, 2)} is enough."
    return reveal(table("A tight line", head, rows, note), "Show what the sun does")


def procedures() -> Page:
    """Timed tests as different texts ask for them."""
    rows = (
        ("vehicles", low(float(TEST.to("Pa").magnitude)), f"{MINUTES.magnitude:g} min", "no fall", "second-hand page; time from memory"),
        ("a standard for gas installations", "as it runs", "2 min to settle, then 5 min", "no fall that can be seen", "second-hand page"),
        ("a heater maker's leaflet", f"{low(250.0)} under the set pressure", "10 min", "no change", "second-hand page"),
        ("new pipe, no appliance on it, state rule", amount(10, "psi", "pressure"), "15 min", "no fall", "government text"),
    )  # fmt: skip
    note = "The last one is for bare pipe: it would wreck a heater's valve."
    return table(
        "Four texts, four tests", ("for", "pressure", "how long", "passes with", "read in"), rows, note
    )


def fill_by_weight() -> Page:
    """What our cylinder's gauge says and what its scale says, from full to empty."""
    tare = usual("cylinder.tare")
    limit = 0.8 * usual("cylinder.volume") * float(liquid_density(fuel("propane"), quantity(60, "degF")).magnitude)  # fmt: skip
    rows = []
    for share in (1.0, 0.5, 0.25, 0.1):
        unit = unit_with({"cylinder.mass": share * limit})
        pressure = float(gas.line(unit, 0.0).pigtail[0])
        burns = share * limit * fuel("propane").higher_si / fuel("propane").molar_mass_si
        hours = (
            burns
            / float(gas.line(unit, 1.0).burner[0])
            / heating_value(fuel("propane")).to("J/m^3").magnitude
            / 3600
        )
        rows.append(
            (
                "filled to its limit" if math.isclose(share, 1.0) else f"{100 * share:.0f} % of that",
                amount(pressure, "Pa", "pressure"),
                amount(tare + share * limit, "kg", "mass"),
                f"{hours:.0f} h of burner",
            )
        )
    head = ("cylinder", "gauge, no gas drawn", "scale", "left")
    note = f"The collar says {amount(tare, 'kg', 'mass')} empty. The limit is 80 % of the shell: the liquid needs room to grow."
    return reveal(table("Gauge or scale?", head, rows, note), "Show gauge and scale")
