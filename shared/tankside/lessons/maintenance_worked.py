"""The worked example of lesson 11: a yearly visit on a heater that heats, with its bill and its plan."""

from __future__ import annotations

import json
from collections.abc import Callable
from functools import cache
from typing import Any

from tankside.bench import Bench
from tankside.case import as_found, draw_case, symptom
from tankside.diagnosis.candidates import candidates
from tankside.faults.complaints import wordings
from tankside.heater.unit import Unit
from tankside.lessons.worked import Step, notes_of
from tankside.practice import lesson_order
from tankside.questions.anode_ways import Fate, fate, in_water, tank
from tankside.quoting import Quote, quote
from tankside.streams import Stream
from tankside.workorder import WorkOrder

MODEL, FAULT, REMEDY = "plover_12", "anode-half-used", "replace-anode"
SCOPE = (
    "anode-used-up", "anode-half-used", "anode-passive", "anode-insulated", "anode-joint-leaks", "anode-missing",
    "sediment", "relief-weeps", "relief-seized", "jacket-wet", "rod-fouled", "flue-sooted", "hose-leaks", "no-fault",
)  # fmt: skip
"""What a yearly visit can turn up on a heater that heats, as far as this lesson goes."""


@cache
def visit_order() -> WorkOrder:
    """The first order of a fixed row whose rod is more than half used; any fault of the scope could have come."""
    for number in range(1, 800):
        order = lesson_order(FAULT, MODEL, number).model_copy(update={"scope": SCOPE})
        case = draw_case(order.model, order.scope, order.seed)
        if case.fault.id == FAULT:
            said = [w for w in wordings(symptom(as_found(case)), case.model) if "anode" in w.text]
            words = Stream(order.seed, "wording").choice(said)
            return order.model_copy(update={"complaint": words.text, "fits": words.fits})
    raise AssertionError(f"none of 800 draws gave {FAULT}")


@cache
def visit() -> tuple[Bench, dict[int, str]]:
    """The bench after the visit, and the reason for each line that has one."""
    bench = Bench(visit_order())
    why, note = notes_of(bench)
    why[0] = "It heats, and nobody complains. So the round itself has to find what there is."
    _outside(bench, note)
    _running(bench, note)
    _wet(bench, note)
    _back(bench, note)
    return bench, why


def _outside(bench: Bench, note: Callable[[str], None]) -> None:
    bench.look()
    note("Everything is on. Write down how you found it, so that you can leave it so.")
    bench.do("sniff", place="gas-locker")
    bench.do("sniff", place="outside")
    bench.do("room air")
    note("Nose and cabin first. With a smell, or carbon monoxide, the round would end here.")
    bench.do("inspect", part="flue")
    bench.do("inspect", part="hose")
    note("Flue, grille and hose with the eyes. It costs minutes and no part.")
    bench.do("weigh cylinder")


def _running(bench: Bench, note: Callable[[str], None]) -> None:
    bench.open_cover("burner-bay")
    bench.do("sniff", place="burner-bay")
    bench.run_tap(12)
    bench.do("watch start", meter="flame")
    note(
        "It lights at the first try. The current of the flame rod goes into the record: next year it is compared."
    )
    bench.do("look at flame")
    bench.do("gas pressure", tap="heater")
    bench.do("flue gas")
    note("Steady and blue, pressure at the valve, little carbon monoxide. Gas and air are good.")
    bench.do("water test")
    note("The water tells what to expect of the rod, before it is seen.")


def _wet(bench: Bench, note: Callable[[str], None]) -> None:
    bench.switch("dc_panel_switch", "off")
    bench.switch("gas_cock", "shut")
    bench.switch("breaker", "off")
    bench.lock_out()
    bench.run_tap(20)
    bench.temperature()
    note(
        "Gas shut, 12 V off, mains off and locked. Then it cools through the tap. Only now comes the wet part."
    )
    bench.open_cover("heater-front")
    bench.do("catch drips")
    bench.do("feel jacket")
    note("Dry everywhere, jacket sound. A leak would count for more than any rod.")
    bench.prove_meter()
    bench.prove_dead("heater-front")
    bench.do("lift relief lever")
    note("The relief valve opens, and shuts again. That is tried with cool water.")
    bench.drain()
    bench.meter("Ω")
    bench.zero_leads()
    bench.probe("anode.head", "tank.shell")
    note("A short, as it should be. So the rod was on duty.")
    bench.do("look at anode")
    note("Thin. Compare it with a new one, and with the wire inside. That is what this visit was for.")
    bench.do("lamp in tank")
    note("No mud, no pits: the rod came in time.")


def _back(bench: Bench, note: Callable[[str], None]) -> None:
    bench.repair(REMEDY)
    bench.probe("anode.head", "tank.shell")
    note("It is drained and open anyway. A new rod now, and a short again.")
    bench.fill()
    bench.do("catch drips")
    note("Full and without air, dry at the plug and at the relief valve.")
    bench.close_cover("heater-front")
    bench.unlock()
    bench.switch("breaker", "on")
    bench.switch("gas_cock", "open")
    bench.do("soap test", part="gas_cock")
    bench.do("sniff", place="burner-bay")
    bench.close_cover("burner-bay")
    bench.switch("dc_panel_switch", "on")
    bench.prove_operation()
    note("Tight, closed, unlocked, on as it was found. And proven: it heats.")


@cache
def visit_example() -> tuple[Step, ...]:
    """The visit, step by step, with the faults of the scope that could still have shown all this."""
    bench, why = visit()
    found = candidates(bench.order, [json.dumps(entry, ensure_ascii=False) for entry in bench.entries])
    return tuple(
        Step(line, bench.entries[line]["text"], words, len(found.history[line]))
        for line, words in sorted(why.items())
    )


def entry(verb: str, last: bool = False) -> dict[str, Any]:
    """The first line of the visit's log with that verb, or the last."""
    bench, _ = visit()
    lines = [e for e in bench.entries if e["verb"] == verb]
    return lines[-1 if last else 0]


def minutes_without_repair() -> float:
    """min of the visit, without the repair itself."""
    bench, _ = visit()
    return sum(float(e["minutes"]) for e in bench.entries if e["verb"] != "repair")


def minutes_again() -> float:
    """min of another visit only for the rod: isolating, draining, filling, proving."""
    bench, _ = visit()
    lines = bench.entries
    first = next(k for k, e in enumerate(lines) if e["verb"] == "switch")
    skipped = ("repair", "look at anode", "lamp in tank", "feel jacket", "lift relief lever")
    return sum(float(e["minutes"]) for e in lines[first:] if e["verb"] not in skipped)


def on_this_water(**changes: float) -> Unit:
    """A tank of this model on the water that strip and meter showed."""
    found = entry("water test")["result"]
    site = in_water(float(found["readings"][0]["reading"]["value"]), float(found["hardness"]))
    return tank({**site, **{key.replace("__", "."): value for key, value in changes.items()}}, model=MODEL)


def old_rod_across() -> float:
    """m that the caliper showed."""
    return float(entry("look at anode")["result"]["readings"][0]["reading"]["value"]) / 1e3


def share_left() -> float:
    """Share of the metal that is left on the old rod, by the caliper."""
    unit = on_this_water()
    new, core = float(unit["anode.radius"][0]), float(unit["anode.core"][0])
    return ((old_rod_across() / 2) ** 2 - core**2) / (new**2 - core**2)


@cache
def fate_of_old() -> Fate:
    """What would become of rod and tank, had the old rod gone back in."""
    return fate(on_this_water(anode__used=1.0 - share_left()))


@cache
def fate_of_new() -> Fate:
    """What will become of rod and tank with the new rod, if nobody looks again."""
    return fate(on_this_water())


def bills() -> tuple[Quote, Quote, Quote]:
    """The visit with the rod, the visit without it, and coming again for the rod."""
    testing = minutes_without_repair()
    return quote([REMEDY], testing), quote([], testing), quote([REMEDY], minutes_again())
