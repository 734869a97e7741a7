"""Entries of the plan: intakes, releases of holds, exams, the clinic's drill rules, and the drills that were chosen."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from elbowroom.service.record_types import RecordedEntry


@dataclass(frozen=True, kw_only=True)
class IntakeEntry(RecordedEntry):
    """A version of an athlete's intake."""

    athlete_id: str
    """The athlete."""
    version: int
    """From 1; the highest holds."""
    taken_on: date
    """Day of the questions."""
    height_m: float
    """Standing height on that day, metres."""
    content: str
    """The whole intake, as JSON by `intake.schema.json`."""
    signs: str
    """Warning signs that hold by it, as a JSON list of key and clause; judged by the table of that day."""


@dataclass(frozen=True, kw_only=True)
class ReleaseEntry(RecordedEntry):
    """The release of warning signs of one intake by the clinician who recorded it."""

    athlete_id: str
    """The athlete."""
    version: int
    """From 1 within the athlete, in the order of the releases."""
    intake_id: str
    """The intake whose signs are released; a later intake is judged anew."""
    signs: str
    """Keys of the signs, as a JSON list."""
    released_on: date
    """Day of the release."""
    reason: str
    """Why throwing is allowed again."""


@dataclass(frozen=True, kw_only=True)
class ExamEntry(RecordedEntry):
    """A version of an athlete's exam."""

    athlete_id: str
    """The athlete."""
    version: int
    """From 1; the highest holds."""
    examined_on: date
    """Day of the exam."""
    content: str
    """The readings, as JSON by `exam.schema.json`."""


@dataclass(frozen=True, kw_only=True)
class DrillRulesEntry(RecordedEntry):
    """A version of the clinic's own rules that choose drills."""

    version: int
    """From 1; the highest holds."""
    rules: str
    """The rules as a CSV text."""
    reason: str
    """Why they were changed."""


@dataclass(frozen=True, kw_only=True)
class DrillPlanEntry(RecordedEntry):
    """A version of the drills that were chosen for an athlete."""

    athlete_id: str
    """The athlete."""
    version: int
    """From 1; the highest holds."""
    made_on: date
    """Day on which they were chosen."""
    content: str
    """What was chosen and what not, with the reasons, as JSON by `drills.schema.json`."""
