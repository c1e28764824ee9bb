"""Worked examples on the mains side: a cold heater tested step by step, with the faults still possible after each."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import dataclass

from tankside.bench import Bench
from tankside.case import as_found, draw_case, symptom
from tankside.diagnosis.candidates import candidates
from tankside.faults.complaints import wordings
from tankside.labs import load_lab
from tankside.practice import lesson_order
from tankside.streams import Stream
from tankside.workorder import WorkOrder

FAULT, CHAIN_FAULT = "element-open", "link-bar-burnt"


@dataclass(frozen=True)
class Step:
    """One step: its line in the log, what was done and shown, why one does it, and how many faults are left."""

    line: int
    did: str
    why: str
    left: int


def example_order(
    fault: str = FAULT, model: str = "", scope: tuple[str, ...] = (), first: int = 1
) -> WorkOrder:
    """The first order of a fixed row whose heater has the fault; any other of the scope (lab 3's) could have come."""
    lab = load_lab("lab03")
    model, scope = model or lab.models[0], scope or lab.faults
    for number in range(first, first + 500):
        order = lesson_order(fault, model, number).model_copy(update={"scope": scope})
        case = draw_case(order.model, order.scope, order.seed)
        if case.fault.id == fault:
            noticed = symptom(as_found(case))
            words = Stream(order.seed, "wording").choice(wordings(noticed, case.model))
            return order.model_copy(update={"complaint": words.text, "fits": words.fits})
    raise AssertionError(f"none of 500 draws gave {fault}")


def element_example() -> list[Step]:
    """The example worked on a bench, step by step."""
    order = example_order()
    bench = Bench(order)
    why, note = notes_of(bench)
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
    return steps_of(order, bench, why)


def chain_example() -> list[Step]:
    """The worked example of lesson 4: a break in the limit chain, halved again and again."""
    order = example_order(CHAIN_FAULT)
    bench = Bench(order)
    why, note = notes_of(bench)
    bench.look()
    note("Breaker and switch on the panel are on.")
    bench.prove_meter()
    note("First the meter.")
    bench.run_tap(10)
    note("Cold water now: whatever the thermostat did, it has to call.")
    bench.open_cover("junction-box")
    bench.open_cover("heater-front")
    bench.probe("element.1", "element.2")
    note("No volts on the element. The element itself is out of it: the break is ahead.")
    bench.probe("junction_box.hot_out", "junction_box.neutral_out")
    note("The middle of the whole path. Good: the break is in the heater.")
    bench.probe("thermostat.load", "element.2")
    note("The middle of what is left. Good: switch and thermostat are closed.")
    bench.probe("link_bar.load", "element.2")
    note("Gone. Between these two points lies the link bar.")
    bench.probe("link_bar.line", "link_bar.load")
    note("Full volts across it. It is open, and all else is closed.")
    bench.switch("breaker", "off")
    bench.switch("supply", "out")
    bench.lock_out()
    bench.prove_dead("heater-front")
    note("Off, locked, and proven. Now hands may go in.")
    bench.meter("Ω")
    bench.zero_leads()
    bench.probe("link_bar.line", "link_bar.load")
    note("And the proof on ohms: no way through.")
    return steps_of(order, bench, why)


def notes_of(bench: Bench) -> tuple[dict[int, str], Callable[[str], None]]:
    """Reasons by log line, and a pen that writes one beside the newest line."""
    why: dict[int, str] = {0: "The complaint alone leaves many faults."}

    def note(words: str) -> None:
        why[len(bench.entries) - 1] = words

    return why, note


def steps_of(order: WorkOrder, bench: Bench, why: dict[int, str]) -> list[Step]:
    """The lines that a reason was written for, each with the number of faults then left."""
    found = candidates(order, [json.dumps(entry, ensure_ascii=False) for entry in bench.entries])
    return [
        Step(line, bench.entries[line]["text"], words, len(found.history[line]))
        for line, words in sorted(why.items())
    ]
