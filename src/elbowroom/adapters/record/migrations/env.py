"""Runs migrations on a connection that the caller has opened; there is no other way in."""

from __future__ import annotations

from alembic import context

from elbowroom.adapters.record.tables import Base

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=Base.metadata,
    render_as_batch=True,
    compare_type=True,
)
with context.begin_transaction():
    context.run_migrations()
