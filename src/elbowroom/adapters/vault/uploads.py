"""Files of the vault that are still arriving: sealed chunk by chunk, at their places, under a passing name."""

from __future__ import annotations

import hashlib
import os
import shutil
from collections.abc import Mapping
from contextlib import suppress
from pathlib import Path

from elbowroom.adapters.vault.files import FILES_FOLDER, IDENTIFIER, SEALED
from elbowroom.adapters.vault.safe_files import PART, force_folder, remove_for_good, translate_disk_error
from elbowroom.adapters.vault.sealing import (
    CHUNK_BYTES,
    HEAD,
    SEALED_CHUNK_BYTES,
    ChunkSealer,
    SealedReader,
    count_chunks,
    make_head,
    read_head,
)
from elbowroom.errors import DamageError, RecordError
from elbowroom.service.record_values import StoredFile


class FolderUploads:
    """An `UploadStore` beside the files of a `FolderVault`."""

    def __init__(self, folder: Path, keys: Mapping[int, bytes]) -> None:
        """`keys` are those of the vault, by number."""
        self._folder, self._keys = folder / FILES_FOLDER, dict(keys)

    def find_received(self, file_id: str, size_bytes: int) -> int:
        """Bytes of the chunks that are whole and as they were sealed; what a power cut tore off does not count."""
        final, part = self._find_paths(file_id)
        if final.exists():
            return size_bytes
        if not self._is_usable(file_id):
            return 0
        count, total = (part.stat().st_size - HEAD.size) // SEALED_CHUNK_BYTES, count_chunks(size_bytes)
        sealer = self._open_sealer(file_id)
        with part.open("rb") as file:
            file.seek(0, os.SEEK_END)
            if file.tell() >= HEAD.size + size_bytes + total * (SEALED_CHUNK_BYTES - CHUNK_BYTES):
                count = total
            while count and not sealer.is_whole(file, count - 1, count == total):
                count -= 1
        return min(count * CHUNK_BYTES, size_bytes)

    def store_piece(self, file_id: str, size_bytes: int, start: int, piece: bytes) -> None:
        """Seal a piece at its place and force it to the disk; what the disk did not take whole is cut off again."""
        if start % CHUNK_BYTES or start + len(piece) > size_bytes or not piece:
            raise RecordError("This piece lies outside the file: begin the upload anew.")
        if len(piece) % CHUNK_BYTES and start + len(piece) != size_bytes:
            raise RecordError("This piece is cut off: send it again.")
        _, part = self._find_paths(file_id)
        try:
            if not self._is_usable(file_id):
                self._begin_part(part)
            sealer, first = self._open_sealer(file_id), start // CHUNK_BYTES
            sealed = b"".join(sealer.seal_pieces(piece, first, count_chunks(size_bytes)))
            _write_at(part, HEAD.size + first * SEALED_CHUNK_BYTES, sealed)
        except OSError as e:
            raise translate_disk_error(e, part) from e

    def finish_file(self, file_id: str, size_bytes: int) -> StoredFile:
        """Read every chunk back, then rename; a file that is there already is read again."""
        final, part = self._find_paths(file_id)
        if self.find_received(file_id, size_bytes) < size_bytes:
            raise DamageError("The upload is not whole: send the clip again, and it goes on where it stopped.")
        is_new = not final.exists()
        try:
            digest = self._digest(part if is_new else final, file_id)
            if is_new:
                os.replace(part, final)
                force_folder(final.parent)
        except DamageError as e:
            if is_new:
                remove_for_good(part)
            raise DamageError("What arrived was damaged on the disk: check the disk, and send the clip again.") from e
        except OSError as e:
            raise translate_disk_error(e, final) from e
        return StoredFile(file_id=file_id, digest=digest, size_bytes=size_bytes)

    def remove_upload(self, file_id: str) -> None:
        """Overwrite and remove what arrived."""
        remove_for_good(self._find_paths(file_id)[1])

    def find_room(self) -> int:
        """Bytes free on the disk of the vault."""
        place = next(path for path in (self._folder, *self._folder.parents) if path.exists())
        return shutil.disk_usage(place).free

    def _digest(self, place: Path, file_id: str) -> str:
        """Return the SHA-256 of the plain file; raises `DamageError` where a seal is broken."""
        seen = hashlib.sha256()
        with place.open("rb") as file:
            reader = SealedReader(file, self._keys, file_id)
            for chunk in reader.read_range(0, reader.size_bytes):
                seen.update(chunk)
        return seen.hexdigest()

    def _is_usable(self, file_id: str) -> bool:
        """Say whether an upload can go on: its head is whole and its key still in the ring."""
        try:
            with self._find_paths(file_id)[1].open("rb") as file:
                return read_head(file, file_id).key_number == max(self._keys)
        except (OSError, DamageError):
            return False

    def _begin_part(self, part: Path) -> None:
        part.parent.mkdir(parents=True, exist_ok=True)
        # Written aside, so that a head is whole or not there; a new one makes all that lay behind the old one void.
        aside = part.with_name(f"{part.name}.{os.urandom(8).hex()}{PART}")
        try:
            aside.write_bytes(make_head(self._keys).encode())
            os.replace(aside, part)
        finally:
            aside.unlink(missing_ok=True)

    def _open_sealer(self, file_id: str) -> ChunkSealer:
        with self._find_paths(file_id)[1].open("rb") as file:
            return ChunkSealer(read_head(file, file_id), self._keys, file_id)

    def _find_paths(self, file_id: str) -> tuple[Path, Path]:
        """Return where a file lies when it is whole, and while it arrives."""
        if not IDENTIFIER.fullmatch(file_id):
            raise RecordError(f"{file_id!r} is no name of a file in the vault: take one that the record lists.")
        drawer, _, name = file_id.partition("/")
        return self._folder / drawer / f"{name}{SEALED}", self._folder / drawer / f".{name}.upload{PART}"


def _write_at(path: Path, place: int, content: bytes) -> None:
    """Write bytes at a place of a file; where that fails the file ends there."""
    with path.open("r+b", buffering=0) as file:
        file.seek(place)
        try:
            written = 0
            while written < len(content):
                written += file.write(content[written:])
            os.fsync(file.fileno())
        except OSError:
            with suppress(OSError):
                file.truncate(place)
            raise
