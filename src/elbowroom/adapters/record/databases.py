"""Opens the database of a record: a sealed SQLite file or a PostgreSQL server."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from sqlalchemy import Engine, create_engine, event, text
from sqlalchemy.exc import DBAPIError, IntegrityError, SQLAlchemyError
from sqlalchemy.pool import NullPool
from sqlcipher3 import dbapi2

from elbowroom.errors import ConflictError, DamageError, RecordError

DATABASE_NAME = "record.db"
WAIT_S = 20.0
"""How long one writer waits for another."""
READS, BARE = {"begins": "BEGIN"}, {"begins": ""}
"""Options of a connection that only reads, and of one that runs a statement outside of any transaction."""
DAMAGE_WORDS = ("malformed", "not a database", "hmac", "disk i/o error", "invalid page", "could not read block")
FULL_WORDS = ("database or disk is full", "no space left", "could not extend file", "quota exceeded")
BUSY_WORDS = ("locked", "busy", "could not serialize", "deadlock")
AWAY_WORDS = ("connection", "could not translate host", "server closed", "password authentication", "no such role")


def open_sealed_file(path: Path, keys: Sequence[bytes]) -> Engine:
    """Open a SQLite file that SQLCipher seals, with the first of some raw keys that fits; a new file takes the first.

    Raises `DamageError` where no key fits, `RecordError` where the file cannot be opened.
    """
    for key in keys:
        engine = _build_sealed_engine(path, key)
        if _does_open(engine):
            return engine
        engine.dispose()
    raise DamageError(f"{path.name} is not as it was written: restore the record from a backup, and check the disk.")


def open_server(address: str) -> Engine:
    """Open a PostgreSQL database; raises `RecordError` where the server cannot be reached."""
    scheme, _, rest = address.partition("://")
    if scheme not in ("postgresql", "postgres") or not rest:
        raise RecordError("The record's place is no address of a PostgreSQL database: write postgresql://...")
    engine = create_engine(f"postgresql+psycopg://{rest}", isolation_level="REPEATABLE READ", poolclass=NullPool)
    with translate_database_errors(), engine.connect() as connection:
        connection.execute(text("SELECT 1"))
    return engine


def change_file_key(engine: Engine, key: bytes) -> None:
    """Seal a SQLite file under another raw key; raises `RecordError`."""
    with translate_database_errors(), engine.connect().execution_options(**BARE) as connection:
        connection.exec_driver_sql("PRAGMA wal_checkpoint(TRUNCATE)")
        connection.exec_driver_sql(f"PRAGMA rekey = \"x'{key.hex()}'\"")
    engine.dispose()


def is_sealed_file(engine: Engine) -> bool:
    """Say whether the database is a SQLite file."""
    return engine.dialect.name == "sqlite"


@contextmanager
def translate_database_errors() -> Iterator[None]:
    """Turn what a database raises into our errors, each with what to do."""
    try:
        yield
    except IntegrityError as e:
        raise ConflictError("Somebody else changed this meanwhile, or it is there already: look and try again.") from e
    except DBAPIError as e:
        raise _choose_error(str(e.orig).lower()) from e
    except SQLAlchemyError as e:
        raise RecordError(
            f"The record cannot be used ({type(e).__name__}): try again, and report it if it stays."
        ) from e
    except dbapi2.Error as e:
        raise _choose_error(str(e).lower()) from e


def _choose_error(words: str) -> RecordError:
    def has(some: Sequence[str]) -> bool:
        return any(word in words for word in some)

    if has(FULL_WORDS):
        return RecordError("The disk is full, so nothing of this was kept: make room and try again.")
    if has(DAMAGE_WORDS):
        return DamageError("The record is not as it was written: restore it from a backup, and check the disk.")
    if has(BUSY_WORDS):
        return ConflictError("Somebody else is writing to the record: try again in a moment.")
    if has(AWAY_WORDS):
        return RecordError(
            f"The PostgreSQL server cannot be used ({words.strip().splitlines()[0]}): check that it runs."
        )
    return RecordError(f"The record cannot be used ({words.strip().splitlines()[0]}): check the disk and try again.")


def _build_sealed_engine(path: Path, key: bytes) -> Engine:
    # A connection a use: none stays open across a fork, a new key or a removal.
    engine = create_engine("sqlite://", creator=lambda: _connect(path, key), poolclass=NullPool, module=dbapi2)

    @event.listens_for(engine, "begin")
    def begin_now(connection: Any) -> None:
        # Takes the writer's place at once: two writers then wait for one another instead of failing midway.
        begins = connection.get_execution_options().get("begins", "BEGIN IMMEDIATE")
        if begins:
            connection.exec_driver_sql(begins)

    return engine


def _connect(path: Path, key: bytes) -> Any:
    connection = dbapi2.connect(str(path), timeout=WAIT_S, isolation_level=None, check_same_thread=False)
    # The library writes of damage to the error stream of the process, where a person would see it.
    connection.execute("PRAGMA cipher_log_level = NONE")
    connection.execute(f"PRAGMA key = \"x'{key.hex()}'\"")
    for setting in ("journal_mode = WAL", "synchronous = FULL", "foreign_keys = ON", "secure_delete = ON"):
        connection.execute(f"PRAGMA {setting}")
    return connection


def _does_open(engine: Engine) -> bool:
    try:
        with engine.connect().execution_options(**READS) as connection:
            connection.exec_driver_sql("SELECT count(*) FROM sqlite_master")
    except (DBAPIError, dbapi2.DatabaseError) as e:
        if "not a database" in str(e).lower() or "hmac" in str(e).lower():
            return False
        raise _choose_error(str(e).lower()) from e
    return True
