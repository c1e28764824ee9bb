"""Evidence: what the readings tell, whether the learner saw it, and how long it took."""

from __future__ import annotations

from tankside.bench.replay import Replay
from tankside.diagnosis.candidates import Candidates, remedies_of
from tankside.faults.catalogue import fault_named, faults
from tankside.labs import Lab
from tankside.report import ServiceReport
from tankside.scoring.economy import economy
from tankside.scoring.marks import PartMark, Tally
from tankside.scoring.readings import listed, narrowing_lines, support_of, worked
from tankside.workorder import WorkOrder


def evidence(lab: Lab, order: WorkOrder, report: ServiceReport, left: Candidates, done: Replay) -> PartMark:
    """What the readings up to the first repair (``left``) are worth, and what the learner made of them."""
    tally = Tally("evidence", lab.weights["evidence"])
    if not worked(done):
        tally.add(0.0, "The log shows no measurement. A diagnosis needs readings.")
        return tally.done()
    support = support_of(left)
    names = ", ".join(fault_named(name).name for name in left.now[:4]) + (
        " and others" if len(left.now) > 4 else ""
    )
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
    tally: Tally, share: float, report: ServiceReport, left: Candidates, done: Replay, support: float
) -> None:
    lines = [line for line in narrowing_lines(left) if line > 0]
    cited = set(report.evidence)
    if not lines:
        tally.add(
            share * support * bool(cited), "You cited your readings." if cited else "You cited no log line."
        )
    elif not cited:
        tally.add(0.0, f"You cited no log line. The lines that decided it were {listed(lines)}.")
    else:
        hit = len(cited & set(lines))
        stray = len(cited - set(lines)) > len(lines) + 3
        tally.add(
            share * hit / len(lines) * (0.5 if stray else 1.0),
            f"Of the lines that narrowed it down ({listed(lines)}) you cited {hit} of {len(lines)}."
            + (" You also cited many that decide nothing." if stray else ""),
        )
    beyond = sorted(line for line in cited if line >= len(done.entries))
    if beyond:
        tally.add(0.0, f"The log has no line {listed(beyond)}.")
