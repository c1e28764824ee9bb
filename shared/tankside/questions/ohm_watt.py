"""Self-check questions for lesson 2: each draws its own numbers, and the library works out the answer.

A question is drawn from a stream and nothing else, so the same seed gives the same question.
A wrong choice is what a typical mistake gives, and says which mistake.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from tankside.physics.conductors import voltage_drop
from tankside.physics.resistance_heating import (
    current_through,
    element_current,
    element_resistance,
    power_at,
    power_from,
    resistance_band,
    resistance_from,
)
from tankside.questions.numbers import number_question
from tankside.questions.question import Choice, Question
from tankside.streams import Stream
from tankside.units import quantity

PLATES = tuple(range(800, 1801, 40))
"""W of invented elements."""
CONTINUOUS = 1.25
"""Times its amps that a load of hours is sized for (NEC 422.13 for fixed storage heaters, secondary page)."""


def _plate(draw: Stream) -> tuple[float, float, Any, Any]:
    watts, volts = float(draw.choice(PLATES)), float(draw.choice((115, 120, 240)))
    return watts, volts, quantity(watts, "W"), quantity(volts, "V")


def plate_amps(draw: Stream) -> Question:
    """Amps from a plate."""
    watts, volts, p, u = _plate(draw)
    amps = element_current(p, u).magnitude
    ohms = element_resistance(p, u).magnitude
    return number_question(
        "plate-amps",
        f"An element's plate says {watts:.0f} W at {volts:.0f} V. How many amps does it take?",
        amps,
        "A",
        "Watts divided by volts gives amps.",
        [
            (ohms, "Volts times volts, divided by watts: those are its ohms, not its amps."),
            (2 * amps, "Twice too much. The plate's watts already are all of its heat."),
            (amps / 10, "The point slipped by one place."),
            (10 * amps, "The point slipped by one place."),
        ],
    )


def plate_resistance(draw: Stream) -> Question:
    """Ohms from a plate."""
    watts, volts, p, u = _plate(draw)
    ohms = element_resistance(p, u).magnitude
    return number_question(
        "plate-resistance",
        f"The plate says {watts:.0f} W at {volts:.0f} V. What should a meter show across the element, dead and with its leads lifted?",
        ohms,
        "Ω",
        "Volts times volts, divided by watts, gives ohms.",
        [
            (watts / volts, "Watts divided by volts gives the amps."),
            (2 * ohms, "Twice too much: no half is taken of anything here."),
            (ohms / 4, "That would be right at half the volts. Take the volts on the plate."),
            (ohms / 2, "Half of it. The whole coil lies between the leads."),
        ],
    )


def other_volts(draw: Stream) -> Question:
    """Watts at another voltage than the plate's."""
    watts, volts = float(draw.choice(PLATES)), 120.0
    share = draw.choice((0.7, 0.75, 0.8, 0.85))
    here = share * volts
    gives = power_at(quantity(watts, "W"), quantity(volts, "V"), quantity(here, "V")).magnitude
    return number_question(
        "other-volts",
        f"{watts:.0f} W at {volts:.0f} V on the plate. Under load the element gets {here:.0f} V. How much heat does it give?",
        gives,
        "W",
        "Volts divided by plate volts, times itself, times plate watts.",
        [
            (watts * share, "That falls with the volts alone. The amps fall too: square it."),
            (watts, "The plate's watts hold at the plate's volts only."),
            (watts / share**2, "The wrong way up: fewer volts give less heat."),
            (watts * share**4, "Squared twice. Once is enough."),
        ],
    )


def heat_lost(draw: Stream) -> Question:
    """Share of the heat that is lost for a share of the volts."""
    off = draw.choice((10, 12, 16, 20, 24, 30))  # lost and left, in three digits each, add up to 100
    share = 1 - off / 100
    u, p = quantity(120.0, "V"), quantity(1440.0, "W")
    lost = 100 * (1 - power_at(p, u, share * u).magnitude / p.magnitude)
    return number_question(
        "heat-lost",
        f"The supply is {off} % low. How much of the element's heat is lost?",
        lost,
        "%",
        "Watts go with the square of the volts.",
        [
            (float(off), "Heat doesn't fall as the volts do. It falls nearly twice as much."),
            (100 - lost, "That is what is left, not what is lost."),
            (off / 2, "Heat falls more than the volts do, not less."),
            (100 * (1 / share**2 - 1), "That is how much longer it takes."),
            (3.0 * off, "Too much: two shares are lost, one for the volts and one for the amps."),
        ],
    )


def band_end(draw: Stream) -> Question:
    """The lowest or highest reading of a good element."""
    watts, volts, p, u = _plate(draw)
    low, high = (q.magnitude for q in resistance_band(p, u))
    nominal = element_resistance(p, u).magnitude
    top = draw.choice((True, False))
    text = (
        f"The plate says {watts:.0f} W at {volts:.0f} V. A good element takes up to a twentieth more watts and down to a "
        f"tenth less. What is the {'highest' if top else 'lowest'} reading that is still good?"
    )
    other = "lowest" if top else "highest"
    right, away = (high, low) if top else (low, high)
    way = f"{'Fewest' if top else 'Most'} watts give the {'most' if top else 'fewest'} ohms: volts times volts, divided by {'0.90' if top else '1.05'} times the watts."
    return number_question(
        "band-end",
        text,
        right,
        "Ω",
        way,
        [
            (away, f"That is the {other} one. More watts go with fewer ohms."),
            (nominal, "That is the plate's own value: the band lies around it."),
            (watts / volts, "Watts divided by volts gives amps."),
            (nominal * (1.25 if top else 0.8), "Too wide: a maker isn't allowed that much."),
            (nominal * (1.4 if top else 0.7), "Far too wide: a maker isn't allowed that much."),
        ],
        digits=4,
    )


def joint_heat(draw: Stream) -> Question:
    """Heat in a bad joint from its ohms and its amps."""
    ohms, amps = round(draw.uniform(0.4, 3.0), 1), round(draw.uniform(7.0, 11.5), 1)
    watts = power_from(current=quantity(amps, "A"), resistance=quantity(ohms, "ohm")).magnitude
    return number_question(
        "joint-heat",
        f"A joint has {ohms} Ω. The heater runs, and {amps} A go through it. How much heat does the joint make?",
        watts,
        "W",
        "Amps times ohms are its volts. Volts times amps are its watts: amps times amps times ohms.",
        [
            (amps * ohms, "That is the volts across the joint. Times amps, and you have watts."),
            (120 * amps, "That takes the volts of the whole line. Only the joint's own count."),
            (amps * ohms**2, "The amps are squared, not the ohms."),
            (amps / ohms, "Amps divided by ohms is nothing that one could feel or measure."),
            (amps**2, "Amps times amps: the ohms are missing."),
            (2 * amps**2 * ohms, "Twice too much."),
        ],
    )


def wire_loss(draw: Stream) -> Question:
    """Volts lost in a run of wire."""
    gauge, feet, amps = draw.choice((14, 12, 10)), draw.integer(4, 15) * 10, round(draw.uniform(8, 13), 1)
    cold = quantity(20.0, "degC")
    drop = voltage_drop(gauge, quantity(feet, "ft"), quantity(amps, "A"), cold).magnitude
    per_thousand = 1000 * drop / amps / (2 * feet)
    return number_question(
        "wire-loss",
        f"A run of {gauge} AWG is {feet} ft long, one way. This wire has {per_thousand:.2f} Ω for each 1000 ft. The load takes {amps} A. How many volts are lost on the way?",
        drop,
        "V",
        "There and back: twice the feet, divided by 1000, times the ohms, times the amps.",
        [
            (drop / 2, "That is one way only. The current has to come back as well."),
            (drop / amps, "Those are the ohms of the wire. Times amps gives volts."),
            (2 * drop, "Doubled once too often."),
            (120 - drop, "That is what is left for the load."),
        ],
    )


def small_currents(draw: Stream) -> Question:
    """Milliamps through kilohms."""
    volts = draw.choice((12.0, 24.0, 115.0, 120.0))
    kilohms = round(draw.uniform(1.5, 60.0), 1)
    milliamps = 1000 * current_through(quantity(volts, "V"), quantity(kilohms, "kohm")).magnitude
    return number_question(
        "small-currents",
        f"{volts:.0f} V lie across {kilohms} kΩ. What flows?",
        milliamps,
        "mA",
        "Volts divided by kilohms gives milliamps straight away.",
        [
            (milliamps * 1000, "A thousand times too much: kilo and milli were counted as one only once."),
            (milliamps / 1000, "That is the number in amps, written as milliamps."),
            (volts * kilohms, "Volts times ohms is no current."),
            (kilohms / volts, "The wrong way up: volts divided by ohms."),
        ],
    )


def direct_side(draw: Stream) -> Question:
    """Ohms of a 12 V part from volts and amps."""
    volts, amps = round(draw.uniform(11.5, 13.8), 1), round(draw.uniform(0.3, 2.5), 2)
    ohms = resistance_from(quantity(volts, "V"), quantity(amps, "A")).magnitude
    return number_question(
        "direct-side",
        f"On the 12 V side a part takes {amps} A at {volts} V. How many ohms does it have?",
        ohms,
        "Ω",
        "Volts divided by amps gives ohms. The laws are the same on the 12 V side.",
        [
            (volts * amps, "Volts times amps gives watts."),
            (amps / volts, "The wrong way up: volts divided by amps."),
            (120 / amps, "It runs on its own volts, not on the mains."),
            (
                volts * volts / amps,
                "Volts times volts, divided by watts, gives ohms. Divided by amps, it is volts once.",
            ),
        ],
    )


def breaker_room(draw: Stream) -> Question:
    """Largest load for hours on a breaker."""
    rated, volts = float(draw.choice((10, 15, 20, 30))), float(draw.choice((115, 120)))
    watts = rated / CONTINUOUS * volts
    return number_question(
        "breaker-room",
        f"A code asks that a load that runs for hours takes no more than its breaker's amps divided by 1.25. The breaker has {rated:.0f} A, the line {volts:.0f} V. How many watts may the heater have?",
        watts,
        "W",
        "Breaker amps divided by 1.25, times volts.",
        [
            (rated * volts, "That fills the breaker to the brim. The margin for hours is left out."),
            (rated * CONTINUOUS * volts, "The margin goes the other way: less, not more."),
            (rated / CONTINUOUS, "Those are its amps. Times volts gives watts."),
            (rated * volts / 2, "Half is more margin than was asked for."),
        ],
        more="Your own local code decides, and the heater's plate.",
    )


def why_slow(draw: Stream) -> Question:
    """Supply, joint or element: which of the three numbers is out."""
    words = {
        "supply": "The supply is low.",
        "joint": "A joint on the way is bad.",
        "element": "The element is too weak.",
        "fine": "All three are in order.",
    }
    kind = draw.choice(tuple(words))
    p, u = quantity(1440.0, "W"), quantity(120.0, "V")
    low, high = (q.magnitude for q in resistance_band(p, u))
    outlet = draw.uniform(88, 100) if kind == "supply" else draw.uniform(116, 123)
    ohms = high * draw.uniform(1.3, 2.0) if kind == "element" else draw.uniform(low * 1.02, high * 0.98)
    bad = draw.uniform(1.5, 4.0) if kind == "joint" else 0.1
    across = outlet * ohms / (ohms + bad)
    loads = {
        "supply": f"The outlet has {outlet:.1f} V under load. That alone costs {1 - (outlet / 120) ** 2:.0%} of the heat.",
        "joint": f"{outlet - across:.0f} V are lost between outlet and element. They heat a joint.",
        "element": f"{ohms:.1f} Ω lies above the band, which ends at {high:.1f} Ω. It gives too little.",
        "fine": f"Volts good, next to none lost, {ohms:.1f} Ω inside {low:.1f} to {high:.1f} Ω. Look elsewhere: more hot water is being used, say.",
    }
    told = {
        "supply": f"The outlet has {outlet:.0f} V, close to the plate's.",
        "joint": f"Only {outlet - across:.1f} V are lost on the way.",
        "element": f"{ohms:.1f} Ω lies inside {low:.1f} to {high:.1f} Ω.",
        "fine": loads[kind],
    }
    text = (
        f"1440 W at 120 V on the plate; good is {low:.1f} to {high:.1f} Ω. While it heats: {outlet:.1f} V at the outlet, "
        f"{across:.1f} V across the element. Dead, leads lifted: {ohms:.1f} Ω. The owner says it is slow. Why?"
    )
    wrong = tuple(Choice(words[k], told[k]) for k in words if k != kind)
    return Question("why-slow", text, Choice(words[kind], loads[kind]), wrong, loads[kind])


QUESTIONS: tuple[Callable[[Stream], Question], ...] = (
    plate_amps,
    plate_resistance,
    other_volts,
    heat_lost,
    band_end,
    joint_heat,
    wire_loss,
    why_slow,
    small_currents,
    direct_side,
    breaker_room,
)
