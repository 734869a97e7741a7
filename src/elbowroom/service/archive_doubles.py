"""In-memory double of the Protocols in `archive_ports`."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path

from elbowroom.errors import DamageError, PassphraseError, RecordError
from elbowroom.service.archive_ports import ArchiveItem


class MemoryArchive:
    """An `OpenArchive` in memory."""

    def __init__(self, items: dict[str, bytes]) -> None:
        """`items` are the files by name."""
        self.items = items

    def list_names(self) -> tuple[str, ...]:
        """The names of all files."""
        return tuple(self.items)

    def read_item(self, name: str) -> Iterator[bytes]:
        """The content of one file."""
        if name not in self.items:
            raise DamageError(f"The archive holds no {name}: ask for it once more.")
        yield self.items[name]


class MemoryArchives:
    """An `ArchiveShelf` in memory."""

    def __init__(self) -> None:
        self.archives: dict[str, tuple[str, dict[str, bytes]]] = {}

    def write_archive(self, path: Path, items: Iterable[ArchiveItem], passphrase: str) -> int:
        """Keep the items under the path's name."""
        if path.name in self.archives:
            raise RecordError(f"{path} is there already: name another file.")
        if passphrase and len(passphrase) < 12:
            raise PassphraseError("The passphrase is too short: take several words, 12 letters or more.")
        kept = {item.name: b"".join(item.pieces) for item in items}
        self.archives[path.name] = (passphrase, kept)
        return sum(len(content) for content in kept.values())

    @contextmanager
    def open_archive(self, path: Path, passphrase: str) -> Iterator[MemoryArchive]:
        """Give the kept items."""
        if path.name not in self.archives:
            raise RecordError(f"{path} is not there: check the name of the archive.")
        wanted, items = self.archives[path.name]
        if wanted != passphrase:
            raise PassphraseError("The passphrase is not the one of this archive: type it again.")
        yield MemoryArchive(items)
