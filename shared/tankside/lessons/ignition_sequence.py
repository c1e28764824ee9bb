"""What lesson 6 shows: starts recorded in time, the flame's current, the spark, the pilot. No number is typed in."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from functools import cache

from tankside.faults.catalogue import Fault, fault_named, remedies
from tankside.faults.effects import cure, put_in
from tankside.heater.model import load_model
from tankside.heater.sequence import RESPONDS, STATES, TABLE, TIMED
from tankside.heater.sequence import Row as Step
from tankside.heater.unit import Unit
from tankside.lessons.ignition_charts import LANES, Row, Start, pattern_chart, raw_gas_chart, timing_chart
from tankside.lessons.ignition_drawings import Waves, flame_loop, half_waves
from tankside.lessons.ignition_parts import gap, no_spark_tests, pilot_curve, pilot_table
from tankside.lessons.pages import reveal, table
from tankside.measures import amount
from tankside.notebook import Page
from tankside.physics.fuels import flammable_range, fuel, heating_value
from tankside.physics.ignition import spark_voltage_si
from tankside.questions.ignition_starts import (
    FULL_MODEL,
    WATCHED,
    Kind,
    Recording,
    cold_unit,
    kinds_of_start,
    pattern_of,
    record,
    start_of,
)
from tankside.widgets.flame_current import WEAK, believes, flame_microamps

__all__ = [
    "causes", "claim", "drops_out", "example", "flame_lost", "gap", "healthy", "loop", "no_spark", "no_spark_tests",
    "patterns", "pilot_curve", "pilot_table", "raw_gas", "sequence", "suspects", "why_direct",
]  # fmt: skip

MODEL = "teal_10"
RESETS = 2
"""How often the impatient owner takes the 12 V away and gives it back."""
LIGHTS_AND_GOES_OUT = (
    "rod-fouled",
    "burner-ground-poor",
    "rod-cracked",
    "sense-lead-open",
    "board-sense-failed",
)


def raw_gas() -> Page:
    """Gas that didn't light, in the burner's chamber: a start without spark, reset again and again, then left alone."""
    seen = _reset_again()
    share = 100.0 * seen.seen["chamber"][:, 0]
    low, high = flammable_range(fuel("propane"), "IEC 60079-20-1")
    burns = (100.0 * low, 100.0 * high)
    spans = [(a / 60, b / 60) for a, b in seen.spans("gas")]
    last = seen.spans("gas")[-1][1]
    over = seen.times[share >= burns[0]]
    first = sum(a * 60 <= over[0] for a, _ in spans)
    minutes = 7.0
    model = load_model(FULL_MODEL)
    joules = heating_value(fuel("propane"), "volume").to("J/m^3").magnitude
    each = model.gas_input * model.timing["trial"] / joules
    gone = float(share[int(last + 300.0)])
    title = (
        f"No spark, and the owner resets it {RESETS} times. Blue: the gas valve is open. "
        f"The red band burns: {burns[0]:.1f} to {burns[1]:.1f} % propane in air."
    )
    note = (
        f"Each trial lets in {amount(each, 'm^3', 'small gas volume')} of gas. {_FROM[bool(first > 1)]} the mix in this chamber can burn. "
        f"It still can {over[-1] - last:.0f} s after the last trial. Five minutes after it, "
        f"{gone:.1f} % is left. The chamber and its draft are invented: yours may hold gas for longer."
    )
    chart = raw_gas_chart(
        list(zip(seen.times / 60, share, strict=True))[: int(minutes * 60) + 1], burns, spans, minutes, title, title + " " + note
    )  # fmt: skip
    return Page(f"{chart}<p>{note}</p>", f"{title} {note}")


def sequence() -> Page:
    """The board's steps: how long each lasts, what is on, and what comes next."""
    model = load_model(MODEL)
    ends: dict[str, list[str]] = {}
    for row in TABLE:
        ends.setdefault(row.state, []).append(f"{_when(row)} → {row.then}")
    rows = []
    for state in STATES:
        lasts = f"{model.timing[TIMED[state]]:g} s" if state in TIMED else "no limit"
        on = [
            name
            for name, out in (("gas", "valve"), ("spark", "spark"), ("lamp", "lamp"))
            if state in RESPONDS[out]
        ]
        rows.append((state, _MEANING[state], lasts, ", ".join(on) or "nothing", "; ".join(ends[state])))
    ignition = model.data.ignition
    assert ignition is not None
    note = (
        f"This board tries {ignition.tries} times. It forgives a lost flame {ignition.relights} times. "
        "Another maker's board has other times. Read them in its manual."
    )
    return table("The steps of our heater's board", ("step", "what it is", "lasts", "on", "next"), rows, note)


_FROM = ("From the first trial on", "After more than one trial")
_MEANING = {
    "off": "no 12 V at the board",
    "purge": "fresh air only",
    "trial": "trial for ignition",
    "wait": "rest before the next try",
    "run": "flame proven",
    "doubt": "the flame's signal is gone",
    "lockout": "given up, waits for a reset",
}
_WORDS = {
    "power": "12 V comes",
    "no power": "12 V goes",
    "time up": "time is up",
    "flame": "flame seen",
    "no flame": "no flame seen",
    "last try": "last try",
    "no relight left": "lost too often",
}


def _when(row: Step) -> str:
    """What must hold. In a trial the 12 V are not taken away: gas and spark have pulled them down."""
    words = _WORDS | ({"no power": "12 V breaks down under load"} if row.state == "trial" else {})
    return " and ".join(words[name] for name in row.when)


def healthy() -> Page:
    """A good start, and the end of the call when the water is hot."""
    unit = cold_unit(MODEL)
    seen = record(unit, 24.0, {18.0: _hot_enough}, before=2.0)
    begin, end = seen.spans("flame")[0]
    spark = seen.spans("spark")[0]
    title = (
        f"A good start: air first, then gas and spark, flame after {begin:.0f} s. The spark stops at once: "
        f"it lasted {spark[1] - spark[0]:.0f} s. At {end:.0f} s the water is hot, and the thermostat ends the call."
    )
    return _timing(seen, title, before=2.0)


def _hot_enough(unit: Unit) -> None:
    unit.set("tank.temperature", float(unit["dc_thermostat.opens_at"][0]) + 0.1)


def no_spark() -> Page:
    """Gas but no spark: trials, waits, lockout."""
    seen = start_of("board-no-spark", MODEL, 1.0)
    locked = next(a for name, a, _ in seen.steps() if name == "lockout")
    gas = sum(b - a for a, b in seen.spans("gas"))
    title = (
        f"No spark. Gas flows in each trial, {gas:.0f} s in all, and none of it burns. Lockout after {locked:.0f} s. "
        "The lamp stays on until somebody takes the 12 V away."
    )
    return reveal(_timing(seen, title), "Show the start without a spark")


def drops_out() -> Page:
    """A flame that is there and isn't believed."""
    seen = start_of("rod-fouled", MODEL, 0.0)
    flame = seen.spans("flame")
    title = (
        f"The flame burns, and the board can't see it. It burns {flame[0][1] - flame[0][0]:.0f} s, until the trial is over, "
        f"{len(flame)} times. The spark runs on all the while: for the board nothing has lit yet."
    )
    return reveal(_timing(seen, title), "Show the start with a dirty rod")


def flame_lost() -> Page:
    """A gust takes a proven flame away: doubt, gas off, wait, relight."""
    unit = cold_unit(MODEL)
    seen = record(
        unit, 32.0, {10.0: lambda u: u.set("burner.ready", 0.0), 14.0: lambda u: u.set("burner.ready", 1.0)}
    )
    first, second = seen.spans("gas")[:2]
    title = (
        f"A gust at 10 s. The gas stays on for {first[1] - 10.0:.1f} s: that is the response time. "
        f"Then it is off for {second[0] - first[1]:.0f} s, and the board tries again."
    )
    return reveal(_timing(seen, title), "Show the lost flame")


def why_direct() -> Page:
    """Half-waves through a good flame, a dirty rod and a wet insulator: what is left over is the proof."""
    panels = []
    nominal = load_model(MODEL).nominal
    good, ratio = nominal["flame_sensor.flame"], nominal["flame_sensor.area_ratio"]
    dirt, leak = 30e6, 3e5
    back = good / ratio
    for heading, there, other, numbers in (
        ("a good flame", good, back, flame_microamps()),
        ("dirt on the rod", good / (1 + good * dirt), back / (1 + back * dirt), flame_microamps(dirt=dirt)),
        ("wet insulator, no flame", good, good, flame_microamps(flame=0.0, leak=leak)),
    ):
        panels.append(Waves(heading, there, other, f"{numbers[0]:.2f} µA", f"{numbers[1]:.2f} µA"))
    volts, inner = nominal["control_board.sense_volts"], nominal["control_board.sense_source"]
    taller = float(spark_voltage_si(volts, inner, leak)) / leak / (volts * good)
    title = (
        "The board sends volts to and fro. The flame lets more through one way. Water lets both ways through alike. "
        f"The last wave is really {taller:.0f} times as high as drawn."
    )
    said = (
        title
        + " "
        + "; ".join(f"{p.heading}: direct {p.direct}, alternating {p.alternating}" for p in panels)
    )
    return Page(half_waves(panels, title, said), said)


SPOTS = (
    "lead broken, or off",
    "dirt on the rod",
    "insulator cracked: a way past the flame",
    "weak flame, or not around the rod",
    "rust: the way back is broken",
    "the board itself",
)


def loop() -> Page:
    """The way of the flame's current, with the meter in series."""
    seen = start_of("no-fault", MODEL, 0.0, 6.0)
    shows = f"{seen.seen['current'].max():.1f} µA"
    title = "One path, as in lesson 3: out through the rod, across the flame, back through the burner."
    said = f"{title} The meter in the rod's lead shows {shows}. Where it can be lost: " + "; ".join(SPOTS)
    return Page(flame_loop(shows, SPOTS, title, said), said)


def causes() -> Page:
    """What each cause leaves of the flame's current."""
    good = flame_microamps()[0]
    rows = []
    for name, numbers in (
        ("all is well", flame_microamps()),
        ("half of the flame misses the rod", flame_microamps(flame=0.5)),
        ("a quarter of the flame is left", flame_microamps(flame=0.25)),
        ("10 megohms of dirt on the rod", flame_microamps(dirt=10e6)),
        ("30 megohms of dirt on the rod", flame_microamps(dirt=30e6)),
        ("30 megohms of rust under the burner", flame_microamps(ground=30e6)),
        ("insulator leaks: 300 kilohms", flame_microamps(leak=3e5)),
        ("insulator leaks: 30 kilohms", flame_microamps(leak=3e4)),
    ):
        sees = "a flame" if numbers[0] >= believes() else "nothing"
        rows.append((name, f"{numbers[0]:.2f} µA", f"{numbers[0] / good:.0%}", f"{numbers[1]:.1f} µA", sees))
    note = (
        f"Our board believes a flame from {believes():g} µA. A signal under {WEAK:g} µA counts as weak. "
        "Dirt and rust read alike: both are ohms in the same path."
    )
    head = ("what is wrong", "direct", "of a good one", "alternating", "the board sees")
    return reveal(table("What is left of the flame's current", head, rows, note), "Show the microamps")


def patterns() -> Page:
    """Every way in which a start can fail, in time."""
    kinds = kinds_of_start()
    rows = [
        Row(k.pattern.words(), len(k.faults), {lane: k.recording.spans(lane, k.row) for lane in LANES}) for k in kinds
    ]  # fmt: skip
    title = (
        f"{len(rows)} patterns. Each fault that our heater can have was put in, and the start was watched."
    )
    said = title + " " + "; ".join(f"{chr(65 + n)}: {r.words}, {r.count} faults" for n, r in enumerate(rows))
    return reveal(Page(pattern_chart(rows, WATCHED, title, said), said), "Show all the patterns")


def suspects() -> Page:
    """Which faults show which pattern."""
    kinds = kinds_of_start()
    rows = [(f"{chr(65 + n)}  {k.pattern.words()}", _named(k)) for n, k in enumerate(kinds)]
    every = {fault.id for k in kinds for fault in k.faults}
    shown = Counter(fault.id for k in kinds for fault in k.faults)
    several = [_short(fault_named(name)) for name, count in shown.items() if count > 1]
    most = max(len(k.faults) for k in kinds)
    note = (
        f"{len(every)} faults stop a start or hide it. One look leaves {most} at most. "
        f"These show more than one pattern, by how far they have gone: {'; '.join(several)}."
    )
    return table("The pattern splits the suspects", ("pattern", "what it can be"), rows, note)


def _short(fault: Fault) -> str:
    """A fault's name without its explanation."""
    return fault.name.partition(":")[0]


def _named(kind: Kind) -> str:
    """The faults by name, or by place where there are many."""
    if len(kind.faults) <= 6:
        return "; ".join(_short(fault) for fault in kind.faults)
    places = Counter(fault.place for fault in kind.faults)
    return "; ".join(f"{place}: {count}" for place, count in places.items())


_FIRST_TRY = 12.0
"""s in which a flame that isn't believed has gone out: longer than purge and trial."""


@cache
def _after_repairs() -> tuple[tuple[str, tuple[tuple[float, bool], ...]], ...]:
    """Repair -> for each fault of the saying: µA in the trial, and whether it stays lit."""
    out = []
    for name, remedy in (
        ("nothing yet", ""),
        ("a new board", "replace-board"),
        ("the rod cleaned", "clean-rod"),
        ("burner's ground cleaned", "clean-burner-ground"),
        ("a new flame sensor", "replace-flame-sensor"),
        ("a new lead to the rod", "replace-sense-lead"),
    ):
        unit = cold_unit(MODEL, batch=len(LIGHTS_AND_GOES_OUT))
        good = {key: float(value[0]) for key, value in cold_unit(MODEL).values.items()}
        for k, fault in enumerate(LIGHTS_AND_GOES_OUT):
            put_in(unit, fault_named(fault), 0.5, slice(k, k + 1))
        if remedy:
            cure(unit, remedies()[remedy], good)
        seen = record(unit, _FIRST_TRY)
        out.append(
            (name, tuple((float(seen.seen["current"][:, k].max()), pattern_of(seen, k).works) for k in range(unit.batch)))
        )  # fmt: skip
    return tuple(out)


def claim() -> Page:
    """The saying that a board is bad if it lights and goes out: five causes, five repairs, each tried."""
    rows = []
    cures = {}
    for name, results in _after_repairs():
        rows.append(
            (
                name,
                *(f"{current:.2f} µA, {'STAYS LIT' if works else 'goes out'}" for current, works in results),
            )
        )
        cures[name] = sum(works for _, works in results)
    seen = sum(current >= WEAK for current, _ in _after_repairs()[0][1])
    heads = ("rod is dirty", "rust under burner", "insulator cracked", "lead broken", "board is blind")
    parts = remedies()["clean-rod"].parts_cost
    rod = f"its parts cost ${parts:.0f}" if parts else "needs no part"
    note = (
        f"A new board cures {cures['a new board']} of {len(heads)}. The part costs "
        f"${remedies()['replace-board'].parts_cost:.0f} in our invented price list. Cleaning the rod cures "
        f"{cures['the rod cleaned']}, and {rod}. A new flame sensor cures {cures['a new flame sensor']}: rod, insulator "
        "and a clean bracket come with it. "
        f"Heaters with a good current before any repair: {seen} of {len(heads)}."
    )
    return table("It lights and goes out: five causes, five repairs", ("repair", *heads), rows, note)


def example() -> Page:
    """The worked example: it lights and goes out; microamps first, then the path by its parts."""
    from tankside.lessons.ignition_example import ignition_example

    rows = [(str(s.line), s.did, s.why, str(s.left)) for s in ignition_example()]
    head = ("log line", "done, and what it showed", "what it tells", "faults left")
    return table("Worked example", head, rows)


@cache
def _reset_again() -> Recording:
    """A start without spark on the model with a gas side, reset right after each lockout, then left alone."""
    length = _lockout_after()
    changes: dict[float, Callable[[Unit], None]] = {}
    for k in range(1, RESETS + 1):
        changes[k * (length + 4.0)] = lambda unit: unit.set("dc_panel_switch.closed", 0.0)
        changes[k * (length + 4.0) + 2.0] = lambda unit: unit.set("dc_panel_switch.closed", 1.0)
    unit = cold_unit(FULL_MODEL)
    put_in(unit, fault_named("board-no-spark"), 1.0)
    return record(unit, (RESETS + 1) * (length + 6.0) + 310.0, changes, step=1.0)


def _lockout_after() -> float:
    """s from the 12 V to the lockout, where nothing lights."""
    model = load_model(MODEL)
    ignition = model.data.ignition
    assert ignition is not None
    tries, times = ignition.tries, model.timing
    return times["pre_purge"] + tries * times["trial"] + (tries - 1) * times["between_tries"]


def _timing(seen: Recording, title: str, before: float = 0.0) -> Page:
    """A recording as a timing chart."""
    end = float(seen.times[-1])
    current = list(zip(seen.times, seen.seen["current"][:, 0], strict=True))
    on = {lane: seen.spans(lane) for lane in LANES}
    steps = [s for s in seen.steps() if s[0] != "off" or s[2] - s[1] > 1.0]
    start = Start(steps, on, current, believes(), -before, end)
    said = f"{title} Steps: " + ", ".join(f"{name} from {a:.1f} s" for name, a, _ in steps)
    return Page(timing_chart(start, title, said), said)
