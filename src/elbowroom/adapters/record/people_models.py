"""Tables of those who work with the record: passwords, attempts to log in, keys for programs."""

from __future__ import annotations

from sqlalchemy import ForeignKey, Index, String, Text, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from elbowroom.adapters.record.models import ID, Base, IsRecorded
from elbowroom.service import people_types as kinds
from elbowroom.service.record_types import Entry


class Password(IsRecorded, Base):
    """Versions of passwords, hashed."""

    __tablename__ = "password"
    __table_args__ = (UniqueConstraint("person_id", "version"),)
    person_id: Mapped[str] = mapped_column(ID)
    version: Mapped[int]
    hashed: Mapped[str] = mapped_column(Text)


class LogInAttempt(IsRecorded, Base):
    """Attempts to log in."""

    __tablename__ = "log_in_attempt"
    __table_args__ = (Index(None, "name_digest"), Index(None, "address"))
    name_digest: Mapped[str] = mapped_column(String(64))
    address: Mapped[str] = mapped_column(String(64))
    went_well: Mapped[bool]


class ProgramKey(IsRecorded, Base):
    """Keys for programs, hashed."""

    __tablename__ = "program_key"
    __table_args__ = (UniqueConstraint("digest"), Index(None, "person_id"))
    person_id: Mapped[str] = mapped_column(ID)
    name: Mapped[str] = mapped_column(Text)
    scopes: Mapped[str] = mapped_column(String(200))
    digest: Mapped[str] = mapped_column(String(64))


class ProgramKeyEnd(IsRecorded, Base):
    """Ends of keys for programs."""

    __tablename__ = "program_key_end"
    __table_args__ = (UniqueConstraint("program_key_id"),)
    program_key_id: Mapped[str] = mapped_column(ID, ForeignKey("program_key.id"))


TABLES: dict[type[Entry], type[Base]] = {
    kinds.PasswordEntry: Password,
    kinds.AttemptEntry: LogInAttempt,
    kinds.ProgramKeyEntry: ProgramKey,
    kinds.ProgramKeyEnd: ProgramKeyEnd,
}
"""The table of each kind of entry, each after those that it refers to."""
