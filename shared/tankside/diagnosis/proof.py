"""The proof that a work order can be solved, made before it is handed out."""

from __future__ import annotations

from dataclasses import dataclass

from tankside.bench.bench import perform
from tankside.diagnosis.candidates import Follower, remedies_of
from tankside.diagnosis.survey import survey
from tankside.errors import BenchError
from tankside.workorder import WorkOrder


@dataclass(frozen=True)
class Proof:
    """What the survey showed: whether it isolates the repair, what is left, after how many minutes and tests."""

    solvable: bool
    at_first: tuple[str, ...]
    left: tuple[str, ...]
    minutes: float
    tests: int

    def as_data(self) -> dict[str, float | int | list[str]]:
        """As it is stored with the order. The faults themselves stay out: they'd be the answer."""
        return {
            "minutes": self.minutes,
            "tests": self.tests,
            "suspects at first": len(self.at_first),
            "left": len(self.left),
        }


def prove(order: WorkOrder) -> Proof:
    """Survey the order's unit until every fault that is left asks for the same repair.

    The candidate set drops no fault that the meters can't tell apart, so what is left at the
    end is what nobody could do better than within these tests.
    """
    follower = Follower(order)
    tests = 0
    for verb, args in survey(order.case().model):
        left = follower.suspects.remaining()
        if tests >= MIN_TESTS and len(remedies_of(left)) <= 1:
            break
        try:
            perform(follower.state, verb, args)
        except BenchError:
            continue  # a part that this heater's state puts out of reach
        tests += verb in ("probe", "look", "temperature", "prove dead")
        follower.after(tests)
    left = follower.suspects.remaining()
    return Proof(
        len(remedies_of(left)) == 1 and order.case().fault.id in left,
        follower.candidates.at_first,
        left,
        round(follower.state.clock, 1),
        tests,
    )


MIN_TESTS = 2
"""At least so many observations, so that a complaint alone never counts as proof."""
