"""A retest and a team in words, as pages show them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from elbowroom.core.plan.cohort import Cohort
from elbowroom.core.plan.retest import Change
from elbowroom.core.plan.scatter import Scatter, VisitScatter
from elbowroom.core.plan.throws_needed import ThrowsNeeded
from elbowroom.core.quantities.phrases import LengthUnit, phrase_number, phrase_uncertain
from elbowroom.core.quantities.types import Absent, Obtained, Uncertain
from elbowroom.service.retesting import MeasureChange, VisitComparison


@dataclass(frozen=True, kw_only=True)
class ChangeRow:
    """A measure at both visits, in words."""

    measure: str
    """Key of the measure."""
    words: str
    """Name of the measure."""
    is_headline: bool
    """Whether it is one of the headline measures."""
    before: str
    """Value at the earlier visit, or why there is none."""
    after: str
    """Value at the later visit, or why there is none."""
    word: str
    """`real`, `not shown`, `too close to call`, or `not compared`."""
    reason: str
    """The sentence beside the word."""
    noise: str
    """Within-athlete SD, SEM and MDC95 of the athlete's own throws and of the clinic, as far as they are known."""
    needed: str
    """How many throws the next retest needs."""


@dataclass(frozen=True, kw_only=True)
class SpreadRow:
    """How a measure spreads over a team, in words."""

    words: str
    """Name of the measure."""
    sentence: str
    """The spread."""
    values: tuple[tuple[str, str], ...]
    """Name and value of each athlete, from the lowest up."""


def build_change_rows(comparison: VisitComparison, lengths: LengthUnit) -> tuple[ChangeRow, ...]:
    """Return every measure of a comparison in words; those that neither visit has are left out."""
    rows = [_build_row(item, lengths) for item in comparison.changes if _is_measured(item)]
    return tuple(rows)


def build_spread_rows(cohort: Cohort, words: Mapping[str, str], lengths: LengthUnit) -> tuple[SpreadRow, ...]:
    """Return how each measure spreads over a team, in words."""
    return tuple(
        SpreadRow(
            words=words[spread.measure],
            sentence=spread.sentence,
            values=tuple((name, phrase_uncertain(value, lengths)) for name, value in spread.values),
        )
        for spread in cohort.spreads
    )


def _is_measured(item: MeasureChange) -> bool:
    before = item.before.typical if not isinstance(item.before, Absent) else item.before
    return isinstance(before, Uncertain) or isinstance(item.after.typical, Uncertain)


def _build_row(item: MeasureChange, lengths: LengthUnit) -> ChangeRow:
    before: Obtained = item.before if isinstance(item.before, Absent) else item.before.typical
    is_known = isinstance(item.change, Change)
    return ChangeRow(
        measure=item.definition.key,
        words=item.definition.words,
        is_headline=item.definition.headline,
        before=_phrase(before, lengths),
        after=_phrase(item.after.typical, lengths),
        word=str(item.change.word) if isinstance(item.change, Change) else "not compared",
        reason=item.change.reason,
        noise=_phrase_noise(item, lengths) if is_known else "",
        needed=_phrase_needed(item, lengths) if is_known else "",
    )


def _phrase(value: Obtained, lengths: LengthUnit) -> str:
    return value.reason if isinstance(value, Absent) else phrase_uncertain(value, lengths)


def _phrase_noise(item: MeasureChange, lengths: LengthUnit) -> str:
    count = max(1, sum(isinstance(value, Uncertain) for value in item.after.throws))
    parts = []
    for whose, scatter in (("Own throws", item.noise.own), ("Throws of the clinic", item.noise.clinic)):
        if isinstance(scatter, Scatter):
            sd, sem, mdc = (
                phrase_number(value, scatter.unit, lengths)
                for value in (scatter.within_sd, scatter.compute_error_sd(count), scatter.compute_change_limit(count))
            )
            parts.append(f"{whose}: SD {sd}, SEM of {count} throws {sem}, MDC95 {mdc}.")
    visits = item.noise.visits
    if isinstance(visits, VisitScatter):
        sem, mdc = (phrase_number(value, visits.unit, lengths) for value in (visits.error_sd, visits.change_limit))
        parts.append(f"Visits of {visits.athlete_count} athletes of the clinic: SEM {sem}, MDC95 {mdc}.")
    return " ".join(parts)


def _phrase_needed(item: MeasureChange, lengths: LengthUnit) -> str:
    if isinstance(item.needed, ThrowsNeeded):
        size = phrase_number(item.needed.change_value, item.needed.unit, lengths)
        return f"{item.needed.count} throws at the next retest would show a change of {size}."
    return item.needed.reason
