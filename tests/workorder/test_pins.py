"""PINS, NOT CHECKS: what the code itself gave once, so that a change of it is noticed and meant.

Nothing here says that a value is right: the other tests do. A pin that moves means that orders handed out
before give another heater, or another reading, than they gave then. Where that is wanted, write them anew with
``python -m tests.workorder.test_pins`` and say so in the commit.
"""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from tankside.bench import Bench
from tankside.bench.log import link, start_link
from tankside.dispatch import make_order
from tankside.labs import load_lab

FILE = Path(__file__).with_name("pins.json")
SEED = "00112233445566778899aabbccddeeff"
LABS = ("lab01", "lab02", "lab03")


def now(lab_id: str) -> dict[str, Any]:
    """What one seed gives for a lab today: the order, and the first readings on its heater."""
    order = make_order(load_lab(lab_id), None, SEED, date(2026, 1, 1))
    bench = Bench(order)
    bench.open_cover("heater-front")
    bench.run_tap(10)
    readings = [
        bench.probe(*pair).readings[0]["digits"]
        for pair in (
            ("supply.hot", "supply.neutral"),
            ("element.1", "element.2"),
            ("element.2", "element.sheath"),
        )
    ]
    case = order.case()
    # Without the edition: it moves with every change of the bench, wanted or not.
    first = {**bench.entries[0], "args": {"order": order.order}}
    return {
        "order": order.order,
        "complaint": order.complaint,
        "fault": case.fault.id,
        "severity": case.severity,
        "site": case.site,
        "readings": readings,
        "temperature": bench.temperature().entry["result"]["temperature"],
        "first link": link(start_link(order.order), first),
    }


@pytest.mark.parametrize("lab_id", LABS)
def test_pin(lab_id: str) -> None:
    """Does one seed still give the order and the readings that it gave when this was written? (A pin, not a check.)"""
    assert now(lab_id) == json.loads(FILE.read_text(encoding="utf-8"))[lab_id]


if __name__ == "__main__":
    FILE.write_text(
        json.dumps({lab: now(lab) for lab in LABS}, ensure_ascii=False, indent=1) + "\n", encoding="utf-8"
    )
