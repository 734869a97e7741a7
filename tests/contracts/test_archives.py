"""The whole record of one athlete as one archive: given, read by another reader, taken in, refused when changed.

Sides: the in-memory double and the real shelf on a sealed record and a server; a plain archive under the standard
library's own unzip; every byte of a sealed one changed is noticed; what was taken in equals what was given, entry by
entry and file by file; nothing stays after a refusal.
"""

from __future__ import annotations

import hashlib
import json
import zipfile
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from elbowroom.adapters.vault.archives import FileArchives
from elbowroom.errors import DamageError, PassphraseError, RecordError
from elbowroom.service.archive_doubles import MemoryArchives
from elbowroom.service.archive_ports import ArchiveShelf
from elbowroom.service.archives import (
    ENTRIES,
    list_entries_about,
    name_item,
    take_athlete,
    write_athlete_archive,
)
from elbowroom.service.forgetting import forget_athlete
from elbowroom.service.keeping import keep_visit
from elbowroom.service.record_lines import write_line
from elbowroom.service.record_tools import RecordTools
from elbowroom.service.record_types import FileEntry, TrailEntry
from tests.makers.record import ADULT, STAMP, add_child, begin_clinic, make_ids, make_parcel, make_stamp
from tests.makers.record_places import QUICK, make_memory_record, make_sealed_record, make_server_record

SEAL = "seven quiet rivers"
PLACES = ("memory", "sealed file", "server")
Maker = Callable[[str], RecordTools]


@pytest.fixture
def make_record(tmp_path: Path, request: pytest.FixtureRequest) -> Maker:
    numbers = make_ids(1)

    def make(place: str) -> RecordTools:
        folder = tmp_path / f"record-{numbers()}"
        if place == "memory":
            tools = make_memory_record()
        elif place == "sealed file":
            tools = make_sealed_record(folder)
        else:
            tools = make_server_record(folder, request.getfixturevalue("postgres_address"))
        # Two clinics never make the same random id; here ids are counted, so each record counts from its own number.
        return replace(tools, make_id=make_ids(int(numbers(), 16) * 1_000_000))

    return make


def make_shelf(place: str) -> ArchiveShelf:
    return MemoryArchives() if place == "memory" else FileArchives(QUICK)


def fill(tools: RecordTools, folder: Path) -> str:
    """Begin a clinic with a child who was screened twice, and another athlete; returns the child's id."""
    begin_clinic(tools)
    athlete_id = add_child(tools)
    keep_visit(tools, athlete_id, make_parcel(folder / "first"), STAMP)
    second = make_parcel(folder / "second", -3.0, STAMP.at.date().replace(month=5))
    keep_visit(tools, athlete_id, second, make_stamp(60))
    add_child(tools, replace(ADULT, born_on=STAMP.at.date().replace(year=2012)))
    return athlete_id


def read_files(tools: RecordTools, athlete_id: str) -> dict[str, str]:
    files = tools.entries.find_entries(FileEntry, athlete_id=athlete_id)
    return {file.id: hashlib.sha256(b"".join(tools.vault.read_range(file.file_id))).hexdigest() for file in files}


def describe_all(tools: RecordTools, athlete_id: str) -> set[str]:
    """Return all entries of an athlete but what one record adds of its own: names in the vault, and the last acts."""
    entries = [
        replace(item, file_id="") if isinstance(item, FileEntry) else item for item in list_all(tools, athlete_id)
    ]
    return {write_line(entry) for entry in entries}


def list_all(tools: RecordTools, athlete_id: str) -> list[object]:
    found = list_entries_about(tools, athlete_id)
    return [item for item in found if not (isinstance(item, TrailEntry) and str(item.act).endswith("a copy"))]


@pytest.mark.parametrize("seal", [SEAL, ""], ids=["sealed", "plain"])
@pytest.mark.parametrize(("old", "new"), [("memory", "memory"), ("sealed file", "server"), ("server", "sealed file")])
def test_what_was_given_is_taken_in_whole(make_record: Maker, tmp_path: Path, old: str, new: str, seal: str) -> None:
    given, taken, shelf = make_record(old), make_record(new), make_shelf(old)
    athlete_id = fill(given, tmp_path)
    begin_clinic(taken)
    path = tmp_path / "player.elbowroom"
    facts = write_athlete_archive(given, shelf, athlete_id, path, seal, make_stamp(70))
    found = take_athlete(taken, shelf, path, seal, make_stamp(71))
    assert (found.athlete_id, found.entry_count, found.file_count) == (athlete_id, facts.entry_count, facts.file_count)
    assert facts.file_count == 8
    assert describe_all(taken, athlete_id) == describe_all(given, athlete_id)
    assert read_files(taken, athlete_id) == read_files(given, athlete_id)
    acts = [str(item.act) for item in taken.entries.find_entries(TrailEntry, athlete_id=athlete_id)]
    assert acts.count("gave a copy") == acts.count("took in a copy") == 1


def test_another_reader_opens_a_plain_archive(make_record: Maker, tmp_path: Path) -> None:
    tools = make_record("sealed file")
    athlete_id = fill(tools, tmp_path)
    path = tmp_path / "player.zip"
    write_athlete_archive(tools, FileArchives(QUICK), athlete_id, path, "", STAMP)
    with zipfile.ZipFile(path) as archive:
        assert archive.testzip() is None
        contents = json.loads(archive.read("contents.json"))
        for name, facts in contents["files"].items():
            content = archive.read(name)
            assert (hashlib.sha256(content).hexdigest(), len(content)) == (facts["sha256"], facts["size_bytes"])
        lines = archive.read(ENTRIES).decode("utf-8").splitlines()
    assert len(lines) == contents["entry_count"]
    assert contents["people"] == {STAMP.by: "Rowan"}


def test_only_the_athlete_is_in_the_archive(make_record: Maker, tmp_path: Path) -> None:
    tools = make_record("sealed file")
    athlete_id = fill(tools, tmp_path)
    path = tmp_path / "player.zip"
    write_athlete_archive(tools, FileArchives(QUICK), athlete_id, path, "", STAMP)
    with zipfile.ZipFile(path) as archive:
        text = archive.read(ENTRIES).decode("utf-8")
    assert ADULT.name not in text
    assert {line.get("athlete_id", line["id"]) for line in map(json.loads, text.splitlines())} == {athlete_id}


def test_a_sealed_archive_shows_nothing(make_record: Maker, tmp_path: Path) -> None:
    tools = make_record("sealed file")
    athlete_id = fill(tools, tmp_path)
    path = tmp_path / "player.elbowroom"
    write_athlete_archive(tools, FileArchives(QUICK), athlete_id, path, SEAL, STAMP)
    content = path.read_bytes()
    assert not any(word in content for word in (b"ngstr", athlete_id.encode(), b"report.json", b"clip"))


def test_a_changed_byte_is_noticed_and_nothing_stays(make_record: Maker, tmp_path: Path) -> None:
    given, taken, shelf = make_record("sealed file"), make_record("sealed file"), FileArchives(QUICK)
    athlete_id = fill(given, tmp_path)
    begin_clinic(taken)
    path = tmp_path / "player.zip"
    write_athlete_archive(given, shelf, athlete_id, path, "", STAMP)
    whole, chance = path.read_bytes(), np.random.default_rng(4)
    before = [write_line(entry) for entry in taken.entries.walk_entries()]
    noticed = 0
    for place in chance.choice(len(whole), 40, replace=False).tolist():
        path.write_bytes(whole[:place] + bytes([whole[place] ^ 0x55]) + whole[place + 1 :])
        try:
            take_athlete(taken, shelf, path, "", STAMP)
        except RecordError:
            noticed += 1
            assert taken.vault.list_files() == ()
            assert [write_line(entry) for entry in taken.entries.walk_entries()] == before
        else:
            # Bytes that carry nothing, such as a time of day in the list of names, may change.
            assert describe_all(taken, athlete_id) == describe_all(given, athlete_id)
            forget_athlete(taken, athlete_id, STAMP)
            taken = make_record("sealed file")
            begin_clinic(taken)
            before = [write_line(entry) for entry in taken.entries.walk_entries()]
    assert noticed >= 30


@pytest.mark.parametrize("cut", [0, 10, 600, -12_000])
def test_a_cut_archive_is_refused(make_record: Maker, tmp_path: Path, cut: int) -> None:
    tools = make_record("sealed file")
    athlete_id = fill(tools, tmp_path)
    path = tmp_path / "player.elbowroom"
    write_athlete_archive(tools, FileArchives(QUICK), athlete_id, path, SEAL, STAMP)
    path.write_bytes(path.read_bytes()[:cut])
    with pytest.raises((DamageError, PassphraseError)):
        take_athlete(make_record("memory"), FileArchives(QUICK), path, SEAL, STAMP)


@pytest.mark.parametrize("place", PLACES)
def test_what_cannot_be_done_is_refused(make_record: Maker, tmp_path: Path, place: str) -> None:
    tools, shelf = make_record(place), make_shelf(place)
    athlete_id = fill(tools, tmp_path)
    path = tmp_path / "player.elbowroom"
    with pytest.raises(RecordError, match="no athlete"):
        write_athlete_archive(tools, shelf, "nobody", path, SEAL, STAMP)
    with pytest.raises(PassphraseError, match="too short"):
        write_athlete_archive(tools, shelf, athlete_id, path, "short", STAMP)
    write_athlete_archive(tools, shelf, athlete_id, path, SEAL, STAMP)
    with pytest.raises(RecordError, match="there already"):
        write_athlete_archive(tools, shelf, athlete_id, path, SEAL, STAMP)
    with pytest.raises(RecordError, match="in the record already"):
        take_athlete(tools, shelf, path, SEAL, STAMP)
    with pytest.raises(PassphraseError):
        take_athlete(make_record(place), shelf, path, "another passphrase", STAMP)
    with pytest.raises(RecordError, match=r"is not there|cannot be read"):
        take_athlete(make_record(place), shelf, tmp_path / "nowhere", SEAL, STAMP)


def test_the_forgotten_do_not_come_back_by_an_archive(make_record: Maker, tmp_path: Path) -> None:
    tools, shelf = make_record("sealed file"), FileArchives(QUICK)
    athlete_id = fill(tools, tmp_path)
    path = tmp_path / "player.elbowroom"
    write_athlete_archive(tools, shelf, athlete_id, path, SEAL, STAMP)
    forget_athlete(tools, athlete_id, make_stamp(1))
    with pytest.raises(RecordError, match="forgotten here"):
        take_athlete(tools, shelf, path, SEAL, STAMP)


def test_a_damaged_clip_is_not_given_away(make_record: Maker, tmp_path: Path) -> None:
    tools = make_record("sealed file")
    athlete_id = fill(tools, tmp_path)
    file = tools.entries.find_entries(FileEntry, athlete_id=athlete_id)[0]
    tools.vault.remove_files((file.file_id,))
    path = tmp_path / "player.elbowroom"
    with pytest.raises(DamageError):
        write_athlete_archive(tools, FileArchives(QUICK), athlete_id, path, SEAL, STAMP)
    assert [item.name for item in tmp_path.iterdir() if "player" in item.name or item.name.startswith(".")] == []


def test_names_of_items_are_plain(make_record: Maker, tmp_path: Path) -> None:
    tools = make_record("memory")
    athlete_id = fill(tools, tmp_path)
    file = tools.entries.find_entries(FileEntry, athlete_id=athlete_id)[0]
    assert name_item(replace(file, id="1", name="../../etc/Zoë wirft.mp4")) == "files/1/-..-etc-Zo--wirft.mp4"
    assert name_item(replace(file, id="1", name="...")) == "files/1/file"
