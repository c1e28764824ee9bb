"""What the readings left: how far they narrow the repair down, where, and when."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from tankside.bench.replay import Replay
from tankside.diagnosis.candidates import Candidates, remedies_of
from tankside.faults.catalogue import apart, fault_named, remedy_named


def worked(done: Replay) -> bool:
    """True if anything was done after arriving."""
    return len(done.entries) > 1


def repaired(entry: Mapping[str, Any]) -> str:
    """The remedy that a log line carried out; empty if none: a hand that the bench stopped on a live lead changed nothing."""
    return str(entry["result"].get("remedy", "")) if entry["verb"] == "repair" else ""


def before_repair(left: Candidates) -> Candidates:
    """The candidate set as the first repair found it: what a repair teaches comes too late to be evidence for it.

    With two faults at once it is the second repair's: the first one uncovers what it hid.
    """
    entries = left.replay.entries if left.replay else []
    repairs = [i for i, entry in enumerate(entries) if repaired(entry)]
    at_once = max((len(apart(name)) for name in left.at_first), default=1)
    end = repairs[at_once - 1] if len(repairs) >= at_once else len(entries)
    return replace(left, history=left.history[:end])


def classes(names: Sequence[str]) -> int:
    """How many different repairs these faults ask for; at least one."""
    return max(len(remedies_of(names)), 1)


def support_of(left: Candidates) -> float:
    """How far the readings narrowed the repair down: 0 not at all, 1 to a single remedy."""
    first, now = classes(left.at_first), classes(left.now)
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


def isolated_at(left: Candidates) -> int | None:
    """The log line from which on only one repair was left; None if there never was one."""
    if not left.history or classes(left.now) > 1:
        return None
    for line in range(len(left.history) - 1, -1, -1):
        if classes(left.history[line]) > 1:
            return line + 1
    return 0


def minutes_to(line: int | None, done: Replay) -> float | None:
    """The clock at the end of a log line."""
    return None if line is None else float(done.entries[line]["at"] + done.entries[line]["minutes"])


def listed(lines: Sequence[int]) -> str:
    """Line numbers in a sentence; a long list is cut."""
    return ", ".join(map(str, lines[:8])) + (" …" if len(lines) > 8 else "")


def quoted(fault: str) -> str:
    """A fault's name in a sentence: some names hold a colon or a comma."""
    return f"“{fault_named(fault).name}”"


def quoted_remedy(remedy: str) -> str:
    """A remedy's name in a sentence: it is a command."""
    return f"“{remedy_named(remedy).name}”"


def lines_named(lines: Sequence[int]) -> str:
    """``line 4`` or ``lines 4, 7``."""
    return f"line{'s' if len(lines) > 1 else ''} {listed(lines)}"
