"""A folder of results and single files, written whole or not at all."""

from __future__ import annotations

import os
import shutil
import tempfile
from collections.abc import Collection, Mapping
from fnmatch import fnmatch
from pathlib import Path

from elbowroom.errors import ResultError

OWN_NAMES = frozenset({"report.html", "report.json", "family.pdf", "clinical.pdf", "note.txt", "workings.npz"})
"""Files that a folder of results may hold and still be replaced: nobody else's file is ever removed."""


def check_results_folder(folder: Path, may_replace: bool, own_names: Collection[str] = OWN_NAMES) -> None:
    """Raise `ResultError` where a folder of results cannot be written at that place, or may not be replaced.

    `own_names` are patterns of the files that may be in it.
    """
    if folder.is_dir():
        names = {item.name for item in folder.iterdir()}
        strangers = sorted(name for name in names if not any(fnmatch(name, own) for own in own_names))
        if strangers:
            strange = strangers[0]
            raise ResultError(
                f"{folder} holds {strange}, which is no part of a report: name another folder with --out."
            )
        if names and not may_replace:
            raise ResultError(f"{folder} holds a report already: add --replace, or name another folder with --out.")
    elif folder.exists():
        raise ResultError(f"{folder} is a file: name a folder with --out.")
    elif not find_standing_parent(folder).is_dir():
        raise ResultError(f"{folder} cannot be made below a file: name another folder with --out.")


def find_standing_parent(path: Path) -> Path:
    """Return the nearest parent of a path that is there."""
    return next(parent for parent in path.absolute().parents if parent.exists())


def write_results(
    folder: Path, files: Mapping[str, str | bytes], may_replace: bool = False, own_names: Collection[str] = OWN_NAMES
) -> None:
    """Write files as one folder, texts in UTF-8: under another name first, then renamed, so no part passes as whole.

    Raises `ResultError` where the folder cannot be written or may not be replaced; nothing is left behind then.
    """
    check_results_folder(folder, may_replace, own_names)
    part = None
    try:
        folder.parent.mkdir(parents=True, exist_ok=True)
        part = Path(tempfile.mkdtemp(dir=folder.parent, prefix=f".{folder.name}.", suffix=".part"))
        for name, content in files.items():
            (part / name).write_bytes(content.encode("utf-8") if isinstance(content, str) else content)
        part.chmod(0o755)
        _put_in_place(part, folder)
    except OSError as e:
        raise ResultError(
            f"The report cannot be written to {folder} ({e.strerror}): check room and permissions."
        ) from e
    finally:
        if part is not None:
            shutil.rmtree(part, ignore_errors=True)


def _put_in_place(part: Path, folder: Path) -> None:
    if not folder.exists():
        part.rename(folder)
        return
    # A folder cannot be renamed onto one that holds files on any system, so the old one steps aside first.
    old = part.with_suffix(".old.part")
    folder.rename(old)
    try:
        part.rename(folder)
    except OSError:
        old.rename(folder)
        raise
    shutil.rmtree(old, ignore_errors=True)


def write_whole_file(path: Path, content: bytes, may_replace: bool = False) -> None:
    """Write a file whole or not at all; raises `ResultError` where that fails or would replace what may not be."""
    if path.exists() and not (may_replace and path.is_file()):
        raise ResultError(f"{path} is there already: add --replace, or choose another name.")
    part = path.with_name(f".{path.name}.{os.getpid()}.part")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        part.write_bytes(content)
        part.replace(path)
    except OSError as e:
        raise ResultError(f"{path} cannot be written ({e.strerror}): check room and permissions.") from e
    finally:
        part.unlink(missing_ok=True)
