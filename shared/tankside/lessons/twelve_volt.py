"""What lesson 5 computes: the 12 V side at rest and under load, where its volts go, and what a fuse sees."""

from __future__ import annotations

import numpy as np

from tankside.bench import Bench
from tankside.case import as_found, draw_case
from tankside.heater.ignition import FUSE_OPENS
from tankside.heater.model import load_model
from tankside.heater.parts.dc import BATTERY
from tankside.heater.unit import make_unit
from tankside.lessons.pages import reveal, table
from tankside.lessons.twelve_volt_drawings import Share, Spot, ring, shares
from tankside.lessons.worked import Step, example_order, notes_of, steps_of
from tankside.notebook import Page
from tankside.physics.resistance_heating import current_through, power_from
from tankside.questions.twelve_volt_bench import (
    BOARD,
    EARTH,
    MINUS,
    MODEL,
    POINTS,
    STUD,
    amperes,
    opened,
    readings,
    volts,
)
from tankside.units import quantity, significant

SCOPE = (
    "fuse-blown", "dc-panel-switch-failed", "dc-panel-switch-off", "harness-open", "ground-corroded",
    "connector-corroded", "dc-thermostat-stuck-open", "dc-thermostat-burnt-contact", "dc-limit-tripped",
    "dc-link-bar-burnt", "board-dead", "converter-dead", "solenoid-shorted",
)  # fmt: skip
"""Faults that keep the board from its volts, or take the fuse."""
HEATERS = (
    ("good", "no-fault"),
    ("corroded ground", "ground-corroded"),
    ("corroded plug", "connector-corroded"),
    ("burnt thermostat", "dc-thermostat-burnt-contact"),
    ("converter dead", "converter-dead"),
)
HALF = 0.5
"""Ω of a joint that is bad, and that ohms hardly show beside the leads' own."""


def way_round() -> Page:
    """The ring of the 12 V current of a good heater, with the meter at each point."""
    found = readings("no-fault")
    names = load_model(MODEL).terminals
    plus = [Spot(names[p], f"{found[p]:.2f} V") for p in POINTS]
    minus = [Spot(names[MINUS], "0.00 V"), Spot(names[STUD], f"{found['stud']:.2f} V")]
    across = f"{found['board']:.2f} V across it"
    said = (
        "; ".join(f"{s.name} {s.shown}" for s in plus)
        + f"; the board has {across}; "
        + "; ".join(f"{s.name} {s.shown}" for s in minus)
    )
    title = "A good heater while it runs on gas. Volts to the battery's minus."
    return reveal(Page(ring(plus, minus, "control board", across, title, said), said), "Show the ring")


def short_circuit() -> Page:
    """What flows when a wrench lies across the battery, and what the heater takes."""
    unit = make_unit(load_model(MODEL))
    inner = quantity(float(unit["battery.inner_resistance"][0]), "ohm")
    emf = quantity(_rest(1.0), "V")
    most = current_through(emf, inner).magnitude
    heat = power_from(resistance=inner, current=quantity(most, "A")).to("kW").magnitude
    works = amperes(opened("no-fault"))
    rows = [
        ("the heater, board and gas valve at work", f"{works:.2f} A"),
        ("a wrench across the battery", f"{significant(most, 2)} A"),
        ("heat, in battery and wrench", f"{significant(heat, 2)} kW"),
    ]
    note = f"The fuse of this heater is for {unit['fuse.rating'][0]:.0f} A. It protects the wire behind it, and nothing ahead of it."
    return table("Twelve volts, two currents", ("", ""), rows, note)


def battery() -> Page:
    """Volts of a battery at rest, by its charge."""
    rows = [
        (words, f"{_rest(charge):.2f} V", f"{published} V")
        for words, charge, published in (
            ("full", 1.0, "12.6"), ("three quarters", 0.75, "12.4"), ("half", 0.5, "12.2"),
            ("a quarter", 0.25, "12.0"), ("empty", 0.0, "11.6"),
        )
    ]  # fmt: skip
    note = "At rest means: hours after charging, and nothing switched on."
    return table("A battery at rest", ("charge", "bench", "rule of thumb"), rows, note)


def rest_and_load() -> Page:
    """The same two points without load and with it, on a good heater and on two with a bad joint."""
    rows = []
    for name, fault in HEATERS[:3]:
        number, idle = _resting(fault)
        before = volts(idle, "harness_plug.supply_out", STUD)
        after = volts(opened(fault, number), "harness_plug.supply_out", STUD)
        rows.append((name, f"{before:.1f} V", f"{after:.1f} V"))
    head = ("plug to ground stud", "hot water: nothing flows", "cold water: the board is called")
    note = "At rest the three look the same. The meter itself takes next to no current."
    return reveal(table("The same two points, twice", head, rows, note), "Show both readings")


def ohms_or_load() -> Page:
    """A good ground stud, one of half an ohm and a corroded one: by ohms and by volts under load."""
    rows = []
    for name, fault, ohms in (
        ("good", "no-fault", None),
        (f"a joint of {HALF:g} Ω", "no-fault", HALF),
        ("corroded ground", "ground-corroded", None),
    ):
        bench = opened(fault)
        if ohms is not None:
            bench.state.unit.set("ground_stud.resistance", ohms)
        under = volts(bench, STUD, MINUS)
        bench.switch("dc_panel_switch", "off")
        bench.meter("Ω")
        shown = bench.probe("ground_stud.heater", "ground_stud.return").readings[0]
        rows.append((name, f"{under:.2f} V", f"{shown['digits']} {shown['unit']}"))
    note = "The leads themselves have a few tenths of an ohm. They were not zeroed here: a small bad joint would hide in them."
    head = ("ground stud", "volts across it, under load", "ohms, switched off, leads not zeroed")
    return reveal(table("One joint, two tests", head, rows, note), "Show both tests")


def where_volts_go() -> Page:
    """Volts lost on the plus side, left for the board, lost on the ground side: five heaters."""
    rows = []
    for name, fault in HEATERS:
        found = readings(fault)
        top = found["battery.plus"]
        rows.append(
            Share(name, top - found[BOARD], found["board"], top - (top - found[BOARD]) - found["board"])
        )
    said = "; ".join(f"{r.name}: {r.plus:.1f} lost ahead, {r.kept:.1f} V at the board, {r.minus:.1f} lost behind" for r in rows)  # fmt: skip
    full = float(make_unit(load_model(MODEL))["control_board.full_volts"][0])
    title = f"Where the volts go, with the board called. This board gives its full spark from {full:.0f} V."
    return reveal(Page(shares(rows, title, said), said), "Show the bars")


def same_ohms() -> Page:
    """The same bad joint on mains and on 12 V: the share of the volts that it takes."""
    unit = make_unit(load_model(MODEL))
    coil = float(unit["element.resistance"][0])
    line = load_model(MODEL).number("plate.voltage", load_model(MODEL).plate.voltage, "V")
    battery = readings("no-fault")["battery.plus"]
    board = battery / amperes(opened("no-fault"))
    rows = []
    for ohms in (0.1, 1.0, 5.0, 20.0):
        mains, low = line / (ohms + coil), battery / (ohms + board)
        rows.append(
            (
                f"{ohms:g} Ω",
                f"{ohms * mains:.1f} V, {_heat(ohms, mains)}",
                f"{ohms * low:.2f} V, {_heat(ohms, low)}",
            )
        )
    note = (
        f"Element {coil:.0f} Ω; the whole 12 V side about {board:.0f} Ω while it runs. On mains a bad joint burns and smells. "
        "On 12 V it makes little heat. Nothing is seen. The board just starves."
    )
    head = ("bad joint", "on mains: lost, and heat", "on 12 V: lost, and heat")
    return table("What a bad joint takes", head, rows, note)


def _heat(ohms: float, amps: float) -> str:
    watts = power_from(resistance=quantity(ohms, "ohm"), current=quantity(amps, "A")).to("W").magnitude
    return f"{significant(watts, 2)} W"


def new_fuse() -> Page:
    """A fuse that blew, with and without a reason behind it; and what flows into a shorted solenoid."""
    unit = make_unit(load_model(MODEL))
    rows = []
    for name, fault in (
        ("nothing wrong behind it", "fuse-blown"),
        ("a shorted solenoid behind it", "solenoid-shorted"),
    ):
        found = as_found(draw_case(MODEL, (fault,), "1"))
        blown = bool(found["fuse.blown"][0])
        short = min(float(found[f"gas_valve.coil_{k}_resistance"][0]) for k in (1, 2))
        amps = current_through(quantity(_rest(1.0), "V"), quantity(short, "ohm")).magnitude
        rows.append((name, "blown" if blown else "whole", f"{significant(amps)} A",
                     "blows again" if amps > FUSE_OPENS * float(unit["fuse.rating"][0]) else "holds"))  # fmt: skip
    head = ("why", "fuse as found", "the coil with the fewest ohms would draw", "a new fuse")
    return reveal(table("A blown fuse", head, rows), "Show both")


def saying() -> Page:
    """Volts at the board to the battery's minus, and on the board's own two wires."""
    rows = []
    for name, fault in HEATERS[:3]:
        found = readings(fault)
        start = opened(fault).do("watch start", meter="none").entry["result"]["seen"]
        verdict = "starts" if start["flame stays"] else "does not start"
        rows.append((name, f"{found[BOARD]:.1f} V", f"{found['board']:.1f} V", verdict))
    note = "The first column looks for a fault on the plus side only. The board lives on the second."
    head = ("heater", "board's plus to the battery's minus", "across the board's own two wires", "and it")
    return reveal(table("Twelve volts at the board?", head, rows, note), "Show what the board gets")


def example() -> Page:
    """The worked example: no spark, no flame; the ring halved under load."""
    steps = ground_example()
    rows = [(str(s.line), s.did, s.why, str(s.left)) for s in steps]
    head = ("log line", "done, and what it showed", "what it tells", "faults left")
    return table("Worked example", head, rows)


def ground_example() -> list[Step]:
    """A corroded ground found by volts under load, with the faults still possible after each step."""
    order = example_order("ground-corroded", MODEL, SCOPE)
    bench = Bench(order)
    why, note = notes_of(bench)
    bench.prove_meter()
    note("First the meter.")
    bench.run_tap(15)
    note("Cold water: now the thermostat has to call.")
    bench.do("watch start", meter="none")
    note(
        "The lamp came on: the board has some volts. But nothing else works. (This bench leaves the gas out. At a "
        "real heater: smell first.)"
    )
    for place in ("panel", "heater-front", "burner-bay"):
        bench.open_cover(place)
    bench.meter("V⎓")
    bench.probe("battery.plus", MINUS)
    note("The battery is good.")
    bench.probe(BOARD, EARTH)
    note("The board starves, on its own two wires, under load. Which side loses it?")
    bench.probe(BOARD, MINUS)
    note("To the battery's minus it is all there. So the plus side is good, all of it.")
    bench.probe(STUD, MINUS)
    note("And here is the rest: lost between the stud and the battery.")
    bench.probe("ground_stud.heater", "ground_stud.return")
    note("Across the stud itself. That is the joint.")
    return steps_of(order, bench, why)


def _resting(fault: str) -> tuple[int, Bench]:
    """The first heater of the row whose 12 V chain is open once mains has heated the water, and its bench."""
    for number in range(1, 20):
        bench = opened(fault, number, cold=False)
        bench.wait(240)
        if not bench.state.unit["dc_thermostat.closed"][0]:
            return number, bench
    raise AssertionError(f"none of 20 heaters with {fault} rests")


def _rest(charge: float) -> float:
    return float(BATTERY.feeds[0].emf(lambda _: np.array(charge)))
