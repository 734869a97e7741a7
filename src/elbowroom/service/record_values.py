"""What goes into the record and comes out of it, beside the entries themselves."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path

from elbowroom.core.cameras.types import View
from elbowroom.core.quantities.types import Absent
from elbowroom.service.record_types import FileKind, FindingEntry


@dataclass(frozen=True, kw_only=True)
class StoredFile:
    """What the vault says of a file that it took in."""

    file_id: str
    """Name in the vault."""
    digest: str
    """SHA-256 of the plain file."""
    size_bytes: int
    """Size of the plain file."""


@dataclass(frozen=True, kw_only=True)
class VaultFile:
    """A file that lies in the vault, sealed."""

    file_id: str
    """Name in the vault; its first part is the drawer."""
    sealed_bytes: int
    """Size on the disk."""
    written_at: datetime
    """When it was written, UTC."""

    @property
    def is_part(self) -> bool:
        """Whether it is what a cut-off write left behind."""
        return self.file_id.endswith(".part")


@dataclass(frozen=True, kw_only=True)
class AthleteLine:
    """An athlete in a list."""

    athlete_id: str
    """Id of the athlete."""
    name: str
    """Name in the newest version."""
    born_on: date
    """Day of birth in the newest version."""
    visit_count: int
    """Number of visits."""
    last_visit: date | Absent
    """Day of the last visit, or absent where there was none."""
    added_on: date
    """Day on which the athlete was added, UTC."""

    @property
    def last_seen(self) -> date:
        """Day of the last visit, or on which the athlete was added where there was none."""
        return self.added_on if isinstance(self.last_visit, Absent) else self.last_visit


@dataclass(frozen=True, kw_only=True)
class ValueLine:
    """One measure of one visit, for its course over time."""

    made_on: date
    """Day of the visit."""
    visit_id: str
    """The visit."""
    finding: FindingEntry
    """The finding of the newest screening of that visit."""


@dataclass(frozen=True, kw_only=True)
class BackupFacts:
    """What a backup holds."""

    made_at: datetime
    """When it was made, UTC."""
    entry_count: int
    """Number of entries of the record."""
    file_count: int
    """Number of files of the vault."""
    digest: str
    """SHA-256 over all entries and all files, in no order."""


@dataclass(frozen=True, kw_only=True)
class Stamp:
    """Who does something, and when."""

    at: datetime
    """Now, UTC."""
    by: str
    """Id of the person."""


@dataclass(frozen=True, kw_only=True)
class KeptFinding:
    """One finding as a report file states it."""

    measure: str
    """Key of the measure."""
    value: float | Absent
    """The typical throw, or absent."""
    standard: float | Absent
    """Its standard uncertainty, or absent."""
    unit: str
    """Unit of both; empty where absent."""
    verdict: str
    """The verdict in its word."""
    reason: str
    """Why this verdict."""
    probability_beyond: float | Absent
    """Probability that it lies beyond its limits, or absent."""
    tolerance_version: str
    """Version of the tolerance row that judged it; empty where none did."""


@dataclass(frozen=True, kw_only=True)
class KeptReport:
    """What the record takes out of a report file."""

    made_on: date
    """Day that the report states."""
    tool_version: str
    """Version of elbowroom that made it."""
    tolerances: str
    """Name of the tolerance table with its digest."""
    clip_digests: Mapping[str, str]
    """SHA-256 of each clip, by name."""
    throws: Mapping[int, tuple[str, ...]]
    """Names of the clips that show each throw, by number."""
    findings: tuple[KeptFinding, ...]
    """Every finding."""
    corrections_version: int = -1
    """The last correction that it takes in; -1 for all that there are."""


@dataclass(frozen=True, kw_only=True)
class ParcelFile:
    """A file that a visit brings."""

    path: Path
    """Where it lies."""
    kind: FileKind
    """What it is."""
    view: View | Absent
    """Where the camera stood, for clips of throws."""


@dataclass(frozen=True, kw_only=True)
class VisitParcel:
    """A screened visit as it lies in its folder."""

    made_on: date
    """Day of the visit."""
    height_m: float
    """Standing height, metres."""
    kind: str
    """Kind of throw in words."""
    files: tuple[ParcelFile, ...]
    """The clips, the visit file and the report."""
    report: KeptReport
    """What the report says."""


@dataclass(frozen=True, kw_only=True)
class ClinicFacts:
    """What is said of a clinic when its record begins."""

    name: str
    """Name of the clinic."""
    person_name: str
    """Name of the clinician who begins it."""
    keep_years: int = 0
    """Years that an athlete is kept after the last visit; 0 where no rule is stated."""
    keep_until_age_years: int = 0
    """Age until which an athlete is kept in any case; 0 where no rule is stated."""
