"""The worked example of lesson 6: it lights and goes out, tested with the microammeter first, faults left counted."""

from __future__ import annotations

import json
from functools import cache

from tankside.bench import Bench
from tankside.case import as_found, draw_case, symptom
from tankside.diagnosis.candidates import candidates
from tankside.faults.complaints import wordings
from tankside.lessons.worked import Step
from tankside.practice import lesson_order
from tankside.questions.ignition_starts import FULL_MODEL, kinds_of_start
from tankside.streams import Stream
from tankside.workorder import WorkOrder

FAULT = "burner-ground-poor"


def example_order() -> WorkOrder:
    """The first order of a fixed row whose heater has the example's fault; any fault that stops a start could have come."""
    scope = tuple(dict.fromkeys(fault.id for kind in kinds_of_start() for fault in kind.faults))
    for number in range(1, 1000):
        order = lesson_order(FAULT, FULL_MODEL, number).model_copy(update={"scope": scope})
        case = draw_case(order.model, order.scope, order.seed)
        if case.fault.id == FAULT:
            noticed = symptom(as_found(case))
            words = Stream(order.seed, "wording").choice(wordings(noticed, case.model))
            return order.model_copy(update={"complaint": words.text, "fits": words.fits})
    raise AssertionError(f"none of 1000 draws gave {FAULT}")


@cache
def ignition_example() -> tuple[Step, ...]:
    """The example worked on a bench, step by step."""
    order = example_order()
    bench = Bench(order)
    why: dict[int, str] = {0: "Gas is the trouble. The complaint leaves the rest open."}

    def note(words: str) -> None:
        why[len(bench.entries) - 1] = words

    for place in ("panel", "heater-front", "burner-bay"):
        bench.open_cover(place)
    bench.switch("panel_switch", "off")
    bench.run_tap(5)
    bench.do("sniff", place="burner-bay")
    note("Nose first, down low. No smell, so a start may be watched.")
    bench.do("watch start")
    note(
        "The pattern: it lights, and goes out with the trial. The gas side, the valve and the spark are good."
    )
    bench.wait(5)
    note("A failed start may leave gas. Wait, as the maker says, before the next one.")
    bench.do("sniff", place="burner-bay")
    bench.do("watch start", meter="flame")
    note("Meter in series with the rod. A good flame gives microamps, and this one gives far too little. The board isn't blind: there is nothing to see.")  # fmt: skip
    bench.switch("dc_panel_switch", "off")
    bench.switch("breaker", "off")
    bench.switch("supply", "out")
    bench.lock_out("supply")
    bench.prove_dead("heater-front")
    note("Now hands go in, so both supplies are off, locked and proven dead.")
    bench.meter("Ω")
    bench.zero_leads()
    bench.probe("control_board.sense", "flame_sensor.rod")
    note("The lead is whole.")
    bench.lift("sense_lead")
    bench.probe("flame_sensor.rod", "flame_sensor.burner")
    note("Lead off, rod to burner: open, as it should be. The insulator is sound.")
    bench.probe("flame_sensor.burner", "flame_sensor.bracket")
    note("Burner to bracket should be next to nothing. Millions of ohms: rust. The current can't come back.")
    bench.land("sense_lead")
    bench.repair("clean-burner-ground")
    note("Screws out, rust off, bright metal on both sides.")
    bench.unlock()
    bench.switch("supply", "in")
    bench.switch("breaker", "on")
    bench.do("sniff", place="burner-bay")
    bench.switch("dc_panel_switch", "on")
    bench.do("watch start", meter="flame")
    note("The microamps are back, and the flame stays. That is the proof.")
    found = candidates(order, [json.dumps(entry, ensure_ascii=False) for entry in bench.entries])
    assert not any(entry["result"].get("broke") for entry in bench.entries)
    return tuple(
        Step(line, bench.entries[line]["text"], words, len(found.history[line]))
        for line, words in sorted(why.items())
    )
