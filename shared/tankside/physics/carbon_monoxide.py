"""Carbon monoxide: how poor mixing and cold surfaces make it, how a room fills with it, which limits there are.

The making of CO is a **teaching model of ours**, no prediction for any burner: only its directions (less air,
poorer mixing, more quenching: more CO) and its ends (none for a perfect flame, never more than the fuel's carbon)
should be trusted. Real burners are measured with an analyzer.

Sources
-------
[1] Teaching model of ours. Fuel and air are mixed unevenly: local richness follows a logistic distribution of relative
    width ``spread`` about the mean. Where oxygen is short, what is short is left as CO and H2; CO's share of the two,
    0.61, is fitted to equilibrium flue gas of propane (1300 to 1700 K, equivalence 1.02 to 1.5: 0.50 to 0.71). On top
    a fraction ``quench`` of the carbon is chilled while it still is CO.
[2] A well-mixed room with constant source and air change: dC/dt = G/V - n (C - C_out).
[3] Limits: ``data/co_limits.toml``, each with its source.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, Any

import numpy as np

from tankside.errors import UnknownNameError
from tankside.physics._ranges import number, si
from tankside.physics.combustion import DRY_AIR, Air, air_need_si, dry_fractions_si
from tankside.physics.fuels import DATA, Fuel
from tankside.units import quantity

if TYPE_CHECKING:
    from tankside.physics._ranges import Quantity

CO_SHARE = 0.61
"""CO over CO + H2 where oxygen is short [1]."""
CLEAN_SPREAD = 0.10
"""Relative width of the mixing in a burner as it should be [1]."""
CLEAN_QUENCH = 1.5e-4
"""Share of the carbon chilled as CO in a burner as it should be: about 20 ppm air-free [1]."""


def unburnt_carbon_si(
    fuel: Fuel, excess_air: Any, spread: Any = CLEAN_SPREAD, quench: Any = CLEAN_QUENCH, air: Air = DRY_AIR
) -> Any:
    """Share of the fuel's carbon that leaves as CO [1]; 0 to 1.

    Parameters
    ----------
    fuel : Fuel
    excess_air : float or array [fraction, > -1; the whole flame's, primary and secondary]
    spread : float or array [> 0]
    quench : float or array [0 to 1]
    air : Air
    """
    width = np.maximum(np.asarray(spread, dtype=float), 1e-6) * np.sqrt(3) / np.pi
    short = width * np.logaddexp(0.0, -np.asarray(excess_air, dtype=float) / width)
    monoxide = 2 * CO_SHARE * air_need_si(fuel, air) * air.oxygen * short / fuel.atoms[0]
    mixed = monoxide / (1 + monoxide**4) ** 0.25  # straight for little, never above all the carbon
    return 1 - (1 - mixed) * (1 - np.asarray(quench))


def air_free_monoxide_si(
    fuel: Fuel, excess_air: Any, spread: Any = CLEAN_SPREAD, quench: Any = CLEAN_QUENCH, air: Air = DRY_AIR
) -> Any:
    """Mole fraction of CO in dry flue gas, air-free [1]; arguments as in ``unburnt_carbon_si``."""
    return unburnt_carbon_si(fuel, excess_air, spread, quench, air) * float(
        dry_fractions_si(fuel, 0.0, air)[0]
    )


def room_monoxide_si(
    source: Any, volume: Any, changes: Any, time: Any, start: Any = 0.0, outside: Any = 0.0
) -> Any:
    """Mole fraction of CO in a room [2].

    Parameters
    ----------
    source : float or array [m3/s of CO]
    volume : float or array [m3]
    changes : float or array [1/s, air changes; 0 = sealed]
    time : float or array [s]
    start, outside : float or array [mole fraction]
    """
    n, t = np.asarray(changes, dtype=float), np.asarray(time, dtype=float)
    left = np.exp(-n * t)
    gathered = np.where(n * t > 1e-9, -np.expm1(-n * t) / np.where(n > 0, n, 1.0), t)
    return start * left + outside * (1 - left) + np.asarray(source) / volume * gathered


@dataclass(frozen=True)
class Limit:
    """One published limit: ``kind`` "air" (breathed) or "flue" (air-free in flue gas), and over what time."""

    name: str
    kind: str
    ppm: float
    over: str
    source: str
    status: str


@cache
def limits() -> dict[str, Limit]:
    """All limits by name. [3]

    Returns
    -------
    dict of Limit

    Examples
    --------
    >>> {name: limit.ppm for name, limit in limits().items() if limit.kind == "air"}
    {'OSHA PEL': 50, 'NIOSH REL': 35, 'NIOSH ceiling': 200, 'ACGIH TLV': 25}
    """
    from tankside.datafiles import read_toml

    return {row["name"]: Limit(**row) for row in read_toml(DATA / "co_limits.toml")["limit"]}


def within_limit(reading: Quantity, limit: str) -> bool:
    """Is a reading at or below a published limit? [3]

    Parameters
    ----------
    reading : Quantity [0 to 100 000 ppm]
        Breathed air for an "air" limit, air-free for a "flue" limit.
    limit : one of ``limits()``

    Returns
    -------
    bool

    Raises
    ------
    ValueError
        Reading out of range.
    UnknownNameError
        No such limit.

    Examples
    --------
    >>> within_limit(quantity(40, "ppm"), "OSHA PEL"), within_limit(quantity(40, "ppm"), "NIOSH REL")
    (True, False)
    """
    ppm = 1e6 * si("reading", reading, "dimensionless", 0.0, 0.1, "a carbon monoxide meter's range")
    if limit not in limits():
        raise UnknownNameError("carbon monoxide limit", limit, list(limits()))
    return bool(ppm <= limits()[limit].ppm * (1 + 1e-12))


def monoxide_made(
    fuel: Fuel,
    excess_air: float | Quantity,
    *,
    spread: float = CLEAN_SPREAD,
    quench: float = CLEAN_QUENCH,
    air: Air = DRY_AIR,
) -> Quantity:
    """CO that a flame makes, air-free: the teaching model. [1]

    Parameters
    ----------
    fuel : Fuel
    excess_air : float or percent [-0.6 to 3]
        Of the whole flame.
    spread : float [0.01 to 1]
        How unevenly fuel and air are mixed: 0.10 as it should be, 0.3 a distorted, starved flame.
    quench : float [0 to 0.5]
        Share of the carbon chilled while it still is CO: flame against cold metal.
    air : Air

    Returns
    -------
    Quantity [ppm, dry, air-free]

    Raises
    ------
    ValueError
        Out of range.

    Examples
    --------
    >>> from tankside.physics.fuels import fuel
    >>> print(f"{monoxide_made(fuel('propane'), 0.5).magnitude:.0f} ppm")
    22 ppm
    """
    excess = number("excess air", excess_air, -0.6, 3.0, "a flame that burns at all")
    wide = number("spread", spread, 0.01, 1.0, "relative width of the mixing")
    cold = number("quench", quench, 0.0, 0.5, "a share of the carbon; more puts the flame out")
    return quantity(1e6 * air_free_monoxide_si(fuel, excess, wide, cold, air), "ppm")


def room_monoxide(
    source: Quantity,
    volume: Quantity,
    changes: Quantity,
    time: Quantity,
    *,
    start: Quantity | None = None,
    outside: Quantity | None = None,
) -> Quantity:
    """CO in a room into which a flue spills. [2]

    A thought experiment in closed form. In a real room with CO: out, fresh air, gas off, call for help.

    Parameters
    ----------
    source : Quantity [0 to 1 m3/h of CO]
    volume : Quantity [1 to 10 000 m3]
    changes : Quantity [0 to 100 per hour]
        Air changes; 0 = sealed.
    time : Quantity [0 to 7 days]
    start, outside : Quantity [0 to 10 000 ppm]
        Left out, none.

    Returns
    -------
    Quantity [ppm]

    Raises
    ------
    ValueError
        Out of range.

    Examples
    --------
    >>> co = room_monoxide(quantity(2, "L/hour"), quantity(20, "m**3"), quantity(0.5, "1/hour"), quantity(2, "hour"))
    >>> print(f"{co.magnitude:.0f} ppm")
    126 ppm
    """
    made = si("source", source, "m**3/s", 0.0, 1 / 3600, "one spilling appliance")
    room = si("volume", volume, "m**3", 1.0, 1e4, "a cabin to a hall")
    n = si("air changes", changes, "1/s", 0.0, 100 / 3600, "sealed to a gale")
    t = si("time", time, "s", 0.0, 7 * 86400.0, "a week at most")
    first, fresh = (
        0.0 if value is None else si(name, value, "dimensionless", 0.0, 0.01, "air that people might meet")
        for name, value in (("start", start), ("outside", outside))
    )
    return quantity(1e6 * room_monoxide_si(made, room, n, t, first, fresh), "ppm")
