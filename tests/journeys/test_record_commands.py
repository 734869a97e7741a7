"""The clinic's record as a person uses it: every command, in the order of a clinic's days.

Sides: what is printed and the exit status; what lies on the disk, searched for names and for bytes of clips; the
restored record against the first; ways to go wrong, a sentence each.
"""

from __future__ import annotations

import hashlib
import io
import json
import os
import subprocess
import sys
from contextlib import redirect_stderr, redirect_stdout
from dataclasses import dataclass
from pathlib import Path

import pytest

from elbowroom.adapters.report.json_file import render_report_json
from elbowroom.cli.main import list_commands
from elbowroom.cli.running import run_commands
from tests.makers.record import PASSPHRASE
from tests.makers.reports import make_report

VISIT = """
made_on = 2026-03-01

[athlete]
name = "Zoe Angstroem"
age_years = 13.0
height_cm = 150
hand = "left"
kind = "pitch from a mound"

[ground]
target_m = 14.0

[[clip]]
file = "behind.mp4"
view = "behind"
board = "behind-board.mp4"

[[clip]]
file = "side.mp4"
view = "open side"
board = "side-board.mp4"
"""


@dataclass(frozen=True, kw_only=True)
class Ended:
    """How a command line ended."""

    status: int
    """The exit status."""
    out: str
    """What was printed."""
    said: str
    """What was said on the error stream."""


class Clinic:
    """Runs commands on one record, and remembers what they printed."""

    def __init__(self, folder: Path, place: str = "") -> None:
        self.folder = folder
        (folder / "passphrase").write_text(PASSPHRASE, encoding="utf-8")
        self.settings = {
            "ELBOWROOM_RECORD": place or str(folder / "record"),
            "ELBOWROOM_PASSPHRASE_FILE": str(folder / "passphrase"),
        }

    def run(self, *words: str, **settings: str) -> Ended:
        out, said = io.StringIO(), io.StringIO()
        with pytest.MonkeyPatch.context() as patch, redirect_stdout(out), redirect_stderr(said):
            patch.chdir(self.folder)
            patch.setattr(sys, "stdin", io.StringIO(""))
            for name, value in {**self.settings, **settings}.items():
                patch.setenv(name, value)
            status = run_commands(list_commands, ["record", *words])
        return Ended(status=status, out=out.getvalue(), said=said.getvalue())

    def say(self, *words: str, **settings: str) -> str:
        ended = self.run(*words, **settings)
        assert (ended.status, ended.said) == (0, "")
        return ended.out

    def refuse(self, *words: str, **settings: str) -> str:
        ended = self.run(*words, **settings)
        assert (ended.status, ended.out) == (2, ""), ended
        assert ended.said.count("\n") == 1
        return ended.said


def write_visit(folder: Path) -> Path:
    """Write a screened visit whose numbers are invented."""
    visit = folder / "visit"
    (visit / "elbowroom-report").mkdir(parents=True)
    (visit / "visit.toml").write_text(VISIT, encoding="utf-8")
    for name in ("behind.mp4", "side.mp4", "behind-board.mp4", "side-board.mp4"):
        (visit / name).write_bytes(f"marked bytes of {name} ".encode() * 1000)
    report = json.loads(render_report_json(make_report()))
    card = report["set_up"]["clips"][0]
    report["set_up"]["clips"] = [
        {**card, "name": name, "sha256": hashlib.sha256((visit / name).read_bytes()).hexdigest()}
        for name in ("behind.mp4", "side.mp4")
    ]
    (visit / "elbowroom-report" / "report.json").write_text(json.dumps(report), encoding="utf-8")
    return visit


def begin(clinic: Clinic) -> str:
    """Begin a record with one athlete and consent, and return the athlete's id."""
    clinic.say("begin", "--clinic", "River Street", "--person", "Rowan")
    athlete_id = clinic.say("athlete", "Zoe Angstroem", "--born", "2013-02-28", "--hand", "left").strip()
    clinic.say("consent", athlete_id, "--guardian", "Ines Angstroem", "--for", "care", "--for", "research")
    return athlete_id


def test_days_of_a_clinic(tmp_path: Path) -> None:
    clinic, visit = Clinic(tmp_path), write_visit(tmp_path)
    athlete_id = begin(clinic)
    said = clinic.say("keep", str(visit), "--athlete", athlete_id)
    assert "screening 1, is kept" in said
    assert "wait to be made ready for the review" in said
    assert "in the record already" in clinic.say("keep", str(visit), "--athlete", athlete_id)
    assert clinic.say("list", "ANGST").split() == [athlete_id, "2013-02-28", "1", "2026-03-01", "Zoe", "Angstroem"]
    clinic.say("withdraw", athlete_id, "--for", "research")
    shown = clinic.say("show", athlete_id)
    assert "Zoe Angstroem, born 2013-02-28, throws with the left hand (version 1)" in shown
    assert "withdrawn" in shown
    assert "visit 2026-03-01, pitch from a mound: 1 screening(s)" in shown
    assert clinic.say("check").endswith("Everything is as it was written.\n")
    assert find_in_clear(tmp_path / "record", ["Angstroem", "marked bytes", "River Street", PASSPHRASE]) == []
    backed = clinic.say("backup", "b.elbowroom")
    restored = clinic.say("restore", "b.elbowroom", ELBOWROOM_RECORD=str(tmp_path / "second"))
    assert backed.split("digest ")[1].strip(".\n") == restored.split("digest ")[1].strip(".\n")
    assert clinic.say("list", ELBOWROOM_RECORD=str(tmp_path / "second")) == clinic.say("list")
    removed = json.loads(clinic.say("forget", athlete_id, "--yes", "--certificate", "c.json"))
    assert removed == json.loads((tmp_path / "c.json").read_text("utf-8"))
    assert (removed["file_count"], len(removed["backups"])) == (6, 1)
    assert clinic.say("list") == ""
    assert "Rowan  forgot" in clinic.say("trail", athlete_id)
    assert "no athlete" in clinic.refuse("show", athlete_id)


def find_in_clear(folder: Path, words: list[str]) -> list[str]:
    files = [path for path in folder.rglob("*") if path.is_file()]
    assert len(files) >= 6
    return [f"{path.name}: {word}" for path in files for word in words if word.encode() in path.read_bytes()]


def test_passphrase_and_keys_change(tmp_path: Path) -> None:
    clinic, visit = Clinic(tmp_path), write_visit(tmp_path)
    athlete_id = begin(clinic)
    clinic.say("keep", str(visit), "--athlete", athlete_id)
    sealed = {path: path.read_bytes() for path in (tmp_path / "record").rglob("*.sealed")}
    (tmp_path / "new").write_text("five herons by a weir", encoding="utf-8")
    clinic.say("passphrase", "--new-file", "new")
    assert {path: path.read_bytes() for path in sealed} == sealed
    assert "not the one of this record" in clinic.refuse("list")
    clinic.settings["ELBOWROOM_PASSPHRASE_FILE"] = str(tmp_path / "new")
    assert "6 files" in clinic.say("keys")
    assert all(path.read_bytes() != content for path, content in sealed.items())
    assert clinic.say("check").endswith("Everything is as it was written.\n")


def test_what_cannot_be_done_is_said_in_a_sentence(tmp_path: Path) -> None:
    clinic, visit = Clinic(tmp_path), write_visit(tmp_path)
    assert "no record" in clinic.refuse("list")
    athlete_id = begin(clinic)
    assert "a record already" in clinic.refuse("begin", "--clinic", "Other", "--person", "Other")
    assert "Rowan" in clinic.refuse("show", athlete_id, "--by", "Nobody")
    assert "no athlete" in clinic.refuse("keep", str(visit), "--athlete", "abc")
    assert "--keep-years" in clinic.refuse("due")
    assert "is not there" in clinic.refuse("restore", "nothing", ELBOWROOM_RECORD=str(tmp_path / "second"))
    assert "ELBOWROOM_RECORD" in clinic.refuse("list", ELBOWROOM_RECORD="relative")
    assert "ELBOWROOM_PASSPHRASE_FILE" in clinic.refuse("list", ELBOWROOM_PASSPHRASE_FILE="nowhere")
    child = clinic.say("athlete", "Another", "--born", "2014-01-01", "--hand", "right").strip()
    assert "No consent for care" in clinic.refuse("keep", str(visit), "--athlete", child)
    assert "guardian" in clinic.refuse("consent", child, "--for", "care")
    (visit / "elbowroom-report" / "report.json").write_text("{}", encoding="utf-8")
    assert "no report of this elbowroom" in clinic.refuse("keep", str(visit), "--athlete", athlete_id)


def test_short_passphrase_makes_no_record(tmp_path: Path) -> None:
    clinic = Clinic(tmp_path)
    (tmp_path / "passphrase").write_text("short", encoding="utf-8")
    assert "too short" in clinic.refuse("begin", "--clinic", "A", "--person", "B")
    assert not (tmp_path / "record" / "keys.json").exists()


def test_forgetting_asks_first(tmp_path: Path) -> None:
    clinic = Clinic(tmp_path)
    athlete_id = begin(clinic)
    assert clinic.run("forget", athlete_id).status == 130
    assert athlete_id in clinic.say("list")


@pytest.mark.parametrize("address", ["postgresql://clinic@127.0.0.1:1/none"])
def test_server_that_is_away_is_said(tmp_path: Path, address: str) -> None:
    clinic = Clinic(tmp_path, address)
    said = clinic.refuse("begin", "--clinic", "A", "--person", "B", ELBOWROOM_VAULT=str(tmp_path / "vault"))
    assert "PostgreSQL server cannot be used" in said


def test_damaged_database_is_said_in_a_process_of_its_own(tmp_path: Path) -> None:
    clinic = Clinic(tmp_path)
    begin(clinic)
    database = tmp_path / "record" / "record.db"
    content = bytearray(database.read_bytes())
    content[100] ^= 1
    database.write_bytes(content)
    command = [sys.executable, "-m", "elbowroom", "record", "list"]
    result = subprocess.run(command, env={**os.environ, **clinic.settings}, capture_output=True, text=True, check=False)
    assert (result.returncode, result.stdout) == (2, "")
    assert result.stderr.count("\n") == 1, "the library writes to the error stream"
    assert "restore the record from a backup" in result.stderr
