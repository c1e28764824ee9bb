"""Doing a log again on its own work order, and naming what doesn't fit."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from typing import Any, Literal

from tankside.bench.bench import perform, start_state
from tankside.bench.log import link, read_lines, start_link
from tankside.bench.state import BenchState
from tankside.errors import BenchError, UnknownNameError
from tankside.workorder import WorkOrder

Kind = Literal["empty", "cut", "someone-else", "edited", "spliced", "impossible"]


@dataclass(frozen=True)
class Finding:
    """Something wrong with a log: what kind, at which line (0: the whole log), in words."""

    kind: Kind
    seq: int
    text: str


@dataclass
class Replay:
    """A log done again. ``entries`` are those that hold: genuine actions with genuine readings."""

    entries: list[dict[str, Any]] = field(default_factory=list)
    findings: list[Finding] = field(default_factory=list)
    state: BenchState | None = None
    broke: list[tuple[int, str]] = field(default_factory=list)
    """(log line, rule) for every safety rule broken."""

    @property
    def tampered(self) -> bool:
        """True if the log isn't simply what happened on this order."""
        return any(f.kind in ("someone-else", "edited", "spliced", "impossible") for f in self.findings)


MOST_ACTIONS = 2_000
"""Actions that are done again; a real call-out takes well under a hundred."""


def replay(
    order: WorkOrder,
    lines: Iterable[str],
    state: BenchState | None = None,
    after: Callable[[int], None] | None = None,
) -> Replay:
    """Do a log again; ``state`` may carry a batch of variants and a witness; ``after`` is told each line that held.

    Stops at the first line that doesn't fit: what follows rests on it. Never raises for what
    a log says.
    """
    out = Replay(state=state or start_state(order))
    assert out.state is not None
    found = read_lines(lines)
    out.findings += [Finding("cut", len(found.entries), problem) for problem in found.problems]
    if not found.entries:
        out.findings.append(Finding("empty", 0, "The bench log is empty: nothing was measured."))
        return out
    entries = found.entries
    if len(entries) > MOST_ACTIONS:
        text = f"The log has {len(entries)} lines; only the first {MOST_ACTIONS} count."
        out.findings.append(Finding("impossible", MOST_ACTIONS, text))
        entries = entries[:MOST_ACTIONS]
    first = entries[0]
    if first["verb"] != "begin" or first["args"].get("order") != order.order:
        other = first["args"].get("order") if first["verb"] == "begin" else None
        text = (
            f"The log belongs to work order {other}, not {order.order}."
            if other
            else "The log has no beginning."
        )
        out.findings.append(Finding("someone-else" if other else "spliced", 0, text))
        return out
    last = start_link(order.order)
    for i, entry in enumerate(entries):
        problem = _chain(entry, i, last) or (
            _begins(entry, out.state) if i == 0 else _again(entry, out.state)
        )
        if problem:
            out.findings.append(problem)
            return out
        last = entry["link"]
        out.entries.append(entry)
        out.broke += [(i, rule) for rule in entry["result"].get("broke", [])]
        if after:
            after(i)
    return out


def _chain(entry: dict[str, Any], i: int, last: str) -> Finding | None:
    """The line's number and its link to the line before."""
    if entry.get("seq") != i:
        return Finding(
            "spliced", i, f"Line {i} is numbered {entry.get('seq')}: lines were cut out, added or moved."
        )
    try:
        fits = entry.get("link") == link(last, entry)
    except (TypeError, ValueError):
        fits = False
    return None if fits else Finding("edited", i, f"Line {i} was changed after it was written.")


def _begins(entry: dict[str, Any], state: BenchState) -> Finding | None:
    if entry["result"].get("positions") != state.switches():
        return Finding("edited", 0, "The first line doesn't show this heater as it was found.")
    state.see_positions()
    return None


def _again(entry: dict[str, Any], state: BenchState) -> Finding | None:
    """Do the action and compare what it gives with what the line says."""
    i = entry["seq"]
    before = state.clock
    try:
        result = perform(state, entry["verb"], entry["args"])
    except (BenchError, UnknownNameError) as error:
        return Finding("impossible", i, f"Line {i} can't have happened: {error}")
    said, gave = entry["result"], {**result.data, **({"broke": result.broke} if result.broke else {})}
    if said != gave:
        return Finding(
            "edited", i, f"Line {i} says something that this heater doesn't give: {_difference(said, gave)}"
        )
    if entry.get("minutes") != result.minutes or entry.get("at") != before:
        return Finding(
            "impossible", i, f"Line {i} has times that don't fit: it takes {result.minutes:g} min."
        )
    return None


def _difference(said: dict[str, Any], gave: dict[str, Any]) -> str:
    one, two = said.get("reading"), gave.get("reading")
    if isinstance(one, dict) and isinstance(two, dict):
        return f"it shows {one.get('digits')} where the meter shows {two['digits']} {two['unit']}."
    return "doing it again gives another result."
