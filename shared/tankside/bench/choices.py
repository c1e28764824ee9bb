"""Which part each action is done at, and the actions that need something chosen first: a wire, a tap, a way to connect."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from tankside.bench.state import BenchState

AT: dict[str, tuple[str, ...]] = {
    "weigh cylinder": ("gas cylinder",),
    "leak test": ("gas hose", "gas valve", "pilot gas valve", "hand gas valve"),
    "look at flame": ("burner",),
    "flue gas": ("flue",),
    "light": ("hand gas valve",),
    "light pilot": ("pilot gas valve",),
    "thermocouple test": ("thermocouple", "pilot gas valve"),
    "watch start": ("control board", "12 V panel switch"),
    "gap gauge": ("igniter",),
    "board test": ("control board",),
    "bubble test": ("gas valve", "pilot gas valve"),
    "drain": ("tank", "vessel"),
    "fill": ("tank", "vessel"),
    "temperature": ("tank", "house taps"),
    "run tap": ("tank", "house taps"),
    "tap test": ("house taps",),
    "shut-off test": ("cold inlet",),
    "drain flow": ("cold inlet", "vessel"),
    "trace lines": ("cold inlet", "winter bypass"),
    "feel hot line": ("check valve",),
    "catch drips": ("relief valve", "vessel", "anode"),
    "water pressure": ("cold inlet",),
    "cushion test": ("air cushion",),
    "lift relief lever": ("relief valve",),
    "relief on the stand": ("relief valve",),
    "water test": ("cold inlet",),
    "feel jacket": ("tank", "vessel"),
    "listen to tank": ("tank", "vessel"),
    "look at check valve": ("check valve",),
    "lamp in tank": ("vessel",),
    "look at anode": ("anode",),
    "prove operation": ("tank",),
    "lock out": ("breaker", "mains supply"),
    "unlock": ("breaker", "mains supply"),
}
"""Verb -> types of the parts at which it is done. What isn't listed is done at no part in particular, or at a chosen one."""
CURRENT = ("hot", "switched hot", "neutral", "dc+", "dc-")
"""Roles of the conductors that a clamp goes around."""


@dataclass(frozen=True)
class Choice:
    """An action that a screen offers; ``why`` it can't be done now; ``more`` that the screen must know to offer it."""

    verb: str
    label: str
    minutes: float
    why: str = ""
    more: dict[str, Any] = field(default_factory=dict)


def parts_of(state: BenchState, verb: str) -> list[str]:
    """The parts of this heater at which an action is done."""
    return [part for kind in AT.get(verb, ()) for part in state.model.of_type(kind)]


def with_choices(state: BenchState, rows: list[Choice]) -> list[Choice]:
    """The rows, and those whose target, tap or connection is chosen on the screen, each after its like."""
    out = []
    for row in rows:
        out.append(row)
        if row.verb == "watch start":
            out += _watched(state, row)
    return out + _clamp(state) + _insulation(state) + _taps(state)


def _watched(state: BenchState, plain: Choice) -> list[Choice]:
    """A start watched with the meter in the flame rod's lead, or between the leads where they stand."""
    rows = [
        Choice(
            plain.verb,
            "The same, with volts read between the leads",
            plain.minutes,
            plain.why,
            {"args": {"meter": "volts"}, "leads": True},
        )
    ]
    for sensor in state.model.of_type("flame sensor"):
        why = plain.why or behind_cover(state, sensor)
        label = "The same, with microamperes in the flame rod's lead"
        rows.append(Choice(plain.verb, label, plain.minutes, why, {"args": {"meter": "flame"}}))
    return rows


def _clamp(state: BenchState) -> list[Choice]:
    """The clamp meter, around one of the conductors that hands can get at."""
    options = []
    for wire in state.model.wires.values():
        if wire.role not in CURRENT:
            continue
        ends = [end.split(".")[0] for end in (wire.from_, wire.to)]
        hidden = [behind_cover(state, part) for part in ends]
        why = hidden[0] if all(hidden) else ""
        options.append(
            {"id": wire.id, "name": f"{wire.id.replace('_', ' ')}, {wire.name}", "why": why, "parts": ends}
        )
    if not options:
        return []
    more = {"argument": "wire", "choose": "Choose a wire", "options": options}
    return [Choice("clamp", "Clamp meter around it", 1, "", more)]


def _insulation(state: BenchState) -> list[Choice]:
    """The insulation tester, between the two leads, on a heater with something to insulate."""
    if not (state.model.of_type("element") or state.model.of_type("control board")):
        return []
    return [Choice("insulation test", "Insulation test, 500 V, between the leads", 1, "", {"leads": True})]


def _taps(state: BenchState) -> list[Choice]:
    """Bucket, watch and thermometer at one of the taps."""
    if not state.model.of_type("house taps"):
        return []
    full = bool(state.unit["tank.fill"][0] > 0.98)
    options = [{"id": "hot", "name": "hot tap", "why": ""}, {"id": "cold", "name": "cold tap", "why": ""}]
    more = {"argument": "tap", "choose": "Choose a tap", "options": options}
    why = "" if full else "Fill the tank first."
    return [Choice("tap test", "Bucket, watch, thermometer", 2, why, more)]


def behind_cover(state: BenchState, part: str) -> str:
    """What to do first to get at a part; empty if it can be reached."""
    place = state.model.places[state.model.parts[part].place]
    shut = place.cover and place.id not in state.open_covers
    return f"Take the cover off first: {place.name}." if shut else ""
