"""Entries of the record that are the clinic's own: its limits, its settings, its day, what was looked through."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from elbowroom.core.quantities.phrases import LengthUnit
from elbowroom.service.record_types import RecordedEntry


@dataclass(frozen=True, kw_only=True)
class ToleranceEntry(RecordedEntry):
    """A version of the clinic's own copy of the tolerance table; the packaged table stands before the first."""

    version: int
    """From 1; the highest holds."""
    table_text: str
    """The whole table as text."""
    changed: str
    """What is different from the version before, in a sentence."""
    reason: str
    """Why it was changed."""


@dataclass(frozen=True, kw_only=True)
class SettingsEntry(RecordedEntry):
    """A version of how the clinic reads and judges."""

    version: int
    """From 1; the highest holds."""
    lengths: LengthUnit
    """How lengths are shown."""
    beyond_from_probability: float
    """`beyond` from this probability of being outside."""
    within_to_probability: float
    """`within` up to this probability of being outside."""
    reason: str
    """Why it was changed; empty where no reason was given."""


@dataclass(frozen=True, kw_only=True)
class DayPlaceEntry(RecordedEntry):
    """An athlete put on the list of a day, or taken off it."""

    athlete_id: str
    """The athlete."""
    version: int
    """From 1 within the athlete; of those for one day the highest holds."""
    on_day: date
    """The day."""
    is_expected: bool
    """Whether the athlete is to come on that day."""
    note: str
    """What to know on that day, such as a time; empty where nothing."""


@dataclass(frozen=True, kw_only=True)
class ReviewEntry(RecordedEntry):
    """A clinician looked through a version of a screening and stands by it."""

    athlete_id: str
    """The athlete."""
    visit_id: str
    """The visit."""
    reviewed_screening_id: str
    """The version of the screening; one review each."""
    note: str
    """What the clinician notes; empty where nothing."""
