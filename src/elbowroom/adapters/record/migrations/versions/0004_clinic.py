"""Tables of the clinic's own limits, settings and day, and of what was looked through."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"


def upgrade() -> None:
    """Make the tables."""
    op.create_table(
        "tolerance_version",
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("table_text", sa.Text(), nullable=False),
        sa.Column("changed", sa.Text(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        *_make_recorded(),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_tolerance_version")),
        sa.UniqueConstraint("version", name=op.f("uq_tolerance_version_version")),
    )
    op.create_table(
        "settings_version",
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("lengths", sa.String(length=40), nullable=False),
        sa.Column("beyond_from_probability", sa.Float(53), nullable=False),
        sa.Column("within_to_probability", sa.Float(53), nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        *_make_recorded(),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_settings_version")),
        sa.UniqueConstraint("version", name=op.f("uq_settings_version_version")),
    )
    _make_day_place()
    _make_review()
    with op.batch_alter_table("visit", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_visit_made_on"), ["made_on"], unique=False)


def _make_recorded() -> tuple[sa.Column[object], ...]:
    return (
        sa.Column("recorded_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("recorded_by", sa.String(length=32), nullable=False),
        sa.Column("id", sa.String(length=32), nullable=False),
    )


def _make_day_place() -> None:
    op.create_table(
        "day_place",
        sa.Column("athlete_id", sa.String(length=32), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("on_day", sa.Date(), nullable=False),
        sa.Column("is_expected", sa.Boolean(), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        *_make_recorded(),
        sa.ForeignKeyConstraint(["athlete_id"], ["athlete.id"], name=op.f("fk_day_place_athlete_id_athlete")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_day_place")),
        sa.UniqueConstraint("athlete_id", "version", name=op.f("uq_day_place_athlete_id_version")),
    )
    with op.batch_alter_table("day_place", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_day_place_on_day"), ["on_day"], unique=False)


def _make_review() -> None:
    op.create_table(
        "review",
        sa.Column("athlete_id", sa.String(length=32), nullable=False),
        sa.Column("visit_id", sa.String(length=32), nullable=False),
        sa.Column("reviewed_screening_id", sa.String(length=32), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        *_make_recorded(),
        sa.ForeignKeyConstraint(["athlete_id"], ["athlete.id"], name=op.f("fk_review_athlete_id_athlete")),
        sa.ForeignKeyConstraint(["visit_id"], ["visit.id"], name=op.f("fk_review_visit_id_visit")),
        sa.ForeignKeyConstraint(
            ["reviewed_screening_id"], ["screening.id"], name=op.f("fk_review_reviewed_screening_id_screening")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_review")),
        sa.UniqueConstraint("reviewed_screening_id", name=op.f("uq_review_reviewed_screening_id")),
    )
    with op.batch_alter_table("review", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_review_athlete_id"), ["athlete_id"], unique=False)
