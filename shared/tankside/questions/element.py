"""Self-check questions for lesson 3: each draws its own numbers and computes its own answer.

A question is drawn from a stream and nothing else, so the same seed gives the same question.
A wrong choice is what a typical mistake gives, and says which mistake.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from datetime import date
from functools import cache

from tankside.bench import Bench
from tankside.bench.terminals import Terminals
from tankside.heater.model import HeaterModel, load_model
from tankside.physics.resistance_heating import (
    current_through,
    element_current,
    element_resistance,
    power_from,
    resistance_band,
)
from tankside.questions.numbers import number_question
from tankside.questions.question import Choice, Question
from tankside.streams import Stream
from tankside.units import quantity
from tankside.workorder import WorkOrder

MODEL = "heron_6"
PLATES = tuple(range(1000, 1801, 40))
"""W of invented elements."""
TRIALS = 6
"""Sites and meters that are drawn from."""


def plate_ohms(draw: Stream) -> Question:
    """Ohms of an element from its plate."""
    watts, volts = float(draw.choice(PLATES)), float(draw.choice((115, 120)))
    ohms = element_resistance(quantity(watts, "W"), quantity(volts, "V")).magnitude
    wrong = [
        (watts / volts, "That is watts divided by volts: the amps, not the ohms."),
        (2 * ohms, "Twice too much: take the full watts of the plate."),
        (
            (2 * volts) ** 2 / watts,
            "That takes double the volts. This element is for the volts on its plate.",
        ),
        (volts / watts, "Volts divided by watts has no meaning here. Volts times volts, divided by watts."),
    ]
    text = f"An element's plate says {watts:.0f} W at {volts:.0f} V. How many ohms should it have?"
    return number_question("element-ohms", text, ohms, "Ω", "Volts times volts, divided by watts.", wrong)


def in_the_band(draw: Stream) -> Question:
    """A reading judged by the plate's band."""
    watts = float(draw.choice(PLATES))
    low, high = (q.magnitude for q in resistance_band(quantity(watts, "W"), quantity(120, "V")))
    verdicts = {
        "good": "The reading lies in the band: it is good.",
        "low": "Too low: turns of the coil are shorted.",
        "high": "Too high: a weaker element was fitted.",
        "open": "The coil is burnt open.",
    }
    kind = draw.choice(tuple(verdicts))
    reading = {
        "good": draw.uniform(low * 1.02, high * 0.98),
        "low": low * draw.uniform(0.5, 0.9),
        "high": high * draw.uniform(1.2, 2.0),
        "open": draw.log_uniform(2e6, 4e7),
    }[kind]
    shown = f"{reading / 1e6:.2f} MΩ" if reading > 1e6 else f"{reading:.1f} Ω"
    band = f"A good one reads {low:.1f} to {high:.1f} Ω, and the meter shows {shown}."
    if kind == "open":
        band += " Millions of ohms are as good as no way at all."
    text = f"{watts:.0f} W at 120 V on the plate. Both leads are lifted, and coil end to coil end reads {shown}. What is it?"
    wrong = [Choice(words, band) for key, words in verdicts.items() if key != kind]
    return Question("in-the-band", text, Choice(verdicts[kind], band), tuple(wrong), band)


def leads_still_on(draw: Stream) -> Question:
    """What a low reading to the tank means while the neutral lead is on."""
    end = draw.choice(("1", "2"))
    shown, after = _leads_on_and_off(draw.integer(1, TRIALS), end)
    text = (
        f"Breaker off and locked, proven dead, plug still in, both leads on. Terminal {end} to the tank reads {shown}. "
        "What do you know of the sheath?"
    )
    right = Choice(
        "Nothing yet. Lift both leads and measure again.", f"With the leads lifted it reads {after}."
    )
    wrong = (
        Choice(
            "The element is grounded. Replace it.",
            "The way to the tank ran through the neutral lead, not through the sheath.",
        ),
        Choice("It is breached.", "A breach can't be told while the neutral lead is on."),
        Choice(
            "It is good: a low number is a good number.", "To the tank a good element reads OL, leads lifted."
        ),
    )
    why = f"The neutral is tied to ground at the panel, so the meter sees a way round. Leads lifted, this element reads {after}."
    return Question("leads-still-on", text, right, wrong, why)


def heat_in_a_splice(draw: Stream) -> Question:
    """Heat in a bad joint from what it drops and what flows."""
    volts, amps = round(draw.uniform(6, 32), 1), round(draw.uniform(7.5, 11.5), 1)
    line = round(draw.uniform(114, 123), 1)
    watts = power_from(quantity(volts, "V"), quantity(amps, "A")).magnitude
    wrong = [
        (line * amps, "That takes the volts of the whole line. Only the joint's own volts count."),
        (volts / amps, "Volts divided by amps gives the joint's ohms, not its watts."),
        (volts * volts, "Volts times volts alone is no power. It needs the ohms as well."),
        ((line - volts) * amps, "That is the heat in the rest of the circuit."),
    ]
    text = f"The heater runs. The outlet has {line} V. Across one hot splice you read {volts} V, and {amps} A flow. How much heat does the splice make?"
    way = "Volts across the joint times the amps through it."
    return number_question("heat-in-a-splice", text, watts, "W", way, wrong)


def next_by_halves(draw: Stream) -> Question:
    """Where to measure next, when the break lies between two points."""
    names = _points()
    low = draw.integer(0, len(names) - 5)
    high = draw.integer(low + 4, len(names) - 1)
    if (high - low) % 2:
        high -= 1
    middle = (low + high) // 2
    text = f"Volts to neutral are good at the {names[low]} and gone at the {names[high]}. Where do you measure next?"
    right = Choice(f"at the {names[middle]}", "It cuts what is left in half.")
    others = [k for k in (low + 1, high - 1, high + 1, low - 1) if 0 <= k < len(names) and k != middle]
    told = {
        low + 1: "That is one joint on: if it is good, nearly all is still left.",
        high - 1: "That is one joint back: if it is gone, nearly all is still left.",
    }
    outside = "That lies outside the two points. You know the answer there already."
    wrong = tuple(Choice(f"at the {names[k]}", told.get(k, outside)) for k in others[:3])
    why = f"Between them lie {high - low} steps. The middle leaves {(high - low) // 2}, whichever way it comes out."
    return Question("next-by-halves", text, right, wrong, why)


def how_far_live(draw: Stream) -> Question:
    """How far the hot side is live with one contact open."""
    part = draw.choice(("breaker", "panel_switch", "heater_switch"))
    case = _network()
    case.unit.set("breaker.closed", 1.0)
    for other in ("breaker", "panel_switch", "heater_switch"):
        case.unit.set(f"{other}.closed", float(other != part))
    model = case.unit.model
    ways = _hot_terminals(model)
    live = [terminal for terminal in ways if case.live(terminal)]
    last, name = live[-1], model.parts[part].name
    right = Choice(f"as far as the {model.terminals[last]}", f"Behind the open {name} nothing is live.")
    spots = [
        ("element.1", "The open contact is in the way."),
        (f"{part}.load", "That is behind the open contact."),
    ]
    wrong = [Choice(f"as far as the {model.terminals[t]}", why) for t, why in spots]
    wrong.append(
        Choice(
            "nowhere: it is off", "The wire comes from the supply. It is live right up to the open contact."
        )
    )
    text = f"Hot and neutral are wired right, the plug is in, and only the {name} is off. How far is the hot wire live?"
    why = f"Live: {', '.join(model.terminals[t] for t in live[-2:])}. A contact opens what is behind it, never what is ahead."
    return Question("how-far-live", text, right, tuple(wrong), why)


def which_leak(draw: Stream) -> Question:
    """Full and drained readings to the tank, and what they mean."""
    names = {
        "no-fault": "No leak: the sheath is whole.",
        "sheath-breached-wet": "The sheath is breached.",
        "sheath-leaks-dry": "The packing has broken down.",
    }
    kind = draw.choice(tuple(names))
    full, drained = _full_and_drained(kind, draw.integer(1, TRIALS))
    text = f"Leads lifted. Terminal 1 to the tank reads {full} with the tank full and {drained} drained. What is it?"
    told = {
        "no-fault": "A whole sheath reads OL both times.",
        "sheath-breached-wet": "A breach leaks while water is in it and stops when it is drained.",
        "sheath-leaks-dry": "Broken packing leaks full and drained alike.",
    }
    wrong = [Choice(words, told[key]) for key, words in names.items() if key != kind]
    wrong.append(
        Choice("The coil is burnt open.", "The coil isn't between these two points: measure 1 to 2 for that.")
    )
    return Question("which-leak", text, Choice(names[kind], told[kind]), tuple(wrong), told[kind])


def leak_current(draw: Stream) -> Question:
    """Current of a leak, and whether a ground-fault trip would open."""
    ohms = round(draw.log_uniform(1000, 20000), -2)
    volts = round(draw.uniform(114, 124))
    trip = load_model(MODEL).nominal["breaker.residual"] * 1000
    amps = current_through(quantity(volts, "V"), quantity(ohms, "ohm")).magnitude * 1000
    shown = f"{ohms / 1000:.1f} kΩ"
    full = element_current(quantity(1440, "W"), quantity(120, "V")).magnitude
    wrong = [
        (amps / 1000, "The kilo slipped: ohms, not kilohms, go under the line. A thousand times too little."),
        (amps * 10, "Ten times too much: mind the point in the kilohms."),
        (volts * ohms / 1e6, "Volts times ohms is no current. Volts divided by ohms."),
        (full * 1000, "That is what the coil itself takes, not the leak."),
    ]
    text = f"A leak of {shown} lies from the hot end of the coil to the tank. The line has {volts} V. What flows to the tank?"
    note = "more" if amps > trip else "less"
    more = f"That is {note} than the {trip:.0f} mA at which this heater's breaker trips on a leak."
    way = "Volts divided by ohms, then times 1000 for milliamps."
    return number_question("leak-current", text, amps, "mA", way, wrong, more)


QUESTIONS: tuple[Callable[[Stream], Question], ...] = (
    how_far_live,
    heat_in_a_splice,
    next_by_halves,
    plate_ohms,
    in_the_band,
    leads_still_on,
    which_leak,
    leak_current,
)


def _points() -> list[str]:
    """The points of the hot side in words, from the supply to the element."""
    model = load_model(MODEL)
    return [model.terminals[terminal] for terminal in _hot_terminals(model)]


def _hot_terminals(model: HeaterModel) -> list[str]:
    """Every terminal that the hot conductor meets, in order."""
    out: list[str] = []
    for wire in model.wires.values():
        if wire.role in ("hot", "switched hot"):
            out += [wire.from_, wire.to]
    return out


def _order(fault: str, number: int) -> WorkOrder:
    """A training order with that fault; the number draws its site, its meter and how far the fault has gone."""
    return WorkOrder(
        order=f"CHECK-{number}",
        lab="lesson",
        seed=hashlib.sha256(f"self-check {fault} {number}".encode()).hexdigest()[:32],
        model=MODEL,
        scope=(fault,),
        issued=date(2026, 1, 1),
        complaint="",
    )


def _network() -> Terminals:
    return Terminals(Bench(_order("no-fault", 1)).state.unit)


def _isolated(fault: str, number: int, unplug: bool = True) -> Bench:
    """Off, locked, proven dead, the meter on ohms and its leads zeroed."""
    bench = Bench(_order(fault, number))
    bench.open_cover("heater-front")
    if dict(bench.state.switches())["breaker"] == "on":
        bench.switch("breaker", "off")
    if unplug:
        bench.switch("supply", "out")
    bench.lock_out()
    bench.prove_dead("heater-front")
    bench.meter("Ω")
    bench.zero_leads()
    return bench


@cache
def _full_and_drained(fault: str, number: int) -> tuple[str, str]:
    bench = _isolated(fault, number)
    bench.lift("W10")
    bench.lift("W11")
    full = _ohms(bench, "element.1", "tank.shell")
    bench.drain()
    return full, _ohms(bench, "element.1", "tank.shell")


@cache
def _leads_on_and_off(number: int, end: str) -> tuple[str, str]:
    bench = _isolated("no-fault", number, unplug=False)
    on = _ohms(bench, f"element.{end}", "tank.shell")
    bench.lift("W10")
    bench.lift("W11")
    return on, _ohms(bench, f"element.{end}", "tank.shell")


def _ohms(bench: Bench, red: str, black: str) -> str:
    reading = bench.probe(red, black).readings[0]
    return "OL" if reading["value"] is None else f"{reading['digits']} {reading['unit']}"
