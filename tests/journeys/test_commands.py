"""The commands as a user runs them, those that need no clip: what is printed, the exit status, what is on disk.

Sides: a process of its own for each command line; the printed board's size against the sheet's; the table and the
schema read back by their own readers.
"""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import jsonschema
import pytest
from pypdf import PdfReader

from elbowroom.adapters.tables.tolerances import read_tolerances

ONE_LINE = "elbowroom: "


def run(folder: Path, *words: str, **settings: str) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "elbowroom", *words]
    environment = {**os.environ, **settings}
    return subprocess.run(command, cwd=folder, env=environment, capture_output=True, text=True, check=False)


def is_one_sentence(text: str) -> bool:
    return text.startswith(ONE_LINE) and text.count("\n") == 1 and "Traceback" not in text


REFUSED = {
    "no such command": (("scren",), "No such command"),
    "no such option": (("screen", "x", "--fast"), "No such option"),
    "nothing to screen": (("screen",), "Missing argument"),
    "wrong unit": (("demo", "--units", "miles"), "is not one of"),
    "folder not there": (("screen", "nowhere"), "is not there"),
    "folder without visit": (("screen", "."), "elbowroom begin"),
    "visit is no text": (("screen", "noise.toml"), "is no text"),
    "visit is no TOML": (("screen", "wrong.toml"), "cannot be read as TOML"),
    "nothing to begin": (("begin", "."), "There is no clip"),
    "begin a file": (("begin", "noise.toml"), "is not a folder"),
    "paper unknown": (("board", "--paper", "b0", "b.pdf"), "is not one of"),
    "weights not there": (("weights", "--from", "nowhere.tgz"), "nowhere.tgz"),
    "weights wrong": (("weights", "--from", "noise.toml"), "noise.toml"),
    "out is a file": (("screen", "visit", "--out", "noise.toml"), "is a file"),
}


@pytest.mark.parametrize(("words", "said"), REFUSED.values(), ids=REFUSED.keys())
def test_what_cannot_be_done_is_said_in_a_sentence(tmp_path: Path, words: tuple[str, ...], said: str) -> None:
    (tmp_path / "noise.toml").write_bytes(b"\xff\x00\x81")
    (tmp_path / "wrong.toml").write_text("[athlete", encoding="utf-8")
    before = sorted(tmp_path.rglob("*"))
    result = run(tmp_path, *words, ELBOWROOM_MODELS=str(tmp_path / "models"))
    assert result.returncode == 2
    assert result.stdout == ""
    assert is_one_sentence(result.stderr), result.stderr
    assert said in result.stderr
    assert sorted(tmp_path.rglob("*")) == before


def test_wrong_setting_is_said(tmp_path: Path) -> None:
    result = run(tmp_path, "check", ELBOWROOM_CORES="many")
    assert (result.returncode, is_one_sentence(result.stderr)) == (2, True)


def test_no_words_show_the_help(tmp_path: Path) -> None:
    result = run(tmp_path)
    assert result.returncode == 2
    assert "Commands:" in result.stderr


def test_version_is_printed(tmp_path: Path) -> None:
    assert run(tmp_path, "--version").stdout.startswith("elbowroom, version ")


SHEETS_MM = {"poster": (860, 660), "a3": (420, 297), "a4": (297, 210), "letter": (279.4, 215.9)}


@pytest.mark.parametrize("paper", SHEETS_MM)
def test_board_is_printed_to_the_sheet(tmp_path: Path, paper: str) -> None:
    result = run(tmp_path, "board", "--paper", paper, "b.pdf")
    assert (result.returncode, result.stderr) == (0, "")
    (page,) = PdfReader(tmp_path / "b.pdf").pages
    size = [float(page.mediabox.width) * 25.4 / 72, float(page.mediabox.height) * 25.4 / 72]
    assert size == pytest.approx(SHEETS_MM[paper], abs=0.1)


def test_files_are_replaced_only_when_told(tmp_path: Path) -> None:
    (tmp_path / "t.csv").write_text("mine", encoding="utf-8")
    refused = run(tmp_path, "tolerances", "--out", "t.csv")
    assert (refused.returncode, is_one_sentence(refused.stderr)) == (2, True)
    assert (tmp_path / "t.csv").read_text("utf-8") == "mine"
    assert run(tmp_path, "tolerances", "--out", "t.csv", "--replace").returncode == 0
    assert read_tolerances(tmp_path / "t.csv") == read_tolerances()


def test_schema_is_one(tmp_path: Path) -> None:
    jsonschema.Draft202012Validator.check_schema(json.loads(run(tmp_path, "schema").stdout))


def test_check_says_what_is_missing(tmp_path: Path) -> None:
    result = run(tmp_path, "check", ELBOWROOM_MODELS=str(tmp_path / "models"))
    assert result.returncode == 1
    assert "missing  landmark weights" in result.stdout
    assert result.stdout.splitlines()[-1] == "To do for landmark weights: run `elbowroom weights`."
    assert result.stderr == ""


def test_begin_writes_a_file_to_fill_in(tmp_path: Path) -> None:
    (tmp_path / "behind.mp4").touch()
    result = run(tmp_path, "begin", ".")
    assert result.returncode == 0
    assert "names 1 clip" in result.stdout
    unfilled = run(tmp_path, "screen", ".")
    assert unfilled.returncode == 2
    assert all(words in unfilled.stderr for words in ("no age", "no height", "no hand", "neither board nor marks"))


BROKEN = """
import sys
from elbowroom.cli import main
def fail(*a, **k): raise RuntimeError("inner words")
main.list_commands.commands["schema"].callback = fail
main.main(["schema"])
"""


@pytest.mark.parametrize("debug", ["", "1"])
def test_unexpected_error_is_a_sentence_and_its_details_are_at_hand(tmp_path: Path, debug: str) -> None:
    environment = {**os.environ, "ELBOWROOM_DEBUG": debug}
    command = [sys.executable, "-c", BROKEN]
    result = subprocess.run(command, cwd=tmp_path, env=environment, capture_output=True, text=True, check=False)
    assert result.returncode == 1
    assert "ELBOWROOM_DEBUG=1" in result.stderr
    assert ("inner words" in result.stderr) == bool(debug)


WAITING = """
import time
from elbowroom.cli import main
def wait(*a, **k): print("begun", flush=True); time.sleep(60)
main.list_commands.commands["schema"].callback = wait
main.main(["schema"])
"""


@pytest.mark.skipif(os.name == "nt", reason="signals of POSIX systems")
def test_interruption_is_clean(tmp_path: Path) -> None:
    process = subprocess.Popen(
        [sys.executable, "-c", WAITING], cwd=tmp_path, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    )
    assert process.stdout is not None
    assert process.stdout.readline() == "begun\n"
    time.sleep(0.2)
    process.send_signal(signal.SIGINT)
    _, said = process.communicate(timeout=20)
    assert process.returncode == 130
    assert said.strip() == "elbowroom: Stopped; nothing was half-written."
