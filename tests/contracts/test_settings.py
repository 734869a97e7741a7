"""What the owner may set, and what is said about nonsense.

Sides: each variable given, missing and wrong; the default number of cores against the standard library's own
count of what this process may use.
"""

from __future__ import annotations

import os
import sys
from pathlib import Path

import pytest

from elbowroom.errors import SettingsError
from elbowroom.settings import read_settings, read_web_settings


def test_given_values_are_taken(tmp_path: Path) -> None:
    settings = read_settings({"ELBOWROOM_MODELS": str(tmp_path), "ELBOWROOM_CORES": "3"})
    assert settings.models_folder == tmp_path
    assert settings.core_count == 3


def test_folder_may_be_absent_yet(tmp_path: Path) -> None:
    assert read_settings({"ELBOWROOM_MODELS": str(tmp_path / "new")}).models_folder == tmp_path / "new"


@pytest.mark.skipif(sys.platform != "linux", reason="the cache folder of Linux")
def test_default_folder_lies_in_the_cache_folder(tmp_path: Path) -> None:
    assert read_settings({"XDG_CACHE_HOME": str(tmp_path)}).models_folder == tmp_path / "elbowroom" / "models"
    assert read_settings({}).models_folder == Path.home() / ".cache" / "elbowroom" / "models"


@pytest.mark.skipif(sys.platform != "linux", reason="only Linux tells which cores a process may use")
def test_default_cores_are_those_of_the_process() -> None:
    before = os.sched_getaffinity(0)
    try:
        os.sched_setaffinity(0, {min(before)})
        assert read_settings({"ELBOWROOM_CORES": ""}).core_count == 1
    finally:
        os.sched_setaffinity(0, before)
    assert read_settings({}).core_count == len(before)


@pytest.mark.parametrize("text", ["0", "-1", "two", "1.5", " 2", "٣", "1e3"])
def test_nonsense_count_is_refused(text: str) -> None:
    with pytest.raises(SettingsError, match=r"ELBOWROOM_CORES is .* whole number of cores, 1 or more"):
        read_settings({"ELBOWROOM_CORES": text})


def test_nonsense_folder_is_refused(tmp_path: Path) -> None:
    file = tmp_path / "file"
    file.touch()
    with pytest.raises(SettingsError, match="which is a file: give a folder"):
        read_settings({"ELBOWROOM_MODELS": str(file)})
    with pytest.raises(SettingsError, match="give the whole path"):
        read_settings({"ELBOWROOM_MODELS": "models"})


def test_all_problems_are_named_at_once() -> None:
    with pytest.raises(SettingsError) as caught:
        read_settings({"ELBOWROOM_MODELS": "models", "ELBOWROOM_CORES": "none"})
    assert "ELBOWROOM_MODELS" in str(caught.value)
    assert "ELBOWROOM_CORES" in str(caught.value)


def test_lock_is_said_in_minutes() -> None:
    assert read_web_settings({}).lock_after_s == 600
    assert read_web_settings({"ELBOWROOM_LOCK_MINUTES": ""}).lock_after_s == 600
    assert read_web_settings({"ELBOWROOM_LOCK_MINUTES": "2"}).lock_after_s == 120


@pytest.mark.parametrize("text", ["0", "121", "-1", "five", "1.5", "²"])
def test_nonsense_minutes_are_refused(text: str) -> None:
    with pytest.raises(SettingsError, match="ELBOWROOM_LOCK_MINUTES"):
        read_web_settings({"ELBOWROOM_LOCK_MINUTES": text})
