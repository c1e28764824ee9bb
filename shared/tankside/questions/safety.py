"""Self-check questions for lesson 1: each draws a heater, works it on a bench, and asks what the readings tell.

A question is drawn from a stream and nothing else, so the same seed gives the same question.
A wrong choice is what a typical mistake would say, and tells which mistake.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from datetime import date
from functools import cache
from typing import Any

from tankside.bench import Bench
from tankside.bench.terminals import BODY, Terminals
from tankside.heater.model import load_model
from tankside.physics.resistance_heating import current_through
from tankside.questions.numbers import number_question
from tankside.questions.question import Choice, Question
from tankside.streams import Stream
from tankside.units import quantity
from tankside.workorder import WorkOrder

MODEL = "heron_6"
VARIANTS = 6
"""Sites that are drawn from, each with its own volts and its own meter."""
OUTLET = (("supply.hot", "supply.neutral"), ("supply.hot", "supply.ground"), ("supply.neutral", "supply.ground"))  # fmt: skip
LIVE_PAIRS = {
    "At the outlet, hot to neutral,": OUTLET[0],
    "At the outlet, hot to ground,": OUTLET[1],
    "At the junction box, hot to neutral,": ("junction_box.hot_in", "junction_box.neutral_in"),
    "Across the element of a heater that heats": ("element.1", "element.2"),
}
NEUTRALS = {
    "at the outlet": OUTLET[2],
    "at the junction box": ("junction_box.neutral_in", "junction_box.ground"),
    "at the element": ("element.2", "tank.shell"),
}
FEEDS = {
    "no-fault": "wired right",
    "polarity-swapped": "with hot and neutral swapped at the outlet",
    "neutral-open": "with its neutral broken ahead of the heater",
}
OPENERS = {
    "heater_switch": ("off", "the switch on the heater"),
    "panel_switch": ("off", "the panel switch"),
    "breaker": ("off", "the breaker"),
    "supply": ("out", "the plug"),
}


def which_outlet(draw: Stream) -> Question:
    """Three pairs at an outlet, and what is wrong."""
    words = {
        "no-fault": "The outlet is good.",
        "supply-low": "The supply is low.",
        "polarity-swapped": "Hot and neutral are swapped.",
        "neutral-open": "The neutral is broken on the site's side.",
    }
    tells = {
        "no-fault": "A good outlet shows full volts twice, and next to nothing from neutral to ground.",
        "supply-low": "A low supply shows the right pattern, with too few volts.",
        "polarity-swapped": "Swapped wires put the full volts on neutral to ground.",
        "neutral-open": "With a broken neutral both wires stand at full volts to ground, and nothing shows between them.",
    }
    kind = draw.choice(tuple(words))
    a, b, c = _outlet(kind, draw.integer(1, VARIANTS))
    text = f"Heater switched on, meter proven on V~. Hot to neutral {a}, hot to ground {b}, neutral to ground {c}. What is it?"
    wrong = tuple(Choice(words[k], tells[k]) for k in words if k != kind)
    return Question("which-outlet", text, Choice(words[kind], tells[kind]), wrong, tells[kind])


def what_makes_dead(draw: Stream) -> Question:
    """Which single opening leaves both ends of the element safe to touch."""
    feed = draw.choice(("polarity-swapped", "neutral-open"))
    number = draw.integer(1, VARIANTS)
    dead = {part: _element_dead(feed, number, part) for part in OPENERS}
    good = [part for part, is_dead in dead.items() if is_dead]
    bad = [part for part, is_dead in dead.items() if not is_dead]
    if feed == "polarity-swapped":
        text = f"A heater {FEEDS[feed]}. You open one thing. Which one takes the volts off the element?"
        wrong = tuple(
            Choice(f"{OPENERS[p][1]}", "It opens the wire that is the neutral here. The element stays live.")
            for p in bad
        )
        why = "The plug opens both wires. Switches and breaker open one, and here it is the wrong one."
        return Question("what-makes-dead", text, Choice(OPENERS[good[0]][1], why), wrong, why)
    text = f"A heater {FEEDS[feed]}, everything else on. It stays cold. Are the ends of the element safe to touch?"
    volts = _across(feed, number)
    why = f"Across it the meter shows {volts[0]}, but {volts[1]} to the tank: hot comes through the element and finds no way back."
    return Question(
        "what-makes-dead",
        text,
        Choice("No. Both ends are live to ground.", why),
        (
            Choice("Yes. It doesn't heat, so there are no volts.", "No heat means no current. The volts are still there."),
            Choice("Yes. Across the element the meter shows nothing.", "Both ends stand at the same height. Measure to ground."),
            Choice("The hot end no, the neutral end yes.", "The neutral has no way to earth. It is as live as the hot."),
        ),
        why,
    )  # fmt: skip


def wrong_setting(draw: Stream) -> Question:
    """A zero on direct volts across a live pair."""
    place = draw.choice(tuple(LIVE_PAIRS))
    alternating, direct = _two_settings(draw.integer(1, VARIANTS), place)
    text = f"Your meter stands on direct volts. {place} it shows {direct}. What do you know?"
    why = f"Mains are alternating. On V~ the same two points show {alternating}. Prove the meter on the setting that you use."
    return Question(
        "wrong-setting",
        text,
        Choice("Nothing. The setting is wrong for mains.", why),
        (
            Choice("There is nothing live.", f"On V~ it shows {alternating}."),
            Choice(
                "The breaker has tripped.", "The meter didn't look for alternating volts, so it can't say."
            ),
            Choice("The neutral is broken.", "A wrong setting says nothing about any wire."),
        ),
        why,
    )


def broken_proof(draw: Stream) -> Question:
    """A live-dead-live of which one step fails."""
    known = _known(draw.integer(1, VARIANTS))
    kind = draw.choice(("good", "first", "last", "pair"))
    zero, stray = "0.0 V", f"{draw.uniform(8, 60):.0f} V"
    first, last = ("0.0 V" if kind == "first" else known), ("0.0 V" if kind in ("first", "last") else known)
    pair = stray if kind == "pair" else zero
    words = {
        "good": "It is dead. Hands may go in, with your lock on.",
        "first": "Nothing. The meter couldn't read volts to begin with.",
        "last": "Nothing. The meter failed on the way, so the zeros may be lies.",
        "pair": "It isn't proven dead. Find what still feeds it.",
    }
    why = {
        "good": "Known source, three zeros, known source: that is the proof.",
        "first": "A meter that can't read the known source can't be believed about anything.",
        "last": "Step three is there for this: a lead or a fuse gave up after step one.",
        "pair": f"{stray} from neutral to ground isn't zero. It may be a ghost. Treat it as live and isolate further.",
    }
    text = (
        f"Isolated and locked. Proving unit: {first}. Hot to neutral {zero}, hot to ground {zero}, neutral to ground {pair}. "
        f"Proving unit again: {last}. What do you know?"
    )
    told = {
        "good": f"Not proven. {why[kind]}",
        "first": f"Before the pairs it read {first}: it could.",
        "last": "It failed before the pairs already."
        if kind == "first"
        else f"At the end it still read {last}.",
        "pair": "All three pairs were at zero. "
        + ("The doubt lies with the meter." if kind != "good" else "There is nothing left to find."),
    }
    wrong = tuple(Choice(words[k], told[k]) for k in words if k != kind)
    return Question("broken-proof", text, Choice(words[kind], why[kind]), wrong, why[kind])


def ghost_or_feed(draw: Stream) -> Question:
    """Readings of a common meter and of a tester with a low input."""
    number, on = draw.integer(1, VARIANTS), draw.choice((True, False))
    meter, tester = _ghost(number, on)
    text = f"At a wire that should be cut off, your meter shows {meter} to ground. A tester with a low input shows {tester} at the same place. What is it?"
    ghost = "A ghost from a wire beside it. Still isolate and prove before hands go in."
    feed = "A real feed. Something is still connected."
    why = (
        f"The tester draws a little current, and {tester} are still there: only a real feed holds up."
        if on
        else f"The tester draws a little current, and the volts fall from {meter} to {tester}. A feed would hold up."
    )
    return Question(
        "ghost-or-feed",
        text,
        Choice(feed if on else ghost, why),
        (
            Choice(ghost if on else feed, why),
            Choice(
                "The meter is broken.",
                "Two testers agree. Believe them."
                if on
                else "The two differ because one of them draws current. Both are right.",
            ),
            Choice("It is dead: touch it and see.", "Never. A finger is no tester, and a wrong guess kills."),
        ),
        why,
    )


def same_wire(draw: Stream) -> Question:
    """Both leads on one live conductor."""
    number, part = draw.integer(1, VARIANTS), draw.choice(("breaker", "panel_switch", "heater_switch"))
    shows, ground = _over_contact(number, part)
    name = load_model(MODEL).parts[part].name
    text = f"The heater heats. One lead is on the line side of the {name}, the other on its load side. The meter shows {shows}. What does that tell?"
    why = f"A meter shows a difference. Both sides of a closed contact are the same wire: {ground} to ground on either."
    return Question(
        "same-wire",
        text,
        Choice("Its contact is closed. It says nothing about live or dead.", why),
        (
            Choice("Both sides are dead.", f"To ground they have {ground}."),
            Choice("Its contact is open.", "An open contact in a heater that calls for heat would show full volts."),
            Choice("The meter's leads are broken.", "Prove the meter and you will see. A closed contact reads like this."),
        ),
        why,
    )  # fmt: skip


def shock_current(draw: Stream) -> Question:
    """Milliamps through a person."""
    volts, ohms = round(draw.uniform(112, 124)), draw.choice((800.0, 1000.0, BODY, 2000.0))
    amps = current_through(quantity(volts, "V"), quantity(ohms, "ohm")).magnitude
    return number_question(
        "shock-current",
        f"A person from hand to foot has {ohms:.0f} Ω, say, and touches {volts} V. How much flows through them?",
        1000 * amps,
        "mA",
        "Volts divided by ohms gives amps. Times 1000 gives milliamps.",
        [
            (amps, "That is the number in amps, written as milliamps: a thousand times too little."),
            (volts * ohms / 1000, "Volts times ohms is no current."),
            (1000 * ohms / volts, "The wrong way up: volts divided by ohms."),
            (10 * amps * 1000, "The point slipped by one place."),
        ],
        more="A fraction of that can stop a heart. A real person may have fewer ohms.",
    )


def neutral_under_load(draw: Stream) -> Question:
    """A few volts from neutral to ground while the heater runs."""
    place = draw.choice(tuple(NEUTRALS))
    running, idle = _neutral(draw.integer(1, VARIANTS), place)
    text = f"While the heater heats, neutral to ground {place} shows {running}. With the heater off it shows {idle}. What is it?"
    why = (
        "The neutral carries the load back, and its own wire takes a little of the volts. No load, no volts."
    )
    return Question(
        "neutral-under-load",
        text,
        Choice("Normal: the volts that the neutral wire takes under load.", why),
        (
            Choice("A broken neutral.", "A broken neutral would stand at full volts with the heater on."),
            Choice(
                "Hot and neutral are swapped.", "Swapped wires would show full volts here, load or no load."
            ),
            Choice("A ghost.", "A ghost shows on a wire that is cut off. This one carries the load."),
        ),
        why,
    )


def right_order(draw: Stream) -> Question:
    """The order of making safe."""
    steps = (
        "prove the meter",
        "switch off and pull the plug",
        "lock it",
        "cover off",
        "three pairs",
        "prove the meter again",
    )
    swaps = {
        (4, 5): "The second proof comes after the three pairs. That is what it is for.",
        (2, 4): "Lock it before you open it. Somebody may plug it in while you measure.",
        (0, 4): "Without a proven meter the three zeros mean nothing.",
        (1, 3): "Isolate first. The cover comes off a dead heater here.",
    }
    picked = draw.shuffled(sorted(swaps))[:3]
    wrong = []
    for i, j in picked:
        order = list(steps)
        order[i], order[j] = order[j], order[i]
        wrong.append(Choice("; ".join(order), swaps[i, j]))
    why = "Proven meter, isolated, locked, open, three pairs, proven again. Then hands."
    return Question(
        "right-order",
        "You are to change a part. Which order is right?",
        Choice("; ".join(steps), why),
        tuple(wrong),
        why,
    )


QUESTIONS: tuple[Callable[[Stream], Question], ...] = (
    which_outlet,
    what_makes_dead,
    wrong_setting,
    broken_proof,
    ghost_or_feed,
    same_wire,
    right_order,
    neutral_under_load,
    shock_current,
)


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


def _heating(fault: str, number: int) -> Bench:
    """A bench with every cover off, the water cool enough to call for heat, the meter on V~."""
    bench = Bench(_order(fault, number))
    for place in bench.view()["places"]:
        if place["cover"]:
            bench.open_cover(place["id"])
    bench.run_tap(10)
    return bench


def _volts(bench: Bench, red: str, black: str) -> str:
    return _written(bench.probe(red, black).readings[0])


def _written(reading: dict[str, Any]) -> str:
    return f"{reading['value']:.1f} V" if reading["value"] is not None else str(reading["digits"])


@cache
def _outlet(fault: str, number: int) -> tuple[str, ...]:
    bench = _heating(fault, number)
    return tuple(_volts(bench, a, b) for a, b in OUTLET)


@cache
def _element_dead(fault: str, number: int, part: str) -> bool:
    bench = _heating(fault, number)
    bench.switch(part, OPENERS[part][0])
    touch = Terminals(bench.state.unit)
    return not (touch.live("element.1") or touch.live("element.2"))


@cache
def _across(fault: str, number: int) -> tuple[str, str]:
    bench = _heating(fault, number)
    return _volts(bench, "element.1", "element.2"), _volts(bench, "element.2", "tank.shell")


@cache
def _two_settings(number: int, place: str) -> tuple[str, str]:
    bench = _heating("no-fault", number)
    alternating = _volts(bench, *LIVE_PAIRS[place])
    bench.meter("V⎓")
    return alternating, _volts(bench, *LIVE_PAIRS[place])


@cache
def _known(number: int) -> str:
    return _written(_heating("no-fault", number).prove_meter().readings[0])


@cache
def _ghost(number: int, on: bool) -> tuple[str, str]:
    bench = _heating("no-fault", number)
    bench.switch("heater_switch", "off")
    bench.switch("panel_switch", "on" if on else "off")
    pair = ("junction_box.hot_in", "junction_box.ground")
    loaded = float(Terminals(bench.state.unit).alternating(*pair, 1 / 3e3, 0.0)[0])
    return _volts(bench, *pair), f"{loaded:.1f} V"


@cache
def _over_contact(number: int, part: str) -> tuple[str, str]:
    bench = _heating("no-fault", number)
    return _volts(bench, f"{part}.line", f"{part}.load"), _volts(bench, f"{part}.load", "supply.ground")


@cache
def _neutral(number: int, place: str) -> tuple[str, str]:
    bench = _heating("no-fault", number)
    running = _volts(bench, *NEUTRALS[place])
    bench.switch("heater_switch", "off")
    return running, _volts(bench, *NEUTRALS[place])
