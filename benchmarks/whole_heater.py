"""Every whole heater over a day and a year, a new reading on each of its subsystems, and what its books leave open.

A *new* reading is one after something has changed: nothing of it is known from the reading before. The year is taken
twice: at the bench, contact by contact, nobody drawing, a full cylinder every four weeks; and as ``history.run`` goes
through it, with draws for two people. Times are the processor's, so that whatever else runs doesn't count.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import Any

from rich.console import Console
from rich.table import Table

from benchmarks.figure import Figure, seconds_each
from tankside.bench.gas_points import GasPoints
from tankside.bench.terminals import Terminals
from tankside.heater import burner, corrosion, gas, plumbing
from tankside.heater.history import History, run
from tankside.heater.model import HeaterModel, load_model, model_names
from tankside.heater.simulation import advance, energise
from tankside.heater.unit import Unit, make_unit
from tankside.instruments.flue_gas_analyzer import FlueGasAnalyzer
from tankside.instruments.manometer import Manometer
from tankside.instruments.multimeter import Multimeter
from tankside.instruments.thermometer import thermometers
from tankside.streams import Stream

DAY, YEAR = 1440.0, 365.25 * 1440.0
PARTS_OF_YEAR = 13
READINGS = {
    "V~": "volts, mains",
    "V⎓": "volts, 12 V or thermocouple",
    "Ω": "ohms",
    "gas": "gas pressure",
    "flue": "flue gas",
    "water": "water temperature",
    "tank": "pressure in the shut tank",
    "µA": "flame's microamperes",
    "anode": "anode's current",
}


def healthy(name: str) -> Unit:
    """A healthy unit at the middle of its sites, burning and heating for two minutes."""
    unit = make_unit(load_model(name))
    advance(unit, 2.0)
    return unit


def changing(unit: Unit, key: str, read: Callable[[], Any]) -> Callable[[], Any]:
    """The reading after another hair's change of one value: no two calls find the same heater."""
    before, count = unit[key].copy(), 0

    def again() -> Any:
        nonlocal count
        count += 1
        unit.set(key, before * (1.0 - 1e-7 * count) if before.any() else 1e-7 * count)
        return read()

    return again


def _pair(model: HeaterModel) -> tuple[tuple[str, str], str] | None:
    """Terminals on the 12 V side, or at a thermocouple's valve, and a value of that side to change."""
    for board, battery in zip(model.of_type("control board"), model.of_type("battery"), strict=False):
        return (f"{board}.supply", f"{board}.ground"), f"{battery}.inner_resistance"
    for couple in model.of_type("thermocouple"):
        ends = [t for t in model.terminals if t.startswith(f"{couple}.")]
        return (ends[0], ends[1]), f"{couple}.inner_resistance"
    return None


def readings(name: str) -> dict[str, Callable[[], Any]]:
    """Every kind of reading that the model has the parts for, each as new, the way the bench takes it."""
    unit = healthy(name)
    model, meter = unit.model, Multimeter(Stream("0", "meter"))
    out: dict[str, Callable[[], Any]] = {}

    def volts(function: str, pair: tuple[str, str]) -> Callable[[], Any]:
        return lambda: meter.read(function, Terminals(unit), *pair)

    for element, supply in zip(model.of_type("element"), model.of_type("mains supply"), strict=False):
        pair = f"{element}.1", f"{element}.2"
        out["V~"] = changing(unit, f"{supply}.hot_resistance", volts("V~", pair))
        out["Ω"] = changing(unit, f"{element}.resistance", volts("Ω", pair))
    if found := _pair(model):
        out["V⎓"] = changing(unit, found[1], volts("V⎓", found[0]))
        out.setdefault("Ω", changing(unit, found[1], volts("Ω", found[0])))
    if gas.has_gas(unit):
        tool = Manometer("0")

        def pressure() -> Any:
            gauge, value = tool.sees(GasPoints(unit), "heater")
            return gauge.show(float(value[0]))

        out["gas"] = changing(unit, "regulator.set_pressure", pressure)
    if burner.has_burner(unit):
        analyzer = FlueGasAnalyzer("0")

        def flue() -> Any:
            oxygen, _, monoxide, hot, room = burner.stack(unit)
            return [g.show(float(v[0])) for g, v in analyzer.channels(oxygen, monoxide, hot, room)]

        out["flue"] = changing(unit, "flue.blocked", flue)
    probe = thermometers("0")[0]
    out["water"] = changing(
        unit, "tank.temperature", lambda: probe.show(float(plumbing.hot_tap(unit).temperature[0]))
    )
    if plumbing.has_plumbing(unit):
        out["tank"] = changing(unit, "tank.temperature", lambda: plumbing.pressure(unit))
    for sensor in model.of_type("flame sensor"):
        board = model.of_type("control board")[0]

        def current(board: str = board) -> Any:
            energise(unit)
            return unit[f"{board}.flame_current"]

        out["µA"] = changing(unit, f"{sensor}.fouling", current)
    for anode in model.of_type("anode"):
        out["anode"] = changing(unit, f"{anode}.film", lambda: corrosion.cell(unit))
    return out


def bench_year(unit: Unit) -> None:
    """A year at the bench; whoever looks after the heater brings a full cylinder every four weeks."""
    full = unit.values.get("cylinder.mass")
    for _ in range(PARTS_OF_YEAR):
        if full is not None:
            unit.values["cylinder.mass"] = full.copy()
        advance(unit, YEAR / PARTS_OF_YEAR)


def bench_balance(before: Unit, after: Unit) -> float | None:
    """Share of the heat that the bench's ledgers leave open between two states; None where a model keeps none."""
    if "ledger.heat" not in after.values:
        return None
    book = {key: float(after[f"ledger.{key}"][0] - before[f"ledger.{key}"][0]) for key in plumbing.LEDGERS}
    went = sum(book[key] for key in plumbing.LEDGERS if key != "heat")
    stored = float((plumbing.stored(after) - plumbing.stored(before))[0])
    return (book["heat"] - went - stored) / max(book["heat"], 1.0)


def measured(name: str, say: Callable[[str], None]) -> tuple[list[Figure], History]:
    """One model's figures, and its year of draws."""
    unit = healthy(name)
    advance(unit, 58.0)
    day = seconds_each(lambda: advance(unit.copy(), DAY), 0.2, 3, time.process_time)
    say(f"{name}: a day at the bench {1e3 * day:.1f} ms")
    after = unit.copy()
    start = time.process_time()
    bench_year(after)
    year = time.process_time() - start
    say(f"{name}: a year at the bench {year:.2f} s")
    start = time.process_time()
    story = run(unit, days=365.25)
    drawn = time.process_time() - start
    say(f"{name}: a year of draws {drawn:.2f} s; books open by {story.energy_balance:.0e} of the energy, "
        f"{story.charge_balance:.0e} of the charge")  # fmt: skip
    out = [
        Figure(f"{name}: a day at the bench", 1e3 * day, "ms", 20.0),
        Figure(f"{name}: a year at the bench", year, "s", 2.0),
        Figure(f"{name}: a year with seven draws a day", drawn, "s", 2.0),
        Figure(f"{name}: energy open after a year of draws", abs(story.energy_balance), "", 1e-9),
    ]
    open_ = bench_balance(unit, after)
    if open_ is not None:
        out.append(Figure(f"{name}: energy open after a year at the bench", abs(open_), "", 1e-9))
    if unit.model.of_type("anode"):
        out.append(Figure(f"{name}: charge open after a year of draws", abs(story.charge_balance), "", 1e-9))
    for kind, read in readings(name).items():
        out.append(
            Figure(
                f"{name}: {READINGS[kind]}", 1e3 * seconds_each(read, 0.1, 3, time.process_time), "ms", 1.0
            )
        )
    say(f"{name}: new readings up to {max(f.value for f in out if f.unit == 'ms' and f.aim == 1.0):.2f} ms")
    return out, story


def table(found: dict[str, list[Figure]]) -> Table:
    """One line a model."""
    heads = ["day", "year", "year drawn", *READINGS]
    words = ["a day at the bench", "a year at the bench", "a year with seven draws a day", *READINGS.values()]
    rows = Table("model", *heads, title="Day and new readings in ms, year in s")
    for name, figures_ in found.items():
        values = {f.name.partition(": ")[2]: f for f in figures_}
        cells = [f"{values[w].value:.2f}" if w in values else "" for w in words]
        rows.add_row(name, *cells)
    return rows


def figures(names: list[str] | None = None) -> list[Figure]:
    """Every model's figures; a line as each comes."""
    console = Console(highlight=False)
    found: dict[str, list[Figure]] = {}
    for name in names or model_names():
        found[name], _ = measured(name, lambda line: console.print(line))
    Console(width=max(console.width, 120)).print(table(found))
    return [figure for each in found.values() for figure in each]
