"""One hand-in's marks: the parts put together."""

from __future__ import annotations

from collections.abc import Iterable

from tankside.bench.rules import RULES
from tankside.diagnosis.candidates import candidates
from tankside.labs import Lab, load_lab
from tankside.report import ServiceReport
from tankside.scoring.diagnosis import diagnosis
from tankside.scoring.evidence import evidence
from tankside.scoring.figures import figures
from tankside.scoring.marks import Marks
from tankside.scoring.readings import before_repair, isolated_at, minutes_to
from tankside.scoring.remedy import remedy
from tankside.scoring.safe_working import safe_working
from tankside.workorder import WorkOrder


def score(order: WorkOrder, report: ServiceReport, log_lines: Iterable[str], lab: Lab | None = None) -> Marks:
    """Marks for one hand-in.

    Parameters
    ----------
    order : the genuine work order (its seal is the caller's business)
    report : the answers, as ``tankside.report.build_report`` makes them
    log_lines : the bench log's lines, as handed in
    lab : weights, figures and pass mark; the order's own lab by default

    Returns
    -------
    Marks
        The five parts in the order of ``tankside.labs.PARTS``. Bad logs and bad answers cost
        marks with a reason; they never raise.
    """
    lab = lab or load_lab(order.lab)
    case = order.case()
    left = candidates(order, log_lines, report.evidence)
    done = left.replay
    assert done is not None
    told = before_repair(left)
    dangerous = tuple(dict.fromkeys(RULES[rule].name for _, rule in done.broke if RULES[rule].dangerous))
    parts = (
        safe_working(lab, done),
        evidence(lab, order, report, told, done),
        diagnosis(lab, case, report, told, done),
        remedy(lab, case, report, left, done),
        figures(lab, case, report, left.found),
    )
    total = sum(part.points for part in parts)
    return Marks(
        parts,
        dangerous,
        tuple(finding.text for finding in done.findings),
        left.now,
        tuple(
            {"seq": e["seq"], "at": e["at"], "left": len(now), "text": e["text"]}
            for e, now in zip(done.entries, left.history, strict=False)
        ),
        total >= lab.pass_mark and not dangerous and not done.tampered,
        done.state.clock if done.state else 0.0,
        case.fault.id,
        case.fault.remedy,
        minutes_to(isolated_at(told), done),
        order.proof.get("minutes"),
        tuple(finding.kind for finding in done.findings),
        tuple(done.broke),
        len(told.at_first),
        len(told.now),
    )
