"""Sealed files and keys: whatever is changed on the disk is noticed, and a wrong passphrase is told from damage.

Sides: sealed and opened again at sizes around a chunk; every range against a slice of the plain bytes; a second way
to open a chunk, written here from the description of the format; bits turned, chunks swapped, cut off, moved.
"""

from __future__ import annotations

import errno
import io
import json
import os
from pathlib import Path

import pytest
from cryptography.hazmat.primitives.ciphers.aead import AESGCM
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.kdf.hkdf import HKDF
from hypothesis import given, settings
from hypothesis import strategies as st

from elbowroom.adapters.vault import safe_files
from elbowroom.adapters.vault.backups import FolderShelf
from elbowroom.adapters.vault.files import FolderVault
from elbowroom.adapters.vault.ring import HashCost, KeyRing, make_ring, read_ring, store_ring
from elbowroom.adapters.vault.sealing import CHUNK_BYTES, HEAD, MAGIC, SEALED_CHUNK_BYTES, SealedReader, seal_chunks
from elbowroom.errors import DamageError, PassphraseError, RecordError
from tests.makers.record import PASSPHRASE

KEYS = {1: b"k" * 32}
QUICK = HashCost(memory_kib=64, passes=1, lanes=1)
SIZES = (0, 1, CHUNK_BYTES - 1, CHUNK_BYTES, CHUNK_BYTES + 1, 2 * CHUNK_BYTES, 2 * CHUNK_BYTES + 5)
PLAIN = bytes(range(251)) * (3 * CHUNK_BYTES // 251)


def seal(plain: bytes, file_id: str = "aa/bb", keys: dict[int, bytes] = KEYS) -> bytes:
    return b"".join(seal_chunks([plain], keys, file_id))


def open_all(sealed: bytes, file_id: str = "aa/bb", keys: dict[int, bytes] = KEYS) -> bytes:
    reader = SealedReader(io.BytesIO(sealed), keys, file_id)
    return b"".join(reader.read_range(0, reader.size_bytes))


@pytest.mark.parametrize("size", SIZES)
def test_what_is_sealed_comes_back(size: int) -> None:
    sealed = seal(PLAIN[:size])
    assert open_all(sealed) == PLAIN[:size]
    chunks = max(1, -(-size // CHUNK_BYTES))
    assert len(sealed) == HEAD.size + size + 16 * chunks


def test_size_of_the_pieces_does_not_matter() -> None:
    pieces = [PLAIN[start : start + 700_001] for start in range(0, len(PLAIN), 700_001)]
    assert open_all(b"".join(seal_chunks(pieces, KEYS, "aa/bb"))) == PLAIN


def test_second_way_to_open_a_chunk() -> None:
    sealed = seal(PLAIN)
    head = sealed[: len(MAGIC) + 4 + 32]
    info = b"elbowroom file aa/bb"
    key = HKDF(algorithm=SHA256(), length=32, salt=head[-32:], info=info).derive(KEYS[1])
    second = sealed[len(head) + SEALED_CHUNK_BYTES : len(head) + 2 * SEALED_CHUNK_BYTES]
    nonce = (1).to_bytes(8, "big") + b"\0" + bytes(3)
    assert AESGCM(key).decrypt(nonce, second, head) == PLAIN[CHUNK_BYTES : 2 * CHUNK_BYTES]


@settings(max_examples=40, deadline=None)
@given(start=st.integers(0, len(PLAIN) + 10), length=st.integers(0, 2 * CHUNK_BYTES))
def test_every_range_is_the_slice(start: int, length: int) -> None:
    reader = SealedReader(io.BytesIO(SEALED), KEYS, "aa/bb")
    assert b"".join(reader.read_range(start, start + length)) == PLAIN[start : start + length]


SEALED = seal(PLAIN)
CHUNK = slice(HEAD.size, HEAD.size + SEALED_CHUNK_BYTES)
NEXT = slice(CHUNK.stop, CHUNK.stop + SEALED_CHUNK_BYTES)


def turn_bit(place: int) -> bytes:
    changed = bytearray(SEALED)
    changed[place] ^= 1
    return bytes(changed)


DAMAGE = {
    "first byte": turn_bit(0),
    "salt": turn_bit(HEAD.size - 1),
    "first chunk": turn_bit(HEAD.size + 7),
    "last byte": turn_bit(-1),
    "chunks swapped": SEALED[: CHUNK.start] + SEALED[NEXT] + SEALED[CHUNK] + SEALED[NEXT.stop :],
    "chunk repeated": SEALED[: CHUNK.stop] + SEALED[CHUNK.start :],
    "chunk left out": SEALED[: CHUNK.start] + SEALED[CHUNK.stop :],
    "last chunk cut off": SEALED[: NEXT.stop],
    "one byte cut off": SEALED[:-1],
    "cut to the head": SEALED[: HEAD.size],
    "cut inside the head": SEALED[:10],
    "empty": b"",
    "something added": SEALED + b"x",
    "head of another": seal(PLAIN)[: HEAD.size] + SEALED[HEAD.size :],
}


@pytest.mark.parametrize("sealed", DAMAGE.values(), ids=DAMAGE.keys())
def test_damage_is_noticed(sealed: bytes) -> None:
    with pytest.raises(DamageError, match="restore it from a backup"):
        open_all(sealed)


def test_file_under_another_name_or_key_does_not_open() -> None:
    with pytest.raises(DamageError):
        open_all(SEALED, "aa/cc")
    with pytest.raises(DamageError):
        open_all(SEALED, keys={1: b"l" * 32})
    with pytest.raises(DamageError, match="not in the ring"):
        open_all(SEALED, keys={2: KEYS[1]})


def test_same_file_twice_is_sealed_differently() -> None:
    first, second = seal(PLAIN[:100]), seal(PLAIN[:100])
    assert first != second
    assert first[HEAD.size :] != second[HEAD.size :]


def test_ring_opens_with_its_passphrase_only(tmp_path: Path) -> None:
    ring, path = make_ring(), tmp_path / "keys.json"
    store_ring(ring, path, PASSPHRASE, QUICK)
    assert read_ring(path, f" {PASSPHRASE} ") == ring
    assert ring.keys[1].hex() not in path.read_text("utf-8")
    assert ring.keys[1].hex() not in repr(ring)
    with pytest.raises(PassphraseError, match="not the one of this record"):
        read_ring(path, PASSPHRASE + "s")


def test_accents_may_be_typed_in_either_way(tmp_path: Path) -> None:
    store_ring(make_ring(), tmp_path / "keys.json", "caf\u00e9 at the corner", QUICK)
    assert read_ring(tmp_path / "keys.json", "cafe\u0301 at the corner")


@pytest.mark.parametrize("number", range(0, 400, 37))
def test_damaged_ring_is_told_from_a_wrong_passphrase(tmp_path: Path, number: int) -> None:
    path = tmp_path / "keys.json"
    store_ring(make_ring(), path, PASSPHRASE, QUICK)
    content = bytearray(path.read_bytes())
    content[number % len(content)] ^= 2
    path.write_bytes(content)
    with pytest.raises(DamageError, match="copy from a backup"):
        read_ring(path, PASSPHRASE)


def test_ring_of_a_newer_version_or_absent_is_said(tmp_path: Path) -> None:
    with pytest.raises(RecordError, match="no record"):
        read_ring(tmp_path / "keys.json", PASSPHRASE)
    with pytest.raises(PassphraseError, match="too short"):
        store_ring(make_ring(), tmp_path / "keys.json", "short", QUICK)


def test_usual_cost_is_the_one_of_its_source(tmp_path: Path) -> None:
    """RFC 9106, section 4, second recommended option: t=3, p=4, m=2^16 KiB."""
    store_ring(make_ring(), tmp_path / "keys.json", PASSPHRASE)
    stated = json.loads((tmp_path / "keys.json").read_text("utf-8"))["argon2id"]
    assert (stated["passes"], stated["lanes"], stated["memory_kib"]) == (3, 4, 2**16)


def test_new_key_seals_every_file_anew_and_may_be_cut_off(tmp_path: Path) -> None:
    (tmp_path / "plain").write_bytes(PLAIN[:1000])
    ring = KeyRing(keys=dict(KEYS))
    ids = [FolderVault(tmp_path, ring.keys).store_file(tmp_path / "plain", "aa").file_id for _ in range(3)]
    both = ring.add_key()
    vault = FolderVault(tmp_path, both.keys)
    seal_one_anew(vault, ids[0])
    assert vault.seal_anew() == 2
    assert vault.seal_anew() == 0
    newest = FolderVault(tmp_path, both.remove_old().keys)
    assert {b"".join(newest.read_range(file_id)) for file_id in ids} == {PLAIN[:1000]}
    with pytest.raises(DamageError, match="not in the ring"):
        list(FolderVault(tmp_path, ring.keys).read_range(ids[0]))


def seal_one_anew(vault: FolderVault, file_id: str) -> None:
    path = vault._find_path(file_id)
    safe_files.write_safely(path, seal_chunks(list(vault.read_range(file_id)), vault._keys, file_id))


def test_full_disk_leaves_nothing_and_is_said(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(handle: int) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    (tmp_path / "plain").write_bytes(PLAIN)
    vault = FolderVault(tmp_path, KEYS)
    kept = vault.store_file(tmp_path / "plain", "aa").file_id
    monkeypatch.setattr(os, "fsync", refuse)
    with pytest.raises(RecordError, match="disk is full"):
        vault.store_file(tmp_path / "plain", "aa")
    with pytest.raises(RecordError, match="disk is full"):
        FolderShelf(tmp_path, KEYS).write_backup(tmp_path / "b", ["x"], [kept])
    monkeypatch.undo()
    assert [file.file_id for file in vault.list_files()] == [kept]
    assert not (tmp_path / "b").exists()


@pytest.mark.parametrize("name", ["../keys", "aa/../../x", "aa", "aa/b.b", "/aa/bb", "aa/.x/../../y.part"])
def test_no_name_leads_out_of_the_vault(tmp_path: Path, name: str) -> None:
    with pytest.raises(RecordError):
        FolderVault(tmp_path, KEYS).find_size(name)


def test_removed_file_was_overwritten_first(tmp_path: Path) -> None:
    (tmp_path / "plain").write_bytes(PLAIN[:5000])
    vault = FolderVault(tmp_path, KEYS)
    file_id = vault.store_file(tmp_path / "plain", "aa").file_id
    path = vault._find_path(file_id)
    second_name = tmp_path / "same blocks"
    os.link(path, second_name)
    size = path.stat().st_size
    assert vault.remove_files((file_id, "aa/00")) == size
    assert second_name.read_bytes() == bytes(size)
    assert not path.parent.exists()


@pytest.mark.parametrize("content", [b"", b"noise", bytes(5000)], ids=["empty", "noise", "zeros"])
def test_what_is_no_backup_is_said(tmp_path: Path, content: bytes) -> None:
    (tmp_path / "b").write_bytes(content)
    with pytest.raises(DamageError, match="no whole backup"):
        list(FolderShelf(tmp_path, KEYS).read_lines(tmp_path / "b"))
