"""What makes one plan better than another, as one whole number; lower is better.

First the wished days, then throwing kept away from the day after pitching, then an even spread: the largest number of
pitches and throws in any seven days. Pitches and throws are counted alike, since nobody knows what one is worth in the
other; the number is for spreading, and says nothing of load or safety.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from elbowroom.core.plan.week import ONE_DAY, WEEK_DAYS, PlanDay, WeekRequest

PITCHING_WEIGHT, THROWING_WEIGHT, DRILLS_WEIGHT = 3000, 1000, 300
"""Cost of a wished day that is missing (chosen by this project: order first, size so that none outweighs the next)."""
SMALL_WEIGHT = 2
"""Cost of each pitch by which a practice is smaller than the best size."""
AFTER_WEIGHT = 20
"""Cost of a throwing practice on the day after pitching."""
DRILLS_ALONE_WEIGHT = 5
"""Cost of drills on a day without throwing practice, so that drills join a practice where they can."""


def compute_plan_cost(days: Sequence[PlanDay], request: WeekRequest) -> int:
    """Return the cost of a plan; `days` are those of the request in order."""
    wishes = request.wishes
    missing = 0
    for week in request.weeks:
        held = [day for day in days if day.day in week]
        share = len(week) == WEEK_DAYS
        missing += PITCHING_WEIGHT * _count_missing(sum(day.pitches > 0 for day in held), share * wishes.pitching_days)
        missing += THROWING_WEIGHT * _count_missing(sum(day.throws > 0 for day in held), share * wishes.throwing_days)
        missing += DRILLS_WEIGHT * _count_missing(sum(day.has_drills for day in held), share * wishes.drill_days)
    best = max(wishes.pitch_sizes, default=0)
    small = sum(best - day.practice_pitches for day in days if day.practice_pitches)
    after = sum(bool(before.pitches and day.throws) for before, day in pairwise(days))
    after += bool(days and days[0].throws and is_after_pitching(request))
    alone = sum(day.has_drills and not day.throws for day in days)
    return missing + SMALL_WEIGHT * small + AFTER_WEIGHT * after + DRILLS_ALONE_WEIGHT * alone + find_peak(days)


def is_after_pitching(request: WeekRequest) -> bool:
    """Say whether the day before the plan was a day of pitching."""
    return any(past.pitches and past.day == request.first_day - ONE_DAY for past in request.past)


def find_peak(days: Sequence[PlanDay]) -> int:
    """Return the most pitches and throws together in any seven days in a row."""
    counts = [day.pitches + day.throws for day in days]
    starts = range(max(1, len(counts) - WEEK_DAYS + 1))
    return max((sum(counts[start : start + WEEK_DAYS]) for start in starts), default=0)


def _count_missing(found: int, wished: int) -> int:
    return max(0, wished - found)
