"""First tables of the record."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None


def upgrade() -> None:
    """Make the first tables, each after those that it refers to."""
    _make_athlete()
    _make_clinic()
    _make_person()
    _make_trail()
    _make_athlete_version()
    _make_guardian()
    _make_visit()
    _make_consent()
    _make_correction()
    _make_file()
    _make_clip()
    _make_screening()
    _make_withdrawal()
    _make_finding()
    _make_throw()


def _make_athlete() -> None:
    op.create_table(
        "athlete",
        sa.Column("recorded_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("recorded_by", sa.String(length=32), nullable=False),
        sa.Column("id", sa.String(length=32), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_athlete")),
    )


def _make_clinic() -> None:
    op.create_table(
        "clinic",
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("keep_years", sa.Integer(), nullable=False),
        sa.Column("keep_until_age_years", sa.Integer(), nullable=False),
        sa.Column("recorded_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("recorded_by", sa.String(length=32), nullable=False),
        sa.Column("id", sa.String(length=32), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_clinic")),
        sa.UniqueConstraint("version", name=op.f("uq_clinic_version")),
    )


def _make_person() -> None:
    op.create_table(
        "person",
        sa.Column("person_id", sa.String(length=32), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("role", sa.String(length=40), nullable=False),
        sa.Column("recorded_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("recorded_by", sa.String(length=32), nullable=False),
        sa.Column("id", sa.String(length=32), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_person")),
        sa.UniqueConstraint("person_id", "version", name=op.f("uq_person_person_id_version")),
    )


def _make_trail() -> None:
    op.create_table(
        "trail",
        sa.Column("act", sa.String(length=40), nullable=False),
        sa.Column("athlete_id", sa.String(length=32), nullable=False),
        sa.Column("what", sa.Text(), nullable=False),
        sa.Column("recorded_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("recorded_by", sa.String(length=32), nullable=False),
        sa.Column("id", sa.String(length=32), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_trail")),
    )
    with op.batch_alter_table("trail", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_trail_athlete_id"), ["athlete_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_trail_recorded_at"), ["recorded_at"], unique=False)


def _make_athlete_version() -> None:
    op.create_table(
        "athlete_version",
        sa.Column("athlete_id", sa.String(length=32), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("born_on", sa.Date(), nullable=False),
        sa.Column("hand", sa.String(length=40), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("name_key", sa.Text().with_variant(sa.Text(collation="C"), "postgresql"), nullable=False),
        sa.Column("recorded_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("recorded_by", sa.String(length=32), nullable=False),
        sa.Column("id", sa.String(length=32), nullable=False),
        sa.ForeignKeyConstraint(["athlete_id"], ["athlete.id"], name=op.f("fk_athlete_version_athlete_id_athlete")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_athlete_version")),
        sa.UniqueConstraint("athlete_id", "version", name=op.f("uq_athlete_version_athlete_id_version")),
    )


def _make_guardian() -> None:
    op.create_table(
        "guardian",
        sa.Column("athlete_id", sa.String(length=32), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("relation", sa.Text(), nullable=False),
        sa.Column("recorded_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("recorded_by", sa.String(length=32), nullable=False),
        sa.Column("id", sa.String(length=32), nullable=False),
        sa.ForeignKeyConstraint(["athlete_id"], ["athlete.id"], name=op.f("fk_guardian_athlete_id_athlete")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_guardian")),
    )
    with op.batch_alter_table("guardian", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_guardian_athlete_id"), ["athlete_id"], unique=False)


def _make_visit() -> None:
    op.create_table(
        "visit",
        sa.Column("athlete_id", sa.String(length=32), nullable=False),
        sa.Column("made_on", sa.Date(), nullable=False),
        sa.Column("height_m", sa.Float(), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("clips_digest", sa.String(length=64), nullable=False),
        sa.Column("recorded_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("recorded_by", sa.String(length=32), nullable=False),
        sa.Column("id", sa.String(length=32), nullable=False),
        sa.ForeignKeyConstraint(["athlete_id"], ["athlete.id"], name=op.f("fk_visit_athlete_id_athlete")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_visit")),
        sa.UniqueConstraint("athlete_id", "clips_digest", name=op.f("uq_visit_athlete_id_clips_digest")),
    )
    with op.batch_alter_table("visit", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_visit_athlete_id_made_on"), ["athlete_id", "made_on"], unique=False)


def _make_consent() -> None:
    op.create_table(
        "consent",
        sa.Column("athlete_id", sa.String(length=32), nullable=False),
        sa.Column("guardian_id", sa.String(length=32), nullable=True),
        sa.Column("purpose", sa.String(length=40), nullable=False),
        sa.Column("given_on", sa.Date(), nullable=False),
        sa.Column("recorded_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("recorded_by", sa.String(length=32), nullable=False),
        sa.Column("id", sa.String(length=32), nullable=False),
        sa.ForeignKeyConstraint(["athlete_id"], ["athlete.id"], name=op.f("fk_consent_athlete_id_athlete")),
        sa.ForeignKeyConstraint(["guardian_id"], ["guardian.id"], name=op.f("fk_consent_guardian_id_guardian")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_consent")),
    )
    with op.batch_alter_table("consent", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_consent_athlete_id"), ["athlete_id"], unique=False)


def _make_correction() -> None:
    op.create_table(
        "correction",
        sa.Column("athlete_id", sa.String(length=32), nullable=False),
        sa.Column("visit_id", sa.String(length=32), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("kind", sa.String(length=40), nullable=False),
        sa.Column("throw_number", sa.Integer(), nullable=False),
        sa.Column("what", sa.Text(), nullable=False),
        sa.Column("before", sa.Text(), nullable=False),
        sa.Column("after", sa.Text(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.Column("recorded_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("recorded_by", sa.String(length=32), nullable=False),
        sa.Column("id", sa.String(length=32), nullable=False),
        sa.ForeignKeyConstraint(["athlete_id"], ["athlete.id"], name=op.f("fk_correction_athlete_id_athlete")),
        sa.ForeignKeyConstraint(["visit_id"], ["visit.id"], name=op.f("fk_correction_visit_id_visit")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_correction")),
        sa.UniqueConstraint("visit_id", "version", name=op.f("uq_correction_visit_id_version")),
    )
    with op.batch_alter_table("correction", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_correction_athlete_id"), ["athlete_id"], unique=False)


def _make_file() -> None:
    op.create_table(
        "file",
        sa.Column("athlete_id", sa.String(length=32), nullable=False),
        sa.Column("visit_id", sa.String(length=32), nullable=False),
        sa.Column("file_id", sa.String(length=130), nullable=False),
        sa.Column("kind", sa.String(length=40), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("digest", sa.String(length=64), nullable=False),
        sa.Column("size_bytes", sa.BigInteger(), nullable=False),
        sa.Column("recorded_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("recorded_by", sa.String(length=32), nullable=False),
        sa.Column("id", sa.String(length=32), nullable=False),
        sa.ForeignKeyConstraint(["athlete_id"], ["athlete.id"], name=op.f("fk_file_athlete_id_athlete")),
        sa.ForeignKeyConstraint(["visit_id"], ["visit.id"], name=op.f("fk_file_visit_id_visit")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_file")),
        sa.UniqueConstraint("file_id", name=op.f("uq_file_file_id")),
    )
    with op.batch_alter_table("file", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_file_athlete_id"), ["athlete_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_file_visit_id"), ["visit_id"], unique=False)


def _make_clip() -> None:
    op.create_table(
        "clip",
        sa.Column("athlete_id", sa.String(length=32), nullable=False),
        sa.Column("visit_id", sa.String(length=32), nullable=False),
        sa.Column("file_entry_id", sa.String(length=32), nullable=False),
        sa.Column("view", sa.String(length=40), nullable=False),
        sa.Column("id", sa.String(length=32), nullable=False),
        sa.ForeignKeyConstraint(["athlete_id"], ["athlete.id"], name=op.f("fk_clip_athlete_id_athlete")),
        sa.ForeignKeyConstraint(["file_entry_id"], ["file.id"], name=op.f("fk_clip_file_entry_id_file")),
        sa.ForeignKeyConstraint(["visit_id"], ["visit.id"], name=op.f("fk_clip_visit_id_visit")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_clip")),
    )
    with op.batch_alter_table("clip", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_clip_athlete_id"), ["athlete_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_clip_file_entry_id"), ["file_entry_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_clip_visit_id"), ["visit_id"], unique=False)


def _make_screening() -> None:
    op.create_table(
        "screening",
        sa.Column("athlete_id", sa.String(length=32), nullable=False),
        sa.Column("visit_id", sa.String(length=32), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("made_on", sa.Date(), nullable=False),
        sa.Column("report_entry_id", sa.String(length=32), nullable=False),
        sa.Column("corrections_version", sa.Integer(), nullable=False),
        sa.Column("tool_version", sa.Text(), nullable=False),
        sa.Column("tolerances", sa.Text(), nullable=False),
        sa.Column("recorded_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("recorded_by", sa.String(length=32), nullable=False),
        sa.Column("id", sa.String(length=32), nullable=False),
        sa.ForeignKeyConstraint(["athlete_id"], ["athlete.id"], name=op.f("fk_screening_athlete_id_athlete")),
        sa.ForeignKeyConstraint(["report_entry_id"], ["file.id"], name=op.f("fk_screening_report_entry_id_file")),
        sa.ForeignKeyConstraint(["visit_id"], ["visit.id"], name=op.f("fk_screening_visit_id_visit")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_screening")),
        sa.UniqueConstraint("visit_id", "version", name=op.f("uq_screening_visit_id_version")),
    )
    with op.batch_alter_table("screening", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_screening_athlete_id"), ["athlete_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_screening_report_entry_id"), ["report_entry_id"], unique=False)


def _make_withdrawal() -> None:
    op.create_table(
        "withdrawal",
        sa.Column("athlete_id", sa.String(length=32), nullable=False),
        sa.Column("consent_id", sa.String(length=32), nullable=False),
        sa.Column("withdrawn_on", sa.Date(), nullable=False),
        sa.Column("recorded_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("recorded_by", sa.String(length=32), nullable=False),
        sa.Column("id", sa.String(length=32), nullable=False),
        sa.ForeignKeyConstraint(["athlete_id"], ["athlete.id"], name=op.f("fk_withdrawal_athlete_id_athlete")),
        sa.ForeignKeyConstraint(["consent_id"], ["consent.id"], name=op.f("fk_withdrawal_consent_id_consent")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_withdrawal")),
        sa.UniqueConstraint("consent_id", name=op.f("uq_withdrawal_consent_id")),
    )
    with op.batch_alter_table("withdrawal", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_withdrawal_athlete_id"), ["athlete_id"], unique=False)


def _make_finding() -> None:
    op.create_table(
        "finding",
        sa.Column("athlete_id", sa.String(length=32), nullable=False),
        sa.Column("screening_id", sa.String(length=32), nullable=False),
        sa.Column("measure", sa.String(length=120), nullable=False),
        sa.Column("value", sa.Float(53), nullable=True),
        sa.Column("standard", sa.Float(53), nullable=True),
        sa.Column("unit", sa.String(length=20), nullable=False),
        sa.Column("verdict", sa.String(length=40), nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.Column("probability_beyond", sa.Float(53), nullable=True),
        sa.Column("tolerance_version", sa.String(length=80), nullable=False),
        sa.Column("id", sa.String(length=32), nullable=False),
        sa.ForeignKeyConstraint(["athlete_id"], ["athlete.id"], name=op.f("fk_finding_athlete_id_athlete")),
        sa.ForeignKeyConstraint(["screening_id"], ["screening.id"], name=op.f("fk_finding_screening_id_screening")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_finding")),
        sa.UniqueConstraint("screening_id", "measure", name=op.f("uq_finding_screening_id_measure")),
    )
    with op.batch_alter_table("finding", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_finding_athlete_id_measure"), ["athlete_id", "measure"], unique=False)


def _make_throw() -> None:
    op.create_table(
        "throw",
        sa.Column("athlete_id", sa.String(length=32), nullable=False),
        sa.Column("screening_id", sa.String(length=32), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("clips", sa.Text(), nullable=False),
        sa.Column("id", sa.String(length=32), nullable=False),
        sa.ForeignKeyConstraint(["athlete_id"], ["athlete.id"], name=op.f("fk_throw_athlete_id_athlete")),
        sa.ForeignKeyConstraint(["screening_id"], ["screening.id"], name=op.f("fk_throw_screening_id_screening")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_throw")),
        sa.UniqueConstraint("screening_id", "number", name=op.f("uq_throw_screening_id_number")),
    )
    with op.batch_alter_table("throw", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_throw_athlete_id"), ["athlete_id"], unique=False)
