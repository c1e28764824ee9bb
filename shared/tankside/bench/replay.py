"""Doing a log again on its own work order, and naming what doesn't fit."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from typing import Any, Literal

from tankside.bench.actions import Result
from tankside.bench.bench import arrival, perform, start_state
from tankside.bench.log import link, read_lines, start_link
from tankside.bench.state import BenchState
from tankside.edition import BENCH, edition
from tankside.errors import TanksideError
from tankside.instruments.multimeter import COUNTS
from tankside.workorder import WorkOrder

Kind = Literal["empty", "cut", "someone-else", "edited", "spliced", "impossible", "other-edition"]


@dataclass(frozen=True)
class Finding:
    """Something wrong with a log: what kind, at which line (0: the whole log), in words."""

    kind: Kind
    seq: int
    text: str


@dataclass
class Replay:
    """A log done again. ``entries`` are those that hold: genuine actions with genuine readings, told in our words."""

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
        other = str(first["args"].get("order") or "")[:40] if first["verb"] == "begin" else None
        text = (
            f"The log belongs to work order {other}, not {order.order}."
            if other
            else "The log has no beginning."
        )
        out.findings.append(Finding("someone-else" if other else "spliced", 0, text))
        return out
    last = start_link(order.order)
    for i, entry in enumerate(entries):
        broken = _chain(entry, i, last)
        done = broken or (_begins(order, entry, out.state) if i == 0 else _again(i, entry, out.state))
        if isinstance(done, Finding):
            out.findings.append(broken or _excused(done, first["args"].get("edition")))
            return out
        last = entry["link"]
        out.entries.append({**entry, "result": done.logged, "text": done.text})
        out.broke += [(i, rule) for rule in done.broke]
        if after:
            after(i)
    return out


def _excused(finding: Finding, made_with: Any) -> Finding:
    """What doesn't fit, as it is to be called where another edition of the bench wrote the log: nobody need have cheated."""
    if made_with in (None, edition(*BENCH)):
        return finding
    return Finding(
        "other-edition",
        finding.seq,
        f"{finding.text} The log was begun with another edition of the bench than this one.",
    )


def _chain(entry: dict[str, Any], i: int, last: str) -> Finding | None:
    """The line's number and its link to the line before."""
    if entry.get("seq") != i:
        return Finding(
            "spliced",
            i,
            f"Line {i} is numbered {str(entry.get('seq'))[:20]}: lines were cut out, added or moved.",
        )
    try:
        fits = entry.get("link") == link(last, entry)
    except (TypeError, ValueError, RecursionError):
        fits = False
    return None if fits else Finding("edited", i, f"Line {i} was changed after it was written.")


def _begins(order: WorkOrder, entry: dict[str, Any], state: BenchState) -> Finding | Result:
    gave = arrival(order, state)
    if entry["result"] != gave.data:
        return Finding("edited", 0, "The first line doesn't show this heater as it was found.")
    if entry.get("minutes") != 0 or entry.get("at") != 0:
        return Finding("impossible", 0, "The first line has times that don't fit: work begins at 0 min.")
    state.see_positions()
    return gave


def _again(i: int, entry: dict[str, Any], state: BenchState) -> Finding | Result:
    """Do the action and compare what it gives with what the line says."""
    before = state.clock
    try:
        result = perform(state, entry["verb"], entry["args"])
    except TanksideError as error:
        return Finding("impossible", i, f"Line {i} can't have happened: {error}")
    said, gave = entry["result"], result.logged
    if not _same(said, gave):
        return Finding(
            "edited", i, f"Line {i} says something that this heater doesn't give: {_difference(said, gave)}"
        )
    if entry.get("minutes") != result.minutes or entry.get("at") != before:
        return Finding(
            "impossible", i, f"Line {i} has times that don't fit: it takes {result.minutes:g} min."
        )
    return result


def _same(said: Any, gave: Any) -> bool:
    """True if a line says what doing it again gives; a meter's last digit may fall the other way.

    Solving the same network on another machine's processor differs in the sixteenth digit, and
    where a conductor floats that can tip the rounding of a display.
    """
    if isinstance(gave, dict) and isinstance(said, dict) and "digits" in gave:
        return said == gave or _last_digit(said, gave)
    if isinstance(gave, dict) and isinstance(said, dict):
        return said.keys() == gave.keys() and all(_same(said[key], gave[key]) for key in gave)
    if isinstance(gave, list) and isinstance(said, list):
        return len(said) == len(gave) and all(map(_same, said, gave))
    return bool(said == gave)


def _last_digit(said: dict[str, Any], gave: dict[str, Any]) -> bool:
    numbers: list[Any] = [r.get(key) for r in (said, gave) for key in ("value", "full")]
    if said.keys() != gave.keys() or said["function"] != gave["function"]:
        return False
    if not all(isinstance(n, int | float) and abs(n) < 1e9 for n in numbers):
        return False
    value, full, mine, own = numbers
    return bool(abs(value - mine) <= 1.001 * max(own, min(full, 10 * own)) / COUNTS)


def _difference(said: dict[str, Any], gave: dict[str, Any]) -> str:
    one, two = said.get("reading"), gave.get("reading")
    if isinstance(one, dict) and isinstance(two, dict):
        return f"it shows {str(one.get('digits'))[:20]} where the meter shows {two['digits']} {two['unit']}."
    return "doing it again gives another result."
