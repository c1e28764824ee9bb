"""One careful survey of a heater with every fault at once: what each test shows, and how sure its instrument is.

The batch holds every fault that fits the model at a few severities and, as row 0 and last row, the healthy heater
that the hands work on. One walk through the survey gives every observation of every fault: that is what makes
trying a hundred faults as cheap as trying one.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tankside.bench.bench import perform
from tankside.bench.state import BenchState
from tankside.case import Case, Variants, variants
from tankside.diagnosis.survey import survey
from tankside.errors import BenchError
from tankside.faults.catalogue import fault_named, faults
from tankside.heater.model import HeaterModel
from tankside.heater.plumbing import hot_tap
from tankside.instruments.gauge import Gauge
from tankside.instruments.multimeter import COUNTS, DISTURBED, LEADS, Multimeter, Reading, function_named
from tankside.streams import Stream

Array = NDArray[np.float64]

LEVELS = 4
"""Severities, evenly spread, at which each fault is tried, beside the middle one."""
SENSES = "eyes, ears, hands"
OWNER = "the owner's words"
INSTRUMENTS = {
    "V~": "multimeter, V~", "V⎓": "multimeter, V⎓", "Ω": "multimeter, Ω", "continuity": "multimeter, Ω",
    "µA⎓": "microammeter in series", "A⎓": "clamp, A⎓", "A~": "clamp, A~", "MΩ": "insulation tester",
    "bubbles/min": "bubble tester", "mV⎓": "millivoltmeter", "board A⎓": "board test set",
    "manometer": "manometer", "dial gauge": "dial gauge", "hanging scale": "hanging scale",
    "altimeter": "altimeter", "plug gauge": "plug gauges", "shutter open": "shutter's marks",
    "O2": "flue-gas analyzer", "CO": "flue-gas analyzer", "flue": "flue-gas analyzer", "room": "flue-gas analyzer",
    "°C water": "thermometer", "°C surface": "contact thermometer", "µS/cm": "conductivity meter",
    "L/min": "bucket and watch", "mL/min": "cup and watch", "mL": "measuring jug", "kPa": "water pressure gauge",
    "kg/L": "scales and jug", "mm deep": "depth rule", "cm² bare": "lamp and mirror",
}  # fmt: skip
"""Instruments by what their displays are called; ``mm`` is the feeler's or the caliper's, by its range."""


@dataclass(frozen=True)
class Seen:
    """One observation: what was done, the instrument, (B,) what each variant would have shown, and (B,) its error.

    ``slack`` is nil for what eyes, ears and hands tell: there, another value is another thing seen.
    """

    test: str
    instrument: str
    unit: str
    value: Array
    slack: Array


@dataclass
class Recorder(BenchState):
    """A bench that keeps every observation with its instrument's error, instead of telling a witness."""

    doing: str = ""
    seen: list[Seen] = field(default_factory=list)

    def _add(self, instrument: str, unit: str, value: Array, slack: Array | float, test: str = "") -> None:
        value = np.asarray(value, dtype=float)
        spread = np.broadcast_to(np.asarray(slack, dtype=float), value.shape)
        self.seen.append(Seen(test or self.doing, instrument, unit, value.copy(), spread.copy()))

    def see_reading(self, reading: Reading, value: Array, disturbed: Array) -> None:
        """A meter's reading of every variant; volts on the leads make ohms a thing seen."""
        kind = function_named(reading.function)
        disturbed = np.broadcast_to(disturbed, value.shape)
        if kind.unit == "Ω":
            value = value + (0.0 if self.meter.zeroed else LEADS)
            self._add(
                SENSES, "", (disturbed > DISTURBED).astype(float), 0.0, f"{self.doing}: volts on the leads"
            )
            value = np.where(disturbed > DISTURBED, value[0], value)
        shown = np.clip(np.abs(value), 0.0, kind.ranges[-1])
        slack = kind.share * shown + (kind.digits + 1) * _full(shown, kind.ranges) / COUNTS
        self._add(INSTRUMENTS[kind.id], kind.unit, shown, slack)

    def see_gauge(self, gauge: Gauge, value: Array) -> Reading:
        """Another instrument's reading of every variant."""
        s = gauge.scale
        shown = np.clip(np.abs(value), 0.0, s.ranges[-1])
        slack = s.share * shown + (s.digits + 1) * _full(shown, s.ranges) / s.counts
        self._add(_name(gauge), s.unit, shown, np.maximum(slack, s.blind))
        return gauge.show(float(value[0]))

    def see_fact(self, value: Array, slack: float = 0.0) -> float:
        """Something seen or heard as it is."""
        self._add(SENSES, "", value, slack)
        return float(value[0])

    def see_temperature(self, value: float, slack: float) -> None:
        """The thermometer at the tap."""
        self._add("thermometer", "°C", hot_tap(self.unit).temperature, 1.5 * slack)

    def see_positions(self) -> None:
        """Where everything stands that a hand can move."""
        for part, kind in self.model.types.items():
            if kind.positions and not self.hidden(part):
                self._add(SENSES, "", self.unit[f"{part}.{kind.moves}"], 0.0, f"look at {part}")


class _Ear:
    """What an action tells the witness itself: a step of a card, a share judged by eye."""

    def __init__(self, recorder: Recorder) -> None:
        self._recorder = recorder

    def reading(self, shown: Reading, value: Array, disturbed: Array, low: Array, high: Array) -> None:
        """Kept already, with the meter's error."""

    def number(self, value: Array, low: Array | float, high: Array | float) -> None:
        """Inside the band it looks the same."""
        inside = (value >= np.broadcast_to(low, value.shape)) & (value <= np.broadcast_to(high, value.shape))
        self._recorder.see_fact((~inside).astype(float))


def _full(value: Array, ranges: tuple[float, ...]) -> Array:
    """(B,) the smallest range that shows each value."""
    return np.asarray(ranges)[np.minimum(np.searchsorted(ranges, value), len(ranges) - 1)]


def _name(gauge: Gauge) -> str:
    if gauge.scale.id == "mm":
        return "feeler gauge" if gauge.scale.ranges[-1] < 100 else "caliper"
    return INSTRUMENTS[gauge.scale.id]


@dataclass(frozen=True)
class Observations:
    """Every observation of a model's faults. ``found.fault_of`` says which row is which."""

    model: HeaterModel
    found: Variants
    seen: tuple[Seen, ...]
    noticed: NDArray[np.int_]
    """(B,) index into ``SYMPTOMS``: what the owner noticed."""


def steps(model: HeaterModel) -> Iterator[tuple[str, dict[str, Any]]]:
    """The careful survey; before it the first start after the call, and in it what a hand at the pilot and the ground tells.

    The first start counts: whoever switches off and on to measure has purged the line and reset the control.
    """
    yield "look", {}
    if model.of_type("control board"):
        yield "watch start", {"meter": "none"}
    for verb, args in survey(model):
        if verb == "drain":
            for box in model.of_type("splice box"):
                yield "probe", {"red": "tank.shell", "black": f"{box}.ground"}
            if model.of_type("hand gas valve"):
                yield "sniff", {"place": model.parts["burner"].place}
                yield "light", {}
        yield verb, args


def observe(model: HeaterModel, levels: int = LEVELS) -> Observations:
    """Walk the survey once on the healthy heater, with every fault of the model in the batch beside it."""
    scope = [fault.id for fault in faults().values() if fault.applies_to(model) and fault.id != "no-fault"]
    case = Case(model, {}, {}, fault_named("no-fault"), 0.5)
    return observe_with(case, variants(case, scope, levels), steps(model))


def observe_with(case: Case, found: Variants, walk: Iterable[tuple[str, dict[str, Any]]]) -> Observations:
    """Walk these steps once with these variants of a healthy heater."""
    model = case.model
    noticed = found.unit["seen.symptom"].astype(int)
    state = Recorder(found.unit, case.healthy(), Multimeter(Stream("check", "multimeter")))
    state.witness = _Ear(state)
    for verb, args in walk:
        state.doing = " ".join([verb, *(str(value) for value in args.values())])
        try:
            perform(state, verb, args)
        except BenchError:
            continue  # what the healthy heater's state puts out of reach
    told = Seen(OWNER, OWNER, "", noticed.astype(float), np.zeros(noticed.shape))
    return Observations(model, found, (told, *state.seen), noticed)
