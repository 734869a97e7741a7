"""Entries about the throwing of athletes: teams, counts and the links to send them by, plans, returns, retests."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum

from elbowroom.core.plan.counts import Activity
from elbowroom.core.quantities.types import Absent
from elbowroom.service.record_types import RecordedEntry


class EventKind(StrEnum):
    """What happened in a return to throwing."""

    WORK_OUT = "work-out"
    OVERRIDE = "set by a clinician"
    FILMED = "filmed again"


class PlanOutcome(StrEnum):
    """What came of a request for a plan."""

    LAID_OUT = "laid out"
    NO_FIT = "does not fit"


@dataclass(frozen=True, kw_only=True)
class TeamVersion(RecordedEntry):
    """A version of a team and the pitch-count table that it keeps."""

    team_id: str
    """Id of the team, the same in every version."""
    version: int
    """From 1; the highest holds."""
    name: str
    """Name of the team."""
    rest_table: str
    """Key of the pitch-count table."""


@dataclass(frozen=True, kw_only=True)
class MembershipEntry(RecordedEntry):
    """That an athlete plays for a team, or no longer does; the newest entry holds."""

    athlete_id: str
    """The athlete."""
    team_id: str
    """The team."""
    is_member: bool
    """Whether the athlete plays for it from now on."""


@dataclass(frozen=True, kw_only=True)
class CountLink(RecordedEntry):
    """A link by which somebody without an account may add counts of an athlete; its code is shown once, not kept."""

    athlete_id: str
    """The athlete."""
    digest: str
    """SHA-256 of the code."""
    shown_name: str
    """Name or code of the athlete that the page behind the link shows, as the clinic chose."""
    holder: str
    """Who has the link: coach of the Herons, mother."""
    ends_at: datetime
    """When the link expires, UTC."""


@dataclass(frozen=True, kw_only=True)
class CountLinkEnd(RecordedEntry):
    """The early end of a link."""

    athlete_id: str
    """The athlete."""
    count_link_id: str
    """The link that ended; one end a link."""


@dataclass(frozen=True, kw_only=True)
class CountVersion(RecordedEntry):
    """A version of what was thrown on one day for one team."""

    athlete_id: str
    """The athlete."""
    count_id: str
    """Id of the count, the same in every version."""
    number: int
    """From 1; the highest holds."""
    is_removed: bool
    """Whether the count was taken back."""
    day: date
    """The day."""
    team: str
    """The team, as written."""
    activity: Activity
    """Game, practice or other throwing."""
    pitches: int
    """Pitches."""
    throws: int
    """Other throws."""
    innings_caught: int
    """Innings caught."""
    before_last_batter: int | Absent
    """Pitches when the last batter came up, or absent."""
    sent_by_link_id: str | Absent
    """The link by which it came, or absent where the clinic wrote it."""


@dataclass(frozen=True, kw_only=True)
class ThrowingPlan(RecordedEntry):
    """A plan of some weeks, or that none fits, with all that it depends on."""

    athlete_id: str
    """The athlete."""
    version: int
    """From 1; the highest holds."""
    first_day: date
    """First day of the plan."""
    last_day: date
    """Last day of the plan."""
    outcome: PlanOutcome
    """Whether a plan fits."""
    request: str
    """Everything it was asked for, as JSON, so that it can be laid out again."""
    days: str
    """The days with their sentences, as JSON; an empty list where none fits."""
    words: str
    """The plan in a sentence, or which rules to talk about."""


@dataclass(frozen=True, kw_only=True)
class ReturnCourse(RecordedEntry):
    """The beginning of a return to throwing."""

    athlete_id: str
    """The athlete."""
    version: int
    """From 1; the course of the highest holds."""
    programme: str
    """Key of the programme."""
    begun_on: date
    """First day of throwing."""
    reason: str
    """Why, and who released the athlete for it."""


@dataclass(frozen=True, kw_only=True)
class ReturnEvent(RecordedEntry):
    """Something that happened in a return to throwing."""

    athlete_id: str
    """The athlete."""
    return_course_id: str
    """The course."""
    number: int
    """From 1 within the course, in the order of recording."""
    kind: EventKind
    """Work-out, a clinician's override, or filmed again."""
    day: date
    """The day."""
    step: int
    """Number of the step that was done or set; 0 where filmed."""
    answer: str
    """Key of the soreness rule that applies; empty where no work-out."""
    reason: str
    """A clinician's reason; empty where no override."""


@dataclass(frozen=True, kw_only=True)
class RetestEntry(RecordedEntry):
    """A visit held against an earlier one, as it was judged."""

    athlete_id: str
    """The athlete."""
    earlier_visit_id: str
    """The earlier visit."""
    later_visit_id: str
    """The later visit."""
    changes: str
    """Every measure's change with its word and reason, as JSON."""
