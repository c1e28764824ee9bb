"""Does the drawn rod hold the metal that was computed?"""

from __future__ import annotations

import numpy as np
import pytest

from tankside.lessons.corrosion_drawings import rod_outline


@pytest.mark.parametrize("share", [0.0, 0.2, 0.5, 0.8, 0.97])
def test_outline_holds_the_metal_that_is_left(share: float) -> None:
    """Is the volume of the drawn rod the computed one, with no crater below the wire or above the new rod?"""
    new, core, length = 9.5e-3, 1.5e-3, 0.23
    radius = np.sqrt(new**2 - share * (new**2 - core**2))
    x, r = np.array(rod_outline(float(radius), new, core, length)).T
    assert np.trapezoid(np.pi * r**2, x) == pytest.approx(np.pi * radius**2 * length, rel=2e-3)
    assert core - 1e-9 <= r.min() <= r.max() <= new + 1e-9
