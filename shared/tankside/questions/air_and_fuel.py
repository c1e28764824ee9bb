"""Self-check questions for lesson 8: each draws its own numbers and computes its own answer.

A question is drawn from a stream and nothing else, so the same seed gives the same question.
A wrong choice is what a typical mistake gives, and says which mistake.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache

from tankside.measures import amount
from tankside.physics.carbon_monoxide import limits, room_monoxide_si, within_limit
from tankside.physics.co_exposure import alarm_points
from tankside.physics.combustion import air_free, air_need, co2_from_oxygen, ultimate_co2
from tankside.physics.flame import yellow_limit_si
from tankside.physics.fuels import fuel, heating_value
from tankside.questions.burning import Burning, burning
from tankside.questions.numbers import number_question
from tankside.questions.question import Choice, Question
from tankside.streams import Stream
from tankside.units import quantity

MODELS = ("pintail_10", "smew_10")
OXYGEN_IN_AIR = 20.9
"""%, as the trade reckons."""
HEATER, HEATING = "residential water heater", "vented heating equipment"


def boxes_of_air(draw: Stream) -> Question:
    """Volumes of air for some volumes of gas."""
    gas, volumes = draw.choice(("propane", "butane")), draw.integer(2, 12)
    need = air_need(fuel(gas))
    carbon, hydrogen, *_ = fuel(gas).atoms
    oxygen = carbon + hydrogen / 4
    wrong = [
        (oxygen * volumes, "That is the oxygen alone. Only about a fifth of air is oxygen."),
        (need.mass * volumes, "That is by weight. These are volumes."),
        (need.volume, "That is the air for one volume of gas."),
        (volumes * need.volume / OXYGEN_IN_AIR * 100, "The fifth was taken twice."),
    ]
    text = (
        f"One volume of {gas} needs {need.volume:.1f} volumes of air. "
        f"How many volumes of air do {volumes} volumes of {gas} need?"
    )
    way = "Volumes of gas times the air that one of them needs."
    return number_question("boxes-of-air", text, volumes * need.volume, "volumes", way, wrong)


def air_in_an_hour(draw: Stream) -> Question:
    """Air that a heater draws in an hour, from its input and the air on top."""
    heat = float(draw.choice(tuple(range(6000, 16001, 500))))
    excess = float(draw.choice((25, 40, 50, 60, 70, 80)))
    one = fuel("propane")
    flow = heat / _heat_in_a_foot()
    need = air_need(one).volume
    right = flow * need * (1 + excess / 100)
    told = [
        (flow * need, "That is the bare need, without what comes on top."),
        (flow * need * excess / 100, "That is only what comes on top."),
        (flow * (need + excess / 100), "The percent go on the air, not on the number of volumes."),
    ]
    text = (
        f"A heater burns {amount(flow, 'cfh', 'gas flow')} of propane. One volume needs {need:.1f} volumes of air, and it "
        f"gets {excess:.0f} % on top of that. How much air goes through it?"
    )
    way = "Gas times the air for one volume, then the percent on top."
    wrong = tuple(Choice(amount(value, "cfh", "gas flow"), why) for value, why in told)
    return Question(
        "air-in-an-hour", text, Choice(amount(right, "cfh", "gas flow"), way), wrong, f"{way} {_not_sealed(right)}"
    )  # fmt: skip


@cache
def _heat_in_a_foot() -> float:
    """BTU in a cubic foot of propane."""
    return float(heating_value(fuel("propane")).magnitude)


def _not_sealed(flow: float) -> str:
    return (
        f"All {amount(flow, 'cfh', 'gas flow')} must find a way in. That is why a grille is never stopped up."
    )


def carbon_dioxide(draw: Stream) -> Question:
    """CO2 from the oxygen reading."""
    gas, oxygen = draw.choice(("propane", "butane")), round(draw.uniform(4.0, 12.0), 1)
    most = ultimate_co2(fuel(gas)).magnitude
    right = co2_from_oxygen(fuel(gas), quantity(oxygen, "percent")).magnitude
    wrong = [
        (OXYGEN_IN_AIR - oxygen, "Not all of the used oxygen turns to CO2. Some makes water."),
        (most, "That is the most that there can be, with no air to spare."),
        (most * oxygen / 20.95, "Turned round: much oxygen left means little CO2."),
        (
            most - oxygen,
            "You can't take one percent from the other. The CO2 falls in step with the oxygen used.",
        ),
    ]
    text = (
        f"All of the gas burns. With no air to spare, {gas} would leave {most:.1f} % of CO2. The analyzer shows {oxygen} % of O2; "
        "air has 20.95 %. How much CO2 is there?"
    )
    way = "The most CO2, times the share of the oxygen that was used up."
    return number_question("carbon-dioxide", text, right, "%", way, wrong)


def free_of_air(draw: Stream) -> Question:
    """CO air-free from CO and O2 as shown."""
    oxygen, shown = round(draw.uniform(3.0, 14.0), 1), float(draw.integer(30, 900))
    right = air_free(quantity(shown, "ppm"), quantity(oxygen, "percent")).magnitude
    rest = OXYGEN_IN_AIR - oxygen
    wrong = [
        (shown, "That is the reading. Spare air has thinned it."),
        (shown * rest / OXYGEN_IN_AIR, "Turned round: without the spare air the number must rise."),
        (shown * OXYGEN_IN_AIR / oxygen, "Divide by the oxygen that is gone, not by what is left."),
        (shown * (1 + oxygen / 100), "The oxygen is a fifth of the air, so its percent count far more."),
    ]
    text = f"The analyzer shows {shown:.0f} ppm of CO and {oxygen} % of O2. What is the CO air-free, with 20.9 % of oxygen in air?"
    way = "CO times 20.9, divided by what the flame used: 20.9 less the O2."
    return number_question("free-of-air", text, right, "ppm", way, wrong)


def over_which_limit(draw: Stream) -> Question:
    """A reading judged by the two flue limits that are about."""
    strict, loose = limits()[HEATER].ppm, limits()[HEATING].ppm
    kind = draw.choice(("under", "between", "over"))
    free = {
        "under": draw.uniform(0.3 * strict, 0.92 * strict),
        "between": draw.uniform(1.08 * strict, 0.92 * loose),
        "over": draw.uniform(1.08 * loose, 3 * loose),
    }[kind]
    oxygen = round(draw.uniform(5.0, 13.0), 1)
    shown = round(free * (OXYGEN_IN_AIR - oxygen) / OXYGEN_IN_AIR)
    computed = air_free(quantity(shown, "ppm"), quantity(oxygen, "percent"))
    under = [within_limit(computed, name) for name in (HEATER, HEATING)]
    choices = {
        (True, True): "within both limits",
        (False, True): f"over {strict:g} ppm, within {loose:g} ppm",
        (False, False): "over both limits",
    }
    answer = choices[under[0], under[1]]
    why = f"Air-free it is {computed.magnitude:.0f} ppm. Hold that number against the limits."
    slip = choices[shown <= strict, shown <= loose]
    wrong = [
        Choice(
            words,
            f"The bare reading of {shown} ppm says so. But it is thinned by spare air."
            if words == slip
            else why,
        )
        for words in choices.values()
        if words != answer
    ]
    text = (
        f"Two flue limits for CO are about: {strict:g} ppm and {loose:g} ppm, both air-free. "
        f"You read {shown} ppm of CO and {oxygen} % of O2. Where does that stand?"
    )
    return Question("over-which-limit", text, Choice(answer, why), tuple(wrong), why)


CAUSES: dict[str, tuple[str, float, float, str]] = {
    "good": ("burner.opening", 0.5, 0.7, "Nothing: this is a clean flame."),
    "primary": (
        "burner.web",
        0.70,
        0.82,
        "Too little air through the burner tube: look for a web or a closed shutter.",
    ),
    "way": ("flue.blocked", 0.42, 0.57, "Too little air in all: look at the flue and at the air grille."),
    "heat": ("flue.baffle", 1.0, 1.0, "The heat isn't taken off: look whether the baffle is there."),
}
"""What is wrong: which number of the heater, from where to where, and what one should say of it."""
STEPS = 12
"""Severities between the two ends."""


@cache
def _state(model: str, kind: str, step: int) -> Burning:
    key, low, high, _ = CAUSES[kind]
    return burning(model, {key: low + (high - low) * step / (STEPS - 1)})


def what_is_wrong(draw: Stream) -> Question:
    """Flame, O2, CO air-free and stack of one heater, and what they point to."""
    model, kind, step = draw.choice(MODELS), draw.choice(tuple(CAUSES)), draw.integer(0, STEPS - 1)
    now, good = _state(model, kind, step), _state(model, "good", 5)

    def shown(found: Burning) -> str:
        stack = amount(found.flue[0], "degC", "temperature")
        return f"O2 {found.oxygen[0]:.1f} %, CO air-free {found.air_free[0]:.0f} ppm, stack {stack}"

    text = (
        f"Left by the last visit, all well: {shown(good)}. Today: flame {now.kind[0]}, {shown(now)}. "
        "What do the readings point to?"
    )
    why = {
        "good": "All within a little of the last visit: let it be.",
        "primary": "CO up, O2 as it was: enough air comes in, but it doesn't get into the gas before it burns.",
        "way": "O2 down and CO up: too little air gets through the heater. The flame may still be blue.",
        "heat": "CO as it was, and the stack far hotter: the flame is sound, but its heat runs away.",
    }
    wrong = tuple(Choice(words, why[kind]) for name, (*_, words) in CAUSES.items() if name != kind)
    return Question("what-is-wrong", text, Choice(CAUSES[kind][3], why[kind]), wrong, why[kind])


FLAMES: dict[str, tuple[str, str]] = {
    "steady blue": ("Steady blue", "Sharp blue cones that stay put on the ports."),
    "lazy orange": ("Lazy orange", "Too little primary air: long, soft and orange, with soot to follow."),
    "lifting": ("It lifts", "The mixture leaves faster than the flame can hold: it stands off its ports."),
    "drop-out": ("It drops out", "Far less air than the gas needs: the flame suffocates."),
}
_STATES: dict[str, tuple[str, float, float]] = {
    "steady blue": ("burner.opening", 0.45, 0.7),
    "lazy orange": ("burner.web", 0.66, 0.9),
    "lifting": ("burner.rust", 0.58, 0.72),
    "drop-out": ("flue.blocked", 0.88, 0.95),
}


@cache
def _flame(model: str, kind: str, step: int) -> Burning:
    key, low, high = _STATES[kind]
    return burning(model, {key: low + (high - low) * step / (STEPS - 1)})


def which_flame(draw: Stream) -> Question:
    """Shares of air and the pull at the ports, and what the eye will see."""
    model, kind, step = draw.choice(MODELS), draw.choice(tuple(FLAMES)), draw.integer(0, STEPS - 1)
    now = _flame(model, kind, step)
    seen, low = now.kind[0], 100 * yellow_limit_si(fuel("propane"))
    text = (
        f"Of 100 parts of air that the gas needs, {100 * now.aeration[0]:.0f} come in as primary air and "
        f"{100 * (1 + now.excess[0]):.0f} in all. The ports {'let it out faster than the flame can hold' if now.pull[0] > 1 else 'hold the flame'}. "
        f"Tips turn yellow below {low:.0f} parts of primary air. What do you see?"
    )
    why = FLAMES[seen][1]
    wrong = tuple(Choice(name, why) for key, (name, _) in FLAMES.items() if key != seen)
    return Question("which-flame", text, Choice(FLAMES[seen][0], why), wrong, why)


def is_the_alarm_dead(draw: Stream) -> Question:
    """A steady level and a silent alarm: may it still be silent?"""
    point = draw.choice(alarm_points())
    kind = draw.choice(("early", "may", "late"))
    minutes = {
        "early": draw.integer(1, max(1, int(point.earliest) - 2)),
        "may": draw.integer(int(point.earliest) + 1, int(point.latest) - 1),
        "late": draw.integer(int(point.latest) + 1, int(2 * point.latest)),
    }[kind]
    span = (
        f"At {point.ppm:g} ppm a house alarm must sound after {point.earliest:g} to {point.latest:g} minutes."
    )
    words = {
        "early": "Nothing yet: it isn't due. Even the quickest alarm may still be silent.",
        "may": "Little: a quick alarm would have sounded, a slow one has some minutes left.",
        "late": "It is overdue: don't trust it again.",
    }
    trap = Choice(
        "The air is fit to breathe.", f"{span} Whoever breathes it has the CO in the blood by then."
    )
    wrong = (*(Choice(text, span) for key, text in words.items() if key != kind), trap)
    text = (
        f"A meter left in an empty cabin has logged a steady {point.ppm:g} ppm of CO for {minutes} minutes. "
        "The alarm beside it is silent. What does that tell you?"
    )
    return Question(
        "is-the-alarm-dead",
        text,
        Choice(words[kind], span),
        wrong,
        f"{span} In any case: air it from outside first.",
    )


def a_shut_cabin(draw: Stream) -> Question:
    """ppm in a sealed cabin after some minutes of spilling."""
    liters, volume = draw.choice((0.5, 1.0, 1.5, 2.0, 3.0, 4.0)), float(draw.integer(8, 30))
    minutes = draw.choice((15, 20, 30, 45, 60, 90))
    right = 1e6 * float(room_monoxide_si(liters / 3.6e6, volume, 0.0, 60.0 * minutes))
    wrong = [
        (liters / volume * 1000, "That is a whole hour."),
        (right / 10, "Mind the point: a thousandth of the room is a thousand ppm."),
        (right * 10, "Ten times too much: mind the point."),
        (
            right * (60 / minutes) ** 2,
            "The minutes are the wrong way round: a short time gives less, not more.",
        ),
    ]
    text = (
        f"A flue spills {amount(liters, 'L/hour', 'gas flow')} of pure CO into a shut cabin of "
        f"{amount(volume, 'm^3', 'gas volume')}. What stands in its air after {minutes} minutes?"
    )
    way = "What was spilled in that time, divided by the room, times a million."
    name = "NIOSH REL"
    word = "within" if within_limit(quantity(right, "ppm"), name) else "over"
    more = f"That is {word} the {limits()[name].ppm:g} ppm that {name} allows as the average of a shift."
    return number_question("a-shut-cabin", text, right, "ppm", way, wrong, more)


def next_move(draw: Stream) -> Question:
    """A reading over the limits: what is done first?"""
    model, step = draw.choice(MODELS), draw.integer(4, STEPS - 1)  # from there on it is over both limits
    kind = draw.choice(("primary", "way"))
    now = _state(model, kind, step)
    right = Choice(
        "Shut it off, tag it, tell the owner. Repair it, measure again, and only then leave it on.",
        "Over the limit it isn't left on, whatever the flame looks like.",
    )
    wrong = (
        Choice(
            "Open a window and let it heat the tank first.",
            "Fresh air thins the CO. It doesn't stop the heater from making it.",
        ),
        Choice(
            "Set the shutter by eye, and go.",
            "Eyes are no proof, and the cause is still there. Only the analyzer clears it.",
        ),
        Choice("Note it for the next yearly service.", "People breathe it tonight."),
    )
    text = (
        f"At the sight hole the flame is {now.kind[0]}. The analyzer gives O2 {now.oxygen[0]:.1f} % and CO air-free "
        f"{now.air_free[0]:.0f} ppm. What now?"
    )
    why = f"{now.air_free[0]:.0f} ppm air-free is over both limits in use. Off, tag, tell, repair, measure again."
    return Question("next-move", text, right, wrong, why)


QUESTIONS: tuple[Callable[[Stream], Question], ...] = (
    boxes_of_air,
    free_of_air,
    what_is_wrong,
    over_which_limit,
    next_move,
    which_flame,
    carbon_dioxide,
    air_in_an_hour,
    is_the_alarm_dead,
    a_shut_cabin,
)
