"""Tables of what is the clinic's own: its limits, its settings, its day, what was looked through."""

from __future__ import annotations

from datetime import date

from sqlalchemy import Boolean, Date, Float, ForeignKey, Index, Text, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from elbowroom.adapters.record.columns import make_word
from elbowroom.adapters.record.models import ID, Base, IsRecorded
from elbowroom.core.quantities.phrases import LengthUnit
from elbowroom.service import clinic_types as kinds
from elbowroom.service.record_types import Entry


class ToleranceVersion(IsRecorded, Base):
    """Versions of the clinic's own limits."""

    __tablename__ = "tolerance_version"
    __table_args__ = (UniqueConstraint("version"),)
    version: Mapped[int]
    table_text: Mapped[str] = mapped_column(Text)
    changed: Mapped[str] = mapped_column(Text)
    reason: Mapped[str] = mapped_column(Text)


class SettingsVersion(IsRecorded, Base):
    """Versions of how the clinic reads and judges."""

    __tablename__ = "settings_version"
    __table_args__ = (UniqueConstraint("version"),)
    version: Mapped[int]
    lengths: Mapped[str] = mapped_column(make_word(LengthUnit))
    beyond_from_probability: Mapped[float] = mapped_column(Float(53))
    within_to_probability: Mapped[float] = mapped_column(Float(53))
    reason: Mapped[str] = mapped_column(Text)


class DayPlace(IsRecorded, Base):
    """Athletes on the list of a day."""

    __tablename__ = "day_place"
    __table_args__ = (UniqueConstraint("athlete_id", "version"), Index(None, "on_day"))
    athlete_id: Mapped[str] = mapped_column(ID, ForeignKey("athlete.id"))
    version: Mapped[int]
    on_day: Mapped[date] = mapped_column(Date)
    is_expected: Mapped[bool] = mapped_column(Boolean)
    note: Mapped[str] = mapped_column(Text)


class Review(IsRecorded, Base):
    """Screenings that a clinician looked through."""

    __tablename__ = "review"
    __table_args__ = (UniqueConstraint("reviewed_screening_id"),)
    athlete_id: Mapped[str] = mapped_column(ID, ForeignKey("athlete.id"), index=True)
    visit_id: Mapped[str] = mapped_column(ID, ForeignKey("visit.id"))
    reviewed_screening_id: Mapped[str] = mapped_column(ID, ForeignKey("screening.id"))
    note: Mapped[str] = mapped_column(Text)


TABLES: dict[type[Entry], type[Base]] = {
    kinds.ToleranceEntry: ToleranceVersion,
    kinds.SettingsEntry: SettingsVersion,
    kinds.DayPlaceEntry: DayPlace,
    kinds.ReviewEntry: Review,
}
"""The table of each kind of entry, each after those that it refers to."""
