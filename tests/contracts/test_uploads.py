"""One contract for uploads in memory and in a sealed folder, and what a disk adds: torn writes, full disks, keys.

Sides: the same calls on both; the finished file read by the vault's own reader; bytes changed and cut off on the disk;
a child process whose files may not grow any more.
"""

from __future__ import annotations

import hashlib
import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from elbowroom.adapters.vault.files import FolderVault
from elbowroom.adapters.vault.sealing import CHUNK_BYTES, HEAD, SEALED_CHUNK_BYTES
from elbowroom.adapters.vault.uploads import FolderUploads
from elbowroom.errors import DamageError, RecordError
from elbowroom.service.ports import Vault
from elbowroom.service.record_doubles import MemoryVault
from elbowroom.service.upload_doubles import MemoryUploads
from elbowroom.service.upload_ports import UploadStore
from tests.makers.record import make_ids

KEYS = {1: b"k" * 32}
FILE = "aa/bb"
PIECE = 4 * CHUNK_BYTES
CONTENT = np.random.default_rng(3).bytes(2 * PIECE + CHUNK_BYTES + 77)
SIZE = len(CONTENT)
Opener = Callable[[], tuple[UploadStore, Vault]]


@pytest.fixture(params=["memory", "folder"])
def open_store(request: pytest.FixtureRequest, tmp_path: Path) -> Opener:
    """Give a way to open one and the same store again, as a restarted server would."""
    if request.param == "folder":
        return lambda: (FolderUploads(tmp_path, KEYS), FolderVault(tmp_path, KEYS))
    vault = MemoryVault(make_ids())
    store = MemoryUploads(vault)
    return lambda: (store, vault)


def send(store: UploadStore, numbers: tuple[int, ...] = (0, 1, 2)) -> None:
    for number in numbers:
        store.store_piece(FILE, SIZE, number * PIECE, CONTENT[number * PIECE : (number + 1) * PIECE])


def test_pieces_become_the_file(open_store: Opener) -> None:
    for number in range(3):
        send(open_store()[0], (number,))
    stored = open_store()[0].finish_file(FILE, SIZE)
    assert (stored.digest, stored.size_bytes) == (hashlib.sha256(CONTENT).hexdigest(), SIZE)
    vault = open_store()[1]
    assert b"".join(vault.read_range(FILE)) == CONTENT
    assert b"".join(vault.read_range(FILE, PIECE - 5, PIECE + 5)) == CONTENT[PIECE - 5 : PIECE + 5]
    assert [file.file_id for file in vault.list_files("aa")] == [FILE]


def test_what_was_received_is_known_after_a_restart(open_store: Opener) -> None:
    assert open_store()[0].find_received(FILE, SIZE) == 0
    send(open_store()[0], (0, 1))
    assert open_store()[0].find_received(FILE, SIZE) == 2 * PIECE
    send(open_store()[0], (2,))
    assert open_store()[0].find_received(FILE, SIZE) == SIZE


def test_piece_that_comes_twice_changes_nothing(open_store: Opener) -> None:
    send(open_store()[0], (0, 1, 0, 2, 2))
    assert open_store()[0].finish_file(FILE, SIZE).digest == hashlib.sha256(CONTENT).hexdigest()


def test_finishing_twice_gives_the_same(open_store: Opener) -> None:
    send(open_store()[0])
    assert open_store()[0].finish_file(FILE, SIZE) == open_store()[0].finish_file(FILE, SIZE)
    assert open_store()[0].find_received(FILE, SIZE) == SIZE


def test_file_that_is_not_whole_is_not_finished(open_store: Opener) -> None:
    send(open_store()[0], (0, 1))
    with pytest.raises(DamageError, match="send the clip again"):
        open_store()[0].finish_file(FILE, SIZE)
    send(open_store()[0], (2,))
    open_store()[0].finish_file(FILE, SIZE)


def test_piece_outside_the_file_is_refused(open_store: Opener) -> None:
    with pytest.raises(RecordError, match="outside the file"):
        open_store()[0].store_piece(FILE, SIZE, 2 * PIECE, CONTENT[:PIECE])


def test_removed_upload_leaves_nothing(open_store: Opener) -> None:
    send(open_store()[0], (0,))
    open_store()[0].remove_upload(FILE)
    assert open_store()[0].find_received(FILE, SIZE) == 0
    assert open_store()[1].list_files("aa") == ()


def find_part(folder: Path) -> Path:
    (part,) = (folder / "files" / "aa").iterdir()
    return part


def test_nothing_plain_is_on_the_disk_while_it_arrives(tmp_path: Path) -> None:
    send(FolderUploads(tmp_path, KEYS), (0, 1))
    sealed = find_part(tmp_path).read_bytes()
    assert all(CONTENT[place : place + 24] not in sealed for place in range(0, 2 * PIECE, 9973))
    assert len(sealed) == HEAD.size + 8 * SEALED_CHUNK_BYTES


@pytest.mark.parametrize("cut", [1, CHUNK_BYTES, SEALED_CHUNK_BYTES + 1])
def test_torn_end_does_not_count(tmp_path: Path, cut: int) -> None:
    store = FolderUploads(tmp_path, KEYS)
    send(store, (0, 1))
    part = find_part(tmp_path)
    os.truncate(part, part.stat().st_size - cut)
    whole = (8 * SEALED_CHUNK_BYTES - cut) // SEALED_CHUNK_BYTES
    assert store.find_received(FILE, SIZE) == whole * CHUNK_BYTES
    send(store, (1, 2))
    assert store.finish_file(FILE, SIZE).digest == hashlib.sha256(CONTENT).hexdigest()


def test_zeros_that_a_power_cut_left_do_not_count(tmp_path: Path) -> None:
    store = FolderUploads(tmp_path, KEYS)
    send(store, (0, 1))
    part = find_part(tmp_path)
    size = part.stat().st_size
    os.truncate(part, size - 100)
    os.truncate(part, size)
    assert store.find_received(FILE, SIZE) == 7 * CHUNK_BYTES


def test_change_in_the_middle_is_noticed_at_the_end(tmp_path: Path) -> None:
    store = FolderUploads(tmp_path, KEYS)
    send(store)
    part = find_part(tmp_path)
    content = bytearray(part.read_bytes())
    content[HEAD.size + SEALED_CHUNK_BYTES + 9] ^= 1
    part.write_bytes(content)
    with pytest.raises(DamageError, match="check the disk"):
        store.finish_file(FILE, SIZE)
    assert store.find_received(FILE, SIZE) == 0
    send(store)
    assert store.finish_file(FILE, SIZE).digest == hashlib.sha256(CONTENT).hexdigest()


def test_upload_under_an_old_key_begins_again(tmp_path: Path) -> None:
    send(FolderUploads(tmp_path, KEYS), (0, 1))
    store = FolderUploads(tmp_path, {2: b"n" * 32})
    assert store.find_received(FILE, SIZE) == 0
    send(store)
    store.finish_file(FILE, SIZE)
    assert b"".join(FolderVault(tmp_path, {2: b"n" * 32}).read_range(FILE)) == CONTENT


FULL = """
import resource, sys
from pathlib import Path
from elbowroom.adapters.vault.uploads import FolderUploads
from elbowroom.errors import RecordError
store, piece = FolderUploads(Path(sys.argv[1]), {1: b"k" * 32}), bytes(4 << 20)
store.store_piece("aa/bb", 3 * len(piece), 0, piece)
resource.setrlimit(resource.RLIMIT_FSIZE, (6 << 20, 6 << 20))
try:
    store.store_piece("aa/bb", 3 * len(piece), len(piece), piece)
except RecordError as e:
    print(e)
print(store.find_received("aa/bb", 3 * len(piece)))
"""


@pytest.mark.skipif(os.name == "nt", reason="this system has no limit on the size of files")
def test_disk_that_takes_no_more_keeps_what_was_there(tmp_path: Path) -> None:
    command = [sys.executable, "-c", FULL, str(tmp_path)]
    done = subprocess.run(command, capture_output=True, text=True, check=True)
    sentence, received = done.stdout.splitlines()
    assert "cannot be written" in sentence
    assert int(received) == PIECE
    assert find_part(tmp_path).stat().st_size == HEAD.size + 4 * SEALED_CHUNK_BYTES
