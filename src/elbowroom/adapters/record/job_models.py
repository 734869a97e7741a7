"""The table of jobs. Its rows change, and no backup holds them: they are work, not record."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import BigInteger, Index, String, Table, Text, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from elbowroom.adapters.record.columns import make_optional, make_time, make_word
from elbowroom.adapters.record.models import ID, Base, HasId
from elbowroom.service.job_types import JobKind, JobState


class JobRow(HasId, Base):
    """Jobs as they stand."""

    __tablename__ = "job"
    __table_args__ = (
        UniqueConstraint("slot"),
        Index(None, "state", "made_at"),
        Index(None, "visit_id"),
        Index(None, "athlete_id"),
    )
    kind: Mapped[str] = mapped_column(make_word(JobKind))
    athlete_id: Mapped[str] = mapped_column(ID)
    visit_id: Mapped[str] = mapped_column(ID)
    subject_id: Mapped[str] = mapped_column(ID)
    input_digest: Mapped[str] = mapped_column(String(64))
    work_bytes: Mapped[int] = mapped_column(BigInteger)
    made_at: Mapped[datetime] = mapped_column(make_time())
    made_by: Mapped[str] = mapped_column(ID)
    tool_version: Mapped[str] = mapped_column(Text)
    state: Mapped[str] = mapped_column(make_word(JobState))
    attempt: Mapped[int]
    worker: Mapped[str] = mapped_column(Text)
    beat: Mapped[int]
    started_at: Mapped[datetime | None] = mapped_column(make_optional(make_time()))
    heartbeat_at: Mapped[datetime | None] = mapped_column(make_optional(make_time()))
    finished_at: Mapped[datetime | None] = mapped_column(make_optional(make_time()))
    stage: Mapped[str] = mapped_column(Text)
    done: Mapped[int]
    total: Mapped[int]
    error: Mapped[str] = mapped_column(Text)
    slot: Mapped[str] = mapped_column(String(120))


def _find_table() -> Table:
    table = JobRow.__table__
    assert isinstance(table, Table)
    return table


JOB = _find_table()
