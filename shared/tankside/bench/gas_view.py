"""What a screen needs to offer the gas side's actions: targets, labels, minutes, and why one can't be done now."""

from __future__ import annotations

from typing import Any

from tankside.bench.gas_points import JOINTS, LOOKS, TAPS
from tankside.bench.state import BenchState
from tankside.heater import gas

Row = tuple[str, str, float, str]


def _behind_cover(state: BenchState, part: str) -> str:
    place = state.model.places[state.model.parts[part].place]
    return (
        "" if not place.cover or place.id in state.open_covers else f"Take the cover off first: {place.name}."
    )


def gas_view(state: BenchState) -> dict[str, Any] | None:
    """The targets of ``sniff``, ``gas pressure``, ``soap test`` and ``inspect``; None on a heater without gas."""
    if not gas.has_gas(state.unit):
        return None
    names = {part: record.name for part, record in state.model.parts.items()}
    return {
        "sniff": [{"id": place.id, "name": place.name} for place in state.model.places.values()],
        "taps": [
            {"id": tap, "name": where.words, "why": _behind_cover(state, where.part), "part": where.part}
            for tap, where in TAPS.items()
        ],
        "joints": [
            {"id": part, "name": words, "why": _behind_cover(state, part)} for part, words in JOINTS.items()
        ],
        "inspect": [
            {
                "id": part,
                "name": names[part],
                "apart": look.apart,
                "minutes": look.minutes,
                "why": _behind_cover(state, part),
            }
            for part, look in LOOKS.items()
        ],
    }


def gas_actions(state: BenchState) -> list[Row]:
    """The gas side's actions without a target; none on a heater without gas."""
    if not gas.has_gas(state.unit):
        return []
    front, flue = _behind_cover(state, "burner"), _behind_cover(state, "flue")
    rows: list[Row] = [
        ("weigh cylinder", "Weigh the cylinder", 3, ""),
        ("look at flame", "Look at the flame and listen", 1, front),
        ("flue gas", "Flue-gas analyzer in the flue", 5, flue),
        ("room air", "Carbon monoxide in the cabin", 1, ""),
        ("altitude", "Read the altitude", 1, ""),
        ("leak test", "Timed pressure test of the line", 8, _behind_cover(state, "gas_valve")),
    ]
    if gas.part(state.unit, "hand gas valve"):
        burns = front or ("The pilot burns." if state.flag("gas_valve.pilot") else "")
        rows.append(("light", "Light the pilot", 1.5, burns))
    return rows
