"""Work orders without a class: practice for someone alone, by topic and difficulty, and benches for lessons.

They are sealed with a key that everybody has, so they prove nothing and are never marked for
a certificate.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from datetime import date
from functools import cache

from tankside.dispatch import make_order
from tankside.errors import TanksideError, UnknownNameError, WorkOrderError
from tankside.faults.catalogue import Fault, faults
from tankside.heater.model import load_model, model_names
from tankside.labs import Lab
from tankside.streams import Stream
from tankside.workorder import WorkOrder

PRACTICE_KEY = "practice: this key is no secret"
_ISSUED = date(2026, 1, 1)
"""Practice orders carry a fixed date, so that the same number always gives the same order."""


def _seed(*words: str) -> str:
    return hashlib.sha256(" ".join(words).encode()).hexdigest()[:32]


def practice_order(lab: Lab, number: int = 1) -> WorkOrder:
    """The practice order of that number for a lab; number 1 is the one that the solved notebook shows."""
    return make_order(lab, None, _seed("practice", lab.id, str(number)), _ISSUED, number=f"PRACTICE-{number}")


def lesson_order(fault: str = "no-fault", model: str = "heron_6", number: int = 1) -> WorkOrder:
    """An order for a lesson's bench: the fault is chosen, the rest is drawn from the number."""
    return WorkOrder(
        order=f"LESSON-{number}",
        lab="lesson",
        seed=_seed("lesson", model, fault, str(number)),
        model=model,
        scope=(fault,),
        issued=_ISSUED,
        complaint="This heater stands on the training bench.",
    )


@dataclass(frozen=True)
class Topic:
    """Something to practise: its id, its name, and what one learns to find."""

    id: str
    name: str
    about: str


TOPICS: dict[str, Topic] = {
    topic.id: topic
    for topic in (
        Topic("mains", "Mains side", "Supply, breaker, switches, limit chain, element."),
        Topic("dc", "12 V side", "Battery, fuse, switch, harness, grounds, limit chain."),
        Topic("ignition", "Ignition", "Board, spark, flame sensing, pilot and thermocouple."),
        Topic("gas", "Gas", "Cylinder, regulator, hose, pressure, gas valve."),
        Topic("flame", "Flame and flue", "Orifice, burner tube, air, flue."),
        Topic("water", "Water", "Check valve, bypass, relief valve, pressure, sediment."),
        Topic("anode", "Anode and tank", "What the anode has left, and what the tank has lost."),
    )
}
LEVELS: dict[int, tuple[str, float, float, int]] = {
    1: ("Easy", 0.6, 2.6, 2),
    2: ("Medium", 2.0, 4.5, 3),
    3: ("Hard", 4.0, 12.0, 4),
}
"""Level -> its name, the difficulty from and to (bits to find out plus quarter hours, see ``proof``), least suspects."""
_PLACES = {
    "element": "mains", "mains limit chain": "mains", "junction box": "mains",
    "12 V limit chain": "dc", "switches and harness": "dc",
    "control board": "ignition", "igniter and flame sensor": "ignition",
    "gas supply": "gas", "gas valve": "gas",
    "burner tube": "flame", "combustion chamber and flue": "flame", "orifice": "flame", "data plate": "flame",
    "house plumbing around the heater": "water", "cold inlet, hot outlet and check valve": "water",
    "relief valve": "water", "tank and insulation": "water", "drain plug and anode": "anode",
}  # fmt: skip
_PARTS = {
    "anode": "anode", "@anode_thread": "anode", "vessel.bare_area": "anode", "vessel.pit": "anode", "vessel.seep": "anode",
    "relief valve": "water", "breaker": "mains", "@panel_switch": "mains", "@heater_switch": "mains",
}  # fmt: skip
"""Where a place holds faults of several topics, what a fault changes tells which (part, or part and parameter)."""
_WEIGHTS = {"safe-working": 25, "evidence": 30, "diagnosis": 25, "remedy": 20, "figures": 0}
_DRAWS, _NEAR = 3, 1.5
"""So many orders are made for one heater; another heater is tried if none comes this near to the level."""
_FEW = 6
"""Faults that an easy call-out is drawn from: fewer to part, and one has all of them in one's head."""


def topic_of(fault: Fault) -> str | None:
    """The topic that a fault belongs to; None if there is nothing to find or its place is in no topic yet."""
    if fault.id == "no-fault":
        return None
    for effect in fault.effect:
        found = _PARTS.get(effect.on) or _PARTS.get(effect.on.rpartition(".")[0])
        if found:
            return found
    return _PLACES.get(fault.place)


@cache
def topic_faults(topic: str) -> dict[str, tuple[str, ...]]:
    """Heater model -> the topic's faults that it can have; only models on which there are at least two to part."""
    if topic not in TOPICS:
        raise UnknownNameError("topic", topic, list(TOPICS))
    mine = [fault for fault in faults().values() if topic_of(fault) == topic]
    out = {}
    for name in model_names():
        model = load_model(name)
        fitting = tuple(fault.id for fault in mine if fault.applies_to(model))
        if len(fitting) > 1:
            out[name] = fitting
    return out


def topic_scope(topic: str, level: int, model: str, number: int) -> tuple[str, ...]:
    """The faults that a call-out is drawn from: all of the topic's, or for an easy one a handful, by turns."""
    every = topic_faults(topic)[model]
    if level > 1 or len(every) <= _FEW:
        return every
    mixed = Stream(_seed("handfuls", topic, model), "order").shuffled(every)
    hands = -(-len(mixed) // _FEW)
    at = (number - 1) % hands
    return tuple(mixed[at::hands])


def topic_lab(topic: str, level: int, model: str, number: int) -> Lab:
    """The marking rules of a practice call-out: as a lab's, without figures."""
    name, low, high, suspects = _level(level)
    return Lab(
        id="practice",
        title=f"Practice: {TOPICS[topic].name}, {name.lower()}",
        level=level,
        minutes=60,
        models=(model,),
        faults=topic_scope(topic, level, model, number),
        weights=_WEIGHTS,
        difficulty=(low, high),
        least_suspects=suspects,
    )


def topic_order(topic: str, level: int, number: int) -> WorkOrder:
    """A practice call-out on a topic; the same three always give the same one.

    Of a few provable orders, the first whose difficulty fits the level; where none fits, the nearest.

    Parameters
    ----------
    topic : a key of ``TOPICS``
    level : 1, 2 or 3
    number : 1 to 999

    Raises
    ------
    WorkOrderError
        No heater has a call-out on this topic that can be proven at the bench.
    """
    if isinstance(number, bool) or not isinstance(number, int) or not 1 <= number <= 999:
        raise TanksideError(f"Practice call-outs are numbered 1 to 999; {str(number)[:20]} is none.")
    _, low, high, _ = _level(level)
    fitting = topic_faults(topic)
    words = ("call-out", topic, str(level), str(number))
    nearest: tuple[float, WorkOrder] | None = None
    for model in Stream(_seed(*words), "models").shuffled(sorted(fitting)):
        if nearest is not None and nearest[0] <= _NEAR:
            break
        lab = topic_lab(topic, level, model, number).model_copy(
            update={"difficulty": (LEVELS[1][1], LEVELS[3][2])}
        )
        for draw in range(_DRAWS):
            try:
                order = make_order(
                    lab,
                    None,
                    _seed(*words, model, str(draw)),
                    _ISSUED,
                    number=f"PRACTICE-{topic.upper()}-{level}-{number}",
                )
            except WorkOrderError:
                break  # this heater's faults can't be told apart, or nobody would call for them
            hard = float(order.proof["difficulty"])
            off = max(low - hard, hard - high, 0.0)
            if off == 0.0:
                return order
            if nearest is None or off < nearest[0]:
                nearest = off, order
    if nearest is None:
        raise WorkOrderError(
            f"No call-out on {TOPICS[topic].name.lower()} can be proven at the bench yet. Choose another topic."
        )
    return nearest[1]


def _level(level: int) -> tuple[str, float, float, int]:
    if isinstance(level, bool) or level not in LEVELS:
        raise UnknownNameError("difficulty", str(level)[:20], [str(n) for n in LEVELS])
    return LEVELS[level]
