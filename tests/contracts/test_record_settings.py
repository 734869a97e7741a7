"""Where the owner may put the record, and what is said about nonsense.

Sides: each variable given, missing, wrong, and at odds with another.
"""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from elbowroom.errors import SettingsError
from elbowroom.settings import read_record_settings

ADDRESS = "postgresql://clinic@127.0.0.1/clinic"


def test_folder_is_taken(tmp_path: Path) -> None:
    (tmp_path / "p").write_text("words", encoding="utf-8")
    given = {"ELBOWROOM_RECORD": str(tmp_path / "r"), "ELBOWROOM_PASSPHRASE_FILE": str(tmp_path / "p")}
    settings = read_record_settings(given)
    assert (settings.folder, settings.address, settings.passphrase_file) == (tmp_path / "r", "", tmp_path / "p")


def test_server_has_its_folder_beside_it(tmp_path: Path) -> None:
    settings = read_record_settings({"ELBOWROOM_RECORD": ADDRESS, "ELBOWROOM_VAULT": str(tmp_path)})
    assert (settings.folder, settings.address, settings.passphrase_file) == (tmp_path, ADDRESS, None)


@pytest.mark.skipif(sys.platform != "linux", reason="the data folder of Linux")
def test_default_lies_in_the_data_folder(tmp_path: Path) -> None:
    for given in ({}, {"ELBOWROOM_RECORD": ADDRESS}):
        settings = read_record_settings({**given, "XDG_DATA_HOME": str(tmp_path)})
        assert settings.folder == tmp_path / "elbowroom" / "record"


@pytest.mark.parametrize(
    ("given", "named"),
    [
        ({"ELBOWROOM_RECORD": "relative/place"}, ["ELBOWROOM_RECORD"]),
        ({"ELBOWROOM_RECORD": "mysql://a/b"}, ["ELBOWROOM_RECORD"]),
        ({"ELBOWROOM_RECORD": ADDRESS, "ELBOWROOM_VAULT": "relative"}, ["ELBOWROOM_VAULT"]),
        ({"ELBOWROOM_VAULT": str(Path.home())}, ["ELBOWROOM_VAULT", "ELBOWROOM_RECORD"]),
        (
            {"ELBOWROOM_PASSPHRASE_FILE": "nowhere", "ELBOWROOM_RECORD": "x"},
            ["ELBOWROOM_PASSPHRASE", "ELBOWROOM_RECORD"],
        ),
    ],
)
def test_nonsense_is_named(given: dict[str, str], named: list[str]) -> None:
    with pytest.raises(SettingsError) as caught:
        read_record_settings(given)
    assert all(name in str(caught.value) for name in named)
    assert "give" in str(caught.value) or "set only" in str(caught.value)


def test_file_in_the_place_of_the_folder_is_refused(tmp_path: Path) -> None:
    (tmp_path / "file").touch()
    with pytest.raises(SettingsError, match="ELBOWROOM_RECORD"):
        read_record_settings({"ELBOWROOM_RECORD": str(tmp_path / "file")})
