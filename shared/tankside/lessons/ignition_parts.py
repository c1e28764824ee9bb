"""Pages of lesson 6 on single parts: the spark's gap, what tells the no-spark faults apart, the standing pilot."""

from __future__ import annotations

from functools import cache

import numpy as np

from tankside.bench import Bench
from tankside.faults.catalogue import fault_named
from tankside.faults.effects import put_in
from tankside.heater.ignition import spark_kilovolts
from tankside.heater.model import load_model
from tankside.heater.simulation import advance, energise
from tankside.heater.unit import Unit, make_unit
from tankside.lessons.ignition_drawings import Gap, Tip, pilot_chart, spark_chart
from tankside.lessons.pages import reveal, shown, table
from tankside.measures import amount
from tankside.notebook import Page, plain_bench
from tankside.physics.ignition import Law, breakdown_si
from tankside.questions.ignition_starts import cold_unit, pattern_of, start_of

MODEL, PILOT_MODEL = "teal_10", "dipper_6"
BOARD, IGNITER, VALVE, COUPLE = "control_board", "igniter", "gas_valve", "thermocouple"
LIT, WATCHED, STEP = 60.0, 100.0, 0.5


def _in_the_trial(fault: str, severity: float) -> Unit:
    """A unit two thirds of a second into its first trial."""
    unit = cold_unit(MODEL)
    put_in(unit, fault_named(fault), severity)
    energise(unit)
    unit.set("dc_panel_switch.closed", 1.0)
    energise(unit)
    advance(unit, (load_model(MODEL).timing["pre_purge"] + 0.6) / 60.0)
    energise(unit)
    return unit


def gap() -> Page:
    """Kilovolts that a gap needs, and four igniters: which of them lights the gas?"""
    gaps, told = [], []
    for words, fault, severity in (
        ("as it should be", "no-fault", 0.0),
        ("bent too wide", "gap-wide", 0.6),
        ("bent too narrow", "gap-narrow", 0.5),
        ("insulator cracked", "igniter-cracked", 0.5),
    ):
        unit = _in_the_trial(fault, severity)
        wide, kilovolts = float(unit[f"{IGNITER}.gap"][0]), float(spark_kilovolts(unit, BOARD)[0])
        lights = pattern_of(start_of(fault, MODEL, severity, 8.0)).works
        gaps.append(Gap(wide, kilovolts, words, lights))
        verdict = "lights the gas" if lights else "doesn't light"
        told.append(
            f"{words.capitalize()}: {amount(wide, 'mm', 'small length')}, {kilovolts:.1f} kV at the tip, {verdict}"
        )
    across = np.linspace(0.5, 9.0, 35)
    laws: tuple[tuple[str, Law], ...] = (
        ("needed, by the straight line", "straight line"),
        ("needed, by Paschen's law", "Paschen"),
    )
    curves = []
    for name, law in laws:
        needed = np.asarray(breakdown_si(across / 1e3, law=law)) / 1e3
        curves.append(
            (name, [(float(a), float(kv)) for a, kv in zip(across, needed, strict=True) if kv < 25.0])
        )
    quench = load_model(MODEL).nominal[f"{IGNITER}.quench"]
    title = "Above the curves the spark jumps. Orange dots light the gas, gray ones don't."
    said = f"{title} " + "; ".join(told)
    chart = spark_chart(curves, gaps, quench, title, said) + "".join(f"<p>{words}.</p>" for words in told)
    return reveal(Page(chart, said), "Show the four igniters")


def no_spark_tests() -> Page:
    """The four faults that leave no spark, and what four tests show for each."""
    rows = []
    for name, fault in (
        ("gap too wide", "gap-wide"),
        ("insulator cracked", "igniter-cracked"),
        ("high-voltage lead broken", "hv-lead-broken"),
        ("board gives no spark", "board-no-spark"),
    ):
        bench = dead_bench(fault, number=2)
        wide = bench.do("gap gauge").readings[0]["value"]
        lead = shown(bench, f"{BOARD}.spark", f"{IGNITER}.electrode")
        bench.lift("hv_lead")
        insulator = shown(bench, f"{IGNITER}.electrode", f"{IGNITER}.bracket")
        test = bench.do("board test").entry["result"]["facts"]["spark"]
        rows.append(
            (name, amount(wide, "mm", "small length"), lead, insulator, "spark" if test else "NO spark")
        )
    head = (
        "what is wrong",
        "gap gauge",
        "lead, end to end",
        "tip to bracket, lead off",
        "board on its test set",
    )
    note = (
        "12 V off, mains off and locked. Four suspects, four tests: each test finds one. "
        "This lead is made with some kilohms in it, against radio noise. Others have next to none: ask the maker."
    )
    return table("No spark: which of the four?", head, rows, note)


def dead_bench(fault: str, model: str = MODEL, number: int = 1) -> Bench:
    """Covers off, 12 V off, mains off, locked and proven dead, the meter on ohms with its leads zeroed."""
    bench = plain_bench(fault, model, number)
    for place in ("panel", "heater-front", "burner-bay"):
        bench.open_cover(place)
    bench.switch("dc_panel_switch", "off")
    bench.switch("breaker", "off")
    bench.switch("supply", "out")
    bench.lock_out("supply")
    bench.prove_dead("heater-front")
    bench.meter("Ω")
    bench.zero_leads()
    return bench


@cache
def _lit(fault: str, severity: float) -> tuple[list[tuple[float, float]], float | None, float | None]:
    """A pilot lit from cold with the button held, then blown out: (s, mV), when it can be held, when it lets go."""
    unit = make_unit(load_model(PILOT_MODEL))
    put_in(unit, fault_named(fault), severity)
    for part in unit.model.of_type("switch"):
        unit.set(f"{part}.closed", 0.0)
    for key in ("pilot", "held"):
        unit.set(f"{VALVE}.{key}", 0.0)
    unit.set(f"{COUPLE}.tip", float(unit["site.room"][0]))
    unit.set(f"{VALVE}.pressed", 1.0)
    energise(unit)
    unit.set(f"{VALVE}.pilot", 1.0)
    points, holds, drops = [], None, None
    for k in range(round(WATCHED / STEP)):
        now = k * STEP
        if k == round(LIT / STEP):
            unit.set(f"{VALVE}.pressed", 0.0)
            energise(unit)
            unit.set(f"{VALVE}.pilot", 0.0)
        energise(unit)
        held = unit[f"{VALVE}.held"][0] > 0
        if held and holds is None:
            holds = now
        if holds is not None and not held and drops is None:
            drops = now
        points.append((now, 1e3 * float(unit[f"{VALVE}.current"][0] * unit[f"{VALVE}.magnet_resistance"][0])))
        advance(unit, STEP / 60.0)
    return points, holds, drops


def pilot_curve() -> Page:
    """Millivolts of a standing pilot: held from when, let go when; a good thermocouple and a weak one."""
    nominal = load_model(PILOT_MODEL).nominal
    coil = nominal[f"{VALVE}.magnet_resistance"]
    holds, drops = (1e3 * coil * nominal[f"{VALVE}.{key}_current"] for key in ("hold", "drop"))
    good, held, gone = _lit("no-fault", 0.0)
    weak, never, _ = _lit("thermocouple-weak", 0.0)
    assert held is not None and gone is not None and never is None
    marks = [(held, holds, f"can hold: {held:.0f} s"), (gone, drops, f"lets go: {gone - LIT:.0f} s")]
    title = (
        f"A good thermocouple holds the magnet {held:.0f} s after lighting. Blown out, it lets go {gone - LIT:.0f} s later. "
        "The weak one never holds it."
    )
    said = f"{title} Held from {holds:.1f} mV, let go below {drops:.1f} mV; the good one reaches {max(v for _, v in good):.1f} mV."
    tips = [Tip("a good thermocouple", good), Tip("a weak one", weak)]
    chart = pilot_chart(tips, holds, drops, LIT, WATCHED, marks, title, said)
    return reveal(Page(chart, said), "Show the pilot in time")


def pilot_table() -> Page:
    """Pilots that won't stay: millivolts open and with the magnet connected."""
    rows = []
    for name, fault in (
        ("all is well", "no-fault"),
        ("weak thermocouple", "thermocouple-weak"),
        ("small pilot flame", "pilot-flame-small"),
        ("loose joint at the valve", "thermocouple-loose"),
        ("magnet coil open", "magnet-open"),
        ("magnet worn", "magnet-weak"),
        ("pilot's high limit open", "pilot-limit-tripped"),
    ):
        bench = plain_bench(fault, PILOT_MODEL, 1)
        bench.open_cover("pilot-bay")
        bench.run_tap(5)
        lit = bench.do("light pilot").entry["result"]
        loaded, alone = (item["value"] for item in bench.do("thermocouple test").readings)
        around = "around the tip" if lit["reaches"] else "doesn't reach it"
        stays = "stays" if lit["stays"] else "goes out"
        rows.append((name, around, f"{alone:.1f} mV", f"{loaded:.1f} mV", stays))
    head = ("what is wrong", "pilot flame", "open", "across the magnet", "button let go")
    return reveal(table("A pilot that won't stay", head, rows), "Show the millivolts")
