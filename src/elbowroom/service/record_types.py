"""What the clinic's record holds: entries that are added and never changed.

Whatever can change has versions: the newest holds, the older ones stay. Every id is random and says nothing.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum

from elbowroom.core.cameras.types import View
from elbowroom.core.findings.report import ThrowingHand
from elbowroom.core.quantities.types import Absent


class Role(StrEnum):
    """What a person of the clinic may do."""

    CLINICIAN = "clinician"
    ASSISTANT = "assistant"
    READER = "reader"
    RETIRED = "retired"


class Purpose(StrEnum):
    """What a consent covers."""

    CARE = "care"
    TEACHING = "teaching"
    RESEARCH = "research"


class FileKind(StrEnum):
    """What a file in the vault is."""

    CLIP = "clip"
    BOARD_CLIP = "board clip"
    VISIT_FILE = "visit file"
    REPORT = "report"
    PAGE = "report page"
    WORKINGS = "workings"
    PROXY = "proxy"
    PICTURE_TIMES = "picture times"


class CorrectionKind(StrEnum):
    """What a person corrected."""

    LANDMARK = "landmark"
    INSTANT = "instant"
    THROW = "throw"


class Act(StrEnum):
    """What was done, in the trail."""

    LOOKED = "looked"
    ADDED = "added"
    CORRECTED = "corrected"
    WITHDREW = "withdrew consent"
    ENDED = "ended"
    BACKED_UP = "backed up"
    RESTORED = "restored"
    CHECKED = "checked"
    CHANGED_KEYS = "changed keys"
    BEGAN_TO_FORGET = "began to forget"
    FORGOT = "forgot"
    GAVE = "gave a copy"
    TOOK = "took in a copy"
    LOGGED_IN = "logged in"
    FAILED_TO_LOG_IN = "failed to log in"


@dataclass(frozen=True, kw_only=True)
class Entry:
    """One entry of the record; it is added and never changed."""

    id: str
    """Random name of the entry, which says nothing."""


@dataclass(frozen=True, kw_only=True)
class RecordedEntry(Entry):
    """An entry that says who made it."""

    recorded_at: datetime
    """When this was recorded, UTC."""
    recorded_by: str
    """Id of the person who recorded it."""


@dataclass(frozen=True, kw_only=True)
class ClinicEntry(RecordedEntry):
    """A version of the clinic and its rule of retention."""

    version: int
    """From 1; the highest holds."""
    name: str
    """Name of the clinic."""
    keep_years: int
    """Years that an athlete is kept after the last visit; 0 where the clinic states no rule."""
    keep_until_age_years: int
    """Age until which an athlete is kept in any case; 0 where the clinic states no rule."""


@dataclass(frozen=True, kw_only=True)
class PersonEntry(RecordedEntry):
    """A version of a person who works with the record."""

    person_id: str
    """Id of the person, the same in every version."""
    version: int
    """From 1; the highest holds."""
    name: str
    """Name as written in the trail's listing."""
    role: Role
    """What the person may do."""


@dataclass(frozen=True, kw_only=True)
class AthleteEntry(RecordedEntry):
    """An athlete, known by an id that says nothing."""


@dataclass(frozen=True, kw_only=True)
class AthleteVersion(RecordedEntry):
    """What is known of an athlete, as recorded at one time."""

    athlete_id: str
    """The athlete."""
    version: int
    """From 1; the highest holds."""
    name: str
    """Name or code."""
    born_on: date
    """Day of birth."""
    hand: ThrowingHand
    """The hand that throws."""
    note: str
    """What else is to be known; empty where nothing."""


@dataclass(frozen=True, kw_only=True)
class GuardianEntry(RecordedEntry):
    """A guardian of an athlete."""

    athlete_id: str
    """The athlete."""
    name: str
    """Name of the guardian."""
    relation: str
    """What the guardian is to the athlete, such as mother."""


@dataclass(frozen=True, kw_only=True)
class ConsentEntry(RecordedEntry):
    """A consent for one purpose."""

    athlete_id: str
    """The athlete whom it is about."""
    guardian_id: str | Absent
    """The guardian who gave it, or absent where the athlete did."""
    purpose: Purpose
    """What it covers."""
    given_on: date
    """Day on which it was given."""


@dataclass(frozen=True, kw_only=True)
class WithdrawalEntry(RecordedEntry):
    """The end of a consent."""

    athlete_id: str
    """The athlete."""
    consent_id: str
    """The consent that ended; one withdrawal a consent."""
    withdrawn_on: date
    """Day from which the consent no longer holds."""


@dataclass(frozen=True, kw_only=True)
class VisitEntry(RecordedEntry):
    """A visit of an athlete."""

    athlete_id: str
    """The athlete."""
    made_on: date
    """Day of the visit."""
    height_m: float
    """Standing height on that day, metres."""
    kind: str
    """Kind of throw that was filmed, in words."""
    clips_digest: str
    """One SHA-256 over those of its clips: the same clips of an athlete are one visit."""


@dataclass(frozen=True, kw_only=True)
class FileEntry(RecordedEntry):
    """A file of a visit that lies in the vault."""

    athlete_id: str
    """The athlete."""
    visit_id: str
    """The visit."""
    file_id: str
    """Name in the vault."""
    kind: FileKind
    """What the file is."""
    name: str
    """Name that the file had outside."""
    digest: str
    """SHA-256 of the plain file."""
    size_bytes: int
    """Size of the plain file."""


@dataclass(frozen=True, kw_only=True)
class ClipEntry(Entry):
    """A clip of a visit."""

    athlete_id: str
    """The athlete."""
    visit_id: str
    """The visit."""
    file_entry_id: str
    """The entry of its file."""
    view: View
    """Where the camera stood."""


@dataclass(frozen=True, kw_only=True)
class CorrectionEntry(RecordedEntry):
    """What a person corrected; what was there before stays beside it."""

    athlete_id: str
    """The athlete."""
    visit_id: str
    """The visit."""
    version: int
    """From 1 within the visit, in the order of the corrections."""
    kind: CorrectionKind
    """What was corrected."""
    throw_number: int
    """Number of the throw, from 1."""
    what: str
    """Which landmark or instant and where, such as `release`."""
    before: str
    """What was there, as JSON."""
    after: str
    """What holds instead, as JSON."""
    reason: str
    """Why; empty where no reason was given."""


@dataclass(frozen=True, kw_only=True)
class ScreeningEntry(RecordedEntry):
    """A version of the screening of a visit; its whole report lies in the vault."""

    athlete_id: str
    """The athlete."""
    visit_id: str
    """The visit."""
    version: int
    """From 1 within the visit; the highest holds."""
    made_on: date
    """Day that the report states."""
    report_entry_id: str
    """The entry of the report's file."""
    corrections_version: int
    """The last correction that it takes in; 0 for none."""
    tool_version: str
    """Version of elbowroom that made it."""
    tolerances: str
    """Name of the tolerance table that judged it, with its digest."""


@dataclass(frozen=True, kw_only=True)
class ThrowEntry(Entry):
    """A throw that a screening found."""

    athlete_id: str
    """The athlete."""
    screening_id: str
    """The screening."""
    number: int
    """Number in its report, from 1."""
    clips: str
    """Names of the clips that show it, as JSON."""


@dataclass(frozen=True, kw_only=True)
class FindingEntry(Entry):
    """The key number of one finding of a screening."""

    athlete_id: str
    """The athlete."""
    screening_id: str
    """The screening."""
    measure: str
    """Key of the measure."""
    value: float | Absent
    """The typical throw, in `unit`, or absent where it was not measured."""
    standard: float | Absent
    """Its standard uncertainty, in `unit`, or absent."""
    unit: str
    """Unit of both; empty where nothing was measured."""
    verdict: str
    """The verdict in its word."""
    reason: str
    """Why this verdict."""
    probability_beyond: float | Absent
    """Probability that the measure lies beyond its limits, or absent where it was not judged."""
    tolerance_version: str
    """Version of the tolerance row that judged it; empty where none did."""


@dataclass(frozen=True, kw_only=True)
class TrailEntry(RecordedEntry):
    """Who did what, and when; it names athletes by id only, so it may stay when an athlete is forgotten."""

    act: Act
    """What was done."""
    athlete_id: str
    """The athlete whom it concerns; empty for none."""
    what: str
    """What was looked at or changed, without any name of an athlete."""
