"""Minutes of the actions whose buttons the front end makes itself, one for each cover, switch, lead and place.

The bench's own log is what counts; a test compares each number with the log's.
"""

from __future__ import annotations

COSTS: dict[str, float] = {
    "open cover": 3,
    "close cover": 2,
    "switch": 1,
    "meter": 0.2,
    "probe": 1,
    "prove dead": 5,
    "lift lead": 4,
    "land lead": 4,
    "sniff": 1,
    "gas pressure": 3,
    "soap test": 2,
}
