"""The catalogue as data: faults, the effects they are made of, and remedies.

A fault changes parameters or starting states of parts, never a reading. How far it has gone
is one number, its *severity* from 0 (just noticeable) to 1; each effect says what parameter
it gives at both ends.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from pathlib import Path
from typing import Literal

from pydantic import Field, model_validator

from tankside.datafiles import Record, load
from tankside.errors import DataFileError, UnknownNameError
from tankside.heater.model import HeaterModel
from tankside.heater.parts import PART_TYPES, Parameter

DATA = Path(__file__).parent / "data"


class Effect(Record):
    """One parameter that a fault changes: set it, multiply it, or add to it."""

    on: str
    change: Literal["set", "times", "add"]
    low: float
    high: float
    scale: Literal["linear", "log"] = "linear"

    @model_validator(mode="after")
    def _positive(self) -> Effect:
        if self.scale == "log" and min(self.low, self.high) <= 0:
            raise ValueError("on a log scale both ends are above zero")
        return self


class Fault(Record):
    """One way in which a part fails."""

    id: str = Field(pattern=r"^[a-z0-9-]+$")
    name: str
    place: str
    remedy: str
    hazard: str
    how: str
    mistaken_for: tuple[str, ...] = ()
    winter_below: float | None = Field(default=None, ge=-60, le=0)
    """°C: it only comes about after a winter that was at least so cold."""
    effect: tuple[Effect, ...] = Field(min_length=1)

    @property
    def graded(self) -> bool:
        """False if every severity is the same, as with a switch that is off."""
        return any(effect.low != effect.high for effect in self.effect)

    def applies_to(self, model: HeaterModel) -> bool:
        """True if the model has every part that the fault changes."""
        return all(keys_on(model, effect.on) for effect in self.effect)


class Remedy(Record):
    """What cures a fault: the parts that it makes new, its minutes, and what it costs in parts."""

    id: str = Field(pattern=r"^[a-z0-9-]+$")
    name: str
    renews: tuple[str, ...] = Field(min_length=1)
    minutes: float = Field(gt=0, le=600)
    parts_cost: float = Field(ge=0)
    hands_on: bool = True
    other_trade: bool = False
    """True if it is another trade's work: a heater technician locks out and reports."""
    needs_empty_tank: bool = False
    opens_gas: bool = False
    """True if a gas joint comes apart for it: gas off first, tested tight afterwards."""


class FaultFile(Record):
    """A data file of faults and remedies."""

    fault: tuple[Fault, ...] = ()
    remedy: tuple[Remedy, ...] = ()


def _parameter(on: str) -> Parameter | None:
    """The declared parameter (or starting state) behind ``"part type.name"``."""
    kind_name, _, key = on.rpartition(".")
    kind = PART_TYPES.get(kind_name)
    if kind is None:
        return None
    if key in kind.states:
        return Parameter("", 0.0, 1e9, "state")
    return kind.parameters.get(key)


def keys_on(model: HeaterModel, on: str) -> list[str]:
    """``"element.resistance"`` (type.parameter) or ``"@panel_switch.closed"`` (one part's or wire's) -> keys of a unit."""
    if on.startswith("@"):
        part, _, key = on[1:].rpartition(".")
        if part in model.wires and key == "resistance":
            return [f"{part}.{key}"]
        if part not in model.parts:
            return []
        has = model.types[part]
        if key not in has.parameters and key not in has.states:
            known = ", ".join([*has.parameters, *has.states])
            raise DataFileError("faults", on, f"a parameter or state of a {has.name}: {known}", key)
        return [f"{part}.{key}"]
    kind, _, key = on.rpartition(".")
    return [f"{part}.{key}" for part in model.of_type(kind)][:1]


def _check_effect(file: str, key: str, effect: Effect) -> None:
    """That what it changes exists, and that what it sets is within the parameter's range."""
    if effect.on.startswith("@"):
        return  # one part's: known when a model is
    parameter = _parameter(effect.on)
    if parameter is None:
        raise DataFileError(file, f"{key}.on", "part type.parameter, or @part.parameter", effect.on)
    for end in ("low", "high"):
        number = getattr(effect, end)
        if effect.change == "set" and not parameter.low <= number <= parameter.high:
            span = f"{parameter.text}, {parameter.low:g} to {parameter.high:g} {parameter.unit}".strip()
            raise DataFileError(file, f"{key}.{end}", span, number)
        if effect.change == "times" and not number > 0:
            raise DataFileError(file, f"{key}.{end}", "a factor above 0", number)


def _check_remedy(file: str, key: str, remedy: Remedy) -> None:
    for i, on in enumerate(remedy.renews):
        kind, _, name = on.rpartition(".")
        known = bool(kind[1:] and name) if on.startswith("@") else (_parameter(on) or name == "*")
        if not known or not (on.startswith("@") or kind in PART_TYPES):
            raise DataFileError(
                file, f"{key}.renews[{i}]", "part type.parameter, part type.*, or the same of one @part", on
            )


@cache
def _catalogue() -> tuple[dict[str, Fault], dict[str, Remedy]]:
    return read_catalogue(sorted(file for file in DATA.glob("*.toml") if file.stem != "complaints"))


def read_catalogue(files: Sequence[Path]) -> tuple[dict[str, Fault], dict[str, Remedy]]:
    """Faults and remedies of some data files, by id; a ``DataFileError`` names the first thing wrong."""
    all_faults: dict[str, Fault] = {}
    all_remedies: dict[str, Remedy] = {}
    for file in files:
        data = load(file, FaultFile)
        for i, remedy in enumerate(data.remedy):
            if remedy.id in all_remedies:
                raise DataFileError(file.name, f"remedy[{i}].id", "an id that no other remedy has", remedy.id)
            _check_remedy(file.name, f"remedy[{i}]", remedy)
            all_remedies[remedy.id] = remedy
        for i, fault in enumerate(data.fault):
            if fault.id in all_faults:
                raise DataFileError(file.name, f"fault[{i}].id", "an id that no other fault has", fault.id)
            for j, effect in enumerate(fault.effect):
                _check_effect(file.name, f"fault[{i}].effect[{j}]", effect)
            all_faults[fault.id] = fault
    for fault in all_faults.values():
        if fault.remedy not in all_remedies:
            raise DataFileError(
                "faults", f"{fault.id}.remedy", f"one of {', '.join(all_remedies)}", fault.remedy
            )
        for other in fault.mistaken_for:
            if other not in all_faults:
                raise DataFileError(
                    "faults", f"{fault.id}.mistaken_for", f"one of {', '.join(all_faults)}", other
                )
    return all_faults, all_remedies


def faults() -> dict[str, Fault]:
    """Every fault by its id."""
    return _catalogue()[0]


def remedies() -> dict[str, Remedy]:
    """Every remedy by its id."""
    return _catalogue()[1]


@cache
def remedies_for(model: HeaterModel) -> tuple[Remedy, ...]:
    """What can be done on a model, in the catalogue's order: the part that a remedy names first is there, or a fault asks for it.

    What it renews besides (a limit that tripped with the thermostat) is no reason to offer it.
    """
    asked = {fault.remedy for fault in faults().values() if fault.applies_to(model)}
    kinds = {part.type for part in model.parts.values()}
    kinds |= {f"@{name}" for name in (*model.parts, *model.wires)}
    return tuple(r for r in remedies().values() if r.id in asked or r.renews[0].rpartition(".")[0] in kinds)


JOINT = "--"
"""Between the ids of two faults (or remedies) that are there at once."""


def apart(name: str) -> tuple[str, ...]:
    """The single faults (or remedies) that an id stands for: one, or two at once."""
    return tuple(name.split(JOINT))


def fault_named(name: str) -> Fault:
    """The fault with that id; ``"one--two"`` is both at once. ``UnknownNameError`` if there is none."""
    for one in apart(name):
        if one not in faults():
            raise UnknownNameError("fault", one, sorted(faults()))
    return faults()[name] if JOINT not in name else _two_faults(name)


def remedy_named(name: str) -> Remedy:
    """The remedy with that id; ``"one--two"`` is both. ``UnknownNameError`` if there is none."""
    for one in apart(name):
        if one not in remedies():
            raise UnknownNameError("remedy", one, sorted(remedies()))
    return remedies()[name] if JOINT not in name else _two_remedies(name)


@cache
def _two_faults(name: str) -> Fault:
    both = [faults()[one] for one in apart(name)]
    winters = [fault.winter_below for fault in both if fault.winter_below is not None]
    return Fault(
        id=name,
        name=", and ".join(fault.name for fault in both),
        place=" and ".join(dict.fromkeys(fault.place for fault in both)),
        remedy=JOINT.join(sorted(fault.remedy for fault in both)),
        hazard=" ".join(fault.hazard for fault in both),
        how=" ".join(fault.how for fault in both),
        winter_below=min(winters, default=None),
        effect=tuple(effect for fault in both for effect in fault.effect),
    )


@cache
def _two_remedies(name: str) -> Remedy:
    both = [remedies()[one] for one in apart(name)]
    return Remedy(
        id=name,
        name="; and ".join(remedy.name for remedy in both),
        renews=tuple(on for remedy in both for on in remedy.renews),
        minutes=min(sum(remedy.minutes for remedy in both), 600),
        parts_cost=sum(remedy.parts_cost for remedy in both),
        hands_on=any(remedy.hands_on for remedy in both),
        other_trade=any(remedy.other_trade for remedy in both),
        needs_empty_tank=any(remedy.needs_empty_tank for remedy in both),
        opens_gas=any(remedy.opens_gas for remedy in both),
    )
