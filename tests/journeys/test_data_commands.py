"""Data goes out and motion comes in on the command line, as a user would do it.

Sides: a process of its own for each command line; files on disk read back; refusals in a sentence, nothing half
written.
"""

from __future__ import annotations

import csv
import json
from pathlib import Path

import ezc3d
import numpy as np
import pytest

from tests.journeys.test_commands import is_one_sentence, run
from tests.makers.captures import render_capture, write_points
from tests.makers.handed import make_report_bytes
from tests.makers.throws import END_S, STRIDE_M, make_throw


def write_throw(folder: Path) -> None:
    times = np.arange(0.0, END_S, 1.0 / 240.0)
    write_points(folder / "throw-1.csv", times, make_throw(times))


def test_a_recording_is_judged_and_handed_out(tmp_path: Path) -> None:
    write_throw(tmp_path)
    (tmp_path / "capture.toml").write_text(render_capture(("throw-1.csv",)), encoding="utf-8")
    judged = run(tmp_path, "judge", "capture.toml", "--out", "report")
    assert judged.returncode == 0, judged.stderr
    assert "stop throwing and be examined" in judged.stdout
    given = run(tmp_path, "export", "report", "data", "--code", "A-17")
    assert given.returncode == 0, given.stderr
    assert {"about.json", "measures.csv", "measures.parquet", "throw-1.c3d", "health-record.json"} <= {
        path.name for path in (tmp_path / "data").iterdir()
    }
    with (tmp_path / "data" / "measures.csv").open(encoding="utf-8", newline="") as file:
        rows = {(row["measure"], row["throw"]): row for row in csv.DictReader(file)}
    assert float(rows["stride_length", "0"]["value"]) == pytest.approx(STRIDE_M, abs=0.01)
    points = ezc3d.c3d(str(tmp_path / "data" / "throw-1.c3d"))["data"]["points"]
    assert points.shape[1] == 19
    assert "Player 12" not in (tmp_path / "data" / "about.json").read_text(encoding="utf-8")


def test_only_what_was_asked_for_is_written(tmp_path: Path) -> None:
    (tmp_path / "report.json").write_bytes(make_report_bytes())
    assert run(tmp_path, "export", "report.json", "data", "--code", "7", "--format", "csv").returncode == 0
    names = {path.suffix for path in (tmp_path / "data").iterdir()}
    assert names == {".csv", ".json"}
    again = run(tmp_path, "export", "report.json", "data", "--code", "7", "--format", "csv")
    assert again.returncode == 2
    assert "--replace" in again.stderr
    assert run(tmp_path, "export", "report.json", "data", "--code", "7", "--format", "csv", "--replace").returncode == 0


REFUSED = {
    "no report": (("export", "nowhere", "out", "--code", "1"), "report.json"),
    "not a report": (("export", "other.json", "out", "--code", "1"), "screen the visit again"),
    "no code": (("export", "report.json", "out", "--code", " "), "code is empty"),
    "strange code": (("export", "report.json", "out", "--code", "Ä\u202e"), "strange letters"),
    "folder of others": (("export", "report.json", "theirs", "--code", "1", "--replace"), "holds notes.txt"),
    "capture without files": (("judge", "empty.toml"), "cannot be used"),
    "capture names other labels": (("judge", "labels.toml"), "has no point"),
}


@pytest.mark.parametrize(("words", "said"), REFUSED.values(), ids=REFUSED)
def test_what_cannot_be_done_is_said_in_a_sentence(tmp_path: Path, words: tuple[str, ...], said: str) -> None:
    (tmp_path / "report.json").write_bytes(make_report_bytes())
    (tmp_path / "other.json").write_text(json.dumps({"format": "else"}), encoding="utf-8")
    (tmp_path / "empty.toml").write_text("made_on = 2026-05-16\n", encoding="utf-8")
    (tmp_path / "theirs").mkdir()
    (tmp_path / "theirs" / "notes.txt").touch()
    write_throw(tmp_path)
    capture = render_capture(("throw-1.csv",)).replace('head = "head"', 'head = "skull"')
    (tmp_path / "labels.toml").write_text(capture, encoding="utf-8")
    before = sorted(tmp_path.rglob("*"))
    result = run(tmp_path, *words)
    assert result.returncode == 2
    assert said in result.stderr
    assert is_one_sentence(result.stderr)
    assert sorted(tmp_path.rglob("*")) == before
