"""The proof that a work order can be solved, made before it is handed out.

The reference path is walked on the order's own unit with the bench's own actions and meter.
It parts only what meters can tell apart on *any* heater of the model at *any* site, so a path
that ends at one repair is one that a technician can take. Where it doesn't (two faults that
look alike unless one knows this very heater), the tests go on on what is known of it; of two faults
at once the sure one is cured first. If even that leaves more than one repair, the full survey is made on
the heater's own candidate set.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from tankside.bench.bench import perform, start_state
from tankside.bench.state import BenchState
from tankside.case import SYMPTOMS, symptom
from tankside.diagnosis.bench_tests import bench_tests
from tankside.diagnosis.candidates import Follower, remedies_of
from tankside.diagnosis.path import Walk, narrow, one_by_one, walk
from tankside.diagnosis.reference import Reference, reference
from tankside.diagnosis.survey import survey
from tankside.errors import BenchError
from tankside.faults.catalogue import apart
from tankside.workorder import WorkOrder

QUARTER_HOUR = 15.0


@dataclass(frozen=True)
class Proof:
    """What was shown: whether one repair is isolated, the faults left, the minutes, and the tests made.

    ``expected`` are the reference path's minutes over all that the complaint leaves open;
    ``suspects`` how many faults that is; ``groups`` the faults that no path parts.
    """

    solvable: bool
    left: tuple[str, ...]
    minutes: float
    tests: int
    expected: float
    suspects: int
    bits: float
    groups: tuple[tuple[str, ...], ...]

    @property
    def difficulty(self) -> float:
        """Bits there are to find out about the repair, plus the reference path's quarter hours."""
        return round(self.bits + self.minutes / QUARTER_HOUR, 2)

    def as_data(self) -> dict[str, Any]:
        """As it is stored with the order. Which fault it is stays out."""
        return {
            "minutes": self.minutes,
            "tests": self.tests,
            "expected minutes": round(self.expected, 1),
            "suspects at first": self.suspects,
            "difficulty": self.difficulty,
            "alike": [list(group) for group in self.groups],
        }


def reference_of(order: WorkOrder, noticed: str) -> Reference:
    """The reference path for an order: what its words leave open, or (without words) what is noticed."""
    return reference(order.model, order.scope, tuple(SYMPTOMS.index(s) for s in order.fits or (noticed,)))


def prove(order: WorkOrder, state: BenchState | None = None) -> Proof:
    """Prove an order; ``state`` is its bench as found, which the proof uses up."""
    state = state or start_state(order)
    found = reference_of(order, symptom(state.unit))
    groups = tuple(g for g in leaves(found) if len(g) > 1)
    fault = order.case().fault.id
    walked = walked_to_the_end(order, found, state)
    left, minutes, tests = walked.left, walked.minutes, len(walked.stretches)
    if len(remedies_of(left)) != 1 or fault not in left:
        left, minutes, tests = _survey(order)
    return Proof(
        len(remedies_of(left)) == 1 and fault in left,
        left,
        round(minutes, 1),
        tests,
        found.minutes,
        len(found.suspects),
        found.bits,
        groups,
    )


def walked_to_the_end(order: WorkOrder, found: Reference, state: BenchState) -> Walk:
    """The reference path on an order's own heater: the plan for all heaters, and from its end on what is known of this one."""
    walked, case = walk(found, state), order.case()
    fault, two = case.fault.id, len(apart(case.fault.id)) > 1
    if len(remedies_of(walked.left)) > 1 and fault in walked.left and (two or bench_tests(state.model)):
        walked = narrow(walked, case, state)
        if two and len(remedies_of(walked.left)) > 1:
            walked = one_by_one(walked, case, state)
    return walked


def leaves(found: Reference) -> list[tuple[str, ...]]:
    """The sets of faults at which the plan's branches end."""
    out: list[tuple[str, ...]] = []
    open_steps = [found.plan.root]
    while open_steps:
        step = open_steps.pop()
        if step.test is None:
            out.append(found.faults(step.left))
        open_steps += [then for _, then in step.outcomes]
    return sorted(set(out))


def _survey(order: WorkOrder) -> tuple[tuple[str, ...], float, int]:
    """What the whole survey leaves of the heater's own candidate set, with its minutes and tests."""
    follower = Follower(order)
    tests = 0
    for verb, args in survey(order.case().model):
        if len(remedies_of(follower.suspects.remaining())) <= 1:
            break
        try:
            perform(follower.state, verb, args)
        except BenchError:
            continue  # a part that this heater's state puts out of reach
        tests += verb in ("probe", "look", "temperature", "prove dead")
        follower.after(tests)
    return follower.suspects.remaining(), follower.state.clock, tests
