"""Tables of filming."""

from __future__ import annotations

from sqlalchemy import BigInteger, Float, ForeignKey, Index, String, Text, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from elbowroom.adapters.record.columns import make_optional, make_word
from elbowroom.adapters.record.models import ID, Base, IsRecorded
from elbowroom.core.cameras.types import View
from elbowroom.core.landmarks.names import Side
from elbowroom.service import filming_types as kinds
from elbowroom.service.record_types import Entry
from elbowroom.service.visit_plan import BoardSize


class SetUp(IsRecorded, Base):
    """Versions of what is known of the ground of a visit."""

    __tablename__ = "set_up"
    __table_args__ = (UniqueConstraint("visit_id", "version"), Index(None, "athlete_id"))
    athlete_id: Mapped[str] = mapped_column(ID, ForeignKey("athlete.id"))
    visit_id: Mapped[str] = mapped_column(ID, ForeignKey("visit.id"))
    version: Mapped[int]
    target_m: Mapped[float] = mapped_column(Float(53))
    board_size: Mapped[str] = mapped_column(make_word(BoardSize))
    tape_m: Mapped[float] = mapped_column(Float(53))
    mass_kg: Mapped[float | None] = mapped_column(make_optional(Float(53)))


class Upload(IsRecorded, Base):
    """Clips that somebody began to send."""

    __tablename__ = "upload"
    __table_args__ = (UniqueConstraint("visit_id", "pieces_digest"), Index(None, "athlete_id"))
    athlete_id: Mapped[str] = mapped_column(ID, ForeignKey("athlete.id"))
    visit_id: Mapped[str] = mapped_column(ID, ForeignKey("visit.id"))
    name: Mapped[str] = mapped_column(Text)
    size_bytes: Mapped[int] = mapped_column(BigInteger)
    pieces_digest: Mapped[str] = mapped_column(String(64))
    piece_digests: Mapped[str] = mapped_column(Text)
    shows: Mapped[str] = mapped_column(make_word(kinds.Shows))
    view: Mapped[str] = mapped_column(make_word(View))


class FilmedClip(IsRecorded, Base):
    """Versions of what is known of clips."""

    __tablename__ = "filmed_clip"
    __table_args__ = (UniqueConstraint("visit_id", "version"), Index(None, "athlete_id"), Index(None, "file_entry_id"))
    athlete_id: Mapped[str] = mapped_column(ID, ForeignKey("athlete.id"))
    visit_id: Mapped[str] = mapped_column(ID, ForeignKey("visit.id"))
    file_entry_id: Mapped[str] = mapped_column(ID, ForeignKey("file.id"))
    version: Mapped[int]
    shows: Mapped[str] = mapped_column(make_word(kinds.Shows))
    view: Mapped[str] = mapped_column(make_word(View))
    rate_hz: Mapped[float | None] = mapped_column(make_optional(Float(53)))
    thrower: Mapped[str | None] = mapped_column(make_optional(make_word(Side)))
    marks: Mapped[str] = mapped_column(Text)
    is_used: Mapped[bool]


class ClipCheck(IsRecorded, Base):
    """What the quick checks of clips found."""

    __tablename__ = "clip_check"
    __table_args__ = (Index(None, "visit_id"), Index(None, "athlete_id"), Index(None, "file_entry_id"))
    athlete_id: Mapped[str] = mapped_column(ID, ForeignKey("athlete.id"))
    visit_id: Mapped[str] = mapped_column(ID, ForeignKey("visit.id"))
    file_entry_id: Mapped[str] = mapped_column(ID, ForeignKey("file.id"))
    lines: Mapped[str] = mapped_column(Text)


class Proxy(IsRecorded, Base):
    """Smaller copies of clips."""

    __tablename__ = "proxy"
    __table_args__ = (UniqueConstraint("clip_file_entry_id"), Index(None, "visit_id"), Index(None, "athlete_id"))
    athlete_id: Mapped[str] = mapped_column(ID, ForeignKey("athlete.id"))
    visit_id: Mapped[str] = mapped_column(ID, ForeignKey("visit.id"))
    clip_file_entry_id: Mapped[str] = mapped_column(ID, ForeignKey("file.id"))
    proxy_file_entry_id: Mapped[str] = mapped_column(ID, ForeignKey("file.id"))
    times_file_entry_id: Mapped[str] = mapped_column(ID, ForeignKey("file.id"))


TABLES: dict[type[Entry], type[Base]] = {
    kinds.SetUpEntry: SetUp,
    kinds.UploadEntry: Upload,
    kinds.FilmedClipEntry: FilmedClip,
    kinds.ClipCheckEntry: ClipCheck,
    kinds.ProxyEntry: Proxy,
}
"""The table of each kind of entry, each after those that it refers to."""
