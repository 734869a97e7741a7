"""Putting budgets together: from covariance to parts, and from throws to the typical throw."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import sqrt
from statistics import fmean, stdev

from elbowroom.core.quantities.types import (
    SHARED_SOURCES,
    Absent,
    BudgetPart,
    Obtained,
    Source,
    Uncertain,
)

FEWEST_FOR_SCATTER = 2
"""Fewest throws from which a scatter can be computed."""


def build_uncertain(value: float, unit: str, standards: Mapping[Source, float]) -> Uncertain:
    """Return the value with one budget part per source of `standards` (each in `unit`), zero parts left out."""
    parts = tuple(
        BudgetPart(source=source, standard=float(standard))
        for source, standard in standards.items()
        if standard > 0
    )
    return Uncertain(value=float(value), unit=unit, parts=parts)


def combine_throws(values: Sequence[Uncertain]) -> Obtained:
    """Return the typical throw: the mean, the scatter over root n, and what does not average.

    The observed scatter between throws already holds every error that differs from throw to throw, so those
    parts are replaced by it when at least two throws were measured (JCGM 100:2008, 4.2.3); shared parts stay whole.
    With one throw only its own parts are known: the scatter between throws is then not in the interval.
    """
    if not values:
        return Absent(reason="No throw gave this measure.", advice="Film at least three throws.")
    shared = combine_shared_parts(values)
    if len(values) < FEWEST_FOR_SCATTER:
        return values[0]
    scatter = combine_scatter(values)
    return build_uncertain(
        fmean(item.value for item in values), values[0].unit, {**shared, Source.THROW_TO_THROW: scatter}
    )


def combine_scatter(values: Sequence[Uncertain]) -> float:
    """Return the standard uncertainty of the mean from scatter, not below what the throws' own parts predict."""
    observed = stdev(item.value for item in values) / sqrt(len(values))
    own_variance = fmean(
        sum(part.standard**2 for part in item.parts if part.source not in SHARED_SOURCES) for item in values
    )
    return max(observed, sqrt(own_variance / len(values)))


def combine_shared_parts(values: Sequence[Uncertain]) -> dict[Source, float]:
    """Return the mean standard uncertainty of every shared source over the throws."""
    return {
        source: fmean(
            sum(part.standard for part in item.parts if part.source is source) for item in values
        )
        for source in sorted(SHARED_SOURCES)
    }
