"""Results appear whole or not at all, and nobody else's file is removed.

Sides: the folder's content before and after; a write that is broken off in the middle; facts of the machine against
the standard library's.
"""

from __future__ import annotations

import os
import shutil
from pathlib import Path

import pytest

from elbowroom.adapters.machine.facts import describe_decoder, describe_memory, list_machine_facts
from elbowroom.adapters.results.folders import check_results_folder, write_results, write_whole_file
from elbowroom.errors import ResultError

FILES = {"report.html": "<p>é</p>", "report.json": "{}"}


def list_names(folder: Path) -> list[str]:
    return sorted(item.name for item in folder.iterdir())


def test_results_are_written_whole(tmp_path: Path) -> None:
    write_results(tmp_path / "a" / "out", FILES)
    assert {name: (tmp_path / "a" / "out" / name).read_text("utf-8") for name in FILES} == FILES
    assert list_names(tmp_path / "a") == ["out"]


def test_earlier_results_are_kept_unless_told(tmp_path: Path) -> None:
    write_results(tmp_path / "out", FILES)
    with pytest.raises(ResultError, match="--replace"):
        write_results(tmp_path / "out", {"report.html": "new"})
    assert list_names(tmp_path / "out") == list(FILES)
    write_results(tmp_path / "out", {"report.html": "new"}, may_replace=True)
    assert list_names(tmp_path / "out") == ["report.html"]
    assert list_names(tmp_path) == ["out"]


def test_foreign_files_are_never_removed(tmp_path: Path) -> None:
    (tmp_path / "diary.txt").touch()
    with pytest.raises(ResultError, match=r"diary\.txt"):
        write_results(tmp_path, FILES, may_replace=True)
    assert list_names(tmp_path) == ["diary.txt"]


def test_file_in_the_way_is_said(tmp_path: Path) -> None:
    (tmp_path / "out").touch()
    with pytest.raises(ResultError, match="is a file"):
        check_results_folder(tmp_path / "out", may_replace=True)
    with pytest.raises(ResultError, match="below a file"):
        check_results_folder(tmp_path / "out" / "deeper", may_replace=True)


@pytest.mark.parametrize("may_replace", [False, True])
def test_broken_off_write_leaves_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, may_replace: bool) -> None:
    if may_replace:
        write_results(tmp_path / "out", FILES)
    before = list_names(tmp_path)
    real = Path.write_bytes

    def fail(self: Path, content: bytes) -> int:
        if self.name == "report.json":
            raise OSError(28, "No space left on device")
        return real(self, content)

    monkeypatch.setattr(Path, "write_bytes", fail)
    with pytest.raises(ResultError, match="No space left on device"):
        write_results(tmp_path / "out", dict.fromkeys(FILES, "new"), may_replace)
    assert list_names(tmp_path) == before
    assert not may_replace or (tmp_path / "out" / "report.html").read_text("utf-8") == FILES["report.html"]


def test_broken_off_swap_brings_the_old_back(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    write_results(tmp_path / "out", FILES)
    real = Path.rename

    def fail(self: Path, target: Path) -> Path:
        if self.name.endswith(".part") and not self.name.endswith(".old.part"):
            raise OSError(13, "Permission denied")
        return real(self, target)

    monkeypatch.setattr(Path, "rename", fail)
    with pytest.raises(ResultError, match="Permission denied"):
        write_results(tmp_path / "out", {"report.html": "new"}, may_replace=True)
    assert (tmp_path / "out" / "report.html").read_text("utf-8") == FILES["report.html"]
    assert list_names(tmp_path) == ["out"]


def test_single_file_is_written_whole(tmp_path: Path) -> None:
    write_whole_file(tmp_path / "new" / "a.csv", b"1")
    with pytest.raises(ResultError, match="--replace"):
        write_whole_file(tmp_path / "new" / "a.csv", b"2")
    write_whole_file(tmp_path / "new" / "a.csv", b"3", may_replace=True)
    assert (tmp_path / "new" / "a.csv").read_bytes() == b"3"
    assert list_names(tmp_path / "new") == ["a.csv"]


def test_folder_is_never_replaced_by_a_file(tmp_path: Path) -> None:
    with pytest.raises(ResultError):
        write_whole_file(tmp_path, b"1", may_replace=True)


def test_facts_name_what_is_there(tmp_path: Path) -> None:
    facts = {fact.what: fact for fact in list_machine_facts(3, tmp_path / "new")}
    assert list(facts) == ["Python", "cores", "memory", "disk room", "H.264 video", "HEVC video"]
    assert facts["cores"].found.startswith("3 ")
    assert facts["disk room"].found == f"{shutil.disk_usage(tmp_path).free / 1e9:.1f} GB free"
    if hasattr(os, "sysconf"):
        assert facts["memory"].found == f"{os.sysconf('SC_PHYS_PAGES') * os.sysconf('SC_PAGE_SIZE') / 1e9:.1f} GB"


def test_lack_is_named_with_a_remedy() -> None:
    assert describe_memory(1_000_000_000).remedy
    assert not describe_memory(8_000_000_000).remedy
    assert not describe_memory(0).remedy
    assert describe_decoder("a made-up codec", "no-such-codec").remedy
    assert not describe_decoder("H.264", "h264").remedy
