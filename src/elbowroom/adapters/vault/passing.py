"""Passing folders: plain files that a job needs for a while lie in one that only this user may read."""

from __future__ import annotations

import contextlib
import os
import shutil
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from elbowroom.adapters.vault.safe_files import remove_for_good, translate_disk_error
from elbowroom.errors import RecordError

with contextlib.suppress(ImportError):
    import fcntl

FOLDER_NAME, LOCK_NAME = "passing", ".in-use"


@contextlib.contextmanager
def open_passing_folder(record_folder: Path) -> Iterator[Path]:
    """Give a new folder (0700) that is overwritten and removed at the end, whatever happens.

    A lock on it lasts as long as this process: after a kill `sweep_folders` knows by it what is left over.
    """
    root = record_folder / FOLDER_NAME
    try:
        root.mkdir(mode=0o700, parents=True, exist_ok=True)
        root.chmod(0o700)
        folder = Path(tempfile.mkdtemp(dir=root))
        lock = (folder / LOCK_NAME).open("wb")
    except OSError as e:
        raise translate_disk_error(e, root) from e
    try:
        _try_lock(lock)
        yield folder
    finally:
        _remove_folder(folder, lock)


def sweep_folders(record_folder: Path) -> int:
    """Overwrite and remove the passing folders whose process is gone; returns how many."""
    left = [path for path in (record_folder / FOLDER_NAME).glob("*") if path.is_dir()]
    return sum(_sweep_folder(path) for path in left)


def _sweep_folder(folder: Path) -> bool:
    try:
        lock = (folder / LOCK_NAME).open("ab")
    except OSError:
        return False
    if not _try_lock(lock):
        lock.close()
        return False
    _remove_folder(folder, lock)
    return True


def _try_lock(lock: Any) -> bool:
    """Lock a file for this process and say whether that was possible; where no lock exists it counts as in use."""
    if os.name == "nt":
        return False
    try:
        fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        return False
    return True


def _remove_folder(folder: Path, lock: Any) -> None:
    for path in folder.rglob("*"):
        if path.is_file() and path.name != LOCK_NAME:
            with contextlib.suppress(RecordError):
                remove_for_good(path)
    # The lock goes last: a sweep that is cut off is done again.
    lock.close()
    shutil.rmtree(folder, ignore_errors=True)
