"""The worked example of lesson 3: a cold heater, tested outside in, with the faults still possible after each step."""

from __future__ import annotations

import json
from dataclasses import dataclass

from tankside.bench import Bench
from tankside.case import as_found, draw_case, symptom
from tankside.diagnosis.candidates import candidates
from tankside.faults.complaints import wordings
from tankside.labs import load_lab
from tankside.practice import lesson_order
from tankside.streams import Stream
from tankside.workorder import WorkOrder

FAULT = "element-open"


@dataclass(frozen=True)
class Step:
    """One step: its line in the log, what was done and shown, why one does it, and how many faults are left."""

    line: int
    did: str
    why: str
    left: int


def example_order() -> WorkOrder:
    """The first order of a fixed row whose heater has the example's fault; any fault of lab 3 could have come."""
    lab = load_lab("lab03")
    for number in range(1, 500):
        order = lesson_order(FAULT, lab.models[0], number).model_copy(update={"scope": lab.faults})
        case = draw_case(order.model, order.scope, order.seed)
        if case.fault.id == FAULT:
            noticed = symptom(as_found(case))
            words = Stream(order.seed, "wording").choice(wordings(noticed, case.model))
            return order.model_copy(update={"complaint": words.text, "fits": words.fits})
    raise AssertionError(f"none of 500 draws gave {FAULT}")


def element_example() -> list[Step]:
    """The example worked on a bench, step by step."""
    order = example_order()
    bench = Bench(order)
    why: dict[int, str] = {0: "The complaint alone leaves many faults."}

    def note(words: str) -> None:
        why[len(bench.entries) - 1] = words

    bench.look()
    note("Eyes first: every switch is on. You saw that on arrival, so the count stays.")
    bench.prove_meter()
    note("A meter is only worth what it last proved.")
    bench.probe("supply.hot", "supply.neutral")
    note("The outlet is good. Now halve the path.")
    bench.open_cover("junction-box")
    bench.probe("junction_box.hot_out", "junction_box.neutral_out")
    note("Good in the middle too. The trouble is in the heater.")
    bench.open_cover("heater-front")
    bench.probe("element.1", "element.2")
    note(
        "Full volts on the element, and not one lost on the way: no current flows. A coil that is whole would draw some."
    )
    bench.switch("breaker", "off")
    bench.switch("supply", "out")
    bench.lock_out()
    bench.prove_dead("heater-front")
    note("Live, dead, live. Only now do hands go in.")
    bench.lift("W10")
    bench.lift("W11")
    bench.meter("Ω")
    bench.zero_leads()
    note("Tips together first, so that the leads don't count.")
    bench.probe("element.1", "element.2")
    note("A good coil has about ten ohms. Millions mean no way through: burnt open.")
    bench.probe("element.1", "tank.shell")
    note("No leak to the tank. The sheath is whole.")
    found = candidates(order, [json.dumps(entry, ensure_ascii=False) for entry in bench.entries])
    return [
        Step(line, bench.entries[line]["text"], words, len(found.history[line]))
        for line, words in sorted(why.items())
    ]
