"""Self-check questions for lesson 4: each draws its own chain and computes its own answer.

A question is drawn from a stream and nothing else, so the same seed gives the same question.
A wrong choice is what a typical mistake gives, and says which mistake.
"""

from __future__ import annotations

import hashlib
from datetime import date
from functools import cache

from tankside.bench import Bench
from tankside.diagnosis.chain_plans import by_halves, longest, one_by_one, walk
from tankside.heater.model import load_model
from tankside.heater.unit import make_unit
from tankside.measures import amount
from tankside.physics.resistance_heating import current_through, power_from
from tankside.questions.numbers import number_question
from tankside.questions.question import Choice, Question
from tankside.streams import Stream
from tankside.units import quantity
from tankside.workorder import WorkOrder

MODEL = "heron_6"
CHAIN = ("heater_switch", "thermostat", "link_bar", "high_limit")
OPENING = {
    "heater_switch": "heater-switch-off", "thermostat": "thermostat-stuck-open",
    "link_bar": "link-bar-burnt", "high_limit": "limit-tripped",
}  # fmt: skip
TRIALS = 6
"""Sites and meters that are drawn from."""
STALE = "Volts arrive there, so everything up to that point is closed."


def where_the_volts_end(draw: Stream) -> Question:
    """The open contact from readings along the chain."""
    bad = draw.choice(CHAIN)
    readings = _to_neutral(OPENING[bad], draw.integer(1, TRIALS))
    listed = "; ".join(f"after the {_name(p)} {v}" for p, v in zip(CHAIN, readings, strict=True))
    text = f"Cold water, all switched on. Volts to neutral: {listed}. Which contact is open?"
    at = CHAIN.index(bad)
    why = f"The last good volts stand ahead of the {_name(bad)}. Behind it they are gone."
    wrong = [
        Choice(f"the {_name(part)}", STALE if k < at else "Nothing arrives there, so its own state can't be told yet.")
        for k, part in enumerate(CHAIN)
        if part != bad
    ]  # fmt: skip
    return Question("where-the-volts-end", text, Choice(f"the {_name(bad)}", why), tuple(wrong), why)


def full_volts_across(draw: Stream) -> Question:
    """What full or no volts across a contact tells."""
    bad = draw.choice(CHAIN[1:])
    number = draw.integer(1, TRIALS)
    two = draw.choice((True, False))
    shown = _across(OPENING[bad], number, bad, two)
    right_words = {
        False: f"The {_name(bad)} is open, and everything else on the way is closed.",
        True: f"Nothing sure about the {_name(bad)}: something else on the way may be open.",
    }
    text = f"Cold water. You lay the meter across the {_name(bad)} and read {shown}. What do you know?"
    why = (
        "Next to nothing across can mean closed. It can also mean that no volts arrive. Walk the chain to the neutral."
        if two
        else "All the volts that the supply has stand across the one open contact."
    )
    element = (
        "That would read so, too. But so does much else: look for full volts on the element first."
        if two
        else "With only the element open, every contact reads next to nothing, and the element full volts."
    )
    wrong = (
        Choice(right_words[not two], "That holds for the other reading, not for this one."),
        Choice(
            f"The {_name(bad)} is closed, and so is all the rest.", "Then the element would have its volts. Did you measure that?"
        ),
        Choice("The element is open.", element),
    )  # fmt: skip
    return Question("full-volts-across", text, Choice(right_words[two], why), wrong, why)


def tests_by_halves(draw: Stream) -> Question:
    """The most tests that a row needs by halves."""
    n = draw.integer(3, 16)
    right = longest(by_halves(n), n)
    text = f"A row has {n} contacts, and one of them is open. You measure in the middle each time. How many tests at the most?"
    why = "Each test halves what is left: count how often you can halve the row until one contact is left."
    wrong: list[Choice] = []
    for value, words in (
        (longest(one_by_one(n), n), "That is one contact after another, at worst."),
        (n // 2, "That is the first middle, not the number of tests."),
        (right + 1, "One less does it."),
        (right - 1, "Too few: two contacts could still be left."),
    ):
        if value != right and value >= 1 and str(value) not in {c.text for c in wrong}:
            wrong.append(Choice(str(value), words))
    return Question("tests-by-halves", text, Choice(str(right), why), tuple(wrong[:3]), why)


def one_by_one_on_average(draw: Stream) -> Question:
    """The mean number of tests in sequence."""
    n = draw.integer(4, 16)
    mean = one_by_one(n).minutes
    text = f"{n} contacts in a row, each as likely to be the open one. You test one after another. How many tests on average?"
    wrong = [
        (n - 1.0, "That is the worst case."),
        (by_halves(n).minutes, "That is by halves."),
        (float(n), "The last one needs no test: if all others are closed, it is that one."),
        (1.5 * mean, "Too many: half of the breaks lie in the first half of the row."),
    ]
    way = "About half of the row, for the break may lie anywhere."
    return number_question("one-by-one", text, mean, "tests", way, wrong)


def where_next(draw: Stream) -> Question:
    """The next point to measure at, by halves."""
    n = draw.choice((4, 6, 8, 12, 16))
    first = walk(by_halves(n), 1).tests[0]
    good = draw.choice((True, False))
    low, high = (first, n) if good else (0, first)
    middle = {low + (high - low) // 2, low + (high - low + 1) // 2}
    seen = "are there" if good else "are gone"
    text = f"A row of {n} contacts. After contact {first} the volts {seen}. One contact is open. Where next?"
    right = min(middle)
    wrong = [
        Choice(f"after contact {k}", told)
        for k, told in (
            (low + 1, "That is one on: most of what is left would still be left."),
            (high - 1, "That is one back: most of what is left would still be left."),
            (first // 2 if good else (first + n) // 2, "That lies on the side that you know already."),
        )
        if k not in middle | {first}
    ]
    named = {choice.text: choice for choice in wrong}
    if len(named) < 2:
        known = n - 1 if not good else 1
        named.setdefault(f"after contact {known}", Choice(f"after contact {known}", "That lies on the side that you know already."))  # fmt: skip
    named.setdefault("across the element", Choice("across the element", "It has no volts: you know that a contact is open."))  # fmt: skip
    why = f"The open one is among contacts {low + 1} to {high}. The middle leaves half of them."
    return Question("where-next", text, Choice(f"after contact {right}", why), tuple(named.values())[:3], why)


def stuck_or_satisfied(draw: Stream) -> Question:
    """An open thermostat judged by the water's temperature."""
    unit = make_unit(load_model(MODEL))
    opens, closes = (float(unit[f"thermostat.{k}"][0]) for k in ("opens_at", "closes_at"))
    cold = draw.choice((True, False))
    water = draw.uniform(12, closes - 8) if cold else draw.uniform(closes + 2, opens)
    told = [amount(t, "degC", "temperature") for t in (opens, closes, water)]
    text = (
        f"A thermostat opens at {told[0]} and closes at {told[1]}. The water is at {told[2]}, and you read full volts "
        "across it. What now?"
    )
    stuck = Choice("It is stuck open.", "At that temperature a good one is closed.")
    wait = Choice("Run the hot tap and read again.", "In water that warm a good one may stand open.")
    right, other = (stuck, wait) if cold else (wait, stuck)
    wrong = (
        Choice(
            other.text,
            "The water is cold already: no need to wait."
            if cold
            else "Not proven: it may only be satisfied.",
        ),
        Choice(
            "Its contact has welded.", "A welded contact is closed. Across it you would read next to nothing."
        ),
        Choice("The high limit is open.", "Then no volts would stand across the thermostat."),
    )
    return Question("stuck-or-satisfied", text, right, wrong, right.why)


def heat_in_a_contact(draw: Stream) -> Question:
    """Heat in a burnt contact in row with the element."""
    ohms, coil = round(draw.uniform(0.6, 4.0), 1), round(draw.uniform(9.0, 13.0), 1)
    line = round(draw.uniform(114, 123), 1)
    amps = current_through(quantity(line, "V"), quantity(ohms + coil, "ohm"))
    drop = amps * quantity(ohms, "ohm")
    watts = power_from(voltage=drop, current=amps).to("W").magnitude
    wrong = [
        (line**2 / ohms, "That puts the whole line on the contact. The element takes most of it."),
        (amps.magnitude * line, "That is the heat of contact and element together."),
        (line**2 / coil, "That is the element on its own."),
        (amps.magnitude * ohms, "Those are the volts across the contact, not its heat."),
    ]
    text = f"A burnt contact of {ohms} Ω is in row with an element of {coil} Ω, on {line} V. How much heat does the contact make?"
    way = "Amps from the volts and both resistances; then amps times amps times the contact's ohms."
    return number_question("heat-in-a-contact", text, watts, "W", way, wrong)


def tripped_limit(draw: Stream) -> Question:
    """What to do about a tripped high limit."""
    hours = round(draw.uniform(1, 40))
    told = draw.choice(
        ("The water had been scalding", "Steam had come from the tap", "The tap had run far too hot")
    )
    text = f"{told} some {hours} hours before the heater went cold. You find the high limit open. What comes first?"
    right = Choice(
        "Find out why the water got so hot. Test the thermostat.",
        "A welded thermostat would open a new limit just the same.",
    )
    wrong = (
        Choice("Fit a new high limit and leave.", "It would open again: the cause is still there."),
        Choice(
            "Reset it. If it holds for a minute, all is well.",
            "It takes an hour or more to get that hot again.",
        ),
        Choice("Bridge it until the part arrives.", "Never. Nothing would stop the water from boiling."),
    )
    why = "The limit did its work. Something made the water too hot. Stay until the thermostat has opened by itself."
    return Question("tripped-limit", text, right, wrong, why)


QUESTIONS = (
    where_the_volts_end,
    full_volts_across,
    tests_by_halves,
    one_by_one_on_average,
    where_next,
    stuck_or_satisfied,
    heat_in_a_contact,
    tripped_limit,
)


def _name(part: str) -> str:
    return load_model(MODEL).parts[part].name


@cache
def _bench(fault: str, number: int) -> Bench:
    """Covers off, cold water, the meter on volts."""
    order = WorkOrder(
        order=f"CHECK-{number}",
        lab="lesson",
        seed=hashlib.sha256(f"self-check chain {fault} {number}".encode()).hexdigest()[:32],
        model=MODEL,
        scope=(fault,),
        issued=date(2026, 1, 1),
        complaint="",
    )
    bench = Bench(order)
    bench.open_cover("heater-front")
    bench.run_tap(10)
    bench.meter("V~")
    return bench


@cache
def _to_neutral(fault: str, number: int) -> tuple[str, ...]:
    bench = _bench(fault, number)
    return tuple(_volts(bench, f"{part}.load", "element.2") for part in CHAIN)


@cache
def _across(fault: str, number: int, part: str, also_off: bool) -> str:
    bench = _bench(fault, number)
    if not also_off:
        return _volts(bench, f"{part}.line", f"{part}.load")
    bench.switch("heater_switch", "off")
    shown = _volts(bench, f"{part}.line", f"{part}.load")
    bench.switch("heater_switch", "on")
    return shown


def _volts(bench: Bench, red: str, black: str) -> str:
    return f"{float(bench.probe(red, black).readings[0]['value']):.1f} V"
