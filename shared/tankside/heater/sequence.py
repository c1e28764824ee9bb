"""The sequence of operation of a spark ignition, as a table: state, what must hold, next state.

The table is read from the top for every variant; the first row that fits acts. ``RESPONDS``
says what the board's outputs do in each state, ``ENTERS`` what entering a state sets. All of it
is data, so that a test, a lesson and the simulation read the same table.

Source: the order of events is common practice of automatic gas ignition (trial for ignition,
proof of flame, flame failure response, lockout; ``references`` section 3 has the ranges); times
and counts are the heater model's own.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]

STATES = ("off", "purge", "trial", "wait", "run", "doubt", "lockout")
"""Off: no power. Purge: air only. Trial: gas and spark. Wait: between two trials. Run: flame proven.
Doubt: the flame's signal has gone, the gas still flows. Lockout: gas shut until power is taken away."""
NUMBER = {name: float(k) for k, name in enumerate(STATES)}
CONDITIONS = ("power", "no power", "time up", "flame", "no flame", "last try", "no relight left")


@dataclass(frozen=True)
class Row:
    """In ``state``, when all of ``when`` hold, go to ``then``."""

    state: str
    when: tuple[str, ...]
    then: str
    why: str


TABLE = (
    Row("off", ("power",), "purge", "the thermostat's chain feeds the board: a call for heat"),
    Row("purge", ("no power",), "off", "the call has ended"),
    Row("purge", ("flame",), "lockout", "a flame before any gas was let in can't be right"),
    Row("purge", ("time up",), "trial", "the air has been changed"),
    Row("trial", ("no power", "last try"), "lockout", "the supply broke down under the load, once too often"),
    Row("trial", ("no power",), "wait", "the supply broke down under the load"),
    Row("trial", ("flame",), "run", "the flame is proven"),
    Row("trial", ("time up", "last try"), "lockout", "no flame in the last trial"),
    Row("trial", ("time up",), "wait", "no flame in this trial"),
    Row("wait", ("no power",), "off", "the call has ended"),
    Row("wait", ("time up",), "trial", "try again"),
    Row("run", ("no power",), "off", "the call has ended"),
    Row("run", ("no flame",), "doubt", "the flame's signal has gone"),
    Row("doubt", ("no power",), "off", "the call has ended"),
    Row("doubt", ("flame",), "run", "it is back"),
    Row("doubt", ("time up", "no relight left"), "lockout", "the flame was lost once too often"),
    Row("doubt", ("time up",), "wait", "flame lost: gas off, then try again"),
    Row("lockout", ("no power",), "off", "taking the power away resets it"),
)

RESPONDS = {"valve": ("trial", "run", "doubt"), "spark": ("trial",), "lamp": ("purge", "lockout")}
"""The lamp glows while the board starts, so that one sees that it can."""
TIMED = {"purge": "pre_purge", "trial": "trial", "wait": "between_tries", "doubt": "flame_response"}
"""State -> which of the model's times it lasts."""


def among(state: Array, names: tuple[str, ...]) -> Flags:
    """(B,) whether each variant is in one of the states."""
    out = state == NUMBER[names[0]]
    for name in names[1:]:
        out = out | (state == NUMBER[name])
    return out


def follow(state: Array, conditions: dict[str, Flags]) -> Array:
    """(B,) the next state of every variant by one reading of the table; the same state where no row fits."""
    after = state
    open_ = np.ones(state.shape, dtype=bool)
    for row in TABLE:
        here = open_ & (state == NUMBER[row.state])
        for name in row.when:
            here = here & conditions[name]
        if here.any():
            after = np.where(here, NUMBER[row.then], after)
            open_ = open_ & ~here
    return after
