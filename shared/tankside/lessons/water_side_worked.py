"""The worked example of lesson 9: lukewarm water from a good heater, with the faults still possible after each step."""

from __future__ import annotations

import json
from functools import cache

from tankside.bench import Bench
from tankside.case import as_found, draw_case, symptom
from tankside.diagnosis.candidates import candidates
from tankside.faults.complaints import wordings
from tankside.lessons.worked import Step
from tankside.practice import lesson_order
from tankside.streams import Stream
from tankside.workorder import WorkOrder

MODEL, FAULT, REMEDY = "grebe_12", "mixing-tap-crosses", "mend-mixing-tap"
SCOPE = (
    "bypass-open", "bypass-half-open", "mixing-tap-crosses", "lines-crossed", "check-valve-jammed", "check-valve-stuck",
    "check-valve-leaks", "strainer-blocked", "inlet-valve-half-shut", "water-pressure-low", "jacket-wet", "cushion-lost",
    "relief-opens-cool", "relief-weeps", "sediment", "thermostat-stuck-open", "thermostat-burnt-contact", "limit-tripped",
    "element-low", "element-open", "element-wrong", "no-fault",
)  # fmt: skip
"""What could be wrong with the hot water of this heater."""


@cache
def lukewarm_order() -> WorkOrder:
    """The first order of a fixed row whose water is mixed at a tap; any fault of the scope could have come."""
    for number in range(1, 500):
        order = lesson_order(FAULT, MODEL, number).model_copy(update={"scope": SCOPE})
        case = draw_case(order.model, order.scope, order.seed)
        if case.fault.id == FAULT:
            words = Stream(order.seed, "wording").choice(wordings(symptom(as_found(case)), case.model))
            return order.model_copy(update={"complaint": words.text, "fits": words.fits})
    raise AssertionError(f"none of 500 draws gave {FAULT}")


@cache
def lukewarm_example() -> tuple[Step, ...]:
    """The example worked on a bench, step by step."""
    order = lukewarm_order()
    bench = Bench(order)
    why: dict[int, str] = {0: "The complaint alone leaves the heater and the whole of the plumbing."}

    def note(words: str) -> None:
        why[len(bench.entries) - 1] = words

    bench.look()
    note("Eyes first. It is on, and the bypass handle looks shut. You saw both on arrival, so the count stays.")
    bench.do("tap test", tap="cold")
    note("The cold side first: a good flow, and now you know how cold cold is.")
    bench.do("tap test", tap="hot")
    note("A good flow, so nothing is blocked. But only lukewarm. Is the tank cool, or is it mixed on the way?")
    bench.open_cover("heater-front")
    bench.do("feel jacket")
    note("A, the tank: the jacket is warmer than the room. So there is hot water inside it.")
    bench.do("shut-off test")
    note("The heater's cold is shut, and the hot tap still runs. That water never saw the tank. The heater is out of it.")
    bench.do("trace lines")
    note("B, the bypass: really shut, and the lines are right. So cold crosses behind it, at one of the taps.")
    bench.repair(REMEDY)
    note("Shut the stops under one mixing tap after the other until the flow stops. Mend that tap.")
    bench.do("shut-off test")
    note("Now the hot tap stops. Nothing comes past the heater any more.")
    bench.wait(60)
    bench.do("tap test", tap="hot")
    note("The proof: hot, with the same flow. Hot enough to burn as well. Tell them so.")
    found = candidates(order, [json.dumps(entry, ensure_ascii=False) for entry in bench.entries])
    return tuple(
        Step(line, bench.entries[line]["text"], words, len(found.history[line]))
        for line, words in sorted(why.items())
    )
