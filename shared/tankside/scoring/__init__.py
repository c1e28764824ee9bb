"""Scoring: work order + service report + bench log -> marks, each with its reason. A pure function.

Nothing here runs learner code, reads a file or asks the time. The log is done again on the
order's own unit: only actions that happened and readings that this heater gives count. How
the five parts are weighed is the lab's data file's business; how much of a part is earned is
decided here, one module a subject, and argued in the contributor's guide.
"""

from tankside.scoring.marking import score
from tankside.scoring.marks import Marks, PartMark, Reason
from tankside.scoring.readings import before_repair, isolated_at, narrowing_lines
from tankside.scoring.remedy import cures
from tankside.scoring.safe_working import left_undone

__all__ = [
    "Marks",
    "PartMark",
    "Reason",
    "before_repair",
    "cures",
    "isolated_at",
    "left_undone",
    "narrowing_lines",
    "score",
]
