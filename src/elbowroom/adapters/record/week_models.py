"""Tables of the throwing of athletes: teams, counts, links, plans, returns, retests."""

from __future__ import annotations

from datetime import date, datetime

from sqlalchemy import Date, ForeignKey, Index, Integer, String, Text, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from elbowroom.adapters.record.columns import make_optional, make_time, make_word
from elbowroom.adapters.record.models import ID, Base, IsRecorded
from elbowroom.core.plan.counts import Activity
from elbowroom.service import week_types as kinds
from elbowroom.service.record_types import Entry


def _refer(target: str, is_indexed: bool = True) -> Mapped[str]:
    return mapped_column(ID, ForeignKey(target), index=is_indexed)


class Team(IsRecorded, Base):
    """Versions of teams."""

    __tablename__ = "team"
    __table_args__ = (UniqueConstraint("team_id", "version"),)
    team_id: Mapped[str] = mapped_column(ID)
    version: Mapped[int]
    name: Mapped[str] = mapped_column(Text)
    rest_table: Mapped[str] = mapped_column(String(80))


class Membership(IsRecorded, Base):
    """Who plays for which team."""

    __tablename__ = "membership"
    __table_args__ = (Index(None, "team_id"),)
    athlete_id: Mapped[str] = _refer("athlete.id")
    team_id: Mapped[str] = mapped_column(ID)
    is_member: Mapped[bool]


class CountLink(IsRecorded, Base):
    """Links by which counts are sent; the codes are hashed."""

    __tablename__ = "count_link"
    __table_args__ = (UniqueConstraint("digest"),)
    athlete_id: Mapped[str] = _refer("athlete.id")
    digest: Mapped[str] = mapped_column(String(64))
    shown_name: Mapped[str] = mapped_column(Text)
    holder: Mapped[str] = mapped_column(Text)
    ends_at: Mapped[datetime] = mapped_column(make_time())


class CountLinkEnd(IsRecorded, Base):
    """Early ends of links."""

    __tablename__ = "count_link_end"
    __table_args__ = (UniqueConstraint("count_link_id"),)
    athlete_id: Mapped[str] = _refer("athlete.id")
    count_link_id: Mapped[str] = _refer("count_link.id", False)


class ThrowingCount(IsRecorded, Base):
    """Versions of counts."""

    __tablename__ = "throwing_count"
    __table_args__ = (UniqueConstraint("count_id", "number"), Index(None, "athlete_id", "day"))
    athlete_id: Mapped[str] = _refer("athlete.id", False)
    count_id: Mapped[str] = mapped_column(ID)
    number: Mapped[int]
    is_removed: Mapped[bool]
    day: Mapped[date] = mapped_column(Date)
    team: Mapped[str] = mapped_column(Text)
    activity: Mapped[str] = mapped_column(make_word(Activity))
    pitches: Mapped[int]
    throws: Mapped[int]
    innings_caught: Mapped[int]
    before_last_batter: Mapped[int | None] = mapped_column(make_optional(Integer()))
    sent_by_link_id: Mapped[str | None] = mapped_column(make_optional(ID), ForeignKey("count_link.id"))


class ThrowingPlan(IsRecorded, Base):
    """Versions of plans."""

    __tablename__ = "throwing_plan"
    __table_args__ = (UniqueConstraint("athlete_id", "version"),)
    athlete_id: Mapped[str] = _refer("athlete.id", False)
    version: Mapped[int]
    first_day: Mapped[date] = mapped_column(Date)
    last_day: Mapped[date] = mapped_column(Date)
    outcome: Mapped[str] = mapped_column(make_word(kinds.PlanOutcome))
    request: Mapped[str] = mapped_column(Text)
    days: Mapped[str] = mapped_column(Text)
    words: Mapped[str] = mapped_column(Text)


class ReturnCourse(IsRecorded, Base):
    """Returns to throwing."""

    __tablename__ = "return_course"
    __table_args__ = (UniqueConstraint("athlete_id", "version"),)
    athlete_id: Mapped[str] = _refer("athlete.id", False)
    version: Mapped[int]
    programme: Mapped[str] = mapped_column(String(80))
    begun_on: Mapped[date] = mapped_column(Date)
    reason: Mapped[str] = mapped_column(Text)


class ReturnEvent(IsRecorded, Base):
    """What happened in returns to throwing."""

    __tablename__ = "return_event"
    __table_args__ = (UniqueConstraint("return_course_id", "number"),)
    athlete_id: Mapped[str] = _refer("athlete.id")
    return_course_id: Mapped[str] = _refer("return_course.id", False)
    number: Mapped[int]
    kind: Mapped[str] = mapped_column(make_word(kinds.EventKind))
    day: Mapped[date] = mapped_column(Date)
    step: Mapped[int]
    answer: Mapped[str] = mapped_column(String(80))
    reason: Mapped[str] = mapped_column(Text)


class Retest(IsRecorded, Base):
    """Visits held against earlier ones."""

    __tablename__ = "retest"
    athlete_id: Mapped[str] = _refer("athlete.id")
    earlier_visit_id: Mapped[str] = _refer("visit.id")
    later_visit_id: Mapped[str] = _refer("visit.id")
    changes: Mapped[str] = mapped_column(Text)


TABLES: dict[type[Entry], type[Base]] = {
    kinds.TeamVersion: Team,
    kinds.MembershipEntry: Membership,
    kinds.CountLink: CountLink,
    kinds.CountLinkEnd: CountLinkEnd,
    kinds.CountVersion: ThrowingCount,
    kinds.ThrowingPlan: ThrowingPlan,
    kinds.ReturnCourse: ReturnCourse,
    kinds.ReturnEvent: ReturnEvent,
    kinds.RetestEntry: Retest,
}
"""The table of each kind of entry, each after those that it refers to."""
