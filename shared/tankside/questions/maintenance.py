"""Self-check questions for lesson 11: each draws its own numbers and computes its own answer.

A question is drawn from a stream and nothing else, so the same seed gives the same question.
A wrong choice is what a typical mistake gives, and says which mistake.
"""

from __future__ import annotations

import math
from collections.abc import Iterable

from tankside.faults.catalogue import remedies
from tankside.measures import amount
from tankside.questions.numbers import APART, number_question
from tankside.questions.question import Choice, Question
from tankside.questions.upkeep_ways import MONTH, cold_and_hot, hot_water, pays_from
from tankside.questions.water_ways import degrees
from tankside.quoting import Line, Prices, Quote, charged_minutes, load_prices, quote, repair_or_replace
from tankside.streams import Stream

PARTS = ("replace-thermostat", "replace-element", "replace-relief-valve", "replace-igniter", "replace-gas-valve", "replace-board")  # fmt: skip
"""Remedies whose part costs something."""
ROUND = (
    "smell at the gas locker and outside",
    "read the flame rod's current",
    "switch the mains off and lock it",
    "run the tap until it is cool",
    "drain the tank",
    "take the rod out",
    "fill the tank, air out",
    "switch the mains on again",
    "soap on the gas joints that were apart",
    "prove that it heats",
)
"""Steps of a yearly visit, in their order."""


def _workshop(draw: Stream) -> Prices:
    """A price list of its own."""
    return load_prices().model_copy(
        update={
            "call_out": float(5 * draw.integer(8, 20)),
            "hour": float(4 * draw.integer(18, 32)),
            "parts_markup": draw.choice((0.2, 0.25, 0.3)),
            "tax": draw.choice((0.05, 0.07, 0.08)),
        }
    )


def _money(
    name: str, text: str, right: float, way: str, wrong: Iterable[tuple[float, str]], more: str = ""
) -> Question:
    """A question whose choices are sums of money."""
    prices, taken, choices = load_prices(), [right], []
    for value, why in wrong:
        if value > 0 and all(abs(math.log(value / other)) > APART for other in taken):
            taken.append(value)
            choices.append(Choice(prices.money(value), why))
    return Question(name, text, Choice(prices.money(right), way), tuple(choices[:3]), f"{way} {more}".strip())


_STEPPED = tuple(
    (least, step) for least in (20, 30, 45, 60) for step in (10, 15, 20, 30) if least % step == 0
)
"""Minutes charged at least, and the steps: whole ones, so that it is all the same whether one counts them from the least."""


def minutes_on_the_bill(draw: Stream) -> Question:
    """Minutes worked, minutes charged."""
    least, step = draw.choice(_STEPPED)
    prices = load_prices().model_copy(update={"least_minutes": least, "round_minutes": step})
    worked = draw.integer(5, 170)
    worked += worked % step == 0  # on a whole step there is nothing to round
    right = charged_minutes(worked, prices)
    wrong = [
        (worked, "It is charged in steps, rounded up."),
        (math.floor(worked / step) * step, "Rounded up, never down."),
        (least, "That is the least that is charged. You were there longer."),
        (right + step, "One step too many: round up to the next one, and stop."),
        (max(right, least) + least, "The least isn't added. It only counts if you were faster."),
    ]  # fmt: skip
    text = f"A workshop charges at least {least} min, in steps of {step} min, rounded up. You worked {worked} min. How many are on the bill?"
    return number_question("minutes-on-the-bill", text, right, "min", "At least the least, then up to the next whole step.", wrong)  # fmt: skip


def whole_bill(draw: Stream) -> Question:
    """The total of a quote."""
    prices, remedy = _workshop(draw), remedies()[draw.choice(PARTS)]
    testing = float(draw.integer(20, 100))
    bill = quote([remedy.id], testing, prices)
    before = bill.total / (1 + prices.tax)
    markup = remedy.parts_cost * prices.parts_markup
    labor = bill.minutes / 60 * prices.hour
    wrong = [
        (before, "The tax is missing."),
        (bill.total - prices.call_out * (1 + prices.tax), "The call-out is missing."),
        (bill.total - markup * (1 + prices.tax), "The mark-up on the part is missing."),
        (bill.total - labor * (1 + prices.tax) * (1 - remedy.minutes / bill.minutes), "Finding the fault takes time too. It is charged."),
        (before * (1 + prices.parts_markup), "The mark-up is on the part only. The tax is on the whole."),
    ]  # fmt: skip
    text = (
        f"Call-out ${prices.call_out:.0f}. Hour ${prices.hour:.0f}. Finding the fault took {testing:.0f} min, the repair {remedy.minutes:.0f} min; "
        f"charged are at least {prices.least_minutes:.0f} min, in steps of {prices.round_minutes:.0f}, rounded up. The part costs the workshop "
        f"${remedy.parts_cost:.0f}, mark-up {100 * prices.parts_markup:.0f} %. Tax {100 * prices.tax:.0f} % on the whole. What is the bill?"
    )
    way = "Call-out, charged minutes, part with its mark-up; then the tax on their sum."
    return _money("whole-bill", text, bill.total, way, wrong, f"Charged: {bill.minutes:.0f} min.")


def part_on_the_bill(draw: Stream) -> Question:
    """A part with mark-up and tax."""
    prices, cost = _workshop(draw), float(draw.integer(20, 180))
    share, tax = prices.parts_markup, prices.tax
    wrong = [
        (cost * (1 + share), "The tax is missing."),
        (cost * (1 + tax), "The mark-up is missing."),
        (cost * share * (1 + tax), "That is the mark-up alone. The part itself has to be paid."),
        (cost, "That is what the workshop pays."),
    ]
    text = f"A part costs the workshop ${cost:.0f}. Mark-up {100 * share:.0f} %, then tax {100 * tax:.0f} %. What does the owner pay for it?"
    return _money("part-on-the-bill", text, cost * (1 + share) * (1 + tax), "The part and its mark-up, then the tax on both.", wrong)  # fmt: skip


def _price(total: float) -> Quote:
    return Quote((Line("price", "told", total),), 60.0)


def money_a_year(draw: Stream) -> Question:
    """Money for a year of hot water, repaired."""
    price, left = float(10 * draw.integer(15, 110)), draw.integer(2, 9)
    new, lasts = float(50 * draw.integer(24, 44)), draw.integer(10, 15)
    found = repair_or_replace(_price(price), left, _price(new), lasts)
    wrong = [
        (price / lasts, "It lasts as long as the old tank, not as a new one."),
        (found.new_a_year, "That is a year of the new heater."),
        (price * left, "Price by years, not times years."),
        (price / (lasts - left), "Those are the years that are gone."),
    ]
    text = (
        f"A repair costs ${price:.0f}. The tank then has {left} years left. A new heater costs ${new:.0f} and lasts {lasts} years. "
        "What does a year of hot water cost with the repair?"
    )
    return _money(
        "money-a-year", text, found.repair_a_year, "The price, divided by the years that it buys.", wrong
    )


def repair_or_new(draw: Stream) -> Question:
    """Which one is cheaper a year, with the reason."""
    new, lasts = float(50 * draw.integer(24, 44)), draw.integer(10, 15)
    # Not on the edge: the two a quarter apart at least.
    left = draw.integer(1, 9)
    factor = draw.choice((0.3, 0.5, 0.75, 1.3, 1.7, 2.2))
    price = 10.0 * max(round(new / lasts * left * factor / 10), 4)
    found = repair_or_replace(_price(price), left, _price(new), lasts)
    money = load_prices().money
    mine, other = money(found.repair_a_year), money(found.new_a_year)
    share = price / new
    right = f"{found.better.capitalize()}: {mine} a year repaired, {other} new."
    turned = "Replace" if found.better == "repair" else "Repair"
    wrong = (
        Choice(f"{turned}: {mine} a year repaired, {other} new.", "The sums are right. But then the other one is cheaper."),
        Choice(f"{'Repair' if price < new else 'Replace'}: {money(price)} against {money(new)}.", "Prices alone don't count. How many years does each buy?"),
        Choice(f"{'Repair' if share <= 0.5 else 'Replace'}: it costs {100 * share:.0f} % of a new one.", "A rule of thumb for a tank with half of its years left. Here count the years."),
    )  # fmt: skip
    text = (
        f"A repair costs ${price:.0f}, and the tank has {left} {'year' if left == 1 else 'years'} left. A new heater costs ${new:.0f} and lasts {lasts} years. "
        "By money alone: what do you tell the owner?"
    )
    return Question("repair-or-new", text, Choice(right, "Each price divided by its own years."), wrong, "Each price divided by its own years. The smaller one is cheaper.")  # fmt: skip


def years_it_must_hold(draw: Stream) -> Question:
    """Years that a tank must hold, for a repair to pay."""
    price, new, lasts = (
        float(10 * draw.integer(20, 100)),
        float(50 * draw.integer(24, 44)),
        draw.integer(8, 15),
    )
    found = repair_or_replace(_price(price), 1.0, _price(new), lasts)
    wrong = [
        (new / price, "That says how many repairs a new heater costs."),
        (lasts / 2, "Half of its years only fits half of the price."),
        (lasts * (1 - price / new), "Those are the years that it may have behind it."),
        (2 * pays_from(found), "Twice too long. Divide once by the new heater's money a year."),
        (float(lasts), "That is how long a new one lasts. It costs more, too."),
    ]
    text = f"A repair costs ${price:.0f}. A new heater costs ${new:.0f} and lasts {lasts} years. How long must the repaired tank hold, to be no dearer a year?"
    way = "The repair's price, divided by the money that the new one costs a year."
    return number_question("years-it-must-hold", text, pays_from(found), "years", way, wrong)


def _rod(draw: Stream) -> tuple[float, float, float]:
    """mm: new, now, wire."""
    new, wire = draw.choice((16.0, 19.0, 22.0, 25.0)), draw.choice((3.0, 3.5, 4.0))
    return new, round(new * draw.uniform(0.55, 0.9), 1), wire


def _across(value: float) -> str:
    return amount(value, "mm", "small length")


def metal_left(draw: Stream) -> Question:
    """Share of a rod's metal that is left, from the caliper."""
    new, now, wire = _rod(draw)
    left = 100 * (now**2 - wire**2) / (new**2 - wire**2)
    wrong = [
        (100 * now / new, "Thickness times itself counts, not thickness."),
        (100 - left, "That is what is gone."),
        (100 * (now - wire) / (new - wire), "Thickness times itself counts, not thickness."),
    ]
    text = f"A rod was {_across(new)} across when new. Now it is {_across(now)}. Its wire is {_across(wire)}. How much of its metal is left?"
    way = "Each times itself, less the wire's times itself. Then divide now by new."
    return number_question("metal-left", text, left, "%", way, wrong)


def next_look(draw: Stream) -> Question:
    """Months from now until half of the metal is gone."""
    new, wire, age = draw.choice((16.0, 19.0, 22.0, 25.0)), draw.choice((3.0, 3.5, 4.0)), draw.integer(6, 18)
    gone = draw.uniform(0.12, 0.38)
    now = round(math.sqrt(new**2 - gone * (new**2 - wire**2)), 1)
    gone = (new**2 - now**2) / (new**2 - wire**2)
    right = age * (0.5 / gone - 1.0)
    wrong = [
        (age * 0.5 / gone, "That counts from the day when it was new. Ask from today."),
        (age * (1.0 / gone - 1.0), "Then it is used up. Look when half is gone."),
        (age * (0.5 * (new - wire) / (new - now) - 1.0), "Thickness times itself counts, not thickness."),
        (12.0, "Each year is a habit. The rod tells its own date."),
    ]
    text = (
        f"A rod was {_across(new)} across when new, {age} months ago. Now it is {_across(now)}; its wire is {_across(wire)}. "
        "It goes on at that rate. In how many months is half of its metal gone?"
    )
    way = "First the part that is gone. Then the months that half takes, less those that are over."
    return number_question("next-look", text, right, "months", way, wrong)


def for_the_record(draw: Stream) -> Question:
    """Which line somebody else can work from."""
    microamps, pressure = draw.uniform(1.2, 4.5), draw.uniform(10.2, 11.6)
    across, months = draw.uniform(9.0, 17.0), draw.integer(4, 14)
    good = {
        "burner": f"Flame rod {microamps:.1f} µA, first try, gas {amount(pressure, 'inWC', 'gas pressure')} running.",
        "rod": f"Rod {_across(round(across, 1))} at its thinnest, ohms to the tank 0.0. Look again in {months} months.",
        "danger": f"Gas joint seeps, not mended: cock shut, tag on it, owner told at {draw.integer(8, 17)}:{draw.integer(10, 59)}.",
    }  # fmt: skip
    bad = {
        "burner": ("Burner cleaned and checked.", "Flame looks good, as last year.", "Gas side all OK."),
        "rod": ("Anode still fine.", "Anode worn, next year a new one.", "Rod looked at."),
        "danger": (
            "Gas joint to be looked at some time.",
            "Slight smell, owner knows.",
            "Gas: see last report.",
        ),
    }
    topic = draw.choice(tuple(good))
    why = "A number, a place, a date: the next person can compare, and act."
    wrong = tuple(
        Choice(words, "Nobody can compare anything with that, or act on it.") for words in bad[topic]
    )
    asked = {"burner": "the burner", "rod": "the rod", "danger": "a danger that you leave"}[topic]
    text = f"You write the record of a visit. Which line about {asked} can somebody else work from?"
    return Question("for-the-record", text, Choice(good[topic], why), wrong, why)


def drips(draw: Stream) -> Question:
    """Heat that a hot leak carries off in a month."""
    flow = draw.integer(2, 60)
    litres = flow * 60 * 24 * MONTH / 1e3
    hours = hot_water(litres) / 3.6e6
    cold, hot = cold_and_hot()
    wrong = [
        (hours / MONTH, "That is one day."),
        (hours * 24, "The minutes of a day are 1440. You took too many."),
        (hours / 60, "That flows each minute. An hour has sixty."),
        (hours * 3.6, "Those are megajoules. Divide by 3.6."),
    ]
    text = (
        f"A hot tap loses {amount(flow, 'mL', 'small volume')} a minute, day and night. Cold comes in at {degrees(cold)}, "
        f"the tank holds {degrees(hot)}. How many kilowatt hours of heat run off in {MONTH:.0f} days?"
    )
    way = (
        "Weight, times the step from cold to hot, times 1.163 Wh for a kilogram and a degree Celsius, "
        "or 0.293 Wh for a pound and a degree Fahrenheit."
    )
    return number_question("drips", text, hours, "kWh", way, wrong)


def which_first(draw: Stream) -> Question:
    """Which step of a visit comes first."""
    picked = sorted(draw.shuffled(range(len(ROUND)))[:4])
    first = ROUND[picked[0]]
    wrong = tuple(Choice(ROUND[k], f"Not before this: {first}.") for k in picked[1:])
    why = "Outside first, dry before wet. Full before mains, tight before a flame, and the proof last."
    return Question(
        "which-first", "Which of these comes first on a yearly visit?", Choice(first, why), wrong, why
    )


QUESTIONS = (
    minutes_on_the_bill,
    whole_bill,
    part_on_the_bill,
    money_a_year,
    repair_or_new,
    years_it_must_hold,
    metal_left,
    next_look,
    for_the_record,
    drips,
    which_first,
)
