"""What the use cases need to take in a clip piece by piece."""

from __future__ import annotations

from typing import Protocol

from elbowroom.service.record_values import StoredFile


class UploadStore(Protocol):
    """Keeps files of the vault that are still arriving, sealed as they arrive.

    A piece is written at its place, so that the same piece may come twice. What is kept of a file survives a kill.
    """

    def find_received(self, file_id: str, size_bytes: int) -> int:
        """How many bytes from the start are kept, all whole; 0 where nothing is."""
        ...

    def store_piece(self, file_id: str, size_bytes: int, start: int, piece: bytes) -> None:
        """Keep a piece (whole chunks of 1 MiB, the file's last piece shorter) that begins at a place, on the disk.

        Raises `RecordError` where the disk is full or refuses; nothing of the piece is kept then.
        """
        ...

    def finish_file(self, file_id: str, size_bytes: int) -> StoredFile:
        """Read the whole file back, make it a file of the vault and say what it is; may be done again.

        Raises `DamageError` where it is not whole or not as it was written.
        """
        ...

    def remove_upload(self, file_id: str) -> None:
        """Remove what arrived of a file that is not finished, for good."""
        ...

    def find_room(self) -> int:
        """Bytes that the disk still has room for."""
        ...
