"""The gas side's part of the survey: nose first, then gauges, soap, eyes, analyzer, and the burner apart last."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from tankside.bench.gas_points import LOOKS, TAPS
from tankside.heater.model import HeaterModel

Step = tuple[str, dict[str, Any]]


def _has_gas(model: HeaterModel) -> bool:
    return bool(model.of_type("gas cylinder")) and bool(model.of_type("burner"))


def as_found(model: HeaterModel) -> Iterator[Step]:
    """Covers off, nothing switched yet."""
    if not _has_gas(model):
        return
    for place in dict.fromkeys(model.parts[part].place for part in ("cylinder", "gas_cock", "burner")):
        yield "sniff", {"place": place}
    yield "room air", {}
    yield "weigh cylinder", {}
    yield "altitude", {}
    for tap in TAPS:
        yield "gas pressure", {"tap": tap}
    yield "look at flame", {}
    for part in ("cylinder", "hose", "gas_cock"):
        yield "soap test", {"part": part}
    for part, look in LOOKS.items():
        if not look.apart:
            yield "inspect", {"part": part}


def calling(model: HeaterModel) -> Iterator[Step]:
    """Hot water drawn off: the burner should run."""
    if not _has_gas(model):
        return
    yield "run tap", {"minutes": 10}  # whatever was tested before: now the water is cold
    for part in model.of_type("hand gas valve"):
        yield "sniff", {"place": model.parts[part].place}
        yield "light", {}
    yield "look at flame", {}
    yield "soap test", {"part": "orifice"}
    yield "flue gas", {}
    for tap in TAPS:
        yield "gas pressure", {"tap": tap}
    yield "room air", {}


def shut(model: HeaterModel) -> Iterator[Step]:
    """The line tested, the cylinder shut, the burner taken out; then the cylinder opened again."""
    if not _has_gas(model):
        return
    for tap in TAPS:
        yield "gas pressure", {"tap": tap, "draw": "yes"}
    yield "leak test", {}
    yield "switch", {"part": "cylinder", "position": "shut"}
    for part, look in LOOKS.items():
        if look.apart:
            yield "inspect", {"part": part}
    yield "switch", {"part": "cylinder", "position": "open"}  # the ignition's tests go on with gas
