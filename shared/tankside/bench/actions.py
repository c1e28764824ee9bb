"""What an action at the bench is, and where each is found by its verb; its arguments, checked.

An action checks, acts on the unit, and says what happened. It works on a batch: the same hands on every variant of
the heater. What one *sees* (a position, a reading) is the first variant's.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from tankside.bench.state import BenchState
from tankside.errors import BenchError, UnknownNameError
from tankside.faults.catalogue import Remedy


@dataclass
class Result:
    """What an action gave: data for the log, one sentence, and the safety rules it broke."""

    data: dict[str, Any]
    text: str
    minutes: float
    broke: list[str] = field(default_factory=list)
    blocked: bool = False
    """True if the broken rule kept the action from happening."""
    ran: float = 0.0
    """Minutes, beside ``minutes``, that the action itself let pass."""

    @property
    def logged(self) -> dict[str, Any]:
        """What the log's line keeps of it."""
        return {**self.data, "broke": self.broke} if self.broke else self.data


Action = Callable[[BenchState, dict[str, Any]], Result]
ACTIONS: dict[str, Action] = {}
RepairCheck = Callable[[BenchState, Remedy, list[str]], list[str]]
SwitchCheck = Callable[[BenchState, str], list[str]]
SWITCH_CHECKS: list[SwitchCheck] = []
"""What other subjects have to say before a part is switched on: the rules that it would break."""
REPAIR_CHECKS: list[RepairCheck] = []
"""What other subjects have to say before a repair: from the remedy and its parts, the rules that it would break."""


def action(verb: str) -> Callable[[Action], Action]:
    """Register a function as what hands do for a verb."""

    def register(function: Action) -> Action:
        ACTIONS[verb] = function
        return function

    return register


def check_arguments(args: dict[str, Any]) -> None:
    """A ``BenchError`` for anything but a few short words and ordinary numbers: a log line must hold them."""
    if len(args) > 8:
        raise BenchError("Too much was asked for at once.")
    for key, value in args.items():
        word = isinstance(value, str) and len(value) <= 200 and value.isprintable()
        number = isinstance(value, int | float) and -1e9 < value < 1e9
        if not (word or number or value is None) or len(key) > 40 or not key.isprintable():
            raise BenchError(f"{key[:40]}: write a short word or an ordinary number.")


def text_of(args: dict[str, Any], key: str) -> str:
    """An argument that must be text."""
    value = args.get(key)
    if not isinstance(value, str):
        raise BenchError(f"Say which {key}.")
    return value


def known(kind: str, name: str, names: list[str]) -> str:
    """``name``, if it is one of these; else an ``UnknownNameError``."""
    if name not in names:
        raise UnknownNameError(kind, name, names)
    return name


def minutes_of(args: dict[str, Any], most: float) -> float:
    """An argument that must be minutes: more than 0 and up to ``most``; else a ``BenchError``."""
    value = args.get("minutes")
    if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
        raise BenchError("Say how many minutes, as a number.")
    if not 0 < value <= most:
        raise BenchError(f"{value:g} minutes won't do: more than 0 and up to {most:g}.")
    return float(value)
