"""Entries in the tables of a database."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import fields
from itertools import groupby, islice
from typing import Any, TypeVar

from sqlalchemy import Connection, Engine, Table, delete, insert, select

from elbowroom.adapters.record.databases import BARE, READS, is_sealed_file, translate_database_errors
from elbowroom.adapters.record.models import Trail
from elbowroom.adapters.record.tables import JOB, TABLES
from elbowroom.service.record_types import Entry

SomeEntry = TypeVar("SomeEntry", bound=Entry)
ROWS_AT_A_TIME = 2000


class DatabaseEntries:
    """A `RecordEntries` over a database."""

    def __init__(self, engine: Engine) -> None:
        """`engine` comes from `open_sealed_file` or `open_server`, migrated."""
        self._engine = engine

    def add_entries(self, entries: Iterable[Entry]) -> None:
        """Add entries in one transaction, as they come."""
        with translate_database_errors(), self._engine.begin() as connection:
            for kind, group in groupby(entries, key=type):
                while some := [_list_values(entry) for entry in islice(group, ROWS_AT_A_TIME)]:
                    connection.execute(insert(_find_table(kind)), some)

    def find_entries(self, kind: type[SomeEntry], /, **matching: str | int) -> tuple[SomeEntry, ...]:
        """Entries of one kind whose columns equal what is given."""
        table = _find_table(kind)
        query = select(table).where(*(table.c[name] == value for name, value in matching.items()))
        names = [name for name in ("version", "id") if name in table.c]
        with translate_database_errors(), self._open_for_reading() as connection:
            rows = connection.execute(query.order_by(*(table.c[name] for name in names)))
            return tuple(_build_entry(kind, row._mapping) for row in rows)

    def walk_entries(self) -> Iterator[Entry]:
        """All entries as they are when the walk begins."""
        with translate_database_errors(), self._open_for_reading() as connection:
            for kind in TABLES:
                table = _find_table(kind)
                query = select(table).order_by(table.c.id).execution_options(yield_per=ROWS_AT_A_TIME)
                for row in connection.execute(query):
                    yield _build_entry(kind, row._mapping)

    def remove_athlete(self, athlete_id: str) -> dict[str, int]:
        """Delete every row about an athlete but the trail, and rewrite the file so that no old page holds one."""
        counts: Counter[str] = Counter()
        with translate_database_errors(), self._engine.begin() as connection:
            for kind in reversed(TABLES):
                table = _find_table(kind)
                column = table.c.id if table.name == "athlete" else table.c.get("athlete_id")
                if column is not None and table is not Trail.__table__:
                    counts[kind.__name__] = connection.execute(delete(table).where(column == athlete_id)).rowcount
            connection.execute(delete(JOB).where(JOB.c.athlete_id == athlete_id))
        self._rewrite_tables()
        return {name: count for name, count in counts.items() if count}

    def check_entries(self) -> tuple[str, ...]:
        """What the database says of its own pages and references."""
        if not is_sealed_file(self._engine):
            with translate_database_errors():
                return () if sum(1 for _ in self.walk_entries()) else ("The record is empty.",)
        with translate_database_errors(), self._engine.connect().execution_options(**BARE) as connection:
            connection.exec_driver_sql("PRAGMA wal_checkpoint(TRUNCATE)")
            checks = ("cipher_integrity_check", "integrity_check", "foreign_key_check")
            found = [row[0] for check in checks for row in connection.exec_driver_sql(f"PRAGMA {check}")]
        return tuple(f"The database says: {word}." for word in found if word != "ok")

    def _open_for_reading(self) -> Connection:
        return self._engine.connect().execution_options(**READS)

    def _rewrite_tables(self) -> None:
        names = [_find_table(kind).name for kind in TABLES]
        if is_sealed_file(self._engine):
            options, statements = BARE, ["VACUUM", "PRAGMA wal_checkpoint(TRUNCATE)"]
        else:
            options, statements = {"isolation_level": "AUTOCOMMIT"}, [f'VACUUM FULL "{name}"' for name in names]
        with translate_database_errors(), self._engine.connect().execution_options(**options) as connection:
            for statement in statements:
                connection.exec_driver_sql(statement)


def _find_table(kind: type[Entry]) -> Table:
    table = TABLES[kind].__table__
    assert isinstance(table, Table)
    return table


def _list_values(entry: Entry) -> dict[str, Any]:
    return {item.name: getattr(entry, item.name) for item in fields(entry)}


def _build_entry(kind: type[SomeEntry], row: Any) -> SomeEntry:
    return kind(**{item.name: row[item.name] for item in fields(kind)})
