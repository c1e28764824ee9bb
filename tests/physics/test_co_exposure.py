"""Carbon monoxide and people: are the tables the published ones, and do both pages stand side by side?"""

from __future__ import annotations

import re

import pytest

from tankside.physics.co_exposure import alarm_due, alarm_points, effect_sources, effects
from tankside.units import quantity
from tests.published import row


def test_alarm_points_are_the_published_ones() -> None:
    """UL 2034 as two pages quote it: 70 ppm 60-240 min, 150 ppm 10-50 min, 400 ppm 4-15 min."""
    latest, earliest = (row("carbon_monoxide", f"co-alarm-{end}") for end in ("latest", "earliest"))
    points = alarm_points()
    assert [point.ppm for point in points] == latest.at == earliest.at
    assert [point.latest for point in points] == latest.values
    assert [point.earliest for point in points] == earliest.values


@pytest.mark.parametrize(
    ("ppm", "latest"), [(0, None), (69, None), (70, 240), (149, 240), (150, 50), (5000, 15)]
)
def test_which_point_is_reached(ppm: float, latest: float | None) -> None:
    """Is below 70 ppm nothing promised, and counts the highest point that is reached?"""
    due = alarm_due(quantity(ppm, "ppm"))
    assert (due and due.latest) == latest


def test_an_impossible_reading_is_refused() -> None:
    """Is a reading below nothing answered with its range?"""
    with pytest.raises(ValueError, match="reading"):
        alarm_due(quantity(-1, "ppm"))


def test_pages_that_disagree_stand_side_by_side() -> None:
    """At 1600 ppm one page speaks of an hour and the other of two: are both told?"""
    worst = next(effect for effect in effects() if effect.ppm == 1600)
    for said, id in ((worst.words, "co-death-1600"), (worst.other, "co-death-1600-other")):
        hours = re.search(r"death (?:possible in|within) (\d+) hour", said)
        assert hours and int(hours[1]) == row("carbon_monoxide", id).value
    assert set(effect_sources()) == {"words", "other"}


def test_more_is_worse() -> None:
    """Do the tables rise?"""
    for table in (effects(), alarm_points()):
        levels = [entry.ppm for entry in table]
        assert levels == sorted(set(levels))
    assert [p.latest for p in alarm_points()] == sorted((p.latest for p in alarm_points()), reverse=True)
