"""A real captured pitch goes in as a file of a laboratory, and comes out as a report.

Data: subject 124, trial 01. The data used in this project was obtained from mocap.cs.cmu.edu. The database was
created with funding from NSF EIA-0196217.

Sides: the values worked out elsewhere from the same recording, with the spread that its README states for another fair
filter; the same pitch written as C3D by an independent library gives the same report; a wrong axis is refused.
"""

from __future__ import annotations

import csv
from pathlib import Path

import ezc3d
import numpy as np
import pytest

from elbowroom.bootstrap_exchange import judge_capture_file
from elbowroom.core.findings.report import ScreeningReport
from elbowroom.core.quantities.types import Uncertain
from elbowroom.errors import VisitError
from tests.makers.captures import HEAD

STAND_INS = """
[stand_ins]
right_heel = { below = "right_ankle", down_cm = 5 }
left_heel = { below = "left_ankle", down_cm = 5 }

[joints]
head = "head"
"""
PARTS = ("shoulder", "elbow", "wrist", "hand", "hip", "knee", "ankle", "toe")
EXPECTED = {
    # value, and what another fair filter or the neighbouring instant may move it by
    "shoulder_abduction_at_foot_contact": (104.0, 2.0),
    "lead_knee_flexion_at_foot_contact": (59.0, 2.0),
    "elbow_flexion_at_foot_contact": (70.0, 5.0),
    "separation_at_foot_contact": (9.0, 2.0),
    "largest_pelvis_rate": (547.0, 0.03 * 547.0),
    "largest_trunk_rate": (652.0, 0.03 * 652.0),
    "hand_speed_at_release": (15.4, 1.5),
}


def write_capture(folder: Path, file: str, target: str) -> Path:
    head = HEAD.format(hand="right", files=f'"{file}"', target=target, up="+y", joint_mm=10.0)
    joints = [f'{side}_{part} = "{part}_{side}"' for side in ("right", "left") for part in PARTS]
    path = folder / "capture.toml"
    path.write_text(head + STAND_INS + "\n".join(joints) + "\n", encoding="utf-8")
    return path


def write_motion_file(table: Path, path: Path, is_stating_unit: bool = True) -> None:
    """Write the recording as C3D in mm."""
    with table.open(encoding="utf-8", newline="") as file:
        header = next(csv.reader(file))
    labels = [name.removesuffix("_x_m") for name in header if name.endswith("_x_m")]
    numbers = np.loadtxt(table, delimiter=",", skiprows=1)
    written = ezc3d.c3d()
    points = np.ones((4, len(labels), len(numbers)))
    for place, label in enumerate(labels):
        points[:3, place] = 1000.0 * numbers[:, [header.index(f"{label}_{axis}_m") for axis in "xyz"]].T
    written["parameters"]["POINT"]["RATE"]["value"] = [120.0]
    written["parameters"]["POINT"]["LABELS"]["value"] = tuple(labels)
    written["parameters"]["POINT"]["UNITS"]["value"] = ["mm"] if is_stating_unit else []
    written["data"]["points"] = points
    written.write(str(path))


@pytest.fixture(name="table", scope="module")
def find_table(shared_dir: Path) -> Path:
    return shared_dir / "data" / "cmu-mocap" / "pitch_124_01.csv"


@pytest.fixture(name="report", scope="module")
def judge_table(table: Path, tmp_path_factory: pytest.TempPathFactory) -> ScreeningReport:
    folder = tmp_path_factory.mktemp("capture")
    (folder / "pitch.csv").write_bytes(table.read_bytes())
    return judge_capture_file(write_capture(folder, "pitch.csv", "+z"))


def list_typical(report: ScreeningReport) -> dict[str, Uncertain]:
    found = {finding.definition.key: finding.typical for finding in report.findings}
    return {key: value for key, value in found.items() if isinstance(value, Uncertain)}


@pytest.mark.parametrize("key", EXPECTED)
def test_measures_are_those_worked_out_elsewhere(key: str, report: ScreeningReport) -> None:
    value, allowed = EXPECTED[key]
    assert list_typical(report)[key].value == pytest.approx(value, abs=allowed)


def test_rates_of_the_arm_are_refused_at_120_pictures_a_second(report: ScreeningReport) -> None:
    refused = {finding.definition.key: finding.typical for finding in report.findings}["largest_internal_rotation_rate"]
    assert not refused
    assert "rate" in refused.reason


def test_the_same_pitch_as_a_motion_file_gives_the_same(table: Path, report: ScreeningReport, tmp_path: Path) -> None:
    write_motion_file(table, tmp_path / "pitch.c3d")
    again = list_typical(judge_capture_file(write_capture(tmp_path, "pitch.c3d", "+z")))
    expected = list_typical(report)
    assert set(again) == set(expected)
    for key, value in expected.items():
        # Places come as 32-bit millimetres, and the table's times are rounded to 10 microseconds.
        assert again[key].value == pytest.approx(value.value, abs=0.1 * value.standard), key


def test_a_target_behind_the_athlete_is_refused(table: Path, tmp_path: Path) -> None:
    (tmp_path / "pitch.csv").write_bytes(table.read_bytes())
    with pytest.raises(VisitError, match="strides away from the target"):
        judge_capture_file(write_capture(tmp_path, "pitch.csv", "-z"))


def test_a_motion_file_without_a_unit_is_refused(table: Path, tmp_path: Path) -> None:
    write_motion_file(table, tmp_path / "pitch.c3d", is_stating_unit=False)
    with pytest.raises(VisitError, match="no unit of length"):
        judge_capture_file(write_capture(tmp_path, "pitch.c3d", "+z"))
