"""Sealed files: AES-256-GCM in chunks of 1 MiB, so that any part can be read without the rest.

A sealed file is a head, then the chunks. The head holds the format, the number of the key and 32 random bytes. Each
file has a key of its own, derived from the vault's key with HKDF (RFC 5869), the random bytes and the id of the file.
The nonce of a chunk is its number and whether it is the last one (the STREAM construction of Hoang, Reyhanitabar,
Rogaway and Vizár, 2015), and the head is bound to every chunk: chunks cannot be swapped, repeated, left out, cut off
at the end or moved to another file without the seal breaking.
"""

from __future__ import annotations

import os
import struct
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import BinaryIO

from cryptography.exceptions import InvalidTag
from cryptography.hazmat.primitives.ciphers.aead import AESGCM
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.kdf.hkdf import HKDF

from elbowroom.errors import DamageError

MAGIC = b"elbowroom sealed 1\n"
CHUNK_BYTES = 1 << 20
TAG_BYTES = 16
SALT_BYTES = 32
HEAD = struct.Struct(f">{len(MAGIC)}sI{SALT_BYTES}s")
SEALED_CHUNK_BYTES = CHUNK_BYTES + TAG_BYTES


@dataclass(frozen=True, kw_only=True)
class SealedHead:
    """What the first bytes of a sealed file say."""

    key_number: int
    """Which key of the ring seals the file."""
    salt: bytes
    """Random bytes that make the key of this file."""

    def encode(self) -> bytes:
        """Return the bytes of the head."""
        return HEAD.pack(MAGIC, self.key_number, self.salt)


def seal_chunks(pieces: Iterable[bytes], keys: Mapping[int, bytes], file_id: str) -> Iterator[bytes]:
    """Seal a stream of bytes under the newest key; yields the head and then the sealed chunks."""
    head = make_head(keys)
    cipher = AESGCM(_derive_file_key(head, keys, file_id))
    yield head.encode()
    waiting, number = bytearray(), 0
    for piece in pieces:
        waiting += piece
        # One chunk always waits, since the last one has to be sealed as the last.
        while len(waiting) > CHUNK_BYTES:
            yield cipher.encrypt(_make_nonce(number, False), bytes(waiting[:CHUNK_BYTES]), head.encode())
            del waiting[:CHUNK_BYTES]
            number += 1
    yield cipher.encrypt(_make_nonce(number, True), bytes(waiting), head.encode())


class ChunkSealer:
    """Seals single chunks of a file whose size is known, at their places, and looks whether they are whole.

    Sealing the same bytes at the same place again gives the same sealed bytes. Other bytes at the same place would
    weaken the seal of both: whoever calls makes sure that a place gets one content only.
    """

    def __init__(self, head: SealedHead, keys: Mapping[int, bytes], file_id: str) -> None:
        """Raises `DamageError` where the key of the head is not there."""
        if head.key_number not in keys:
            raise DamageError(f"{file_id} is sealed with a key that is not in the ring: restore it from a backup.")
        self._head, self._cipher = head, AESGCM(_derive_file_key(head, keys, file_id))

    def seal_pieces(self, piece: bytes, first: int, count: int) -> Iterator[bytes]:
        """Seal a piece that begins with chunk `first` of a file of `count` chunks."""
        for place in range(0, len(piece), CHUNK_BYTES):
            number = first + place // CHUNK_BYTES
            nonce = _make_nonce(number, number == count - 1)
            yield self._cipher.encrypt(nonce, piece[place : place + CHUNK_BYTES], self._head.encode())

    def is_whole(self, file: BinaryIO, number: int, is_last: bool) -> bool:
        """Say whether a chunk is in a file as it was sealed."""
        file.seek(HEAD.size + number * SEALED_CHUNK_BYTES)
        try:
            self._cipher.decrypt(_make_nonce(number, is_last), file.read(SEALED_CHUNK_BYTES), self._head.encode())
        except InvalidTag:
            return False
        return True


def make_head(keys: Mapping[int, bytes]) -> SealedHead:
    """Make the head of a new file under the newest key."""
    return SealedHead(key_number=max(keys), salt=os.urandom(SALT_BYTES))


def count_chunks(size_bytes: int) -> int:
    """Return how many chunks a file has; an empty one has one."""
    return max(1, -(-size_bytes // CHUNK_BYTES))


class SealedReader:
    """Reads any part of a sealed file; what was changed, swapped or cut off is noticed."""

    def __init__(self, file: BinaryIO, keys: Mapping[int, bytes], file_id: str) -> None:
        """Read the head and check the last chunk, and with it the length; raises `DamageError`."""
        self._file, self._file_id = file, file_id
        self.head = read_head(file, file_id)
        if self.head.key_number not in keys:
            raise DamageError(f"{file_id} is sealed with a key that is not in the ring: restore it from a backup.")
        self._cipher = AESGCM(_derive_file_key(self.head, keys, file_id))
        sealed_bytes = file.seek(0, os.SEEK_END) - HEAD.size
        self._count = -(-sealed_bytes // SEALED_CHUNK_BYTES)
        self.size_bytes = sealed_bytes - self._count * TAG_BYTES
        if self.size_bytes < 0 or self._count < 1:
            raise _describe_damage(file_id)
        self._last = self._open_chunk(self._count - 1)

    def read_range(self, start: int, stop: int) -> Iterator[bytes]:
        """Yield the bytes from `start` up to `stop`, cut to the file, at most a chunk at a time."""
        stop = min(stop, self.size_bytes)
        if start < 0 or start >= stop:
            return
        for number in range(start // CHUNK_BYTES, (stop - 1) // CHUNK_BYTES + 1):
            base = number * CHUNK_BYTES
            chunk = self._last if number == self._count - 1 else self._open_chunk(number)
            yield chunk[max(0, start - base) : stop - base]

    def _open_chunk(self, number: int) -> bytes:
        self._file.seek(HEAD.size + number * SEALED_CHUNK_BYTES)
        sealed = self._file.read(SEALED_CHUNK_BYTES)
        try:
            nonce = _make_nonce(number, number == self._count - 1)
            return self._cipher.decrypt(nonce, sealed, self.head.encode())
        except InvalidTag as e:
            raise _describe_damage(self._file_id) from e


def read_head(file: BinaryIO, file_id: str) -> SealedHead:
    """Read the head of a sealed file; raises `DamageError` where it is none."""
    file.seek(0)
    text = file.read(HEAD.size)
    if len(text) < HEAD.size or not text.startswith(MAGIC):
        raise _describe_damage(file_id)
    _, key_number, salt = HEAD.unpack(text)
    return SealedHead(key_number=key_number, salt=salt)


def derive_key(key: bytes, salt: bytes, purpose: str) -> bytes:
    """Return 32 bytes that serve one purpose, derived from a key (HKDF with SHA-256)."""
    return HKDF(algorithm=SHA256(), length=32, salt=salt, info=f"elbowroom {purpose}".encode()).derive(key)


def _derive_file_key(head: SealedHead, keys: Mapping[int, bytes], file_id: str) -> bytes:
    return derive_key(keys[head.key_number], head.salt, f"file {file_id}")


def _make_nonce(number: int, is_last: bool) -> bytes:
    return struct.pack(">QBxxx", number, is_last)


def _describe_damage(file_id: str) -> DamageError:
    return DamageError(f"{file_id} is not as it was written: restore it from a backup, and check the disk.")
