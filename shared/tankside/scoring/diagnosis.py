"""Diagnosis: the fault that was named, and whether the readings bear it out."""

from __future__ import annotations

from tankside.bench.replay import Replay
from tankside.case import Case
from tankside.diagnosis.candidates import Candidates
from tankside.faults.catalogue import apart, fault_named, faults
from tankside.labs import Lab
from tankside.report import ServiceReport
from tankside.scoring.marks import PartMark, Tally
from tankside.scoring.readings import quoted, support_of, worked

UNSUPPORTED = 0.4
"""Share of the diagnosis part that a right answer earns with no evidence behind it."""
ONE_OF_TWO = 0.45
"""Share for one of two faults at once: a little less than half, because the heater still has the other."""
SAME_REPAIR = 0.3
"""Share for a fault that the readings rule out, but whose repair is the one that they lead to."""

_TEST_ON = "Don't name a fault while your readings allow another. One more test is cheaper than a wrong part."


def diagnosis(lab: Lab, case: Case, report: ServiceReport, left: Candidates, done: Replay) -> PartMark:
    """What the named fault is worth, with what the readings leave (``left``) behind it."""
    tally = Tally("diagnosis", lab.weights["diagnosis"])
    said = report.diagnosis
    if said is None or any(one not in faults() for one in apart(said)):
        tally.add(0.0, f"No diagnosis from the list was given. It was: {case.fault.name}.")
        tally.advise("Name a fault from the lab's list, the one that your readings lead to.")
        return tally.done()
    worth = UNSUPPORTED + (1 - UNSUPPORTED) * support_of(left)
    if said == case.fault.id:
        if worth > 0.999:
            tally.add(1.0, f"Right, and your readings prove it: {quoted(said)}.")
        else:
            why = (
                "your readings don't single it out"
                if worked(done)
                else "no reading supports it: a lucky guess"
            )
            tally.add(worth, f"Right: {quoted(said)}. But {why}, so it earns less.")
            tally.advise(_TEST_ON)
        return tally.done()
    name, was = quoted(said), quoted(case.fault.id)
    half = [fault.name for fault in case.faults if fault.id in apart(said)]
    if half:
        tally.add(ONE_OF_TWO * worth, f"One of the two: {half[0]}. There was {was}.")
        tally.advise("This heater has two faults. When the first is cured, run it and measure again.")
        return tally.done()
    if fault_named(said).remedy == case.fault.remedy and said in left.now:
        tally.add(0.6 * worth, f"Close: {name}. It was {was}. The repair is the same.")
        tally.advise("Ask why the part failed, and test for that too: the repair alone doesn't tell.")
        return tally.done()
    line = left.ruled_out_at(said)
    if line is None:
        others = len(left.now) - 1
        tally.add(
            0.15 * support_of(left),
            f"Your readings allow {name}, and {others} other{'s' if others > 1 else ''}. It was {was}.",
        )
        tally.advise(_TEST_ON)
        return tally.done()
    why = (
        f"line {line} rules that out ({done.entries[line]['text'].rstrip('.')})"
        if line > 0
        else "it wouldn't have shown what the owner noticed"
    )
    text, share = f"It wasn't {name}: {why}. It was {was}.", 0.0
    tally.advise(
        "Before you name a fault, hold it against each line of your log: would it have shown this?"
        if line > 0
        else "Begin with the owner's words: name only a fault that can do what they tell."
    )
    if fault_named(said).remedy == case.fault.remedy:
        text, share = (
            text + " The repair is the same: that counts for something.",
            SAME_REPAIR * support_of(left),
        )
    tally.add(share, text)
    return tally.done()
