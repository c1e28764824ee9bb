"""What lesson 2 computes: from a plate to amps and ohms, and from volts to watts and minutes. No number is typed in."""

from __future__ import annotations

import math
from typing import Any

from tankside.bench import Bench
from tankside.heater.model import load_model
from tankside.lessons.ohm_watt_drawings import Load, Mark, ohms_line, watts_as_area
from tankside.lessons.pages import reveal, say, steps, table
from tankside.lessons.printed import four_numbers as four_numbers
from tankside.measures import amount
from tankside.notebook import Page, plain_bench
from tankside.physics.conductors import voltage_drop
from tankside.physics.resistance_heating import (
    current_through,
    element_current,
    element_resistance,
    power_at,
    power_from,
    resistance_band,
)
from tankside.physics.tank_heat import time_to_temperature
from tankside.units import quantity

MODEL = "heron_6"
COVERS = ("panel", "junction-box", "heater-front")
CLAIM = 10.8
"""Ω that the trade calls a good element of 1440 W at 120 V (common practice, no source)."""
CONTINUOUS = 1.25
"""A fixed storage heater counts as a continuous load: its branch is sized for so many times its amps (NEC 422.13, secondary)."""


def plate() -> Page:
    """Amps and ohms from the data plate, each with its way of working."""
    watts, volts = _rating()
    amps, ohms = element_current(watts, volts), element_resistance(watts, volts)
    w, v, a, r = (q.magnitude for q in (watts, volts, amps, ohms))
    rows = [
        ("amps", "watts divided by volts", f"{w:.0f} W ÷ {v:.0f} V = {a:.1f} A"),
        ("ohms", "volts divided by amps", f"{v:.0f} V ÷ {a:.1f} A = {r:.1f} Ω"),
        ("ohms, straight", "volts times volts, divided by watts", f"{v:.0f} × {v:.0f} ÷ {w:.0f} = {r:.1f} Ω"),
        ("watts, to check", "volts times amps", f"{v:.0f} V × {a:.1f} A = {v * a:.0f} W"),
    ]
    return table(f"The plate says {w:.0f} W, {v:.0f} V", ("you want", "the way", "our heater"), rows)


def area() -> Page:
    """Full, eight tenths and half of the plate's volts: watts as areas."""
    loads = [_at(share) for share in (1.0, 0.8, 0.5)]
    title = "As wide as the volts, as high as the amps. The area is the heat."
    said = f"{title} " + "; ".join(f"{x.volts:.0f} V, {x.amps:.1f} A, {x.watts:.0f} W" for x in loads)
    return Page(watts_as_area(loads, title, said), said)


def half() -> Page:
    """What half the volts give, behind a line to press."""
    full, part = _at(1.0), _at(0.5)
    share = part.watts / full.watts
    words = (
        f"Half the volts push half the amps: {part.amps:.1f} A. Half the volts times half the amps is "
        f"**{part.watts:.0f} W**, or {share:.0%} of {full.watts:.0f} W. Not half. A quarter."
    )
    return reveal(say(words), "Show what half the volts give")


def slower() -> Page:
    """Volts, watts and the minutes to a hot tank, beside what "a bit slower" would be."""
    full = _minutes(1.0)
    rows = []
    for share in (1.05, 1.0, 0.95, 0.9, 0.8, 0.7):
        load = _at(share)
        minutes = _minutes(share)
        rows.append(
            (
                f"{load.volts:.0f} V",
                f"{share - 1:+.0%}" if share != 1 else "as the plate",
                f"{load.watts:.0f} W",
                f"{load.watts / _at(1.0).watts - 1:+.0%}" if share != 1 else "as the plate",
                f"{minutes:.0f} min",
                f"{minutes / full - 1:+.0%}" if share != 1 else "",
            )
        )
    cold, hot = (amount(c, "degC", "temperature") for c in _span())
    note = (
        f"From {cold} to {hot}, nobody draws any, the tank's own losses counted. "
        f"A tenth less volts cost {_minutes(0.9) / full - 1:.0%} more wait; three tenths less cost {_minutes(0.7) / full - 1:.0%}."
    )
    head = ("volts", "volts off by", "heat", "heat off by", "cold to hot", "wait changes by")
    return reveal(table("The same element at other volts", head, rows, note), "Show the waits")


def band() -> Page:
    """What the plate allows, and what four elements on the bench read."""
    watts, volts = _rating()
    low, high = (q.magnitude for q in resistance_band(watts, volts))
    marks, words = [], []
    for k, (fault, name) in enumerate(
        (("element-low", "shorted turns"), ("no-fault", "a good one"), ("element-wrong", "wrong part"))
    ):
        reading = _dead(fault).probe("element.1", "element.2").readings[0]
        marks.append(Mark(reading["value"], f"{name}: {reading['digits']} Ω", (k + 1) % 2))
        words.append(f"{name} {reading['digits']} Ω")
    ends = (min(m.ohms for m in marks) - 1.5, max(m.ohms for m in marks) + 1.5)
    title = "Three elements with the same plate, measured dead, leads lifted."
    said = f"{title} Good is {low:.2f} to {high:.2f} Ω. " + "; ".join(words)
    nominal = element_resistance(watts, volts).magnitude
    return reveal(
        Page(ohms_line(low, nominal, high, marks, ends, title, said), said), "Show the three readings"
    )


def saying() -> Page:
    """The trade's 10.8 Ω against the band, for this plate and for two others."""
    rows = []
    for watts, volts in ((1440.0, 120.0), (1400.0, 120.0), (1500.0, 120.0), (1000.0, 120.0)):
        p, u = quantity(watts, "W"), quantity(volts, "V")
        low, high = (q.magnitude for q in resistance_band(p, u))
        gives = power_from(voltage=u, resistance=quantity(CLAIM, "ohm")).magnitude
        inside = "inside" if low <= CLAIM <= high else "outside"
        rows.append(
            (
                f"{watts:.0f} W, {volts:.0f} V",
                f"{element_resistance(p, u).magnitude:.2f} Ω",
                f"{low:.2f} to {high:.2f} Ω",
                f"{gives:.0f} W, {gives / watts:.0%} of the plate",
                inside,
            )
        )
    head = ("plate", "its own ohms", "a good one reads", f"{CLAIM} Ω would give", f"{CLAIM} Ω is")
    return table(f"Is {CLAIM} Ω good?", head, rows)


def worked() -> Page:
    """Plate, outlet, dead, ohms: a slow heater judged by its numbers, line by line of the log."""
    bench = _heating("element-wrong")
    why: dict[int, str] = {}

    def note(words: str) -> None:
        why[len(bench.entries) - 1] = words

    watts, volts = _rating()
    low, high = (q.magnitude for q in resistance_band(watts, volts))
    bench.prove_meter()
    note(
        f"First the plate: {element_resistance(watts, volts).magnitude:.1f} Ω, good from {low:.1f} to {high:.1f} Ω."
    )
    supply = bench.probe("supply.hot", "supply.neutral").readings[0]["value"]
    here = power_at(watts, volts, quantity(supply, "V")).magnitude
    note(f"At these volts a good element gives {here:.0f} W. Enough: the supply isn't why it is slow.")
    bench.probe("element.1", "element.2")
    note("Nearly all of it reaches the element: no joint on the way eats much.")
    bench.switch("breaker", "off")
    bench.switch("supply", "out")
    bench.lock_out("supply")
    bench.prove_dead("heater-front")
    note("Isolated, locked, live, dead, live. Only now ohms, only now hands.")
    bench.lift("W10")
    bench.lift("W11")
    note("Both leads off: the meter sees the element and nothing else.")
    bench.meter("Ω")
    bench.zero_leads()
    note("The leads' own ohms come off.")
    ohms = bench.probe("element.1", "element.2").readings[0]["value"]
    gives = power_from(voltage=quantity(supply, "V"), resistance=quantity(ohms, "ohm")).magnitude
    note(f"Above {high:.1f} Ω. It gives {gives:.0f} W here, {gives / here:.0%} of a good one: a weaker part was fitted.")  # fmt: skip
    return table(
        "Worked example: it heats, but slowly",
        ("log line", "done, and what it showed", "what it tells"),
        steps(bench, why),
    )


def joints() -> Page:
    """A bad joint in series with the element: what it takes and what is left."""
    watts, volts = _rating()
    coil = element_resistance(watts, volts)
    rows = []
    for ohms in (0.01, 0.1, 0.5, 1.0, 3.0):
        joint = quantity(ohms, "ohm")
        amps = current_through(volts, coil + joint)
        lost = power_from(current=amps, resistance=joint).magnitude
        left = power_from(current=amps, resistance=coil).magnitude
        rows.append(
            (f"{ohms:g} Ω", f"{amps.magnitude * ohms:.1f} V", f"{lost:.1f} W", f"{left:.0f} W of {watts.magnitude:.0f} W")
        )  # fmt: skip
    head = ("ohms in the joint", "volts it keeps", "heat in the joint", "heat in the water")
    return reveal(table("One bad joint", head, rows), "Show what the joint does")


def wires() -> Page:
    """Volts and heat lost in the branch's own wire, by length: the wire is in the loop, so it takes some of the current too."""
    watts, volts = _rating()
    amps = element_current(watts, volts)
    rows = []
    for feet in (10, 25, 50, 100):
        cells = [amount(feet, "ft", "length")]
        for gauge in (14, 10):
            drop = voltage_drop(gauge, quantity(feet, "ft"), amps, quantity(20.0, "degC")).magnitude
            lost = drop * volts.magnitude / (volts.magnitude + drop)  # the same divider as a joint's
            left = power_at(watts, volts, volts - quantity(lost, "V")).magnitude
            cells += [f"{lost:.1f} V ({lost / volts.magnitude:.1%})", f"{left:.0f} W"]
        rows.append(tuple(cells))
    head = ("one way", "14 AWG loses", "element gives", "10 AWG loses", "element gives")
    return table(
        f"Our element on copper wire, there and back, at {amount(20.0, 'degC', 'temperature')}",
        head,
        rows,
    )


def breaker() -> Page:
    """The plate's amps against the breaker, with the margin that some rules ask for."""
    watts, volts = _rating()
    amps = element_current(watts, volts).magnitude
    model = load_model(MODEL)
    rated = model.number("plate.breaker", model.plate.breaker, "A")
    need = CONTINUOUS * amps
    shorted = current_through(volts, quantity(0.6 * element_resistance(watts, volts).magnitude, "ohm"))
    share = (shorted.magnitude / rated) ** 2
    trips = model.nominal["breaker.trips_at"]
    seconds = model.nominal["breaker.time_constant"] * math.log(share / (share - trips))
    fits = "fits, with nothing to spare" if abs(need - rated) < 0.05 else "fits" if need < rated else "is too small"  # fmt: skip
    return say(
        f"Our heater takes **{amps:.1f} A**. Many rules ask for {CONTINUOUS - 1:.0%} more for a load that runs for hours: "
        f"{amps:.1f} A × {CONTINUOUS:g} = **{need:.1f} A**. Its {rated:.0f} A breaker {fits}.",
        f"An element with four tenths of its turns shorted takes {shorted.magnitude:.0f} A. The bench's breaker "
        f"opens after about {seconds:.0f} seconds. "
        "A bigger breaker would cure the tripping and burn the wires. **Never fit one.**",
    )


def _rating() -> tuple[Any, Any]:
    model = load_model(MODEL)
    watts = model.number("plate.wattage", model.plate.wattage, "W")
    return quantity(watts, "W"), quantity(model.number("plate.voltage", model.plate.voltage, "V"), "V")


def _at(share: float) -> Load:
    """The plate's element at a share of its volts."""
    watts, volts = _rating()
    here = share * volts
    amps = current_through(here, element_resistance(watts, volts))
    return Load(here.magnitude, amps.magnitude, power_at(watts, volts, here).magnitude)


def _span() -> tuple[float, float]:
    """°C of the cold water that comes in, and at which the thermostat opens."""
    model = load_model(MODEL)
    low, high = (model.number("site.cold_water", text, "degC") for text in model.data.site.cold_water)
    return (low + high) / 2, model.nominal["thermostat.opens_at"]


def _minutes(share: float) -> float:
    """From cold to hot at a share of the plate's volts."""
    model = load_model(MODEL)
    cold, hot = _span()
    time = time_to_temperature(
        quantity(hot, "degC"),
        quantity(cold, "degC"),
        quantity(model.nominal["tank.volume"], "m^3"),
        quantity(_at(share).watts, "W"),
        quantity(model.nominal["tank.loss"], "W/K"),
        quantity(20.0, "degC"),
    )
    return float(time.to("min").magnitude)


def _heating(fault: str) -> Bench:
    """A bench with the covers off, the water cool enough that the thermostat calls for heat, the meter on V~."""
    bench = plain_bench(fault, MODEL)
    for place in COVERS:
        bench.open_cover(place)
    bench.run_tap(10)
    bench.meter("V~")
    return bench


def _dead(fault: str) -> Bench:
    """Isolated, locked, proven dead, both leads lifted, the meter on ohms and zeroed."""
    bench = _heating(fault)
    if bench.state.switches()["breaker"] == "on":
        bench.switch("breaker", "off")
    bench.switch("supply", "out")
    bench.lock_out("supply")
    bench.prove_dead("heater-front")
    bench.lift("W10")
    bench.lift("W11")
    bench.meter("Ω")
    bench.zero_leads()
    return bench
