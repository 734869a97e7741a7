"""How counts went over the weeks, in figures and a sentence; no ratio and no prediction is made of them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from elbowroom.core.plan.counts import DaySum
from elbowroom.core.plan.day_words import phrase_count

WEEKS = 8
"""Weeks that a trend shows."""
NO_RATIO = (
    "No risk is worked out from these counts: no ratio of this week to earlier ones is known here that foretells an "
    "injury in a young thrower, and the cut-offs in use come from other sports and grown athletes. What studies found "
    "in groups is arm fatigue, much pitching in a year and more than one team (Fleisig et al. 2011 and Norton et al. "
    "2019, abstracts): ask about those."
)
"""Why there is no such figure; the first sentence is common knowledge of the trade, no source."""


@dataclass(frozen=True, kw_only=True)
class WeekSum:
    """Seven days of counts."""

    first_day: date
    """First of the seven days."""
    pitches: int
    """Pitches of all teams."""
    throws: int
    """Other throws of all teams."""
    days: int
    """Days on which anything was thrown."""


@dataclass(frozen=True, kw_only=True)
class CountTrend:
    """The last weeks of counts."""

    weeks: tuple[WeekSum, ...]
    """The weeks, oldest first; the last ends on the day that was asked about."""
    sentence: str
    """The last seven days against the mean of the four weeks before, in a sentence."""
    no_ratio: str = NO_RATIO
    """Why no risk is worked out."""


def sum_weeks(days: Sequence[DaySum], on: date, count: int = WEEKS) -> tuple[WeekSum, ...]:
    """Return the sums of `count` spans of seven days, oldest first, the last ending on a day, that day included."""
    first_days = [on - timedelta(days=7 * back - 1) for back in range(count, 0, -1)]
    return tuple(_sum_week(days, first) for first in first_days)


def describe_trend(days: Sequence[DaySum], on: date) -> CountTrend:
    """Return the last eight weeks and a sentence about them."""
    weeks = sum_weeks(days, on)
    last, earlier = weeks[-1], weeks[-5:-1]
    mean_pitches, mean_throws = (
        round(sum(getattr(week, name) for week in earlier) / len(earlier)) for name in ("pitches", "throws")
    )
    pitches, throws = phrase_count(last.pitches, "pitch", "pitches"), phrase_count(last.throws, "throw")
    sentence = (
        f"In the last 7 days {pitches} and {throws} on {phrase_count(last.days, 'day')}; in the four weeks before "
        f"{mean_pitches} and {mean_throws} a week on average."
    )
    return CountTrend(weeks=weeks, sentence=sentence)


def _sum_week(days: Sequence[DaySum], first: date) -> WeekSum:
    held = [day for day in days if timedelta(0) <= day.day - first < timedelta(days=7)]
    return WeekSum(
        first_day=first,
        pitches=sum(day.pitches for day in held),
        throws=sum(day.throws for day in held),
        days=sum(day.pitches + day.throws > 0 for day in held),
    )
