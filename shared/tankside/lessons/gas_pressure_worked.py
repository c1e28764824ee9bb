"""The worked example of lesson 7: slow on gas, right at rest, low under load; two taps tell where, with the faults left."""

from __future__ import annotations

from functools import cache

from tankside.bench import Bench
from tankside.case import as_found, draw_case, symptom
from tankside.faults.complaints import wordings
from tankside.lessons.worked import Step, notes_of, steps_of
from tankside.practice import lesson_order
from tankside.streams import Stream
from tankside.workorder import WorkOrder

MODEL, FAULT = "pintail_10", "regulator-fouled"
SCOPE = (
    "regulator-fouled", "regulator-low", "regulator-high", "regulator-creeps", "regulator-vent-blocked",
    "excess-flow-shut", "cylinder-empty", "cylinder-valve-shut", "cylinder-butane", "hose-kinked",
    "gas-cock-half-shut", "gas-cock-shut", "orifice-blocked", "orifice-too-small", "orifice-too-large", "hose-leaks",
    "union-leaks", "cylinder-connection-leaks", "air-in-line", "no-fault",
)  # fmt: skip
"""What could be wrong with this heater's gas, from the cylinder to the jet."""
MOST = 0.1
"""How far the regulator may be fouled: so little that the burner still runs."""


def gas_order() -> WorkOrder:
    """The first order of a fixed row whose regulator has begun to foul; any fault of the scope could have come."""
    for number in range(1, 1000):
        order = lesson_order(FAULT, MODEL, number).model_copy(update={"scope": SCOPE})
        case = draw_case(order.model, order.scope, order.seed)
        if case.fault.id == FAULT and case.severity < MOST:
            words = Stream(order.seed, "wording").choice(wordings(symptom(as_found(case)), case.model))
            return order.model_copy(update={"complaint": words.text, "fits": words.fits})
    raise AssertionError(f"none of 1000 draws gave {FAULT}")


def gas_example() -> tuple[Step, ...]:
    """The example worked on a bench, step by step, up to the proof."""
    return worked()[1]


@cache
def worked() -> tuple[Bench, tuple[Step, ...]]:
    """The bench after the example, with its log, and the steps that the lesson shows."""
    order = gas_order()
    bench = Bench(order)
    why, note = notes_of(bench)
    why[0] = "The complaint alone leaves these. It does heat, so some gas comes."
    bench.do("sniff", place="gas-locker")
    bench.open_cover("burner-bay")
    bench.do("sniff", place="burner-bay")
    note("Nose first, low down, at both ends. No smell: the burner may run for the test.")
    bench.do("gas pressure", tap="heater")
    note("At rest it is right. So the regulator isn't set low. More than that it doesn't say.")
    bench.run_tap(10)
    bench.do("gas pressure", tap="heater")
    note("Running it is far too low: the jet is starved. With a bad jet the pressure would stand.")
    bench.do("gas pressure", tap="line")
    note("One tap upstream, the same low number. Nothing is lost between the two: not the cock.")
    bench.do("gas pressure", tap="cylinder")
    note(
        "The bench knows already that a shut check would choke it more. You make sure: plenty before the regulator, while it runs."
    )
    bench.do("look at flame")
    note("Blue and steady. Somebody who only looks would let it go.")
    bench.do("inspect", part="hose")
    note(
        "The loss lies between taps 1 and 2: regulator or hose. No kink makes this heater so slow, says the count. "
        "You look all the same: the hose lies freely. So it is the regulator."
    )
    bench.do("inspect", part="regulator")
    note("Its vent is free. It chokes inside.")
    bench.switch("dc_panel_switch", "off")
    bench.switch("cylinder", "shut")
    note("Heater off, gas off at the cylinder. Only now a joint is opened, by licensed hands.")
    bench.repair("replace-regulator")
    note("A regulator is never taken apart: it is replaced.")
    bench.switch("cylinder", "open")
    bench.do("leak test")
    note("Before any flame: does the line hold?")
    bench.do("soap test", part="cylinder")
    note("That joint was opened too, and the timed test doesn't reach it. Soap does.")
    bench.do("sniff", place="gas-locker")
    bench.do("sniff", place="burner-bay")
    bench.switch("dc_panel_switch", "on")
    bench.run_tap(10)
    bench.do("gas pressure", tap="heater")
    note("The same tap, the same burner, and now the pressure stands under load. That is the proof.")
    return bench, tuple(steps_of(order, bench, why))
