"""Economy: the minutes until one repair was left, against the reference path on this heater."""

from __future__ import annotations

from itertools import pairwise

from tankside.bench.replay import Replay
from tankside.diagnosis.candidates import Candidates
from tankside.scoring.marks import Tally
from tankside.scoring.readings import isolated_at, minutes_to, narrowing_lines
from tankside.workorder import WorkOrder

ROOM_FACTOR, ROOM_MINUTES = 2.5, 15.0
"""Full marks for economy up to so many times the reference path's minutes and so many more: room to think."""


def economy(tally: Tally, share: float, order: WorkOrder, left: Candidates, done: Replay) -> None:
    """Add the marks for the minutes until one repair was left, against the reference path on this heater."""
    line = isolated_at(left)
    path = order.proof.get("minutes")
    if line is None:
        tally.add(0.0, "No marks for time: your readings didn't come down to one repair.")
        return
    took = minutes_to(line, done) or 0.0
    if not isinstance(path, int | float):
        tally.add(share, f"Your readings came down to one repair after {took:.0f} min.")
        return
    allowed = ROOM_FACTOR * path + ROOM_MINUTES
    when = f"after {took:.0f} min" if line else "on arrival"
    text = f"You had it down to one repair {when}; the reference path takes {path:.0f} min here."
    if took > allowed:
        text += _idle(left, done, line)
        tally.advise("Ask before each test what it would tell you: the best one halves what is left.")
    tally.add(share * min(1.0, allowed / max(took, 1e-9)), text)


def _idle(left: Candidates, done: Replay, until: int) -> str:
    """The longest stretch of lines, up to the one that settled it, in which no reading ruled anything out."""
    marks = [0, *(line for line in narrowing_lines(left) if 0 < line <= until)]
    stretches = [(b - 1, a + 1) for a, b in pairwise(marks) if b - a > 2]
    if not stretches:
        return ""
    last, first = max(stretches, key=lambda pair: _minutes(pair, done))
    return f" Lines {first} to {last} took {_minutes((last, first), done):.0f} min and ruled nothing out."


def _minutes(stretch: tuple[int, int], done: Replay) -> float:
    last, first = stretch
    return (minutes_to(last, done) or 0.0) - float(done.entries[first]["at"])
