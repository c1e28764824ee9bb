"""Does the batched search find what scipy's bracketing search finds?"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import brentq

from tankside.physics._roots import falling_root
from tankside.physics.galvanic import Steel, galvanic_cell_si, steel_current_si


def test_against_brentq() -> None:
    """Curves with a vertical tangent, a kink and steep exponentials, alone and in a batch: the same roots, the same bits?"""
    rng = np.random.default_rng(3)
    n = 200
    a, b = rng.uniform(0.1, 5.0, n), 10 ** rng.uniform(-3, 2, n)

    def function(x: np.ndarray, a: np.ndarray, b: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        bend = np.where(x > 1.0, 3.0 * (x - 1.0), 0.0)
        value = a - b * np.expm1(x) - np.sqrt(np.maximum(x, 0.0)) - bend
        slope = b * np.exp(x) + 0.5 / np.sqrt(np.maximum(x, 1e-300)) + np.where(x > 1.0, 3.0, 0.0)
        return value, slope

    found = falling_root(lambda x: function(x, a, b), np.zeros(n), np.full(n, 40.0), np.full(n, 20.0))
    for k in range(n):
        one, two = a[k : k + 1], b[k : k + 1]

        def alone(
            x: np.ndarray, one: np.ndarray = one, two: np.ndarray = two
        ) -> tuple[np.ndarray, np.ndarray]:
            return function(x, one, two)

        root = brentq(lambda x, f=alone: float(f(np.array([x]))[0][0]), 0.0, 40.0, xtol=1e-15)
        assert found[k] == pytest.approx(root, rel=1e-11)
        assert falling_root(alone, np.zeros(1), np.full(1, 40.0), np.full(1, 20.0))[0] == found[k]


def test_jump() -> None:
    """Where the function jumps over zero, is the place of the jump found?"""
    at = np.array([0.25, 3.0])
    found = falling_root(
        lambda x: (np.where(x < at, 1.0, -1.0), np.zeros(2)), np.zeros(2), np.full(2, 10.0), np.full(2, 5.0)
    )
    np.testing.assert_allclose(found, at, rtol=1e-12)


def test_working_point_of_an_anode() -> None:
    """Do anode, water and steel agree on one current, as scipy finds it?"""
    rng = np.random.default_rng(5)
    steel = Steel()
    for area, ohms, anode in zip(
        10 ** rng.uniform(-5, -1, 60),
        10 ** rng.uniform(0, 5, 60),
        rng.choice([-1.55, -1.05], 60),
        strict=True,
    ):

        def over(potential: float, area: float = area, ohms: float = ohms, anode: float = anode) -> float:
            cathodic, dissolving = steel_current_si(potential, steel)
            return float(anode + area * (cathodic - dissolving) * ohms - potential)

        found = galvanic_cell_si(steel, area, ohms, anode)
        assert float(found.steel) == pytest.approx(brentq(over, anode, steel.free, xtol=1e-15), abs=1e-12)
        assert float(found.current) * ohms == pytest.approx(float(found.steel) - anode, abs=1e-9)
