"""Starts of a spark-lit heater, recorded in time: what eyes and ears would notice, and what the board did.

Nothing here decides what happens: a unit is switched on, the simulation runs, and its own numbers are written down.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import cache
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from tankside.faults.catalogue import Fault, fault_named, faults
from tankside.faults.effects import put_in
from tankside.heater import ignition
from tankside.heater.model import load_model
from tankside.heater.sequence import NUMBER, STATES
from tankside.heater.simulation import advance, energise
from tankside.heater.unit import Unit, make_unit

Array = NDArray[np.float64]
Span = tuple[float, float]

STEP = 0.2
"""s between two looks. The models' times are whole numbers of it, so no event falls between."""
WATCHED = 60.0
"""s that a start is watched: longer than every trial and pause of the models together."""
RUNGS = (0.0, 0.5, 1.0)
"""How far a fault has gone, where the pattern of a start is asked for."""
FULL_MODEL = "pintail_10"
"""The spark-lit model whose gas side is computed as well."""

_MAINS = ("junction box", "element", "mains limit chain", "data plate")
"""Places whose faults can't touch a burner's start."""


@dataclass(frozen=True)
class Recording:
    """What a batch of units did: one row a look, one column a variant.

    ``seen``: "power" (the board has its 12 V), "spark" (it jumps), "clicks" (plungers lifted), "gas" (valve open),
    "flame", "current" (µA), "lamp", "state" (number of ``heater.sequence.STATES``), "chamber" (share of raw gas in the
    burner's chamber; zeros on a model without a gas side).
    """

    times: Array
    seen: Mapping[str, Array] = field(default_factory=dict)

    def spans(self, name: str, row: int = 0) -> list[Span]:
        """From when to when, s, something was on; the end of the recording closes the last one."""
        return _spans(self.times, self.seen[name][:, row] > 0)

    def steps(self, row: int = 0) -> list[tuple[str, float, float]]:
        """The board's states in turn, each from when to when, s."""
        state = self.seen["state"][:, row]
        cuts = [0, *(np.flatnonzero(np.diff(state)) + 1), len(state)]
        ends = _with_end(self.times)
        return [(STATES[int(state[a])], float(ends[a]), float(ends[b])) for a, b in pairwise(cuts)]


def _with_end(times: Array) -> Array:
    """The looks, and one step more: when the recording ends."""
    return np.append(times, 2 * times[-1] - times[-2])


def _spans(times: Array, on: NDArray[np.bool_]) -> list[Span]:
    edges = np.flatnonzero(np.diff(np.concatenate([[0], on.astype(int), [0]])))
    ends = _with_end(times)
    return [(float(ends[a]), float(ends[b])) for a, b in zip(edges[::2], edges[1::2], strict=True)]


def cold_unit(model: str, batch: int = 1) -> Unit:
    """A healthy unit with cold water, its mains element off and its 12 V side still off."""
    unit = make_unit(load_model(model), batch=batch)
    for part in unit.model.of_type("switch"):
        unit.set(f"{part}.closed", 0.0)
    return unit


def record(
    unit: Unit,
    seconds: float = WATCHED,
    changes: Mapping[float, Callable[[Unit], None]] | None = None,
    before: float = 0.0,
    step: float = STEP,
) -> Recording:
    """Switch the 12 V side off and on again, and watch.

    Parameters
    ----------
    unit : batch; it is worked on
    seconds : how long to watch, more than 0
    changes : what happens on the way: s after the start -> what to do to the unit
    before : s that are watched with the 12 V side still off
    step : s between two looks

    Raises
    ------
    ValueError
        The model has no control board.
    """
    boards, switches = unit.model.of_type("control board"), unit.model.of_type("12 V panel switch")
    if not boards:
        raise ValueError(f"{unit.model.name} has no control board: there is no sequence to watch")
    board, key = boards[0], f"{switches[0]}.closed"
    stood = unit[key].copy()
    unit.set(key, 0.0)
    energise(unit)
    todo = {round(before / step): lambda one: one.values.__setitem__(key, stood)}
    looks: dict[str, list[Array]] = {}
    count = round((before + seconds) / step)
    also = {round((before + at) / step): act for at, act in (changes or {}).items()}
    for k in range(count):
        for act in (todo.get(k), also.get(k)):
            if act:
                act(unit)
        energise(unit)
        for name, value in _look(unit, board).items():
            looks.setdefault(name, []).append(value)
        advance(unit, step / 60.0)
    times = np.asarray(step * np.arange(count) - before, dtype=float)
    return Recording(times, {name: np.array(values) for name, values in looks.items()})


def _look(unit: Unit, board: str) -> dict[str, Array]:
    valve = unit.model.of_type("gas valve")[0]
    heard = np.zeros(unit.batch)
    for seat in ("1", "2"):
        free = (unit[f"{valve}.stuck_shut_{seat}"] <= 0) & (unit[f"{valve}.stuck_open_{seat}"] <= 0)
        heard += (unit[f"{valve}.pulled_{seat}"] > 0) & free
    return {
        "power": (unit[f"{board}.state"] != NUMBER["off"]).astype(float),
        "spark": unit[f"{board}.spark_jumps"].copy(),
        "clicks": heard,
        "gas": unit[f"{valve}.open"].copy(),
        "flame": unit["burner.lit"].copy(),
        "current": unit[f"{board}.flame_current"].copy(),
        "lamp": ignition.lamp_glows(unit),
        "state": unit[f"{board}.state"].copy(),
        "chamber": unit.values.get("burner.chamber", np.zeros(unit.batch)).copy(),
    }


@cache
def start_of(fault: str, model: str, severity: float = 0.5, seconds: float = WATCHED) -> Recording:
    """The start of one unit with a fault, ``severity`` 0 to 1."""
    unit = cold_unit(model)
    put_in(unit, fault_named(fault), severity)
    return record(unit, seconds)


@dataclass(frozen=True)
class Pattern:
    """What eyes and ears take from one start, without a meter."""

    lamp_first: bool
    spark: bool
    clicks: int
    flames: int
    """How often it lit."""
    burned: float
    """s that the first flame burnt; infinite if it stayed to the end."""
    lockout: bool

    @property
    def works(self) -> bool:
        """It lights and stays lit."""
        return self.burned == float("inf")

    def words(self) -> str:
        """One line, as one would tell it on the telephone."""
        if not (self.lamp_first or self.spark or self.clicks):
            return "Dead: no lamp, no spark, no click"
        if not (self.spark or self.clicks or self.lockout):
            return "Lamp at first, then all dead"
        said = [] if self.lamp_first else ["no lamp at first"]
        said.append("spark" if self.spark else "no spark")
        said.append(("no click", "one click", "two clicks")[self.clicks])
        if self.works:
            said.append("lights and stays lit")
        elif self.flames:
            said.append(f"lights, goes out after {self.burned:.0f} s, {self.flames} times")
        else:
            said.append("no flame")
        said.append("lockout" if self.lockout else "no lockout")
        text = ", ".join(said)
        return text[0].upper() + text[1:]


def pattern_of(recording: Recording, row: int = 0) -> Pattern:
    """The pattern of one recorded start."""
    flames = recording.spans("flame", row)
    lasts = _with_end(recording.times)[-1]
    burned = 0.0
    if flames:
        begin, end = flames[0]
        burned = float("inf") if end >= lasts - STEP / 2 else round(end - begin, 1)
    return Pattern(
        bool(recording.seen["lamp"][0, row] > 0),
        bool(recording.seen["spark"][:, row].max() > 0),
        int(recording.seen["clicks"][:, row].max()),
        len(flames),
        burned,
        bool(recording.seen["state"][-1, row] == NUMBER["lockout"]),
    )


@dataclass(frozen=True)
class Kind:
    """All faults that show one pattern, and one of them recorded."""

    pattern: Pattern
    faults: tuple[Fault, ...]
    recording: Recording
    row: int


@cache
def kinds_of_start(model: str = FULL_MODEL) -> tuple[Kind, ...]:
    """The patterns in which a heater of the model fails to start, each with the faults that show it, fewest trials first.

    Every fault that fits the model is put in at each of ``RUNGS``. Faults that leave the start as it is are left out:
    watching can't find them.
    """
    fitting = [
        f for f in map(fault_named, faults()) if f.applies_to(load_model(model)) and f.place not in _MAINS
    ]
    unit = cold_unit(model, batch=len(fitting) * len(RUNGS))
    for k, fault in enumerate(fitting):
        rows = np.arange(len(RUNGS)) + k * len(RUNGS)
        put_in(unit, fault, np.array(RUNGS), rows)
    for part in unit.model.of_type("switch"):
        unit.set(f"{part}.closed", 0.0)
    recording = record(unit)
    groups: dict[Pattern, list[int]] = {}
    for row in range(unit.batch):
        groups.setdefault(pattern_of(recording, row), []).append(row)
    out = []
    for pattern, rows_of in groups.items():
        if pattern.works and pattern.lamp_first:
            continue
        names = dict.fromkeys(row // len(RUNGS) for row in rows_of)
        out.append(Kind(pattern, tuple(fitting[k] for k in names), recording, rows_of[0]))
    return tuple(sorted(out, key=lambda k: _progress(k.pattern)))


def _progress(pattern: Pattern) -> tuple[float, ...]:
    """How far a start gets before it fails."""
    return (
        pattern.burned,
        pattern.flames,
        pattern.lamp_first,
        pattern.lockout,
        pattern.clicks,
        pattern.spark,
    )
