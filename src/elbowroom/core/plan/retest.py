"""The retest: whether a measure changed from one visit to the next, and how many throws would show a change.

A change is judged as JCGM 106 judges conformity, with a limit of no change: the probability that the true change goes
the way it reads. By default it is `real` from 97.5 %, which is the same as lying beyond the smallest detectable change
at 95 % in either direction; `not shown` up to 90 %; `too close to call` between.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from enum import StrEnum
from math import inf, isfinite, isinf, sqrt

import numpy as np
from scipy.special import ndtr, ndtri, stdtr, stdtrit

from elbowroom.core.geometry.angles import wrap_deg
from elbowroom.core.plan.scatter import FEWEST_THROWS, Scatter, VisitScatter
from elbowroom.core.quantities.budget import build_uncertain
from elbowroom.core.quantities.phrases import LengthUnit, phrase_number, phrase_share, phrase_uncertain
from elbowroom.core.quantities.propagate import estimate_degrees_of_freedom
from elbowroom.core.quantities.types import Absent, Obtained, Source, Uncertain

NOT_KNOWN = Absent(reason="It is not known.")
"""Stands for a scatter that nobody estimated."""


class ChangeWord(StrEnum):
    """The words for a change (glossary)."""

    REAL = "real"
    NOT_SHOWN = "not shown"
    TOO_CLOSE = "too close to call"


@dataclass(frozen=True, kw_only=True)
class ChangeRule:
    """When a probability becomes a word; the clinic may move these."""

    real_from_probability: float = 0.975
    """`real` from this probability that the true change goes the way it reads (two-sided 95 %)."""
    not_shown_to_probability: float = 0.90
    """`not shown` up to this probability that the true change goes the way it reads."""


@dataclass(frozen=True, kw_only=True)
class VisitReading:
    """What one visit says of a measure."""

    made_on: date
    """Day of the visit."""
    typical: Obtained
    """The typical throw with its budget, or why there is none."""
    throws: tuple[float, ...]
    """Values of the throws that gave it, in the unit of the typical throw."""


@dataclass(frozen=True, kw_only=True)
class Noise:
    """What is known of the scatter without a change."""

    own: Scatter | Absent = NOT_KNOWN
    """Scatter of the athlete's own throws, or absent."""
    clinic: Scatter | Absent = NOT_KNOWN
    """Scatter of the throws of the clinic's athletes, or absent."""
    visits: VisitScatter | Absent = NOT_KNOWN
    """How far visits of the clinic's athletes lie apart, or absent."""


@dataclass(frozen=True, kw_only=True)
class Change:
    """A measure at two visits, and what may be said of the change."""

    before: Uncertain
    """Typical throw at the earlier visit."""
    after: Uncertain
    """Typical throw at the later visit."""
    change: Uncertain
    """After minus before; an angle by the shorter way round."""
    smallest_real_value: float
    """Smallest change that would be `real` here, in the unit of the change (the smallest detectable change, MDC)."""
    probability_same_way: float
    """Probability that the true change goes the way it reads, 0.5 or more."""
    word: ChangeWord
    """`real`, `not shown` or `too close to call`."""
    reason: str
    """One sentence: the change, the chance, and what it means."""


def judge_change(
    before: VisitReading,
    after: VisitReading,
    noise: Noise,
    rule: ChangeRule | None = None,
    lengths: LengthUnit = LengthUnit.CENTIMETRES,
) -> Change | Absent:
    """Return what may be said of the change of a measure between two visits, or why nothing may be.

    The uncertainties of the two visits are taken as independent, which widens the interval where both share an error
    (such as where a landmark sits on the body), so it errs to `not shown`. Where the clinic's own visits lie further
    apart than the budgets explain, the larger figure counts.
    """
    rule = rule or ChangeRule()
    first, second = _complete_reading(before, noise), _complete_reading(after, noise)
    if isinstance(first, Absent):
        return first
    if isinstance(second, Absent):
        return second
    if first.unit != second.unit:
        return Absent(
            reason=f"The earlier visit gives it in {first.unit}, the later one in {second.unit}.",
            advice="Screen the earlier visit again.",
        )
    change = _add_visit_scatter(subtract_readings(second, first), noise.visits)
    if change.standard <= 0 or not isfinite(change.value + change.standard):
        return Absent(reason="The change has no finite uncertainty, so nothing can be said of it.")
    probability = estimate_same_way_probability(change)
    word = choose_change_word(probability, rule)
    smallest = find_smallest_real_limit(change, rule)
    return Change(
        before=first,
        after=second,
        change=change,
        smallest_real_value=smallest,
        probability_same_way=probability,
        word=word,
        reason=_phrase_change(change, probability, word, smallest, lengths),
    )


def subtract_readings(later: Uncertain, earlier: Uncertain) -> Uncertain:
    """Return later minus earlier, source by source as independent; an angle by the shorter way round."""
    value = later.value - earlier.value
    if later.unit == "deg":
        value = float(wrap_deg(np.asarray(value)))
    standards = {
        source: sqrt(_find_standard(later, source) ** 2 + _find_standard(earlier, source) ** 2) for source in Source
    }
    freedom = estimate_degrees_of_freedom([(item.standard, item.degrees_of_freedom) for item in (later, earlier)])
    return replace(build_uncertain(value, later.unit, standards), degrees_of_freedom=freedom)


def estimate_same_way_probability(change: Uncertain) -> float:
    """Return the probability that the true change has the sign that it reads (JCGM 106:2012, 7.2, limit 0)."""
    score = abs(change.value) / change.standard
    freedom = change.degrees_of_freedom
    return float(ndtr(score) if isinf(freedom) else stdtr(freedom, score))


def choose_change_word(probability: float, rule: ChangeRule) -> ChangeWord:
    """Return the word for a probability that a change goes the way it reads."""
    if probability >= rule.real_from_probability:
        return ChangeWord.REAL
    return ChangeWord.NOT_SHOWN if probability <= rule.not_shown_to_probability else ChangeWord.TOO_CLOSE


def find_smallest_real_limit(change: Uncertain, rule: ChangeRule) -> float:
    """Return the smallest change that would be `real` with this uncertainty, in the unit of the change."""
    return find_limit_score(rule.real_from_probability, change.degrees_of_freedom) * change.standard


def find_limit_score(probability: float, degrees_of_freedom: float = inf) -> float:
    """Return how many standard uncertainties from no change a reading must lie for a probability of its direction."""
    return float(ndtri(probability) if isinf(degrees_of_freedom) else stdtrit(degrees_of_freedom, probability))


def _complete_reading(reading: VisitReading, noise: Noise) -> Obtained:
    """Return the typical throw with scatter in its budget: one throw alone takes it from what else is known."""
    typical = reading.typical
    if isinstance(typical, Absent) or len(reading.throws) >= FEWEST_THROWS:
        return typical
    scatter = noise.own if isinstance(noise.own, Scatter) else noise.clinic
    if isinstance(scatter, Absent):
        return Absent(
            reason="One throw at a visit says nothing about how far the throws scatter.",
            advice="Film at least three throws at every visit.",
        )
    part = {Source.THROW_TO_THROW: scatter.within_sd}
    own = {source: _find_standard(typical, source) for source in Source}
    return replace(
        build_uncertain(typical.value, typical.unit, {**own, **part}), degrees_of_freedom=scatter.degrees_of_freedom
    )


def _add_visit_scatter(change: Uncertain, visits: VisitScatter | Absent) -> Uncertain:
    """Return the change with what the clinic's visits show beyond the budgets, put to the scatter of throws."""
    if isinstance(visits, Absent) or visits.unit != change.unit:
        return change
    beyond = 2.0 * visits.error_sd**2 - change.standard**2
    if beyond <= 0:
        return change
    standards = {source: _find_standard(change, source) for source in Source}
    standards[Source.THROW_TO_THROW] = sqrt(standards[Source.THROW_TO_THROW] ** 2 + beyond)
    freedom = estimate_degrees_of_freedom(
        [(change.standard, change.degrees_of_freedom), (sqrt(beyond), visits.athlete_count - 1.0)]
    )
    return replace(build_uncertain(change.value, change.unit, standards), degrees_of_freedom=freedom)


def _phrase_change(
    change: Uncertain, probability: float, word: ChangeWord, smallest: float, lengths: LengthUnit
) -> str:
    said = f"Changed by {phrase_uncertain(change, lengths)}"
    chance = phrase_share(probability)
    limit = phrase_number(smallest, change.unit, lengths)
    if word is ChangeWord.REAL:
        return f"{said}: real, the chance that the true change goes this way is {chance}."
    if word is ChangeWord.TOO_CLOSE:
        return (
            f"{said}: too close to call, the chance that the true change goes this way is {chance}; "
            f"from {limit} on it would be real, so film more throws."
        )
    return f"{said}: not shown, which is not the same as no change; less than {limit} would not be seen here."


def _find_standard(item: Uncertain, source: Source) -> float:
    return sqrt(sum(part.standard**2 for part in item.parts if part.source is source))
