"""Self-check questions for lesson 6: each draws its own numbers and computes its own answer.

A question is drawn from a stream and nothing else, so the same seed gives the same question.
A wrong choice is what a typical mistake gives, and says which mistake.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from datetime import date
from functools import cache

from tankside.bench import Bench
from tankside.faults.catalogue import Fault
from tankside.measures import amount
from tankside.physics.fuels import fuel, heating_value
from tankside.physics.ignition import breakdown_si, thermocouple_loaded
from tankside.questions.ignition_starts import kinds_of_start
from tankside.questions.numbers import number_question
from tankside.questions.question import Choice, Question
from tankside.streams import Stream
from tankside.units import quantity
from tankside.workorder import WorkOrder

MODEL, PILOT_MODEL = "teal_10", "dipper_6"
TRIALS = 4
"""Sites and meters that are drawn from."""
WEAK = 1.0
"""µA under which a signal is weak (``tests/published/ignition.toml``, flame-current-weak)."""


def lockout_after(draw: Stream) -> Question:
    """Seconds from the call for heat to the lockout."""
    purge, trial = draw.choice((2, 3, 4, 5, 8, 10)), draw.choice((4, 5, 6, 7, 8, 10, 12))
    wait, tries = draw.choice((10, 15, 20, 25, 30)), draw.choice((2, 3))
    right = purge + tries * trial + (tries - 1) * wait
    text = (
        f"A board purges {purge} s, tries for {trial} s, waits {wait} s between tries, and tries {tries} times. "
        "Nothing lights. How long after the call for heat does it lock out?"
    )
    wrong = [
        (right + wait, "One wait too many: after the last try there is none."),
        (purge + trial, "That is only the first try."),
        (right - (tries - 1) * wait, "The waits between the tries count too."),
        (tries * (purge + trial), "In this question the purge comes once, and the waits are missing."),
    ]
    way = f"Purge, {tries} tries, and {tries - 1} wait{'s' if tries > 2 else ''} between them."
    return number_question("lockout-after", text, float(right), "s", way, wrong)


def out_after(draw: Stream) -> Question:
    """How long a flame burns that is never proven."""
    trial, catches = draw.choice((5, 6, 7, 8, 10, 12, 15)), draw.choice((1, 2, 3))
    response = draw.choice((0.5, 0.6, 0.8))
    text = (
        f"Trial {trial} s, flame response {response} s. The gas catches {catches} s after the valve opens. "
        "The rod sees nothing. How long does the flame burn?"
    )
    wrong = [
        (float(trial), "The trial starts with the gas, not with the flame."),
        (response, "The response time is for a flame that was proven first. This one never was."),
        (float(trial + catches), "The valve shuts at the end of the trial. It doesn't wait for the flame."),
        (trial - catches + response, "No response time here: the board was never in the run step."),
    ]
    way = "What is left of the trial when the gas has caught: then the valve shuts."
    return number_question("out-after", text, float(trial - catches), "s", way, wrong)


def unburnt_gas(draw: Stream) -> Question:
    """Gas that tries without a spark let in."""
    watts = 1000.0 * draw.choice((2.0, 2.3, 2.6, 2.9, 3.2, 3.5))
    trial, tries = draw.choice((5, 6, 7, 8, 10)), draw.choice((2, 3))
    each = watts / heating_value(fuel("propane"), "volume").to("J/m^3").magnitude

    def written(cubic_metres: float) -> str:
        return amount(cubic_metres, "m^3", "small gas volume")

    gone = each * trial * tries
    text = (
        f"The burner takes {amount(watts, 'W', 'heat rate')}. That is {written(each)} of propane in each second. There is "
        f"no spark, and {tries} tries of {trial} s fail. How much gas went in unburned?"
    )
    way = "What flows in a second, times the seconds of a try, times the tries."
    wrong = (
        Choice(written(gone / tries), "That is one try only."),
        Choice(written(each * trial * tries**2), "The tries count once, not twice."),
        Choice("None: the valve is shut without a flame.", "In each try the valve is open. The board needs the gas to light."),
    )  # fmt: skip
    return Question(
        "unburnt-gas",
        text,
        Choice(written(gone), way),
        wrong,
        f"{way} Wait, and smell, before the next start.",
    )


def judge_signal(draw: Stream) -> Question:
    """A flame's current judged by the board's limit and by what counts as weak."""
    limit = draw.choice((0.4, 0.5, 0.6, 0.7))
    verdicts = {
        "good": "The signal is good.",
        "weak": "It is seen, but weak. Find out why.",
        "none": "The board can't see the flame.",
    }
    kind = draw.choice(tuple(verdicts))
    low, high = {"good": (1.6, 6.0), "weak": (limit * 1.08, 0.97), "none": (0.02, limit * 0.9)}[kind]
    reading = round(draw.uniform(low, high), 2)
    text = f"The board believes a flame from {limit} µA direct. Your meter, in series with the rod, shows {reading:.2f} µA. What do you say?"
    why = f"The limit is {limit} µA, and under {WEAK:g} µA a signal is weak. Shown: {reading:.2f} µA."
    wrong = [Choice(words, why) for key, words in verdicts.items() if key != kind]
    wrong.append(
        Choice(
            "The meter has to be on alternating.", "The proof is direct current. A leak gives alternating."
        )
    )
    return Question("judge-signal", text, Choice(verdicts[kind], why), tuple(wrong), why)


def pattern_suspect(draw: Stream) -> Question:
    """Which fault could be behind a pattern; worked out from recorded starts."""
    kinds = [k for k in kinds_of_start() if not k.pattern.works]
    kind = draw.choice(kinds)
    right = draw.choice(kind.faults)
    shows = {fault.id for fault in kind.faults}
    others = [(k, fault) for k in kinds for fault in k.faults if fault.id not in shows]
    wrong: list[Choice] = []
    taken: set[str] = set()
    for other, fault in draw.shuffled(others):
        if fault.id in taken or len(wrong) == 3:
            continue
        taken.add(fault.id)
        wrong.append(Choice(_named(fault), f"That would look like this: {_lower(other.pattern.words())}."))
    text = f"You watch one start: {_lower(kind.pattern.words())}. Which of these can it be?"
    why = (
        f"{len(kind.faults)} fault{'s' if len(kind.faults) > 1 else ''} of our heater can show this pattern."
    )
    return Question("pattern-suspect", text, Choice(_named(right), why), tuple(wrong), why)


_LOST = {
    "rod-fouled": ("The rod is dirty.", "Lead, insulator and burner's ground are good. Dirt on the rod doesn't show on ohms."),
    "rod-cracked": ("The rod's insulator is cracked.", "With the lead off, rod to burner should be open."),
    "burner-ground-poor": ("The burner's ground is rusty.", "Burner to bracket should be next to nothing."),
    "sense-lead-open": ("The lead to the rod is broken.", "From end to end the lead should be next to nothing."),
    "board-sense-failed": ("The board is blind.", "The current is good, and still the flame isn't believed."),
}  # fmt: skip


def where_lost(draw: Stream) -> Question:
    """Microamps and three ohm readings: where is the flame's signal lost? Read at a bench."""
    fault = draw.choice(tuple(_LOST))
    current, lead, insulator, ground = _signal_readings(fault, draw.integer(1, TRIALS))
    text = (
        f"It lights and goes out with the trial. In the rod's lead: {current}. Power off: the lead end to end {lead}; "
        f"rod to burner, lead off, {insulator}; burner to bracket {ground}. What is wrong?"
    )
    right, why = _LOST[fault]
    others = draw.shuffled([key for key in _LOST if key != fault])[:3]
    wrong = tuple(Choice(*_LOST[key]) for key in others)
    return Question("where-lost", text, Choice(right, why), wrong, why)


def gap_verdict(draw: Stream) -> Question:
    """An igniter's gap against its maker's figures."""
    low = draw.choice((2.8, 3.0, 3.2))
    high = low + draw.choice((0.6, 0.8, 1.0))
    kind = draw.choice(("wide", "narrow", "good"))
    gap = round(
        {
            "wide": draw.uniform(high + 1.2, high + 4.0),
            "narrow": draw.uniform(0.5, 1.5),
            "good": draw.uniform(low + 0.1, high - 0.1),
        }[kind],
        1,
    )

    def written(value: float) -> str:
        return amount(value, "mm", "small length")

    needs = float(breakdown_si(gap / 1e3)) / 1e3
    verdicts = {
        "wide": ("Too wide: the spark may not jump.", f"This gap needs about {needs:.0f} kV. A wider gap needs more."),
        "narrow": ("Too narrow: it sparks, but the metal cools the flame.", f"About {needs:.0f} kV jump it, yet cold metal on both sides puts a small flame out."),
        "good": ("It is right. Look elsewhere.", "It lies between the maker's two figures."),
    }  # fmt: skip
    text = f"The maker wants {written(low)} to {written(high)}. Your gauge shows {written(gap)}. What about the gap?"
    right, why = verdicts[kind]
    says = f"The maker's figures are {written(low)} to {written(high)}, and the gauge shows {written(gap)}."
    wrong = [Choice(words, says) for key, (words, _) in verdicts.items() if key != kind]
    wrong.append(Choice("A gap can't be judged without a spark.", "A feeler gauge judges it, power off."))
    return Question("gap-verdict", text, Choice(right, why), tuple(wrong), f"{says} {why}")


def loaded_millivolts(draw: Stream) -> Question:
    """Millivolts across the magnet from the open ones."""
    opened = round(draw.uniform(18, 30), 1)
    inner, coil = draw.choice((10, 12, 15, 18, 20)), draw.choice((10, 12, 15, 20, 25))
    right = thermocouple_loaded(
        quantity(opened, "mV"), quantity(inner, "mohm"), quantity(coil, "mohm")
    ).magnitude
    text = (
        f"A thermocouple gives {opened} mV open. It has {inner} thousandths of an ohm, the magnet has {coil}. "
        "All joints are good. What do you read across the magnet?"
    )
    wrong = [
        (opened, "Open and connected would be alike only if no current flowed."),
        (opened * inner / (inner + coil), "That is what stays in the thermocouple itself."),
        (opened * coil / inner, "The whole loop counts: both together go under the line."),
        (opened / 10.0, "That is far too low: then the magnet would let go."),
    ]
    way = "The magnet's share of the ohms in the loop gets the same share of the millivolts."
    return number_question("loaded-millivolts", text, right, "mV", way, wrong)


_PILOTS = {
    "thermocouple-weak": ("The thermocouple is weak.", "The flame is around the tip, and even open it gives too little."),
    "pilot-flame-small": ("The pilot's flame is too small.", "It doesn't reach the tip, so the tip stays cool."),
    "thermocouple-loose": (
        "No current flows: a loose joint, or the magnet's coil is open.",
        "Good open, and nearly the same connected: nothing loads it.",
    ),
    "magnet-weak": ("The magnet is worn.", "Good open, about half connected: current flows, and still it doesn't hold."),
    "pilot-limit-tripped": (
        "The way to the magnet is open, such as a high limit.",
        "Good open, and nothing at all arrives at the magnet.",
    ),
}  # fmt: skip


def pilot_cause(draw: Stream) -> Question:
    """Why a pilot won't stay, from what is seen and from millivolts. Read at a bench."""
    cause = draw.choice(tuple(_PILOTS))
    around, opened, loaded = _pilot_readings(cause, draw.integer(1, TRIALS))
    flame = "burns around the tip" if around else "is small and misses the tip"
    text = (
        f"The pilot {flame}, and goes out when you let go. The thermocouple gives {opened} open and {loaded} across the "
        "magnet. What is it?"
    )
    right, why = _PILOTS[cause]
    others = draw.shuffled([key for key in _PILOTS if key != cause])[:3]
    return Question(
        "pilot-cause", text, Choice(right, why), tuple(Choice(*_PILOTS[key]) for key in others), why
    )


def after_lockout(draw: Stream) -> Question:
    """What comes next after failed tries, with a smell of gas or without."""
    tries = draw.choice((2, 3, 4, 6, 9))
    smell = draw.choice((True, False))
    minutes = draw.choice((1, 2, 3))
    found = "There is a smell of gas low down." if smell else "You smell nothing."
    text = f"The owner has reset a lockout, and {tries} tries have failed. The last was {minutes} min ago. {found} What now?"
    leave = Choice(
        "Shut the cylinder, open up, touch no switch, and get out.", "Where you smell gas there is gas to burn. A switch can spark."
    )  # fmt: skip
    wait = Choice(
        "Gas off, wait as long as the maker says, smell again, then find the cause.",
        "Raw gas may still hang in the chamber, and the cause is still there.",
    )
    again = Choice("Reset it and watch.", "The next spark may light all the gas of the failed tries at once.")
    bypass = Choice(
        "Bridge the flame rod for a moment.", "Never. Then nothing shuts the gas when the flame is gone."
    )
    right, other = (leave, wait) if smell else (wait, leave)
    if smell:
        other = Choice(wait.text, "Not with a smell of gas: first out, and the cylinder shut.")
    else:
        other = Choice(
            "Blow the chamber out and try at once.",
            "Only time and air clear it, and the cause is still there.",
        )
    return Question("after-lockout", text, right, (other, again, bypass), right.why)


QUESTIONS: tuple[Callable[[Stream], Question], ...] = (
    after_lockout,
    lockout_after,
    out_after,
    unburnt_gas,
    judge_signal,
    pattern_suspect,
    where_lost,
    gap_verdict,
    loaded_millivolts,
    pilot_cause,
)


def _named(fault: Fault) -> str:
    return fault.name.partition(":")[0]


def _lower(words: str) -> str:
    return words[0].lower() + words[1:]


def _bench(fault: str, model: str, number: int) -> Bench:
    """A training bench with that fault; the number draws its site, its meter and how far the fault has gone."""
    return Bench(
        WorkOrder(
            order=f"CHECK-{number}",
            lab="lesson",
            seed=hashlib.sha256(f"self-check {model} {fault} {number}".encode()).hexdigest()[:32],
            model=model,
            scope=(fault,),
            issued=date(2026, 1, 1),
            complaint="",
        )
    )


@cache
def _signal_readings(fault: str, number: int) -> tuple[str, str, str, str]:
    """Microamps in the rod's lead; ohms of the lead, rod to burner with the lead off, burner to bracket."""
    bench = _bench(fault, MODEL, number)
    for place in ("panel", "heater-front", "burner-bay"):
        bench.open_cover(place)
    bench.switch("panel_switch", "off")
    bench.run_tap(5)
    current = _said(bench.do("watch start", meter="flame").readings[0])
    bench.switch("dc_panel_switch", "off")
    bench.switch("breaker", "off")
    bench.switch("supply", "out")
    bench.lock_out("supply")
    bench.prove_dead("heater-front")
    bench.meter("Ω")
    bench.zero_leads()
    lead = _said(bench.probe("control_board.sense", "flame_sensor.rod").readings[0])
    bench.lift("sense_lead")
    insulator = _said(bench.probe("flame_sensor.rod", "flame_sensor.burner").readings[0])
    ground = _said(bench.probe("flame_sensor.burner", "flame_sensor.bracket").readings[0])
    return current, lead, insulator, ground


@cache
def _pilot_readings(fault: str, number: int) -> tuple[bool, str, str]:
    """Whether the pilot reaches the tip; millivolts open and across the magnet."""
    bench = _bench(fault, PILOT_MODEL, number)
    bench.open_cover("pilot-bay")
    bench.run_tap(5)
    around = bool(bench.do("light pilot").entry["result"]["reaches"])
    loaded, opened = (_said(r) for r in bench.do("thermocouple test").readings)
    return around, opened, loaded


def _said(reading: dict[str, object]) -> str:
    if reading["value"] is None:
        return str(reading["digits"])
    unit = str(reading["unit"]).replace("⎓", "")
    return f"{reading['digits']} {unit}"
