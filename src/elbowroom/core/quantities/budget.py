"""Putting budgets together: from covariance to parts, and from throws to the typical throw."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from math import inf, sqrt
from statistics import fmean, variance

from elbowroom.core.quantities.propagate import estimate_degrees_of_freedom
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
    """Return the value with one budget part per source of `standards` (each in `unit`), zero parts left
    out."""
    parts = tuple(
        BudgetPart(source=source, standard=float(standard)) for source, standard in standards.items() if standard > 0
    )
    return Uncertain(value=float(value), unit=unit, parts=parts)


def combine_throws(values: Sequence[Uncertain]) -> Obtained:
    """Return the typical throw: the mean over the throws, with what averages and what does not.

    Shared parts stay whole. The other parts shrink with root n, and scatter beyond what they explain is added as throw
    to throw (JCGM 100:2008, 4.2.3), so that the total is never below the throws' own parts nor below the observed
    scatter. That extra scatter is itself estimated from few throws, which the effective degrees of freedom of the
    result carry (G.4.1), so that few throws give a wider interval. With one throw only its own parts are known: the
    scatter between throws is then not in the interval.
    """
    if not values:
        return Absent(reason="No throw gave this measure.", advice="Film at least three throws.")
    if len(values) < FEWEST_FOR_SCATTER:
        return values[0]
    standards = {**combine_shared_parts(values), **combine_own_parts(values)}
    scatter, degrees_of_freedom = estimate_extra_scatter(values)
    whole = build_uncertain(
        fmean(item.value for item in values), values[0].unit, {**standards, Source.THROW_TO_THROW: scatter}
    )
    known = sqrt(max(whole.standard**2 - scatter**2, 0.0))
    return replace(whole, degrees_of_freedom=estimate_degrees_of_freedom([(known, inf), (scatter, degrees_of_freedom)]))


def estimate_extra_scatter(values: Sequence[Uncertain]) -> tuple[float, float]:
    """Return the standard uncertainty of the mean from scatter beyond the throws' own parts, and its degrees of
    freedom.

    A difference of two variances is known worse than the observed variance with its n - 1 degrees, the worse the
    smaller it is: the degrees shrink with its share. That they shrink with the share itself was chosen by trial: in a
    Monte Carlo with scatter from none to ten times the own noise, 95 % intervals of three to eight throws held the
    truth in 91 to 96 % of the trials, of two throws in 85 to 96 %.
    """
    observed = variance(item.value for item in values)
    explained = sum(standard**2 for standard in combine_own_parts(values).values()) * len(values)
    extra = max(observed - explained, 0.0)
    degrees_of_freedom = (len(values) - 1) * extra / observed if extra > 0 else inf
    return sqrt(extra / len(values)), degrees_of_freedom


def combine_own_parts(values: Sequence[Uncertain]) -> dict[Source, float]:
    """Return, for each source that differs from throw to throw, its standard uncertainty in the mean."""
    return {
        source: sqrt(fmean(_find_standard(item, source) ** 2 for item in values) / len(values))
        for source in Source
        if source not in SHARED_SOURCES and source is not Source.THROW_TO_THROW
    }


def combine_shared_parts(values: Sequence[Uncertain]) -> dict[Source, float]:
    """Return the mean standard uncertainty of every shared source over the throws."""
    return {source: fmean(_find_standard(item, source) for item in values) for source in sorted(SHARED_SOURCES)}


def _find_standard(item: Uncertain, source: Source) -> float:
    """Return the standard uncertainty that a source adds to a value, 0 where its budget does not name it."""
    return sqrt(sum(part.standard**2 for part in item.parts if part.source is source))
