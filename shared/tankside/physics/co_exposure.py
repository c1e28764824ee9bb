"""People and carbon monoxide: what so many ppm do, and when a house alarm must sound. Published tables, no law.

Sources
-------
[1] ``data/co_exposure.toml``: alarm points of UL 2034 (V2); effects from two secondary pages that differ in places.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, Any

from tankside.physics._ranges import si
from tankside.physics.fuels import DATA

if TYPE_CHECKING:
    from tankside.physics._ranges import Quantity


@dataclass(frozen=True)
class AlarmPoint:
    """At so many ppm a house alarm must sound, no sooner than ``earliest`` and no later than ``latest`` minutes."""

    ppm: float
    earliest: float
    latest: float
    source: str
    status: str


@dataclass(frozen=True)
class Effect:
    """What breathing so many ppm does, as one page says it and as another does."""

    ppm: float
    words: str
    other: str


@cache
def _tables() -> dict[str, Any]:
    from tankside.datafiles import read_toml

    return read_toml(DATA / "co_exposure.toml")


def alarm_points() -> tuple[AlarmPoint, ...]:
    """The points at which a house alarm is tested, from low to high. [1]

    Returns
    -------
    tuple of AlarmPoint (ppm, minutes)

    Examples
    --------
    >>> [(point.ppm, point.earliest, point.latest) for point in alarm_points()]
    [(70, 60, 240), (150, 10, 50), (400, 4, 15)]
    """
    return tuple(AlarmPoint(**row) for row in _tables()["alarm"])


def effects() -> tuple[Effect, ...]:
    """What carbon monoxide does to grown, healthy people, from low to high. [1]

    Returns
    -------
    tuple of Effect (ppm in the air, words from two pages)

    Examples
    --------
    >>> effects()[3].ppm, effects()[3].other
    (1600, 'headache, nausea, dizziness within 20 minutes; death within 2 hours')
    """
    return tuple(Effect(**row) for row in _tables()["effect"])


def effect_sources() -> dict[str, str]:
    """Where the two columns of ``effects`` come from. [1]

    Returns
    -------
    dict ("words", "other") of str
    """
    return dict(_tables()["effect_sources"])


def alarm_due(reading: Quantity) -> AlarmPoint | None:
    """The alarm point that a steady reading has reached; None where an alarm need not sound at all. [1]

    Parameters
    ----------
    reading : Quantity [0 to 100 000 ppm]

    Returns
    -------
    AlarmPoint or None

    Raises
    ------
    ValueError
        Reading out of range.

    Examples
    --------
    >>> from tankside.units import quantity
    >>> alarm_due(quantity(60, "ppm")) is None, alarm_due(quantity(200, "ppm")).latest
    (True, 50)
    """
    ppm = 1e6 * float(
        si("reading", reading, "dimensionless", 0.0, 0.1, "air that a carbon monoxide meter can read")
    )
    reached = [point for point in alarm_points() if point.ppm <= ppm * (1 + 1e-12)]
    return reached[-1] if reached else None
