"""The demo as a new user runs it: real video through the whole chain to a report.

Sides: the numbers of the report against the exact truth that was written beside the clips when they were rendered;
the file against the published schema; what is printed against what is in the file.
"""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from elbowroom.adapters.report.json_file import read_report_schema
from tests.architecture.sources import ROOT

TRUTH = ROOT / "demo" / "truth" / "truth.json"
COVER = 1.5
"""Half widths that the truth may lie away: an interval of 95 % misses it once in twenty, this one once in three hundred
for a normal error."""


@pytest.fixture(scope="module")
def screened(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, str]:
    """The report's folder and what the command printed."""
    folder = tmp_path_factory.mktemp("demo")
    command = [sys.executable, "-m", "elbowroom", "demo"]
    result = subprocess.run(command, cwd=folder, capture_output=True, text=True, check=False)
    assert result.returncode == 0, result.stderr
    return folder / "elbowroom-demo", result.stdout


@pytest.fixture(scope="module")
def report(screened: tuple[Path, str]) -> dict[str, Any]:
    data: dict[str, Any] = json.loads((screened[0] / "report.json").read_text(encoding="utf-8"))
    return data


def find_finding(report: dict[str, Any], key: str) -> dict[str, Any]:
    return next(finding for finding in report["findings"] if finding["measure"] == key)


@pytest.mark.slow
def test_report_is_whole(screened: tuple[Path, str], report: dict[str, Any]) -> None:
    assert sorted(path.name for path in screened[0].iterdir()) == ["report.html", "report.json", "workings.npz"]
    jsonschema.validate(report, read_report_schema())
    page = (screened[0] / "report.html").read_text(encoding="utf-8")
    assert page.rstrip().endswith("</html>")
    assert page.count("data:image/jpeg") >= 3


@pytest.mark.slow
def test_summary_says_what_the_report_says(screened: tuple[Path, str], report: dict[str, Any]) -> None:
    lines = screened[1].splitlines()
    headlines = [finding for finding in report["findings"] if finding["headline"]]
    assert len(headlines) == 4
    for finding, line in zip(headlines, lines[1:5], strict=True):
        assert line.strip().startswith(f"{finding['words']}: ")
        assert finding["verdict"]["word"] in line
        assert "give or take" in line or "not measured" in line
    assert lines[5].startswith("First: ")
    assert "not a diagnosis" in lines[6]
    assert lines[7].startswith("Report: elbowroom-demo")


@pytest.mark.slow
def test_every_throw_is_found_in_both_clips(report: dict[str, Any]) -> None:
    truth = json.loads(TRUTH.read_text(encoding="utf-8"))
    throws = [motion for motion in truth["motions"] if motion["kind"] == "throw"]
    assert len(report["throws"]) == len(throws)
    assert all(len(throw["clips"]) == 2 for throw in report["throws"])


@pytest.mark.slow
@pytest.mark.parametrize(
    ("key", "name"),
    [
        ("elbow_to_shoulder_line_at_foot_contact", "elbow_line_contact_deg"),
        ("stride_offset", "stride_offset_m"),
        ("trunk_opening_at_foot_contact", "trunk_contact_deg"),
    ],
)
def test_interval_holds_the_truth(report: dict[str, Any], key: str, name: str) -> None:
    truth = json.loads(TRUTH.read_text(encoding="utf-8"))
    throws = [motion["delivery"][name] for motion in truth["motions"] if motion["kind"] == "throw"]
    typical = find_finding(report, key)["typical"]
    assert abs(typical["value"] - sum(throws) / len(throws)) <= COVER * typical["half_width_95"]
