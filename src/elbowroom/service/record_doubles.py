"""In-memory doubles of the record's Protocols in `ports`."""

from __future__ import annotations

import hashlib
from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from datetime import UTC, date, datetime
from pathlib import Path

from elbowroom.errors import ConflictError, DamageError, RecordError
from elbowroom.service.record_lines import ABSENT, KINDS, SomeEntry
from elbowroom.service.record_types import (
    AthleteEntry,
    AthleteVersion,
    Entry,
    FindingEntry,
    ScreeningEntry,
    TrailEntry,
    VisitEntry,
)
from elbowroom.service.record_values import AthleteLine, StoredFile, ValueLine, VaultFile

REFERENCES = {
    "guardian_id": "GuardianEntry",
    "consent_id": "ConsentEntry",
    "visit_id": "VisitEntry",
    "file_entry_id": "FileEntry",
    "report_entry_id": "FileEntry",
    "clip_file_entry_id": "FileEntry",
    "proxy_file_entry_id": "FileEntry",
    "times_file_entry_id": "FileEntry",
    "screening_id": "ScreeningEntry",
    "program_key_id": "ProgramKeyEntry",
    "reviewed_screening_id": "ScreeningEntry",
    "intake_id": "IntakeEntry",
    "count_link_id": "CountLink",
    "sent_by_link_id": "CountLink",
    "return_course_id": "ReturnCourse",
    "earlier_visit_id": "VisitEntry",
    "later_visit_id": "VisitEntry",
    "athlete_id": "AthleteEntry",
}
"""What each field refers to."""
UNIQUE = (
    *(("person_id", "version"), ("athlete_id", "version"), ("consent_id",), ("athlete_id", "clips_digest")),
    *(("file_id",), ("visit_id", "version"), ("screening_id", "number"), ("screening_id", "measure")),
    ("program_key_id",),
    ("reviewed_screening_id",),
    *(("team_id", "version"), ("count_id", "number"), ("count_link_id",), ("return_course_id", "number")),
    *(("visit_id", "pieces_digest"), ("clip_file_entry_id",)),
)
"""Fields of which no two entries of a kind share all; an athlete's versions count only where no visit's do."""


OF_THE_CLINIC = ("ClinicEntry", "ToleranceEntry", "SettingsEntry", "DrillRulesEntry")
"""Kinds of which there is one row of versions in the whole record."""


class MemoryEntries:
    """A `RecordEntries` in memory."""

    def __init__(self) -> None:
        self._entries: list[Entry] = []

    def add_entries(self, entries: Iterable[Entry]) -> None:
        """Add entries that clash with none and refer to nothing that is missing."""
        added = list(entries)
        together = [*self._entries, *added]
        ids = {(type(entry).__name__, entry.id) for entry in together}
        keys = Counter(key for entry in together for key in _list_keys(entry))
        has_all = all(target in ids for entry in added for target in _list_targets(entry))
        if not has_all or any(count > 1 for count in keys.values()):
            raise ConflictError("Somebody else changed this meanwhile, or it is there already: look and try again.")
        self._entries = together

    def find_entries(self, kind: type[SomeEntry], /, **matching: str | int) -> tuple[SomeEntry, ...]:
        """Entries of one kind whose fields equal what is given."""
        found = [
            entry
            for entry in self._entries
            if isinstance(entry, kind) and all(getattr(entry, name) == value for name, value in matching.items())
        ]
        return tuple(sorted(found, key=lambda entry: (getattr(entry, "version", 0), entry.id)))

    def walk_entries(self) -> Iterator[Entry]:
        """All entries, kind by kind."""
        return iter([entry for kind in KINDS for entry in self.find_entries(kind)])

    def remove_athlete(self, athlete_id: str) -> dict[str, int]:
        """Drop every entry about an athlete but the trail."""
        gone = [entry for entry in self._entries if _is_about(entry, athlete_id)]
        self._entries = [entry for entry in self._entries if not _is_about(entry, athlete_id)]
        return dict(Counter(type(entry).__name__ for entry in gone))

    def check_entries(self) -> tuple[str, ...]:
        """Memory is always as it was written."""
        return ()


class MemoryLists:
    """A `RecordLists` over entries in memory."""

    def __init__(self, entries: MemoryEntries) -> None:
        self._entries = entries

    def list_athletes(self, name_part: str = "", count: int = 50, skipped: int = 0) -> tuple[AthleteLine, ...]:
        """Athletes whose name holds a text, by name."""
        found = [line for line in self._build_lines() if name_part.casefold() in line.name.casefold()]
        return tuple(found[skipped : skipped + count])

    def list_values(self, athlete_id: str, measure: str) -> tuple[ValueLine, ...]:
        """A measure over time."""
        newest = {item.visit_id: item for item in self._entries.find_entries(ScreeningEntry, athlete_id=athlete_id)}
        visits = {visit.id: visit for visit in self._entries.find_entries(VisitEntry, athlete_id=athlete_id)}
        lines = [
            ValueLine(made_on=visits[visit_id].made_on, visit_id=visit_id, finding=finding)
            for visit_id, screening in newest.items()
            for finding in self._entries.find_entries(FindingEntry, screening_id=screening.id, measure=measure)
        ]
        return tuple(sorted(lines, key=lambda line: (line.made_on, line.visit_id)))

    def list_overdue(self, last_before: date, born_before: date) -> tuple[AthleteLine, ...]:
        """Athletes long gone and old enough."""
        lines = self._build_lines()
        return tuple(line for line in lines if line.last_seen < last_before and line.born_on < born_before)

    def list_acts(self, athlete_id: str = "", count: int = 50, skipped: int = 0) -> tuple[TrailEntry, ...]:
        """Lines of the trail, newest first."""
        matching: dict[str, str | int] = {"athlete_id": athlete_id} if athlete_id else {}
        found = self._entries.find_entries(TrailEntry, **matching)
        newest = sorted(found, key=lambda entry: (entry.recorded_at, entry.id), reverse=True)
        return tuple(newest[skipped : skipped + count])

    def _build_lines(self) -> list[AthleteLine]:
        newest = {item.athlete_id: item for item in self._entries.find_entries(AthleteVersion)}
        lines = [self._build_line(version) for version in newest.values()]
        return sorted(lines, key=lambda line: (line.name.casefold(), line.athlete_id))

    def _build_line(self, version: AthleteVersion) -> AthleteLine:
        days = [visit.made_on for visit in self._entries.find_entries(VisitEntry, athlete_id=version.athlete_id)]
        (athlete,) = self._entries.find_entries(AthleteEntry, id=version.athlete_id)
        return AthleteLine(
            athlete_id=version.athlete_id,
            name=version.name,
            born_on=version.born_on,
            visit_count=len(days),
            last_visit=max(days) if days else ABSENT,
            added_on=athlete.recorded_at.date(),
        )


class MemoryVault:
    """A `Vault` in memory."""

    def __init__(self, make_id: Callable[[], str], now: datetime = datetime(2026, 1, 1, tzinfo=UTC)) -> None:
        """`now` is when every file is said to be written."""
        self.files: dict[str, bytes] = {}
        self._make_id, self._now = make_id, now

    def store_file(self, source: Path, drawer: str) -> StoredFile:
        """Keep the bytes of a file."""
        try:
            content = source.read_bytes()
        except OSError as e:
            raise RecordError(f"{source.name} cannot be read ({e.strerror}): check that it is still there.") from e
        file_id = f"{drawer}/{self._make_id()}"
        self.files[file_id] = content
        return StoredFile(file_id=file_id, digest=hashlib.sha256(content).hexdigest(), size_bytes=len(content))

    def read_range(self, file_id: str, start: int = 0, stop: int | None = None) -> Iterator[bytes]:
        """A part of the bytes."""
        if file_id not in self.files:
            raise DamageError(f"{file_id} is not in the vault: restore it from a backup.")
        content = self.files[file_id][max(0, start) : stop]
        if content and start >= 0:
            yield content

    def find_size(self, file_id: str) -> int:
        """How many bytes."""
        if file_id not in self.files:
            raise DamageError(f"{file_id} is not in the vault: restore it from a backup.")
        return len(self.files[file_id])

    def list_files(self, drawer: str = "") -> tuple[VaultFile, ...]:
        """The files of one drawer or of all."""
        return tuple(
            VaultFile(file_id=file_id, sealed_bytes=len(content), written_at=self._now)
            for file_id, content in sorted(self.files.items())
            if not drawer or file_id.startswith(f"{drawer}/")
        )

    def remove_files(self, file_ids: tuple[str, ...]) -> int:
        """Drop files."""
        return sum(len(self.files.pop(file_id, b"")) for file_id in file_ids)


class MemoryShelf:
    """A `BackupShelf` in memory, for one vault; share `backups` to restore into another."""

    def __init__(self, vault: MemoryVault, backups: dict[str, tuple[list[str], dict[str, bytes]]]) -> None:
        self._vault, self._backups = vault, backups

    def write_backup(self, path: Path, lines: Iterable[str], file_ids: Iterable[str]) -> int:
        """Keep lines and files under the path's name."""
        if path.name in self._backups:
            raise RecordError(f"{path} is there already: name another file.")
        self._backups[path.name] = (list(lines), {file_id: self._vault.files[file_id] for file_id in file_ids})
        return sum(len(line) for line in self._backups[path.name][0])

    def read_lines(self, path: Path) -> Iterator[str]:
        """The lines that were kept."""
        if path.name not in self._backups:
            raise RecordError(f"{path} is not there: check the name of the backup.")
        return iter(self._backups[path.name][0])

    def unpack_files(self, path: Path) -> int:
        """Put the kept files into the vault."""
        self._vault.files.update(self._backups[path.name][1])
        return len(self._backups[path.name][1])


def _list_keys(entry: Entry) -> list[tuple[object, ...]]:
    kind = type(entry).__name__
    groups = [("id",), *(group for group in UNIQUE if all(hasattr(entry, name) for name in group))]
    if hasattr(entry, "visit_id"):
        groups = [group for group in groups if group != ("athlete_id", "version")]
    if kind in OF_THE_CLINIC:
        groups.append(("version",))
    return [(kind, *group, *(getattr(entry, name) for name in group)) for group in groups]


def _list_targets(entry: Entry) -> list[tuple[str, object]]:
    if isinstance(entry, TrailEntry):
        return []
    values = [(kind, getattr(entry, name, ABSENT)) for name, kind in REFERENCES.items()]
    return [(kind, value) for kind, value in values if value != ABSENT]


def _is_about(entry: Entry, athlete_id: str) -> bool:
    name = "id" if isinstance(entry, AthleteEntry) else "athlete_id"
    return not isinstance(entry, TrailEntry) and getattr(entry, name, "") == athlete_id
