"""Remedy: does it cure this heater, was it carried out and proved, and in what condition was the heater left?"""

from __future__ import annotations

import math
from collections.abc import Sequence

from tankside.bench.replay import Replay
from tankside.case import RUN_BEFORE, Case, as_found
from tankside.diagnosis.candidates import Candidates, remedies_of
from tankside.faults.catalogue import apart, keys_on, remedies, remedy_named
from tankside.faults.effects import cure
from tankside.heater.simulation import advance
from tankside.heater.unit import Unit
from tankside.labs import Lab
from tankside.report import CONDITIONS, ServiceReport
from tankside.scoring.marks import PartMark, Tally
from tankside.scoring.readings import quoted_remedy, repaired

IN_SERVICE, REPORTED = CONDITIONS
ONE_OF_TWO = 0.3
"""Share of the remedy part for one of two repairs that two faults at once ask for."""
MISSTATED = 0.15
"""Share of the remedy part that a report costs which says of the heater's condition what the log doesn't bear out."""
GUESSED_REPAIR = 0.3
"""Share of the remedy part that a right repair costs when it was made before the readings singled it out."""


def cures(case: Case, remedy_id: str, found: Unit | None = None) -> bool:
    """True if the remedy takes the fault away and the heater then works: it is carried out and run.

    Whoever repairs also switches on: every switch, the plug and the breaker, but no lever that a
    limit has opened.
    """
    unit, healthy = (found or as_found(case)).copy(), case.healthy()
    cure(unit, remedy_named(remedy_id), healthy)
    keys = [key for effect in case.fault.effect for key in keys_on(case.model, effect.on)]
    if not all(math.isclose(float(unit[key][0]), healthy[key], rel_tol=1e-9) for key in keys):
        return False
    for part, kind in case.model.types.items():
        if kind.positions:
            unit.set(f"{part}.{kind.moves}", 1.0)
            if "heat" in kind.states:
                unit.set(f"{part}.heat", 0.0)
    unit.set("tank.temperature", float(unit["site.cold_water"][0]))
    advance(unit, RUN_BEFORE)
    set_to = min((float(unit[f"{t}.closes_at"][0]) for t in case.model.of_type("thermostat")), default=0.0)
    return bool(unit["tank.temperature"][0] >= set_to - 1.0)


def remedy(lab: Lab, case: Case, report: ServiceReport, left: Candidates, done: Replay) -> PartMark:
    """What the named and the done repairs are worth; ``left`` covers the whole log."""
    tally = Tally("remedy", lab.weights["remedy"])
    right = remedy_named(case.fault.remedy)
    needs = " and ".join(quoted_remedy(one) for one in apart(right.id))
    carried_out = done.state.repaired if done.state and not done.tampered else []
    needed = apart(right.id)
    named = apart(report.remedy) if report.remedy else ()
    given = bool(named) and all(one in remedies() for one in named)
    right_ones = set(named) & set(needed)
    too_much = given and not right_ones and cures(case, str(report.remedy), left.found)
    if report.remedy is None or not given:
        tally.add(0.0, f"No remedy from the list was given. It needed {needs}.")
        tally.advise("Name the remedy from the lab's list, even when the repair is somebody else's work.")
    elif report.remedy == right.id:
        tally.add(0.7, f"Right remedy: {needs}.")
    elif right_ones:
        tally.add(ONE_OF_TWO, f"One of the two: {_names(right_ones)}. It needed {needs}.")
    elif too_much:
        tally.add(
            0.5,
            f"{quoted_remedy(str(report.remedy))} cures the heater, but renews more than had failed. {needs} was enough.",
        )
    else:
        tally.add(
            0.0,
            f"{quoted_remedy(str(report.remedy))} leaves the heater with its fault. It needed {needs}.",
        )
        tally.advise("A remedy follows from the fault. Find the fault first, then ask what cures just that.")
    if given and (too_much or set(named) == right_ones) and set(named) <= set(carried_out):
        proved = bool(done.state and done.state.operated)
        part = len(named) / len(needed) if set(named) < set(needed) else 1.0
        tally.add(
            part * (0.3 if proved else 0.2),
            "You carried it out"
            + (
                " and proved that it heats."
                if proved
                else ", but didn't prove that it heats: run it and measure the water."
            ),
        )
        if not proved:
            tally.advise(
                "After the repair put everything back, run the heater, and see that the water gets warmer."
            )
    elif not right.hands_on and report.remedy == right.id:
        locked = not _misstated(report.condition, done)
        told = report.condition == REPORTED or set(needed) <= set(carried_out)
        tally.add(
            0.3 * told,
            ("You left it safe and reported it." if locked else "You reported it.")
            if told
            else "The log doesn't show it done, and the report doesn't say that you left it locked out and reported.",
        )
        if not told:
            tally.advise(
                "A repair that isn't yours to do is reported: lock out, tag, and write that in the report."
            )
    elif report.condition == REPORTED and report.remedy == right.id and done.state and done.state.locked:
        tally.add(0.2, "You didn't carry it out, but left it locked out and reported it.")
    elif not given and set(needed) <= set(carried_out):
        tally.add(0.0, "The log shows the repair. The report has to say it as well.")
    elif not given or too_much or right_ones:
        tally.add(0.0, _not_done(carried_out, set(named) - set(carried_out) if given else set()))
        tally.advise(
            "Carry the repair out at the bench, then run the heater and see that the water gets warmer."
        )
    guessed = next((line for one in needed if (line := _guessed(left, done, one)) is not None), None)
    if guessed is not None:
        tally.add(
            -GUESSED_REPAIR,
            f"Line {guessed}: you changed it before your readings singled it out. It worked this time. "
            "The next heater with these signs may have another fault.",
        )
        tally.advise("Measure until one repair is left. Then change the part, not before.")
    if wrong := _misstated(report.condition, done):
        tally.add(-MISSTATED, wrong)
        tally.advise("Write how you leave the heater. Whoever comes next goes by what you wrote.")
    wasted = [r for r in carried_out if r not in needed and not cures(case, r, left.found)]
    for remedy_id in wasted[:3]:
        tally.add(-0.15, f"{quoted_remedy(remedy_id)} was done to a part that had not failed.")
        tally.advise("Measure until one repair is left. Then change the part, not before.")
    return tally.done()


def _misstated(condition: str | None, done: Replay) -> str:
    """What is wrong with what the report says of the heater's condition, as the log ends; empty if nothing is.

    A heater without mains has nothing to put a lock on.
    """
    state = done.state
    if state is None or done.tampered or condition is None or not state.model.of_type("mains supply"):
        return ""
    if condition == REPORTED and not state.locked:
        return f"The report says “{condition}”. At the end of the log no lock is on: anyone can switch it on."
    if condition == IN_SERVICE and state.locked:
        return f"The report says “{condition}”. At the end of the log your lock is on it."
    return ""


def _not_done(carried_out: Sequence[str], missing: set[str]) -> str:
    """That the log lacks the repairs that the report names, or has others instead."""
    if not carried_out:
        return "The log doesn't show the repair being carried out."
    lacks = _names(missing) or "the repair that it needed"
    return f"The log shows {_names(set(carried_out))}. It doesn't show {lacks}."


def _guessed(left: Candidates, done: Replay, remedy_id: str) -> int | None:
    """The line of a right repair, if it wasn't sure then that it was needed: a part-swap, not a diagnosis."""
    for line, entry in enumerate(done.entries):
        if repaired(entry) == remedy_id:
            before = left.history[line - 1] if line and line <= len(left.history) else left.at_first
            sure = all(remedy_id in apart(remedy) for remedy in remedies_of(before))
            return None if sure else line
    return None


def _names(some: set[str]) -> str:
    return "; ".join(quoted_remedy(one) for one in sorted(some))
