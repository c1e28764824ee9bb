"""What lesson 12 computes: what words leave open, what tests tell and cost, and what swapping parts costs instead."""

from __future__ import annotations

import re
from functools import cache

from tankside.bench import Bench
from tankside.bench.bench import start_state
from tankside.case import SYMPTOMS, symptom
from tankside.diagnosis.path import Walk, walk
from tankside.diagnosis.planner import entropy
from tankside.diagnosis.proof import reference_of
from tankside.diagnosis.reference import Reference, reference, suspects
from tankside.faults.catalogue import fault_named
from tankside.faults.complaints import wordings
from tankside.heater.model import load_model
from tankside.lessons.call_out_drawings import Suspect, shrinking_list
from tankside.lessons.pages import reveal, table, together
from tankside.lessons.printed import halving as halving
from tankside.lessons.worked import Step, example_order, notes_of, steps_of
from tankside.notebook import Page
from tankside.questions.call_out import CLOSING
from tankside.quoting import load_prices, quote

MODEL = "plover_12"
SCOPE = (
    "element-open", "thermostat-stuck-open", "breaker-off", "ground-corroded", "connector-corroded", "rod-fouled",
    "tube-web", "regulator-fouled", "mixing-tap-crosses", "check-valve-leaks", "sediment", "relief-weeps",
    "anode-used-up", "no-fault",
)  # fmt: skip
"""One or two faults from every side of the heater."""
HEARD = (
    ("cold", 0),
    ("gas lockout", 2),
    ("lukewarm tap", 1),
    ("lukewarm tap", 2),
    ("gas slow", 2),
    ("normal", 0),
)
"""Symptoms, and which of their wordings is shown."""


CHECKED = "anode-used-up"
"""What is wrong with the heater whose list of suspects is drawn as it shrinks."""
TRY, FIND = 15.0, 45.0
"""min that a swapper tries each part, and that a tester takes to find the fault (ours)."""


def words_leave() -> Page:
    """Six complaints, and how many faults of the lesson's list each leaves possible."""
    rows = []
    for noticed, which in HEARD:
        said = wordings(noticed, load_model(MODEL))[which]
        left = suspects(MODEL, SCOPE, tuple(SYMPTOMS.index(s) for s in said.fits))
        places = sorted({fault_named(f).place for f in left})
        rows.append((f"“{said.text}”", str(len(left)), ", ".join(places)))
    head = ("the owner says", f"of {len(SCOPE)} faults left", "where they sit")
    return reveal(table("What words leave open", head, rows), "Show what each leaves")


def tests_and_prices() -> Page:
    """The best test of each instrument as the first one: what it tells, and what it costs."""
    rows = []
    for gain, minutes, name in best_of_each()[:10]:
        rows.append((name, f"{minutes:.0f} min", f"{gain:.2f}", f"{10 * gain / minutes:.1f}"))
    note = (
        "One bit is a fair halving. The minutes are those of the test itself; taking covers off, waiting for a call or "
        "draining comes on top."
    )
    head = ("test, with nothing known yet", "takes", "tells, bits", "bits in 10 minutes")
    return reveal(table("What tests tell and cost", head, rows, note), "Show the list")


def best_of_each() -> list[tuple[float, float, str]]:
    """(bits, minutes, words) of each instrument's most telling first test, the cheapest bits first."""
    found = _path()
    problem = found.problem
    best: dict[str, tuple[float, float, str]] = {}
    for trial in problem.tests:
        gain = entropy([_weight(found, mask) for mask in trial.classes])
        if gain <= 0.05:
            continue
        kind = found.column(trial).function
        words = trial.name.partition(": ")[2]
        for terminal, name in load_model(MODEL).terminals.items():
            words = words.replace(terminal, name) if terminal in words.split() else words
        words = re.sub(r"^look (?!at )", "look at the ", words.replace("V⎓", "V DC"))
        if kind not in best or gain / trial.minutes > best[kind][0] / best[kind][1]:
            best[kind] = (gain, trial.minutes, words)
    return sorted(best.values(), key=lambda row: -row[0] / row[1])


def shrinking() -> Page:
    """The reference path on one heater: which suspect each test takes off the list, and when."""
    complaint, suspects, walked = shrinking_path()
    first_out: dict[str, float] = {}
    before, rows = suspects, []
    for number, stretch in enumerate(walked.stretches, 1):
        gone = [fault for fault in before if fault not in stretch.left]
        first_out |= dict.fromkeys(gone, stretch.at)
        names = ", ".join(_short(fault) for fault in gone)
        rows.append((f"{number}", f"{stretch.at:.0f} min", stretch.shown, names))
        before = stretch.left
    drawn = sorted(
        (Suspect(_short(fault), first_out.get(fault)) for fault in suspects), key=lambda s: s.out_at or 1e9
    )
    title = f"“{complaint}” Each bar is a suspect. It ends where a test rules it out."
    told = "; ".join(f"test {n} after {at} rules out {names}" for n, at, _, names in rows)
    left = " and ".join(_short(fault) for fault in before)
    said = f"{title} {len(suspects)} at first; {told}. Left: {left}."
    drawing = Page(shrinking_list(drawn, [s.at for s in walked.stretches], title, said), said)
    return together(drawing, table("The tests", ("test", "done after", "it showed", "off the list"), rows))


def _short(fault: str) -> str:
    """A fault's name without what explains it."""
    return fault_named(fault).name.partition(":")[0]


@cache
def shrinking_path() -> tuple[str, tuple[str, ...], Walk]:
    """A complaint, the faults that it leaves, and the reference path as it is walked on that heater."""
    order = example_order(CHECKED, MODEL, SCOPE)
    state = start_state(order)
    found = reference_of(order, symptom(state.unit))
    return order.complaint, found.suspects, walk(found, state)


def swapping() -> Page:
    """What it costs on average to swap parts, cheapest first, until it works; and to find the fault first."""
    rows, prices = [], load_prices()
    for title, faults in (
        ("dead on mains", ("element-open", "thermostat-stuck-open", "link-bar-burnt", "panel-switch-failed")),
        ("lamp on, no gas", ("rod-fouled", "ground-corroded", "connector-corroded", "board-no-spark", "hv-lead-broken")),
    ):  # fmt: skip
        cures = sorted({fault_named(f).remedy for f in faults}, key=lambda r: quote([r]).total)
        tried, found = average_bills(tuple(cures), TRY, FIND)
        rows.append((title, str(len(cures)), prices.money(tried), prices.money(found)))
    note = (
        f"Each cause as likely as the next. A swapper puts in the cheapest part first and tries for {TRY:.0f} minutes each time. "
        f"A tester takes {FIND:.0f} minutes to find the fault, and fits one part. Prices are invented."
    )
    head = ("complaint", "possible cures", "swapping, on average", "testing, on average")
    return reveal(table("Swap or test?", head, rows, note), "Show both bills")


def average_bills(cures: tuple[str, ...], try_minutes: float, find_minutes: float) -> tuple[float, float]:
    """Money on average of swapping ``cures`` in turn, and of testing first; each cure as likely."""
    swapped = sum(quote(cures[: k + 1], try_minutes * (k + 1)).total for k in range(len(cures))) / len(cures)
    tested = sum(quote([cure], find_minutes).total for cure in cures) / len(cures)
    return swapped, tested


def finishing() -> Page:
    """The end of a call-out, in its order."""
    rows = [(str(k), f"{words[0].upper()}{words[1:]}.") for k, words in enumerate(CLOSING, 1)]
    return table("Before you leave", ("", ""), rows)


def example() -> Page:
    """The worked example: lukewarm water on a heater with every side."""
    steps = call_out_example()
    rows = [(str(s.line), s.did, s.why, str(s.left)) for s in steps]
    head = ("log line", "done, and what it showed", "what it tells", "faults left")
    return table("Worked example", head, rows)


@cache
def call_out_example() -> tuple[Step, ...]:
    """A call-out on the whole heater, with the faults still possible after each step."""
    order = example_order("mixing-tap-crosses", MODEL, SCOPE)
    bench = Bench(order)
    why, note = notes_of(bench)
    bench.look()
    note("Free: what can be seen without a tool. You saw it on arrival, so the count stays.")
    bench.do("temperature")
    note("Lukewarm, not cold. One minute with a thermometer: see what it leaves.")
    bench.do("trace lines")
    note(
        "The rest makes sure, before a tap is taken apart. By hand along the pipes: nothing crossed, the bypass is shut."
    )
    bench.do("tap test", tap="hot")
    note("Bucket, watch, thermometer: a good flow, and lukewarm. Nothing is blocked.")
    bench.do("shut-off test")
    note("Shut the heater's cold valve, open a hot tap: water still runs. So it comes from somewhere else.")
    return tuple(steps_of(order, bench, why))


@cache
def _path() -> Reference:
    return reference(MODEL, SCOPE, tuple(range(len(SYMPTOMS))), exact=False)


def _weight(found: Reference, mask: int) -> float:
    return sum(w for i, w in enumerate(found.problem.weights) if mask >> i & 1)
