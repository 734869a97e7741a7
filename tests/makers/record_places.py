"""The three places where a record may lie: memory, a sealed file, a PostgreSQL server."""

from __future__ import annotations

from pathlib import Path
from uuid import uuid4

import psycopg

from elbowroom.adapters.record.databases import DATABASE_NAME, open_sealed_file, open_server
from elbowroom.adapters.record.day_lists import DatabaseDayLists
from elbowroom.adapters.record.entries import DatabaseEntries
from elbowroom.adapters.record.jobs import DatabaseJobs
from elbowroom.adapters.record.lists import DatabaseLists
from elbowroom.adapters.record.migrating import apply_migrations
from elbowroom.adapters.vault.backups import FolderShelf
from elbowroom.adapters.vault.files import FolderVault
from elbowroom.adapters.vault.ring import RING_NAME, HashCost, KeyRing, make_ring, store_ring
from elbowroom.adapters.vault.uploads import FolderUploads
from elbowroom.service.day_doubles import MemoryDayLists
from elbowroom.service.job_doubles import MemoryJobs
from elbowroom.service.record_doubles import MemoryEntries, MemoryLists, MemoryShelf, MemoryVault
from elbowroom.service.record_tools import RecordTools
from elbowroom.service.upload_doubles import MemoryUploads
from tests.makers.record import PASSPHRASE, make_ids

QUICK = HashCost(memory_kib=64, passes=1, lanes=1)
"""A cost for tests only."""
MEMORY_BACKUPS: dict[str, tuple[list[str], dict[str, bytes]]] = {}


def make_memory_record() -> RecordTools:
    """Return an empty record in memory; backups are shared by all of them."""
    entries, vault = MemoryEntries(), MemoryVault(make_ids(10_000))
    shelf = MemoryShelf(vault, MEMORY_BACKUPS)
    return RecordTools(
        entries=entries,
        lists=MemoryLists(entries),
        days=MemoryDayLists(entries),
        vault=vault,
        shelf=shelf,
        jobs=MemoryJobs(),
        uploads=MemoryUploads(vault),
        make_id=make_ids(first=1),
    )


def make_sealed_record(folder: Path, ring: KeyRing | None = None) -> RecordTools:
    """Return an empty record in a folder."""
    ring = ring or make_ring()
    store_ring(ring, folder / RING_NAME, PASSPHRASE, QUICK)
    return _wire(DatabaseParts(open_sealed_file(folder / DATABASE_NAME, ring.list_database_keys())), folder, ring)


def make_server_record(folder: Path, address: str, ring: KeyRing | None = None) -> RecordTools:
    """Return an empty record in a new database of a server."""
    ring = ring or make_ring()
    store_ring(ring, folder / RING_NAME, PASSPHRASE, QUICK)
    return _wire(DatabaseParts(open_server(make_database(address))), folder, ring)


def make_database(address: str) -> str:
    """Make a new database on a server and return its address."""
    name = f"clinic_{uuid4().hex}"
    with psycopg.connect(address, autocommit=True) as connection:
        connection.execute(f'CREATE DATABASE "{name}" TEMPLATE template0')
    return f"{address.rpartition('/')[0]}/{name}"


class DatabaseParts:
    """A migrated database with what reads and writes it."""

    def __init__(self, engine) -> None:  # type: ignore[no-untyped-def]
        apply_migrations(engine)
        self.engine, self.entries, self.lists = engine, DatabaseEntries(engine), DatabaseLists(engine)
        self.jobs = DatabaseJobs(engine)
        self.days = DatabaseDayLists(engine)


def _wire(parts: DatabaseParts, folder: Path, ring: KeyRing) -> RecordTools:
    return RecordTools(
        entries=parts.entries,
        lists=parts.lists,
        days=parts.days,
        vault=FolderVault(folder, ring.keys, make_ids(10_000)),
        shelf=FolderShelf(folder, ring.keys),
        jobs=parts.jobs,
        uploads=FolderUploads(folder, ring.keys),
        make_id=make_ids(first=1),
    )
