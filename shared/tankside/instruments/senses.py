"""Eyes, ears and nose: instruments too, with a threshold, a few steps, and no numbers.

A sense makes one of a few words of a number. Thresholds are ours, unless a source stands beside one.
They know no heater: who looks hands in the numbers, (B,) for every variant of a batch.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Sense:
    """Words for a number that grows: ``words[k]`` from ``steps[k - 1]`` to below ``steps[k]``."""

    words: tuple[str, ...]
    steps: tuple[float, ...]

    def __post_init__(self) -> None:
        if len(self.words) != len(self.steps) + 1 or list(self.steps) != sorted(set(self.steps)):
            raise ValueError("one word more than there are steps, and the steps rise")

    def classes(self, value: Array) -> Array:
        """(B,) which word each variant's number gives, as its place in ``words``."""
        return np.searchsorted(np.asarray(self.steps), np.asarray(value, dtype=float), side="right").astype(
            float
        )

    def says(self, value: Array) -> str:
        """The first variant's word."""
        return self.words[int(self.classes(value)[0])]


NOSE = Sense(("no smell of gas", "a faint smell of gas", "a strong smell of gas"), (1e-4, 4e-3))
"""By the gas's share of the air at the nose. Fuel gas is odorised to be noticed at a fifth of the lower flammable
limit at the latest (the usual legal rule; from memory): propane 0.34 %. Noses are better than the rule."""
BUBBLES = Sense(("no bubbles", "slow bubbles", "fast bubbles"), (1e-9, 1e-7))
"""By m3/s that escape: a bubble of 1 mm3 in a second is seen (our figure)."""
FLAME_SOUND = Sense(
    ("silent", "a soft hiss", "a steady roar", "a loud roar", "a harsh roar that lifts"),
    (1e-3, 0.35, 0.78, 1.0),
)
"""By the speed gradient at the ports over the one that lifts the flame."""
TUBE = Sense(
    ("the tube is clear", "threads across the tube", "a nest in the tube", "the tube is stopped up"),
    (0.05, 0.6, 0.9),
)
"""By the share of the tube that is taken, with a mirror and a light."""
PORTS = Sense(("the ports are clean", "rust on some ports", "many ports rusted shut"), (0.1, 0.4))
PLACED = Sense(("the burner sits straight", "the burner sits askew"), (0.15,))
SOOT = Sense(("no soot", "a film of soot", "soot in flakes"), (0.2, 1.5))
"""By mm on the wall."""
WAY = Sense(("the flue is open", "the flue is half stopped", "the flue is nearly stopped up"), (0.25, 0.7))
GRILLE = Sense(
    ("the air grille is stopped up", "the air grille is half covered", "the air grille is free"), (0.3, 0.75)
)
BAFFLE = Sense(("the baffle is in place", "the baffle is missing"), (0.5,))
BEND = Sense(("the hose is kinked flat", "the hose is pinched", "the hose lies freely"), (0.06, 0.5))
VENT = Sense(("the regulator's vent is plugged", "the regulator's vent is half covered", "the regulator's vent is free"),
             (0.35, 0.8))  # fmt: skip
HOLE = Sense(("the hole is clean", "dirt in the hole", "the hole is stopped up"), (0.04, 0.6))
TURNED = Sense(("the cock's lever turns, but its bore stays across", "the cock's lever turns, but its bore stays half across",
                "the cock's bore turns with its lever"), (0.12, 0.7))  # fmt: skip
