"""Motion files: what is written is read back by two readers, and by our own.

Sides: ezc3d and the independent reader c3d give the joint centres to the resolution of the format (32-bit floats);
the instants come back as events; our own reader takes the file in as a recording; broken files are refused.
"""

from __future__ import annotations

import warnings
from dataclasses import replace
from io import BytesIO
from pathlib import Path

import c3d
import ezc3d
import numpy as np
import pytest

from elbowroom.adapters.exchange.motion_file import LABELS, render_motion_file
from elbowroom.adapters.exchange.recordings import read_points
from elbowroom.core.quantities.types import Uncertain
from elbowroom.errors import VisitError
from tests.makers.handed import CODE, make_handed_visit

FLOAT_MM = 0.001
"""Coordinates of some metres in mm keep three decimals as 32-bit floats."""


@pytest.fixture(name="file", scope="module")
def write_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    visit = make_handed_visit()
    path = tmp_path_factory.mktemp("motion") / "throw-2.c3d"
    path.write_bytes(render_motion_file(visit, visit.motions[1]))
    return path


def test_ezc3d_reads_places_and_uncertainties(file: Path) -> None:
    motion = make_handed_visit().motions[1]
    found = ezc3d.c3d(str(file))
    points = found["data"]["points"][:3].transpose(2, 1, 0)
    np.testing.assert_allclose(points, 1000.0 * motion.joints_m, atol=FLOAT_MM)
    residuals = found["data"]["meta_points"]["residuals"][0].T
    np.testing.assert_allclose(residuals, 1000.0 * motion.standards_m, atol=FLOAT_MM)
    assert found["parameters"]["POINT"]["UNITS"]["value"] == ["mm"]
    assert found["header"]["points"]["frame_rate"] == pytest.approx(240.0, abs=0.01)


def test_another_reader_reads_the_same(file: Path) -> None:
    motion = make_handed_visit().motions[1]
    with warnings.catch_warnings():
        # It warns that a file holds no analog channels, which is so.
        warnings.simplefilter("ignore")
        reader = c3d.Reader(BytesIO(file.read_bytes()))
        places = np.array([points[:, :3] for _, points, _ in reader.read_frames()])
    assert [label.strip() for label in reader.point_labels] == list(LABELS)
    np.testing.assert_allclose(places, 1000.0 * motion.joints_m, atol=FLOAT_MM)


def test_instants_are_events(file: Path) -> None:
    visit = make_handed_visit()
    motion = visit.motions[1]
    events = ezc3d.c3d(str(file))["parameters"]["EVENT"]
    minutes, seconds = events["TIMES"]["value"]
    times = {
        item.name: item.time.value - motion.times_s[0]
        for item in visit.instants
        if item.throw == 2 and isinstance(item.time, Uncertain)
    }
    inside = {name: time for name, time in times.items() if 0.0 <= time <= np.ptp(motion.times_s)}
    assert set(events["LABELS"]["value"]) == set(inside)
    assert events["USED"]["value"] == [len(inside)]
    for name, minute, second in zip(events["LABELS"]["value"], minutes, seconds, strict=True):
        assert 60.0 * minute + second == pytest.approx(inside[name], abs=1e-4)


def test_our_reader_takes_it_in(file: Path) -> None:
    motion = make_handed_visit().motions[1]
    points = read_points(file)
    assert points.labels == LABELS
    np.testing.assert_allclose(points.places_m, motion.joints_m, atol=FLOAT_MM / 1000.0)
    np.testing.assert_allclose(points.times_s, motion.times_s - motion.times_s[0], atol=1e-4)


def test_a_motion_without_instants_is_written() -> None:
    visit = replace(make_handed_visit(), instants=())
    assert ezc3d_reads(render_motion_file(visit, visit.motions[0]))


def ezc3d_reads(content: bytes) -> bool:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return len(list(c3d.Reader(BytesIO(content)).read_frames())) > 0


def test_the_file_names_the_code_only(file: Path) -> None:
    assert CODE.encode() in file.read_bytes()
    assert b"Player" not in file.read_bytes()


TABLES = {
    "no time": ("a_x_m,a_y_m,a_z_m\n1,2,3\n1,2,3\n", "no column time_s"),
    "a word": ("time_s,a_x_m,a_y_m,a_z_m\n0,1,2,three\n1,1,2,3\n", "no table of numbers"),
    "axis missing": ("time_s,a_x_m,a_y_m\n0,1,2\n1,1,2\n", "lacks a column"),
    "times go back": ("time_s,a_x_m,a_y_m,a_z_m\n0,1,2,3\n0.1,1,2,3\n0.05,1,2,3\n", "do not grow evenly"),
    "no point": ("time_s,b\n0,1\n1,1\n", "names no point"),
    "empty": ("", "no table of numbers"),
}


@pytest.mark.parametrize(("text", "said"), TABLES.values(), ids=TABLES)
def test_a_wrong_table_is_refused(text: str, said: str, tmp_path: Path) -> None:
    path = tmp_path / "points.csv"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(VisitError, match=said):
        read_points(path)


def test_a_table_gives_points_in_metres_and_holes(tmp_path: Path) -> None:
    path = tmp_path / "points.csv"
    path.write_text("time_s,a_x_mm,a_y_mm,a_z_mm\n5.0,1000,2,3\n5.1,,,\n", encoding="utf-8")
    points = read_points(path)
    assert points.labels == ("a",)
    np.testing.assert_allclose(points.places_m[0, 0], [1.0, 0.002, 0.003])
    assert np.isnan(points.places_m[1]).all()
    np.testing.assert_allclose(points.times_s, [0.0, 0.1])


@pytest.mark.parametrize("name", ["cut.c3d", "noise.c3d", "empty.c3d", "points.trc"])
def test_a_wrong_file_is_refused(name: str, file: Path, tmp_path: Path) -> None:
    contents = {"cut.c3d": file.read_bytes()[:700], "noise.c3d": b"\x02Q" + bytes(2000), "empty.c3d": b""}
    path = tmp_path / name
    path.write_bytes(contents.get(name, b"points"))
    with pytest.raises(VisitError, match=r"export|save"):
        read_points(path)
