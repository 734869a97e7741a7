"""Passwords, attempts to log in, and keys for programs."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"


def upgrade() -> None:
    """Make the tables of those who work with the record."""
    op.create_table(
        "password",
        sa.Column("person_id", sa.String(length=32), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("hashed", sa.Text(), nullable=False),
        *_list_common_columns(),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_password")),
        sa.UniqueConstraint("person_id", "version", name=op.f("uq_password_person_id_version")),
    )
    op.create_table(
        "log_in_attempt",
        sa.Column("name_digest", sa.String(length=64), nullable=False),
        sa.Column("address", sa.String(length=64), nullable=False),
        sa.Column("went_well", sa.Boolean(), nullable=False),
        *_list_common_columns(),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_log_in_attempt")),
    )
    for column in ("name_digest", "address"):
        op.create_index(op.f(f"ix_log_in_attempt_{column}"), "log_in_attempt", [column], unique=False)
    _make_program_keys()


def _make_program_keys() -> None:
    op.create_table(
        "program_key",
        sa.Column("person_id", sa.String(length=32), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("scopes", sa.String(length=200), nullable=False),
        sa.Column("digest", sa.String(length=64), nullable=False),
        *_list_common_columns(),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_program_key")),
        sa.UniqueConstraint("digest", name=op.f("uq_program_key_digest")),
    )
    op.create_index(op.f("ix_program_key_person_id"), "program_key", ["person_id"], unique=False)
    op.create_table(
        "program_key_end",
        sa.Column("program_key_id", sa.String(length=32), nullable=False),
        *_list_common_columns(),
        sa.ForeignKeyConstraint(
            ["program_key_id"], ["program_key.id"], name=op.f("fk_program_key_end_program_key_id_program_key")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_program_key_end")),
        sa.UniqueConstraint("program_key_id", name=op.f("uq_program_key_end_program_key_id")),
    )


def _list_common_columns() -> list[sa.Column[object]]:
    return [
        sa.Column("recorded_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("recorded_by", sa.String(length=32), nullable=False),
        sa.Column("id", sa.String(length=32), nullable=False),
    ]
