"""Clips that cannot be screened: one clear line each, status 2, no traceback, nothing written.

Sides: a good clip of the demo, cut, blanked, doubled or damaged, through the command as a user runs it; the same clip
whole, which must give a report (so that no case fails for another reason); what a slow clip can still carry, read
from the report's file.
"""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
import tomllib
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from tests.architecture.sources import ROOT
from tests.makers.recut import Picture, build_doubler, make_no_pictures, make_sound_only, recut_clip

DEMO = ROOT / "demo"
NAME = "open-side.mp4"
COUNT = 620
"""Pictures of the demo clip up to half a second after the finish of its first throw."""
LIFTED = 160
"""Pictures before the knee is lifted."""

VISIT = """
made_on = 2026-05-16
[athlete]
name = "player 12"
age_years = 13
height_cm = 160
hand = "{hand}"
kind = "flat-ground pitch"
[ground]
target_m = 9.05
[[clip]]
file = "{name}"
view = "open side"
[clip.marks]
{marks}
"""


def describe_visit(hand: str = "right") -> str:
    """Return a visit file for one clip, with the marks of the demo's first clip."""
    clip = tomllib.loads((DEMO / "visit.toml").read_text(encoding="utf-8"))["clip"][0]
    marks = "\n".join(f'"{name}" = {pixel}' for name, pixel in clip["marks"].items())
    return VISIT.format(hand=hand, name=NAME, marks=marks)


def screen(folder: Path, *words: str) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "elbowroom", "screen", ".", *words]
    environment = {**os.environ, "ELBOWROOM_DEBUG": ""}
    return subprocess.run(command, cwd=folder, env=environment, capture_output=True, text=True, check=False)


@pytest.fixture(scope="module")
def good(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A clip of one whole throw."""
    path = tmp_path_factory.mktemp("good") / NAME
    recut_clip(DEMO / NAME, path, range(COUNT))
    return path


def blank(picture: Picture) -> Picture:
    return np.full_like(picture, 120)


def push_out(picture: Picture) -> Picture:
    """Move the picture so far to the right that the athlete strides out of it."""
    moved = np.full_like(picture, 120)
    moved[:, 600:] = picture[:, :-600]
    return moved


Maker = Callable[[Path, Path], object]
DAMAGED: dict[str, tuple[Maker, str]] = {
    "unreadable": (lambda good, path: path.write_bytes(os.urandom(50_000)), "damaged or no MP4"),
    "truncated": (lambda good, path: path.write_bytes(good.read_bytes()[:300_000]), "cut off"),
    "empty": (lambda good, path: path.touch(), "is empty"),
    "wrong format": (lambda good, path: path.write_text("not a video at all\n" * 99), "damaged or no MP4"),
    "zero length": (lambda good, path: make_no_pictures(path), "holds no picture"),
    "sound only": (lambda good, path: make_sound_only(path), "no moving picture"),
}
UNFIT: dict[str, tuple[Maker, str]] = {
    "nobody in it": (lambda good, path: recut_clip(good, path, range(200), blank), "No person was found"),
    "athlete out of frame": (lambda good, path: recut_clip(good, path, range(COUNT), push_out), "whole athlete"),
    "no throw": (lambda good, path: recut_clip(good, path, range(LIFTED)), "No throw was found"),
    "cut off before the throw": (lambda good, path: recut_clip(good, path, range(270)), "No throw was found"),
    "cut off at its start": (lambda good, path: recut_clip(good, path, range(300, COUNT)), "starts after the throw"),
    "on its side": (lambda good, path: recut_clip(good, path, range(300), rotation_deg=90), "No throw was found"),
}


def check_refusal(folder: Path, said: str) -> None:
    (folder / "visit.toml").write_text(describe_visit(), encoding="utf-8")
    before = sorted(folder.rglob("*"))
    result = screen(folder)
    lines = [line for line in result.stderr.splitlines() if line.startswith("elbowroom: ")]
    assert result.returncode == 2, result.stderr
    assert result.stdout == ""
    assert len(lines) == 1
    assert result.stderr.splitlines()[-1] == lines[0]
    assert said in lines[0]
    assert lines[0].endswith(".")
    assert "Traceback" not in result.stderr
    assert sorted(folder.rglob("*")) == before


@pytest.mark.parametrize(("make", "said"), DAMAGED.values(), ids=DAMAGED.keys())
def test_damaged_clip_is_refused(tmp_path: Path, good: Path, make: Maker, said: str) -> None:
    make(good, tmp_path / NAME)
    check_refusal(tmp_path, said)


@pytest.mark.parametrize(("make", "said"), UNFIT.values(), ids=UNFIT.keys())
def test_unfit_clip_is_refused(tmp_path: Path, good: Path, make: Maker, said: str) -> None:
    make(good, tmp_path / NAME)
    check_refusal(tmp_path, said)


def test_two_throwers_are_asked_about(tmp_path: Path, good: Path) -> None:
    change = build_doubler(good, COUNT, left_px=300, apart_px=450)
    recut_clip(good, tmp_path / NAME, range(COUNT), change)
    check_refusal(tmp_path, "thrower")


def test_wrong_hand_is_noticed(tmp_path: Path, good: Path) -> None:
    shutil.copy(good, tmp_path / NAME)
    (tmp_path / "visit.toml").write_text(describe_visit(hand="left"), encoding="utf-8")
    result = screen(tmp_path)
    assert result.returncode == 2
    assert "said to throw with the left hand, but" in result.stderr
    assert "right arm" in result.stderr
    assert not (tmp_path / "elbowroom-report").exists()


def test_boards_of_the_wrong_phones_are_noticed(tmp_path: Path) -> None:
    text = (DEMO / "visit.toml").read_text(encoding="utf-8")
    swapped = text.replace('"board-open-side.mp4"', '"X"').replace('"board-front.mp4"', '"board-open-side.mp4"')
    for path in DEMO.glob("*.mp4"):
        shutil.copy(path, tmp_path)
    (tmp_path / "visit.toml").write_text(swapped.replace('"X"', '"board-front.mp4"'), encoding="utf-8")
    result = screen(tmp_path)
    assert result.returncode == 2
    assert "miss their places" in result.stderr
    assert not (tmp_path / "elbowroom-report").exists()


def test_good_clip_gives_a_report(tmp_path: Path, good: Path) -> None:
    shutil.copy(good, tmp_path / NAME)
    (tmp_path / "visit.toml").write_text(describe_visit(), encoding="utf-8")
    result = screen(tmp_path)
    assert result.returncode == 0, result.stderr
    assert "player 12: 1 throw in 1 clip" in result.stdout
    assert sorted(path.name for path in (tmp_path / "elbowroom-report").iterdir()) == [
        "report.html",
        "report.json",
        "workings.npz",
    ]
    again = screen(tmp_path)
    assert (again.returncode, "--replace" in again.stderr) == (2, True)


def test_slow_clip_loses_its_timing_only(tmp_path: Path, good: Path) -> None:
    recut_clip(good, tmp_path / NAME, range(0, COUNT, 10))
    (tmp_path / "visit.toml").write_text(describe_visit(), encoding="utf-8")
    result = screen(tmp_path)
    assert result.returncode == 0, result.stderr
    report = json.loads((tmp_path / "elbowroom-report" / "report.json").read_text(encoding="utf-8"))
    rates = [item for item in report["findings"] if "rate" in item["measure"]]
    assert rates
    assert all(item["verdict"]["word"] == "not measured" for item in rates)
