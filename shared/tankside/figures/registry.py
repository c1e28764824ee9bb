"""Figure sources by name: what computes each, and how a technician gets it.

To add one, put a function into the module of its subject::

    @source("water pressure", "psi", got=Way(AS_FOUND, _gauge))
    def _pressure(case: Case, unit: Unit) -> tuple[float, ...]:
        ...

The function gives every value that may rightly be found (with a tank cold or hot, say), or none: then the right answer
is "none". The way does bench actions on a ``Work`` and gives the answer as one writes it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Protocol

from tankside.case import Case, as_found
from tankside.errors import UnknownNameError
from tankside.faults.catalogue import Remedy
from tankside.heater.model import HeaterModel
from tankside.heater.unit import Unit

Value = Callable[[Case, Unit], tuple[float, ...]]
OPEN_ABOVE = 20e6
"""Ω above which "open" is the right answer, and no number is expected."""
NONE = "none"
"""What one writes where a heater has no such value: no flame to measure, no rod in the tank."""
PLATE, DECIDED = -1, 9
"""Situations beside those of ``tankside.diagnosis.table``: the plate is enough; the repair is decided."""


@dataclass(frozen=True)
class Truth:
    """A figure's true value in its own unit: a range, because a heater can be measured loaded or not, zeroed or not.

    ``exists`` is False where this heater has no such value.
    """

    low: float
    high: float
    unit: str
    exists: bool = True

    @property
    def is_open(self) -> bool:
        """True if there is nothing to measure: no circuit, no flame, no rod."""
        return not self.exists or (self.unit == "ohm" and self.low > OPEN_ABOVE)

    @property
    def word(self) -> str:
        """The right answer where there is nothing to measure."""
        return "open" if self.unit == "ohm" else NONE


class Work(Protocol):
    """A technician at the bench, as a way uses one."""

    @property
    def model(self) -> HeaterModel:
        """The heater's model: its plate and its parts' data sheets."""

    @property
    def remedy(self) -> Remedy | None:
        """The repair that was decided; None before."""

    def act(self, verb: str, **args: Any) -> dict[str, Any]:
        """One action at the bench; its log line. ``BenchError`` where this heater's state rules it out."""

    def first(self, verb: str, **args: Any) -> dict[str, Any]:
        """The first log line of just this action; it is done if there is none yet."""


@dataclass(frozen=True)
class Way:
    """How a technician gets a figure: in which situation, and by what actions; the answer as one writes it.

    ``situation`` is one of ``AS_FOUND`` to ``DRAINED`` of ``tankside.diagnosis.bench_tests``, ``PLATE`` or ``DECIDED``.
    ``get`` may raise ``BenchError``: then there is nothing to measure on this heater, and the answer is "none".
    With ``fresh`` it is taken on arrival, before any water is run or anything is switched.
    """

    situation: int
    get: Callable[[Work], str]
    fresh: bool = False


@dataclass(frozen=True)
class _Source:
    unit: str
    compute: Value
    way: Way


_SOURCES: dict[str, _Source] = {}


def source(name: str, unit: str, got: Way) -> Callable[[Value], Value]:
    """Register a function as what computes a figure source, in ``unit``, and the way in which a technician gets it."""

    def register(function: Value) -> Value:
        _SOURCES[name] = _Source(unit, function, got)
        return function

    return register


def _named(name: str) -> _Source:
    if name not in _SOURCES:
        raise UnknownNameError("figure source", name, sources())
    return _SOURCES[name]


def sources() -> list[str]:
    """The names that a lab's data file may use."""
    return sorted(_SOURCES)


def way_to(name: str) -> Way:
    """How a technician gets a figure; ``UnknownNameError`` for a source that nobody computes."""
    return _named(name).way


def unit_of(name: str) -> str:
    """The unit of a figure source; ``UnknownNameError`` for a source that nobody computes."""
    return _named(name).unit


def truth(case: Case, name: str, found: Unit | None = None) -> Truth:
    """The true value of one figure of a case; ``UnknownNameError`` for a source that nobody computes.

    ``found`` is the unit as found, if the caller has it already.
    """
    asked = _named(name)
    values = asked.compute(case, found or as_found(case))
    if not values:
        return Truth(0.0, 0.0, asked.unit, exists=False)
    return Truth(min(values), max(values), asked.unit)


def reading(entry: dict[str, Any], which: int = 0) -> dict[str, Any]:
    """One of the readings of a log line."""
    result = entry["result"]
    found = (
        [result["reading"]]
        if "reading" in result
        else [item["reading"] for item in result.get("readings", [])]
    )
    return dict(found[which])


def number(entry: dict[str, Any], which: int = 0) -> float | None:
    """The number that one of a log line's readings shows; None for no number."""
    value = reading(entry, which)["value"]
    return None if value is None else float(value)
