"""Everything the bench knows besides the unit itself: covers, lock, meter, leads, what was proven."""

from __future__ import annotations

import copy
from dataclasses import dataclass, field
from typing import Any, Protocol, runtime_checkable

import numpy as np
from numpy.typing import NDArray

from tankside.bench.gas_notes import GasNotes
from tankside.errors import UnknownNameError
from tankside.heater.model import HeaterModel, Wire
from tankside.heater.plumbing import hot_tap
from tankside.heater.unit import Unit
from tankside.heater.wiring import loose_end
from tankside.instruments.flue_gas_analyzer import FlueGasAnalyzer
from tankside.instruments.gauge import Gauge
from tankside.instruments.manometer import Manometer
from tankside.instruments.multimeter import Multimeter, Reading
from tankside.instruments.service import Toolbox, toolbox
from tankside.instruments.water_strip import WaterTools, water_tools

Array = NDArray[np.float64]


class Witness(Protocol):
    """Something that is told each observation, with what every variant of the unit would have shown."""

    def reading(self, shown: Reading, value: Array, disturbed: Array, low: Array, high: Array) -> None:
        """A meter reading; (B,) what each variant's meter finds; the band that would show the same."""

    def number(self, value: Array, low: Array | float, high: Array | float) -> None:
        """A plain number (position, temperature): (B,) each variant's, and the band seen."""


@runtime_checkable
class InstrumentWitness(Witness, Protocol):
    """A witness that also wants to know which instrument a number came from."""

    def gauge(self, gauge: Gauge, reading: Reading, value: Array) -> None:
        """Another instrument's reading, and (B,) what each variant gives it to show."""


@dataclass
class BenchState:
    """One bench. ``unit`` may hold many variants; hands, covers and meter are the same for all of them."""

    unit: Unit
    healthy: dict[str, float]
    meter: Multimeter
    clock: float = 0.0
    open_covers: set[str] = field(default_factory=set)
    locked: str | None = None
    function: str = "V~"
    red: str | None = None
    black: str | None = None
    reading: dict[str, Any] | None = None
    meter_proven_at: float | None = None
    """Clock when the meter last read the known source right; None since it was last in doubt."""
    dead_places: set[str] = field(default_factory=set)
    """Places proven dead since the last time anything was energised."""
    dead_pairs: dict[str, set[frozenset[str]]] = field(default_factory=dict)
    """Pairs of a place's conductors found dead with a proven meter; they count once the meter is proven again."""
    once_proven: set[str] = field(default_factory=set)
    """Places that were proven dead at any time, in one go or pair by pair."""
    repaired: list[str] = field(default_factory=list)
    operated: bool = False
    """True once the heater was seen to run after the last repair."""
    stopped: dict[str, Any] | None = None
    water: WaterTools = field(default_factory=lambda: water_tools("0"))
    tools: Toolbox = field(default_factory=lambda: toolbox("0"))
    """The instruments beside the multimeter."""
    manometer: Manometer = field(default_factory=lambda: Manometer("0"))
    analyzer: FlueGasAnalyzer = field(default_factory=lambda: FlueGasAnalyzer("0"))
    gas: GasNotes = field(default_factory=GasNotes)
    """Where gas was smelt for, what was opened, when lighting last failed."""
    witness: Witness | None = None
    """Who else looks at what is observed: the diagnosis, which asks which variants could have shown it."""

    def see_reading(self, reading: Reading, value: Array, disturbed: Array) -> None:
        """Tell the witness of a meter reading and of what every variant's meter would have found."""
        if self.witness:
            low, high = self.meter.agrees(reading, value, disturbed)
            self.witness.reading(reading, value, np.broadcast_to(disturbed, value.shape), low, high)

    def see_gauge(self, gauge: Gauge, value: Array) -> Reading:
        """What another instrument shows of the first variant; the witness is told of it."""
        reading = gauge.show(float(value[0]))
        if isinstance(self.witness, InstrumentWitness):
            self.witness.gauge(gauge, reading, value)
        elif self.witness:
            self.witness.number(value, *gauge.agrees(reading, value))
        return reading

    def see_fact(self, value: Array, slack: float = 0.0) -> float:
        """A thing seen or heard as it is (lit or not, how many clicks); the witness is told of it."""
        if self.witness:
            self.witness.number(value, value[0] - slack, value[0] + slack)
        return float(value[0])

    def see_temperature(self, value: float, slack: float) -> None:
        """Tell the witness of a thermometer reading in °C, right to ``slack`` either way."""
        if self.witness:
            hot = hot_tap(self.unit).temperature
            self.witness.number(hot, value - 1.5 * slack, value + 1.5 * slack)

    def hidden(self, part: str) -> bool:
        """True if a closed cover hides the part; a handle that stands out of its cover isn't hidden."""
        record = self.model.parts[part]
        place = self.model.places[record.place]
        return place.cover and not record.outside and place.id not in self.open_covers

    def see_positions(self) -> None:
        """Tell the witness of the positions of everything that a hand can move and no cover hides."""
        if self.witness:
            for part, kind in self.model.types.items():
                if kind.positions:
                    made = self.unit[f"{part}.{kind.moves}"]
                    if self.hidden(part):  # nothing is told, in the same number of observations
                        self.witness.number(made, -np.inf, np.inf)
                        if f"{part}.tripped" in self.unit.values:
                            self.witness.number(made, -np.inf, np.inf)
                        continue
                    self.witness.number(made, made[0], made[0])
                    if f"{part}.tripped" in self.unit.values:
                        # One sees whether a hand or a fault opened it. Closed, tripped, off, in this order: a fault
                        # that trips it at some severity never leaves it off.
                        seen = np.where(made > 0, 0.0, np.where(self.unit[f"{part}.tripped"] > 0, 1.0, 2.0))
                        self.witness.number(seen, seen[0], seen[0])

    def snapshot(self) -> BenchState:
        """A copy to fall back on: changing this state leaves it alone."""
        twin = copy.copy(self)
        twin.unit = self.unit.copy()
        twin.meter = copy.copy(self.meter)
        twin.open_covers, twin.dead_places = set(self.open_covers), set(self.dead_places)
        twin.dead_pairs = {place: set(pairs) for place, pairs in self.dead_pairs.items()}
        twin.once_proven = set(self.once_proven)
        twin.repaired = list(self.repaired)
        return twin

    @property
    def model(self) -> HeaterModel:
        """The heater's model."""
        return self.unit.model

    def flag(self, key: str) -> bool:
        """The first variant's state or parameter, as yes or no."""
        return bool(self.unit[key][0] > 0)

    def switches(self) -> dict[str, str]:
        """Position of everything that a hand can move, as one sees it with every cover off."""
        out = {}
        for part, kind in self.model.types.items():
            if kind.positions:
                made, broken = kind.positions
                tripped = f"{part}.tripped" in self.unit.values and self.flag(f"{part}.tripped")
                closed = self.flag(f"{part}.{kind.moves}")
                out[part] = made if closed else ("tripped" if tripped else broken)
        return out

    def seen_switches(self) -> dict[str, str]:
        """Positions of what no closed cover hides."""
        return {part: position for part, position in self.switches().items() if not self.hidden(part)}

    def place_of(self, terminal: str) -> str:
        """The place where a terminal, or a lifted lead's end, is reached."""
        if terminal in self.model.terminals:
            return self.model.parts[terminal.split(".")[0]].place
        wire = self.model.wires.get(terminal.removesuffix(".end"))
        if wire is not None and wire.lifts_at and loose_end(wire.id) == terminal:
            return self.place_of(wire.to if wire.lifts_at == "to" else wire.from_)
        known = [*self.model.terminals, *(loose_end(w.id) for w in self.model.wires.values() if w.lifts_at)]
        raise UnknownNameError("terminal", terminal, known)

    def lifted(self, wire: str) -> bool:
        """True if the lead is off its terminal."""
        return self.flag(f"{wire}.lifted")

    def loose(self) -> list[Wire]:
        """The leads that are off their terminals."""
        return [wire for wire in self.model.wires.values() if wire.lifts_at and self.lifted(wire.id)]

    def name_of(self, terminal: str) -> str:
        """The terminal in words."""
        if terminal in self.model.terminals:
            return self.model.terminals[terminal]
        return f"loose end of {self.model.wires[terminal.removesuffix('.end')].name}"

    def terminals_at(self, place: str) -> list[str]:
        """Every terminal that is reached at a place."""
        return [t for t in self.model.terminals if self.place_of(t) == place]
