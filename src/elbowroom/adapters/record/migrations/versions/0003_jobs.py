"""The table of jobs."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"


def upgrade() -> None:
    """Make the table of jobs."""
    op.create_table(
        "job",
        sa.Column("kind", sa.String(length=40), nullable=False),
        sa.Column("athlete_id", sa.String(length=32), nullable=False),
        sa.Column("visit_id", sa.String(length=32), nullable=False),
        sa.Column("subject_id", sa.String(length=32), nullable=False),
        sa.Column("input_digest", sa.String(length=64), nullable=False),
        sa.Column("work_bytes", sa.BigInteger(), nullable=False),
        sa.Column("made_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("made_by", sa.String(length=32), nullable=False),
        sa.Column("tool_version", sa.Text(), nullable=False),
        sa.Column("state", sa.String(length=40), nullable=False),
        sa.Column("attempt", sa.Integer(), nullable=False),
        sa.Column("worker", sa.Text(), nullable=False),
        sa.Column("beat", sa.Integer(), nullable=False),
        *(sa.Column(f"{name}_at", sa.DateTime(timezone=True), nullable=True) for name in MOMENTS),
        sa.Column("stage", sa.Text(), nullable=False),
        sa.Column("done", sa.Integer(), nullable=False),
        sa.Column("total", sa.Integer(), nullable=False),
        sa.Column("error", sa.Text(), nullable=False),
        sa.Column("slot", sa.String(length=120), nullable=False),
        sa.Column("id", sa.String(length=32), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_job")),
        sa.UniqueConstraint("slot", name=op.f("uq_job_slot")),
    )
    with op.batch_alter_table("job", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_job_state_made_at"), ["state", "made_at"], unique=False)
        batch_op.create_index(batch_op.f("ix_job_visit_id"), ["visit_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_job_athlete_id"), ["athlete_id"], unique=False)


MOMENTS = ("started", "heartbeat", "finished")
