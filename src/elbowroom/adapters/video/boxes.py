"""Walks the outer boxes of an MP4 or MOV file, so that one cut anywhere is noticed, its index included."""

from __future__ import annotations

from typing import BinaryIO

HEADER_BYTES = 8
KNOWN = frozenset({b"ftyp", b"moov", b"mdat", b"wide", b"free", b"skip", b"pnot"})
"""Boxes with which a file of this family starts."""


def is_cut_off(file: BinaryIO, file_bytes: int) -> bool:
    """Say whether the last outer box states more bytes than the file has; false for files of another family.

    Source: ISO/IEC 14496-12, 4.2 (from memory): a box starts with its size (32 bits) and kind; size 1
    means that 64 bits follow, size 0 that the box runs to the end of the file. Leaves the file at its start.
    """
    start = 0
    while start < file_bytes:
        file.seek(start)
        header = file.read(2 * HEADER_BYTES)
        if start == 0 and header[4:8] not in KNOWN:
            break
        size = _read_size(header)
        # Zero bytes after the last box are padding; other sizes below a header are for the reader to judge.
        if size is not None and size < HEADER_BYTES:
            break
        if size is None or start + size > file_bytes:
            file.seek(0)
            return True
        start += size
    file.seek(0)
    return False


def _read_size(header: bytes) -> int | None:
    if len(header) < HEADER_BYTES:
        return None
    size = int.from_bytes(header[:4], "big")
    if size != 1:
        return size
    return int.from_bytes(header[8:16], "big") if len(header) == 2 * HEADER_BYTES else None
