"""Uploads, as the script of the filming page sends them: said first, then piece by piece, each with its digest."""

from __future__ import annotations

import base64
import hashlib
from typing import Annotated, Any

from fastapi import APIRouter, Depends, Request
from fastapi.responses import JSONResponse
from pydantic import BaseModel, Field

from elbowroom.core.cameras.types import View
from elbowroom.errors import RecordError
from elbowroom.service import uploading
from elbowroom.service.filming_types import Shows
from elbowroom.web.asking import Filmers

router = APIRouter()


class Announcement(BaseModel):
    """What is said of a file before it is sent."""

    name: str = Field(max_length=400)
    size: int
    pieces: list[str] = Field(max_length=uploading.MOST_BYTES // uploading.PIECE_BYTES)
    shows: Shows = Shows.THROWS
    view: View = View.OBLIQUE


async def read_piece(request: Request) -> bytes:
    """Read the raw body of a piece, no more than a piece may have, and hold it against its digest (RFC 9530).

    Raises `RecordError` where it is too long or not what was sent.
    """
    piece = bytearray()
    async for part in request.stream():
        piece += part
        if len(piece) > uploading.PIECE_BYTES:
            raise RecordError("This piece is too long: load the page again.")
    stated = request.headers.get("content-digest", "")
    digest = base64.b64encode(hashlib.sha256(piece).digest()).decode("ascii")
    if stated != f"sha-256=:{digest}:":
        raise RecordError("This piece was damaged on its way: it is sent again.")
    return bytes(piece)


@router.post("/visits/{visit_id}/uploads")
def begin_upload(visit_id: str, said: Announcement, asker: Filmers) -> JSONResponse:
    """Begin an upload, or find where the same one stopped."""
    facts = uploading.UploadFacts(
        name=said.name, size_bytes=said.size, piece_digests=tuple(said.pieces), shows=said.shows, view=said.view
    )
    return _answer(uploading.begin_upload(asker.record, visit_id, facts, asker.stamp))


@router.get("/uploads/{upload_id}")
def show_upload(upload_id: str, asker: Filmers) -> JSONResponse:
    """Say how far an upload is."""
    return _answer(uploading.find_upload(asker.record, upload_id))


@router.put("/uploads/{upload_id}/pieces/{number}")
def store_piece(
    upload_id: str, number: int, asker: Filmers, piece: Annotated[bytes, Depends(read_piece)]
) -> JSONResponse:
    """Keep a piece."""
    return _answer(uploading.store_piece(asker.record, upload_id, number, piece))


@router.post("/uploads/{upload_id}/end")
def finish_upload(upload_id: str, asker: Filmers) -> JSONResponse:
    """Make a clip of an upload whose pieces are all there."""
    uploading.finish_upload(asker.record, upload_id, asker.stamp)
    return _answer(uploading.find_upload(asker.record, upload_id))


@router.delete("/uploads/{upload_id}")
def cancel_upload(upload_id: str, asker: Filmers) -> JSONResponse:
    """Remove what arrived of an upload."""
    uploading.cancel_upload(asker.record, upload_id)
    return _answer(uploading.find_upload(asker.record, upload_id))


def _answer(state: uploading.UploadState) -> JSONResponse:
    content: dict[str, Any] = {
        "id": state.upload.id,
        "name": state.upload.name,
        "received": state.received_count,
        "pieces": state.piece_count,
        "finished": bool(state.file),
    }
    return JSONResponse(content)
