"""Enthalpy and entropy of flue-gas species from NASA's seven-coefficient polynomials (``data/thermo.toml``).

200 to 6000 K, batched: a temperature array in, one more axis (species, last) out.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
R = 8.31446261815324
LATENT_25 = 44004.0
"""J/mol to boil water at 25 degC: higher less lower heating value, per mole of water formed [chemicals 1.5]."""


@dataclass(frozen=True)
class Species:
    """The species of the file, in its order: names, atoms (species, C H O N), coefficients below and above 1000 K."""

    names: tuple[str, ...]
    atoms: Array
    low: Array
    high: Array

    def index(self, name: str) -> int:
        return self.names.index(name)


@cache
def species() -> Species:
    """All species, read once."""
    from tankside.datafiles import read_toml  # on first use: pydantic is slow to start

    rows = read_toml(Path(__file__).parent / "data" / "thermo.toml")["species"]
    return Species(
        tuple(row["name"] for row in rows),
        np.array([row["atoms"] for row in rows], dtype=float),
        np.array([row["low"] for row in rows]),
        np.array([row["high"] for row in rows]),
    )


def _coefficients(t: Array) -> Array:
    s = species()
    return np.where((t < 1000.0)[..., None, None], s.low, s.high)


def enthalpy_rt(temperature: Any) -> Array:
    """h/(R T) of every species, formation included: (..., species); K."""
    t = np.asarray(temperature, dtype=float)
    a, x = _coefficients(t), t[..., None]
    return (
        a[..., 0]
        + x * (a[..., 1] / 2 + x * (a[..., 2] / 3 + x * (a[..., 3] / 4 + x * a[..., 4] / 5)))
        + a[..., 5] / x
    )


def capacity_r(temperature: Any) -> Array:
    """cp/R of every species: (..., species); K."""
    t = np.asarray(temperature, dtype=float)
    a, x = _coefficients(t), t[..., None]
    return a[..., 0] + x * (a[..., 1] + x * (a[..., 2] + x * (a[..., 3] + x * a[..., 4])))


def entropy_r(temperature: Any) -> Array:
    """s/R of every species at 101325 Pa: (..., species); K."""
    t = np.asarray(temperature, dtype=float)
    a, x = _coefficients(t), t[..., None]
    return (
        a[..., 0] * np.log(x)
        + x * (a[..., 1] + x * (a[..., 2] / 2 + x * (a[..., 3] / 3 + x * a[..., 4] / 4)))
        + a[..., 6]
    )


def enthalpy(name: str, temperature: Any) -> Any:
    """J/mol of one species, formation included; K, float or array."""
    t = np.asarray(temperature, dtype=float)
    return enthalpy_rt(t)[..., species().index(name)] * R * t
