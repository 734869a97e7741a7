"""Backups: one plain archive (tar) of sealed parts, which the same passphrase opens.

It holds the file of keys, the entries (sealed as one file) and the files of the vault as they lie there, so making
one needs no second encryption and putting one back needs nothing but the passphrase of its day.
"""

from __future__ import annotations

import io
import os
import tarfile
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path, PurePosixPath
from tempfile import TemporaryDirectory
from uuid import uuid4

from elbowroom.adapters.vault.files import FILES_FOLDER, IDENTIFIER, SEALED
from elbowroom.adapters.vault.ring import RING_NAME, KeyRing, open_ring
from elbowroom.adapters.vault.safe_files import PART, force_folder, force_to_disk, translate_disk_error, write_safely
from elbowroom.adapters.vault.sealing import CHUNK_BYTES, SealedReader, seal_chunks
from elbowroom.errors import DamageError, RecordError

LINES_NAME = "entries.sealed"
LINES_ID = "backup/entries"


class FolderShelf:
    """A `BackupShelf` for the vault and the file of keys in one folder."""

    def __init__(self, folder: Path, keys: Mapping[int, bytes]) -> None:
        """`keys` are those of the vault, by number."""
        self._folder, self._keys = folder, dict(keys)

    def write_backup(self, path: Path, lines: Iterable[str], file_ids: Iterable[str]) -> int:
        """Write a backup under another name, force it to the disk, rename it; returns its size in bytes."""
        if path.exists():
            raise RecordError(f"{path} is there already: name another file.")
        part = path.with_name(f".{path.name}.{uuid4().hex}{PART}")
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            with part.open("xb") as file:
                self._write_archive(file, path.parent, lines, file_ids)
                force_to_disk(file)
            size = part.stat().st_size
            os.replace(part, path)
            force_folder(path.parent)
        except OSError as e:
            raise translate_disk_error(e, path) from e
        finally:
            part.unlink(missing_ok=True)
        return size

    def read_lines(self, path: Path) -> Iterator[str]:
        """The lines of a backup, as its seal says that they were written."""
        with _open_archive(path) as archive, _open_member(archive, LINES_NAME, path) as file:
            reader = SealedReader(file, self._keys, LINES_ID)
            rest = b""
            for piece in reader.read_range(0, reader.size_bytes):
                *whole, rest = (rest + piece).split(b"\n")
                yield from (line.decode() for line in whole)

    def unpack_files(self, path: Path) -> int:
        """Put the files of a backup into the vault's folder; returns how many."""
        with _open_archive(path) as archive:
            return sum(self._unpack_member(archive, member, path) for member in archive)

    def _unpack_member(self, archive: tarfile.TarFile, member: tarfile.TarInfo, path: Path) -> bool:
        """Put one member into the vault and say whether it is a file of the vault; no other is ever unpacked."""
        file_id = _read_file_id(member.name)
        if not file_id or not member.isfile():
            return False
        with _open_member(archive, member.name, path) as file:
            pieces = iter(lambda: file.read(CHUNK_BYTES), b"")
            write_safely(self._folder / FILES_FOLDER / f"{file_id}{SEALED}", pieces)
        return True

    def _write_archive(
        self, file: io.BufferedWriter, folder: Path, lines: Iterable[str], file_ids: Iterable[str]
    ) -> None:
        with TemporaryDirectory(dir=folder, prefix=".elbowroom-", suffix=PART) as passing:
            sealed = Path(passing) / LINES_NAME
            pieces = (f"{line}\n".encode() for line in lines)
            write_safely(sealed, seal_chunks(pieces, self._keys, LINES_ID))
            with tarfile.open(fileobj=file, mode="w", format=tarfile.PAX_FORMAT) as archive:
                archive.add(self._folder / RING_NAME, RING_NAME, filter=_hide_owner)
                archive.add(sealed, LINES_NAME, filter=_hide_owner)
                for file_id in file_ids:
                    name = f"{FILES_FOLDER}/{file_id}{SEALED}"
                    archive.add(self._folder / name, name, filter=_hide_owner)


def read_backup_ring(path: Path, passphrase: str) -> KeyRing:
    """Open the keys in a backup; raises `PassphraseError`, `DamageError` or `RecordError`."""
    return open_ring(read_backup_keys(path), path.name, passphrase)


def read_backup_keys(path: Path) -> bytes:
    """Return the file of keys of a backup as it is."""
    with _open_archive(path) as archive, _open_member(archive, RING_NAME, path) as file:
        return file.read()


@contextmanager
def _open_archive(path: Path) -> Iterator[tarfile.TarFile]:
    try:
        with tarfile.open(path, mode="r:") as archive:
            yield archive
    except FileNotFoundError as e:
        raise RecordError(f"{path} is not there: check the name of the backup.") from e
    except (tarfile.TarError, EOFError) as e:
        raise DamageError(f"{path.name} is no whole backup: take another one.") from e


def _open_member(archive: tarfile.TarFile, name: str, path: Path) -> io.BufferedReader:
    try:
        file = archive.extractfile(name)
    except KeyError:
        file = None
    if file is None:
        raise DamageError(f"{path.name} is no whole backup ({name} is missing): take another one.")
    assert isinstance(file, io.BufferedReader)
    return file


def _read_file_id(name: str) -> str:
    """Return the id of the vault's file that a member is, or nothing."""
    parts = PurePosixPath(name)
    file_id = f"{parts.parent.name}/{parts.name.removesuffix(SEALED)}"
    is_ours = name == f"{FILES_FOLDER}/{file_id}{SEALED}" and IDENTIFIER.fullmatch(file_id)
    return file_id if is_ours else ""


def _hide_owner(member: tarfile.TarInfo) -> tarfile.TarInfo:
    member.uid = member.gid = 0
    member.uname = member.gname = ""
    return member
