"""The builder of a limit chain: so many contacts, one of them open; how few tests find it. No formula of its own."""

from __future__ import annotations

from typing import Any

from tankside.diagnosis.chain_plans import MOST, by_halves, longest, one_by_one, walk
from tankside.units import significant
from tankside.widgets.calculator import Calculator, Rows

FIELDS: tuple[dict[str, Any], ...] = (
    {"id": "contacts", "label": "Contacts in the row", "unit": "contacts", "low": 2, "high": MOST, "step": 1, "start": 8},
    {"id": "broken", "label": "The open one, counted from the supply", "unit": "", "low": 1, "high": MOST, "step": 1, "start": 6},
)  # fmt: skip
"""What is typed: its lowest and highest value, and where it starts."""


def limit_chain(contacts: float, broken: float) -> Rows:
    """Rows of the builder: where to measure in turn, and how many tests each way takes.

    Parameters
    ----------
    contacts : 2 to 16, a whole number
    broken : 1 to ``contacts``, a whole number

    Raises
    ------
    ValueError
        No whole number, or an open contact beyond the row.
    """
    if contacts != int(contacts) or broken != int(broken):
        raise ValueError("contacts are counted whole, such as 8")
    row, bad = int(contacts), int(broken)
    if bad > row:
        raise ValueError(f"contact {bad} is beyond the row of {row}")
    halves, singly = by_halves(row), one_by_one(row)
    path, alone = walk(halves, bad), walk(singly, bad)
    spots = ", then ".join(f"after contact {k}" for k in path.tests)
    return [
        {"group": "This break"},
        {"label": "By halves", "text": _tests(path.number), "how": f"measure {spots}", "mark": ""},
        {"label": "One by one", "text": _tests(alone.number), "how": "each contact by itself, in turn", "mark": ""},
        {"group": "Any break, each as likely"},
        {"label": "By halves, on average", "text": f"{significant(halves.minutes)} tests", "how": f"never more than {longest(halves, row)}", "mark": "good"},
        {"label": "One by one, on average", "text": f"{significant(singly.minutes)} tests", "how": f"up to {longest(singly, row)}", "mark": "bad" if singly.minutes > halves.minutes else ""},
    ]  # fmt: skip


def _tests(number: int) -> str:
    return "1 test" if number == 1 else f"{number} tests"


def limit_chain_builder() -> Calculator:
    """The builder of lesson 4."""
    return Calculator("Builder of a limit chain", FIELDS, limit_chain)
