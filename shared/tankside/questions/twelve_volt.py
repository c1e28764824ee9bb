"""Self-check questions for lesson 5: each draws its own heater and computes its own answer.

A question is drawn from a stream and nothing else, so the same seed gives the same question.
A wrong choice is what a typical mistake gives, and says which mistake.
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from tankside.heater.model import load_model
from tankside.heater.parts.dc import BATTERY
from tankside.measures import amount
from tankside.physics.conductors import voltage_drop
from tankside.physics.resistance_heating import current_through, power_from
from tankside.questions.numbers import number_question
from tankside.questions.question import Choice, Question
from tankside.questions.twelve_volt_bench import BOARD, MODEL, POINTS, readings
from tankside.streams import Stream
from tankside.units import quantity

TRIALS = 6
"""Sites and meters that are drawn from."""
SIDES = {
    "ground-corroded": "The ground side loses them.",
    "connector-corroded": "The plus side loses them.",
    "dc-thermostat-burnt-contact": "The plus side loses them.",
    "converter-dead": "The battery itself is low.",
}


def which_side(draw: Stream) -> Question:
    """Plus side, ground side or battery, from three readings under load."""
    fault = draw.choice(tuple(SIDES))
    found = readings(fault, draw.integer(1, TRIALS))
    text = (
        f"The board is called. Battery plus to minus: {found['battery.plus']:.1f} V. Board's plus to the battery's minus: "
        f"{found[BOARD]:.1f} V. Across the board's own two wires: {found['board']:.1f} V. Who loses the volts?"
    )
    why = {
        "The ground side loses them.": "From the board's plus to the battery's minus all is there, across the board it is not.",
        "The plus side loses them.": "The battery has them, and they are missing from the board's plus to the battery's minus.",
        "The battery itself is low.": "They are missing across the battery already.",
    }
    right = SIDES[fault]
    others = [words for words in why if words != right]
    wrong = tuple(
        Choice(words, f"For that it would have to be so: {why[words][0].lower()}{why[words][1:]}")
        for words in others
    )
    return Question("which-side", text, Choice(right, why[right]), wrong, why[right])


def where_on_the_plus_side(draw: Stream) -> Question:
    """The joint that loses the volts, from the readings along the plus side."""
    fault = draw.choice(("connector-corroded", "dc-thermostat-burnt-contact"))
    found = readings(fault, draw.integer(1, TRIALS))
    shown = POINTS[2:7]
    names = load_model(MODEL).terminals
    listed = "; ".join(f"{names[p]} {found[p]:.1f} V" for p in shown)
    text = f"The board is called. To the battery's minus: {listed}. Where is the bad joint?"
    drops = [found[a] - found[b] for a, b in pairwise(shown)]
    worst = drops.index(max(drops))

    def between(k: int) -> str:
        return f"between {names[shown[k]]} and {names[shown[k + 1]]}"

    why = "The volts step down there. Everywhere else two neighbors are nearly alike."
    wrong = tuple(
        Choice(between(k), "These two are nearly alike: that stretch is good.")
        for k in range(len(drops))
        if k != worst
    )[:3]
    return Question("where-on-the-plus-side", text, Choice(between(worst), why), wrong, why)


def volts_in_a_joint(draw: Stream) -> Question:
    """Volts across a bad joint from ohms and amps."""
    ohms, amps = round(draw.uniform(0.4, 6.0), 1), round(draw.uniform(0.4, 1.9), 2)
    lost = (quantity(ohms, "ohm") * quantity(amps, "A")).to("V").magnitude
    wrong = [
        (amps / ohms, "Amps times ohms, not amps divided by ohms."),
        (ohms / amps, "Amps times ohms, not ohms divided by amps."),
        (ohms * amps**2, "Those are watts: the heat in the joint."),
        (12.6 - lost, "That is what is left for the board."),
        (2 * lost, "The pin stands in the ring once. Count it once."),
    ]
    text = f"{amps} A flow through a corroded pin of {ohms} Ω. How many volts does the pin keep?"
    return number_question("volts-in-a-joint", text, lost, "V", "Amps times ohms.", wrong)


def volts_in_a_wire(draw: Stream) -> Question:
    """Volts lost in a run, there and back."""
    gauge, feet = draw.choice((18, 16, 14, 12)), draw.integer(15, 80)
    amps = round(draw.uniform(1.0, 6.0), 1)
    lost = voltage_drop(gauge, quantity(feet, "ft"), quantity(amps, "A"), quantity(20, "degC")).magnitude
    per_1000 = voltage_drop(gauge, quantity(500, "ft"), quantity(1, "A"), quantity(20, "degC")).magnitude
    wrong = [
        (lost / 2, "The current goes there and back: twice the length."),
        (lost * 2, "The way back is counted already, once."),
        (lost / amps, "Those are the wire's ohms. Times the amps."),
        (per_1000 * amps, "That is for a thousand feet of wire. Take your own length."),
    ]
    run = amount(feet, "ft", "length", "both")
    text = f"Wire of {gauge} AWG has {per_1000:.2f} Ω in 1000 ft (305 m). The run is {run} one way, and {amps} A flow. How many volts are lost in it?"
    way = "Ohms of the wire there and back, times the amps."
    return number_question("volts-in-a-wire", text, lost, "V", way, wrong)


def ground_ohms(draw: Stream) -> Question:
    """Ohms of a ground from its volts and the amps."""
    volts, amps = round(draw.uniform(0.8, 4.5), 2), round(draw.uniform(0.12, 0.9), 2)
    ohms = (quantity(volts, "V") / quantity(amps, "A")).to("ohm").magnitude
    wrong = [
        (volts * amps, "Those are watts. Divide volts by amps."),
        (amps / volts, "The other way round: volts divided by amps."),
        (12.6 / amps, "Those are the ohms of the whole ring."),
    ]
    text = f"From the ground stud to the battery's minus you read {volts} V. The clamp shows {amps} A. How many ohms has the way back?"
    return number_question(
        "ground-ohms", text, ohms, "Ω", "Volts across it, divided by the amps through it.", wrong
    )


def shorted_coil(draw: Stream) -> Question:
    """Current into a coil, and whether the fuse holds."""
    ohms = round(draw.choice((draw.uniform(0.4, 2.2), draw.uniform(20, 60))), 1)
    fuse = draw.choice((3, 5, 7.5))
    amps = current_through(quantity(12.6, "V"), quantity(ohms, "ohm")).magnitude
    blows = amps > fuse
    told = f"{amps:.1f} A would flow"
    holds = Choice("It holds, and the valve works.", f"{told}, less than {fuse:g} A.")
    short = Choice("It blows again. The coil is shorted.", f"{told}, more than {fuse:g} A.")
    right, other = (short, holds) if blows else (holds, short)
    wrong = (
        Choice(other.text, f"{told}: 12.6 V divided by {ohms} Ω."),
        Choice("It blows unless a larger one is fitted.", "A larger fuse lets the wire burn. Never."),
        Choice(
            "That can't be told from ohms.",
            "Volts divided by ohms gives the amps. Compare them with the fuse.",
        ),
    )
    text = f"A {fuse:g} A fuse has blown. Nothing else behind it is shorted. Switched off, a coil of the gas valve reads {ohms} Ω. The battery has 12.6 V. What will a new fuse do?"
    return Question("shorted-coil", text, right, wrong, right.why)


def battery_at_rest(draw: Stream) -> Question:
    """A battery's charge from its volts at rest."""
    levels = {1.0: "full", 0.75: "three quarters", 0.5: "half", 0.25: "a quarter", 0.0: "empty"}
    charge = draw.choice(tuple(levels))
    volts = _rest(charge) + draw.uniform(-0.04, 0.04)
    text = f"Converter off for some hours, nothing switched on. The battery reads {volts:.2f} V. How full is it, about?"
    why = "From full to empty the volts at rest fall by about one volt only."
    wrong = [
        Choice(words, f"That would be near {_rest(c):.1f} V.")
        for c, words in levels.items()
        if c != charge
    ]  # fmt: skip
    return Question(
        "battery-at-rest", text, Choice(levels[charge], why), tuple(draw.shuffled(wrong)[:3]), why
    )


def heat_in_a_joint(draw: Stream) -> Question:
    """The heat of a bad joint on 12 V and why nobody notices."""
    ohms, amps = round(draw.uniform(0.5, 5.0), 1), round(draw.uniform(0.4, 2.0), 1)
    watts = power_from(resistance=quantity(ohms, "ohm"), current=quantity(amps, "A")).to("W").magnitude
    wrong = [
        (12.6 * amps, "That is the heat of the whole ring."),
        (ohms * amps, "Those are the volts across the joint."),
        (amps**2 / ohms, "Times the ohms, not divided by them."),
        (12.6**2 / ohms, "That puts the whole battery across the joint."),
    ]
    text = f"{amps} A flow through a joint of {ohms} Ω. How much heat does it make?"
    return number_question("heat-in-a-joint", text, watts, "W", "Amps times amps times ohms.", wrong)


QUESTIONS = (
    which_side,
    where_on_the_plus_side,
    volts_in_a_joint,
    volts_in_a_wire,
    ground_ohms,
    shorted_coil,
    battery_at_rest,
    heat_in_a_joint,
)


def _rest(charge: float) -> float:
    return float(BATTERY.feeds[0].emf(lambda _: np.array(charge)))
