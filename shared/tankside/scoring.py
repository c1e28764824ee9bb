"""Scoring: work order + service report + bench log -> marks, each with its reason. A pure function.

Nothing here runs learner code, reads a file or asks the time. The log is done again on the
order's own unit: only actions that happened and readings that this heater gives count. How
the five parts are weighed is the lab's data file's business; how much of a part is earned is
decided here and argued in the contributor's guide.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import asdict, dataclass, replace
from typing import Any

from tankside.bench.replay import Replay
from tankside.bench.rules import RULES
from tankside.bench.state import BenchState
from tankside.case import RUN_BEFORE, Case, as_found
from tankside.diagnosis.candidates import Candidates, candidates, remedies_of
from tankside.errors import AnswerError
from tankside.faults.catalogue import fault_named, faults, keys_on, remedies, remedy_named
from tankside.faults.effects import cure
from tankside.figures import truth
from tankside.heater.simulation import advance
from tankside.heater.unit import Unit
from tankside.labs import PARTS, Figure, Lab, load_lab
from tankside.report import MAX_TEXT, ServiceReport, read_measure
from tankside.units import significant
from tankside.workorder import WorkOrder

CARELESS_FIRST = 0.25
"""Share of the safe-working part that breaking a careless rule costs the first time; each further time a tenth."""
LEFT_UNDONE = 0.10
"""Share of the safe-working part for each thing left undone at the end."""
EXPECTED = 0.20
"""Share of the safe-working part for each action that the lab asks for and the log lacks."""
ROOM_FACTOR, ROOM_MINUTES = 2.5, 15.0
"""Full marks for economy up to so many times the reference path's minutes and so many more: room to think."""
GUESSED_REPAIR = 0.3
"""Share of the remedy part that a right repair costs when it was made before the readings singled it out."""
UNSUPPORTED = 0.4
"""Share of the diagnosis part that a right answer earns with no evidence behind it."""


@dataclass(frozen=True)
class Reason:
    """One sentence that a learner can act on, and the points that it gave or cost."""

    text: str
    points: float


@dataclass(frozen=True)
class PartMark:
    """One part of the mark."""

    id: str
    name: str
    points: float
    out_of: float
    reasons: tuple[Reason, ...]


@dataclass(frozen=True)
class Marks:
    """The whole mark.

    ``path`` holds, per log line, how many faults were still possible; ``isolated`` the minutes
    until one repair was left (None: never), ``reference`` those of the reference path.
    """

    parts: tuple[PartMark, ...]
    unsafe: tuple[str, ...]
    findings: tuple[str, ...]
    candidates: tuple[str, ...]
    path: tuple[dict[str, Any], ...]
    passed: bool
    minutes: float
    fault: str
    remedy: str
    isolated: float | None = None
    reference: float | None = None

    @property
    def total(self) -> float:
        """Points of all parts."""
        return round(sum(part.points for part in self.parts), 2)

    @property
    def out_of(self) -> float:
        """Points that could be had."""
        return sum(part.out_of for part in self.parts)

    def part(self, part_id: str) -> PartMark:
        """One part by its id."""
        return next(part for part in self.parts if part.id == part_id)

    def to_dict(self) -> dict[str, Any]:
        """Plain data, as the grader stores it."""
        return {**asdict(self), "total": self.total, "out_of": self.out_of}


class _Tally:
    """Collects the reasons of one part; its points stay between nothing and all."""

    def __init__(self, part_id: str, out_of: float) -> None:
        self.id, self.out_of = part_id, out_of
        self.share, self.reasons = 0.0, list[Reason]()

    def add(self, share: float, text: str) -> None:
        """Give (or cost) so much of the part, and say why."""
        self.share += share
        self.reasons.append(Reason(text, round(share * self.out_of, 2)))

    def done(self) -> PartMark:
        points = round(min(max(self.share, 0.0), 1.0) * self.out_of, 2)
        return PartMark(self.id, PARTS[self.id], points, float(self.out_of), tuple(self.reasons))


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
    left = candidates(order, log_lines)
    done = left.replay
    assert done is not None
    told = before_repair(left)
    dangerous = tuple(dict.fromkeys(RULES[rule].name for _, rule in done.broke if RULES[rule].dangerous))
    parts = (
        _safe_working(lab, done),
        _evidence(lab, order, report, told, done),
        _diagnosis(lab, case, report, told, done),
        _remedy(lab, case, report, left, done),
        _figures(lab, case, report, left.found),
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
        _minutes_to(isolated_at(told), done),
        order.proof.get("minutes"),
    )


def _minutes_to(line: int | None, done: Replay) -> float | None:
    """The clock at the end of a log line."""
    return None if line is None else float(done.entries[line]["at"] + done.entries[line]["minutes"])


def _worked(done: Replay) -> bool:
    return len(done.entries) > 1


def _safe_working(lab: Lab, done: Replay) -> PartMark:
    tally = _Tally("safe-working", lab.weights["safe-working"])
    if not _worked(done):
        tally.add(0.0, "The log shows no work, so there is no safe work to mark.")
        return tally.done()
    if done.tampered:
        tally.add(0.0, "The log isn't as the bench wrote it, so nobody can vouch for safe work.")
        return tally.done()
    tally.add(1.0, "You start with all marks for safe working.")
    seen: set[str] = set()
    for line, rule_id in done.broke:
        rule = RULES[rule_id]
        cost = 1.0 if rule.dangerous else CARELESS_FIRST if rule_id not in seen else CARELESS_FIRST / 10
        words = f"{rule.name}, again." if rule_id in seen else f"{rule.name}. {rule.why} {rule.instead}"
        tally.add(-cost, f"Line {line}: {words}")
        seen.add(rule_id)
    verbs = {entry["verb"] for entry in done.entries}
    for verb in lab.expects:
        if verb not in verbs:
            tally.add(-EXPECTED, f"This lab asks you to {verb}. The log doesn't show it.")
    assert done.state is not None
    for text in left_undone(done.state):
        tally.add(-LEFT_UNDONE, text)
    return tally.done()


def left_undone(state: BenchState) -> list[str]:
    """What a careful technician would still do before leaving, as sentences."""
    out = [
        f"The cover is still off: {state.model.places[place].name}." for place in sorted(state.open_covers)
    ]
    lifted = [w.name for w in state.model.wires.values() if w.lifts_at and state.lifted(w.id)]
    out += [f"The lead is still off: {name}." for name in lifted]
    if state.unit["tank.fill"][0] < 0.98:
        out.append("The tank was left empty. The next person to switch it on burns the element out.")
    if state.repaired and state.locked:
        out.append(
            "Your lock is still on after the repair. Take it off, run the heater, and prove that it heats."
        )
    if state.repaired and not state.locked and not state.operated:
        out.append("After the repair you didn't run the heater and prove that it heats.")
    return out


def _classes(names: Sequence[str]) -> int:
    return max(len(remedies_of(names)), 1)


def before_repair(left: Candidates) -> Candidates:
    """The candidate set as the first repair found it: what a repair teaches comes too late to be evidence for it."""
    entries = left.replay.entries if left.replay else []
    first = next((i for i, entry in enumerate(entries) if entry["verb"] == "repair"), len(entries))
    return replace(left, history=left.history[:first])


def _support(left: Candidates) -> float:
    """How far the readings narrowed the repair down: 0 not at all, 1 to a single remedy."""
    first, now = _classes(left.at_first), _classes(left.now)
    if len(left.history) < 2:
        return 0.0
    if first == 1:
        return 1.0
    return math.log(first / now) / math.log(first)


def narrowing_lines(left: Candidates) -> list[int]:
    """The log lines at which the candidate set shrank."""
    out, before = [], left.at_first
    for line, now in enumerate(left.history):
        if len(now) < len(before):
            out.append(line)
        before = now
    return out


def _evidence(lab: Lab, order: WorkOrder, report: ServiceReport, left: Candidates, done: Replay) -> PartMark:
    tally = _Tally("evidence", lab.weights["evidence"])
    if not _worked(done):
        tally.add(0.0, "The log shows no measurement. A diagnosis needs readings.")
        return tally.done()
    support = _support(left)
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
        _economy(tally, lab.evidence.economy / 100, order, left, done)
    else:
        tally.add(0.0, "There are no marks for time when the diagnosis doesn't follow from the readings.")
    return tally.done()


def _citing(
    tally: _Tally, share: float, report: ServiceReport, left: Candidates, done: Replay, support: float
) -> None:
    lines = [line for line in narrowing_lines(left) if line > 0]
    cited = set(report.evidence)
    if not lines:
        tally.add(
            share * support * bool(cited), "You cited your readings." if cited else "You cited no log line."
        )
    elif not cited:
        tally.add(0.0, f"You cited no log line. The lines that decided it were {_listed(lines)}.")
    else:
        hit = len(cited & set(lines))
        stray = len(cited - set(lines)) > len(lines) + 3
        tally.add(
            share * hit / len(lines) * (0.5 if stray else 1.0),
            f"Of the lines that narrowed it down ({_listed(lines)}) you cited {hit} of {len(lines)}."
            + (" You also cited many that decide nothing." if stray else ""),
        )
    beyond = sorted(line for line in cited if line >= len(done.entries))
    if beyond:
        tally.add(0.0, f"The log has no line {_listed(beyond)}.")


def isolated_at(left: Candidates) -> int | None:
    """The log line from which on only one repair was left; None if there never was one."""
    if not left.history or _classes(left.now) > 1:
        return None
    for line in range(len(left.history) - 1, -1, -1):
        if _classes(left.history[line]) > 1:
            return line + 1
    return 0


def _economy(tally: _Tally, share: float, order: WorkOrder, left: Candidates, done: Replay) -> None:
    """Minutes until one repair was left, against the reference path on this heater."""
    line = isolated_at(left)
    path = order.proof.get("minutes")
    if line is None:
        tally.add(0.0, "There is no time to compare: your readings didn't come down to one repair.")
        return
    took = _minutes_to(line, done) or 0.0
    if not isinstance(path, int | float):
        tally.add(share, f"Your readings came down to one repair after {took:.0f} min.")
        return
    allowed = ROOM_FACTOR * path + ROOM_MINUTES
    text = f"You had it down to one repair after {took:.0f} min; the reference path takes {path:.0f} min here."
    if took > allowed:
        text += " Ask before each test what it would tell you: the best one halves what is left."
    tally.add(share * min(1.0, allowed / max(took, 1e-9)), text)


def _listed(lines: Sequence[int]) -> str:
    return ", ".join(map(str, lines[:8])) + (" …" if len(lines) > 8 else "")


def _diagnosis(lab: Lab, case: Case, report: ServiceReport, left: Candidates, done: Replay) -> PartMark:
    tally = _Tally("diagnosis", lab.weights["diagnosis"])
    said = report.diagnosis
    if said is None or said not in faults():
        tally.add(0.0, f"No diagnosis from the list was given. It was: {case.fault.name}.")
        return tally.done()
    worth = UNSUPPORTED + (1 - UNSUPPORTED) * _support(left)
    if said == case.fault.id:
        if worth > 0.999:
            tally.add(1.0, f"Right, and your readings prove it: {case.fault.name}.")
        else:
            why = (
                "your readings don't single it out"
                if _worked(done)
                else "no reading supports it: a lucky guess"
            )
            tally.add(worth, f"Right: {case.fault.name}. But {why}, so it earns less.")
        return tally.done()
    name = fault_named(said).name
    if fault_named(said).remedy == case.fault.remedy and said in left.now:
        tally.add(0.6 * worth, f"Close: {name}. It was {case.fault.name}; the repair is the same.")
        return tally.done()
    line = left.ruled_out_at(said)
    if line is None:
        tally.add(
            0.15 * _support(left),
            f"Your readings still allow {name}. It was {case.fault.name}: test further before you decide.",
        )
    elif line <= 0:
        tally.add(
            0.0, f"It wasn't {name}: it wouldn't have shown what the owner noticed. It was {case.fault.name}."
        )
    else:
        tally.add(
            0.0,
            f"It wasn't {name}: line {line} rules that out ({done.entries[line]['text']}). It was {case.fault.name}.",
        )
    return tally.done()


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


def _remedy(lab: Lab, case: Case, report: ServiceReport, left: Candidates, done: Replay) -> PartMark:
    tally = _Tally("remedy", lab.weights["remedy"])
    right = remedy_named(case.fault.remedy)
    carried_out = done.state.repaired if done.state and not done.tampered else []
    given = report.remedy is not None and report.remedy in remedies()
    if report.remedy is None or not given:
        tally.add(0.0, f"No remedy from the list was given. It needed: {right.name}.")
    elif report.remedy == right.id:
        tally.add(0.7, f"Right remedy: {right.name}.")
    elif cures(case, report.remedy, left.found):
        tally.add(
            0.5,
            f"{remedy_named(report.remedy).name}: it cures the heater, but replaces more than had failed. {right.name} was enough.",
        )
    else:
        tally.add(
            0.0,
            f"{remedy_named(report.remedy).name}: with that done, the heater still has its fault. It needed: {right.name}.",
        )
    if (
        report.remedy
        and given
        and report.remedy in carried_out
        and (report.remedy == right.id or cures(case, report.remedy, left.found))
    ):
        proved = bool(done.state and done.state.operated)
        tally.add(
            0.3 if proved else 0.2,
            "You carried it out"
            + (" and proved that it heats." if proved else ", but didn't prove that it heats."),
        )
    elif not right.hands_on and report.remedy == right.id:
        told = report.condition == "locked out and reported" or right.id in carried_out
        tally.add(
            0.3 * told,
            "You left it safe and reported it."
            if told
            else "Say in what condition you left it, or carry it out.",
        )
    elif (
        report.condition == "locked out and reported"
        and report.remedy == right.id
        and done.state
        and done.state.locked
    ):
        tally.add(0.2, "You didn't carry it out, but left it locked out and reported it.")
    else:
        tally.add(0.0, "The log doesn't show the repair being carried out.")
    guessed = _guessed(left, done, right.id)
    if guessed is not None:
        tally.add(
            -GUESSED_REPAIR,
            f"Line {guessed}: you changed it before your readings singled it out. It worked this time. "
            "The next heater with these signs may have another fault.",
        )
    wasted = [r for r in carried_out if r != right.id and not cures(case, r, left.found)]
    for remedy_id in wasted[:3]:
        tally.add(-0.15, f"Parts were changed that had not failed: {remedy_named(remedy_id).name}.")
    return tally.done()


def _guessed(left: Candidates, done: Replay, remedy_id: str) -> int | None:
    """The line of the right repair, if more than one repair was still possible then: a part-swap, not a diagnosis."""
    for line, entry in enumerate(done.entries):
        if entry["verb"] == "repair" and entry["args"].get("remedy") == remedy_id:
            before = left.history[line - 1] if line and line <= len(left.history) else left.at_first
            return line if _classes(before) > 1 else None
    return None


def _figures(lab: Lab, case: Case, report: ServiceReport, found: Unit | None) -> PartMark:
    tally = _Tally("figures", lab.weights["figures"])
    for figure in lab.figure:
        share = 1.0 / len(lab.figure)
        ok, text = _judge(figure, case, report.figures.get(figure.id), found)
        tally.add(share if ok else 0.0, text)
    return tally.done()


def _judge(figure: Figure, case: Case, written: str | None, found: Unit | None) -> tuple[bool, str]:
    """Whether an answered figure is right, and the sentence that says so."""
    true = truth(case, figure.source, found)
    right = (
        "open"
        if true.is_open
        else f"{significant((true.low + true.high) / 2 if math.isfinite(true.high) else true.low)} {_pretty(true.unit)}"
    )
    if written is None:
        return False, f"{figure.label}: not answered. It was {right}."
    try:
        said = read_measure(figure.label, written[:MAX_TEXT], figure.unit)
        written = written[:60]
    except AnswerError as error:
        return False, f"{error} It was {right}."
    if true.is_open or said.open:
        good = true.is_open and (said.open or (said.value or 0.0) > true.low)
        return (
            good,
            f"{figure.label}: {written} is right."
            if good
            else f"{figure.label}: you wrote {written}. It was {right}.",
        )
    assert said.value is not None
    slack = max(figure.share * max(abs(true.low), abs(true.high)), figure.least)
    good = true.low - slack <= said.value <= true.high + slack
    return (
        good,
        f"{figure.label}: {written} is right."
        if good
        else f"{figure.label}: you wrote {written}. It was {right}.",
    )


def _pretty(unit: str) -> str:
    return {"ohm": "Ω"}.get(unit, unit)
