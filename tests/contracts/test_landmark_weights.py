"""Fetching, checking and keeping the landmark weights, without the network.

Sides: archives made here with known digests; a stand-in package client on the search path; the folder read afterwards.
"""

from __future__ import annotations

import hashlib
import io
import stat
import sys
import tarfile
import zipfile
from pathlib import Path

import pytest

from elbowroom.adapters.landmark_model import clients, converted, weights
from elbowroom.adapters.landmark_model.sources import NPM_FILE, SOURCES, WeightName, WeightSource
from elbowroom.errors import WeightsError

CONTENT: dict[WeightName, bytes] = {
    "detector": b"detector weights",
    "lite": b"lite weights",
    "full": b"full weights",
    "heavy": b"heavy weights",
}


@pytest.fixture(autouse=True)
def _known_digests(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let the short contents of this file count as the weights."""
    for name, data in CONTENT.items():
        own = WeightSource(
            digests=(hashlib.sha256(data).hexdigest(),),
            members=SOURCES[name].members,
            in_wheel=SOURCES[name].in_wheel,
        )
        monkeypatch.setitem(SOURCES, name, own)  # type: ignore[arg-type]


@pytest.fixture
def no_clients(monkeypatch: pytest.MonkeyPatch) -> None:
    """A machine with neither npm nor uv, and a pip that has no way out."""
    monkeypatch.setattr(clients.shutil, "which", lambda name: None)
    monkeypatch.setattr(clients, "find_uv", lambda: None)
    monkeypatch.setattr(weights, "run_download", lambda command, folder: "no way out")


def make_tgz(path: Path, members: dict[str, bytes]) -> Path:
    with tarfile.open(path, "w:gz") as archive:
        for name, data in members.items():
            item = tarfile.TarInfo(name)
            item.size = len(data)
            archive.addfile(item, io.BytesIO(data))
    return path


def make_npm_package(path: Path) -> Path:
    return make_tgz(path, {SOURCES[name].members[-1]: data for name, data in CONTENT.items()})


def test_npm_package_by_hand_gives_all(tmp_path: Path, no_clients: None) -> None:
    package = make_npm_package(tmp_path / "package.tgz")
    said: list[str] = []
    paths = weights.fetch_weights(list(CONTENT), tmp_path / "cache", archives=[package], report=said.append)
    assert {name: path.read_bytes() for name, path in paths.items()} == CONTENT
    assert len(said) == 4


def test_wheel_by_hand_gives_what_it_holds(tmp_path: Path, no_clients: None) -> None:
    wheel = tmp_path / "package.whl"
    with zipfile.ZipFile(wheel, "w") as archive:
        archive.writestr(SOURCES["full"].members[0], CONTENT["full"])
        archive.writestr("something/else.txt", b"else")
    weights.fetch_weights(["full"], tmp_path / "cache", archives=[wheel])
    assert [path.name for path in (tmp_path / "cache").iterdir()] == ["full.tflite"]


def test_bare_file_by_hand_is_known_by_its_content(tmp_path: Path, no_clients: None) -> None:
    bare = tmp_path / "any name.bin"
    bare.write_bytes(CONTENT["heavy"])
    paths = weights.fetch_weights(["heavy"], tmp_path / "cache", archives=[bare])
    assert paths["heavy"].read_bytes() == CONTENT["heavy"]


@pytest.mark.parametrize("kind", ["changed tgz member", "other tgz", "other file", "cut tgz", "cut wheel", "absent"])
def test_useless_file_by_hand_is_refused_in_a_sentence(tmp_path: Path, no_clients: None, kind: str) -> None:
    path = tmp_path / "given"
    if kind == "changed tgz member":
        make_tgz(path, {SOURCES["lite"].members[-1]: b"changed"})
    elif kind == "other tgz":
        make_tgz(path, {"a.txt": b"a"})
    elif kind == "other file":
        path.write_bytes(b"anything")
    elif kind == "cut tgz":
        data = make_tgz(path, {SOURCES["lite"].members[-1]: bytes(range(256)) * 99}).read_bytes()
        path.write_bytes(data[: len(data) // 2])
    elif kind == "cut wheel":
        path.write_bytes(b"PK\x03\x04" + bytes(40))
    with pytest.raises(WeightsError, match=r"given.*(fetch it again|give the package or file)"):
        weights.fetch_weights(["lite"], tmp_path / "cache", archives=[path])
    assert not list(tmp_path.glob("cache/*"))


def test_no_client_names_the_file_to_fetch_by_hand(tmp_path: Path, no_clients: None) -> None:
    with pytest.raises(WeightsError) as caught:
        weights.fetch_weights(["heavy"], tmp_path)
    assert "neither npm nor uv" in str(caught.value)
    assert f"--from {NPM_FILE}" in str(caught.value)
    assert not list(tmp_path.iterdir())


def test_right_file_in_the_cache_needs_no_client(tmp_path: Path, no_clients: None) -> None:
    (tmp_path / "lite.tflite").write_bytes(CONTENT["lite"])
    assert weights.fetch_weights(["lite"], tmp_path) == {"lite": tmp_path / "lite.tflite"}


def test_changed_file_in_the_cache_is_not_taken(tmp_path: Path, no_clients: None) -> None:
    (tmp_path / "lite.tflite").write_bytes(CONTENT["lite"] + b"x")
    with pytest.raises(WeightsError, match="lite could not be fetched"):
        weights.fetch_weights(["lite"], tmp_path)


def test_unknown_name_lists_the_known(tmp_path: Path) -> None:
    with pytest.raises(WeightsError, match="no weights named tiny; choose from detector, lite, full, heavy"):
        weights.fetch_weights(["tiny"], tmp_path)  # type: ignore[list-item]


def make_client(folder: Path, script: str) -> str:
    """A program that stands in for npm: it gets npm's arguments and may use Python."""
    program = folder / "npm"
    program.write_text(f"#!{sys.executable}\nimport shutil, sys\n{script}\n", encoding="utf-8")
    program.chmod(program.stat().st_mode | stat.S_IXUSR)
    return str(program)


@pytest.mark.skipif(sys.platform == "win32", reason="the stand-in client is a POSIX script")
def test_client_is_run_and_its_file_checked(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    package = make_npm_package(tmp_path / "package.tgz")
    place = "sys.argv[sys.argv.index('--pack-destination') + 1]"
    npm = make_client(tmp_path, f"shutil.copy({str(package)!r}, {place})")
    monkeypatch.setattr(clients.shutil, "which", lambda name: npm if name == "npm" else None)
    paths = weights.fetch_weights(["lite", "heavy"], tmp_path / "cache")
    assert paths["heavy"].read_bytes() == CONTENT["heavy"]
    assert sorted(path.name for path in (tmp_path / "cache").iterdir()) == ["heavy.tflite", "lite.tflite"]


@pytest.mark.skipif(sys.platform == "win32", reason="the stand-in client is a POSIX script")
def test_failing_client_is_quoted(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    npm = make_client(tmp_path, "print('first'); sys.exit('the registry is asleep')")
    monkeypatch.setattr(clients.shutil, "which", lambda name: npm if name == "npm" else None)
    monkeypatch.setattr(clients, "find_uv", lambda: None)
    with pytest.raises(WeightsError, match="npm: the registry is asleep"):
        weights.fetch_weights(["heavy"], tmp_path / "cache")


def test_folder_that_cannot_be_made_is_named(tmp_path: Path, no_clients: None) -> None:
    (tmp_path / "file").write_bytes(b"")
    package = make_npm_package(tmp_path / "package.tgz")
    with pytest.raises(WeightsError, match=r"cannot be kept in .*file.*name another folder"):
        weights.fetch_weights(["lite"], tmp_path / "file" / "cache", archives=[package])


def test_interrupted_write_leaves_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def stop(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(weights.os, "replace", stop)
    with pytest.raises(KeyboardInterrupt):
        weights.write_atomically(tmp_path / "lite.tflite", b"data")
    assert not list(tmp_path.iterdir())


def test_converted_file_is_kept_and_made_again_when_changed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "lite.tflite").write_bytes(CONTENT["lite"])
    calls: list[bytes] = []
    monkeypatch.setattr(converted, "convert_model", lambda data, _: calls.append(data) or b"converted")
    assert converted.prepare_model("lite", tmp_path) == b"converted"
    assert converted.prepare_model("lite", tmp_path) == b"converted"
    assert calls == [CONTENT["lite"]]
    (kept,) = tmp_path.glob("*.onnx")
    kept.write_bytes(b"conv")
    assert converted.prepare_model("lite", tmp_path) == b"converted"
    assert len(calls) == 2
