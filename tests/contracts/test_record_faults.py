"""What goes wrong with a record on a disk or a server: each a sentence of ours, and nothing lost.

Sides: bytes changed in the file; SQLite's own limit on pages standing in for a full disk; threads that write at once;
the migrations against the models; the decrypted file searched for what was forgotten.
"""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from pathlib import Path

import pytest
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from cryptography.hazmat.primitives.ciphers import Cipher
from cryptography.hazmat.primitives.ciphers.algorithms import AES
from cryptography.hazmat.primitives.ciphers.modes import CBC
from sqlalchemy import Engine, event

from elbowroom import bootstrap
from elbowroom.adapters.record.databases import DATABASE_NAME, change_file_key, open_sealed_file, open_server
from elbowroom.adapters.record.entries import DatabaseEntries
from elbowroom.adapters.record.migrating import apply_migrations
from elbowroom.adapters.record.models import Base
from elbowroom.adapters.vault.ring import RING_NAME, make_ring
from elbowroom.errors import ConflictError, DamageError, PassphraseError, RecordError
from elbowroom.service.athletes import add_athlete, add_athlete_version
from elbowroom.service.backing_up import back_up_record, check_record
from elbowroom.service.forgetting import forget_athlete
from elbowroom.service.keeping import keep_visit
from elbowroom.service.record_types import AthleteEntry, AthleteVersion, FileEntry, VisitEntry
from elbowroom.settings import RecordSettings
from tests.makers.record import ADULT, CHILD, PASSPHRASE, STAMP, add_child, begin_clinic, make_parcel
from tests.makers.record_places import make_database, make_sealed_record

KEY = b"1" * 32
Opener = Callable[[], Engine]


@pytest.fixture(params=["sealed file", "server"])
def open_engine(request: pytest.FixtureRequest, tmp_path: Path) -> Opener:
    """Give a way to open one and the same database again and again."""
    if request.param == "sealed file":
        return lambda: open_sealed_file(tmp_path / DATABASE_NAME, [KEY])
    address = make_database(request.getfixturevalue("postgres_address"))
    return lambda: open_server(address)


def test_migrations_make_what_the_models_say(open_engine: Opener) -> None:
    engine = open_engine()
    apply_migrations(engine)
    with engine.connect() as connection:
        assert compare_metadata(MigrationContext.configure(connection), Base.metadata) == []


def test_migrations_run_once_and_refuse_a_newer_database(open_engine: Opener) -> None:
    engine = open_engine()
    apply_migrations(engine)
    apply_migrations(engine)
    with engine.begin() as connection:
        connection.exec_driver_sql("UPDATE alembic_version SET version_num = '9999'")
    with pytest.raises(RecordError, match="newer elbowroom"):
        apply_migrations(engine)


def test_two_writers_lose_nothing(open_engine: Opener) -> None:
    apply_migrations(open_engine())

    def write(writer: int) -> None:
        entries = DatabaseEntries(open_engine())
        for number in range(12):
            one = AthleteEntry(id=f"{writer:016x}{number:016x}", recorded_at=STAMP.at, recorded_by="a")
            entries.add_entries([one])

    with ThreadPoolExecutor(4) as pool:
        list(pool.map(write, range(4)))
    assert len(DatabaseEntries(open_engine()).find_entries(AthleteEntry)) == 48


def test_of_two_writers_of_one_version_one_is_told(open_engine: Opener) -> None:
    apply_migrations(open_engine())
    athlete = AthleteEntry(id="a", recorded_at=STAMP.at, recorded_by="a")
    first = AthleteVersion(id="v0", athlete_id="a", version=1, recorded_at=STAMP.at, recorded_by="a", **vars(ADULT))
    DatabaseEntries(open_engine()).add_entries([athlete, first])

    def write(writer: int) -> bool:
        try:
            DatabaseEntries(open_engine()).add_entries([replace(first, id=f"v{writer}", version=2)])
        except ConflictError:
            return False
        return True

    with ThreadPoolExecutor(4) as pool:
        assert sorted(pool.map(write, range(1, 5))) == [False, False, False, True]
    assert len(DatabaseEntries(open_engine()).find_entries(AthleteVersion)) == 2


def test_wrong_key_and_no_database_are_damage(tmp_path: Path, capfd: pytest.CaptureFixture[str]) -> None:
    apply_migrations(open_sealed_file(tmp_path / DATABASE_NAME, [KEY]))
    with pytest.raises(DamageError, match="restore the record from a backup"):
        open_sealed_file(tmp_path / DATABASE_NAME, [b"2" * 32])
    (tmp_path / "noise").write_bytes(b"noise" * 5000)
    with pytest.raises(DamageError):
        open_sealed_file(tmp_path / "noise", [KEY])
    assert capfd.readouterr().err == ""


def test_key_of_a_file_changes(tmp_path: Path) -> None:
    path = tmp_path / DATABASE_NAME
    engine = open_sealed_file(path, [KEY])
    apply_migrations(engine)
    change_file_key(engine, b"2" * 32)
    apply_migrations(open_sealed_file(path, [b"3" * 32, b"2" * 32]))
    with pytest.raises(DamageError):
        open_sealed_file(path, [KEY])


def test_changed_page_is_noticed(tmp_path: Path) -> None:
    tools = make_sealed_record(tmp_path)
    begin_clinic(tools)
    for number in range(60):
        add_athlete(tools, replace(ADULT, name=f"Player {number}", note="x" * 400), STAMP)
    assert tools.entries.check_entries() == ()
    path = tmp_path / DATABASE_NAME
    content = bytearray(path.read_bytes())
    for page in range(2, len(content) // 4096):
        content[page * 4096 + 100] ^= 1
    path.write_bytes(content)
    with pytest.raises(DamageError, match="restore it from a backup"):
        tools.entries.find_entries(AthleteVersion)


def test_one_changed_page_is_found_by_the_check(tmp_path: Path) -> None:
    tools = make_sealed_record(tmp_path)
    begin_clinic(tools)
    for number in range(60):
        add_athlete(tools, replace(ADULT, name=f"Player {number}", note="x" * 400), STAMP)
    tools.entries.check_entries()
    path = tmp_path / DATABASE_NAME
    content = bytearray(path.read_bytes())
    content[-2000] ^= 1
    path.write_bytes(content)
    try:
        problems = tools.entries.check_entries()
    except DamageError as e:
        problems = (str(e),)
    assert problems


def test_changed_clip_is_named_by_the_check(tmp_path: Path) -> None:
    tools = make_sealed_record(tmp_path)
    begin_clinic(tools)
    keep_visit(tools, add_child(tools), make_parcel(tmp_path / "v"), STAMP)
    (file,) = tools.entries.find_entries(FileEntry, name="side.mp4")
    path = tmp_path / "files" / f"{file.file_id}.sealed"
    content = bytearray(path.read_bytes())
    content[1000] ^= 1
    path.write_bytes(content)
    (problem,) = check_record(tools, STAMP).problems
    assert problem.startswith("side.mp4: ")
    assert "restore it from a backup" in problem


def test_full_database_keeps_what_was_there(tmp_path: Path) -> None:
    engine = open_sealed_file(tmp_path / DATABASE_NAME, [KEY])
    apply_migrations(engine)
    entries = DatabaseEntries(engine)
    entries.add_entries([AthleteEntry(id="a", recorded_at=STAMP.at, recorded_by="a")])

    @event.listens_for(engine, "connect")
    def limit_pages(connection, record) -> None:  # type: ignore[no-untyped-def]
        pages = connection.execute("PRAGMA page_count").fetchone()[0]
        connection.execute(f"PRAGMA max_page_count = {pages + 2}")

    many = [AthleteEntry(id=f"{number:032x}", recorded_at=STAMP.at, recorded_by="a") for number in range(3000)]
    with pytest.raises(RecordError, match="disk is full"):
        entries.add_entries(many)
    assert [entry.id for entry in entries.find_entries(AthleteEntry)] == ["a"]
    assert entries.check_entries() == ()


def test_forgotten_name_is_in_no_page(tmp_path: Path) -> None:
    ring = make_ring()
    tools = make_sealed_record(tmp_path, ring)
    begin_clinic(tools)
    athlete_id = add_child(tools, replace(CHILD, name="Unmistakable Name"))
    keep_visit(tools, athlete_id, make_parcel(tmp_path / "v"), STAMP)
    add_athlete(tools, replace(ADULT, name="Another Who Stays"), STAMP)
    tools.entries.check_entries()
    assert "Unmistakable" in read_plain_pages(tmp_path, ring.list_database_keys()[0])
    forget_athlete(tools, athlete_id, STAMP)
    plain = read_plain_pages(tmp_path, ring.list_database_keys()[0])
    assert "Another Who Stays" in plain
    assert "Unmistakable" not in plain
    assert not (tmp_path / f"{DATABASE_NAME}-wal").exists() or not (tmp_path / f"{DATABASE_NAME}-wal").stat().st_size


def read_plain_pages(folder: Path, key: bytes) -> str:
    """Decrypt every page of the file, free ones too, and return them as text.

    SQLCipher 4: pages of 4096 bytes under AES-256-CBC; the last 80 of each are its vector and HMAC, the first 16 of
    the first page the salt (from the published design of SQLCipher, second-hand).
    """
    content = (folder / DATABASE_NAME).read_bytes()
    plain = b""
    for start in range(0, len(content), 4096):
        page = content[start : start + 4096]
        cipher = Cipher(AES(key), CBC(page[-80:-64])).decryptor()
        plain += cipher.update(page[0 if start else 16 : -80])
    return plain.decode("latin-1")


@pytest.fixture
def settings(tmp_path: Path) -> RecordSettings:
    return RecordSettings(folder=tmp_path / "record", address="", passphrase_file=None)


def test_damaged_backup_restores_nothing(tmp_path: Path, settings: RecordSettings) -> None:
    tools = bootstrap.begin_record(settings, PASSPHRASE)
    begin_clinic(tools)
    keep_visit(tools, add_child(tools), make_parcel(tmp_path / "v"), STAMP)
    path = tmp_path / "b"
    back_up_record(tools, path, STAMP)
    sound = path.read_bytes()
    new = replace(settings, folder=tmp_path / "new")
    places = {"entries": sound.index(b"elbowroom sealed 1") + 60, "a file": sound.rindex(b"elbowroom sealed 1") + 60}
    for place in places.values():
        path.write_bytes(sound[:place] + bytes([sound[place] ^ 1]) + sound[place + 1 :])
        with pytest.raises(DamageError):
            bootstrap.restore_backup(new, PASSPHRASE, path)
    path.write_bytes(sound[: len(sound) // 2])
    with pytest.raises(DamageError):
        bootstrap.restore_backup(new, PASSPHRASE, path)
    path.write_bytes(sound)
    with pytest.raises(PassphraseError):
        bootstrap.restore_backup(new, "another passphrase", path)
    assert not new.folder.exists()
    assert sorted(item.name for item in tmp_path.iterdir()) == ["b", "record", "v"]
    assert bootstrap.restore_backup(new, PASSPHRASE, path).file_count == 4
    with pytest.raises(RecordError, match="a record already"):
        bootstrap.restore_backup(new, PASSPHRASE, path)


def test_record_moves_to_a_server_by_backup_and_restore(
    tmp_path: Path, settings: RecordSettings, postgres_address: str
) -> None:
    tools = bootstrap.begin_record(settings, PASSPHRASE)
    begin_clinic(tools)
    keep_visit(tools, add_child(tools), make_parcel(tmp_path / "v"), STAMP)
    facts = back_up_record(tools, tmp_path / "b", STAMP)
    server = RecordSettings(folder=tmp_path / "vault", address=make_database(postgres_address), passphrase_file=None)
    assert bootstrap.restore_backup(server, PASSPHRASE, tmp_path / "b") == facts
    moved = bootstrap.open_record(server, PASSPHRASE)
    assert moved.entries.find_entries(VisitEntry) == tools.entries.find_entries(VisitEntry)
    with pytest.raises(RecordError, match="holds a record already"):
        bootstrap.restore_backup(replace(server, folder=tmp_path / "other"), PASSPHRASE, tmp_path / "b")


def test_changing_keys_cut_off_midway_is_finished_by_doing_it_again(tmp_path: Path, settings: RecordSettings) -> None:
    tools = bootstrap.begin_record(settings, PASSPHRASE)
    begin_clinic(tools)
    athlete_id = add_child(tools)
    keep_visit(tools, athlete_id, make_parcel(tmp_path / "v"), STAMP)
    ring = bootstrap.read_ring(settings.folder / RING_NAME, PASSPHRASE)
    bootstrap.store_ring(ring.add_key(), settings.folder / RING_NAME, PASSPHRASE)
    between = bootstrap.open_record(settings, PASSPHRASE)
    assert check_record(between, STAMP).problems == ()
    add_athlete_version(between, athlete_id, CHILD, 1, STAMP)
    assert bootstrap.change_keys(settings, PASSPHRASE) == 4
    after = bootstrap.open_record(settings, PASSPHRASE)
    assert check_record(after, STAMP).problems == ()
    assert len(after.entries.find_entries(AthleteVersion, athlete_id=athlete_id)) == 2
