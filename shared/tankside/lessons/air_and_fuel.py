"""What lesson 8 computes: each function works a burner, a bench or the combustion laws. No number is typed in."""

from __future__ import annotations

import re

import numpy as np

from tankside.heater import burner
from tankside.lessons.air_and_fuel_drawings import (
    Axis,
    Chart,
    Curve,
    Flame,
    air_boxes,
    burner_in_section,
    charts,
    flames,
)
from tankside.lessons.air_and_fuel_readings import GOOD, MODEL, limits_of
from tankside.lessons.air_and_fuel_readings import analyzer as analyzer
from tankside.lessons.air_and_fuel_readings import blue as blue
from tankside.lessons.air_and_fuel_readings import limits as limits
from tankside.lessons.air_and_fuel_readings import patterns as patterns
from tankside.lessons.air_and_fuel_readings import people as people
from tankside.lessons.air_and_fuel_readings import soot as soot
from tankside.lessons.air_and_fuel_readings import thinned as thinned
from tankside.lessons.air_and_fuel_readings import three_ways as three_ways
from tankside.lessons.air_and_fuel_readings import yellow as yellow
from tankside.lessons.air_and_fuel_worked import web_example
from tankside.lessons.pages import reveal, table, together
from tankside.measures import amount
from tankside.notebook import Page
from tankside.physics.carbon_monoxide import monoxide_made, room_monoxide_si
from tankside.physics.co_exposure import alarm_points
from tankside.physics.combustion import air_need, dry_fractions_si, flue_gas, products_si
from tankside.physics.flame import yellow_limit_si
from tankside.physics.fuels import fuel, heating_value
from tankside.questions.burning import Array, Burning, burning, picture
from tankside.units import quantity

FILLING = {"flue.blocked": 0.57}
"""A flue so far blocked that it spills, and the flame is still blue."""
FIVE: dict[str, tuple[str, dict[str, float]]] = {
    "steady blue": ("as it should be", GOOD),
    "lazy orange": ("a web in the burner tube", {"burner.web": 0.75}),
    "lifting": ("ports rusted shut: the rest get too much", {"burner.rust": 0.6}),
    "flashback": (
        "hardly any gas pressure, dirt in the jet, shutter wide open",
        {"burner.opening": 1.0, "orifice.blocked": 0.5, "regulator.set_pressure": 100.0},
    ),
    "drop-out": ("flue stopped up: no air comes in any more", {"flue.blocked": 0.9}),
}
"""Each flame of the physics with something that makes it so on this heater."""


def closed_cabin() -> Page:
    """A cabin into which a half-blocked flue spills, closed and with a window open: ppm against time."""
    now = burning(MODEL, FILLING)
    hours = np.linspace(0.0, 4.0, 241)
    shut, aired = (_room(now, hours, changes) for changes in (burner.CHANGES, 10 * burner.CHANGES))
    chart = Chart(
        "CO in the cabin's air, ppm",
        Axis(0, 4, tuple((h, f"{h} h") for h in range(5))),
        Axis(0, 500, tuple((p, str(p)) for p in range(0, 501, 100))),
        (Curve(hours, shut, "closed"), Curve(hours, aired, "window open", "curve2")),
        "time with the burner on",
        tuple((p.ppm, f"house alarm: within {p.latest:g} min") for p in alarm_points()),
    )
    rows = []
    for ppm in (35.0, 70.0, 150.0, 200.0, 400.0):
        rows.append((f"{ppm:.0f} ppm", _reached(hours, shut, ppm), _reached(hours, aired, ppm)))
    size = amount(burner.ROOM, "m^3", "gas volume")
    said = (
        f"A cabin of {size}. The flue is {100 * FILLING['flue.blocked']:.0f} % blocked. The flame at the sight hole: {now.kind[0]}. "
        f"After two hours: {shut[120]:.0f} ppm closed, {aired[120]:.0f} ppm with a window open."
    )
    head = ("reached in the air", "cabin closed", "window open")
    drawn = Page(charts([[chart]], said, said, 190.0, 90.0), said)
    silent, level, at, more = min(_silent(hours, shut))
    note = (
        f"In the closed cabin a house alarm may stay silent for {silent:.0f} min: {level:.0f} ppm are there after {at:.0f} min, and "
        f"then it may take {more:.0f} min more. How much spills and how tight a cabin is are figures of ours. A real one may be quicker."
    )
    return reveal(together(drawn, table("How soon", head, rows, note)), "Show the cabin fill")


def air_for_gas() -> Page:
    """One volume of propane, the air that it needs, and what comes out, box by box."""
    one = fuel("propane")
    need = air_need(one).volume
    out = products_si(one, 0.0)
    oxygen = one.atoms[0] + one.atoms[1] / 4
    said = (
        f"One box of propane burns with {need:.1f} boxes of air: {oxygen:.0f} of oxygen and {need - oxygen:.1f} of nitrogen. "
        f"Out come {out['CO2']:.0f} of carbon dioxide, {out['H2O']:.0f} of water vapor and the nitrogen."
    )
    body = air_boxes(
        "C₃H₈",
        (("O₂", "o2", oxygen), ("N₂", "n2", need - oxygen)),
        (("CO₂", "co2", out["CO2"]), ("H₂O", "h2o", out["H2O"]), ("N₂", "n2", out["N2"])),
        said,
        said,
    )
    return reveal(Page(body, said), "Show the boxes")


def gases() -> Page:
    """Propane and butane beside each other: air for one of gas, and what our heater takes in an hour."""
    input_ = burning(MODEL, GOOD).input[0]
    rows = []
    for name in ("propane", "butane"):
        one = fuel(name)
        flow = (quantity(input_, "W") / heating_value(one)).to("cfh").magnitude
        need = air_need(one)
        rows.append(
            (
                name,
                f"{need.volume:.1f}",
                f"{need.mass:.1f}",
                amount(flow, "cfh", "gas flow"),
                amount(flow * need.volume, "cfh", "gas flow"),
            )
        )
    head = (
        "gas",
        "air to one volume of gas",
        "air to one weight of gas",
        "gas for our heater",
        "air it needs",
    )
    note = f"Both for the same input, {amount(input_, 'W', 'heat rate')}. The air is for burning alone, nothing to spare."
    return table("Air for the gas", head, rows, note)


def spare_air() -> Page:
    """Oxygen, carbon dioxide and carbon monoxide of a well-mixed flame against the air on top of the need."""
    one, x = fuel("propane"), np.linspace(0.0, 100.0, 101)
    dioxide, oxygen = (100 * part for part in dry_fractions_si(one, x / 100))
    wide = np.linspace(-20.0, 100.0, 121)
    monoxide = [monoxide_made(one, quantity(float(v), "percent")).magnitude for v in wide]
    left = Chart(
        "O2 and CO2, % of dry flue gas",
        Axis(0, 100, tuple((v, f"{v}") for v in (0, 25, 50, 75, 100))),
        Axis(0, 15, tuple((v, f"{v}") for v in (0, 5, 10, 15))),
        (Curve(x, oxygen, "O2"), Curve(x, dioxide, "CO2", "curve2")),
        "air on top of the need, %",
    )
    right = Chart(
        "CO air-free, ppm",
        Axis(-20, 100, tuple((v, f"{v}") for v in (-20, 0, 25, 50, 75, 100))),
        Axis(10, 1e5, ((10, "10"), (100, "100"), (1000, "1,000"), (1e4, "10,000")), True),
        (Curve(wide, monoxide),),
        "air on top of the need, %",
        tuple((limit.ppm, f"{limit.ppm:g} ppm") for limit in limits_of("flue")),
    )
    half = flue_gas(one, 0.5)
    said = (
        f"With half as much again as it needs, propane leaves {half.dry['O2'].magnitude:.1f} % of oxygen and "
        f"{half.dry['CO2'].magnitude:.1f} % of carbon dioxide. Nearer to just enough air, carbon monoxide shoots up: "
        f"{monoxide[20]:,.0f} ppm with nothing to spare, {monoxide[45]:,.0f} ppm with a quarter on top. The right chart counts in tens."
    )
    return Page(charts([[left, right]], said, said, 150.0, 36.0), said)


def two_doors() -> Page:
    """The burner in section with the shares of its air."""
    now = burning(MODEL, GOOD)
    primary, all_ = round(100 * now.aeration[0]), round(100 * (1 + now.excess[0]))
    low = 100 * yellow_limit_si(fuel("propane"))
    said = (
        f"A healthy burner in section. Of every 100 parts of air that the gas needs, {primary} come as primary air through "
        f"the shutter and {all_ - primary} as secondary air through the grille: {all_} in all. Below about {low:.0f} parts "
        "of primary air the tips turn yellow."
    )
    body = burner_in_section(
        f"{primary} parts",
        f"{all_ - primary} parts",
        primary / low,
        False,
        said,
        f"Drawing of a burner. {said}",
    )
    return Page(body, said)


def shutter() -> Page:
    """The shutter closed step by step: primary air, oxygen and carbon monoxide."""
    shares = np.array([0.6, 0.45, 0.35, 0.3, 0.2, 0.15, 0.1, 0.05])
    now = burning(MODEL, {"burner.opening": shares}, len(shares))
    rows = [
        (
            f"{100 * share:.0f} % open",
            f"{100 * now.aeration[k]:.0f} %",
            now.kind[k],
            f"{now.oxygen[k]:.1f} %",
            f"{_ppm(now.air_free[k])}",
        )
        for k, share in enumerate(shares)
    ]
    head = ("shutter", "primary air, of the need", "flame", "O2 in the flue", "CO air-free")
    note = "The heater drags in less air at the tube, and more comes in at the grille. The sum, and so the O2, hardly stirs."
    return reveal(table("Closing the shutter", head, rows, note), "Show the table")


def five_flames() -> Page:
    """The five flames of the physics, drawn from their numbers; to open, what makes them so on our heater."""
    row, rows, limit = [], [], yellow_limit_si(fuel("propane"))
    for kind, (cause, changed) in FIVE.items():
        seen = picture(MODEL, changed)
        numbers = seen.numbers
        looks = {
            "steady blue": ("sharp blue cones,", "they stay put"),
            "lazy orange": ("long, soft, orange,", "it dances"),
            "lifting": ("a gap above", "the ports; a roar"),
            "flashback": ("burns inside,", "a pop or a hiss"),
            "drop-out": ("no flame left,", "raw gas comes"),
        }[seen.kind]
        row.append(
            Flame(seen.kind, float(numbers.aeration) / limit, float(numbers.gradient / numbers.lift), looks)
        )
        why = ". ".join(reason[0].upper() + reason[1:] for reason in seen.reasons) + "."
        why = re.sub(r"([\d.]+) m/s", lambda found: amount(float(found[1]), "m/s", "speed"), why)
        rows.append((kind if kind == seen.kind else f"{kind}?", cause, why))
    said = "Five flames: " + "; ".join(f"{flame.kind}: {' '.join(flame.note)}" for flame in row) + "."
    drawn = Page(flames(row, "Five flames on one burner. The law decides which, not a name.", said), said)
    note = "Where a flame turns yellow, lifts or goes back is a teaching model. The directions are right; the exact limits are ours."
    reasons = table("Why they look so", ("flame", "here", "why"), rows, note)
    return together(drawn, reveal(reasons, "Show what makes each"))


def web_in_tube() -> Page:
    """The burner in section with the web, and its share of air."""
    now = burning(MODEL, {"burner.web": 0.75})
    primary, all_ = round(100 * now.aeration[0]), round(100 * (1 + now.excess[0]))
    low = 100 * yellow_limit_si(fuel("propane"))
    said = (
        f"The same burner with a web in its tube. Only {primary} parts come in as primary air now, and "
        f"{all_ - primary} as secondary air. The sum is still {all_}."
    )
    body = burner_in_section(
        f"{primary} parts",
        f"{all_ - primary} parts",
        primary / low,
        True,
        said,
        f"Drawing of a burner. {said}",
    )
    return Page(body, said)


def example() -> Page:
    """The worked example: an orange flame, with the faults still possible after each step, up to the proof."""
    rows = [(str(s.line), s.did, s.why, str(s.left)) for s in web_example()]
    head = ("log line", "done, and what it showed", "what it tells", "faults left")
    return table("Worked example", head, rows)


def _room(now: Burning, hours: Array, changes: float) -> Array:
    """ppm in the cabin after so many hours, changes of air a second."""
    return 1e6 * np.asarray(room_monoxide_si(now.spilled[0], burner.ROOM, changes, 3600 * hours))


def _silent(hours: Array, ppm: Array) -> list[tuple[float, float, float, float]]:
    """For each alarm point that is reached: min until the alarm must sound at the latest, ppm, min until then, min allowed."""
    found = []
    for point in alarm_points():
        over = np.flatnonzero(ppm >= point.ppm)
        if over.size:
            at = 60 * float(hours[over[0]])
            found.append((at + point.latest, point.ppm, at, point.latest))
    return found


def _reached(hours: Array, ppm: Array, level: float) -> str:
    over = np.flatnonzero(ppm >= level)
    return f"after {60 * hours[over[0]]:.0f} min" if len(over) else "not in four hours"


def _ppm(value: float) -> str:
    return f"{value:,.0f} ppm"
