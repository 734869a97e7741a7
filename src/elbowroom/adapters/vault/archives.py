"""Archives of one athlete: a ZIP file, open or sealed under a passphrase of its own.

A sealed archive is a plain tar of two parts, like a backup: the keys, which the passphrase opens, and the ZIP file
sealed under them. The ZIP file is sealed while it is made, so that it never lies open on the disk.
"""

from __future__ import annotations

import io
import os
import tarfile
import zipfile
import zlib
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import BinaryIO, cast
from uuid import uuid4

from elbowroom.adapters.vault.ring import RING_NAME, USUAL_COST, HashCost, make_ring, open_ring, store_ring
from elbowroom.adapters.vault.safe_files import PART, force_folder, force_to_disk, translate_disk_error, write_safely
from elbowroom.adapters.vault.sealing import SealedReader, seal_chunks
from elbowroom.errors import DamageError, PassphraseError, RecordError
from elbowroom.service.archive_ports import ArchiveItem

SEALED_NAME = "athlete.sealed"
SEALED_ID = "archive/athlete"
PIECE_BYTES = 1 << 20
FIRST_DAY = (1980, 1, 1, 0, 0, 0)
"""A ZIP file cannot leave the time of a file out; this is the earliest that it can say."""


class FileArchives:
    """An `ArchiveShelf` on the disk."""

    def __init__(self, cost: HashCost = USUAL_COST) -> None:
        """`cost` is what it takes to try one passphrase."""
        self._cost = cost

    def write_archive(self, path: Path, items: Iterable[ArchiveItem], passphrase: str) -> int:
        """Write an archive under another name, force it to the disk, rename it; returns its size in bytes."""
        if path.exists():
            raise RecordError(f"{path} is there already: name another file.")
        if not passphrase:
            return write_safely(path, render_zip(items))
        part = path.with_name(f".{path.name}.{uuid4().hex}{PART}")
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            self._write_sealed(part, items, passphrase)
            size = part.stat().st_size
            os.replace(part, path)
            force_folder(path.parent)
        except OSError as e:
            raise translate_disk_error(e, path) from e
        finally:
            part.unlink(missing_ok=True)
        return size

    @contextmanager
    def open_archive(self, path: Path, passphrase: str) -> Iterator[ZipArchive]:
        """Open an archive of either kind."""
        try:
            with path.open("rb") as file:
                is_sealed = tarfile.is_tarfile(path)
                if is_sealed and not passphrase:
                    raise PassphraseError("The archive is sealed: give the passphrase that it was made with.")
                opened = _open_sealed(file, path, passphrase) if is_sealed else file
                with zipfile.ZipFile(opened) as archive:
                    yield ZipArchive(archive)
        except OSError as e:
            raise RecordError(f"{path} cannot be read ({e.strerror}): check the name of the archive.") from e
        except (zipfile.BadZipFile, tarfile.TarError, EOFError) as e:
            raise DamageError(f"{path.name} is no whole archive: ask for it once more.") from e

    def _write_sealed(self, part: Path, items: Iterable[ArchiveItem], passphrase: str) -> None:
        with TemporaryDirectory(dir=part.parent, prefix=".elbowroom-", suffix=PART) as passing:
            ring, sealed = make_ring(), Path(passing) / SEALED_NAME
            store_ring(ring, Path(passing) / RING_NAME, passphrase, self._cost)
            write_safely(sealed, seal_chunks(render_zip(items), ring.keys, SEALED_ID))
            with part.open("xb") as file:
                _pack_parts(file, Path(passing))
                force_to_disk(file)


class ZipArchive:
    """An `OpenArchive` in a ZIP file."""

    def __init__(self, archive: zipfile.ZipFile) -> None:
        self._archive = archive

    def list_names(self) -> tuple[str, ...]:
        """The names of all files."""
        return tuple(self._archive.namelist())

    def read_item(self, name: str) -> Iterator[bytes]:
        """The content of one file; raises `DamageError` where it is not there or not as it was written."""
        try:
            with self._archive.open(name) as file:
                while piece := file.read(PIECE_BYTES):
                    yield piece
        except (KeyError, zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError) as e:
            raise DamageError(f"The archive holds no whole {name}: ask for it once more.") from e


def _pack_parts(file: BinaryIO, folder: Path) -> None:
    with tarfile.open(fileobj=file, mode="w", format=tarfile.PAX_FORMAT) as archive:
        for name in (RING_NAME, SEALED_NAME):
            archive.add(folder / name, name, filter=_hide_owner)


def render_zip(items: Iterable[ArchiveItem]) -> Iterator[bytes]:
    """Give a ZIP file piece by piece; clips are stored as they are, since they are packed already."""
    sink = _Sink()
    with zipfile.ZipFile(cast("BinaryIO", sink), "w") as archive:
        for item in items:
            facts = zipfile.ZipInfo(item.name, FIRST_DAY)
            is_text = item.name.endswith((".json", ".jsonl", ".txt", ".toml", ".html"))
            facts.compress_type = zipfile.ZIP_DEFLATED if is_text else zipfile.ZIP_STORED
            for _ in _write_item(archive, facts, item.pieces):
                yield sink.take_pieces()
    yield sink.take_pieces()


def _write_item(archive: zipfile.ZipFile, facts: zipfile.ZipInfo, pieces: Iterable[bytes]) -> Iterator[int]:
    """Write one file into an archive, and stop after every piece so that what was written can be taken away."""
    with archive.open(facts, "w", force_zip64=True) as file:
        for piece in pieces:
            yield file.write(piece)


class _Sink:
    """A file that can only be written, and that gives away what was written."""

    def __init__(self) -> None:
        self._waiting = bytearray()

    def write(self, piece: bytes) -> int:
        self._waiting += piece
        return len(piece)

    def flush(self) -> None:
        """Nothing waits anywhere else."""

    def take_pieces(self) -> bytes:
        taken, self._waiting = bytes(self._waiting), bytearray()
        return taken


class _PlainView(io.RawIOBase):
    """A sealed file as one that can be read at any place."""

    def __init__(self, reader: SealedReader) -> None:
        self._reader, self._place = reader, 0

    def seekable(self) -> bool:
        return True

    def readable(self) -> bool:
        return True

    def tell(self) -> int:
        return self._place

    def seek(self, offset: int, whence: int = os.SEEK_SET) -> int:
        start = {os.SEEK_SET: 0, os.SEEK_CUR: self._place, os.SEEK_END: self._reader.size_bytes}[whence]
        self._place = max(0, start + offset)
        return self._place

    def read(self, size: int = -1) -> bytes:
        stop = self._reader.size_bytes if size < 0 else self._place + size
        content = b"".join(self._reader.read_range(self._place, stop))
        self._place += len(content)
        return content


def _open_sealed(file: BinaryIO, path: Path, passphrase: str) -> BinaryIO:
    with tarfile.open(fileobj=file, mode="r:") as archive:
        try:
            keys, sealed = archive.extractfile(RING_NAME), archive.extractfile(SEALED_NAME)
        except KeyError:
            keys = sealed = None
    if keys is None or sealed is None:
        raise DamageError(f"{path.name} is no archive of an athlete: name a file that `record give` wrote.")
    ring = open_ring(keys.read(), path.name, passphrase)
    return cast("BinaryIO", _PlainView(SealedReader(cast("BinaryIO", sealed), ring.keys, SEALED_ID)))


def _hide_owner(member: tarfile.TarInfo) -> tarfile.TarInfo:
    member.uid = member.gid = 0
    member.uname = member.gname = ""
    return member
