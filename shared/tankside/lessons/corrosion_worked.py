"""The worked example of lesson 10: a rod that looks like new, and what repairing it is worth, by the years it did nothing."""

from __future__ import annotations

import json
from functools import cache
from typing import Any

from tankside.bench import Bench
from tankside.case import as_found, draw_case, symptom
from tankside.diagnosis.candidates import candidates
from tankside.faults.complaints import wordings
from tankside.heater.corrosion import wear
from tankside.heater.unit import Unit
from tankside.lessons.pages import table
from tankside.lessons.worked import Step
from tankside.notebook import Page
from tankside.practice import lesson_order
from tankside.questions.anode_ways import WARM, Fate, fate, in_water, tank, years
from tankside.quoting import Choice, load_prices, quote, repair_or_replace, replacement
from tankside.streams import Stream
from tankside.workorder import WorkOrder

MODEL, FAULT, REMEDY = "grebe_12", "anode-insulated", "clean-anode-thread"
SCOPE = (
    "anode-used-up", "anode-half-used", "anode-passive", "anode-insulated", "anode-joint-leaks", "anode-aluminium",
    "anode-zinc", "anode-missing", "anode-thin", "water-softened", "lining-bare", "tank-perforated", "tank-seam-leaks",
    "sediment", "jacket-wet", "relief-weeps", "no-fault",
)  # fmt: skip
"""What could be wrong with rod and tank of a heater that is due for its check."""


@cache
def insulated_order() -> WorkOrder:
    """The first order of a fixed row whose rod is insulated; any fault of the scope could have come."""
    for number in range(1, 500):
        order = lesson_order(FAULT, MODEL, number).model_copy(update={"scope": SCOPE})
        case = draw_case(order.model, order.scope, order.seed)
        if case.fault.id == FAULT:
            said = [w for w in wordings(symptom(as_found(case)), case.model) if "anode" in w.text]
            words = Stream(order.seed, "wording").choice(said)
            return order.model_copy(update={"complaint": words.text, "fits": words.fits})
    raise AssertionError(f"none of 500 draws gave {FAULT}")


@cache
def _worked() -> tuple[Bench, dict[int, str]]:
    bench = Bench(insulated_order())
    why: dict[int, str] = {
        0: "A heater that heats. What is wrong with a rod hurts nobody today, so nobody calls. It has to be looked for."
    }

    def note(words: str) -> None:
        why[len(bench.entries) - 1] = words

    bench.do("water test")
    note("First the water. It conducts well and isn't softened: a rod in it has to work.")
    bench.run_tap(30)
    bench.switch("breaker", "off")
    bench.lock_out()
    note("Off and locked first. An element that is switched on dry burns out.")
    bench.run_tap(30)
    bench.temperature()
    note("Cool now. So nobody is scalded by the drain.")
    bench.open_cover("heater-front")
    bench.do("catch drips")
    note("Dry at the plug, under the tank and at the relief valve: what leaks is out.")
    bench.prove_meter()
    bench.prove_dead("heater-front")
    note("Live, dead, live: nothing is live where hands and leads go.")
    bench.drain()
    note("Empty, so nothing pushes on the plug.")
    bench.meter("Ω")
    bench.zero_leads()
    bench.probe("anode.head", "tank.shell")
    note(
        "Rod to tank, before the plug is touched. It ought to be a short. No current can come through that thread."
    )
    bench.do("look at anode")
    note("As thick as a new one, no skin, and it weighs like magnesium. A fine rod that did nothing.")
    bench.do("lamp in tank")
    note("Here the steel is still whole. Note it down: how deep, and when.")
    bench.repair(REMEDY)
    bench.probe("anode.head", "tank.shell")
    note(
        "The thread is bright metal, with a little sealant near its end only. Now it is a short: the rod is on duty."
    )
    bench.fill()
    bench.do("catch drips")
    note("Full, without air, and dry at the plug. Only now may the mains come on.")
    return bench, why


def insulated_example() -> tuple[Step, ...]:
    """The example worked on a bench, step by step."""
    bench, why = _worked()
    found = candidates(bench.order, [json.dumps(entry, ensure_ascii=False) for entry in bench.entries])
    return tuple(
        Step(line, bench.entries[line]["text"], words, len(found.history[line]))
        for line, words in sorted(why.items())
    )


def _entry(verb: str) -> dict[str, Any]:
    bench, _ = _worked()
    return next(entry for entry in bench.entries if entry["verb"] == verb)


def here(**changes: float) -> Unit:
    """A tank on the water that the strip and the meter of the example showed, with the bare steel that the lamp showed."""
    water, lamp = _entry("water test"), _entry("lamp in tank")
    site = in_water(
        float(water["result"]["readings"][0]["reading"]["value"]), float(water["result"]["hardness"])
    )
    bare = float(lamp["result"]["readings"][1]["reading"]["value"]) / 1e4
    return tank(
        {**site, "vessel.bare_area": bare, **{key.replace("__", "."): v for key, v in changes.items()}}
    )


def testing_minutes() -> float:
    """Minutes of the example up to the look at the rod."""
    return float(_entry("lamp in tank")["at"])


@cache
def unmended() -> Fate:
    """The fate of a new tank on this water, if nobody ever looks."""
    return fate(here())


@cache
def choice(pit: float, remedy: str) -> Choice:
    """Repair or new, for a tank whose deepest pit has gone so far; each until it is through if nobody looks again."""
    repaired = fate(here(vessel__pit=pit)).through if pit < 1.0 else 0.0
    price = quote([remedy], testing_minutes())
    return repair_or_replace(price, repaired, replacement(tank().model), unmended().through)


@cache
def pit_after(age: float, insulated: bool) -> float:
    """Share of the wall that is eaten after so many years without a look."""
    unit = here(anode_thread__resistance=2e5) if insulated else here()
    return float(wear(unit, age, WARM, 1 / 12).pit[-1])


CASES = tuple(
    (insulated, float(age)) for insulated, ages in ((True, (1, 2, 3)), (False, (3, 4, 5))) for age in ages
)


def worth_it() -> Page:
    """Repair or replace by age and by what was found."""
    rows = []
    prices = load_prices()
    for insulated, age in CASES:
        pit = pit_after(age, insulated)
        found = choice(pit, REMEDY if insulated else "replace-anode")
        through = pit >= 1.0
        rows.append(
            (
                f"{12 * age:.0f} months, rod {'insulated' if insulated else 'used up'}",
                "through" if through else f"{100 * pit:.0f} % of the wall",
                "no repair" if through else prices.money(found.repair.total),
                "–" if through else years(found.years_repaired),
                "–" if through else prices.money(found.repair_a_year),
                prices.money(found.new_a_year),
                "replace" if through else found.better,
            )
        )
    head = ("found after", "deepest pit", "repair", "buys", "a year", "new heater, a year", "cheaper")
    rod = quote(["replace-anode"], 0.0)
    lives = unmended()
    pays = choice(0.0, "replace-anode")
    note = (
        f"{tank().model.plate.name} on this water. 'Buys': until it is through if nobody ever looks again; a new heater: {years(lives.through)}. "
        f"A repair with a new rod pays if the tank then holds {12 * pays.repair.total / pays.new_a_year:.0f} months. With a new rod each "
        f"{years(lives.life)}, {prices.money(rod.total / lives.life)} a year, the steel is kept. Prices are those of an invented workshop; "
        f"{testing_minutes():.0f} minutes of testing are in each repair."
    )
    return table("Repair or replace", head, rows, note)
