"""Self-check questions for lesson 7: each draws its own numbers and computes its own answer.

A question is drawn from a stream and nothing else, so the same seed gives the same question.
A wrong choice is what a typical mistake gives, and says which mistake.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from functools import cache

from tankside.heater import gas
from tankside.heater.model import load_model
from tankside.heater.simulation import energise
from tankside.heater.unit import make_unit
from tankside.measures import amount
from tankside.physics.fuels import flammable_range, fuel
from tankside.physics.gas import altitude_derate, heat_input, orifice_flow, pressure_in
from tankside.physics.leaks import leak_from_test, warmed_gauge
from tankside.questions.numbers import APART
from tankside.questions.question import Choice, Question
from tankside.streams import Stream
from tankside.units import quantity

MODELS = ("pintail_10", "plover_12")


def _asked(
    name: str,
    text: str,
    right: float,
    unit: str,
    kind: str,
    way: str,
    wrong: Iterable[tuple[float, str]],
    more: str = "",
) -> Question:
    """A question with one computed amount and up to three that mistakes give, in the learner's measures."""
    taken, choices = [right], []
    for value, why in wrong:
        if value > 0 and all(abs(math.log(value / other)) > APART for other in taken):
            taken.append(value)
            choices.append(Choice(amount(value, unit, kind), why))
    answer = Choice(amount(right, unit, kind), way)
    return Question(name, text, answer, tuple(choices[:3]), f"{way} {more}".strip())


def both_legs(draw: Stream) -> Question:
    """A U-tube: one leg down, the other up."""
    inches = draw.integer(12, 56) / 4
    half = inches / 2
    right = float(pressure_in(quantity(inches, "inWC"), "Pa").magnitude)
    text = (
        f"A U-tube is half filled. With the gas on, the water stands {amount(half, 'in', 'small length')} below zero in one leg "
        f"and {amount(half, 'in', 'small length')} above zero in the other. What is the pressure?"
    )
    wrong = [
        (right / 2, "That is one leg. The pressure is the whole difference."),
        (2 * right, "Both legs are in already: add them, don't double them."),
        (right * 0.75, "Count both legs in full."),
    ]
    return _asked(
        "both-legs", text, right, "Pa", "gas pressure", "Add what one leg fell and the other rose.", wrong
    )


def less_pressure(draw: Stream) -> Question:
    """Heat input after the running pressure has sunk."""
    before, share = draw.integer(16, 60) * 500.0, draw.integer(20, 80) / 100
    good = quantity(11.0, "inWC")
    now = float((good * share).magnitude)
    right = before * math.sqrt(round(now, 1) / 11.0)
    share = round(now, 1) / 11.0
    text = (
        f"A burner makes {amount(before, 'BTU_per_hour', 'heat rate')} at {amount(11.0, 'inWC', 'gas pressure')}. Today the gauge "
        f"shows {amount(round(now, 1), 'inWC', 'gas pressure')} with the burner on. Same jet, same gas. What does it make now?"
    )
    wrong = [
        (before * share, "It doesn't fall in step with the pressure, but with its root."),
        (before * share**2, "Root, not square: gas flow is kinder than that."),
        (before / math.sqrt(share), "Less pressure gives less gas, not more."),
    ]
    way = "Gas flow goes with the square root of the pressure."
    return _asked("less-pressure", text, right, "BTU_per_hour", "heat rate", way, wrong)


def wider_hole(draw: Stream) -> Question:
    """Heat input through another hole at the same pressure."""
    own = draw.integer(26, 43)
    other = draw.choice([size for size in range(26, 44) if abs(size - own) >= 3])
    before = draw.integer(14, 50) * 500.0
    right = before * (other / own) ** 2
    text = (
        f"A jet of {amount(own / 1000, 'in', 'small length')} makes {amount(before, 'BTU_per_hour', 'heat rate')}. Somebody fits one "
        f"of {amount(other / 1000, 'in', 'small length')}. The pressure stands. What does the burner take now?"
    )
    wrong = [
        (before * other / own, "Not in step with the width: the area counts, and that goes with its square."),
        (before, "The regulator holds the pressure, not the flow. The hole sets the flow."),
        (before * (own / other) ** 2, "Turned round: a wider hole passes more."),
    ]
    return _asked(
        "wider-hole", text, right, "BTU_per_hour", "heat rate", "Flow goes with the square of the hole's width.", wrong
    )  # fmt: skip


def what_it_burns(draw: Stream) -> Question:
    """Heat input from hole and pressure through the table's formula."""
    hole, inches = draw.integer(28, 44) / 1000, draw.integer(16, 26) / 2
    one = fuel("propane")
    flow = orifice_flow(quantity(hole, "in"), quantity(inches, "inWC"), one.specific_gravity_si)
    right = float(heat_input(flow, one).to("BTU_per_hour").magnitude)
    in_a_foot = right / float(flow.magnitude)
    plate = right * draw.choice((0.7, 0.8, 0.9, 1.1, 1.25, 1.4))
    per = f"{amount(1.0, 'foot^3', 'gas volume')} of it holds {amount(in_a_foot, 'Btu', 'heat')}"
    text = (
        f"A jet passes {amount(float(flow.magnitude), 'cfh', 'gas flow')} of propane; {per}. The plate asks for "
        f"{amount(plate, 'BTU_per_hour', 'heat rate')}. What does the burner take?"
    )
    wrong = [
        (right / 2.5, "That is the heat of natural gas. Propane holds about two and a half times as much."),
        (plate, "That is what the plate asks for. This jet passes something else."),
        (right * 1.3, "That is the heat of butane."),
    ]
    way = "Gas flow times the heat in the gas. Then hold it against the plate."
    return _asked("what-it-burns", text, right, "BTU_per_hour", "heat rate", way, wrong)


def high_place(draw: Stream) -> Question:
    """Input that a heater may have at a height, by one of the two rules."""
    feet, plate = draw.integer(35, 90) * 100, draw.integer(16, 60) * 500.0
    rule, other = draw.choice((("above sea level", "above 2000 ft"), ("above 2000 ft", "above sea level")))
    height = quantity(feet, "ft")
    less = float(altitude_derate(height, rule).magnitude)  # type: ignore[arg-type]
    against = float(altitude_derate(height, other).magnitude)  # type: ignore[arg-type]
    words = {
        "above sea level": "4 % for each 1000 ft above the sea",
        "above 2000 ft": "4 % for each 1000 ft above 2000 ft",
    }
    right = plate * (1 - less / 100)
    text = (
        f"A heater of {amount(plate, 'BTU_per_hour', 'heat rate')} goes to a cabin at {amount(feet, 'ft', 'length')}. Your code takes off "
        f"{words[rule]}. For how much input is the jet chosen?"
    )
    wrong = [
        (
            plate * (1 - against / 100),
            f"That is the other rule: {words[other]}. Ask which one your code follows.",
        ),
        (plate, "Thin air brings less oxygen. The jet must pass less gas."),
        (plate * (1 + less / 100), "Less air, so less gas, not more."),
    ]
    return _asked("high-place", text, right, "BTU_per_hour", "heat rate", f"The rule takes off {less:.1f} %.", wrong)  # fmt: skip


def enough_to_burn(draw: Stream) -> Question:
    """Gas that makes a shut space burn, by a named book."""
    room, book = draw.integer(8, 80) * 0.25, draw.choice(("IEC 60079-20-1", "NFPA 497"))
    low, high = flammable_range(fuel("propane"), book)  # type: ignore[arg-type]
    right = room * low
    text = (
        f"{book} says: propane burns from {100 * low:.1f} % to {100 * high:.1f} % in air. A shut cabin has "
        f"{amount(room, 'm^3', 'gas volume')}. From how much gas on can it explode?"
    )
    wrong = [
        (room * high, "That is the upper end. Long before that it burns."),
        (room * low * 10, "Ten times too much: mind the point."),
        (room * 0.2095, "That is the oxygen in the air."),
        (room * low / 10, "Mind the point: a percent is a hundredth."),
    ]
    more = "In a layer along the floor a tenth of it is enough."
    return _asked("enough-to-burn", text, right, "m^3", "gas volume", "The room times the lower limit.", wrong, more)  # fmt: skip


def leak_by_test(draw: Stream) -> Question:
    """The volume that a line lost in a timed test."""
    liters, start = draw.integer(4, 40) / 4, 8.0
    end, minutes = start - draw.integer(1, 12) / 10, draw.choice((3, 5, 10))
    found = leak_from_test(
        quantity(start, "inWC"), quantity(end, "inWC"), quantity(liters, "L"), quantity(minutes, "minute")
    )
    right = float(found.to("m^3/hour").magnitude)
    text = (
        f"A line that holds {amount(liters, 'L', 'volume')} falls from {amount(start, 'inWC', 'gas pressure')} to "
        f"{amount(end, 'inWC', 'gas pressure')} in {minutes} minutes. It stayed as warm as it was. Air pressure is "
        f"{amount(101325, 'Pa', 'gas pressure')}. How much gas leaks in an hour?"
    )
    wrong = [
        (right * minutes / 60, "That is what it lost during the test."),
        (
            liters / 1000 * (start - end) / start * 60 / minutes,
            "The line holds gas at air pressure and a little more. It didn't lose that share of all of it.",
        ),
        (right * 60 / minutes, "An hour has sixty minutes: you took them twice."),
    ]
    way = "The line's volume times the fall, divided by the pressure of the air; then by the time. It comes out a little more, since the flow slows as the pressure falls."
    return _asked("leak-by-test", text, right, "m^3", "small gas volume", way, wrong, "It fails, however small it is.")  # fmt: skip


def sun_or_leak(draw: Stream) -> Question:
    """A fall on the gauge and a fall of the temperature: which is it?"""
    start = quantity(8.0, "inWC")
    degrees = draw.integer(4, 16) / 4
    tight = float(warmed_gauge(start, quantity(20, "degC"), quantity(20 - degrees / 1.8, "degC")).magnitude)
    kind = draw.choice(("sun", "leak"))
    seen = tight + draw.uniform(-0.04, 0.04) if kind == "sun" else tight - draw.uniform(0.6, 1.5)
    if seen < 0.3:
        kind, seen = "sun", tight
    tops = {
        "sun": "The cooling explains all of the fall. Let it settle and test again.",
        "leak": "The cooling explains only a part. It leaks as well.",
        "none": "The line is tight: it may go into service now.",
    }
    text = (
        f"The gauge fell from {amount(8.0, 'inWC', 'gas pressure')} to {amount(seen, 'inWC', 'gas pressure')}. Meanwhile the line "
        f"cooled by {degrees:.2f} °F ({degrees / 1.8:.2f} K). By itself that takes off "
        f"{amount(8.0 - tight, 'inWC', 'gas pressure')}. What do you say?"
    )
    why = f"The cooling alone would leave {amount(max(tight, 0.0), 'inWC', 'gas pressure')}."
    wrong = tuple(
        Choice(
            words,
            "Not from a test with a fall in it. Let it settle, and test again." if key == "none" else why,
        )
        for key, words in tops.items()
        if key != kind
    )
    return Question("sun-or-leak", text, Choice(tops[kind], why), wrong, f"{why} No pass until a test holds.")


NEEDLE = 0.05 * 6894.757293168
"""Pa below which a cylinder's gauge shows nothing."""
WHERE: dict[str, tuple[str, float, float, str, str]] = {
    "set": ("regulator.set_pressure", 2000.0, 1300.0, "The regulator is set low.", "Low at rest and low running, by the same share."),
    "choke": ("regulator.open_flow", 6.0e-6, 3.5e-6, "Something between taps 1 and 2 chokes: regulator or hose.", "Right at rest, low at tap 2 already, plenty at tap 1."),
    "check": ("cylinder.passage", 2.2e-6, 0.9e-6, "The cylinder's own valve chokes.", "Tap 1 itself sinks as soon as gas flows."),
    "cock": ("gas_cock.turned", 0.028, 0.016, "The cock between taps 2 and 3 chokes.", "Right at tap 2, low at tap 3."),
    "jet": ("orifice.blocked", 0.25, 0.65, "The pressure is right everywhere: look at the jet.", "At each tap the pressure stands under load, so nothing before the jet chokes."),
}  # fmt: skip
"""What chokes: which number of the heater, mild and bad, what one says of it, and why."""
STEPS = 10


@cache
def _readings(model: str, kind: str, step: int) -> tuple[float, float, float, float, float]:
    """Pa: cylinder and valve inlet at rest; cylinder, end of the line, valve inlet with the burner on."""
    key, low, high, *_ = WHERE[kind]
    unit = make_unit(load_model(model))
    energise(unit)
    unit.set(key, low + (high - low) * step / (STEPS - 1))
    rest, on = gas.line(unit, 0.0), gas.line(unit, 1.0)
    return tuple(float(x[0]) for x in (rest.pigtail, rest.inlet, on.pigtail, on.before_cock, on.inlet))  # type: ignore[return-value]


def where_it_chokes(draw: Stream) -> Question:
    """Readings at three taps, at rest and running, and what chokes."""
    model, kind, step = draw.choice(MODELS), draw.choice(tuple(WHERE)), draw.integer(0, STEPS - 1)
    still, rest, pigtail, end, inlet = _readings(model, kind, step)

    def low(pascal: float) -> str:
        return amount(pascal, "Pa", "gas pressure")

    def high(pascal: float) -> str:  # a cylinder's gauge shows no hundredths
        return amount(pascal if pascal > NEEDLE else 0.0, "Pa", "pressure")

    text = (
        f"The flame is weak. Tap 1 (cylinder): {high(still)} at rest, {high(pigtail)} running. "
        f"Tap 2 (end of the line): {low(end)} running. Tap 3 (valve inlet): {low(rest)} at rest, {low(inlet)} running. "
        f"When all is well, tap 3 has about {low(_healthy(model)[0])} at rest and {low(_healthy(model)[1])} running. Where is it?"
    )
    near = {"set": ("choke", "jet", "cock"), "choke": ("cock", "set", "check"), "check": ("choke", "set", "jet"),
            "cock": ("choke", "jet", "set"), "jet": ("set", "cock", "choke")}[kind]  # fmt: skip
    why = WHERE[kind][4]
    wrong = tuple(Choice(WHERE[other][3], why) for other in near)
    return Question("where-it-chokes", text, Choice(WHERE[kind][3], why), wrong, why)


@cache
def _healthy(model: str) -> tuple[float, float]:
    unit = make_unit(load_model(model))
    energise(unit)
    return float(gas.line(unit, 0.0).inlet[0]), float(gas.line(unit, 1.0).inlet[0])


def what_is_left(draw: Stream) -> Question:
    """Hours of burner from the scale."""
    tare, pounds = draw.integer(150, 190) / 10, draw.integer(8, 36) / 2
    burner = draw.integer(16, 60) * 500.0
    one = fuel("propane")
    in_a_pound = float(quantity(one.higher_si / one.molar_mass_si, "J/kg").to("Btu/pound").magnitude)
    right = pounds * in_a_pound / burner
    text = (
        f"A cylinder weighs {amount(tare + pounds, 'lb', 'mass')}. Its collar says {amount(tare, 'lb', 'mass')} empty. "
        f"{amount(1, 'lb', 'mass')} of propane holds {amount(in_a_pound, 'Btu', 'heat')}. How many hours can a burner of "
        f"{amount(burner, 'BTU_per_hour', 'heat rate')} run?"
    )
    wrong = [
        ((tare + pounds) * in_a_pound / burner, "Take the empty steel off first."),
        (tare * in_a_pound / burner, "That is the steel. The gas is what is on top of it."),
        (right / 2, "Twice that: check the division."),
    ]
    taken, choices = [right], []
    for value, why in wrong:
        if all(abs(math.log(value / other)) > APART for other in taken):
            taken.append(value)
            choices.append(Choice(f"{value:.1f} h", why))
    way = "Weight less the empty weight, times the heat, divided by what the burner takes."
    more = "The gauge couldn't tell: its pressure stays until the liquid is gone."
    return Question("what-is-left", text, Choice(f"{right:.1f} h", way), tuple(choices), f"{way} {more}")


QUESTIONS: tuple[Callable[[Stream], Question], ...] = (
    where_it_chokes,
    less_pressure,
    wider_hole,
    both_legs,
    enough_to_burn,
    high_place,
    leak_by_test,
    sun_or_leak,
    what_is_left,
    what_it_burns,
)
