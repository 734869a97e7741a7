"""Use cases: give the whole record of one athlete as one archive, and take such an archive in."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from elbowroom.errors import DamageError, RecordError
from elbowroom.service.archive_ports import ArchiveItem, ArchiveShelf, OpenArchive
from elbowroom.service.record_lines import KINDS, read_line, write_line
from elbowroom.service.record_tools import RecordTools, get_athlete, list_people, note_act, unpack_pieces
from elbowroom.service.record_types import Act, AthleteEntry, Entry, FileEntry, TrailEntry
from elbowroom.service.record_values import Stamp

FORMAT, FORMAT_VERSION = "elbowroom athlete archive", "1"
CONTENTS, ENTRIES, READ_ME = "contents.json", "entries.jsonl", "read-me.txt"
READ_ME_TEXT = """This archive holds everything that a clinic's record knew of one athlete when it was made.

entries.jsonl   one entry a line, as JSON: facts, consents, visits, screenings, findings, corrections, and the trail of
                who looked at what
files/          clips, reports and other files, each in a folder that an entry of entries.jsonl names
contents.json   what the archive holds, with a SHA-256 of every file

elbowroom takes it in again: elbowroom record take FILE. Health data of a person, often of a minor, is in it: keep it
where only who may read it can.
"""


@dataclass(frozen=True, kw_only=True)
class ArchiveFacts:
    """What an archive holds."""

    athlete_id: str
    """The athlete, by an id that says nothing."""
    entry_count: int
    """Entries, those of the trail among them."""
    file_count: int
    """Files of the vault."""
    size_bytes: int
    """Size of the archive, or of the files taken in."""


def write_athlete_archive(
    tools: RecordTools, shelf: ArchiveShelf, athlete_id: str, path: Path, passphrase: str, stamp: Stamp
) -> ArchiveFacts:
    """Write everything about an athlete to one archive; the trail says so, in the archive too.

    Raises `RecordError` where there is no such athlete, a file cannot be read or the archive cannot be written.
    """
    get_athlete(tools, athlete_id)
    act = note_act(tools, stamp, Act.GAVE, athlete_id, path.name)
    entries = [*list_entries_about(tools, athlete_id), act]
    files = [entry for entry in entries if isinstance(entry, FileEntry)]
    size = shelf.write_archive(path, list_items(tools, entries, files), passphrase)
    tools.entries.add_entries([act])
    return ArchiveFacts(athlete_id=athlete_id, entry_count=len(entries), file_count=len(files), size_bytes=size)


def list_entries_about(tools: RecordTools, athlete_id: str) -> list[Entry]:
    """Return every entry about an athlete, each after those that it refers to."""
    found: list[Entry] = []
    for kind in KINDS:
        name = "id" if kind is AthleteEntry else "athlete_id"
        if name in kind.__dataclass_fields__:
            found += tools.entries.find_entries(kind, **{name: athlete_id})
    return found


def list_items(tools: RecordTools, entries: Sequence[Entry], files: Sequence[FileEntry]) -> Iterator[ArchiveItem]:
    """Give the files of an archive, the contents first."""
    lines = "".join(f"{write_line(entry)}\n" for entry in entries).encode("utf-8")
    contents = build_contents(tools, entries, files, hashlib.sha256(lines).hexdigest())
    yield ArchiveItem(name=CONTENTS, pieces=[json.dumps(contents, ensure_ascii=False, indent=1).encode("utf-8")])
    yield ArchiveItem(name=READ_ME, pieces=[READ_ME_TEXT.encode("utf-8")])
    yield ArchiveItem(name=ENTRIES, pieces=[lines])
    for file in files:
        yield ArchiveItem(name=name_item(file), pieces=read_checked(tools, file))


def build_contents(
    tools: RecordTools, entries: Sequence[Entry], files: Sequence[FileEntry], digest: str
) -> dict[str, Any]:
    """Return what an archive says of itself; people are named by what they are called in the record."""
    people = list_people(tools)
    makers = {str(getattr(entry, "recorded_by", "")) for entry in entries}
    return {
        "format": FORMAT,
        "format_version": FORMAT_VERSION,
        "entry_count": len(entries),
        "entries_sha256": digest,
        "people": {name: people[name].name for name in sorted(makers) if name in people},
        "files": {name_item(file): {"sha256": file.digest, "size_bytes": file.size_bytes} for file in files},
    }


def name_item(file: FileEntry) -> str:
    """Return where a file lies in the archive; its own name may be strange, so only plain letters of it are kept."""
    plain = "".join(
        letter if letter.isascii() and (letter.isalnum() or letter in "-_.") else "-" for letter in file.name
    )
    return f"files/{file.id}/{plain.lstrip('.') or 'file'}"


def read_checked(tools: RecordTools, file: FileEntry) -> Iterator[bytes]:
    """Give the plain bytes of a file; raises `DamageError` at the end where it is not the one that was kept."""
    seen = hashlib.sha256()
    for piece in tools.vault.read_range(file.file_id):
        seen.update(piece)
        yield piece
    if seen.hexdigest() != file.digest:
        raise DamageError(f"{file.name} is not the file that was kept: restore the record from a backup first.")


def take_athlete(tools: RecordTools, shelf: ArchiveShelf, path: Path, passphrase: str, stamp: Stamp) -> ArchiveFacts:
    """Take an archive in, all of it or nothing; ids stay, so that the same athlete cannot be taken in twice.

    Raises `RecordError` where the athlete is in the record already, `DamageError` where the archive is not as written.
    """
    with shelf.open_archive(path, passphrase) as archive:
        contents = read_contents(archive)
        entries = read_entries(archive, contents)
        athlete_id = find_only_athlete(tools, entries)
        stored = store_files(tools, archive, contents, entries)
        try:
            act = note_act(tools, stamp, Act.TOOK, athlete_id, path.name)
            tools.entries.add_entries([*(stored.get(entry.id, entry) for entry in entries), act])
        except RecordError:
            tools.vault.remove_files(tuple(entry.file_id for entry in stored.values()))
            raise
    size = sum(entry.size_bytes for entry in stored.values())
    return ArchiveFacts(athlete_id=athlete_id, entry_count=len(entries), file_count=len(stored), size_bytes=size)


def read_contents(archive: OpenArchive) -> Mapping[str, Any]:
    """Return what an archive says of itself; raises `DamageError` where it is none of this version."""
    try:
        contents: Mapping[str, Any] = json.loads(b"".join(archive.read_item(CONTENTS)))
        is_ours = contents["format"] == FORMAT and contents["format_version"] == FORMAT_VERSION
    except (ValueError, KeyError, TypeError) as e:
        raise DamageError("This is no archive of an athlete: name a file that `elbowroom record give` wrote.") from e
    if not is_ours:
        raise DamageError("The archive was written by another version: use the elbowroom that made it.")
    missing = sorted({ENTRIES, *contents["files"]} - set(archive.list_names()))
    if missing:
        raise DamageError(f"The archive lacks {missing[0]}: ask for it once more.")
    return contents


def read_entries(archive: OpenArchive, contents: Mapping[str, Any]) -> list[Entry]:
    """Return the entries of an archive; raises `DamageError` where they are not those that were written."""
    lines = b"".join(archive.read_item(ENTRIES))
    if hashlib.sha256(lines).hexdigest() != contents["entries_sha256"]:
        raise DamageError("The entries of the archive are not as they were written: ask for it once more.")
    return [read_line(line) for line in lines.decode("utf-8").splitlines()]


def find_only_athlete(tools: RecordTools, entries: Sequence[Entry]) -> str:
    """Return the one athlete whom entries are about; raises `DamageError` or `RecordError`."""
    ids = {getattr(entry, "athlete_id", entry.id) for entry in entries}
    athletes = [entry.id for entry in entries if isinstance(entry, AthleteEntry)]
    if len(athletes) != 1 or ids != set(athletes):
        raise DamageError("The archive is not about one athlete: ask for it once more.")
    if tools.entries.find_entries(AthleteEntry, id=athletes[0]):
        raise RecordError("This athlete is in the record already: forget the athlete first, or keep what is there.")
    known = {entry.id for entry in tools.entries.find_entries(TrailEntry, athlete_id=athletes[0])}
    if any(entry.id in known for entry in entries):
        raise RecordError(
            "This athlete was forgotten here, and the trail of that stays: take the archive in elsewhere."
        )
    return athletes[0]


def store_files(
    tools: RecordTools, archive: OpenArchive, contents: Mapping[str, Any], entries: Sequence[Entry]
) -> dict[str, FileEntry]:
    """Put the files of an archive into the vault; returns their entries with the vault's own names, by id.

    Raises `DamageError` where a file is not the one that was given; what was stored is removed again then.
    """
    stored: dict[str, FileEntry] = {}
    try:
        for entry in entries:
            if isinstance(entry, FileEntry):
                stored[entry.id] = _store_file(tools, archive, entry)
    except RecordError:
        tools.vault.remove_files(tuple(entry.file_id for entry in stored.values()))
        raise
    if len(stored) != len(contents["files"]):
        raise DamageError("The archive holds files that no entry names: ask for it once more.")
    return stored


def _store_file(tools: RecordTools, archive: OpenArchive, entry: FileEntry) -> FileEntry:
    # The vault takes files; this one lies open on the disk, in a folder of its own, only while it is sealed.
    with TemporaryDirectory(prefix="elbowroom-") as folder:
        path = Path(folder) / "file"
        unpack_pieces(archive.read_item(name_item(entry)), entry.name, path)
        found = tools.vault.store_file(path, entry.athlete_id)
    if found.digest != entry.digest:
        tools.vault.remove_files((found.file_id,))
        raise DamageError(f"{entry.name} in the archive is not as it was given: ask for it once more.")
    return replace(entry, file_id=found.file_id)
