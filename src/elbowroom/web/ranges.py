"""Answers requests for parts of a sealed file (HTTP Range, RFC 9110 14), reading only what is asked for."""

from __future__ import annotations

import re

from fastapi.responses import Response, StreamingResponse

from elbowroom.service.ports import Vault

SPAN = re.compile(r"(\d*)-(\d*)")
"""One part of a range in bytes."""


def answer_range(vault: Vault, file_id: str, media_type: str, asked: str) -> Response:
    """Return the whole file, or the part that the `Range` header asks for.

    Several parts, another unit or words that mean nothing give the whole file, as the standard allows; a part that
    lies behind the end is answered with 416 and the size.
    """
    size = vault.find_size(file_id)
    span = find_span(asked, size)
    if span is None:
        headers = {"accept-ranges": "bytes", "content-length": str(size)}
        return StreamingResponse(vault.read_range(file_id), media_type=media_type, headers=headers)
    start, stop = span
    if start >= min(stop, size):
        return Response(status_code=416, headers={"content-range": f"bytes */{size}"})
    stop = min(stop, size)
    headers = {
        "accept-ranges": "bytes",
        "content-range": f"bytes {start}-{stop - 1}/{size}",
        "content-length": str(stop - start),
    }
    return StreamingResponse(
        vault.read_range(file_id, start, stop), status_code=206, media_type=media_type, headers=headers
    )


def find_span(asked: str, size: int) -> tuple[int, int] | None:
    """Return the first byte and the one after the last of a single range, or nothing where the whole is to be sent."""
    unit, _, parts = asked.partition("=")
    found = SPAN.fullmatch(parts.strip())
    if unit.strip() != "bytes" or not found or not any(found.groups()):
        return None
    first, last = found.groups()
    if not first:
        return (max(0, size - int(last)), size) if int(last) else (size, size)
    if last and int(last) < int(first):
        return None
    return int(first), int(last) + 1 if last else size
