"""Work orders without a class: practice for someone alone, and benches for lessons.

They are sealed with a key that everybody has, so they prove nothing and are never marked for
a certificate.
"""

from __future__ import annotations

import hashlib
from datetime import date

from tankside.dispatch import make_order
from tankside.labs import Lab
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
