"""Brings the tables of a database to this version."""

from __future__ import annotations

from pathlib import Path

from alembic import command
from alembic.config import Config
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from alembic.util import CommandError
from sqlalchemy import Engine

from elbowroom.adapters.record.databases import READS, translate_database_errors
from elbowroom.errors import RecordError


def apply_migrations(engine: Engine) -> None:
    """Apply the migrations that a database lacks, each whole or not at all.

    Raises `RecordError`, also where a newer elbowroom has migrated it.
    """
    config = build_config()
    with translate_database_errors(), engine.connect().execution_options(**READS) as connection:
        standing = MigrationContext.configure(connection).get_current_revision()
    if standing == find_newest_revision():
        return
    try:
        with translate_database_errors(), engine.begin() as connection:
            config.attributes["connection"] = connection
            command.upgrade(config, "head")
    except CommandError as e:
        raise RecordError("The record was written by a newer elbowroom: use that one.") from e


def find_newest_revision() -> str:
    """Return the name of the newest migration."""
    return str(ScriptDirectory.from_config(build_config()).get_current_head())


def build_config() -> Config:
    """Return what the migration library needs to find the migrations."""
    config = Config()
    config.set_main_option("script_location", str(Path(__file__).parent / "migrations"))
    return config
