"""The true values of what a service report asks for, computed from the order's own unit, and how each is got.

One module a subject. Each source takes the unit *as found*, leaves it as it is, and gives a number in the figure's
unit, or nothing where this heater has no such value. Beside it stands the way in which a technician gets it: in which
situation, by which actions at the bench. To add one, see ``tankside.figures.registry``.
"""

from tankside.figures import anode, dc, flame, gas, mains, pilot, warming, water  # noqa: F401  (they register their sources)
from tankside.figures.registry import OPEN_ABOVE, Truth, Way, Work, sources, truth, way_to

__all__ = ["OPEN_ABOVE", "Truth", "Way", "Work", "sources", "truth", "way_to"]
