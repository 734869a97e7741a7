"""The tables of the record, one a kind of entry, with the fields of that kind as columns.

Every row about an athlete names the athlete, so that forgetting one is a delete by one column in every table.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, datetime
from typing import Any

from sqlalchemy import BigInteger, Date, Float, ForeignKey, Index, MetaData, String, Text, UniqueConstraint
from sqlalchemy.engine.default import DefaultExecutionContext
from sqlalchemy.orm import DeclarativeBase, Mapped, mapped_column

from elbowroom.adapters.record.columns import make_optional, make_time, make_word
from elbowroom.core.cameras.types import View
from elbowroom.core.findings.report import ThrowingHand
from elbowroom.service import record_types as kinds

NAMING = {
    "ix": "ix_%(table_name)s_%(column_0_N_name)s",
    "uq": "uq_%(table_name)s_%(column_0_N_name)s",
    "ck": "ck_%(table_name)s_%(constraint_name)s",
    "fk": "fk_%(table_name)s_%(column_0_N_name)s_%(referred_table_name)s",
    "pk": "pk_%(table_name)s",
}
"""A constraint without a name could not be changed by a later migration."""
ID = String(32)
IN_CODE_ORDER = Text().with_variant(Text(collation="C"), "postgresql")
"""Text in the order of its letters' codes, which is how SQLite orders."""


class Base(DeclarativeBase):
    """Every table of the record."""

    metadata = MetaData(naming_convention=NAMING)


class HasId:
    """A table whose rows have a random name."""

    id: Mapped[str] = mapped_column(ID, primary_key=True)


class IsRecorded(HasId):
    """A table whose rows say who added them, and when."""

    recorded_at: Mapped[datetime] = mapped_column(make_time())
    recorded_by: Mapped[str] = mapped_column(ID)


def _refer(target: str, is_indexed: bool = True) -> Mapped[str]:
    return mapped_column(ID, ForeignKey(target), index=is_indexed)


def _fold_name(context: DefaultExecutionContext) -> str:
    """Return the name of the row being added as searches compare it: SQLite knows capitals of English only."""
    read_row: Callable[[], dict[str, Any]] = context.get_current_parameters
    return str(read_row()["name"]).casefold()


class Clinic(IsRecorded, Base):
    """Versions of the clinic."""

    __tablename__ = "clinic"
    __table_args__ = (UniqueConstraint("version"),)
    version: Mapped[int]
    name: Mapped[str] = mapped_column(Text)
    keep_years: Mapped[int]
    keep_until_age_years: Mapped[int]


class Person(IsRecorded, Base):
    """Versions of the people of the clinic."""

    __tablename__ = "person"
    __table_args__ = (UniqueConstraint("person_id", "version"),)
    person_id: Mapped[str] = mapped_column(ID)
    version: Mapped[int]
    name: Mapped[str] = mapped_column(Text)
    role: Mapped[str] = mapped_column(make_word(kinds.Role))


class Athlete(IsRecorded, Base):
    """The athletes."""

    __tablename__ = "athlete"


class AthleteVersion(IsRecorded, Base):
    """Versions of what is known of an athlete."""

    __tablename__ = "athlete_version"
    __table_args__ = (UniqueConstraint("athlete_id", "version"),)
    athlete_id: Mapped[str] = _refer("athlete.id", False)
    version: Mapped[int]
    name: Mapped[str] = mapped_column(Text)
    born_on: Mapped[date] = mapped_column(Date)
    hand: Mapped[str] = mapped_column(make_word(ThrowingHand))
    note: Mapped[str] = mapped_column(Text)
    name_key: Mapped[str] = mapped_column(IN_CODE_ORDER, default=_fold_name)


class Guardian(IsRecorded, Base):
    """Guardians of athletes."""

    __tablename__ = "guardian"
    athlete_id: Mapped[str] = _refer("athlete.id")
    name: Mapped[str] = mapped_column(Text)
    relation: Mapped[str] = mapped_column(Text)


class Consent(IsRecorded, Base):
    """Consents, one a purpose."""

    __tablename__ = "consent"
    athlete_id: Mapped[str] = _refer("athlete.id")
    guardian_id: Mapped[str | None] = mapped_column(make_optional(ID), ForeignKey("guardian.id"))
    purpose: Mapped[str] = mapped_column(make_word(kinds.Purpose))
    given_on: Mapped[date] = mapped_column(Date)


class Withdrawal(IsRecorded, Base):
    """Ends of consents."""

    __tablename__ = "withdrawal"
    __table_args__ = (UniqueConstraint("consent_id"),)
    athlete_id: Mapped[str] = _refer("athlete.id")
    consent_id: Mapped[str] = _refer("consent.id", False)
    withdrawn_on: Mapped[date] = mapped_column(Date)


class Visit(IsRecorded, Base):
    """Visits."""

    __tablename__ = "visit"
    __table_args__ = (
        UniqueConstraint("athlete_id", "clips_digest"),
        Index(None, "athlete_id", "made_on"),
        Index(None, "made_on"),
    )
    athlete_id: Mapped[str] = _refer("athlete.id", False)
    made_on: Mapped[date] = mapped_column(Date)
    height_m: Mapped[float] = mapped_column(Float)
    kind: Mapped[str] = mapped_column(Text)
    clips_digest: Mapped[str] = mapped_column(String(64))


class File(IsRecorded, Base):
    """Files of visits that lie in the vault."""

    __tablename__ = "file"
    __table_args__ = (UniqueConstraint("file_id"),)
    athlete_id: Mapped[str] = _refer("athlete.id")
    visit_id: Mapped[str] = _refer("visit.id")
    file_id: Mapped[str] = mapped_column(String(130))
    kind: Mapped[str] = mapped_column(make_word(kinds.FileKind))
    name: Mapped[str] = mapped_column(Text)
    digest: Mapped[str] = mapped_column(String(64))
    size_bytes: Mapped[int] = mapped_column(BigInteger)


class Clip(HasId, Base):
    """Clips."""

    __tablename__ = "clip"
    athlete_id: Mapped[str] = _refer("athlete.id")
    visit_id: Mapped[str] = _refer("visit.id")
    file_entry_id: Mapped[str] = _refer("file.id")
    view: Mapped[str] = mapped_column(make_word(View))


class Correction(IsRecorded, Base):
    """Corrections, each beside what it replaces."""

    __tablename__ = "correction"
    __table_args__ = (UniqueConstraint("visit_id", "version"),)
    athlete_id: Mapped[str] = _refer("athlete.id")
    visit_id: Mapped[str] = _refer("visit.id", False)
    version: Mapped[int]
    kind: Mapped[str] = mapped_column(make_word(kinds.CorrectionKind))
    throw_number: Mapped[int]
    what: Mapped[str] = mapped_column(Text)
    before: Mapped[str] = mapped_column(Text)
    after: Mapped[str] = mapped_column(Text)
    reason: Mapped[str] = mapped_column(Text)


class Screening(IsRecorded, Base):
    """Versions of the screening of a visit."""

    __tablename__ = "screening"
    __table_args__ = (UniqueConstraint("visit_id", "version"),)
    athlete_id: Mapped[str] = _refer("athlete.id")
    visit_id: Mapped[str] = _refer("visit.id", False)
    version: Mapped[int]
    made_on: Mapped[date] = mapped_column(Date)
    report_entry_id: Mapped[str] = _refer("file.id")
    corrections_version: Mapped[int]
    tool_version: Mapped[str] = mapped_column(Text)
    tolerances: Mapped[str] = mapped_column(Text)


class Throw(HasId, Base):
    """Throws that a screening found."""

    __tablename__ = "throw"
    __table_args__ = (UniqueConstraint("screening_id", "number"),)
    athlete_id: Mapped[str] = _refer("athlete.id")
    screening_id: Mapped[str] = _refer("screening.id", False)
    number: Mapped[int]
    clips: Mapped[str] = mapped_column(Text)


class Finding(HasId, Base):
    """Key numbers of screenings."""

    __tablename__ = "finding"
    __table_args__ = (UniqueConstraint("screening_id", "measure"), Index(None, "athlete_id", "measure"))
    athlete_id: Mapped[str] = _refer("athlete.id", False)
    screening_id: Mapped[str] = _refer("screening.id", False)
    measure: Mapped[str] = mapped_column(String(120))
    value: Mapped[float | None] = mapped_column(make_optional(Float(53)))
    standard: Mapped[float | None] = mapped_column(make_optional(Float(53)))
    unit: Mapped[str] = mapped_column(String(20))
    verdict: Mapped[str] = mapped_column(String(40))
    reason: Mapped[str] = mapped_column(Text)
    probability_beyond: Mapped[float | None] = mapped_column(make_optional(Float(53)))
    tolerance_version: Mapped[str] = mapped_column(String(80))


class Trail(IsRecorded, Base):
    """Who did what, and when."""

    __tablename__ = "trail"
    __table_args__ = (Index(None, "recorded_at"), Index(None, "athlete_id"))
    act: Mapped[str] = mapped_column(make_word(kinds.Act))
    athlete_id: Mapped[str] = mapped_column(ID)
    what: Mapped[str] = mapped_column(Text)


TABLES: dict[type[kinds.Entry], type[Base]] = {
    kinds.ClinicEntry: Clinic,
    kinds.PersonEntry: Person,
    kinds.AthleteEntry: Athlete,
    kinds.AthleteVersion: AthleteVersion,
    kinds.GuardianEntry: Guardian,
    kinds.ConsentEntry: Consent,
    kinds.WithdrawalEntry: Withdrawal,
    kinds.VisitEntry: Visit,
    kinds.FileEntry: File,
    kinds.ClipEntry: Clip,
    kinds.CorrectionEntry: Correction,
    kinds.ScreeningEntry: Screening,
    kinds.ThrowEntry: Throw,
    kinds.FindingEntry: Finding,
    kinds.TrailEntry: Trail,
}
"""The table of each kind of entry, each after those that it refers to."""
