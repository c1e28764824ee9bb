"""Heater models: the schema of a data file, and reading one."""

from __future__ import annotations

import math
import re
from functools import cache
from pathlib import Path
from typing import Any, Literal

from pydantic import Field, model_validator

from tankside.datafiles import Record, load
from tankside.errors import DataFileError, UnknownNameError
from tankside.heater.parts import PART_TYPES, Parameter, PartType
from tankside.physics.conductors import awg_area_si, wire_resistance_si
from tankside.units import number_in

MODELS = Path(__file__).parent / "models"
WIRE_RESISTANCE = Parameter("ohm", 1e-6, 1e12, "resistance of the conductor")
PLATE_RANGES = {
    "capacity": ("m^3", 1e-3, 1.0, "water that fits"),
    "voltage": ("V", 1.0, 300.0, "rated voltage"),
    "frequency": ("Hz", 40.0, 70.0, "mains frequency"),
    "wattage": ("W", 1.0, 20e3, "rated power"),
    "breaker": ("A", 1.0, 100.0, "rating of the breaker"),
    "thermostat": ("degC", 20.0, 95.0, "setting"),
    "high_limit": ("degC", 20.0, 120.0, "setting"),
}
"""Unit, lowest, highest and meaning of what a plate says with a number."""
GAS_SIDE = {
    "gas cylinder": "cylinder",
    "gas regulator": "regulator",
    "gas hose": "hose",
    "gas cock": "gas_cock",
    "gas orifice": "orifice",
    "burner": "burner",
    "flue": "flue",
}
"""Part types of a gas side that is computed in full, and the id that each has."""
MAINS_PLATE = ("voltage", "frequency", "wattage", "breaker")
SITE_RANGES = {
    "voltage": ("V", 1.0, 300.0, "open-circuit voltage"),
    "room": ("degC", -40.0, 60.0, "air around the heater"),
    "cold_water": ("degC", 0.5, 40.0, "water that comes in"),
    "water_conductivity": ("uS/cm", 1.0, 10e3, "of the water"),
    "winter_low": ("degC", -60.0, 40.0, "coldest air of the winter"),
}
Role = Literal["hot", "switched hot", "neutral", "ground", "bond", "dc+", "dc-"]


class Plate(Record):
    """What the data plate says. Quantities are text with a unit, as a plate prints them."""

    name: str
    summary: str
    fuel: str
    capacity: str
    voltage: str = ""
    frequency: str = ""
    wattage: str = ""
    breaker: str = ""
    """The mains side; left out on a heater without one."""
    tank: str
    thermostat: str
    high_limit: str
    gas_input: str | None = None
    ignition: str | None = None


class Site(Record):
    """What one unit's site may be, lowest and highest."""

    voltage: tuple[str, str] = ("120 V", "120 V")
    """Where the model has a mains side."""
    room: tuple[str, str]
    cold_water: tuple[str, str]
    water_conductivity: tuple[str, str]
    winter_low: tuple[str, str] | None = None
    """The coldest air around a heater that nobody used over the winter, where the model's sites have one."""


class Place(Record):
    """Somewhere a technician works; ``cover`` if one must come off first."""

    id: str = Field(pattern=r"^[a-z0-9-]+$")
    name: str
    cover: bool


class PartRecord(Record):
    """One part: its type, where it sits, and its figures where they differ from the type's."""

    id: str = Field(pattern=r"^[a-z0-9_]+$")
    type: str
    name: str
    place: str
    outside: bool = False
    """True if its handle stands out of its place's cover: seen and moved with the cover on."""
    set: dict[str, str | float] = Field(default_factory=dict)


class Wire(Record):
    """One conductor between two terminals; by gauge and length, or by resistance."""

    id: str
    name: str
    from_: str = Field(alias="from")
    to: str
    role: Role
    gauge: int | None = Field(default=None, ge=0, le=30)
    length: str | None = None
    resistance: str | None = None
    lifts_at: Literal["from", "to"] | None = None

    @model_validator(mode="after")
    def _sized(self) -> Wire:
        if (self.resistance is None) == (self.gauge is None or self.length is None):
            raise ValueError("a wire has either gauge and length, or resistance")
        return self


class Cable(Record):
    """Two wires that run side by side, and the capacitance between them."""

    wires: tuple[str, str]
    length: str
    capacitance: str


class Ignition(Record):
    """How the burner is lit. ``spark``: by the control board's timing. ``pilot``: by a flame that stands."""

    kind: Literal["spark", "pilot"]
    efficiency: float = Field(gt=0.1, lt=1.0)
    """Share of the gas input that reaches the water; a burner that is computed in full sets its own."""
    pre_purge: str = "0 s"
    lights_in: str = "1 s"
    """From gas and spark to a flame on the ports."""
    trial: str = "7 s"
    tries: int = Field(default=3, ge=1, le=10)
    between_tries: str = "15 s"
    flame_response: str = "0.8 s"
    """From losing the flame signal to shutting the gas."""
    relights: int = Field(default=3, ge=0, le=20)
    """Flames lost in one call for heat before it locks out."""


class ModelFile(Record):
    """A heater model's data file."""

    plate: Plate
    site: Site
    place: tuple[Place, ...]
    part: tuple[PartRecord, ...]
    wire: tuple[Wire, ...]
    cable: tuple[Cable, ...] = ()
    spread: dict[str, float] = Field(default_factory=dict)
    ignition: Ignition | None = None


class HeaterModel:
    """A checked data file: every name resolved, every figure in its parameter's unit.

    ``nominal`` maps ``"part.parameter"`` to a number in the unit that the part type declares.
    """

    def __init__(self, name: str, file: Path, data: ModelFile) -> None:
        self.name, self.file, self.data, self.plate = name, file, data, data.plate
        self.parts: dict[str, PartRecord] = {}
        self.types: dict[str, PartType] = {}
        self._of_type: dict[str, list[str]] = {}
        self.nominal: dict[str, float] = {}
        self.places: dict[str, Place] = {}
        for i, place in enumerate(data.place):
            if place.id in self.places:
                raise self._wrong(f"place[{i}].id", "a name that no other place has", place.id)
            self.places[place.id] = place
        for i, part in enumerate(data.part):
            self._add_part(f"part[{i}]", part)
        self.terminals = {
            f"{part}.{terminal}": f"{self.parts[part].name} {text}"
            for part, kind in self.types.items()
            for terminal, text in kind.terminals.items()
        }
        self.wires: dict[str, Wire] = {}
        for i, wire in enumerate(data.wire):
            self._add_wire(f"wire[{i}]", wire)
        self._everything_is_wired()
        self.gas_input, self.timing = self._gas()
        self._gas_side()
        for i, cable in enumerate(data.cable):
            self._add_cable(f"cable[{i}]", cable)
        self._plate_and_site()
        self._controls_in_order()
        for key, share in data.spread.items():
            if key not in self.nominal:
                raise self._wrong(f"spread.{key}", "part.parameter of a part above", key)
            if not 0 <= share < 0.5:
                raise self._wrong(f"spread.{key}", "a share from 0 to below 0.5", share)

    def _wrong(self, key: str, expected: str, got: object) -> DataFileError:
        return DataFileError(self.file.name, key, expected, got)

    def _add_part(self, key: str, part: PartRecord) -> None:
        if part.id in self.parts:
            raise self._wrong(f"{key}.id", "a name that no other part has", part.id)
        if part.type not in PART_TYPES:
            raise self._wrong(f"{key}.type", f"one of {', '.join(PART_TYPES)}", part.type)
        if part.place not in self.places:
            raise self._wrong(f"{key}.place", f"one of {', '.join(self.places)}", part.place)
        kind = PART_TYPES[part.type]
        self.parts[part.id], self.types[part.id] = part, kind
        self._of_type.setdefault(part.type, []).append(part.id)
        for name in part.set:
            if name not in kind.parameters:
                raise self._wrong(f"{key}.set.{name}", f"one of {', '.join(kind.parameters)}", name)
        for name, parameter in kind.parameters.items():
            given = part.set.get(name, parameter.default)
            if given is None:
                if name in ("voltage",) and kind.feeds:
                    continue  # the site's, not the model's
                raise self._wrong(
                    f"{key}.set.{name}", f"a value in {parameter.unit or 'plain number'}", "nothing"
                )
            self.nominal[f"{part.id}.{name}"] = self.measure(f"{key}.set.{name}", given, parameter)

    def measure(self, key: str, given: str | float, parameter: Parameter) -> float:
        """``given`` in the parameter's unit, inside its valid range; else a ``DataFileError``."""
        value = self.number(key, given, parameter.unit)
        if not parameter.low <= value <= parameter.high:
            span = f"{parameter.low:g} to {parameter.high:g} {parameter.unit}".strip()
            raise self._wrong(key, f"{parameter.text}, {span}", given)
        return value

    def number(self, key: str, given: str | float, unit: str) -> float:
        """``given`` as a number in ``unit``; text carries its own unit."""
        if not isinstance(given, str):
            return float(given)
        try:
            return number_in(given, unit)
        except ValueError:
            raise self._wrong(key, f"a number with a unit like {unit or 'none'}", given) from None

    def _add_wire(self, key: str, wire: Wire) -> None:
        if wire.id in self.wires or wire.id in self.parts:
            raise self._wrong(f"{key}.id", "a name that no other wire or part has", wire.id)
        if wire.from_ == wire.to:
            raise self._wrong(f"{key}.to", "another terminal than the wire comes from", wire.to)
        for end, terminal in (("from", wire.from_), ("to", wire.to)):
            if terminal not in self.terminals:
                raise self._wrong(f"{key}.{end}", "a terminal of a part above", terminal)
        self.wires[wire.id] = wire
        if wire.resistance is not None:
            ohms = self.measure(f"{key}.resistance", wire.resistance, WIRE_RESISTANCE)
        else:
            assert wire.gauge is not None and wire.length is not None
            length = self.number(f"{key}.length", wire.length, "m")
            if not 0 < length <= 1000:
                raise self._wrong(f"{key}.length", "a length above 0 and up to 1000 m", wire.length)
            ohms = float(wire_resistance_si(awg_area_si(wire.gauge), length))
        self.nominal[f"{wire.id}.resistance"] = ohms

    def _add_cable(self, key: str, cable: Cable) -> None:
        for wire_id in cable.wires:
            if wire_id not in self.wires:
                raise self._wrong(f"{key}.wires", "the id of a wire above", wire_id)
        self._within(f"{key}.length", cable.length, "m", 0.0, 1000.0, "length on which the two run together")
        self._within(f"{key}.capacitance", cable.capacitance, "F/m", 0.0, 1e-6, "capacitance for each meter")

    def _within(self, key: str, given: str, unit: str, low: float, high: float, text: str) -> float:
        return self.measure(key, given, Parameter(unit, low, high, text))

    def _plate_and_site(self) -> None:
        for field, (unit, low, high, text) in PLATE_RANGES.items():
            given = getattr(self.plate, field)
            if not given and field in MAINS_PLATE and self.of_type("mains supply"):
                raise self._wrong(f"plate.{field}", f"{text}, required with a mains supply", "nothing")
            if given:
                self._within(f"plate.{field}", given, unit, low, high, text)
        for field, (unit, low, high, text) in SITE_RANGES.items():
            ends = getattr(self.data.site, field)
            if ends is None:
                continue
            first, last = (self._within(f"site.{field}", end, unit, low, high, text) for end in ends)
            if first > last:
                raise self._wrong(f"site.{field}", "the lowest first, then the highest", list(ends))
        if self.of_type("tank") != ["tank"]:
            raise self._wrong("part", "exactly one part of type tank, with the id tank", self.of_type("tank"))

    def _controls_in_order(self) -> None:
        """A thermostat closes below where it opens, and a high limit opens above every thermostat."""
        index = {part.id: i for i, part in enumerate(self.data.part)}
        highest = -math.inf
        for part in self.of_type("thermostat"):
            opens, closes = self.nominal[f"{part}.opens_at"], self.nominal[f"{part}.closes_at"]
            share = self.data.spread.get(f"{part}.opens_at", 0.0) + self.data.spread.get(
                f"{part}.closes_at", 0.0
            )
            if not closes < opens * (1 - share) - 1.0:
                raise self._wrong(
                    f"part[{index[part]}].set.closes_at",
                    f"at least 1 K below where it opens, {opens:.1f} °C less its spread",
                    f"{closes:.1f} °C",
                )
            highest = max(highest, opens * (1 + share))
        for part in self.of_type("high limit"):
            opens = self.nominal[f"{part}.opens_at"]
            if not opens > highest:
                raise self._wrong(
                    f"part[{index[part]}].set.opens_at",
                    f"above every thermostat with its spread, {highest:.1f} °C",
                    f"{opens:.1f} °C",
                )

    def _everything_is_wired(self) -> None:
        reached = {end for wire in self.wires.values() for end in (wire.from_, wire.to)}
        for terminal in self.terminals:
            if terminal not in reached:
                raise self._wrong("wire", f"a wire that reaches {terminal}", "none")

    def _gas(self) -> tuple[float, dict[str, float]]:
        """W of gas by the plate (0 without a burner), and the ignition's times in s."""
        ignition = self.data.ignition
        if ignition is None:
            if self.of_type("control board") or self.of_type("pilot gas valve"):
                raise self._wrong(
                    "ignition", "a table with kind and times, because there is a gas valve", "none"
                )
            return 0.0, {}
        needs = (
            ("control board", "gas valve")
            if ignition.kind == "spark"
            else ("pilot gas valve", "thermocouple")
        )
        for kind in needs:
            if len(self.of_type(kind)) != 1:
                raise self._wrong("part", f"one {kind} for this kind of ignition", len(self.of_type(kind)))
        for wire in ("hv_lead", "sense_lead") if ignition.kind == "spark" else ():
            if wire not in self.wires:
                raise self._wrong("wire", f"a wire with the id {wire}", "none")
        if self.plate.gas_input is None:
            raise self._wrong(
                "plate.gas_input", "what the burner takes, because [ignition] is there", "nothing"
            )
        watts = self.number("plate.gas_input", self.plate.gas_input, "W")
        if not 100 <= watts <= 100_000:
            raise self._wrong("plate.gas_input", "100 W to 100 kW", self.plate.gas_input)
        times = {}
        for name in ("pre_purge", "lights_in", "trial", "between_tries", "flame_response"):
            seconds = self.number(f"ignition.{name}", getattr(ignition, name), "s")
            if not 0 <= seconds <= 600:
                raise self._wrong(f"ignition.{name}", "0 to 600 s", getattr(ignition, name))
            times[name] = seconds
        for name, above in (("trial", "lights_in"), ("between_tries", None), ("flame_response", None)):
            if times[name] <= (times[above] if above else 0.0):
                expected = f"longer than {above}" if above else "above 0 s"
                raise self._wrong(f"ignition.{name}", expected, getattr(ignition, name))
        return watts, times

    def _gas_side(self) -> None:
        """A gas side that is computed is whole: one of each part, under the names that the others look for."""
        if not any(self.of_type(kind) for kind in GAS_SIDE):
            return
        for kind, name in GAS_SIDE.items():
            if self.of_type(kind) != [name]:
                expected = f"one part of type {kind} with the id {name}, because there is a gas side"
                raise self._wrong("part", expected, self.of_type(kind) or "none")
        valves = [v for kind in ("gas valve", "pilot gas valve", "hand gas valve") for v in self.of_type(kind)]
        if valves != ["gas_valve"]:
            raise self._wrong("part", "one gas valve with the id gas_valve, because there is a gas side", valves or "none")

    def of_type(self, kind: str) -> list[str]:
        """Ids of the parts of one type."""
        return self._of_type.get(kind, [])

    def __repr__(self) -> str:
        return f"HeaterModel({self.name!r})"


def model_names() -> list[str]:
    """The names of the data files, without their ending."""
    return sorted(file.stem for file in MODELS.glob("*.toml"))


@cache
def load_model(name: str) -> HeaterModel:
    """The heater model of that name; ``UnknownNameError`` if there is none."""
    if name not in model_names():
        raise UnknownNameError("heater model", name, model_names())
    return read_model(MODELS / f"{name}.toml")


def read_model(file: Path) -> HeaterModel:
    """The heater model in a data file; ``DataFileError`` names file, key, expected and got."""
    return HeaterModel(file.stem, file, load(file, ModelFile))


def _printed(text: str) -> str:
    """A quantity as a plate prints it."""
    for unit, sign in (("degF", "°F"), ("degC", "°C"), ("BTU/hour", "BTU/h")):
        text = text.replace(unit, sign)
    return re.sub(r"\b(\d{2,3})(\d{3})\b", r"\1,\2", text)


def plate_lines(model: HeaterModel) -> list[tuple[str, str]]:
    """The data plate as label and text, for a card or a screen."""
    fields: dict[str, Any] = model.plate.model_dump()
    return [
        (label.replace("_", " "), _printed(str(text)))
        for label, text in fields.items()
        if label != "summary" and text
    ]
