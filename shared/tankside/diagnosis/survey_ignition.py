"""The part of the careful survey that looks at ignition and the 12 V side; nothing on a model without them."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from tankside.heater.model import HeaterModel

Step = tuple[str, dict[str, Any]]
_CONTACTS = ("12 V thermostat", "12 V link bar", "12 V high limit", "fuse", "12 V panel switch")
AIRING = 6.0
"""min after a start that failed until its gas has gone."""
_BETWEEN_TAPS = 5
"""Starts after which the water may be warm enough to end the call for heat."""


def as_found(model: HeaterModel) -> Iterator[Step]:
    """While the tank is as warm as it was found: 12 V off, ohms across the chain; what a pilot's valve shows."""
    if model.of_type("pilot gas valve"):
        yield "light pilot", {}
    if not model.of_type("control board"):
        return
    yield from _off(model)
    yield "meter", {"function": "Ω"}
    for part in _parts(model):
        yield "probe", {"red": f"{part}.line", "black": f"{part}.load"}
    yield "bubble test", {}
    yield "meter", {"function": "V~"}
    yield from _on(model)


def calling(model: HeaterModel) -> Iterator[Step]:
    """With cool water, so that the thermostat calls: watch starts, with the meter where the current goes."""
    for valve in model.of_type("pilot gas valve"):
        yield "light pilot", {}
        yield "thermocouple test", {}
        yield "switch", {"part": valve, "position": "off"}
        yield "bubble test", {}
    if not model.of_type("control board"):
        return
    yield (
        "run tap",
        {"minutes": 10},
    )  # what was measured before took long: mains may have heated the water since
    yield from _aired(model)
    yield "watch start", {"meter": "flame"}
    for k, (red, black) in enumerate(_loaded_pairs(model)):
        if k % _BETWEEN_TAPS == _BETWEEN_TAPS - 1:
            yield "run tap", {"minutes": 10}
        yield from _aired(model)
        yield "watch start", {"meter": "volts", "red": red, "black": black}
    yield "look", {}


def _aired(model: HeaterModel) -> Iterator[Step]:
    """Raw gas of a start that failed gone, and a nose near the burner: asked before each flame."""
    if "burner" in model.parts:
        yield "wait", {"minutes": AIRING}
        yield "sniff", {"place": model.parts["burner"].place}


def isolated(model: HeaterModel) -> Iterator[Step]:
    """Mains locked out, battery alone: a start under load, then part by part with its leads lifted."""
    if model.of_type("pilot gas valve"):
        yield "meter", {"function": "Ω"}
    for part in model.of_type("pilot high limit"):
        yield "probe", {"red": f"{part}.line", "black": f"{part}.load"}
    for valve in model.of_type("pilot gas valve"):
        if "tc_lead" in model.wires:
            yield "lift lead", {"wire": "tc_lead"}
        yield "probe", {"red": f"{valve}.magnet", "black": f"{valve}.body"}
    for board in model.of_type("control board"):
        yield "run tap", {"minutes": 10}
        for battery in model.of_type("battery"):
            ends = {"red": f"{battery}.plus", "black": f"{battery}.minus"}
            yield from _aired(model)
            yield "watch start", {"meter": "volts", **ends}
        if "coil_jumper" in model.wires:
            yield "lift lead", {"wire": "coil_jumper"}
            yield from _aired(model)
            yield "watch start", {"meter": "none"}
            yield "land lead", {"wire": "coil_jumper"}
        yield from _off(model)
        yield "meter", {"function": "Ω"}
        for red, black in _dead_pairs(model):
            yield "probe", {"red": red, "black": black}
        for wire in ("coil_jumper", "valve_lead", "hv_lead", "sense_lead", "board_lead"):
            if wire in model.wires:
                yield "lift lead", {"wire": wire}
                source = model.wires[wire].from_
                yield "probe", {"red": source, "black": f"{wire}.end"}
        for valve in model.of_type("gas valve"):
            yield "probe", {"red": f"{valve}.coil_1", "black": f"{valve}.ground"}
            yield "probe", {"red": f"{valve}.coil_2", "black": f"{valve}.ground"}
        for igniter in model.of_type("igniter"):
            yield "insulation test", {"red": f"{igniter}.electrode", "black": f"{igniter}.bracket"}
            yield "gap gauge", {}
        for sensor in model.of_type("flame sensor"):
            yield "insulation test", {"red": f"{sensor}.rod", "black": f"{sensor}.burner"}
        yield "board test", {"part": board}


def _parts(model: HeaterModel) -> list[str]:
    return [part for part, record in model.parts.items() if record.type in _CONTACTS]


def _off(model: HeaterModel) -> Iterator[Step]:
    for part in model.of_type("12 V panel switch"):
        yield "switch", {"part": part, "position": "off"}


def _on(model: HeaterModel) -> Iterator[Step]:
    for part in model.of_type("12 V panel switch"):
        yield "switch", {"part": part, "position": "on"}


def _loaded_pairs(model: HeaterModel) -> Iterator[tuple[str, str]]:
    """Source, load, and every place on the way where volts can be lost."""
    for part in model.of_type("battery"):
        yield f"{part}.plus", f"{part}.minus"
    for board in model.of_type("control board"):
        yield f"{board}.supply", f"{board}.ground"
        yield f"{board}.valve", f"{board}.ground"
    for part in model.of_type("gas valve"):
        yield f"{part}.coil_1", f"{part}.ground"
    for part in _parts(model):
        yield f"{part}.line", f"{part}.load"
    for part in model.of_type("harness plug"):
        yield f"{part}.supply_in", f"{part}.supply_out"
        for switch in model.of_type("12 V panel switch"):
            yield f"{switch}.load", f"{part}.supply_in"
    for part in model.of_type("ground stud"):
        yield f"{part}.heater", f"{part}.return"


def _dead_pairs(model: HeaterModel) -> Iterator[tuple[str, str]]:
    for part in _parts(model):
        if model.parts[part].type != "12 V panel switch":
            yield f"{part}.line", f"{part}.load"
    for part in model.of_type("12 V panel switch"):
        yield f"{part}.lamp", f"{part}.ground"
    for part in model.of_type("ground stud"):
        yield f"{part}.heater", f"{part}.return"
    for part in model.of_type("harness plug"):
        yield f"{part}.supply_in", f"{part}.supply_out"
        yield f"{part}.lamp_in", f"{part}.lamp_out"
        for switch in model.of_type("12 V panel switch"):
            yield f"{switch}.load", f"{part}.supply_in"
    for part in model.of_type("flame sensor"):
        yield f"{part}.burner", f"{part}.bracket"
