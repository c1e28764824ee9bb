"""The worked example of lesson 8: an orange flame, from the complaint to the proof, with the faults still possible."""

from __future__ import annotations

import json

from tankside.bench import Bench
from tankside.case import as_found, draw_case, symptom
from tankside.diagnosis.candidates import candidates
from tankside.faults.complaints import wordings
from tankside.lessons.worked import Step
from tankside.practice import lesson_order
from tankside.streams import Stream
from tankside.workorder import WorkOrder

MODEL, FAULT = "pintail_10", "tube-web"
SCOPE = (
    "tube-web", "tube-nest", "burner-askew", "burner-rusted", "shutter-closed", "shutter-open", "flue-blocked",
    "flue-sooted", "air-starved", "baffle-missing", "regulator-low", "regulator-high", "orifice-too-large",
    "orifice-too-small", "orifice-blocked", "hose-kinked", "no-fault",
)  # fmt: skip
"""What could be wrong with flame, air, flue and gas pressure of this heater."""
LEAST = 0.6
"""How far the web must have gone: far enough that the reading is over both limits."""


def web_order() -> WorkOrder:
    """The first order of a fixed row whose heater has a bad web; any fault of the scope could have come."""
    for number in range(1, 500):
        order = lesson_order(FAULT, MODEL, number).model_copy(update={"scope": SCOPE})
        case = draw_case(order.model, order.scope, order.seed)
        if case.fault.id == FAULT and case.severity > LEAST:
            words = Stream(order.seed, "wording").choice(wordings(symptom(as_found(case)), case.model))
            return order.model_copy(update={"complaint": words.text, "fits": words.fits})
    raise AssertionError(f"none of 500 draws gave {FAULT}")


def web_example() -> list[Step]:
    """The example worked on a bench, step by step."""
    order = web_order()
    bench = Bench(order)
    why: dict[int, str] = {0: "The complaint alone leaves what can spoil a flame."}

    def note(words: str) -> None:
        why[len(bench.entries) - 1] = words

    bench.do("room air")
    note("Your own air first. Had it shown CO: out, and everybody with you.")
    bench.open_cover("burner-bay")
    bench.do("sniff", place="burner-bay")
    note("Nose next. No gas, so the burner may run for the test.")
    bench.run_tap(10)
    bench.do("look at flame")
    note("Orange and soft: too little primary air. What keeps the air out, you don't know yet.")
    bench.do("flue gas")
    note(
        "CO is far over the limits. Yet the O2 is normal: flue and grille let enough air through. So look at the tube."
    )
    bench.do("gas pressure", tap="heater")
    note("The pressure is right. More gas isn't the cause.")
    bench.switch("dc_panel_switch", "off")
    bench.switch("cylinder", "shut")
    note("Read, understood, so off. Nobody needs this flame for another minute.")
    bench.wait(20)
    note("The flue burns fingers. Let it cool.")
    bench.do("inspect", part="flue")
    note("No soot yet, nothing in the way. It was caught early.")
    bench.do("inspect", part="burner")
    note(
        "There it is: web upon web, as thick as a nest. The shutter stands open and the burner sits straight."
    )
    bench.repair("clean-burner-tube")
    note("Brush it. Air blown at it can drive dirt into the jet.")
    bench.switch("cylinder", "open")
    bench.do("leak test")
    note("A gas joint was open. Prove it tight before there is a flame.")
    bench.do("sniff", place="burner-bay")
    bench.switch("dc_panel_switch", "on")
    bench.run_tap(5)
    bench.do("look at flame")
    note("Blue, with its steady sound. Eyes are not proof, so go on.")
    bench.do("flue gas")
    note("This is the proof: CO is down, O2 as before. Write both lines into the report.")
    bench.do("soap test", part="orifice")
    note("This thread has gas behind it only while the burner runs.")
    found = candidates(order, [json.dumps(entry, ensure_ascii=False) for entry in bench.entries])
    return [
        Step(line, _short(bench.entries[line]["text"]), words, len(found.history[line]))
        for line, words in sorted(why.items())
    ]


def _short(text: str) -> str:
    """Without what the leak test says of a pilot, which this heater hasn't."""
    return text.partition(" Opened the cylinder again")[0]
