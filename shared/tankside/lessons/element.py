"""What lesson 3 computes: each function works a bench and shows what came of it. No number is typed in."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Any

from tankside.bench import Bench
from tankside.bench.terminals import BODY, Terminals
from tankside.heater.model import load_model
from tankside.lessons.element_drawings import (
    Panel,
    Stop,
    ohms_on_element,
    sheath_in_section,
    way_of_current,
)
from tankside.lessons.pages import reveal, shown, table
from tankside.lessons.printed import wire_table as wire_table
from tankside.lessons.safety import GRIPS
from tankside.measures import amount
from tankside.notebook import Page, plain_bench
from tankside.physics.resistance_heating import (
    current_through,
    element_current,
    element_resistance,
    hot_resistance,
    resistance_band,
)
from tankside.units import quantity

MODEL = "heron_6"
COVERS = ("panel", "junction-box", "heater-front")
NEUTRAL_LEAD, HOT_LEAD = "W11", "W10"
BREACHED, MODEL_NUMBER = "sheath-breached-wet", 3
"""A breach that lets the heater run on: its breaker doesn't trip."""
PEOPLE = 5e-3
"""A to ground at which a device opens that is made to protect people (UL 943, class A: 4 to 6 mA; from memory)."""


def plate() -> Page:
    """What the data plate promises, and the band in which a good element reads."""
    watts, volts = _rating()
    low, high = resistance_band(watts, volts)
    rows = [
        ("on the plate", f"{watts.magnitude:.0f} W at {volts.magnitude:.0f} V"),
        ("amps it should take", f"{element_current(watts, volts).magnitude:.1f} A"),
        ("ohms it should have", f"{element_resistance(watts, volts).magnitude:.1f} Ω"),
        ("a good one reads, cold", f"{low.magnitude:.1f} to {high.magnitude:.1f} Ω"),
    ]
    return table("The element of our heater", ("", ""), rows)


def running() -> Page:
    """The path of the current with the heater heating: volts to ground all the way."""
    return way(
        _opened("no-fault"), "Heating. Follow the current down to the element, and back up the neutral."
    )


def switched_off() -> Page:
    """The same path with the heater's own switch off."""
    bench = _opened("no-fault")
    bench.switch("heater_switch", "off")
    return reveal(
        way(bench, "Switch on the heater OFF. The wire is still live up to the switch."),
        "Show how far it is live",
    )


def open_neutral() -> Page:
    """The same path with the neutral open ahead of the heater."""
    return reveal(
        way(_opened("neutral-open"), "Neutral broken ahead of the heater. Nothing heats. See what is live."),
        "Show what is live",
    )


def load_and_no_load() -> Page:
    """A loose splice: the same two points, once without load and once with."""
    pairs = [
        ("at the outlet", "supply.hot", "supply.neutral"),
        ("junction box, supply side", "junction_box.hot_in", "junction_box.neutral_in"),
        ("junction box, heater side", "junction_box.hot_out", "junction_box.neutral_out"),
        ("across the hot splice itself", "junction_box.hot_in", "junction_box.hot_out"),
    ]
    bench = _opened("splice-loose", number=2)
    bench.switch("heater_switch", "off")
    off = [shown(bench, a, b) for _, a, b in pairs]
    bench.switch("heater_switch", "on")
    on = [shown(bench, a, b) for _, a, b in pairs]
    rows = [(name, a, b) for (name, *_), a, b in zip(pairs, off, on, strict=True)]
    return reveal(
        table("One loose splice", ("volts", "heater off: no load", "heater on: under load"), rows),
        "Show what the meter read",
    )


def halves() -> Page:
    """How many checks it takes to find one break among the joints, one by one or by halves."""
    points = len(_hot_way(load_model(MODEL)))
    rows = [
        (f"{n} (our heater)" if n == points else str(n), str(n - 1), str(math.ceil(math.log2(n))))
        for n in (4, points, 16, 32)
    ]
    return table("Finding one break", ("parts in a row", "one by one, at worst", "by halves, at worst"), rows)


def leads_on_and_off() -> Page:
    """A healthy element, breaker off and plug in: ohms with the neutral lead on, then with both leads off."""
    bench = _isolated("no-fault", unplug=False)
    pairs = (
        ("terminal 1 to 2", "element.1", "element.2"),
        ("terminal 1 to tank", "element.1", "tank.shell"),
        ("terminal 2 to tank", "element.2", "tank.shell"),
    )
    on = tuple((name, shown(bench, a, b)) for name, a, b in pairs)
    bench.lift(NEUTRAL_LEAD)
    bench.lift(HOT_LEAD)
    off = tuple((name, shown(bench, a, b)) for name, a, b in pairs)
    panels = (Panel("Leads on", on, landed=True), Panel("Leads lifted", off))
    said = f"Leads on: {_words(on)}. Leads lifted: {_words(off)}."
    drawing = ohms_on_element(panels, "A healthy element. Breaker off and locked, meter on Ω.", said)
    return reveal(Page(drawing, said), "Show both readings")


def water_and_sheath() -> Page:
    """A whole and a breached sheath, in water and drained: ohms of the coil and to the tank."""
    panels = []
    for heading, fault, wet in (
        ("Whole sheath,\ntank full", "no-fault", True),
        ("Breached sheath,\ntank full", "sheath-breached-wet", True),
        ("Breached sheath,\ntank drained", "sheath-breached-wet", False),
    ):
        coil, leak = _wet_or_dry(fault, wet)
        readings = (("coil, terminal 1 to 2", coil), ("terminal 1 to tank", leak))
        panels.append(Panel(heading, readings, wet=wet, breached=fault != "no-fault"))
    said = "; ".join(f"{p.heading}: {_words(p.readings)}".replace("\n", " ") for p in panels)
    title = "A cut through the element. Leads lifted, meter on Ω."
    return reveal(Page(sheath_in_section(panels, title, said), said), "Show the cut and the readings")


def claim() -> Page:
    """Every element test with the tank full and drained, for a whole and for two damaged elements."""
    rows = []
    for name, fault in (
        ("good element", "no-fault"),
        ("coil burnt open", "element-open"),
        ("turns shorted", "element-low"),
        ("sheath breached", "sheath-breached-wet"),
        ("packing leaks", "sheath-leaks-dry"),
    ):
        full, drained = _wet_or_dry(fault, True), _wet_or_dry(fault, False)
        rows.append((name, full[0], drained[0], full[1], drained[1]))
    head = ("element", "coil, full", "coil, drained", "to tank, full", "to tank, drained")
    same = [row[0] for row in rows if row[1] == row[2]]
    differ = [row[0] for row in rows if row[3] != row[4]]
    note = (
        f"Coil reading the same with and without water: {len(same)} of {len(rows)}. "
        f"Reading to the tank changed by the water: {', '.join(differ)}."
    )
    return table("What does the water change?", head, rows, note)


def how_bad() -> Page:
    """How low a leak must go before the coil's own reading leaves the good band: the worst case, leak across it all."""
    watts, volts = _rating()
    good = element_resistance(watts, volts).magnitude
    low = resistance_band(watts, volts)[0].magnitude
    needed = good * low / (good - low)
    trips = load_model(MODEL).nominal["breaker.residual"]
    rows = []
    for leak in (1e6, 2e4, 5e3, 1e3, needed):
        amps = current_through(volts, quantity(leak, "ohm")).magnitude
        rows.append(
            (
                _ohms(leak),
                f"{good * leak / (good + leak):.2f} Ω",
                f"{1000 * amps:.1f} mA",
                *("yes" if amps > level else "no" for level in (trips, PEOPLE)),
            )
        )
    note = (
        f"The band of a good element ends at {low:.2f} Ω. A leak must fall to {_ohms(needed)} before the coil reads below "
        f"that. By then {current_through(volts, quantity(needed, 'ohm')).magnitude:.2f} A would flow to the tank. "
        f"The ground-fault breaker of this heater opens at {1000 * trips:.0f} mA. One that is made to protect people opens at about {1000 * PEOPLE:.0f} mA."
    )
    head = (
        "leak to the tank",
        "a good coil then reads",
        "current to the tank",
        f"trips at {1000 * trips:.0f} mA?",
        f"at {1000 * PEOPLE:.0f} mA?",
    )
    return table("Worst case: the leak lies across the whole coil", head, rows, note)


def warm_coil() -> Page:
    """Cold and hot resistance of a good coil: what its own heat changes, and what water has to do with it."""
    watts, volts = _rating()
    model = load_model(MODEL)
    cold = element_resistance(watts, volts)
    above = model.nominal["element.thermal_resistance"] * watts.magnitude
    working = 60.0 + above
    rows = [
        ("cold", f"{cold.magnitude:.2f} Ω"),
        (
            f"at work in the water, wire at about {amount(working, 'degC', 'temperature')}",
            f"{hot_resistance(cold, quantity(working, 'degC')).magnitude:.2f} Ω",
        ),
    ]
    return table("The coil's own heat", ("", "a good coil has"), rows)


def lost_ground() -> Page:
    """A breached sheath while the heater runs: the tank's volts, and what a person would get, with and without ground."""
    bench = _opened(BREACHED, MODEL_NUMBER)
    rows = []
    for name, ground in (("ground wire in place", None), ("ground wire off the tank", 1e9)):
        unit = bench.state.unit.copy()
        if ground:
            unit.set(f"{_ground_wire(bench.state.model)}.resistance", ground)
        tank = Terminals(unit)
        volts = bench.state.meter.read("V~", tank, "tank.shell", "supply.ground")
        amps = float(tank.touch("tank.shell")[0])
        felt = "you feel it" if tank.live("tank.shell") else "not felt"
        felt = "your hand may not let go" if amps > GRIPS else felt
        rows.append((name, f"{volts.value or 0.0:.1f} V", f"{1000 * amps:.1f} mA, {felt}"))
    note = (
        f"A person is taken as {BODY:.0f} Ω, hand to foot. A real person may be less. Touched, the tank holds fewer "
        f"volts: {amps * BODY:.1f} V are left across the person, the leak keeps the rest."
    )
    return table("The same leak, twice", ("", "tank to ground", "through you at the tap"), rows, note)


def example() -> Page:
    """The worked example: a cold heater, tested from the outside in; how many faults are left after each step."""
    from tankside.lessons.worked import element_example

    steps = element_example()
    rows = [(str(s.line), s.did, s.why, str(s.left)) for s in steps]
    head = ("log line", "done, and what it showed", "what it tells", "faults left")
    return table("Worked example", head, rows)


def _rating() -> tuple[Any, Any]:
    model = load_model(MODEL)
    watts = model.number("plate.wattage", model.plate.wattage, "W")
    return quantity(watts, "W"), quantity(model.number("plate.voltage", model.plate.voltage, "V"), "V")


def _opened(fault: str, number: int = 1) -> Bench:
    """A bench with the covers off and the water cool enough for the thermostat to call for heat; meter on volts."""
    bench = plain_bench(fault, MODEL, number)
    for place in COVERS:
        bench.open_cover(place)
    bench.run_tap(10)
    bench.meter("V~")
    return bench


def _isolated(fault: str, number: int = 1, unplug: bool = True) -> Bench:
    """Off, locked, proven dead, meter on ohms with its leads zeroed."""
    bench = _opened(fault, number)
    bench.switch("breaker", "off")
    if unplug:
        bench.switch("supply", "out")
    bench.lock_out()
    bench.prove_dead("heater-front")
    bench.meter("Ω")
    bench.zero_leads()
    return bench


def _wet_or_dry(fault: str, wet: bool) -> tuple[str, str]:
    """Readings of the coil and from terminal 1 to the tank, leads lifted."""
    bench = _isolated(fault, number=3)
    bench.lift(NEUTRAL_LEAD)
    bench.lift(HOT_LEAD)
    if not wet:
        bench.drain()
    return shown(bench, "element.1", "element.2"), shown(bench, "element.1", "tank.shell")


def _ground_wire(model: Any) -> str:
    return next(w.id for w in model.wires.values() if w.role == "ground" and w.to == "tank.shell")


def _hot_way(model: Any) -> list[str]:
    """Parts with a line and a load side, and splices, in the order in which the hot conductor meets them."""
    hot = [w for w in model.wires.values() if w.role in ("hot", "switched hot")]
    return [w.to.split(".")[0] for w in hot if not w.to.startswith("element")]


def way(bench: Bench, title: str) -> Page:
    """The path of the current of a heater with one mains chain, with what the meter shows at each point to ground."""
    model = bench.state.model
    touch = Terminals(bench.state.unit)
    switches = bench.state.switches()

    def volts(terminal: str) -> str:
        if terminal == "supply.ground":
            return "0.0 V"
        return shown(bench, terminal, "supply.ground")

    stops = []
    for part in _hot_way(model):
        line, load = (
            (f"{part}.hot_in", f"{part}.hot_out")
            if model.parts[part].type == "splice box"
            else (f"{part}.line", f"{part}.load")
        )
        first, second = volts(line), volts(load)
        closed = switches.get(part, "on") == "on" and touch.live(line) == touch.live(load)
        stops.append(
            Stop(
                model.parts[part].name,
                model.places[model.parts[part].place].name,
                first,
                second,
                touch.live(line),
                touch.live(load),
                closed,
            )
        )
    live = {
        "element hot": touch.live("element.1"),
        "neutral at element": touch.live("element.2"),
        "neutral at supply": touch.live("junction_box.neutral_in"),
    }
    supply = (volts("supply.hot"), volts("supply.neutral"))
    element = (volts("element.1"), volts("element.2"))
    back = {"junction": volts("junction_box.neutral_in")}
    said = (
        f"{title} Volts to ground: supply hot {supply[0]}; "
        + "; ".join(f"{s.name} {s.line} before and {s.load} after" for s in stops)
        + f"; element {element[0]} and {element[1]}; supply neutral {supply[1]}."
    )
    return Page(way_of_current(supply, stops, element, back, live, title, said), said)


def _ohms(value: float) -> str:
    if value >= 1e6:
        return f"{value / 1e6:g} MΩ"
    return f"{value / 1e3:g} kΩ" if value >= 1e3 else f"{value:.0f} Ω"


def _words(readings: Iterable[tuple[str, str]]) -> str:
    return ", ".join(f"{what} {shows}" for what, shows in readings)
