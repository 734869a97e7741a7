"""Tables of the plan: intakes, releases, exams, drill rules, drills that were chosen."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"


def upgrade() -> None:
    """Make the tables of the plan, each after those that it refers to."""
    _make_table(
        "intake",
        sa.Column("taken_on", sa.Date(), nullable=False),
        sa.Column("height_m", sa.Float(precision=53), nullable=False),
        sa.Column("content", sa.Text(), nullable=False),
        sa.Column("signs", sa.Text(), nullable=False),
    )
    _make_table(
        "hold_release",
        sa.Column("intake_id", sa.String(length=32), nullable=False),
        sa.Column("signs", sa.Text(), nullable=False),
        sa.Column("released_on", sa.Date(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["intake_id"], ["intake.id"], name=op.f("fk_hold_release_intake_id_intake")),
    )
    with op.batch_alter_table("hold_release", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_hold_release_intake_id"), ["intake_id"], unique=False)
    _make_table(
        "exam",
        sa.Column("examined_on", sa.Date(), nullable=False),
        sa.Column("content", sa.Text(), nullable=False),
    )
    _make_table(
        "drill_plan",
        sa.Column("made_on", sa.Date(), nullable=False),
        sa.Column("content", sa.Text(), nullable=False),
    )
    _make_drill_rules()


def _make_table(name: str, *columns: sa.schema.SchemaItem) -> None:
    """Make a table of versions of something of an athlete."""
    op.create_table(
        name,
        sa.Column("athlete_id", sa.String(length=32), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        *columns,
        sa.Column("recorded_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("recorded_by", sa.String(length=32), nullable=False),
        sa.Column("id", sa.String(length=32), nullable=False),
        sa.ForeignKeyConstraint(["athlete_id"], ["athlete.id"], name=op.f(f"fk_{name}_athlete_id_athlete")),
        sa.PrimaryKeyConstraint("id", name=op.f(f"pk_{name}")),
        sa.UniqueConstraint("athlete_id", "version", name=op.f(f"uq_{name}_athlete_id_version")),
    )


def _make_drill_rules() -> None:
    op.create_table(
        "drill_rules",
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("rules", sa.Text(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.Column("recorded_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("recorded_by", sa.String(length=32), nullable=False),
        sa.Column("id", sa.String(length=32), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_drill_rules")),
        sa.UniqueConstraint("version", name=op.f("uq_drill_rules_version")),
    )
