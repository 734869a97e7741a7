"""Sealed files in drawers: one folder an athlete, one sealed file a clip, report or visit file."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from uuid import uuid4

from elbowroom.adapters.vault.safe_files import PART, remove_for_good, write_safely
from elbowroom.adapters.vault.sealing import CHUNK_BYTES, SealedReader, read_head, seal_chunks
from elbowroom.errors import DamageError, RecordError
from elbowroom.service.record_values import StoredFile, VaultFile

SEALED = ".sealed"
FILES_FOLDER = "files"
IDENTIFIER = re.compile(r"[0-9a-f]{1,64}/[0-9a-f]{1,64}")


class FolderVault:
    """A `Vault` in a folder; the id of a file is `drawer/name`, both random."""

    def __init__(self, folder: Path, keys: Mapping[int, bytes], make_id: Callable[[], str] | None = None) -> None:
        """`keys` by number, the highest seals; `make_id` gives names in hexadecimal."""
        self._folder, self._keys = folder / FILES_FOLDER, dict(keys)
        self._make_id = make_id or (lambda: uuid4().hex)

    def store_file(self, source: Path, drawer: str) -> StoredFile:
        """Seal a copy of a file; raises `RecordError` where the source cannot be read or the disk refuses."""
        file_id = f"{drawer}/{self._make_id()}"
        seen = hashlib.sha256()
        sealed = seal_chunks(_read_pieces(source, seen.update), self._keys, file_id)
        write_safely(self._find_path(file_id), sealed)
        return StoredFile(file_id=file_id, digest=seen.hexdigest(), size_bytes=self.find_size(file_id))

    def find_size(self, file_id: str) -> int:
        """Size of the plain file in bytes; raises `DamageError`."""
        with self._open(file_id) as reader:
            return reader.size_bytes

    def read_range(self, file_id: str, start: int = 0, stop: int | None = None) -> Iterator[bytes]:
        """Yield the plain bytes from `start` up to `stop`, at most 1 MiB at a time; raises `DamageError`."""
        with self._open(file_id) as reader:
            yield from reader.read_range(start, reader.size_bytes if stop is None else stop)

    def list_files(self, drawer: str = "") -> tuple[VaultFile, ...]:
        """All sealed files, and what a cut-off write left behind, of one drawer or of all."""
        found = sorted(self._folder.glob(f"{drawer or '*'}/*"))
        return tuple(
            VaultFile(
                file_id=f"{path.parent.name}/{path.name.removesuffix(SEALED)}",
                sealed_bytes=path.stat().st_size,
                written_at=datetime.fromtimestamp(path.stat().st_mtime, UTC),
            )
            for path in found
        )

    def remove_files(self, file_ids: tuple[str, ...]) -> int:
        """Overwrite and remove files, and the drawers that become empty; returns how many bytes."""
        paths = [self._find_path(file_id) for file_id in file_ids]
        removed = sum(remove_for_good(path) for path in paths)
        for drawer in {path.parent for path in paths if path.parent.is_dir()}:
            if not any(drawer.iterdir()):
                drawer.rmdir()
        return removed

    def seal_anew(self) -> int:
        """Seal every file that an older key seals under the newest key; returns how many.

        May be cut off at any moment and run again.
        """
        old = [item.file_id for item in self.list_files() if not item.is_part and self._is_old(item.file_id)]
        for file_id in old:
            write_safely(self._find_path(file_id), seal_chunks(self.read_range(file_id), self._keys, file_id))
        return len(old)

    def _is_old(self, file_id: str) -> bool:
        with self._find_path(file_id).open("rb") as file:
            return read_head(file, file_id).key_number != max(self._keys)

    @contextmanager
    def _open(self, file_id: str) -> Iterator[SealedReader]:
        try:
            file = self._find_path(file_id).open("rb")
        except OSError as e:
            raise DamageError(f"{file_id} is not in the vault ({e.strerror}): restore it from a backup.") from e
        with file:
            yield SealedReader(file, self._keys, file_id)

    def _find_path(self, file_id: str) -> Path:
        drawer, _, name = file_id.partition("/")
        if name.endswith(PART) and "/" not in name and IDENTIFIER.fullmatch(f"{drawer}/0"):
            return self._folder / drawer / name
        if not IDENTIFIER.fullmatch(file_id):
            raise RecordError(f"{file_id!r} is no name of a file in the vault: take one that the record lists.")
        return self._folder / drawer / f"{name}{SEALED}"


def _read_pieces(source: Path, notice: Callable[[bytes], None]) -> Iterator[bytes]:
    """Yield a file in chunks and show each to `notice`."""
    try:
        file = source.open("rb")
    except OSError as e:
        raise RecordError(f"{source.name} cannot be read ({e.strerror}): check that it is still there.") from e
    with file:
        while piece := file.read(CHUNK_BYTES):
            notice(piece)
            yield piece
