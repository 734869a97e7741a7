"""In-memory double of the Protocol in `upload_ports`."""

from __future__ import annotations

import hashlib

from elbowroom.errors import DamageError, RecordError
from elbowroom.service.record_doubles import MemoryVault
from elbowroom.service.record_values import StoredFile

ROOM_BYTES = 1 << 40


class MemoryUploads:
    """An `UploadStore` in memory, for one vault."""

    def __init__(self, vault: MemoryVault, room_bytes: int = ROOM_BYTES) -> None:
        """`room_bytes` is what the disk is said to have room for."""
        self._vault, self._room_bytes = vault, room_bytes
        self._parts: dict[str, bytearray] = {}

    def find_received(self, file_id: str, size_bytes: int) -> int:
        """How many bytes are kept."""
        return size_bytes if file_id in self._vault.files else len(self._parts.get(file_id, b""))

    def store_piece(self, file_id: str, size_bytes: int, start: int, piece: bytes) -> None:
        """Keep a piece at its place."""
        part = self._parts.setdefault(file_id, bytearray())
        if start > len(part) or start + len(piece) > size_bytes or not piece:
            raise RecordError("This piece lies outside the file: begin the upload anew.")
        part[start : start + len(piece)] = piece

    def finish_file(self, file_id: str, size_bytes: int) -> StoredFile:
        """Make it a file of the vault."""
        content = self._vault.files.get(file_id) or bytes(self._parts.get(file_id, b""))
        if len(content) != size_bytes:
            raise DamageError("The upload is not whole: send the clip again.")
        self._parts.pop(file_id, None)
        self._vault.files[file_id] = content
        return StoredFile(file_id=file_id, digest=hashlib.sha256(content).hexdigest(), size_bytes=size_bytes)

    def remove_upload(self, file_id: str) -> None:
        """Drop what arrived."""
        self._parts.pop(file_id, None)

    def find_room(self) -> int:
        """What the disk is said to have room for."""
        return self._room_bytes
