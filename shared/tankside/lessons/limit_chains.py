"""What lesson 4 computes: chains of contacts cold and hot, broken here or there, and how few tests find the break."""

from __future__ import annotations

import numpy as np

from tankside.bench import Bench
from tankside.case import as_found, draw_case
from tankside.diagnosis.chain_plans import by_halves, longest, one_by_one
from tankside.faults.catalogue import fault_named
from tankside.heater.model import load_model
from tankside.heater.simulation import advance, draw
from tankside.heater.unit import Unit, make_unit
from tankside.labs import load_lab
from tankside.lessons.element import way
from tankside.lessons.pages import reveal, shown, table
from tankside.lessons.scales import Line, Scale, chart
from tankside.lessons.worked import chain_example
from tankside.measures import amount
from tankside.notebook import Page, plain_bench

MODEL = "heron_6"
BOTH = "plover_12"
CONTACTS = ("heater_switch", "thermostat", "link_bar", "high_limit")
COVERS = ("panel", "junction-box", "heater-front")
BREAKS = (
    ("heater-switch-off", "switch on the heater"),
    ("thermostat-stuck-open", "thermostat"),
    ("link-bar-burnt", "link bar"),
    ("limit-tripped", "high limit"),
    ("element-open", "the element itself"),
)
HOURS = 12.0
SHUTS = 6.0
"""Hours of heating within which a welded thermostat has made the high limit open."""


def chains() -> Page:
    """The two chains of a heater with both sides: what stands in each row, and at what temperature it opens and closes."""
    unit = make_unit(load_model(BOTH))
    parts = unit.model.parts
    rows = []
    for side, thermostat, limit in (
        ("mains", "thermostat", "high_limit"),
        ("12 V, for the gas", "dc_thermostat", "dc_high_limit"),
    ):
        rows.append((f"{side}: {parts[thermostat].name}", *_levels(unit, thermostat), "by itself"))
        rows.append(
            (f"{side}: {parts[limit].name}", _degrees(unit, limit, "opens_at"), "never by itself", "by hand")
        )
    return table("Two chains on one tank", ("", "opens at", "closes at", "how it closes again"), rows)


def cold_and_hot() -> Page:
    """The mains chain while it heats, and once the water is hot."""
    cold = _opened("no-fault")
    hot = _opened("no-fault")
    hot.wait(180)
    first = way(cold, "Cold water. Every gate is closed, and the element heats.")
    second = way(hot, "Hot water. One gate is open. Which?")
    return reveal(
        Page(first.markup + second.markup, f"{first.text}\n{second.text}"), "Show the chain, cold and hot"
    )


def half_a_day() -> Page:
    """Water temperature over half a day: a good thermostat, and one whose contact has welded."""
    good, welded = _unit("no-fault"), _unit("thermostat-welded")
    for unit in (good, welded):
        unit.set("high_limit.tripped", 0.0)
        unit.set("tank.temperature", float(unit["site.cold_water"][0]))
    good_curve, _ = _followed(good)
    welded_curve, tripped = _followed(welded)
    lines = {
        "thermostat opens": float(good["thermostat.opens_at"][0]),
        "high limit opens": float(good["high_limit.opens_at"][0]),
    }
    hours = np.arange(len(good_curve)) / 60
    said = (
        f"A good thermostat holds the water below {amount(lines['thermostat opens'], 'degC', 'temperature')}. "
        f"With a welded one the water climbs to {amount(max(welded_curve), 'degC', 'temperature')}, where the high "
        f"limit opens after {tripped / 60:.1f} hours. Then it cools, and nothing heats any more."
    )
    title = "Half a day, hot water drawn twice. The bench worked it out minute by minute."
    drawn = chart(
        "Water in the tank",
        Scale(0, HOURS, "h", words="hours", marks=tuple((float(h), f"{h}") for h in range(0, 13, 2))),
        Scale(10, 95, "degC", "temperature"),
        [Line(hours, good_curve, "good thermostat"), Line(hours, welded_curve, "welded shut")],
        title,
        said,
        [(t, words) for words, t in lines.items()],
        "right",
    )
    return reveal(Page(drawn + f"<p>{said}</p>", said), "Show the half day")


def each_break() -> Page:
    """Volts to neutral after each contact, for a break in each place."""
    rows = []
    for fault, name in BREAKS:
        bench = _opened(fault)
        volts = [shown(bench, f"{part}.load", "element.2") for part in CONTACTS]
        rows.append((f"open: {name}", *volts))
    head = ("cold water, all switched on", *(f"after the {_name(part)}" for part in CONTACTS))
    note = "Measured to the neutral end of the element. The volts stop at the open contact."
    return reveal(table("Where do the volts end?", head, rows, note), "Show the readings")


def across_each() -> Page:
    """Volts across each contact: with one break, with two, and with none."""
    one, two, hot = _opened("link-bar-burnt"), _opened("link-bar-burnt"), _opened("no-fault")
    two.switch("heater_switch", "off")
    rows = [
        (name, *(shown(bench, f"{part}.line", f"{part}.load") for part in CONTACTS))
        for name, bench in (
            ("all closed: it heats", hot),
            ("link bar open", one),
            ("link bar open and the switch off", two),
        )
    ]
    note = (
        "Full volts across a contact means: it is open, and everything else on the way is closed. "
        "With two breaks, each reads next to nothing: the meter needs a way on to the neutral, and the other break "
        "cuts it off. A few odd volts are a ghost."
    )
    head = ("", *(f"across the {_name(part)}" for part in CONTACTS))
    return reveal(table("The same meter, laid across", head, rows, note), "Show the readings")


def satisfied_or_stuck() -> Page:
    """An open thermostat: with hot water and after the tap has run, on a good one and on a stuck one."""
    rows = []
    for fault, name in (("no-fault", "good"), ("thermostat-stuck-open", "stuck open")):
        bench = _covers_off(fault)
        bench.wait(180)
        hot = _tank(bench), shown(bench, "thermostat.line", "thermostat.load")
        bench.run_tap(10)
        cold = _tank(bench), shown(bench, "thermostat.line", "thermostat.load")
        rows.append((name, f"{hot[1]} with the water at {hot[0]}", f"{cold[1]} with the water at {cold[0]}"))
    head = ("thermostat", "across it, as found", "across it, after the hot tap has run")
    note = "A stuck one leaves the water cold, so it stands open at a temperature where a good one is closed."
    return reveal(table("Open because it should be, or open for good?", head, rows, note), "Show both")


def half_bad() -> Page:
    """A burnt contact: its ohms, its volts under load, and the heat that it makes."""
    bench = _opened("thermostat-burnt-contact")
    across = bench.probe("thermostat.line", "thermostat.load").readings[0]["value"]
    left = shown(bench, "element.1", "element.2")
    good = _opened("no-fault")
    fine = shown(good, "thermostat.line", "thermostat.load")
    coil = float(bench.state.unit["element.resistance"][0])
    amps = float(bench.probe("element.1", "element.2").readings[0]["value"]) / coil
    _dead(bench)
    ohms = shown(bench, "thermostat.line", "thermostat.load")
    _dead(good)
    rows = [
        ("good", fine, shown(good, "thermostat.line", "thermostat.load"), "next to none"),
        ("burnt", f"{across:.1f} V", ohms, f"{across * amps:.0f} W in the contact"),
    ]
    note = f"The element is left with {left}. The heat in the contact goes on burning it."
    head = ("thermostat contact", "across it, under load", "ohms, dead, leads zeroed", "heat in the contact")
    return reveal(table("A contact that is half bad", head, rows, note), "Show both contacts")


def tests_needed() -> Page:
    """How many tests find one open contact, one by one and by halves, on average and at worst."""
    rows = []
    for n in (4, 8, 12, 16):
        singly, halves = one_by_one(n), by_halves(n)
        rows.append(
            (str(n), f"{singly.minutes:.2f}", str(longest(singly, n)), f"{halves.minutes:.2f}", str(longest(halves, n)))
        )  # fmt: skip
    head = ("contacts in the row", "one by one, on average", "at worst", "by halves, on average", "at worst")
    return reveal(table("Tests until the open one is found", head, rows), "Show the tests")


def what_trips() -> Page:
    """Which faults of the mains side leave the high limit open, and what a new limit does on each of them."""
    rows = []
    for name in load_lab("lab03").faults:
        unit = _unit(name)
        if not (unit["high_limit.tripped"][0] or unit["high_limit.stuck_open"][0]):
            continue
        for key in ("tripped", "stuck_open"):  # what a new one is without
            unit.set(f"high_limit.{key}", 0.0)
        unit.set("tank.temperature", float(unit["site.cold_water"][0]))
        minutes = _until_trip(unit)
        again = (
            "it stays closed"
            if minutes is None
            else f"it opens again after {minutes / 60:.1f} hours of heating"
        )
        rows.append((fault_named(name).name, again))
    trips = sum("opens again" in row[1] for row in rows)
    note = (
        f"{len(rows)} faults leave the limit open. {trips} of them would open a new one as well. "
        "The meter shows the same for each of them: an open contact."
    )
    head = ("why the limit stands open", "and with a new limit, nothing else done")
    return reveal(table("A tripped high limit", head, rows, note), "Show what the bench found")


def example() -> Page:
    """The worked example: a cold heater, split in half again and again; how many faults are left after each step."""
    steps = chain_example()
    rows = [(str(s.line), s.did, s.why, str(s.left)) for s in steps]
    head = ("log line", "done, and what it showed", "what it tells", "faults left")
    return table("Worked example", head, rows)


def _name(part: str) -> str:
    return load_model(MODEL).parts[part].name


def _levels(unit: Unit, part: str) -> tuple[str, str]:
    return _degrees(unit, part, "opens_at"), _degrees(unit, part, "closes_at")


def _degrees(unit: Unit, part: str, key: str) -> str:
    return amount(float(unit[f"{part}.{key}"][0]), "degC", "temperature")


def _tank(bench: Bench) -> str:
    return amount(float(bench.state.unit["tank.temperature"][0]), "degC", "temperature")


def _unit(fault: str) -> Unit:
    """A heater with the fault, as its owner left it."""
    return as_found(draw_case(MODEL, (fault,), "4"))


def _followed(unit: Unit) -> tuple[list[float], float]:
    """The water minute by minute, with hot water drawn twice; and the minute at which the limit opened, if it did."""
    curve, tripped = [], float("nan")
    for minute in range(int(HOURS * 60)):
        curve.append(float(unit["tank.temperature"][0]))
        if minute in (150, 420):
            draw(unit, 12.0)
        advance(unit, 1.0)
        if unit["high_limit.tripped"][0] and tripped != tripped:
            tripped = minute + 1.0
    return curve, tripped


def _until_trip(unit: Unit) -> float | None:
    for minute in range(int(SHUTS * 60)):
        advance(unit, 1.0)
        if unit["high_limit.tripped"][0]:
            return minute + 1.0
    return None


def _covers_off(fault: str, number: int = 1) -> Bench:
    bench = plain_bench(fault, MODEL, number)
    for place in COVERS:
        bench.open_cover(place)
    bench.meter("V~")
    return bench


def _opened(fault: str, number: int = 1) -> Bench:
    """Covers off, and the water cool enough for the thermostat to call."""
    bench = _covers_off(fault, number)
    bench.run_tap(10)
    return bench


def _dead(bench: Bench) -> None:
    """Isolated, locked, proven dead; the meter on ohms, its leads zeroed."""
    bench.switch("breaker", "off")
    bench.switch("supply", "out")
    bench.lock_out()
    bench.prove_dead("heater-front")
    bench.meter("Ω")
    bench.zero_leads()
