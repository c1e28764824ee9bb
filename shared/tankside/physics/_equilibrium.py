"""Chemical equilibrium of a flue gas: least Gibbs energy of ten species, C H O N, ideal gas, batched.

Newton's method on the element potentials with damped logarithmic steps, as in S. Gordon and B. J. McBride,
NASA RP-1311 (1994), chapter 2 (cited from memory; checked against cantera in the tests). Either the
temperature is given, or the enthalpy (an adiabatic flame) and the temperature is found along with it.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from tankside.physics._thermo import R, capacity_r, enthalpy_rt, entropy_r, species

Array = NDArray[np.float64]
_TINY = 1e-25
_ROUNDS = 200


def equilibrium(
    elements: Array, pressure: Array, temperature: Array, enthalpy: Array | None = None
) -> tuple[Array, Array]:
    """Moles of each species and the temperature.

    Parameters
    ----------
    elements : (B, 4) moles of C, H, O, N; each > 0
    pressure : (B,) Pa
    temperature : (B,) K, 1000 to 3500: given, or the first guess where ``enthalpy`` is given
    enthalpy : (B,) J, formation included; left out, the temperature stays

    Returns
    -------
    moles (B, species) and temperature (B,)

    Raises
    ------
    ValueError
        when no equilibrium was found in 1000 to 3500 K (never seen within the ranges of the callers).
    """
    s = species()
    a = s.atoms  # (species, 4)
    batch, kinds = elements.shape[0], len(s.names)
    scale = elements.sum(axis=1, keepdims=True)
    b = elements / scale
    goal = None if enthalpy is None else enthalpy / scale[:, 0]
    t = np.array(temperature, dtype=float)
    log_p = np.log(pressure / 101325.0)[:, None]
    log_n = np.full((batch, kinds), np.log(0.4 / kinds))
    log_total = np.full(batch, np.log(0.4))
    size = 5 if goal is None else 6
    for _ in range(_ROUNDS):
        n, total = np.exp(log_n), np.exp(log_total)
        h = enthalpy_rt(t)
        mu = h - entropy_r(t) + log_n - log_total[:, None] + log_p
        matrix, right = np.zeros((batch, size, size)), np.zeros((batch, size))
        na = n[:, :, None] * a  # (B, species, 4)
        matrix[:, :4, :4] = np.einsum("bsi,sj->bij", na, a)
        matrix[:, :4, 4] = matrix[:, 4, :4] = na.sum(axis=1)
        matrix[:, 4, 4] = n.sum(axis=1) - total
        right[:, :4] = b - na.sum(axis=1) + np.einsum("bsi,bs->bi", na, mu)
        right[:, 4] = total - n.sum(axis=1) + (n * mu).sum(axis=1)
        if goal is not None:
            matrix[:, 5, :4] = matrix[:, :4, 5] = np.einsum("bsi,bs->bi", na, h)
            matrix[:, 5, 4] = matrix[:, 4, 5] = (n * h).sum(axis=1)
            matrix[:, 5, 5] = (n * (capacity_r(t) + h * h)).sum(axis=1)
            right[:, 5] = goal / (R * t) - (n * h).sum(axis=1) + (n * h * mu).sum(axis=1)
        step = np.linalg.solve(matrix, right[..., None])[..., 0]
        d_total = step[:, 4]
        d_t = step[:, 5] if goal is not None else np.zeros(batch)
        d_n = step[:, :4] @ a.T + d_total[:, None] + h * d_t[:, None] - mu
        damp = _damping(d_n, d_total, d_t, log_n - log_total[:, None])
        log_n = np.maximum(log_n + damp[:, None] * d_n, np.log(_TINY))
        log_total = log_total + damp * d_total
        t = np.clip(t * np.exp(damp * d_t), 300.0, 5000.0)
        if np.all(np.exp(log_n) * np.abs(d_n) < 1e-10) and np.all(np.abs(d_t) < 1e-9):
            if np.any(t < 1000.0) or np.any(t > 3500.0):
                break
            return np.exp(log_n) * scale, t
    raise ValueError("flame = a mixture with no equilibrium from 1000 K to 3500 K; expected one that burns")


def _damping(d_n: Any, d_total: Any, d_t: Any, log_fraction: Any) -> Any:
    """How much of a step to take: at most a factor e^2 for the plentiful, and no trace jumps above 1e-4 at once."""
    plenty = log_fraction > -18.42
    largest = np.maximum(
        np.where(plenty, np.abs(d_n), 0.0).max(axis=1), 5 * np.maximum(np.abs(d_total), np.abs(d_t))
    )
    first = 2.0 / np.maximum(largest, 1e-12)
    rising = ~plenty & (d_n > 0)
    slope = np.where(rising, np.abs(d_n - d_total[:, None]), np.inf)
    second = np.where(rising, np.abs((-log_fraction - 9.2103404) / np.maximum(slope, 1e-12)), np.inf).min(
        axis=1
    )
    return np.minimum(1.0, np.minimum(first, second))
