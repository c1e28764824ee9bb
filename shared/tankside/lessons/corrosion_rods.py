"""What lesson 10 shows of rods: how they wear, why they fail, what tells a good one from an idle one."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np

from tankside.heater import corrosion
from tankside.heater.corrosion import Wear, wear
from tankside.heater.unit import Unit
from tankside.lessons.corrosion_drawings import Aged, Test, rods, ways_to_test
from tankside.lessons.pages import reveal, table, together
from tankside.lessons.scales import Line, Scale, chart
from tankside.measures import amount
from tankside.notebook import Page
from tankside.questions.anode_ways import LONG, WARM, Fate, alone, fate, in_water, tank, years
from tankside.questions.water_ways import Changes, degrees
from tankside.units import significant

STEP = 1 / 24
"""Years."""
MILLIAMMETER = 10.0
"""Ohm of a usual meter on its milliampere range (order of magnitude, from memory)."""
STOOD = 2.0
"""Years after which rods are pulled."""


@dataclass(frozen=True)
class Case:
    """A tank and what is the matter: what it is called, numbers set, numbers multiplied."""

    name: str
    changes: Changes
    times: Changes

    def unit(self) -> Unit:
        """The tank, with a new rod."""
        return tank(self.changes, self.times)


SOUND = Case("sound rod, usual water", {}, {})
SKIN = Case("passivated: a hard skin on the rod", {"anode.film": 15_000.0}, {})
SEALED = Case("insulated: thread packed with sealant", {"anode_thread.resistance": 2e5}, {})
WEAK = Case("sound rod, water with few salts", in_water(150.0, 30.0), {})
FAILURES = (
    SOUND,
    Case("rod used up, nobody looked", {"anode.used": 1.0}, {}),
    SKIN,
    SEALED,
    Case("a plain plug, no rod", {"anode.missing": 1.0}, {}),
    Case("a rod for a smaller heater", {}, {"anode.radius": 0.65}),
    Case("zinc rod", {"anode.alloy": 2.0}, {}),
    Case("aluminum rod", {"anode.alloy": 1.0}, {}),
    Case("behind a softener", {"inlet.hardness": 5.0}, {}),
    Case("glass broken off", {}, {"vessel.bare_area": 20.0}),
)


def ohms(value: float) -> str:
    """A resistance as one writes it."""
    for size, sign in ((1e6, "MΩ"), (1e3, "kΩ")):
        if value >= size:
            return f"{significant(value / size)} {sign}"
    return f"{value:.1f} Ω"


def across(radius: float) -> str:
    """A rod's diameter as the learner reads it."""
    return amount(2e3 * float(radius), "mm", "small length")


def wearing() -> Page:
    """The rod at some ages, its metal and current over the years, and the wall once it is gone."""
    unit = tank()
    found = wear(unit, 6.0, WARM, STEP)
    ends = fate(unit)
    aged = []
    for share in (0.0, 0.25, 0.5, 0.75, 1.0):
        age = share * ends.life
        radius = found.core if share == 1.0 else float(np.interp(age, found.years, found.radius))
        left = 0.0 if share == 1.0 else float(np.interp(age, found.years, found.mass))
        words = (
            "the wire is left"
            if share == 1.0
            else f"{across(radius)} across; {amount(left, 'kg', 'small mass')} left"
        )
        aged.append(Aged("new" if not share else years(age), radius, words))
    said = "; ".join(f"{rod.when}: {rod.words.replace('; ', ', ')}" for rod in aged)
    title = f"The rod of a {unit.model.plate.name} in usual water. How much metal is left is computed; the craters' shape is ours."
    picture = rods(
        aged,
        float(found.radius[0]),
        found.core,
        found.length,
        title,
        f"Drawing of one rod at five ages. {said}.",
    )
    return reveal(
        together(Page(picture, f"{title} {said}."), _over_the_years(found, ends.life, ends.through)),
        "Show the rod",
    )


def _over_the_years(found: Wear, life: float, through: float) -> Page:
    kept = f"{1e3 * found.current[0]:.1f} mA when new, {1e3 * found.current[found.current > 0][-1]:.1f} mA at its end"
    words = f"The rod gives {kept}. It is used up after {years(life)}. Then the steel rusts, and is through after {years(through)}, if nobody looks."
    last = float(found.years[-1])
    drawn = chart(
        "What is left or lost, in percent",
        Scale(0.0, last, "years", marks=tuple((float(k), str(k)) for k in range(int(last) + 1)), words="since the rod was new"),
        Scale(0.0, 1.0, "", marks=tuple((k / 4, f"{25 * k}") for k in range(5))),
        (
            Line(found.years, found.mass / found.mass[0], "metal left on the rod"),
            Line(found.years, found.current / found.current[0], "current, of the first day's"),
            Line(found.years, found.pit, "deepest pit, of the wall"),
        ),
        words, f"Chart over the years. {words}",
    )  # fmt: skip
    return Page(drawn, words)


@cache
def _failure(k: int) -> tuple[float, Fate, float, bool]:
    """Ohm across the thread, fate, m of radius after ``STOOD`` and whether that is the wire's."""
    unit = FAILURES[k].unit()
    old = wear(unit, STOOD, WARM, 1 / 12)
    return (
        float(corrosion.bond(unit)[0]),
        fate(unit),
        float(old.radius[-1]),
        bool(old.radius[-1] <= old.core * 1.001),
    )


def failures() -> Page:
    """Ten tanks: ohms across the thread, current, is the steel safe, the rod after two years, years of rod and wall."""
    rows = []
    for k, case in enumerate(FAILURES):
        thread, found, radius, spent = _failure(k)
        there = "anode.missing" not in case.changes
        rows.append(
            (
                case.name,
                ohms(thread) if there else "no rod",
                f"{1e3 * found.current:.2f} mA",
                "yes" if found.protected else "NO",
                ("bare wire" if spent else across(radius)) if there else "a plug",
                years(found.life) if there else "–",
                years(found.through),
            )
        )
    head = ("what it is", "ohms, rod to tank", "current", "steel safe?", f"rod after {STOOD:.0f} years", "rod used up after", "steel through after")  # fmt: skip
    note = f"{tank().model.plate.name}, water at {degrees(WARM)}. Each as it is on the first day, and if nobody ever looks."
    before = table("What each of the ten is", head[:2], [row[:2] for row in rows])
    return together(before, reveal(table("Ten tanks", head, rows, note), "Show the ten"))


def _seen(old: Wear) -> str:
    return "bare wire" if old.radius[-1] <= old.core * 1.001 else across(old.radius[-1])


def looks_new() -> Page:
    """Rods pulled after some years: how they look, ohms across the thread, and the deepest pit behind each."""
    rows: list[tuple[str, ...]] = []
    seen: list[tuple[str, ...]] = []
    for case in (SOUND, WEAK, SEALED, SKIN):
        unit = case.unit()
        old = wear(unit, STOOD, WARM, 1 / 12)
        skin = ", hard skin" if unit["anode.film"][0] > 500 else ""
        pit = f"{100 * old.pit[-1]:.0f} % of the wall" if old.pit[-1] > 0.005 else "none"
        found = (f"{_seen(old)}{skin}", ohms(float(corrosion.bond(unit)[0])))
        seen.append((f"rod {len(seen) + 1}", *found))
        rows.append(
            (
                f"{len(seen)}: {case.name}",
                *found,
                f"{1e3 * old.current[-1]:.2f} mA",
                pit,
            )
        )
    head = ("tank", "rod across", "ohms, rod to tank", "current", "deepest pit")
    note = f"All four were {across(tank()['anode.radius'][0])} across when new, {STOOD:.0f} years ago."
    return together(
        table("What caliper, eyes and meter find", ("", *head[1:3]), seen, note),
        reveal(table("Four rods", head, rows), "Show the tanks behind them"),
    )


@cache
def _on(conductivity: float, hardness: float, warm: float) -> Fate:
    """The fate of a sound tank on that water."""
    return fate(tank(in_water(conductivity, hardness)), warm)


def softener() -> Page:
    """The same water from hard to softened: current, rod and wall."""
    rows = []
    base = float(tank()["tank.water_conductivity"][0]) * 500.0
    for hardness in (300.0, 150.0, 75.0, 5.0):
        unit = tank(in_water(base, hardness))
        found = _on(base, hardness, WARM)
        rows.append(
            (
                amount(hardness, "mg/L", "hardness"),
                amount(float(corrosion.bare_steel(unit)[0]), "m^2", "area"),
                f"{1e3 * found.current:.1f} mA",
                years(found.life),
                years(found.through),
            )
        )
    head = ("hardness", "bare steel that draws", "current", "rod used up after", "steel through after")
    note = (
        f"All conduct alike, {base:.0f} µS/cm: a softener trades lime for salt. How much lime covers is a figure of ours; "
        "that softened water eats rods faster was measured."
    )
    return reveal(table("From hard to soft", head, rows, note), "Show the soft side")


def how_often() -> Page:
    """Four waters, cool and hot: the rod's life, and half of it."""
    rows = []
    for conductivity, hardness in ((150.0, 30.0), (400.0, 150.0), (800.0, 150.0), (800.0, 5.0)):
        cool, hot = (_on(conductivity, hardness, warm) for warm in (45.0, 65.0))
        rows.append(
            (
                f"{conductivity:.0f} µS/cm, {amount(hardness, 'mg/L', 'hardness')}",
                years(cool.life),
                years(hot.life),
                years(hot.life / 2),
            )
        )
    head = ("water", f"rod's life at {degrees(45.0)}", f"at {degrees(65.0)}", "look first after")
    note = "The last column is half of the shorter life. The trade says: look twice a year in full-time use, and replace it about each year."
    return reveal(table("When to look", head, rows, note), "Show the calendar")


def joint() -> Page:
    """Three ways to test: ohms across a clean thread, across a packed one, and the current in series."""
    clean, packed = SOUND.unit(), SEALED.unit()
    metered = tank({"anode_thread.resistance": MILLIAMMETER})
    good, bad = (ohms(float(corrosion.bond(unit)[0])) for unit in (clean, packed))
    free, read = fate(clean).current, fate(metered).current
    said = (
        f"Ohms from the rod's head to the tank, drained: {good} across a clean thread, {bad} across one that is packed. "
        f"Where the rod hangs isolated with a lead of its own: a milliammeter in that lead, tank full, shows {1e3 * read:.1f} mA. "
        f"The meter's own {MILLIAMMETER:.0f} Ω hold some back: {1e3 * free:.1f} mA flow without it."
    )
    tests = (
        Test("clean thread", good, False),
        Test("packed thread", bad, True),
        Test("isolated rod, tank full", f"{1e3 * read:.1f} mA", True, True),
    )
    return Page(ways_to_test(tests, said, f"Drawing of a rod in a tank's wall, three times. {said}"), said)


def aluminum() -> Page:
    """A tank of aluminum without a rod, beside bare steel without one."""
    light = tank(model="ouzel_23")
    old = wear(light, LONG, WARM, 0.5)
    rows = [
        ("steel, glass lined, no rod", tank().model.plate.name, f"through after {years(alone(tank()))}"),
        (
            "aluminum, no rod",
            light.model.plate.name,
            f"{100 * old.pit[-1]:.0f} % of the wall after {LONG:.0f} years",
        ),
    ]
    note = "Aluminum in fresh water wears a tight skin of its own. How slowly it goes on dissolving is a figure of ours: trust the direction."
    return reveal(
        table("Two tanks without a rod", ("tank", "heater", "the deepest pit"), rows, note), "Show both"
    )
