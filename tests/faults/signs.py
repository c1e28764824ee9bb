"""Signs of the faults, as data: what the trade expects to find at each, and whether a heater with the fault shows it.

``signs.toml`` says for every fault what one should find, and why, before anybody looks at the program. One walk through
the survey shows every fault of a model, and beside each its mutants: the same fault with one effect left out, and with
one effect half as strong.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from itertools import combinations
from pathlib import Path
from typing import Any, Literal

import numpy as np
from pydantic import Field, model_validator

from tankside.case import SYMPTOMS, Case, variants_with
from tankside.check.observations import Observations, Seen, observe_with, steps
from tankside.datafiles import Record, load
from tankside.faults.catalogue import Fault, fault_named, faults
from tankside.heater.model import HeaterModel, load_model

FILE = Path(__file__).with_name("signs.toml")
RELATIONS = ("above", "below", "between", "about", "one_of", "as_healthy")


Shown = np.ndarray[Any, np.dtype[np.bool_]]
Home = tuple[str, bool]
"""A model, and whether its owner heats with gas alone."""


class Place(Record):
    """Where in the survey something is seen: what was done, with which instrument, and which time of several."""

    test: str
    using: str
    turn: int = Field(default=1, ge=1)


class Sign(Record):
    """One thing to find, on what the instrument shows: exactly one relation, the reason, and where it is from."""

    at: str
    above: float | None = None
    below: float | None = None
    between: tuple[float, float] | None = None
    about: float | None = None
    within: float = Field(default=0.05, gt=0, le=0.5)
    """Share of ``about`` by which it may differ."""
    one_of: tuple[float | str, ...] | None = None
    """Something seen or heard, by its number; the owner's words by their name."""
    as_healthy: Literal[True] | None = None
    """Like the healthy heater, within the instrument's error."""
    says: str = Field(min_length=4)
    source: str = Field(min_length=4)

    @model_validator(mode="after")
    def _one(self) -> Sign:
        if sum(getattr(self, name) is not None for name in RELATIONS) != 1:
            raise ValueError(f"give exactly one of {', '.join(RELATIONS)}")
        return self

    def holds(self, seen: Seen) -> Shown:
        """(B,) whether each variant shows it; the last one is healthy."""
        value = seen.value
        if self.above is not None:
            return np.asarray(value > self.above)
        if self.below is not None:
            return np.asarray(value < self.below)
        if self.between is not None:
            return np.asarray((value >= self.between[0]) & (value <= self.between[1]))
        if self.about is not None:
            return np.asarray(np.abs(value - self.about) <= self.within * abs(self.about))
        if self.one_of is not None:
            return np.isin(value, [SYMPTOMS.index(v) if isinstance(v, str) else v for v in self.one_of])
        return np.asarray(np.abs(value - value[-1]) <= np.maximum(seen.slack, seen.slack[-1]))


class FaultSigns(Record):
    """The signs of one fault, on the model and at the severity for which their figures were worked out."""

    model: str
    gas_alone: bool = False
    """True if the owner heats with gas alone: the mains side's panel switch passes nothing."""
    severity: float = Field(default=0.5, ge=0, le=1)
    signs: tuple[Sign, ...] = Field(min_length=1, max_length=4)

    @property
    def home(self) -> Home:
        """The walk that these signs are read from."""
        return self.model, self.gas_alone


class SignFile(Record):
    """``signs.toml``."""

    seen: dict[str, Place]
    fault: dict[str, FaultSigns]

    @model_validator(mode="after")
    def _known(self) -> SignFile:
        for name, of in self.fault.items():
            for sign in of.signs:
                if sign.at not in self.seen:
                    raise ValueError(f"{name}: {sign.at!r} isn't among the tests under [seen]")
        return self


@cache
def all_signs() -> SignFile:
    """The file, read and checked."""
    return load(FILE, SignFile)


@dataclass(frozen=True)
class Mutant:
    """A fault changed in one effect: ``zero`` leaves the effect out, ``half`` halves what it is at severity 1."""

    fault: str
    kind: Literal["zero", "half"]
    effect: int

    def made(self) -> Fault:
        """The changed fault."""
        whole = fault_named(self.fault)
        effects = list(whole.effect)
        if self.kind == "zero":
            del effects[self.effect]
        else:
            old = effects[self.effect]
            effects[self.effect] = old.model_copy(update={"high": old.high / 2})
        return whole.model_copy(update={"effect": tuple(effects)})


def zeroings() -> list[Mutant]:
    """One for each effect of every fault with several; where there is one, the healthy heater is that mutant."""
    return [
        Mutant(name, "zero", k)
        for name, fault in faults().items()
        if len(fault.effect) > 1
        for k in range(len(fault.effect))
    ]


def halvings() -> list[Mutant]:
    """One for each effect that halving changes at all: nought stays nought, and a yes or no has no half."""
    return [
        Mutant(name, "half", k)
        for name, fault in faults().items()
        for k, effect in enumerate(fault.effect)
        if effect.low != effect.high and effect.high != 0
    ]


class Walk:
    """One walk through the survey of one model: every fault that has its signs here, or fits, and the mutants."""

    def __init__(self, home: Home, mutants: tuple[Mutant, ...]) -> None:
        model, of = load_model(home[0]), all_signs().fault
        here = [name for name, fault in faults().items() if fault.applies_to(model) and name in of]
        self.mutants = [m for m in mutants if of[m.fault].home == home]
        altered = [(fault_named(name), of[name].severity) for name in here]
        altered += [(mutant.made(), of[mutant.fault].severity) for mutant in self.mutants]
        own = {"panel_switch.stuck_open": 1.0} if home[1] else {}
        case = Case(model, {}, own, fault_named("no-fault"), 0.5)
        found = variants_with(case, altered)
        self.row = {name: k + 1 for k, name in enumerate(here)}
        self.mutant_row = {m: 1 + len(here) + k for k, m in enumerate(self.mutants)}
        self.seen = _by_place(observe_with(case, found, signs_steps(model)))

    def holds(self, name: str) -> Shown:
        """(signs, B) whether each variant shows each sign of a fault."""
        return np.stack([sign.holds(self.at(sign.at)) for sign in all_signs().fault[name].signs])

    def shown(self, name: str) -> Shown | None:
        """(B,) whether each variant shows what the fault shows here of its signs; None if that is nothing particular.

        At home that is all of them. On another model a sign may not apply: where gas heats too, no water stays cold.
        """
        here = [
            holds
            for sign in all_signs().fault[name].signs
            if self._reached(sign.at) and (holds := sign.holds(self.at(sign.at)))[self.row[name]]
        ]
        together = np.all(here, axis=0) if here else np.ones(1, dtype=bool)
        return None if together[-1] else np.asarray(together)

    def _reached(self, where: str) -> bool:
        place = all_signs().seen[where]
        return len(self.seen.get((place.test, place.using), [])) >= place.turn

    def tells(self, mutant: Mutant) -> bool:
        """Whether any observation of the whole survey parts the mutant from its fault by more than the error."""
        a, b = self.row[mutant.fault], self.mutant_row[mutant]
        return any(
            abs(seen.value[a] - seen.value[b]) > max(seen.slack[a], seen.slack[b])
            for times in self.seen.values()
            for seen in times
        )

    def at(self, where: str) -> Seen:
        """What was seen there."""
        place = all_signs().seen[where]
        found = self.seen.get((place.test, place.using), [])
        if len(found) < place.turn:
            raise AssertionError(
                f"{where}: the survey has {len(found)} of {place.test!r} with {place.using!r}"
            )
        return found[place.turn - 1]


def signs_steps(model: HeaterModel) -> Iterator[tuple[str, dict[str, Any]]]:
    """The careful survey, with the water cold wherever a start of the burner is watched.

    The survey's volts take so long that a good heater is hot again when its burner's turn comes.
    """
    before = ""
    for verb, args in steps(model):
        if verb in ("watch start", "light pilot") and before == "probe":
            yield "run tap", {"minutes": 10}
        yield verb, args
        before = verb


def _by_place(observations: Observations) -> dict[tuple[str, str], list[Seen]]:
    out: dict[tuple[str, str], list[Seen]] = {}
    for seen in observations.seen:
        out.setdefault((seen.test, seen.instrument), []).append(seen)
    return out


@cache
def walks(mutants: tuple[Mutant, ...] = ()) -> dict[Home, Walk]:
    """Every walk that signs are read from."""
    return {home: Walk(home, mutants) for home in sorted({of.home for of in all_signs().fault.values()})}


@dataclass(frozen=True)
class Verdict:
    """What the signs say of everything that was tried."""

    swaps: dict[tuple[str, str], tuple[bool, ...]]
    """Each two faults that fit a common model: whether the one's signs fail on the other, on every
    walk where both fit, by what the one shows there of its signs."""
    zeroings: dict[Mutant, bool]
    halvings: dict[Mutant, bool]
    """True if the fault's signs fail on the mutant."""
    showable: frozenset[Mutant]
    """Halvings that any observation shows at all."""


def verdict() -> Verdict:
    """Every swap, zeroing and halving, from one walk a model."""
    of = all_signs().fault
    zeros, halves = zeroings(), halvings()
    found = walks(tuple(zeros + halves))
    shows: dict[str, list[tuple[Walk, Shown]]] = {name: [] for name in of}
    for walk in found.values():
        for name in walk.row:
            held = walk.shown(name)
            if held is not None:
                shows[name].append((walk, held))
    swaps = {}
    for f, g in combinations(of, 2):
        asked = [(held, w.row[b]) for a, b in ((f, g), (g, f)) for w, held in shows[a] if b in w.row]
        swaps[f, g] = tuple(not bool(held[row]) for held, row in asked)

    def noticed(mutants: list[Mutant]) -> dict[Mutant, bool]:
        return {
            m: not found[of[m.fault].home].holds(m.fault)[:, found[of[m.fault].home].mutant_row[m]].all()
            for m in mutants
        }

    showable = frozenset(m for m in halves if found[of[m.fault].home].tells(m))
    return Verdict(
        {pair: said for pair, said in swaps.items() if said}, noticed(zeros), noticed(halves), showable
    )
