"""Does every fault show what the trade expects of it, and would a test fail if the catalogue were changed?

The signs stand in ``signs.toml``, written before the program was asked. A catalogue whose parameters were mixed up, or one
of whose effects did nothing, can't show them all.
"""

from __future__ import annotations

from itertools import combinations
from pathlib import Path

import numpy as np
import pytest

from tankside.datafiles import load
from tankside.errors import DataFileError
from tankside.faults.catalogue import fault_named, faults
from tankside.heater.model import load_model, model_names
from tests.faults.signs import (
    FILE,
    RELATIONS,
    SignFile,
    Verdict,
    all_signs,
    halvings,
    verdict,
    walks,
    zeroings,
)

MOST, SHOWABLE = 0.5, 0.7
"""Shares of the halved effects that the signs should notice: of all of them, and of those that any instrument shows. Half of
"open" is still open, and a sign that says "bubbles" doesn't count them."""


@pytest.fixture(scope="session")
def said() -> Verdict:
    """What the signs say of all mutants; the walks are made for it once."""
    return verdict()


def test_every_fault_has_signs() -> None:
    """Has each fault of the catalogue its signs, on a model that it fits, and is each place of the survey used?"""
    of = all_signs()
    assert set(of.fault) == set(faults()) - {"no-fault"}
    assert all(fault_named(name).applies_to(load_model(signs.model)) for name, signs in of.fault.items())
    used = {sign.at for signs in of.fault.values() for sign in signs.signs}
    assert used == set(of.seen)


@pytest.mark.parametrize("name", list(all_signs().fault))
def test_signs_hold(name: str, said: Verdict) -> None:
    """Does a heater with the fault show every sign of it, and a good heater not all of them?"""
    signs = all_signs().fault[name]
    walk = walks(tuple(zeroings() + halvings()))[signs.home]
    holds = walk.holds(name)
    for sign, shown in zip(signs.signs, holds[:, walk.row[name]], strict=True):
        seen = walk.at(sign.at)
        wanted = {key: getattr(sign, key) for key in RELATIONS if getattr(sign, key) is not None}
        assert shown, (
            f"{sign.at}: {sign.says} ({wanted}); shown {seen.value[walk.row[name]]:.5g}, healthy {seen.value[-1]:.5g}"
        )
    assert not holds[:, -1].all(), "a good heater shows all of them"
    assert not holds[:, 0].all()


def test_every_swap_is_noticed(said: Verdict) -> None:
    """If any two faults that fit a common model swapped their parameters, would a sign fail?"""
    fits = {
        name: {m for m in model_names() if fault_named(name).applies_to(load_model(m))}
        for name in all_signs().fault
    }
    common = {(f, g) for f, g in combinations(all_signs().fault, 2) if fits[f] & fits[g]}
    assert set(said.swaps) == common
    assert not [pair for pair, fails in said.swaps.items() if not any(fails)]


def test_every_zeroing_is_noticed(said: Verdict) -> None:
    """If any effect of any fault did nothing, would a sign fail? (Single effects: a good heater doesn't show the signs.)"""
    alone = [name for name in all_signs().fault if len(fault_named(name).effect) == 1]
    assert len(said.zeroings) + len(alone) == sum(len(fault_named(name).effect) for name in all_signs().fault)
    assert not [
        (m.fault, fault_named(m.fault).effect[m.effect].on) for m, seen in said.zeroings.items() if not seen
    ]


def test_most_halvings_are_noticed(said: Verdict) -> None:
    """If an effect were half as strong, would a sign fail more often than not, wherever an instrument shows it at all?"""
    assert sum(said.halvings.values()) > MOST * len(said.halvings)
    assert sum(said.halvings[m] for m in said.showable) > SHOWABLE * len(said.showable)


def test_mutants_are_what_they_say() -> None:
    """Does a zeroing leave out one effect and a halving halve one number, and the catalogue stay as it is?"""
    for mutant in [*zeroings(), *halvings()]:
        whole, made = fault_named(mutant.fault), mutant.made()
        if mutant.kind == "zero":
            assert len(made.effect) == len(whole.effect) - 1
            assert whole.effect[mutant.effect] not in made.effect
        else:
            old, new = whole.effect[mutant.effect], made.effect[mutant.effect]
            assert new.high == pytest.approx(old.high / 2) and new.low == old.low
    assert all(np.isfinite(effect.high) for fault in faults().values() for effect in fault.effect)


BAD = {
    "two relations": ("above = 1e6", "above = 1e6, below = 2e6", "exactly one"),
    "no relation": ("above = 1e6, ", "", "exactly one"),
    "no such test": ('at = "element ohms"', 'at = "elephant ohms"', "elephant ohms"),
    "no reason": (', says = "an open coil reads over the meter\'s range"', "", "says"),
}


@pytest.mark.parametrize("what", BAD)
def test_a_bad_sign_is_told(what: str, tmp_path: Path) -> None:
    """Is a sign that says nothing, or two things, or names no test, refused with its place?"""
    old, new, wanted = BAD[what]
    text = FILE.read_text(encoding="utf-8")
    assert old in text
    bad = tmp_path / "signs.toml"
    bad.write_text(text.replace(old, new, 1), encoding="utf-8")
    with pytest.raises(DataFileError) as caught:
        load(bad, SignFile)
    assert wanted in str(caught.value)
