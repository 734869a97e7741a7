"""The ring of keys: one small file, opened by a passphrase, that holds the keys of record and files.

The keys are random. The passphrase seals them (argon2id, RFC 9106, then AES-256-GCM), so a new passphrase re-seals
this one file, and nothing else has to be written anew.
"""

from __future__ import annotations

import hashlib
import json
import os
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from argon2.low_level import Type, hash_secret_raw
from cryptography.exceptions import InvalidTag
from cryptography.hazmat.primitives.ciphers.aead import AESGCM

from elbowroom.adapters.vault.safe_files import write_safely
from elbowroom.adapters.vault.sealing import derive_key
from elbowroom.errors import DamageError, PassphraseError, RecordError

FORMAT, FORMAT_VERSION = "elbowroom keys", "1"
RING_NAME = "keys.json"
LEAST_LETTERS = 12
MOST_MEMORY_KIB, MOST_PASSES, MOST_LANES = 1 << 21, 64, 64
"""More than a ring of ours asks for: a changed file shall not make the machine work for hours."""
DAMAGED = "The file of keys {name} is not as it was written: put a copy from a backup in its place."


@dataclass(frozen=True, kw_only=True)
class HashCost:
    """What it costs to try one passphrase."""

    memory_kib: int = 65536
    """Memory in KiB (RFC 9106, second recommended choice)."""
    passes: int = 3
    """Passes over the memory (the same source)."""
    lanes: int = 4
    """Lanes of the computation (the same source)."""


USUAL_COST = HashCost()
"""The second recommended choice of RFC 9106, section 4."""


@dataclass(frozen=True, kw_only=True)
class KeyRing:
    """The keys, by number; the highest number seals what is written from now on."""

    keys: Mapping[int, bytes] = field(repr=False)
    """32 random bytes each."""

    def list_database_keys(self) -> tuple[bytes, ...]:
        """Return the keys of the database, the newest first."""
        return tuple(derive_key(self.keys[number], b"", "database") for number in sorted(self.keys, reverse=True))

    def add_key(self) -> KeyRing:
        """Return the ring with a new key, which is the newest."""
        return KeyRing(keys={**self.keys, max(self.keys) + 1: os.urandom(32)})

    def remove_old(self) -> KeyRing:
        """Return the ring with its newest key alone."""
        return KeyRing(keys={max(self.keys): self.keys[max(self.keys)]})


def make_ring() -> KeyRing:
    """Make a ring with one new key."""
    return KeyRing(keys={1: os.urandom(32)})


def store_ring(ring: KeyRing, path: Path, passphrase: str, cost: HashCost = USUAL_COST) -> None:
    """Seal a ring under a passphrase and write it, whole or not at all; raises `PassphraseError`, `RecordError`."""
    check_passphrase(passphrase)
    salt, nonce = os.urandom(16), os.urandom(12)
    plain = json.dumps({str(number): key.hex() for number, key in ring.keys.items()}).encode()
    open_part = {
        "format": FORMAT,
        "format_version": FORMAT_VERSION,
        "argon2id": {"salt": salt.hex(), **vars(cost)},
    }
    sealed = AESGCM(_hash_passphrase(passphrase, salt, cost)).encrypt(nonce, plain, _write_json(open_part))
    content = {**open_part, "sealed": (nonce + sealed).hex()}
    write_safely(path, [_write_json({**content, "sha256": _digest(content)})])


def read_ring(path: Path, passphrase: str) -> KeyRing:
    """Open a ring; raises `PassphraseError` for a wrong passphrase, `DamageError` for a changed file, else
    `RecordError`."""
    try:
        text = path.read_bytes()
    except OSError as e:
        raise RecordError(f"There is no record at {path.parent} ({e.strerror}): name another place.") from e
    return open_ring(text, path.name, passphrase)


def open_ring(text: bytes, name: str, passphrase: str) -> KeyRing:
    """Open a ring from the bytes of its file; raises as `read_ring` does."""
    content = _read_content(text, name)
    try:
        stated = content["argon2id"]
        cost = HashCost(**{key: int(stated[key]) for key in ("memory_kib", "passes", "lanes")})
        salt, sealed = bytes.fromhex(stated["salt"]), bytes.fromhex(content["sealed"])
        open_part = {key: content[key] for key in ("format", "format_version", "argon2id")}
    except (KeyError, TypeError, ValueError) as e:
        raise DamageError(DAMAGED.format(name=name)) from e
    if not (0 < cost.memory_kib <= MOST_MEMORY_KIB and 0 < cost.passes <= MOST_PASSES and 0 < cost.lanes <= MOST_LANES):
        raise DamageError(DAMAGED.format(name=name))
    try:
        cipher = AESGCM(_hash_passphrase(passphrase, salt, cost))
        plain = cipher.decrypt(sealed[:12], sealed[12:], _write_json(open_part))
    except InvalidTag as e:
        raise PassphraseError("The passphrase is not the one of this record: type it again.") from e
    return KeyRing(keys={int(number): bytes.fromhex(key) for number, key in json.loads(plain).items()})


def check_passphrase(passphrase: str) -> None:
    """Raise `PassphraseError` for a passphrase that is too short to protect anything."""
    if len(_normalise(passphrase)) < LEAST_LETTERS:
        raise PassphraseError(f"The passphrase is too short: take several words, {LEAST_LETTERS} letters or more.")


def _read_content(text: bytes, name: str) -> dict[str, Any]:
    """Return the fields of the file whose digest is right: damage is told from a wrong passphrase by it."""
    try:
        content = json.loads(text)
        digest = content.pop("sha256")
    except (ValueError, KeyError, AttributeError) as e:
        raise DamageError(DAMAGED.format(name=name)) from e
    if digest != _digest(content) or content.get("format") != FORMAT:
        raise DamageError(DAMAGED.format(name=name))
    if content["format_version"] != FORMAT_VERSION:
        raise RecordError(f"{name} was written by a newer elbowroom: use that one.")
    return dict(content)


def _hash_passphrase(passphrase: str, salt: bytes, cost: HashCost) -> bytes:
    secret = _normalise(passphrase).encode()
    try:
        return hash_secret_raw(secret, salt, cost.passes, cost.memory_kib, cost.lanes, 32, Type.ID)
    except Exception as e:
        raise RecordError(f"The passphrase cannot be tried, {cost.memory_kib // 1024} MiB are needed: {e}.") from e


def _normalise(passphrase: str) -> str:
    # Keyboards write the same accented letter in several ways.
    return unicodedata.normalize("NFKC", passphrase).strip()


def _digest(content: Mapping[str, Any]) -> str:
    return hashlib.sha256(_write_json(content)).hexdigest()


def _write_json(content: Mapping[str, Any]) -> bytes:
    return json.dumps(content, sort_keys=True, indent=1).encode()
