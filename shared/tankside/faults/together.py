"""Two faults at once, for labs that ask for it.

A pair is a fault like any other: it puts both parts' changes into the unit, asks for both remedies, and goes through
tables, candidate sets, proofs and scoring as one. Both have gone equally far, so that a pair has one severity and the
candidate set's argument holds for it word for word: the case's own severity is a rung of every pair's ladder, so the
true pair is never dropped.

That is how a technician works, too: not by a list of pairs, but by finding one, curing it, and testing again. The
candidate set says so without being told. Every repair in a log is made on all variants, so that after the first cure
what is left differs only in the second fault.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations

from tankside.faults.catalogue import JOINT, Fault, fault_named, keys_on
from tankside.heater.model import HeaterModel


def pairs(scope: Sequence[str], model: HeaterModel) -> tuple[str, ...]:
    """Every two faults of a scope that fit a model, change different things, and ask for different remedies."""
    found = [fault for fault in (fault_named(name) for name in scope) if fault.applies_to(model)]
    return tuple(
        f"{one.id}{JOINT}{two.id}"
        for one, two in combinations(found, 2)
        if one.remedy != two.remedy and not _keys(one, model) & _keys(two, model) and _both_worth(one, two)
    )


def _keys(fault: Fault, model: HeaterModel) -> set[str]:
    return {key for effect in fault.effect for key in keys_on(model, effect.on)}


def _both_worth(one: Fault, two: Fault) -> bool:
    """ "Nothing is wrong" is no half of a pair."""
    return "no-fault" not in (one.id, two.id)
