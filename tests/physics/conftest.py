"""Settings for the property tests of the physics."""

from __future__ import annotations

from hypothesis import settings

# The first example that touches a quantity builds the unit registry, and reference libraries load on first use: a
# time limit per example would fail on a busy machine for no fault of the law.
settings.register_profile("physics", deadline=None)
settings.load_profile("physics")
