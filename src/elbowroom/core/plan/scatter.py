"""How far throws and visits scatter without any change: of one athlete, and of a clinic's athletes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt
from statistics import fmean

from elbowroom.core.quantities.types import NORMAL_95, Absent

FEWEST_THROWS = 2
"""Fewest throws of a visit that say anything about scatter."""
FEWEST_ATHLETES = 5
"""Fewest athletes measured at two visits from whom a clinic's own visit-to-visit error is stated (chosen by this
project)."""


@dataclass(frozen=True, kw_only=True)
class Scatter:
    """The standard deviation of single throws of one athlete about that athlete's own mean."""

    within_sd: float
    """Within-athlete standard deviation, in `unit`; noise of the measurement that differs by throw is in it."""
    unit: str
    """Unit of the standard deviation."""
    degrees_of_freedom: float
    """Throws less groups, over which it was pooled."""
    group_count: int
    """Number of visits over which it was pooled."""
    athlete_count: int
    """Number of athletes over whom it was pooled."""

    def compute_error_sd(self, throw_count: int) -> float:
        """Return the standard error of measurement of a mean of `throw_count` throws, in `unit`."""
        return self.within_sd / sqrt(throw_count)

    def compute_change_limit(self, throw_count: int) -> float:
        """Return MDC95, 1.96 root 2 SEM (Weir 2005), of a mean of `throw_count` throws at both visits, in `unit`."""
        return NORMAL_95 * sqrt(2.0) * self.compute_error_sd(throw_count)


@dataclass(frozen=True, kw_only=True)
class VisitScatter:
    """How far the means of two visits of the same athlete lie apart in a clinic, changes that came about included."""

    error_sd: float
    """Standard error of measurement of one visit's mean, SD of the differences over root 2, in `unit`."""
    unit: str
    """Unit of the error."""
    athlete_count: int
    """Number of athletes with two visits."""
    mean_change_value: float
    """Mean change from the first visit to the second, in `unit`."""

    @property
    def change_limit(self) -> float:
        """MDC95, 1.96 root 2 SEM (Weir 2005), in `unit`."""
        return NORMAL_95 * sqrt(2.0) * self.error_sd


def estimate_scatter(groups: Sequence[Sequence[float]], unit: str, athlete_count: int = 1) -> Scatter | Absent:
    """Return the pooled within-athlete standard deviation of the throws of several visits.

    Each group holds the throws of one visit, in `unit`; groups of one throw say nothing and are left out. Pooled as the
    within-targets mean square of a one-way analysis of variance (WMS of Shrout and Fleiss 1979), which holds for groups
    of unequal size too.
    """
    used = [group for group in groups if len(group) >= FEWEST_THROWS]
    if not used:
        return Absent(
            reason="One throw at a visit says nothing about how far the throws scatter.",
            advice="Film at least three throws at every visit.",
        )
    squares = sum((value - fmean(group)) ** 2 for group in used for value in group)
    freedom = sum(len(group) - 1 for group in used)
    return Scatter(
        within_sd=sqrt(squares / freedom),
        unit=unit,
        degrees_of_freedom=float(freedom),
        group_count=len(used),
        athlete_count=athlete_count,
    )


def estimate_visit_scatter(pairs: Sequence[tuple[float, float]], unit: str) -> VisitScatter | Absent:
    """Return the visit-to-visit error from pairs of visit means, one pair an athlete, in `unit`.

    SD of the differences over root 2: the error without the standing difference between occasions, which is the square
    root of the residual mean square (Weir 2005). Athletes who differ in how much they changed make it larger,
    so that a change judged by it is judged with care.
    """
    if len(pairs) < FEWEST_ATHLETES:
        return Absent(
            reason=f"{len(pairs)} of the clinic's athletes have two visits with this measure; "
            f"its own error needs {FEWEST_ATHLETES}.",
            advice="Go on measuring at retests; until then the athlete's own throws decide.",
        )
    changes = [after - before for before, after in pairs]
    mean = fmean(changes)
    variance = sum((change - mean) ** 2 for change in changes) / (len(changes) - 1)
    return VisitScatter(error_sd=sqrt(variance / 2.0), unit=unit, athlete_count=len(pairs), mean_change_value=mean)
