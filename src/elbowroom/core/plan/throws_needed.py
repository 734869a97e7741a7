"""How many throws to film so that a change of a given size is seen."""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt

from scipy.special import ndtri

from elbowroom.core.plan.retest import ChangeRule, find_limit_score
from elbowroom.core.quantities.types import SHARED_SOURCES, Absent, Uncertain

MOST_THROWS = 30
"""Most throws that are worth asking of an athlete on one day (chosen by this project; a pitcher's count limits it)."""
CHANCE_OF_SEEING_PROBABILITY = 0.80
"""Chance with which the change should be seen (the usual power of a study; common practice, no source)."""


@dataclass(frozen=True, kw_only=True)
class ThrowsNeeded:
    """How many throws a retest needs."""

    count: int
    """Throws to film at the retest."""
    change_value: float
    """Change that should be seen, in `unit`, without sign."""
    unit: str
    """Unit of the change."""
    seeing_probability: float
    """Chance that a true change of that size is called `real`."""


@dataclass(frozen=True, kw_only=True)
class RetestErrors:
    """The errors of the two means of a retest, all in one unit."""

    within_sd: float
    """Within-athlete standard deviation of single throws."""
    first_standard: float
    """Standard uncertainty of the first visit's typical throw, everything in it."""
    shared_standard: float
    """Standard uncertainty of a visit that does not average over throws (cameras, joint offsets, scale)."""
    unit: str
    """Unit of all three."""


def build_retest_errors(first: Uncertain, within_sd: float) -> RetestErrors:
    """Return the errors of a retest from the first visit: the same set-up is expected to have the same shared error."""
    shared = sqrt(sum(part.standard**2 for part in first.parts if part.source in SHARED_SOURCES))
    return RetestErrors(within_sd=within_sd, first_standard=first.standard, shared_standard=shared, unit=first.unit)


def count_throws_needed(
    errors: RetestErrors,
    change_value: float,
    rule: ChangeRule | None = None,
    seeing_probability: float = CHANCE_OF_SEEING_PROBABILITY,
) -> ThrowsNeeded | Absent:
    """Return the fewest throws at the retest with which a true change of `change_value` is called `real` often enough.

    A change of size d with standard uncertainty u is called real with the chance Phi(d / u - z), z the limit of the
    rule, so u may be at most d / (z + z_chance); u squared is the first visit's variance, the shared variance of the
    second, and the within-athlete variance over n (normal theory; few throws need somewhat more).
    """
    size = abs(change_value)
    if size == 0:
        return Absent(reason="No number of throws shows a change of nothing.", advice="Name the change to be seen.")
    scores = find_limit_score((rule or ChangeRule()).real_from_probability) + float(ndtri(seeing_probability))
    left = (size / scores) ** 2 - errors.first_standard**2 - errors.shared_standard**2
    count = MOST_THROWS + 1 if left <= 0 else max(1, _round_up(errors.within_sd**2 / left))
    if count > MOST_THROWS:
        return Absent(
            reason=f"Not even {MOST_THROWS} throws at the retest would show a change of that size.",
            advice="Look for a larger change, or narrow the first visit: more throws, a board, a second phone.",
        )
    return ThrowsNeeded(count=count, change_value=size, unit=errors.unit, seeing_probability=seeing_probability)


def _round_up(number: float) -> int:
    return -int(-number // 1)
