"""Files that are there whole or not at all, also after the power failed."""

from __future__ import annotations

import contextlib
import errno
import os
import shutil
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import BinaryIO
from uuid import uuid4

from elbowroom.errors import RecordError

PART = ".part"
ZEROS = bytes(1 << 20)


def write_safely(path: Path, pieces: Iterable[bytes]) -> int:
    """Write a file under another name, force it to the disk, rename it; returns its size.

    Raises `RecordError` where the disk is full or refuses; nothing is left behind then, and a file of that name
    stays as it was.
    """
    part = path.with_name(f".{path.name}.{uuid4().hex}{PART}")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with part.open("xb") as file:
            size = sum(file.write(piece) for piece in pieces)
            force_to_disk(file)
        os.replace(part, path)
        force_folder(path.parent)
    except OSError as e:
        raise translate_disk_error(e, path) from e
    finally:
        with contextlib.suppress(OSError):
            part.unlink(missing_ok=True)
    return size


@contextlib.contextmanager
def place_folder(folder: Path) -> Iterator[Path]:
    """Give a passing folder beside a place, and put it there at the end; after an error nothing is left of it.

    Raises `RecordError` where something lies at that place already.
    """
    if folder.exists() and any(folder.iterdir()):
        raise RecordError(f"{folder} is not empty: name a folder that is.")
    part = folder.with_name(f".{folder.name}.{uuid4().hex}{PART}")
    try:
        part.mkdir(parents=True)
        yield part
        if folder.exists():
            folder.rmdir()
        part.rename(folder)
        force_folder(folder.parent)
    except OSError as e:
        raise translate_disk_error(e, folder) from e
    finally:
        shutil.rmtree(part, ignore_errors=True)


def force_to_disk(file: BinaryIO) -> None:
    """Return when the disk says that it holds the file."""
    file.flush()
    os.fsync(file.fileno())


def force_folder(folder: Path) -> None:
    """Force the names in a folder to the disk, where the system can."""
    if os.name == "nt":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def remove_for_good(path: Path) -> int:
    """Write zeros over a file, force them to the disk and remove it; returns its size, 0 where it is not there.

    A disk without moving parts, a copy-on-write file system or a snapshot may still hold the old blocks; what they
    hold is sealed. Raises `RecordError`.
    """
    try:
        size = path.stat().st_size
        with path.open("r+b") as file:
            for start in range(0, size, len(ZEROS)):
                file.write(ZEROS[: min(len(ZEROS), size - start)])
            force_to_disk(file)
        path.unlink()
    except FileNotFoundError:
        return 0
    except OSError as e:
        raise RecordError(f"{path.name} cannot be removed ({e.strerror}): close what uses it and try again.") from e
    return size


def translate_disk_error(error: OSError, path: Path) -> RecordError:
    """Return what a failed write means for the person at the screen."""
    if error.errno in (errno.ENOSPC, errno.EDQUOT):
        return RecordError(f"The disk is full, so {path.name} was not kept: make room and try again.")
    return RecordError(f"{path} cannot be written ({error.strerror}): check the disk and the permissions.")
