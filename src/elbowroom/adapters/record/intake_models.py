"""Tables of the plan: intakes, releases, exams, drill rules, drills that were chosen."""

from __future__ import annotations

from datetime import date

from sqlalchemy import Date, Float, ForeignKey, Index, Text, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from elbowroom.adapters.record.models import ID, Base, IsRecorded
from elbowroom.service import intake_types as kinds
from elbowroom.service.record_types import Entry


class IntakeRow(IsRecorded, Base):
    """Versions of intakes."""

    __tablename__ = "intake"
    __table_args__ = (UniqueConstraint("athlete_id", "version"),)
    athlete_id: Mapped[str] = mapped_column(ID, ForeignKey("athlete.id"))
    version: Mapped[int]
    taken_on: Mapped[date] = mapped_column(Date)
    height_m: Mapped[float] = mapped_column(Float(53))
    content: Mapped[str] = mapped_column(Text)
    signs: Mapped[str] = mapped_column(Text)


class ReleaseRow(IsRecorded, Base):
    """Releases of warning signs."""

    __tablename__ = "hold_release"
    __table_args__ = (UniqueConstraint("athlete_id", "version"), Index(None, "intake_id"))
    athlete_id: Mapped[str] = mapped_column(ID, ForeignKey("athlete.id"))
    version: Mapped[int]
    intake_id: Mapped[str] = mapped_column(ID, ForeignKey("intake.id"))
    signs: Mapped[str] = mapped_column(Text)
    released_on: Mapped[date] = mapped_column(Date)
    reason: Mapped[str] = mapped_column(Text)


class ExamRow(IsRecorded, Base):
    """Versions of exams."""

    __tablename__ = "exam"
    __table_args__ = (UniqueConstraint("athlete_id", "version"),)
    athlete_id: Mapped[str] = mapped_column(ID, ForeignKey("athlete.id"))
    version: Mapped[int]
    examined_on: Mapped[date] = mapped_column(Date)
    content: Mapped[str] = mapped_column(Text)


class DrillRulesRow(IsRecorded, Base):
    """Versions of the clinic's rules that choose drills."""

    __tablename__ = "drill_rules"
    __table_args__ = (UniqueConstraint("version"),)
    version: Mapped[int]
    rules: Mapped[str] = mapped_column(Text)
    reason: Mapped[str] = mapped_column(Text)


class DrillPlanRow(IsRecorded, Base):
    """Versions of the drills that were chosen for athletes."""

    __tablename__ = "drill_plan"
    __table_args__ = (UniqueConstraint("athlete_id", "version"),)
    athlete_id: Mapped[str] = mapped_column(ID, ForeignKey("athlete.id"))
    version: Mapped[int]
    made_on: Mapped[date] = mapped_column(Date)
    content: Mapped[str] = mapped_column(Text)


TABLES: dict[type[Entry], type[Base]] = {
    kinds.IntakeEntry: IntakeRow,
    kinds.ReleaseEntry: ReleaseRow,
    kinds.ExamEntry: ExamRow,
    kinds.DrillRulesEntry: DrillRulesRow,
    kinds.DrillPlanEntry: DrillPlanRow,
}
"""The table of each kind of entry, each after those that it refers to."""
