"""A meter's reading as the log keeps it, and as a sentence says it."""

from __future__ import annotations

from typing import Any

from tankside.bench.both_measures import both_measures
from tankside.instruments.multimeter import Reading


def reading_data(reading: Reading) -> dict[str, Any]:
    """A reading as the log keeps it."""
    return {
        "function": reading.function,
        "value": reading.value,
        "full": reading.full,
        "digits": reading.digits,
        "unit": reading.unit,
        "note": reading.note,
        "spoken": reading.spoken,
    }


def shown(reading: Reading) -> str:
    """A reading in a sentence."""
    if reading.value is None:
        return f"{reading.digits} ({reading.note})"
    # Few fonts have the sign for direct current, so the log says DC.
    kind = {"V~": " V~", "V⎓": " V DC", "A~": " A~", "A⎓": " A DC", "µA⎓": " µA DC"}.get(
        reading.function, f" {reading.unit}"
    )
    said = both_measures(reading.value, reading.unit, f"{reading.digits}{kind}")
    return said + (f" ({reading.note})" if reading.note else "")
