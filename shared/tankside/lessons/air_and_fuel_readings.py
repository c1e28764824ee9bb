"""Lesson 8 with the analyzer: what it shows for each fault, soot, carbon monoxide and people, and two sayings."""

from __future__ import annotations

from itertools import groupby

import numpy as np

from tankside.heater.model import load_model
from tankside.heater.unit import nominal_site
from tankside.instruments.flue_gas_analyzer import MONOXIDE
from tankside.lessons.air_and_fuel_drawings import Axis, Chart, Curve, charts
from tankside.lessons.pages import reveal, table, together
from tankside.measures import amount
from tankside.notebook import Page, plain_bench
from tankside.physics.carbon_monoxide import Limit
from tankside.physics.carbon_monoxide import limits as published_limits
from tankside.physics.co_exposure import alarm_points, effect_sources, effects
from tankside.physics.combustion import DRY_AIR, air_free, excess_air_from_o2_si
from tankside.physics.combustion_heat import efficiency_si
from tankside.physics.fuels import fuel
from tankside.questions.burning import Array, Burning, burning
from tankside.units import quantity

MODEL = "pintail_10"
GOOD: dict[str, float] = {}
"""Nothing changed: the heater as it should be."""
PRESSURE, BORE = load_model(MODEL).nominal["regulator.set_pressure"], load_model(MODEL).nominal["orifice.diameter"]  # fmt: skip


def analyzer() -> Page:
    """A healthy heater on the bench: what the analyzer measures, and what it works out from that."""
    bench = plain_bench("no-fault", MODEL, 1)
    bench.run_tap(10)
    done = bench.do("flue gas")
    measured, _, computed = (
        done.text.removeprefix("Flue-gas analyzer: ").rstrip(".").partition("; computed: ")
    )
    rows = [(words, "a cell or a probe in the gas") for words in measured.split(", ")]
    rows += [(words, "worked out, for the gas it is set to") for words in computed.split(", ")]
    note = "Set it to the wrong gas and the lower rows are wrong. It won't tell you."
    return table("A healthy heater", ("the display", "where it comes from"), rows, note)


def thinned() -> Page:
    """The same flue gas with more and more room air in the sample: CO as shown, and air-free."""
    now = burning(MODEL, {"burner.web": 0.75})
    rows = []
    for share in (0.0, 0.25, 0.5, 0.75):
        oxygen = (1 - share) * now.oxygen[0] + share * 100 * DRY_AIR.oxygen
        monoxide = (1 - share) * now.monoxide[0]
        free = air_free(quantity(monoxide, "ppm"), quantity(oxygen, "percent")).magnitude
        rows.append((f"{100 * share:.0f} %", f"{oxygen:.1f} %", f"{monoxide:.0f} ppm", f"{free:.0f} ppm"))
    head = ("room air in the sample", "O2", "CO as shown", "CO air-free")
    return reveal(table("One flame, four samples", head, rows), "Show the four samples")


def three_ways() -> Page:
    """Shutter, burner tube and flue, each made worse: oxygen, carbon monoxide, efficiency, and the flame above."""
    sweeps = (
        ("Shutter", "shutter open, %", "burner.opening", np.linspace(60, 2, 59), (60, 40, 20, 2)),
        ("Tube", "burner tube taken, %", "burner.web", np.linspace(0, 95, 96), (0, 30, 60, 95)),
        ("Flue", "flue blocked, %", "flue.blocked", np.linspace(0, 80, 81), (0, 20, 40, 60, 80)),
    )
    columns, told = [], []
    for name, below, key, x, ticks in sweeps:
        now = burning(MODEL, {key: x / 100}, len(x))
        across = Axis(float(x[0]), float(x[-1]), tuple((v, str(v)) for v in ticks))
        columns.append(
            (
                Chart(f"{name}: O2, %", across, _OXYGEN, (Curve(x, now.oxygen),), "", (), _strip(x, now)),
                Chart(
                    f"{name}: CO air-free, ppm",
                    across,
                    _MONOXIDE,
                    (Curve(x, now.air_free),),
                    "",
                    _flue_lines(),
                ),
                Chart(f"{name}: efficiency shown, %", across, _EFFICIENCY, (Curve(x, _shown(now)),), below),
            )
        )
        told.append(
            f"{name}: O2 goes from {now.oxygen[0]:.1f} to {now.oxygen[-1]:.1f} %, CO air-free from "
            f"{now.air_free[0]:.0f} to {now.air_free[-1]:,.0f} ppm"
        )
    title = "Three faults, each from none (left) to bad (right). Boxes: what the eye sees. Dashed red: the two flue limits."
    said = f"{title} {'; '.join(told)}."
    grid = list(zip(*columns, strict=True))
    return reveal(Page(charts(grid, title, said, 104.0, 10.0), said), "Show the curves")


_OXYGEN = Axis(0, 10, ((0, "0"), (5, "5"), (10, "10")))
_READ_IN = {"V1": "government text", "V2": "second-hand page"}
_MONOXIDE = Axis(10, 1e5, ((10, "10"), (100, "100"), (1e3, "1,000"), (1e4, "10,000")), True)
_EFFICIENCY = Axis(70, 90, ((70, "70"), (80, "80"), (90, "90")))


def _flue_lines() -> tuple[tuple[float, str], ...]:
    return tuple((limit.ppm, "") for limit in limits_of("flue"))


def _shown(now: Burning) -> Array:
    """% of efficiency as an analyzer works it out: from its O2, its stack and its CO, up to the end of its range."""
    one, oxygen = fuel("propane"), now.oxygen / 100
    monoxide = np.minimum(now.monoxide * 1e-6, 1e-6 * MONOXIDE.ranges[-1])
    room = nominal_site(load_model(MODEL))["room"] + 273.15
    kept, _, _ = efficiency_si(one, now.flue + 273.15, excess_air_from_o2_si(one, oxygen), room, monoxide)
    return 100 * np.asarray(kept)


PATTERNS: tuple[tuple[str, dict[str, float]], ...] = (
    ("as it should be", GOOD),
    ("web in the burner tube", {"burner.web": 0.75}),
    ("shutter nearly closed", {"burner.opening": 0.12}),
    ("flue half blocked", {"flue.blocked": 0.5}),
    ("air grille half covered", {"flue.inlet": 0.5}),
    ("too much gas: jet drilled out", {"orifice.diameter": 1.2 * BORE}),
    ("burner out of line", {"burner.askew": 0.6}),
    ("flue lined with soot", {"flue.soot": 4.0}),
    ("baffle left out", {"flue.baffle": 1.0}),
)


def patterns() -> Page:
    """Nine states of the same heater through the analyzer, with up and down against the healthy one."""
    good, rows = burning(MODEL, GOOD), []
    for name, changed in PATTERNS:
        now = burning(MODEL, changed)
        rows.append(
            (
                name,
                now.kind[0],
                f"{now.oxygen[0]:.1f} %{_arrow(now.oxygen, good.oxygen, 0.7)}",
                f"{_ppm(now.air_free[0])}{_arrow(now.air_free, good.air_free, 30)}",
                f"{amount(now.flue[0], 'degC', 'temperature')}{_arrow(now.flue, good.flue, 20)}",
                f"{now.efficiency[0]:.0f} %{_arrow(now.efficiency, good.efficiency, 1.5)}",
            )
        )
    head = ("what is wrong", "flame", "O2", "CO air-free", "stack", "efficiency")
    note = "An arrow marks what has clearly moved against the first line. Burner on, meter without error."
    return table("Nine heaters, read together", head, rows, note)


def soot() -> Page:
    """What soot on the flue's wall does to draft, stack and efficiency."""
    rows = []
    for thick in (0.0, 1.0, 2.0, 4.0, 6.0):
        now = burning(MODEL, {"flue.soot": thick})
        rows.append(
            (
                amount(thick, "mm", "small length"),
                amount(now.flue[0], "degC", "temperature"),
                f"{now.efficiency[0]:.0f} %",
                f"{now.oxygen[0]:.1f} %",
                f"{_ppm(now.air_free[0])}",
            )
        )
    head = ("soot on the wall", "stack", "efficiency", "O2", "CO air-free")
    note = "Stack temperatures with soot come from a teaching model: trust the direction, not the digit."
    return reveal(table("A flue that fills with soot", head, rows, note), "Show the table")


def people() -> Page:
    """What so many ppm do to people, as two pages say it."""
    sources = effect_sources()
    rows = [(f"{effect.ppm:,g} ppm", effect.words, effect.other) for effect in effects()]
    one, other = (sources[key].removesuffix(" (V2)") for key in ("words", "other"))
    note = f"First column: {one}. Second: {other}. Both second-hand pages. They are said of healthy adults."
    return table("Breathing it", ("in the air", "one page says", "another says"), rows, note)


def limits() -> Page:
    """Published limits for air and flue gas, and the points of a house alarm."""
    rows = [
        (limit.name, f"{limit.ppm:g} ppm", limit.over, _READ_IN[limit.status]) for limit in limits_of("air")
    ]
    air = table("In the air that people breathe at work", ("limit", "ppm", "over what", "read in"), rows)
    rows = [
        (limit.name, f"{limit.ppm:g} ppm", limit.over, _READ_IN[limit.status]) for limit in limits_of("flue")
    ]
    flue = table("In the flue gas", ("limit for", "ppm", "how", "read in"), rows)
    points = [
        (f"{point.ppm:g} ppm", f"{point.earliest:g} to {point.latest:g} min", _READ_IN[point.status])
        for point in alarm_points()
    ]
    alarm = table("A house alarm must sound", ("steady level", "after", "read in"), points)
    return together(air, flue, alarm)


YELLOW: tuple[tuple[str, dict[str, float]], ...] = (
    ("as it should be", GOOD),
    ("web in the burner tube", {"burner.web": 0.75}),
    ("shutter nearly closed", {"burner.opening": 0.12}),
    ("gas pressure too high by half", {"regulator.set_pressure": 1.5 * PRESSURE}),
    ("jet a tenth too wide", {"orifice.diameter": 1.1 * BORE}),
    ("jet three tenths too wide", {"orifice.diameter": 1.3 * BORE}),
    ("jet four tenths too wide", {"orifice.diameter": 1.4 * BORE}),
)
"""Too little primary air, and too much gas."""
BLUE: tuple[tuple[str, dict[str, float]], ...] = (
    ("as it should be", GOOD),
    ("flue half blocked", {"flue.blocked": 0.5}),
    ("flue a little more blocked", {"flue.blocked": 0.55}),
    ("air grille half covered", {"flue.inlet": 0.5}),
    ("jet three tenths too wide", {"orifice.diameter": 1.3 * BORE}),
    ("burner a little out of line", {"burner.askew": 0.5}),
)
"""Heaters with a blue flame."""


def yellow() -> Page:
    """The first saying: is a yellow flame one with too much gas?"""
    rows = []
    for name, changed in YELLOW:
        now = burning(MODEL, changed)
        rows.append(
            (
                name,
                amount(now.input[0], "W", "heat rate"),
                f"{100 * now.aeration[0]:.0f} %",
                now.kind[0],
                f"{now.oxygen[0]:.1f} %",
                f"{_ppm(now.air_free[0])}",
            )
        )
    head = ("", "gas input", "primary air, of the need", "flame", "O2", "CO air-free")
    return reveal(table("Yellow, and gas", head, rows), "Show the seven heaters")


def blue() -> Page:
    """The second saying: heaters whose flame is blue, and what they make."""
    rows = []
    for name, changed in BLUE:
        now = burning(MODEL, changed)
        over = [f"{limit.ppm:g}" for limit in limits_of("flue") if now.air_free[0] > limit.ppm]
        rows.append(
            (
                name,
                now.kind[0],
                f"{now.oxygen[0]:.1f} %",
                f"{now.efficiency[0]:.1f} %",
                f"{_ppm(now.air_free[0])}",
                f"over {' and '.join(over)} ppm" if over else "under both limits",
            )
        )
    head = ("", "flame", "O2", "efficiency", "CO air-free", "against the flue limits")
    return reveal(table("Six blue flames", head, rows), "Show six blue flames")


def limits_of(kind: str) -> list[Limit]:
    """Published limits of one kind, "air" or "flue", the strictest first."""
    return sorted((x for x in published_limits().values() if x.kind == kind), key=lambda x: x.ppm)


def _ppm(value: float) -> str:
    return f"{value:,.0f} ppm"


def _arrow(now: Array, good: Array, least: float) -> str:
    moved = float(now[0] - good[0])
    return "" if abs(moved) < least else " ↑" if moved > 0 else " ↓"


def _strip(x: Array, now: Burning) -> tuple[tuple[float, float, str], ...]:
    """What the eye sees along a sweep, as stretches."""
    short = {"steady blue": "blue", "lazy orange": "orange", "drop-out": "out"}
    out, k = [], 0
    for kind, group in groupby(now.kind):
        n = len(list(group))
        out.append((float(x[k]), float(x[min(k + n, len(x) - 1)]), short.get(kind, kind)))
        k += n
    return tuple(out)
