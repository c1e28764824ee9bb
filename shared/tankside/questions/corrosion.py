"""Self-check questions for lesson 10: each draws its own numbers and computes its own answer.

A question is drawn from a stream and nothing else, so the same seed gives the same question.
A wrong choice is what a typical mistake gives, and says which mistake.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache

from tankside.heater import corrosion
from tankside.heater.corrosion import wear
from tankside.heater.model import load_model
from tankside.measures import amount
from tankside.physics.corrosion import (
    MAGNESIUM_TAKES,
    YEAR,
    anode_life,
    anode_weight,
    mass_loss,
    penetration_rate_si,
    perforation_time,
)
from tankside.physics.galvanic import design_current
from tankside.questions.anode_ways import MODEL, WARM, tank
from tankside.questions.numbers import number_question
from tankside.questions.question import Choice, Question, of_another_case
from tankside.quoting import load_prices, quote, repair_or_replace, replacement
from tankside.streams import Stream
from tankside.units import quantity, significant

TURNS = 6
"""Waters and ages that the questions on found rods are drawn from."""


def _asked(
    name: str, text: str, right: str, way: str, told: list[tuple[str, str]], more: str = ""
) -> Question:
    """A question whose choices are amounts in the learner's measures or sentences."""
    taken, wrong = {right}, []
    for words, why in told:
        if words not in taken:
            taken.add(words)
            wrong.append(Choice(words, why))
    return Question(name, text, Choice(right, way), tuple(wrong[:3]), f"{way} {more}".strip())


def metal_gone(draw: Stream) -> Question:
    """Metal that a rod loses by its current."""
    milli, years = draw.integer(20, 90) / 10, float(draw.choice((0.5, 1.0, 1.5, 2.0, 2.5, 3.0)))
    gone = float(
        mass_loss("magnesium", quantity(milli, "mA"), quantity(8760 * years, "hour"), 0.5).to("g").magnitude
    )
    told = [
        (
            gone / 2,
            "That is without waste. Only half of the charge does useful work, so twice as much dissolves.",
        ),
        (gone / 4, "The waste makes it more, not less."),
        (gone * 24, "The hours of a year are 8760. Its days were counted twice."),
        (gone * 4, "Twice for the waste, not four times."),
    ]

    def grams(value: float) -> str:
        return amount(value, "g", "small mass")

    text = (
        f"A magnesium rod gives {milli:g} mA for {years:g} years of 8760 hours. Magnesium has 2205 Ah/kg (1000 Ah/lb), and half of "
        "that is useful. How much metal is gone?"
    )
    way = "Amps times hours, divided by what a kilogram (or a pound) gives, and by one half."
    return _asked("metal-gone", text, grams(gone), way, [(grams(v), why) for v, why in told])


def years_left(draw: Stream) -> Question:
    """Years that the metal left on a rod lasts."""
    grams, milli = float(draw.integer(20, 200)), draw.integer(15, 90) / 10
    life = anode_life(quantity(grams, "g"), quantity(milli, "mA"), "magnesium", 0.5, 1.0)
    right = float(life.to("hour").magnitude) / 8760
    wrong = [
        (2 * right, "Half of the charge is wasted on the rod itself."),
        (right * 1.1023, "A kilogram is 2.205 lb, not 2."),
        (right * 365 / 250, "The current flows on days off too."),
        (4 * right, "Halve once for the waste. Don't double."),
        (12 * right, "That is months."),
    ]
    text = (
        f"{amount(grams, 'g', 'small mass')} of magnesium are left on a rod. It gives {milli:g} mA. Magnesium has 2205 Ah/kg "
        "(1000 Ah/lb), half of it useful. How long will it last at this current?"
    )
    way = "Metal times half of what it gives, divided by the current: hours. A year has 8760."
    more = "As it thins the current falls a little, so it lasts somewhat longer. A crater reaches the wire sooner."
    return number_question("years-left", text, right, "years", way, wrong, more)


def share_left(draw: Stream) -> Question:
    """The share of a rod's metal that is left, from its diameter."""
    new = draw.choice((0.625, 0.7, 0.75, 0.84, 0.9, 1.05))
    core = draw.choice((0.1, 0.12, 0.15))
    now = round(new * draw.uniform(0.5, 0.88), 2)
    right = 100 * (now**2 - core**2) / (new**2 - core**2)
    wrong = [
        (100 * now / new, "That compares diameters. Metal goes with the diameter times itself."),
        (100 - right, "That is what is gone."),
        (100 * (now - core) / (new - core), "The wire is taken off, but these are diameters still."),
        (100 * (1 - now / new), "That is how much thinner it is."),
    ]

    def size(value: float) -> str:
        return amount(value, "inch", "small length")

    text = (
        f"A rod was {size(new)} across when new. The wire inside is {size(core)} across. Your caliper shows {size(now)}. "
        "How much of its metal is left?"
    )
    way = "Each diameter times itself, less the wire's times itself. Then divide now by new."
    return number_question(
        "share-left", text, right, "%", way, wrong, "At seven tenths of its diameter, half is gone."
    )


FOUND: dict[str, tuple[dict[str, float], str, str]] = {
    "sound": ({}, "Nothing. It has worked, and metal is left.", "A short to the tank, no skin, and worn: it does its work."),
    "sealed": (
        {"anode_thread.resistance": 3e5},
        "It is insulated. Clean its thread.",
        "Many ohms across the thread: no current came through, so it looks like new.",
    ),
    "skin": (
        {"anode.film": 2e4},
        "It is passivated. Fit a new rod.",
        "A short to the tank, and yet not worn: the skin held the current back.",
    ),
    "spent": (
        {"anode.used": 1.0},
        "It is used up. Fit a new rod, and look at the steel.",
        "Nothing but the wire is left.",
    ),
}  # fmt: skip


@cache
def _found(kind: str, k: int) -> tuple[float, float, float]:
    """Years since it was new, m of radius, ohm across the thread."""
    unit = tank({**FOUND[kind][0], "tank.water_conductivity": 0.6 + 0.1 * k})
    age = 1.0 + 0.1 * k
    radius = float(wear(unit, age, WARM, 1 / 6).radius[-1])
    return age, radius, float(corrosion.bond(unit)[0])


def what_the_rod_says(draw: Stream) -> Question:
    """A rod that was pulled: its diameter, ohms and skin, and what is wrong."""
    kind = draw.choice(tuple(FOUND))
    age, radius, thread = _found(kind, draw.integer(0, TURNS - 1))
    thread *= draw.uniform(0.7, 2.0)
    across = "bare wire" if kind == "spent" else amount(2e3 * radius, "mm", "small length")
    new = amount(2e3 * float(load_model(MODEL).nominal["anode.radius"]), "mm", "small length")
    skin = "under a hard gray skin" if kind == "skin" else "with no skin"
    shown = f"{significant(thread / 1e3)} kΩ" if thread > 1e3 else f"{thread:.1f} Ω"
    text = (
        f"A rod, {new} across when new, has been in use for {12 * age:.0f} months. Drained, the meter shows {shown} from rod to tank. "
        f"You pull it: {across}, {skin}. What is wrong?"
    )
    wrong = tuple(of_another_case(words, why) for name, (_, words, why) in FOUND.items() if name != kind)
    _, words, why = FOUND[kind]
    return Question("what-the-rod-says", text, Choice(words, why), wrong, why)


@cache
def _designed(resistivity: float) -> float:
    """mA of the manual's anode in water of so many ohm cm."""
    return float(design_current(quantity(resistivity, "ohm*cm")).to("mA").magnitude)


def water_conducts(draw: Stream) -> Question:
    """A design rule: current goes with one over the water's resistivity."""
    first = float(draw.choice((2000, 2500, 3000, 4000, 4500, 5000)))
    second = float(
        draw.choice([r for r in (1000, 1500, 2250, 3500, 6000, 8000, 9000) if abs(r / first - 1) > 0.2])
    )
    given, right = _designed(first), _designed(second)
    wrong = [
        (given * second / first, "The wrong way round. Water that resists more lets less through."),
        (given, "The water does count."),
        (given * (first / second) ** 2, "One over the resistivity, not one over its square."),
        (given * (first / second) ** 0.5, "One over the resistivity, not over its root."),
    ]
    text = (
        f"By a manual's rule an anode's current goes with one over the resistivity. In {first:.0f} Ω cm an anode gives {given:.1f} mA. "
        f"What will it give in {second:.0f} Ω cm?"
    )
    way = "Current times old resistivity, divided by the new one."
    more = "In a lined tank it changes a little less, because the steel takes only what it needs."
    return number_question("water-conducts", text, right, "mA", way, wrong, more)


def anodes_for_a_structure(draw: Stream) -> Question:
    """W = Y S I / E, as the manual does it."""
    span, amps = float(draw.choice((10, 12, 15, 18, 20))), draw.integer(20, 120) / 100
    right = float(anode_weight(quantity(amps, "A"), quantity(span, "year")).to("lb").magnitude)
    each = amount(MAGNESIUM_TAKES, "lb", "mass")
    told = [
        (right / 2, "The waste is left out: divide by 0.50."),
        (right / 4, "Dividing by one half doubles. It doesn't halve."),
        (right / span, "That is for one year."),
    ]
    text = (
        f"A steel structure takes {amps:g} A and is to last {span:g} years. Magnesium: {each} for an ampere and a year, 0.50 useful. "
        "What weight of anodes does it need?"
    )
    way = f"Years times {each} times amps, divided by 0.50."

    def weight(value: float) -> str:
        return amount(value, "lb", "mass")

    return _asked("anodes-for-a-structure", text, weight(right), way, [(weight(v), why) for v, why in told])


def when_through(draw: Stream) -> Question:
    """Years until unprotected steel is through."""
    wall, pitting = draw.integer(14, 30) / 10, float(draw.choice((4, 5, 6, 8, 10)))
    density = draw.integer(5, 12) / 100
    rate = round(float(penetration_rate_si(density)) * YEAR * 1e3, 3)
    exact = float(perforation_time(quantity(wall, "mm"), quantity(density, "A/m^2"), pitting).magnitude)
    right = exact * float(penetration_rate_si(density)) * YEAR * 1e3 / rate
    wrong = [
        (right * pitting, "That is the mean. The deepest pit is what leaks."),
        (right / pitting, "The pits were counted twice."),
        (right / 2, "Water is on one side only."),
        (right * 2, "Twice too long."),
    ]
    text = (
        f"Bare steel without an anode loses {amount(rate, 'mm', 'small length')} a year on the mean. The deepest pit goes {pitting:g} times "
        f"as fast. The wall is {amount(wall, 'mm', 'small length')}. How long until it is through?"
    )
    way = "The wall, divided by the mean loss times the pit's factor."
    return number_question(
        "when-through", text, right, "years", way, wrong, "A tank leaks at its deepest pit, not at its mean."
    )


def repair_or_new(draw: Stream) -> Question:
    """Price a year of repairing, and of a new heater."""
    prices = load_prices()
    model = load_model(MODEL)
    remedy = draw.choice(("replace-anode", "clean-anode-thread"))
    fix, new = quote([remedy], float(draw.choice((15, 30, 45, 60)))), replacement(model)
    kept, lasts = draw.integer(2, 40) / 10, draw.integer(42, 80) / 10
    found = repair_or_replace(fix, kept, new, lasts)
    if abs(found.repair_a_year / found.new_a_year - 1) < 0.1:
        lasts += 1.0
        found = repair_or_replace(fix, kept, new, lasts)
    a, b = prices.money(found.repair_a_year), prices.money(found.new_a_year)
    right = f"{found.better.capitalize()}. Repair: {a} a year. New: {b} a year."
    other = "Replace" if found.better == "repair" else "Repair"
    c, d = prices.money(fix.total / lasts), prices.money(new.total / kept)
    wrong = (
        Choice(
            f"{other}. Repair: {a} a year. New: {b} a year.", "The smaller price a year is the better one."
        ),
        Choice(
            f"Repair. Repair: {c} a year. New: {d} a year.",
            "The years were swapped. Each price is divided by its own years.",
        ),
        Choice(
            f"Repair. {prices.money(fix.total)} is less than {prices.money(new.total)}.",
            "The bill alone doesn't tell. What counts is what a year costs.",
        ),
    )
    text = (
        f"A repair costs {prices.money(fix.total)} and the tank will then hold {kept:g} year{'s' if kept != 1 else ''}. A new heater costs "
        f"{prices.money(new.total)} and will hold {lasts:g} years. Which costs less a year?"
    )
    why = "Each price divided by its own years. Tell the owner both, and what you can't see: pits aren't all alike."
    return Question("repair-or-new", text, Choice(right, why), wrong, why)


def idle_tank(draw: Stream) -> Question:
    """Coming to a tank that nobody drew from for weeks."""
    weeks, where = draw.integer(3, 40), draw.choice(("a cabin", "a boat", "a summer house", "a workshop"))
    tap = draw.choice(("the kitchen tap", "the hand basin", "the shower"))
    text = f"A heater in {where} stood full and warm for {weeks} weeks. You open {tap}, hot, and it spits and hisses. What do you do?"
    right = "No flame, no spark, windows open. Let the tap run until it flows without gas. Then work."
    why = "The rod makes hydrogen while nobody draws. It burns, and it has no smell."
    wrong = (
        Choice("Hold a flame to it, to see whether it burns.", "Never. That is how people get burnt."),
        Choice("Nothing. It is only air, which is always in a pipe.", "It may be air. It may be hydrogen, too, and you can't smell which."),
        Choice("Shut the tap and pull the plug with the rod right away.", "The gas is under pressure in the tank. Let it out at a tap first, and drain."),
    )  # fmt: skip
    return Question("idle-tank", text, Choice(right, why), wrong, why)


QUESTIONS: tuple[Callable[[Stream], Question], ...] = (
    what_the_rod_says,
    share_left,
    years_left,
    idle_tank,
    metal_gone,
    repair_or_new,
    when_through,
    water_conducts,
    anodes_for_a_structure,
)
