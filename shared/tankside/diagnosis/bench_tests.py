"""The tests that a technician can make beside the meter on two terminals: what to do at the bench, in which situation.

Each is a short list of bench actions. What it would show for every fault, what it takes in minutes and which covers
must be off for it is found by doing it (``tankside.diagnosis.table``), not stated here. One test may show several
things at once, as a watched start does: lamp, spark, clicks, flame, volts.

Whatever a test opens or switches, its last actions put back. Before anything lights there is a nose: where gas is
smelt a test ends (``smelt``).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from typing import Any

from tankside.bench.gas_points import JOINTS, LOOKS, TAPS
from tankside.diagnosis.notes import Pairs
from tankside.heater.model import HeaterModel

Step = tuple[str, dict[str, Any]]

AS_FOUND, CALLING, ISOLATED, LIFTED, DRAINED = range(5)
"""Situations, by their place in ``tankside.diagnosis.table.SITUATIONS``."""
CONTACTS = ("fuse", "12 V panel switch", "12 V thermostat", "12 V link bar", "12 V high limit")


@dataclass(frozen=True)
class BenchTest:
    """One test in words, its situation and its actions; ``pairs`` are where the meter's leads may stand meanwhile."""

    name: str
    situation: int
    steps: tuple[Step, ...]
    pairs: Pairs = ()

    def on(self, red: str, black: str) -> tuple[Step, ...]:
        """The actions with the leads on one of the pairs."""
        ends = {"red": red, "black": black}
        return tuple(
            (verb, {**args, **ends} if verb == "probe" or args.get("meter") == "volts" else args)
            for verb, args in self.steps
        )


@cache
def bench_tests(model: HeaterModel) -> tuple[BenchTest, ...]:
    """Every such test on a model; none on one that has only the mains side."""
    return (*_water(model), *_ignition(model), *_pilot(model), *_gas(model))


def _one(situation: int, name: str, verb: str, **args: Any) -> BenchTest:
    return BenchTest(name, situation, ((verb, args),))


def _water(model: HeaterModel) -> Iterator[BenchTest]:
    if not model.of_type("cold inlet"):
        return
    yield _one(AS_FOUND, "follow the water lines and the bypass", "trace lines")
    yield _one(AS_FOUND, "feel the hot line at rest", "feel hot line")
    yield _one(AS_FOUND, "feel the jacket", "feel jacket")
    yield _one(AS_FOUND, "listen to the tank", "listen to tank")
    yield _one(AS_FOUND, "catch drips under relief pipe, plug and tank", "catch drips")
    yield _one(AS_FOUND, "measure the water pressure", "water pressure")
    yield _one(AS_FOUND, "bucket and thermometer at the cold tap", "tap test", tap="cold")
    yield _one(AS_FOUND, "bucket and thermometer at the hot tap", "tap test", tap="hot")
    yield _one(AS_FOUND, "shut the heater's cold and open a hot tap", "shut-off test")
    yield _one(AS_FOUND, "hardness strip and conductivity of the cold water", "water test")
    yield _one(CALLING, "listen to the tank while it heats", "listen to tank")
    yield _one(CALLING, "hardness strip and conductivity, tap run cold", "water test")
    yield _one(CALLING, "open the drain cock", "drain flow")
    yield _one(CALLING, "lift the relief valve's lever", "lift relief lever")
    yield _one(CALLING, "test the air cushion", "cushion test")
    for _ in model.of_type("anode"):
        yield _one(DRAINED, "take the anode out and look", "look at anode")
    yield _one(DRAINED, "lamp in the tank", "lamp in tank")
    yield _one(DRAINED, "take the check valve out and look", "look at check valve")
    yield _one(DRAINED, "relief valve on the stand", "relief on the stand")


def dc_switch(model: HeaterModel, position: str) -> Iterator[Step]:
    """The 12 V side on or off at its panel switch."""
    for part in model.of_type("12 V panel switch"):
        yield "switch", {"part": part, "position": position}


def dc_loaded_pairs(model: HeaterModel) -> Pairs:
    """Where direct volts are looked for while the 12 V side is under load: along the way in, and across what may lose them."""
    out: list[tuple[str, str]] = []
    returns = [f"{part}.minus" for part in model.of_type("battery")]
    parts = [part for kind in CONTACTS for part in model.of_type(kind)]
    for part in model.of_type("battery"):
        out.append((f"{part}.plus", f"{part}.minus"))
    for part in parts:
        out += [(f"{part}.load", back) for back in returns]
        out.append((f"{part}.line", f"{part}.load"))
    for part in model.of_type("harness plug"):
        out += [(f"{part}.supply_in", back) for back in returns]
        out += [(f"{part}.supply_out", back) for back in returns]
        out.append((f"{part}.supply_in", f"{part}.supply_out"))
    for part in model.of_type("ground stud"):
        out.append((f"{part}.heater", f"{part}.return"))
    for part in model.of_type("control board"):
        out += [(f"{part}.supply", f"{part}.ground"), (f"{part}.valve", f"{part}.ground")]
    for part in model.of_type("gas valve"):
        out += [(f"{part}.coil_1", f"{part}.ground"), (f"{part}.coil_2", f"{part}.ground")]
    return tuple(out)


def dc_dead_pairs(model: HeaterModel) -> Pairs:
    """Where ohms are measured with the 12 V side off: across contacts, the plug, the stud, lamp, coils and pilot circuit."""
    kinds = (*(kind for kind in CONTACTS if kind != "12 V panel switch"), "pilot high limit")
    out = [(f"{part}.line", f"{part}.load") for kind in kinds for part in model.of_type(kind)]
    for part in model.of_type("12 V panel switch"):
        out.append((f"{part}.lamp", f"{part}.ground"))
        out += [(f"{part}.load", f"{plug}.supply_in") for plug in model.of_type("harness plug")]
    for part in model.of_type("harness plug"):
        out += [(f"{part}.supply_in", f"{part}.supply_out"), (f"{part}.lamp_in", f"{part}.lamp_out")]
    for part in model.of_type("ground stud"):
        out.append((f"{part}.heater", f"{part}.return"))
    for part in model.of_type("flame sensor"):
        out.append((f"{part}.burner", f"{part}.bracket"))
    return tuple(out)


def sniff_first(model: HeaterModel) -> tuple[Step, ...]:
    """Smell for gas at the burner, where there is gas."""
    if not model.of_type("gas cylinder"):
        return ()
    return tuple(("sniff", {"place": model.parts[part].place}) for part in model.of_type("burner"))


def _ignition(model: HeaterModel) -> Iterator[BenchTest]:
    if not model.of_type("control board"):
        return
    nose = sniff_first(model)
    off, on = tuple(dc_switch(model, "off")), (*nose, *dc_switch(model, "on"))
    contacts = tuple(
        (f"{part}.line", f"{part}.load")
        for kind in (CONTACTS[0], *CONTACTS[2:])
        for part in model.of_type(kind)
    )
    if contacts:
        ohms, volts = (("meter", {"function": function}) for function in ("Ω", "V~"))
        steps: tuple[Step, ...] = (*off, ohms, ("probe", {}), volts, *on)
        yield BenchTest("12 V off, ohms", AS_FOUND, steps, contacts)
    flame: tuple[Step, ...] = (*nose, ("watch start", {"meter": "flame"}))
    yield BenchTest("watch a start, microammeter in the flame rod's lead", CALLING, flame)
    pairs = dc_loaded_pairs(model)
    yield BenchTest("watch a start, volts", CALLING, (*nose, ("watch start", {"meter": "volts"})), pairs)
    out = tuple(("switch", {"part": part, "position": "out"}) for part in model.of_type("mains supply"))
    back = tuple(("switch", {"part": part, "position": "in"}) for part in model.of_type("mains supply"))
    battery = tuple((f"{part}.plus", f"{part}.minus") for part in model.of_type("battery"))
    if out:
        steps = (*out, *nose, ("watch start", {"meter": "volts"}), *back)
        yield BenchTest("plug out, watch a start on the battery alone, volts", CALLING, steps, battery)
    for board in model.of_type("control board"):
        yield _one(ISOLATED, "control board on its test set", "board test", part=board)
    for _ in model.of_type("igniter"):
        yield _one(ISOLATED, "feeler gauge in the igniter's gap", "gap gauge")
    for _ in model.of_type("gas valve"):
        yield _one(ISOLATED, "bubble test behind the shut gas valve", "bubble test")
    yield from _lifted_leads(model, off, on)


def _lifted_leads(model: HeaterModel, off: tuple[Step, ...], on: tuple[Step, ...]) -> Iterator[BenchTest]:
    """Lead by lead: lift it, measure along it and what hangs on it, put it back."""
    ohms: Step = ("meter", {"function": "Ω"})
    on_lead: dict[str, list[Step]] = {
        "coil_jumper": [
            ("probe", {"red": f"{v}.{coil}", "black": f"{v}.ground"})
            for v in model.of_type("gas valve")
            for coil in ("coil_1", "coil_2")
        ],
        "valve_lead": [],
        "board_lead": [],
        "hv_lead": [
            ("insulation test", {"red": f"{i}.electrode", "black": f"{i}.bracket"})
            for i in model.of_type("igniter")
        ],
        "sense_lead": [
            ("insulation test", {"red": f"{s}.rod", "black": f"{s}.burner"})
            for s in model.of_type("flame sensor")
        ],
    }
    for wire, tests in on_lead.items():
        if wire not in model.wires:
            continue
        along: Step = ("probe", {"red": model.wires[wire].from_, "black": f"{wire}.end"})
        steps = (ohms, ("lift lead", {"wire": wire}), along, *tests, ("land lead", {"wire": wire}))
        yield BenchTest(
            f"lift the {model.wires[wire].name} and measure it and what hangs on it", ISOLATED, steps
        )
    if "coil_jumper" in model.wires:
        lifted = ("lift lead", {"wire": "coil_jumper"}), ("land lead", {"wire": "coil_jumper"})
        steps = (lifted[0], *on, ("watch start", {"meter": "none"}), *off, lifted[1])
        yield BenchTest("lift the second solenoid's lead and listen to a start", ISOLATED, steps)


def _pilot(model: HeaterModel) -> Iterator[BenchTest]:
    for valve in model.of_type("pilot gas valve"):
        yield _one(CALLING, "light the pilot and look", "light pilot")
        yield _one(CALLING, "millivolts of the thermocouple, loaded and open", "thermocouple test")
        yield _one(ISOLATED, "bubble test behind the shut gas valve", "bubble test")
        if "tc_lead" in model.wires:
            steps: tuple[Step, ...] = (
                ("meter", {"function": "Ω"}),
                ("lift lead", {"wire": "tc_lead"}),
                ("probe", {"red": f"{valve}.magnet", "black": f"{valve}.body"}),
                ("land lead", {"wire": "tc_lead"}),
            )
            yield BenchTest("lift the thermocouple's lead, ohms of the magnet", ISOLATED, steps)


def _gas(model: HeaterModel) -> Iterator[BenchTest]:
    if not model.of_type("gas cylinder") or not model.of_type("burner"):
        return
    name = {part: record.name for part, record in model.parts.items()}
    for place in dict.fromkeys(model.parts[part].place for part in ("cylinder", "gas_cock", "burner")):
        yield _one(AS_FOUND, f"smell for gas at {model.places[place].name}", "sniff", place=place)
    yield _one(AS_FOUND, "weigh the cylinder", "weigh cylinder")
    yield _one(AS_FOUND, "altitude, against the orifice's label", "altitude")
    yield _one(AS_FOUND, "carbon monoxide in the cabin's air", "room air")
    for tap, where in TAPS.items():
        for draw, words in (("no", ""), ("yes", ", with as much gas led outdoors as the burner takes")):
            yield _one(AS_FOUND, f"gas pressure {where.words}{words}", "gas pressure", tap=tap, draw=draw)
        yield _one(CALLING, f"gas pressure {where.words}, burner called", "gas pressure", tap=tap, draw="no")
        yield _one(ISOLATED, f"gas pressure {where.words}, burner off", "gas pressure", tap=tap, draw="no")
    for part in JOINTS:
        if part != "orifice":
            yield _one(AS_FOUND, f"soap on {JOINTS[part]}", "soap test", part=part)
    yield _one(CALLING, f"soap on {JOINTS['orifice']}", "soap test", part="orifice")
    yield _one(AS_FOUND, "look at the flame", "look at flame")
    yield _one(CALLING, "look at the flame, burner called", "look at flame")
    yield _one(CALLING, "flue-gas analyzer in the flue", "flue gas")
    for part, look in LOOKS.items():
        if look.apart:
            shut, opened = (("switch", {"part": "cylinder", "position": to}) for to in ("shut", "open"))
            steps: tuple[Step, ...] = (shut, ("inspect", {"part": part}), opened)
            yield BenchTest(f"gas shut, burner out: look at the {name[part]}", ISOLATED, steps)
        else:
            yield _one(AS_FOUND, f"look closely at the {name[part]}", "inspect", part=part)
    for valve in model.of_type("hand gas valve"):
        knob = {position: ("switch", {"part": valve, "position": position}) for position in ("off", "on")}
        light: tuple[Step, ...] = (knob["off"], *sniff_first(model), knob["on"], ("light", {}))
        yield BenchTest("valve off, smell, valve on, light the pilot", AS_FOUND, light)
    yield _one(ISOLATED, "close the line and watch its pressure", "leak test")
