"""What giving one athlete's record away needs from the outside."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from contextlib import AbstractContextManager
from dataclasses import dataclass
from pathlib import Path
from typing import Protocol


@dataclass(frozen=True, kw_only=True)
class ArchiveItem:
    """One file that goes into an archive."""

    name: str
    """Its name there, folders parted by `/`."""
    pieces: Iterable[bytes]
    """Its content, piece by piece; read once."""


class OpenArchive(Protocol):
    """An archive that can be read."""

    def list_names(self) -> tuple[str, ...]:
        """The names of all its files."""
        ...

    def read_item(self, name: str) -> Iterator[bytes]:
        """The content of one file, piece by piece; raises `DamageError`."""
        ...


class ArchiveShelf(Protocol):
    """Writes and reads archives of one athlete's record, one file each."""

    def write_archive(self, path: Path, items: Iterable[ArchiveItem], passphrase: str) -> int:
        """Write an archive, whole or not at all, sealed under a passphrase or open where it is empty; returns bytes.

        Raises `RecordError` where the file is there already or cannot be written, `PassphraseError` for a short one.
        """
        ...

    def open_archive(self, path: Path, passphrase: str) -> AbstractContextManager[OpenArchive]:
        """Open an archive; raises `RecordError`, `PassphraseError` or `DamageError`."""
        ...
