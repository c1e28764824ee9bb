"""What lesson 9 computes of the way of the water, the tap and the heat: no number is typed in."""

from __future__ import annotations

import numpy as np

from tankside.heater import plumbing
from tankside.heater.history import Schedule, run, tap_curve
from tankside.heater.model import load_model
from tankside.lessons.pages import reveal, table
from tankside.lessons.scales import Line, Scale, chart
from tankside.lessons.water_side_drawings import Tank, in_section, tanks
from tankside.lessons.water_side_pressure import drips as drips
from tankside.lessons.water_side_pressure import growing as growing
from tankside.lessons.water_side_pressure import held_back as held_back
from tankside.lessons.water_side_pressure import shut_tank as shut_tank
from tankside.lessons.water_side_seasons import germs as germs
from tankside.lessons.water_side_seasons import left_full as left_full
from tankside.lessons.water_side_seasons import scald as scald
from tankside.lessons.water_side_seasons import scald_table as scald_table
from tankside.lessons.water_side_seasons import seconds
from tankside.lessons.water_side_seasons import sediment as sediment
from tankside.lessons.water_side_taps import at_rest as at_rest
from tankside.lessons.water_side_taps import no_hot_water as no_hot_water
from tankside.lessons.water_side_taps import three_points as three_points
from tankside.lessons.water_side_worked import lukewarm_example
from tankside.measures import amount
from tankside.notebook import Page
from tankside.physics.hot_water import mixed_temperature_si, scald_time_si
from tankside.physics.stratified import stratified_step_si
from tankside.physics.tank_heat import heat_capacity_si
from tankside.physics.water import T0
from tankside.questions.water_ways import degrees, heater, heats, minutes_to_heat, recovery
from tankside.units import quantity

MODEL = "plover_12"
MODELS = ("plover_12", "grebe_12", "ouzel_23")
LAYERS = 20
FLOW = 5.0
"""L/min that are drawn."""
SHOWER = float(quantity(105, "degF").to("degC").magnitude)
"""°C that a shower is taken at."""
SHOWER_FLOW = float(quantity(1.5, "gpm").to("L/minute").magnitude)
COUNTED = 0.70
"""Share of a tank that the trade counts on (first-hour rating; secondary pages, tests/published/water.toml)."""


def section() -> Page:
    """The heater in section, drawn from its model's data, with its water in layers."""
    unit = heater(MODEL)
    model, gallons = unit.model, amount(float(unit["tank.volume"][0]), "m^3", "volume")
    air = float(unit["cushion.volume"][0] / unit["tank.volume"][0])
    shares = [float(v) for v in np.linspace(0.25, 1.0, 14) ** 0.5]
    said = (
        f"{model.plate.name}, an invented heater of {gallons}, cut open. Cold comes in low (1), hot leaves high (2), through the "
        "check valve (3). The bypass (4) joins the two. A, B and C are three places to measure. The air cushion (7) is drawn to scale."
    )
    drawn = in_section(model, air, 0.0, shares, said, f"Drawing of a heater in section. {said}")
    return Page(drawn, said)


def parts() -> Page:
    """The numbers of the drawing: what each part does, and its figures on this heater."""
    unit, here = heater(MODEL), load_model(MODEL)
    tap, cold = plumbing.hot_tap(unit), unit["site.cold_water"][0]

    def psi(key: str) -> str:
        return amount(float(unit[key][0]), "Pa", "pressure")

    rows = [
        ("1", "cold inlet, with its shut-off", "lets cold in at the bottom", f"{psi('inlet.pressure')}, {degrees(cold)}"),
        ("2", "hot outlet", "takes water from the very top", ""),
        ("3", "check valve", "lets hot out, lets nothing back", ""),
        ("4", "winter bypass", "joins cold to hot, so that the house can do without the heater", "shut in use"),
        ("5", "taps", "mix hot and cold", f"wide open: {amount(float(tap.flow[0]), 'm^3/s', 'water flow')}"),
        ("6", "relief valve", "opens before the tank can burst", f"at {psi('relief_valve.lifts_at')}, or {degrees(unit['relief_valve.opens_at'][0])}"),
        ("7", "air cushion", "gives the growing water room", amount(float(unit["cushion.volume"][0]), "m^3", "volume")),
        ("8", "drain plug with the anode", "lets the tank empty; the rod saves the steel (lesson 10)", ""),
        ("9", "thermostat", "switches the heat", f"off at {degrees(unit['thermostat.opens_at'][0])}, on at {degrees(unit['thermostat.closes_at'][0])}"),
        ("10", "element", "heats from the mains", str(here.plate.wattage)),
        ("11", "burner", "heats from below", amount(here.gas_input, "W", "heat rate")),
    ]  # fmt: skip
    return table("The numbers in the picture", ("", "part", "its job", "on this heater"), rows)


def three_heaters() -> Page:
    """Three heaters: how long one may draw, how long they take to heat."""
    rows = []
    for name in MODELS:
        unit = heater(name)
        cold, hot = float(unit["site.cold_water"][0]), float(unit["thermostat.opens_at"][0])
        for side, watts in heats(name).items():
            minutes = minutes_to_heat(name, watts)
            an_hour = amount(recovery(watts, cold, hot), "L", "volume")
            rows.append((f"{unit.model.plate.name}, {side}", amount(float(unit["tank.volume"][0]), "m^3", "volume"),
                         amount(watts, "W", "heat rate"), f"{minutes:.0f} min", an_hour))  # fmt: skip
    head = ("heater and what heats it", "tank", "heat into the water", "from cold to off", "hot water in an hour")
    note = "Heat into the water is less than the gas input: a part of that leaves by the flue. Each from its own cold water to its own thermostat."
    return reveal(table("Time to get hot", head, rows, note), "Show the table")


def draw_off() -> Page:
    """The tank in layers while water is drawn, and the temperature at the tap against what was drawn."""
    unit = heater(MODEL)
    volume = float(unit["tank.volume"][0]) * 1e3
    cold, hot = float(unit["site.cold_water"][0]), float(unit["tank.temperature"][0])
    row, told = [], []
    for share in (0.0, 0.3, 0.6, 0.9, 1.2):
        nodes = _after(share * volume)
        shares = (nodes - cold) / (hot - cold)
        drawn = amount(share * volume, "L", "volume") if share else "nothing yet"
        row.append(Tank([float(s) for s in shares], ("tap:", degrees(nodes[-1])), ("drawn:", drawn)))
        told.append(f"{drawn}: {degrees(nodes[-1])}")
    title = f"What is left in the tank as {amount(FLOW, 'L/minute', 'water flow')} is drawn, with no heat on."
    said = f"{title} At the tap: {'; '.join(told)}."
    litres = np.linspace(0.0, 1.4 * volume, 85)
    layered, mixed = (tap_curve(unit, list(litres / FLOW), FLOW, n) for n in (LAYERS, 1))
    ends = [float(np.interp(-SHOWER, -curve, litres)) for curve in (layered, mixed)]
    words = (
        f"{degrees(SHOWER)}, a shower, is reached after {amount(ends[0], 'L', 'volume')} in layers, "
        f"and after {amount(ends[1], 'L', 'volume')} if all of it mixed. The tank holds {amount(volume, 'L', 'volume')}."
    )
    curve = chart(
        "Temperature at the tap",
        Scale(0.0, float(litres[-1]), "L", "volume", "water drawn"),
        Scale(10.0, 65.0, "degC", "temperature"),
        (Line(litres, layered, "in layers"), Line(litres, mixed, "if it all mixed at once")),
        words,
        words,
        ((SHOWER, "a shower"),),
    )
    rule = (
        f"{100 * ends[0] / volume:.0f} % of the tank in layers, {100 * ends[1] / volume:.0f} % mixed. "
        f"Pages of the trade count on {100 * COUNTED:.0f} %."
    )
    shown = Page(
        f"{tanks(row, title, said)}{curve}<p>Hot enough for that shower: {rule}</p>",
        f"{said}\n{words}\nHot enough for that shower: {rule}",
    )
    return reveal(shown, "Show the tank")


def _after(litres: float) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    """°C of the layers, bottom first, after so much was drawn with no heat on."""
    unit = heater(MODEL)
    start = np.full(LAYERS, float(unit["tank.temperature"][0]) + T0)
    step = stratified_step_si(
        60.0 * litres / FLOW,
        start,
        float(heat_capacity_si(unit["tank.volume"][0])),
        0.0,
        np.full(LAYERS, 1.0 / LAYERS),
        float(plumbing.standing(unit)[0][0]),
        float(unit["site.room"][0]) + T0,
        float(heat_capacity_si(FLOW / 60e3)),
        float(unit["site.cold_water"][0]) + T0,
    )
    found: np.ndarray[tuple[int], np.dtype[np.float64]] = step.temperature - T0
    return found


def mixing() -> Page:
    """Thermostats set lower and higher: the hot share of a shower, its minutes, and the seconds to a burn."""
    unit = heater(MODEL)
    cold, litres = float(unit["site.cold_water"][0]), float(unit["tank.volume"][0]) * 1e3
    rows = []
    for fahrenheit in (110, 120, 130, 140, 150):
        hot = float(quantity(fahrenheit, "degF").to("degC").magnitude)
        part = (SHOWER - cold) / (hot - cold)
        assert abs(mixed_temperature_si(hot, cold, part) - SHOWER) < 1e-9
        minutes = COUNTED * litres / (SHOWER_FLOW * part)
        burn = seconds(float(scald_time_si(hot + T0))) if fahrenheit >= 120 else "off the table"
        rows.append((degrees(hot), f"{100 * part:.0f} %", f"{minutes:.0f} min", burn))
    head = ("in the tank", "hot part of the shower", "shower lasts", "an adult's skin burns in")
    note = (
        f"Shower at {degrees(SHOWER)}, {amount(SHOWER_FLOW, 'L/minute', 'water flow')}; cold at {degrees(cold)}; "
        f"{100 * COUNTED:.0f} % of {amount(litres, 'L', 'volume')} counted, no heat on. Burns by the slower table."
    )
    return reveal(table("A shower from this tank", head, rows, note), "Show the shower")


def idle_day() -> Page:
    """A day without a draw: the thermostat goes round, and what the jacket loses."""
    unit = heater(MODEL)
    opens, closes = (float(unit[f"thermostat.{k}"][0]) for k in ("opens_at", "closes_at"))
    unit.set("tank.temperature", opens - 0.05)  # just before it opens
    day = run(unit, Schedule(()), 1.0)
    hours = day.time / 3600.0
    spells = [(float(a), float(b)) for a, b, w in zip(hours[:-1], hours[1:], day.power[:-1], strict=True) if w > 1.0 and b - a > 0.02]  # fmt: skip
    on = 60.0 * sum(b - a for a, b in spells)
    lost = day.lost / 3.6e6
    said = (
        f"A day with nobody there. The water goes between {degrees(closes)} and {degrees(opens)}. "
        f"{len(spells)} times the heat comes on, {on:.0f} minutes in all. {lost:.1f} kWh go through the jacket."
    )
    drawn = chart(
        "Water in the tank",
        Scale(0.0, 24.0, "h", marks=tuple((float(h), str(h)) for h in range(0, 25, 4))),
        Scale(35.0, 65.0, "degC", "temperature"),
        (Line(np.linspace(0, 24, 289), np.interp(np.linspace(0, 24, 289), hours, day.temperature), ""),),
        f"{said} The bars at the foot show when it heats.",
        said,
        ((opens, ""), (closes, "thermostat: off at the upper line, on at the lower")),
        "below",
        spells,
    )
    return reveal(Page(drawn, said), "Show the day")


def example() -> Page:
    """The worked example: lukewarm water and a good heater, with the faults still possible after each step."""
    rows = [(str(s.line), s.did, s.why, str(s.left)) for s in lukewarm_example()]
    head = ("log line", "done, and what it showed", "what it tells", "faults left")
    return table("Worked example", head, rows)
