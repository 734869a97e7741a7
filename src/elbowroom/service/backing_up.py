"""Use cases: back a record up, put it back, and check that it is as it was written."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

from elbowroom.errors import DamageError
from elbowroom.service.record_lines import combine_digests, digest_line, read_line, write_line
from elbowroom.service.record_tools import RecordTools, note_act
from elbowroom.service.record_types import Act, Entry, FileEntry
from elbowroom.service.record_values import BackupFacts, Stamp

LEFT_OVER_AFTER = timedelta(days=1)
"""A file that no entry names is left over from a cut-off work only after this time: before, it may be under way."""
FACTS = "facts "


@dataclass(frozen=True, kw_only=True)
class CheckedRecord:
    """What a check of the whole record found."""

    problems: tuple[str, ...]
    """A sentence each; empty where all is as it was written."""
    file_count: int
    """Files of the vault that were read and compared with their digests."""
    removed_count: int
    """Left-over files of cut-off work that were removed."""


def back_up_record(tools: RecordTools, path: Path, stamp: Stamp) -> BackupFacts:
    """Write a backup of everything, as it is at one moment, to one file, and return what it holds."""
    tools.entries.add_entries([note_act(tools, stamp, Act.BACKED_UP, what=path.name)])
    seen = _SeenEntries()
    tools.shelf.write_backup(path, seen.write_lines(tools.entries.walk_entries(), stamp.at), seen.file_ids)
    return seen.build_facts(stamp.at)


def restore_record(tools: RecordTools, path: Path) -> BackupFacts:
    """Put a backup into an empty record, and compare everything with what the backup says it holds.

    Raises `DamageError` where anything differs; nothing is in the record then.
    """
    tools.shelf.unpack_files(path)
    seen = _SeenEntries()
    tools.entries.add_entries(seen.read_entries(tools, tools.shelf.read_lines(path)))
    facts = seen.get_stated()
    if digest_record(tools.entries.walk_entries()) != facts.digest:
        raise DamageError("What was restored differs from the backup: report this, and keep the backup.")
    return facts


class _SeenEntries:
    """Counts and digests entries while they go past; the last line of a backup says what they were."""

    def __init__(self) -> None:
        self.file_ids: list[str] = []
        self._digests: list[bytes] = []
        self._last = ""

    def write_lines(self, entries: Iterable[Entry], made_at: datetime) -> Iterator[str]:
        for entry in entries:
            line = write_line(entry)
            self._digests.append(digest_line(line))
            if isinstance(entry, FileEntry):
                self.file_ids.append(entry.file_id)
            yield line
        yield f"{FACTS}{_write_facts(self.build_facts(made_at))}"

    def read_entries(self, tools: RecordTools, lines: Iterable[str]) -> Iterator[Entry]:
        """Yield the entries of a backup; raises at its end, while nothing is kept yet, where anything differs."""
        files = []
        for line in lines:
            if line.startswith(FACTS):
                self._last = line
                break
            self._digests.append(digest_line(line))
            entry = read_line(line)
            files += [entry] if isinstance(entry, FileEntry) else []
            yield entry
        problems = check_files(tools, files)
        if problems or self.get_stated().digest != combine_digests(self._digests):
            raise DamageError(f"The backup is not as it was written: {' '.join(problems) or 'entries differ.'}")

    def get_stated(self) -> BackupFacts:
        return _read_facts(self._last)

    def build_facts(self, made_at: datetime) -> BackupFacts:
        return BackupFacts(
            made_at=made_at,
            entry_count=len(self._digests),
            file_count=len(self.file_ids),
            digest=combine_digests(self._digests),
        )


def check_record(tools: RecordTools, stamp: Stamp) -> CheckedRecord:
    """Read everything and compare it with its digests; remove what cut-off work left in the vault."""
    problems = tools.entries.check_entries()
    files = tools.entries.find_entries(FileEntry)
    problems += check_files(tools, files)
    left = find_left_over(tools, files, stamp.at - LEFT_OVER_AFTER)
    tools.vault.remove_files(left)
    what = f"{len(files)} files, {len(problems)} problems, {len(left)} left over"
    tools.entries.add_entries([note_act(tools, stamp, Act.CHECKED, what=what)])
    return CheckedRecord(problems=problems, file_count=len(files), removed_count=len(left))


def check_files(tools: RecordTools, files: Iterable[FileEntry]) -> tuple[str, ...]:
    """Return what is wrong with the files that entries name, a sentence each."""
    return tuple(problem for file in files if (problem := _check_file(tools, file)))


def find_left_over(tools: RecordTools, files: Iterable[FileEntry], before: datetime) -> tuple[str, ...]:
    """Find the files of the vault that no entry names and that were written before a moment."""
    named = {file.file_id for file in files}
    lying = tools.vault.list_files()
    return tuple(item.file_id for item in lying if item.file_id not in named and item.written_at < before)


def digest_record(entries: Iterable[Entry]) -> str:
    """Return one SHA-256 over all entries; those of files carry the digests of what lies in the vault."""
    return combine_digests(digest_line(write_line(entry)) for entry in entries)


def _check_file(tools: RecordTools, file: FileEntry) -> str:
    seen = hashlib.sha256()
    try:
        for piece in tools.vault.read_range(file.file_id):
            seen.update(piece)
    except DamageError as e:
        return f"{file.name}: {e}"
    return "" if seen.hexdigest() == file.digest else f"{file.name} is not the file that was kept."


def _write_facts(facts: BackupFacts) -> str:
    return json.dumps({**vars(facts), "made_at": facts.made_at.isoformat()})


def _read_facts(line: str) -> BackupFacts:
    try:
        values = json.loads(line.removeprefix(FACTS))
        return BackupFacts(**{**values, "made_at": datetime.fromisoformat(values["made_at"])})
    except (ValueError, KeyError, TypeError) as e:
        raise DamageError("The backup does not say what it holds: take another one.") from e
