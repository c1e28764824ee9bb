"""Evidence: what the readings tell, whether the learner saw it, and how long it took."""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Sequence

from tankside.bench.replay import Replay
from tankside.diagnosis.candidates import Candidates, remedies_of
from tankside.faults.catalogue import apart, faults
from tankside.labs import Lab
from tankside.report import ServiceReport
from tankside.scoring.economy import economy
from tankside.scoring.marks import PartMark, Tally
from tankside.scoring.readings import (
    classes,
    lines_named,
    narrowing_lines,
    quoted,
    repaired,
    support_of,
    worked,
)
from tankside.workorder import WorkOrder

MORE_LINES = 3
"""So many lines more than twice those that decide it may be cited: who cites the whole log saw nothing in it."""


def evidence(lab: Lab, order: WorkOrder, report: ServiceReport, left: Candidates, done: Replay) -> PartMark:
    """What the readings up to the first repair (``left``) are worth, and what the learner made of them."""
    tally = Tally("evidence", lab.weights["evidence"])
    if not worked(done):
        tally.add(0.0, "The log shows no measurement. A diagnosis needs readings.")
        tally.advise("Measure before you name a fault: each reading rules some faults out.")
        return tally.done()
    support = support_of(left)
    settled = len(remedies_of(left.now)) == 1
    text = _what_is_left(left, done)
    used = report.diagnosis in left.now
    if not settled:
        tally.advise(
            "Before each test, ask which faults it can rule out. After it, say which are left. "
            "Go on until one repair is left."
        )
    if not used and support > 0:
        text += f" {_unused(report)} Readings that you don't use are worth half."
        tally.advise(
            "Your readings knew more than your report. Read your log once more before you name the fault."
        )
    tally.add(lab.evidence.information / 100 * support * (1.0 if used else 0.5), text)
    _citing(tally, lab.evidence.citing / 100, report, left, done, support)
    if used:
        economy(tally, lab.evidence.economy / 100, order, left, done)
    elif settled:
        tally.add(0.0, "No marks for time: the fault that you named doesn't follow from your readings.")
    return tally.done()


def _unused(report: ServiceReport) -> str:
    """That the report doesn't say what the readings leave."""
    said = report.diagnosis
    if said is None or any(one not in faults() for one in apart(said)):
        return "But you named no fault from the list."
    return f"But you wrote {quoted(said)}, which isn't among them."


def _what_is_left(left: Candidates, done: Replay) -> str:
    """From how many faults to how many the readings before the repair came, and which they are."""
    first, now = len(left.at_first), len(left.now)
    if first == now == 1:
        return "The owner's words left one fault, and your readings bear it out."
    if len(remedies_of(left.now)) == 1:
        lines = [line for line in narrowing_lines(left) if line > 0]
        where = f", settled at line {lines[-1]}" if lines else ""
        who = "your readings" if lines else "what you saw on arrival"
        if now == 1:
            return f"Of the {first} faults that fit the owner's words, {who} left one{where}."
        return f"Of the {first} faults that fit the owner's words, {who} left {now} with one repair: {_named(left.now)}{where}."
    when = "When you began to repair" if any(map(repaired, done.entries)) else "After all your readings"
    some = f"{now} of {first}" if now < first else f"all {first}"
    return f"{when}, {some} faults were still possible: {_named(left.now)}."


def _citing(
    tally: Tally,
    share: float,
    report: ServiceReport,
    left: Candidates,
    done: Replay,
    support: float,
) -> None:
    """What the cited lines tell by themselves, against what the whole log tells."""
    lines = [line for line in narrowing_lines(left) if line > 0]
    cited = set(report.evidence)
    if not lines:
        text = (
            "You cited no log line." if not cited else "None of the lines that you cited rules a fault out."
        )
        if cited and support:
            text = (
                "It was plain on arrival, and you cited your log."
                if len(left.now) == 1
                else "What you saw on arrival ruled something out. None of the lines that you cited rules out more."
            )
        tally.add(share * support * bool(cited), text)
    elif not cited:
        tally.add(0.0, f"You cited no log line. Faults were ruled out at {lines_named(lines)}.")
    else:
        missed = uncited(left, cited)
        many = len(cited) > 2 * len(lines) + MORE_LINES
        text = _of_the_cited(left, lines, missed)
        if many:
            text += f" But you cited {len(cited)} lines where {len(lines)} would do: {lines_named(lines)}."
        tally.add(share * _told(left, missed) * (0.5 if many else 1.0), text)
    tally.advise("Note the number of a log line when it rules something out. Cite those lines and no others.")
    beyond = sorted(line for line in cited if line >= len(done.entries))
    if beyond:
        last = len(done.entries) - 1
        text = f"The log counts only up to line {last}" if done.tampered else f"The log ends at line {last}"
        tally.add(0.0, f"{text}. It has no {lines_named(beyond)}.")


def uncited(left: Candidates, cited: Collection[int]) -> set[str]:
    """The faults that the readings rule out and the cited lines don't.

    A line counts for what it ruled out when it was read, and the cited lines together for what they rule out by
    themselves: a later reading that tells the same is worth the same.
    """
    lines = [line for line in narrowing_lines(left) if line > 0]
    shown = set().union(*(_ruled_out_at(left, line) for line in lines if line in cited))
    missed = set().union(*(_ruled_out_at(left, line) for line in lines)) - shown
    return missed if left.told is None else missed & set(left.told)


def _ruled_out_at(left: Candidates, line: int) -> set[str]:
    """The faults that were open before a line, after the first, and not after it."""
    return set(left.history[line - 1]) - set(left.history[line])


def _told(left: Candidates, missed: Collection[str]) -> float:
    """The information in the cited lines as a share of the information in all of them: 0 to 1.

    Counted in repairs, as all evidence is; in faults where the readings parted only faults of one repair.
    """
    first, now = left.history[0], left.now
    count: Callable[[Sequence[str]], int] = classes if classes(first) > classes(now) else len
    return math.log(count(first) / count((*now, *missed))) / math.log(count(first) / count(now))


def _of_the_cited(left: Candidates, lines: Sequence[int], missed: Collection[str]) -> str:
    """What the cited lines rule out of all that is ruled out, and which lines show the rest."""
    if not missed:
        return "The lines that you cited rule out everything that your readings rule out."
    ruled_out = {line: _ruled_out_at(left, line) for line in lines}
    every = len(set().union(*ruled_out.values()))
    where = lines_named([line for line in lines if not ruled_out[line].isdisjoint(missed)])
    names = _named(sorted(missed))
    if len(missed) == every:
        return f"The lines that you cited rule nothing out. Look at {where} for what is ruled out: {names}."
    return (
        f"The lines that you cited rule out {every - len(missed)} of the {every} faults that your readings rule out. "
        f"Look at {where} for the rest: {names}."
    )


def _named(found: Sequence[str]) -> str:
    names = [quoted(fault) for fault in found]
    return ", ".join(names[:4]) + (f" and {len(names) - 4} more" if len(names) > 4 else "")
