"""Digests of files, so that a report can say exactly which clips it came from."""

from __future__ import annotations

import hashlib
from pathlib import Path

from elbowroom.errors import ClipError


def digest_file(path: Path) -> str:
    """Return the SHA-256 of a file in hexadecimal; raises `ClipError` where it cannot be read."""
    try:
        with path.open("rb") as file:
            return hashlib.file_digest(file, "sha256").hexdigest()
    except OSError as e:
        raise ClipError(f"{path.name} can no longer be read ({e.strerror}): check that it is still there.") from e
