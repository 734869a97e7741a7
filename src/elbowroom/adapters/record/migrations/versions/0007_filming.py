"""Tables of filming."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0007"
down_revision = "0006"


def upgrade() -> None:
    """Make the tables of filming, each after those that it refers to."""
    _make_set_up()
    _make_upload()
    _make_filmed_clip()
    _make_clip_check()
    _make_proxy()


def _make_set_up() -> None:
    op.create_table(
        "set_up",
        sa.Column("athlete_id", sa.String(length=32), nullable=False),
        sa.Column("visit_id", sa.String(length=32), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("target_m", sa.Float(53), nullable=False),
        sa.Column("board_size", sa.String(length=40), nullable=False),
        sa.Column("tape_m", sa.Float(53), nullable=False),
        sa.Column("mass_kg", sa.Float(53), nullable=True),
        sa.Column("recorded_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("recorded_by", sa.String(length=32), nullable=False),
        sa.Column("id", sa.String(length=32), nullable=False),
        sa.ForeignKeyConstraint(["athlete_id"], ["athlete.id"], name=op.f("fk_set_up_athlete_id_athlete")),
        sa.ForeignKeyConstraint(["visit_id"], ["visit.id"], name=op.f("fk_set_up_visit_id_visit")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_set_up")),
        sa.UniqueConstraint("visit_id", "version", name=op.f("uq_set_up_visit_id_version")),
    )
    with op.batch_alter_table("set_up", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_set_up_athlete_id"), ["athlete_id"], unique=False)


def _make_upload() -> None:
    op.create_table(
        "upload",
        sa.Column("athlete_id", sa.String(length=32), nullable=False),
        sa.Column("visit_id", sa.String(length=32), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("size_bytes", sa.BigInteger(), nullable=False),
        sa.Column("pieces_digest", sa.String(length=64), nullable=False),
        sa.Column("piece_digests", sa.Text(), nullable=False),
        sa.Column("shows", sa.String(length=40), nullable=False),
        sa.Column("view", sa.String(length=40), nullable=False),
        sa.Column("recorded_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("recorded_by", sa.String(length=32), nullable=False),
        sa.Column("id", sa.String(length=32), nullable=False),
        sa.ForeignKeyConstraint(["athlete_id"], ["athlete.id"], name=op.f("fk_upload_athlete_id_athlete")),
        sa.ForeignKeyConstraint(["visit_id"], ["visit.id"], name=op.f("fk_upload_visit_id_visit")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_upload")),
        sa.UniqueConstraint("visit_id", "pieces_digest", name=op.f("uq_upload_visit_id_pieces_digest")),
    )
    with op.batch_alter_table("upload", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_upload_athlete_id"), ["athlete_id"], unique=False)


def _make_filmed_clip() -> None:
    op.create_table(
        "filmed_clip",
        sa.Column("athlete_id", sa.String(length=32), nullable=False),
        sa.Column("visit_id", sa.String(length=32), nullable=False),
        sa.Column("file_entry_id", sa.String(length=32), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("shows", sa.String(length=40), nullable=False),
        sa.Column("view", sa.String(length=40), nullable=False),
        sa.Column("rate_hz", sa.Float(53), nullable=True),
        sa.Column("thrower", sa.String(length=40), nullable=True),
        sa.Column("marks", sa.Text(), nullable=False),
        sa.Column("is_used", sa.Boolean(), nullable=False),
        sa.Column("recorded_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("recorded_by", sa.String(length=32), nullable=False),
        sa.Column("id", sa.String(length=32), nullable=False),
        sa.ForeignKeyConstraint(["athlete_id"], ["athlete.id"], name=op.f("fk_filmed_clip_athlete_id_athlete")),
        sa.ForeignKeyConstraint(["visit_id"], ["visit.id"], name=op.f("fk_filmed_clip_visit_id_visit")),
        sa.ForeignKeyConstraint(["file_entry_id"], ["file.id"], name=op.f("fk_filmed_clip_file_entry_id_file")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_filmed_clip")),
        sa.UniqueConstraint("visit_id", "version", name=op.f("uq_filmed_clip_visit_id_version")),
    )
    with op.batch_alter_table("filmed_clip", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_filmed_clip_athlete_id"), ["athlete_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_filmed_clip_file_entry_id"), ["file_entry_id"], unique=False)


def _make_clip_check() -> None:
    op.create_table(
        "clip_check",
        sa.Column("athlete_id", sa.String(length=32), nullable=False),
        sa.Column("visit_id", sa.String(length=32), nullable=False),
        sa.Column("file_entry_id", sa.String(length=32), nullable=False),
        sa.Column("lines", sa.Text(), nullable=False),
        sa.Column("recorded_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("recorded_by", sa.String(length=32), nullable=False),
        sa.Column("id", sa.String(length=32), nullable=False),
        sa.ForeignKeyConstraint(["athlete_id"], ["athlete.id"], name=op.f("fk_clip_check_athlete_id_athlete")),
        sa.ForeignKeyConstraint(["visit_id"], ["visit.id"], name=op.f("fk_clip_check_visit_id_visit")),
        sa.ForeignKeyConstraint(["file_entry_id"], ["file.id"], name=op.f("fk_clip_check_file_entry_id_file")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_clip_check")),
    )
    with op.batch_alter_table("clip_check", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_clip_check_athlete_id"), ["athlete_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_clip_check_file_entry_id"), ["file_entry_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_clip_check_visit_id"), ["visit_id"], unique=False)


def _make_proxy() -> None:
    op.create_table(
        "proxy",
        sa.Column("athlete_id", sa.String(length=32), nullable=False),
        sa.Column("visit_id", sa.String(length=32), nullable=False),
        sa.Column("clip_file_entry_id", sa.String(length=32), nullable=False),
        sa.Column("proxy_file_entry_id", sa.String(length=32), nullable=False),
        sa.Column("times_file_entry_id", sa.String(length=32), nullable=False),
        sa.Column("recorded_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("recorded_by", sa.String(length=32), nullable=False),
        sa.Column("id", sa.String(length=32), nullable=False),
        sa.ForeignKeyConstraint(["athlete_id"], ["athlete.id"], name=op.f("fk_proxy_athlete_id_athlete")),
        sa.ForeignKeyConstraint(["visit_id"], ["visit.id"], name=op.f("fk_proxy_visit_id_visit")),
        sa.ForeignKeyConstraint(["clip_file_entry_id"], ["file.id"], name=op.f("fk_proxy_clip_file_entry_id_file")),
        sa.ForeignKeyConstraint(["proxy_file_entry_id"], ["file.id"], name=op.f("fk_proxy_proxy_file_entry_id_file")),
        sa.ForeignKeyConstraint(["times_file_entry_id"], ["file.id"], name=op.f("fk_proxy_times_file_entry_id_file")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_proxy")),
        sa.UniqueConstraint("clip_file_entry_id", name=op.f("uq_proxy_clip_file_entry_id")),
    )
    with op.batch_alter_table("proxy", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_proxy_athlete_id"), ["athlete_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_proxy_visit_id"), ["visit_id"], unique=False)
