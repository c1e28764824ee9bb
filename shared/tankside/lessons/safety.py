"""What lesson 1 computes: each function works a bench and shows what came of it. No number is typed in."""

from __future__ import annotations

from tankside.bench import Bench
from tankside.bench.terminals import BODY, FELT, LIVE_ABOVE, Terminals
from tankside.heater.model import load_model
from tankside.instruments.multimeter import INPUT_CAPACITANCE, INPUT_RESISTANCE
from tankside.lessons.pages import reveal, say, shown, steps, table, together, written
from tankside.lessons.printed import meter_in_the_way as meter_in_the_way
from tankside.lessons.safety_drawings import ghost_wire, live_dead_live, three_pairs
from tankside.measures import amount
from tankside.notebook import Page, plain_bench
from tankside.physics.hot_water import scald_time
from tankside.units import quantity, significant

MODEL = "heron_6"
COVERS = ("panel", "junction-box", "heater-front")
OUTLET = (("supply.hot", "supply.neutral"), ("supply.hot", "supply.ground"), ("supply.neutral", "supply.ground"))  # fmt: skip
PAIRS = ("hot to neutral", "hot to ground", "neutral to ground")
GRIPS = 10e-3
"""A through a person at which the hand can't let go (the order of IEC 60479-1; from memory)."""
STOPS = 40e-3
"""A through a person at which the heart may fibrillate when it lasts (the order of IEC 60479-1; from memory)."""
LOW_INPUT = 3e3
"""Ω of a two-pole tester that loads what it measures (the order of common ones; from memory)."""


def shock() -> Page:
    """What the heater's mains would send through a person, and what its hot water does to skin."""
    bench = _heating()
    touch = 1000 * float(Terminals(bench.state.unit).touch("element.1")[0])
    felt = 1000 * FELT
    hot = load_model(MODEL).nominal["thermostat.opens_at"]
    seconds = scald_time(quantity(hot, "degC")).to("s").magnitude
    return say(
        f"**Shock.** Touch the hot end of the element while it heats, with your feet on the ground: about "
        f"**{touch:.0f} mA** go through you. You would feel {felt:.1f} mA. From about {1000 * GRIPS:.0f} mA "
        f"a hand may not let go. From about {1000 * STOPS:.0f} mA the heart may stop within seconds.",
        f"**Scald.** The thermostat lets the water reach {amount(hot, 'degC', 'temperature')}. Water that hot burns a "
        f"grown-up's skin deep in about **{seconds:.0f} seconds**. A child's skin burns faster.",
        f"(A person is taken as {BODY:.0f} Ω, hand to foot. Wet or hurt skin may be far less. Scald tables differ. "
        "Take none of these numbers as safe.)",
        f"**How few volts still hurt?** The bench counts a wire as dangerous to touch from **{LIVE_ABOVE:.0f} V** to earth, "
        "if it can drive a current that you would feel. That is for dry, whole skin, and it is the bench's limit. Below it you go without protection "
        "**only where your local code says so**. A 12 V battery gives dry hands no shock, but a ring across it burns a finger.",
    )


def outlet() -> Page:
    """The three pairs at the outlet of a healthy heater while it heats."""
    bench = _heating()
    readings = [shown(bench, a, b) for a, b in OUTLET]
    touch = Terminals(bench.state.unit)
    live = [float(touch.touch(f"supply.{wire}")[0]) > GRIPS for wire in ("hot", "neutral", "ground")]
    title = "A healthy outlet, heater heating. Orange: live, it could kill you."
    said = f"{title} " + "; ".join(f"{pair} {r}" for pair, r in zip(PAIRS, readings, strict=True))
    return Page(three_pairs(readings, live, title, said), said)


def four_outlets() -> Page:
    """Four outlets: the readings first, what is wrong with each behind a line to press."""
    told = {
        "no-fault": "good",
        "supply-low": "low supply: too many users on a long, thin line",
        "polarity-swapped": "hot and neutral swapped: the full volts stand on the neutral",
        "neutral-open": "neutral broken on the site's side: through the element the hot reaches it",
    }
    names = "ABCD"
    rows = []
    for name, fault in zip(
        names, ("supply-low", "no-fault", "neutral-open", "polarity-swapped"), strict=True
    ):
        bench = _heating(fault)
        rows.append((name, *(shown(bench, a, b) for a, b in OUTLET), told[fault]))
    readings = table("Four outlets, heater switched on", ("outlet", *PAIRS), [row[:4] for row in rows])
    answers = table("What is wrong", ("outlet", "it is"), [(row[0], row[4]) for row in rows])
    return together(readings, reveal(answers, "Show what each one is"))


def wrong_function() -> Page:
    """The same live pair on every function of the meter."""
    bench = _heating()
    rows = []
    for function in bench.view()["meter"]["functions"]:
        bench.meter(function["id"])
        reading = bench.probe("element.1", "element.2").readings[0]
        looks = "the truth" if function["id"] == "V~" else "dead, and it is live" if reading["value"] == 0 else "a warning, no number"  # fmt: skip
        rows.append((function["name"], written(reading), looks))
    return reveal(
        table("One live pair, four functions", ("meter set to", "it shows", "it looks like"), rows),
        "Show what the meter read",
    )


def proof() -> Page:
    """Live, dead, live behind the heater's front cover, isolated and locked."""
    bench = _isolated()
    result = bench.prove_dead("heater-front").entry["result"]
    known = written(result["known"])
    found = [(pair, written(item["reading"])) for pair, item in zip(PAIRS, result["readings"], strict=True)]
    title = "Live, dead, live: breaker off, plug out, lock on."
    said = (
        f"{title} Proving unit {known}; "
        + "; ".join(f"{p} {r}" for p, r in found)
        + f"; proving unit {known}."
    )
    return Page(live_dead_live((known, known), found, title, said), said)


def worked() -> Page:
    """A healthy heater taken from live to proven dead and back, line by line of the log."""
    bench = plain_bench("no-fault", MODEL)
    why: dict[int, str] = {}

    def note(words: str) -> None:
        why[len(bench.entries) - 1] = words

    bench.look()
    note("Eyes first: what is on, what is off?")
    bench.prove_meter()
    note("The meter can show volts. Now its word counts.")
    for (a, b), words in zip(
        OUTLET,
        ("Full volts: the site feeds us.", "The same to ground: hot is where it belongs.", "Next to nothing: neutral is neutral."),
        strict=True,
    ):  # fmt: skip
        bench.probe(a, b)
        note(words)
    bench.switch("breaker", "off")
    note("First the breaker: it takes the load off the plug.")
    bench.switch("supply", "out")
    note("The plug opens hot and neutral both. A breaker opens one wire.")
    bench.lock_out("supply")
    note("Your lock, your key. Nobody plugs it in while you work.")
    bench.open_cover("heater-front")
    note("Cover off, hands still out.")
    bench.prove_dead("heater-front")
    note("Live, dead, live, three pairs. Now hands may go in.")
    bench.close_cover("heater-front")
    note("Everything back before the power.")
    bench.unlock()
    note("The one who put the lock on takes it off.")
    bench.switch("supply", "in")
    note("And back again: plug first, nothing drawn.")
    bench.switch("breaker", "on")
    note("Then the breaker.")
    bench.run_tap(15)
    note("Cold water in, so that the thermostat calls.")
    bench.prove_operation()
    note("The job ends when it heats, not when the cover is on.")
    clock = bench.state.clock
    return table(
        "Worked example: from live to proven dead, and back",
        ("log line", "done, and what it showed", "why"),
        steps(bench, why),
        f"By the bench's clock the whole visit took {clock:.0f} minutes. The proof itself took "
        f"{next(e['minutes'] for e in bench.entries if e['verb'] == 'prove dead'):.0f}.",
    )


def switched_off() -> Page:
    """The heater's own switch off: is the element dead? For three supplies."""
    rows = []
    for name, fault in (
        ("wired right", "no-fault"),
        ("hot and neutral swapped at the outlet", "polarity-swapped"),
        ("neutral broken ahead of the heater", "neutral-open"),
    ):
        bench = _heating(fault)
        bench.switch("heater_switch", "off")
        touch = Terminals(bench.state.unit)
        felt = [end for end in ("element.1", "element.2") if touch.live(end)]
        rows.append(
            (
                name,
                shown(bench, "element.1", "element.2"),
                shown(bench, "element.1", "tank.shell"),
                "you would feel it" if felt else "not felt",
                "live" if touch.live("heater_switch.line") else "dead",
            )
        )
    head = ("supply", "across the element", "element to tank", "hand on the element", "wire up to the switch")
    return reveal(table("Switch on the heater: OFF", head, rows), "Show the three heaters")


def ghost() -> Page:
    """Volts on a cut-off wire, read with a meter that takes almost nothing and with a tester that loads it."""
    model = load_model(MODEL)
    length = next(c.length for c in model.data.cable if set(c.wires) == {"W2", "W3"})
    length = amount(model.number("cable.length", length, "m"), "m", "length")
    title = "The panel switch is off. Its wire to the heater runs beside a live one."
    drawing = ghost_wire(
        length, title, f"{title} A meter from the cut-off wire to ground reads volts all the same."
    )
    return Page(drawing, title)


def ghost_readings() -> Page:
    """The three readings that part a ghost from a feed."""
    rows = []
    for name, position in (("panel switch OFF", "off"), ("panel switch ON", "on")):
        bench = _heating()
        bench.switch("heater_switch", "off")
        bench.switch("panel_switch", position)
        pair = ("junction_box.hot_in", "junction_box.ground")
        network = Terminals(bench.state.unit)
        loaded = float(network.alternating(*pair, 1 / LOW_INPUT, 0.0)[0])
        through = 1000 * float(network.alternating(*pair, 1 / BODY, 0.0)[0]) / BODY
        rows.append((name, shown(bench, *pair), f"{loaded:.1f} V", f"{significant(through, 2)} mA"))
    note = (
        f"The meter takes almost nothing: {INPUT_RESISTANCE / 1e6:.0f} MΩ and {INPUT_CAPACITANCE * 1e12:.0f} pF. The tester "
        f"is taken as {LOW_INPUT / 1e3:.0f} kΩ: it draws a little current, and the ghost is gone. You feel about {1000 * FELT:.1f} mA."
    )
    head = ("junction box, hot to ground", "your meter", "a tester with a low input", "through a hand")
    return reveal(table("Ghost or feed?", head, rows, note), "Show the readings")


def _heating(fault: str = "no-fault") -> Bench:
    """A bench with the covers off, the water cool enough that the thermostat calls for heat, the meter on V~."""
    bench = plain_bench(fault, MODEL)
    for place in COVERS:
        bench.open_cover(place)
    bench.run_tap(10)
    bench.meter("V~")
    return bench


def _isolated(fault: str = "no-fault") -> Bench:
    """Breaker off, plug out, lock on."""
    bench = _heating(fault)
    bench.switch("breaker", "off")
    bench.switch("supply", "out")
    bench.lock_out("supply")
    return bench
