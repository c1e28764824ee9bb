"""Self-check questions for lesson 9: each draws its own numbers and computes its own answer.

A question is drawn from a stream and nothing else, so the same seed gives the same question.
A wrong choice is what a typical mistake gives, and says which mistake.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache

import numpy as np

from tankside.measures import amount, chosen
from tankside.physics.hot_water import SCALD, scald_time_si
from tankside.physics.tank_heat import heat_capacity_si, time_to_temperature_si
from tankside.physics.water import T0, density_si
from tankside.questions.numbers import number_question
from tankside.questions.question import Choice, Question, of_another_case
from tankside.questions.water_ways import (
    Places,
    Warming,
    degrees,
    freezing,
    heater,
    heats,
    minutes_to_heat,
    pressure_when_warm,
    three_places,
    warming,
)
from tankside.streams import Stream
from tankside.units import quantity

GALLON = 3.785411784e-3
"""m³."""
BTU_AN_HOUR = 0.2930711
"""W."""
COUNTED = 0.70
"""Share of a tank that the trade counts on (secondary pages; tests/published/water.toml)."""
TURNS = 12
"""Sites that the questions on readings are drawn from."""


@cache
def _celsius(fahrenheit: float) -> float:
    return float(quantity(fahrenheit, "degF").to("degC").magnitude)


def _asked(name: str, text: str, right: str, way: str, told: list[tuple[str, str]], more: str = "") -> Question:
    """A question whose choices are amounts in the learner's measures or sentences."""
    taken, wrong = {right}, []
    for words, why in told:
        if words not in taken:
            taken.add(words)
            wrong.append(Choice(words, why))
    return Question(name, text, Choice(right, way), tuple(wrong[:3]), f"{way} {more}".strip())


def hot_share(draw: Stream) -> Question:
    """The hot part of mixed water."""
    cold, mixed, hot = (float(draw.integer(*ends)) for ends in ((45, 65), (95, 110), (125, 150)))
    part = 100 * (mixed - cold) / (hot - cold)
    wrong = [
        (100 - part, "That is the cold part."),
        (100 * mixed / hot, "A thermometer's zero isn't the cold water. Count from the cold water up."),
        (100 * (mixed - cold) / hot, "The step to the hot water counts from the cold as well, not from zero."),
        (50.0, "Half and half gives the temperature in the middle. This one isn't."),
    ]
    text = (
        f"The tank has {degrees(_celsius(hot))}, the cold line {degrees(_celsius(cold))}. A shower is mixed to "
        f"{degrees(_celsius(mixed))}. How much of it is hot water?"
    )
    way = "The step from cold to mixed, divided by the step from cold to hot."
    return number_question("hot-share", text, part, "%", way, wrong)


def shower_minutes(draw: Stream) -> Question:
    """How long a tank's hot water lasts a shower."""
    gallons, flow = float(draw.choice((6, 8, 10, 12, 16, 20))), float(draw.choice((1.0, 1.2, 1.5, 1.8, 2.0)))
    part = float(draw.choice((50, 55, 60, 65, 70, 75)))
    right = COUNTED * gallons / (flow * part / 100)
    wrong = [
        (COUNTED * gallons / flow, "Only the hot part of the shower comes from the tank. The rest is cold."),
        (gallons / (flow * part / 100), "Not all of the tank comes out hot. Count on 70 %."),
        (COUNTED * gallons * part / 100 / flow, "Divide by the hot part. Less hot in the mix means a longer shower."),
        (gallons / flow, "That takes the whole tank, and a shower of nothing but hot."),
    ]  # fmt: skip
    text = (
        f"A tank of {amount(gallons, 'gallon', 'volume')} is hot, the heat is off. Count on {100 * COUNTED:.0f} % of it. "
        f"A shower takes {amount(flow, 'gpm', 'water flow')}, and {part:.0f} % of that is hot. How long does it last?"
    )
    way = "Hot water that counts, divided by the hot water that each minute takes."
    return number_question("shower-minutes", text, right, "min", way, wrong)


def time_to_heat(draw: Stream) -> Question:
    """Minutes to heat a tank, without its losses."""
    gallons = float(draw.choice((4, 6, 8, 10, 12, 16)))
    cold, hot = float(draw.integer(45, 65)), float(draw.choice((120, 125, 130, 135, 140)))
    heat = float(draw.choice((4400, 4900, 6500, 7500, 8500, 9500, 12000)))
    capacity = heat_capacity_si(gallons * GALLON)
    right = float(
        time_to_temperature_si(_celsius(hot), _celsius(cold), capacity, heat * BTU_AN_HOUR, 0.0, 20.0)
    ) / 60.0  # fmt: skip
    wrong = [
        (right / 8.33, "The weight is missing: a gallon of water weighs 8.33 lb, and each pound takes its own heat."),
        (right * hot / (hot - cold), "It doesn't start at zero. Only the step from cold to hot counts."),
        (right / 60, "That is hours."),
        (right * (hot - cold) / 100 if abs(hot - cold - 100) > 8 else 2 * right, "The degrees were counted wrongly."),
    ]  # fmt: skip
    text = (
        f"{amount(gallons, 'gallon', 'volume')} of water, from {degrees(_celsius(cold))} to {degrees(_celsius(hot))}. "
        f"{amount(heat, 'BTU_per_hour', 'heat rate')} get into it. Leave the jacket's loss out. How many minutes does it take?"
    )
    way = (
        "Heat is 8.33 times gallons times °F in BTU, or 4.19 times liters times °C in kJ. "
        "Divide by the heat that comes in."
    )
    return number_question(
        "time-to-heat", text, right, "min", way, wrong, "In a jacket that loses heat it takes a little longer."
    )


def water_grows(draw: Stream) -> Question:
    """By how much a tank's water grows."""
    gallons = float(draw.choice((4, 6, 8, 10, 12, 16, 20)))
    cold, hot = draw.choice(((60.0, 100.0), (60.0, 120.0), (60.0, 140.0), (100.0, 140.0), (60.0, 180.0)))
    grown = 128.0 * gallons * (float(density_si(_celsius(cold) + T0) / density_si(_celsius(hot) + T0)) - 1.0)
    told = [
        (10 * grown, "Ten times too much. Hot water grows by one or two in a hundred, not by a tenth."),
        (grown / 10, "Ten times too little."),
        (grown * 4.5, "That is the growth of ice, nearly. Water grows far less."),
    ]

    def small(value: float) -> str:
        return amount(value, "fl_oz", "small volume")

    text = (
        f"A full tank of {amount(gallons, 'gallon', 'volume')} is heated from {degrees(_celsius(cold))} to "
        f"{degrees(_celsius(hot))}. By about how much does the water grow?"
    )
    share = 100 * grown / (gallons * 128)
    way = f"It grows by {share:.2f} %."
    more = "So little, and yet it needs room: an air cushion, or the way back to the main."
    return _asked("water-grows", text, small(grown), way, [(small(v), why) for v, why in told], more)


@cache
def _climb(cold: float) -> float:
    """Pa for each °F in a shut tank without its cushion, from a cold temperature in °F over the next ten."""
    warm = np.array([_celsius(cold), _celsius(cold + 10)])
    sound = heater("plover_12", warm=False)
    shift = _celsius(cold) - float(sound["site.cold_water"][0])
    low, high = pressure_when_warm("plover_12", warm - shift, {"cushion.volume": 1e-9})
    return float(high - low) / 10.0


def until_it_lifts(draw: Stream) -> Question:
    """By how many degrees a tank without a cushion may warm before the relief valve lifts."""
    cold = float(draw.choice((50, 55, 60)))
    climb = round(float(quantity(_climb(55.0), "Pa").to("psi").magnitude) * draw.uniform(0.8, 1.4), 1)
    start, lifts = float(draw.integer(30, 65)), float(draw.choice((125, 150)))
    right = (lifts - start) / climb
    told = [
        (lifts / climb, "The tank doesn't start at nothing: the house's pressure is in it already."),
        (right + cold, "That is how warm it gets. The question is by how much it warms."),
        (start / climb, "That counts up to the house's pressure, which it has already."),
        (2 * right, "Twice too many."),
    ]
    told = [(value, why) for value, why in told if abs(value / right - 1) > 0.15]

    def rise(value: float) -> str:
        return amount(value, "delta_degF", "temperature rise")

    degree, adds = ("K", 1.8 * climb) if chosen() == "si" else ("°F", climb)
    text = (
        f"A shut tank has lost its air cushion. It stands at {degrees(_celsius(cold))} and {amount(start, 'psi', 'pressure')}. "
        f"Each {degree} adds {amount(adds, 'psi', 'pressure')}. The relief valve lifts at {amount(lifts, 'psi', 'pressure')}. "
        "By how much does the water warm before it lifts?"
    )
    way = "The pressure still to go, divided by the pressure of one degree."
    more = "So it lifts at every heating, and nothing is wrong with the valve."
    return _asked("until-it-lifts", text, rise(right), way, [(rise(v), why) for v, why in told], more)


MIXED = {
    "all is well": ({}, "Nothing. Water, bypass and taps are as they should be."),
    "bypass": ({"bypass.open": 0.0}, "The winter bypass is open, or half open."),
    "tap": ({"house.crossover": 0.0}, "A mixing tap lets cold across into the hot line."),
    "heater": ({"thermostat.opens_at": 0.0}, "The heater makes the water no hotter. Look at its heat and thermostat."),
}  # fmt: skip
_ENDS = {"bypass": (0.3, 1.0), "tap": (1.5e-4, 6e-4), "heater": (30.0, 38.0)}


@cache
def _mixed(kind: str) -> tuple[Places, int]:
    """The three places for a cause, a few severities at once."""
    changes = MIXED[kind][0]
    ends = _ENDS.get(kind, (0.0, 0.0))
    values = {key: np.linspace(*ends, TURNS) for key in changes}
    return three_places(heater("grebe_12", values, TURNS)), TURNS


def where_is_it_mixed(draw: Stream) -> Question:
    """Temperatures at three places, and what is wrong."""
    kind = draw.choice(tuple(MIXED))
    found, count = _mixed(kind)
    k, off = draw.integer(0, count - 1), draw.uniform(-3.0, 1.5)
    a, b, c = (degrees(float(t[k]) + off) for t in (found.outlet, found.behind, found.tap))
    text = (
        f"The hot tap runs. At the heater's outlet you read {a}, behind the bypass {b}, at the tap {c}. "
        f"The thermostat should open near {degrees(_celsius(135))}. What is wrong?"
    )
    told = {
        "all is well": "Hot at all three places: all is well.",
        "bypass": "Hot at the outlet, cooler behind the bypass: cold comes in there.",
        "tap": "Hot as far as behind the bypass, cooler at the tap: cold comes in at a tap.",
        "heater": "Cool at the outlet already: nothing was mixed in. The tank is cool.",
    }
    wrong = tuple(of_another_case(words, told[key]) for key, (_, words) in MIXED.items() if key != kind)
    return Question("where-is-it-mixed", text, Choice(MIXED[kind][1], told[kind]), wrong, told[kind])


DRIPPERS: dict[str, tuple[str, float, str]] = {
    "cushion": ("cushion.volume", 6e-5, "The air cushion is gone. Bring it back, and leave the valve."),
    "supply": ("inlet.pressure", 7.6e5, "The house's pressure is too high. Set its regulator, and leave the valve."),
    "spring": ("relief_valve.lifts_at", 4.2e5, "The valve's spring is tired. Replace the valve."),
}  # fmt: skip


@cache
def _dripping(kind: str) -> Warming:
    """The heating of a heater whose valve drips, over some house pressures."""
    key, value, _ = DRIPPERS[kind]
    usual = tuple(float(v) for v in np.linspace(270e3, 345e3, TURNS))
    changes: dict[str, tuple[float, ...]] = {"inlet.pressure": usual}
    changes[key] = tuple(value * p / 310e3 for p in usual) if kind == "supply" else (value,) * TURNS
    return warming("grebe_12", tuple(changes.items()), TURNS)


@cache
def _made() -> float:
    """Pa that the heater's valve is made for."""
    return float(heater("grebe_12")["relief_valve.lifts_at"][0])


def why_it_drips(draw: Stream) -> Question:
    """Readings at a relief valve that drips while the heater heats."""
    kind = draw.choice(tuple(DRIPPERS))
    found, k = _dripping(kind), draw.integer(0, TURNS - 1)

    def bar(pascal: float) -> str:
        return amount(float(pascal), "Pa", "pressure")

    text = (
        f"A relief valve made for {bar(_made())} drips at each heating. A gauge on the tank: {bar(found.supply[k])} with a tap "
        f"just run. With the taps shut it climbs to {bar(found.highest[k])} at most while it heats. What is wrong?"
    )
    told = {
        "cushion": "The house's pressure is good, and the tank climbs all the way to the valve's rating: no room to grow.",
        "supply": "The pressure is far too high before any heating.",
        "spring": "It opens far below its rating. A sound one would have stayed shut.",
    }
    wrong = [of_another_case(words, told[key]) for key, (_, _, words) in DRIPPERS.items() if key != kind]
    wrong.append(Choice("Nothing. Put a cap on its pipe.", "Never. Then nothing is left to let the pressure go, and the tank can tear."))  # fmt: skip
    why = f"{told[kind]} Whatever the cause, its pipe stays open."
    return Question("why-it-drips", text, Choice(DRIPPERS[kind][2], told[kind]), tuple(wrong), why)


@cache
def _slow(kind: str, k: int) -> tuple[float, float, float, float]:
    """Minutes on gas and mains when new, and now."""
    clean = heats("plover_12")
    part = 0.55 + 0.02 * k
    watts = {
        "mud": (heats("plover_12", 0.012 + 0.004 * k)["gas"], clean["mains"]),
        "element": (clean["gas"], part * clean["mains"]),
        "gas": (part * clean["gas"], clean["mains"]),
    }[kind]
    new = (minutes_to_heat("plover_12", clean["gas"]), minutes_to_heat("plover_12", clean["mains"]))
    return *new, minutes_to_heat("plover_12", watts[0]), minutes_to_heat("plover_12", watts[1])


def why_it_is_slow(draw: Stream) -> Question:
    """Times to get hot on gas and on mains, and the noise."""
    names = {
        "mud": "There is mud on the bottom. Drain and flush it.",
        "element": "The element is weak. Test it by its plate.",
        "gas": "The burner gets too little gas or air. Test that side.",
    }
    kind, k = draw.choice(tuple(names)), draw.integer(0, TURNS - 1)
    gas, mains, gas_now, mains_now = _slow(kind, k)
    noise = "rumbles like a kettle on gas" if kind == "mud" else "is quiet"
    told = {
        "mud": "A little slower on gas, as quick as ever on mains, and it rumbles: mud under the water, over the flame.",
        "element": "As quick as ever on gas, slow on mains: the mains side.",
        "gas": "Slow on gas, without a rumble, and as quick as ever on mains: the flame is too small.",
    }
    text = (
        f"From cold to off this heater took {gas:.0f} min on gas and {mains:.0f} min on mains when it was new. "
        f"Now it takes {gas_now:.0f} min on gas and {mains_now:.0f} min on mains, and it {noise}. What do you think of first?"
    )
    wrong = [of_another_case(words, told[key]) for key, words in names.items() if key != kind]
    wrong.append(Choice("The jacket is wet.", "A wet jacket slows both, and makes it come on more often."))
    return Question("why-it-is-slow", text, Choice(names[kind], told[kind]), tuple(wrong), told[kind])


def left_in_the_frost(draw: Stream) -> Question:
    """A heater left full in a frost: what may have broken."""
    low = float(draw.choice((-4, -6, -8, -10, -12, -15, -18)))
    model = draw.choice(("plover_12", "ouzel_23"))
    found = freezing(model, low)
    kinds = {
        "none": "Nothing yet. Drain it now.",
        "valve": "The check valve may be split. The tank is likely whole.",
        "both": "Check valve and tank may both be split.",
    }
    kind = draw.choice(tuple(kinds))
    ends = {
        "none": (0.1 * found.flap, 0.8 * found.flap),
        "valve": (1.2 * found.split, 0.7 * found.tank),
        "both": (1.2 * found.tank, 2.0 * found.tank),
    }[kind]
    hours = draw.uniform(*ends)
    spell = f"{60 * hours:.0f} minutes" if kind == "none" else f"{hours:.0f} hours"
    text = (
        f"A heater was left full, its heat off, in hard air of {degrees(low)}. Reckoned for it: the check valve begins to freeze after "
        f"{60 * found.flap:.0f} minutes and splits after {found.split:.0f} hours, the tank cracks after {found.tank:.0f} hours. "
        f"It stood so for {spell}. What do you expect?"
    )
    told = {
        "none": "It hasn't begun to freeze. There is time to drain it.",
        "valve": "Small fittings freeze through in hours, a lagged tank takes days.",
        "both": "It stood longer than even the tank can bear.",
    }
    wrong = [of_another_case(words, told[key]) for key, words in kinds.items() if key != kind]
    wrong.append(Choice("Only the tank. The fittings are too small to freeze.", "The small ones freeze first: little water, much bare metal."))  # fmt: skip
    return Question("left-in-the-frost", text, Choice(kinds[kind], told[kind]), tuple(wrong), told[kind])


def two_tables(draw: Stream) -> Question:
    """Two published burn tables that disagree, and which one goes by."""
    names = ("cpsc", "second degree", "third degree", "other")
    first = draw.choice(names)
    second = draw.choice(tuple(name for name in names if name != first))
    low = max(SCALD[name][0][0] for name in (first, second))
    high = min(SCALD[name][0][-1] for name in (first, second))
    warm = round(draw.uniform(low + 0.5, high - 0.5) - T0, 1)
    a, b = (float(scald_time_si(warm + T0, name)) for name in (first, second))
    text = (
        f"A tap gives {degrees(warm)}. One page says that it burns an adult in about {_short(a)}, another in about {_short(b)}. "
        "What do you tell a family with small children?"
    )
    right = "It can burn a child sooner than either page says. Have it mixed down at the tap."
    why = "The tables are for adults, and they disagree. Children and old people burn sooner."
    wrong = (
        Choice(f"It is safe for {_short(max(a, b))}.", "No table gives a safe time. The slower one least of all."),
        Choice("The pages disagree, so forget both.", "They disagree in seconds. All of them say that it burns."),
        Choice(
            "Turn the heater down to a warm bath's temperature and leave it so.",
            "Lukewarm storage is where germs grow. Store it hot, and mix it down at the tap.",
        ),
    )
    return Question("two-tables", text, Choice(right, why), wrong, why)


def _short(seconds: float) -> str:
    return f"{seconds:.0f} seconds" if seconds < 90 else f"{seconds / 60:.0f} minutes"


QUESTIONS: tuple[Callable[[Stream], Question], ...] = (
    hot_share,
    where_is_it_mixed,
    time_to_heat,
    why_it_drips,
    water_grows,
    shower_minutes,
    until_it_lifts,
    why_it_is_slow,
    left_in_the_frost,
    two_tables,
)
