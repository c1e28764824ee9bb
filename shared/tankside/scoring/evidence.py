"""Evidence: what the readings tell, whether the learner saw it, and how long it took."""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Sequence

from tankside.bench.replay import Replay
from tankside.diagnosis.candidates import Candidates, remedies_of
from tankside.faults.catalogue import fault_named, faults
from tankside.labs import Lab
from tankside.report import ServiceReport
from tankside.scoring.economy import economy
from tankside.scoring.marks import PartMark, Tally
from tankside.scoring.readings import classes, listed, narrowing_lines, support_of, worked
from tankside.workorder import WorkOrder

MORE_LINES = 3
"""So many lines more than twice those that decide it may be cited: who cites the whole log saw nothing in it."""


def evidence(lab: Lab, order: WorkOrder, report: ServiceReport, left: Candidates, done: Replay) -> PartMark:
    """What the readings up to the first repair (``left``) are worth, and what the learner made of them."""
    tally = Tally("evidence", lab.weights["evidence"])
    if not worked(done):
        tally.add(0.0, "The log shows no measurement. A diagnosis needs readings.")
        return tally.done()
    support = support_of(left)
    names = _named(left.now)
    if len(remedies_of(left.now)) == 1:
        text = f"Your readings leave one repair: {names}."
    else:
        text = (
            f"After your readings {len(left.now)} faults are still possible: {names}. "
            "One more test would part them."
        )
    used = report.diagnosis in left.now
    if not used and support > 0:
        named = faults().get(report.diagnosis or "")
        said = f"wrote {named.name}" if named else "named no fault from the list"
        text += f" But you {said}: readings that you don't use are worth half."
    tally.add(lab.evidence.information / 100 * support * (1.0 if used else 0.5), text)
    _citing(tally, lab.evidence.citing / 100, report, left, done, support)
    if used:
        economy(tally, lab.evidence.economy / 100, order, left, done)
    else:
        tally.add(0.0, "There are no marks for time when the diagnosis doesn't follow from the readings.")
    return tally.done()


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
        tally.add(
            share * support * bool(cited), "You cited your readings." if cited else "You cited no log line."
        )
    elif not cited:
        tally.add(0.0, f"You cited no log line. The lines that decided it were {listed(lines)}.")
    else:
        missed = uncited(left, cited)
        many = len(cited) > 2 * len(lines) + MORE_LINES
        text = _of_the_cited(left, lines, missed)
        if many:
            text += f" But you cited {len(cited)} lines where {len(lines)} would do: pick those that tell."
        tally.add(share * _told(left, missed) * (0.5 if many else 1.0), text)
    beyond = sorted(line for line in cited if line >= len(done.entries))
    if beyond:
        tally.add(0.0, f"The log has no line {listed(beyond)}.")


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
    rest = [line for line in lines if not ruled_out[line].isdisjoint(missed)]
    where = f"line {rest[0]}" if len(rest) == 1 else f"lines {listed(rest)}"
    names = _named(sorted(missed))
    if len(missed) == every:
        return f"The lines that you cited rule nothing out. Look at {where} for what is ruled out: {names}."
    return (
        f"The lines that you cited rule out {every - len(missed)} of the {every} faults that your readings rule out. "
        f"Look at {where} for the rest: {names}."
    )


def _named(found: Sequence[str]) -> str:
    names = [fault_named(fault).name for fault in found]
    return ", ".join(names[:4]) + (" and others" if len(names) > 4 else "")
