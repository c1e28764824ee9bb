"""The whole mark, its parts, and the reasons that make them up."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any

from tankside.labs import PARTS

EDITION = 6
"""Goes up when marks are given or told differently: what an older Tankside marked is marked again."""


@dataclass(frozen=True)
class Reason:
    """One sentence that a learner can act on, and the points that it gave or cost."""

    text: str
    points: float


@dataclass(frozen=True)
class PartMark:
    """One part of the mark. ``advice``: what to do differently next time, in a sentence; empty if nothing was lost."""

    id: str
    name: str
    points: float
    out_of: float
    reasons: tuple[Reason, ...]
    advice: str = ""


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
    finding_kinds: tuple[str, ...] = ()
    """What kind each finding is of, as ``tankside.bench.replay.Finding`` names them."""
    broke: tuple[tuple[int, str], ...] = ()
    """(log line, id of the rule) for every safety rule broken."""
    open_first: int = 0
    """Faults that fitted the owner's words."""
    open_then: int = 0
    """Faults that the readings had left when the repair began, or at the end."""

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


class Tally:
    """Collects the reasons of one part; its points stay between nothing and all."""

    def __init__(self, part_id: str, out_of: float) -> None:
        self.id, self.out_of = part_id, out_of
        self.share, self.reasons, self.advice = 0.0, list[Reason](), ""

    def add(self, share: float, text: str) -> None:
        """Give (or cost) so much of the part, and say why."""
        self.share += share
        self.reasons.append(Reason(text, round(share * self.out_of, 2)))

    def advise(self, text: str) -> None:
        """What to do differently; the first advice of a part stands."""
        self.advice = self.advice or text

    def done(self) -> PartMark:
        """The part's mark."""
        points = round(min(max(self.share, 0.0), 1.0) * self.out_of, 2)
        advice = self.advice if points < self.out_of - 0.01 else ""
        return PartMark(self.id, PARTS[self.id], points, float(self.out_of), tuple(self.reasons), advice)
