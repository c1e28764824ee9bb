"""What a lesson's or a practice bench says at once of a careless act; a class's lab says it in the marks.

A dangerous act stops the bench, and says so. A careless one goes on without a sound, as on a real heater: so whoever
only learns would never hear of it.
"""

from __future__ import annotations

from typing import Any

from tankside.bench.rules import RULES


def heed(bench: Any, outcome: Any) -> str:
    """The careless rules that an action just broke, each by name and with what to do instead; else nothing.

    Nothing as well where the order was handed out to a learner of a class: there it would coach.
    """
    order, entry = getattr(bench, "order", None), getattr(outcome, "entry", None)
    if order is None or order.learner is not None or not entry:
        return ""
    broke = (RULES[rule] for rule in entry["result"].get("broke", ()))
    return " ".join(f"Careless: {rule.name}. {rule.instead}" for rule in broke if not rule.dangerous)
