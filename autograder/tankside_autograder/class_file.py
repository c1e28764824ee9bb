"""``class.toml``: what a class has agreed on: due times, and what lateness costs."""

from __future__ import annotations

import math
from datetime import UTC, date, datetime, time, timedelta, tzinfo
from pathlib import Path
from zoneinfo import ZoneInfo

from pydantic import Field, field_validator

from tankside.datafiles import Record, load

CLASS_FILE_TEXT = """\
# What this class has agreed on. Change it with any text editor, then mark again.
name = {name}
zone = "UTC"              # the clock of the due times below, such as "Europe/Oslo" or "America/Denver"

[late]
grace_minutes = 15        # this late is still in time
percent_a_day = 10        # taken off the marks for each day begun after that
most_percent = 50         # never more than this

# One block a lab:
# [labs.lab03]
# due = 2031-03-14T18:00:00
# expires = 2031-03-31    # a work order handed in after this day isn't marked
"""


class LatePolicy(Record):
    """What lateness costs. Percentages are of the marks earned."""

    grace_minutes: float = Field(0.0, ge=0.0, le=60 * 24 * 7)
    percent_a_day: float = Field(0.0, ge=0.0, le=100.0)
    most_percent: float = Field(100.0, ge=0.0, le=100.0)


class LabDates(Record):
    """When a lab is due and when its work orders expire. A due date without a time means the end of that day."""

    due: datetime | date | None = None
    expires: date | None = None


class ClassFile(Record):
    """The whole file. ``labs`` is keyed by lab id."""

    name: str = "Class"
    zone: str = "UTC"
    late: LatePolicy = LatePolicy()
    labs: dict[str, LabDates] = Field(default_factory=dict)

    @field_validator("zone")
    @classmethod
    def _known_zone(cls, zone: str) -> str:
        try:
            ZoneInfo(zone)
        except (KeyError, ValueError, OSError):
            raise ValueError('a time zone\'s name, such as "UTC" or "Europe/Oslo"') from None
        return zone

    def tzinfo(self) -> tzinfo:
        """The class's clock."""
        return ZoneInfo(self.zone)

    def due(self, lab: str) -> datetime | None:
        """The instant at which ``lab`` is due, with its time zone; None when no time is set."""
        due = self.labs[lab].due if lab in self.labs else None
        if due is None:
            return None
        if not isinstance(due, datetime):
            due = datetime.combine(due, time(23, 59, 59))
        return due if due.tzinfo else due.replace(tzinfo=self.tzinfo())

    def expires(self, lab: str) -> date | None:
        """The last day on which this lab's work orders are good; None when they don't expire."""
        return self.labs[lab].expires if lab in self.labs else None


class Lateness(Record):
    """How late one hand-in was, and what it costs."""

    late: bool = False
    minutes: float = 0.0
    days: int = 0
    percent: float = 0.0

    def sentence(self) -> str:
        """What the learner reads."""
        if not self.late:
            return "Handed in on time."
        over = timedelta(minutes=round(self.minutes))
        hours = over.seconds // 3600
        parts = [f"{over.days} days" if over.days != 1 else "1 day"] if over.days else []
        parts += [f"{hours} h"] if hours else []
        parts += [f"{over.seconds % 3600 // 60} min"] if not over.days else []
        cost = f"{self.percent:g} percent of the marks are taken off." if self.percent else "Nothing is taken off."
        return f"Handed in {' '.join(parts)} late. {cost}"


def lateness(policy: LatePolicy, due: datetime | None, received: datetime) -> Lateness:
    """How late ``received`` is against ``due`` (both with time zones). Each day begun after the grace counts whole."""
    if due is None:
        return Lateness()
    over = (received.astimezone(UTC) - due.astimezone(UTC)).total_seconds() / 60
    beyond = over - policy.grace_minutes
    if beyond <= 0:
        return Lateness()
    days = math.ceil(beyond / (24 * 60))
    percent = min(days * policy.percent_a_day, policy.most_percent)
    return Lateness(late=True, minutes=over, days=days, percent=percent)


def read_class_file(path: Path) -> ClassFile:
    """The class file; a class without one has no due times. A bad one raises ``DataFileError``."""
    return load(path, ClassFile) if path.exists() else ClassFile()
