"""Tolerance tables and published bands.

Sides: the packaged table against the published means and SD (Kageyama et al. 2015, recomputed here), round trip
through a clinic's own copy (comma and semicolon), a table of refusals, mutated text never escapes as a foreign
error, the closed form behind the ball-distance limit.
"""

from __future__ import annotations

import csv
import io
from math import cos, hypot, inf, radians, sin
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from elbowroom.adapters.tables.bands import read_published_bands
from elbowroom.adapters.tables.rows import read_packaged_text
from elbowroom.adapters.tables.tolerances import find_tolerances_digest, read_tolerances
from elbowroom.core.findings.choose import choose_bands, choose_tolerance
from elbowroom.core.findings.types import Tolerance
from elbowroom.core.measures.types import ThrowKind
from elbowroom.errors import TableError

PITCH = ThrowKind.MOUND_PITCH


def _find(measure: str, age: float, height: float, kind: ThrowKind = PITCH) -> Tolerance:
    row = choose_tolerance(read_tolerances(), measure, age, height, kind)
    assert isinstance(row, Tolerance)
    return row


# design, section 3: common practice, no source.
@pytest.mark.parametrize(
    ("age", "height", "half"),
    [
        (10, 1.4, 0.051),
        (14.5, 1.75, 0.051),
        (16, 1.60, 0.051),
        (16, 1.725, 0.0635),
        (25, 1.85, 0.076),
        (25, 2.0, 0.076),
    ],
)
def test_stride_offset_limit_grows_with_height(age: float, height: float, half: float) -> None:
    row = _find("stride_offset", age, height)
    assert (row.lower, row.upper) == pytest.approx((-half, half))


def test_headline_limits_of_the_design() -> None:
    trunk, elbow = _find("trunk_opening_at_foot_contact", 12, 1.5), _find("elbow_to_shoulder_line_at_layback", 12, 1.5)
    assert (trunk.lower, trunk.aim, trunk.upper) == (-inf, 30.0, 45.0)
    assert (elbow.lower, elbow.aim, elbow.upper) == (-10.0, 0.0, inf)
    assert "no source" in trunk.source
    assert "chosen by this project" in elbow.source


# Kageyama et al. 2015, J Sports Sci Med 14:246-255, tables 2 to 4 (read in the source): mean, SD.
@pytest.mark.parametrize(
    ("measure", "age", "mean", "sd"),
    [
        ("stride_length_share", 13, 82.9, 6.1),
        ("stride_length_share", 20, 84.6, 4.2),
        ("lead_knee_flexion_at_foot_contact", 13, 40.0, 8.2),
        ("lead_knee_flexion_at_release", 20, 38.0, 13.7),
        ("separation_at_foot_contact", 13, 48.8, 14.5),
        ("forward_tilt_at_release", 20, 25.4, 7.6),
        ("pelvis_opening_at_foot_contact", 13, 16.7, 10.4),
    ],
)
def test_bands_are_two_sd_about_the_published_mean(measure: str, age: float, mean: float, sd: float) -> None:
    row = _find(measure, age, 1.6)
    assert (row.lower, row.aim, row.upper) == pytest.approx((mean - 2 * sd, mean, mean + 2 * sd))
    shown = choose_bands(read_published_bands(), measure, age)
    assert [(band.mean, band.sd) for band in shown if band.is_seen] == [(mean, sd)]


def test_published_separation_is_pelvis_minus_trunk() -> None:
    # Sum rule of the same tables: the three means obey it exactly (check values A1), with our sign.
    bands = {band.measure: band.mean for band in choose_bands(read_published_bands(), "separation_at_foot_contact", 13)}
    for key in ("pelvis_opening_at_foot_contact", "trunk_opening_at_foot_contact"):
        bands[key] = choose_bands(read_published_bands(), key, 13)[0].mean
    assert bands["separation_at_foot_contact"] == pytest.approx(
        bands["pelvis_opening_at_foot_contact"] - bands["trunk_opening_at_foot_contact"], abs=1e-9
    )


def test_every_packaged_row_has_source_and_reason_and_none_from_memory_judges() -> None:
    for row in read_tolerances():
        assert len(row.source) > 10
        assert row.consequence_reason
        assert not (row.judged and "from memory" in row.source)
    remembered = [band for band in read_published_bands() if not band.is_seen]
    assert remembered
    assert all("from memory" in band.source for band in remembered)


def test_ball_distance_limit_is_the_geometry_in_its_note() -> None:
    # Half a shoulder width 0.18, upper arm 0.28, forearm and hand 0.35 (27 of it forearm), level and laid back.
    def share(flexion_deg: float) -> float:
        bend = radians(flexion_deg)
        return hypot(0.46 + 0.35 * cos(bend), 0.35 * sin(bend)) / 0.55

    row = _find("ball_distance_share_at_layback", 12, 1.5)
    assert share(84) == pytest.approx(row.upper, abs=0.01)
    assert share(101) == pytest.approx(row.aim, abs=0.01)
    assert "84 deg" in row.note
    assert "101 deg" in row.note


@pytest.mark.parametrize("delimiter", [",", ";"])
def test_a_clinics_copy_reads_the_same(tmp_path: Path, delimiter: str) -> None:
    rows = list(csv.reader(io.StringIO(read_packaged_text("tolerances.csv"))))
    copy = tmp_path / "ours.csv"
    with copy.open("w", newline="", encoding="utf-8-sig") as file:
        csv.writer(file, delimiter=delimiter).writerows(rows)
    assert read_tolerances(copy) == read_tolerances()


def _write(tmp_path: Path, **changes: str) -> Path:
    rows = list(csv.DictReader(io.StringIO(read_packaged_text("tolerances.csv"))))[3:5]
    rows[1].update(changes)
    path = tmp_path / "ours.csv"
    with path.open("w", newline="", encoding="utf-8") as file:
        writer = csv.DictWriter(file, list(rows[0]))
        writer.writeheader()
        writer.writerows(rows)
    return path


@pytest.mark.parametrize(
    ("column", "cell", "said"),
    [
        ("source", "", "is empty: say where"),
        ("unit", "", "is empty: give one of"),
        ("unit", "degrees", "holds 'degrees'"),
        ("age_from", "", "is empty: give a number"),
        ("height_to_m", "tall", "holds 'tall': give a number"),
        ("age_from", "200", "exchange them"),
        ("kinds", "windmill", "holds windmill"),
        ("kinds", "", "is empty: name one or more"),
        ("judged", "perhaps", "write yes or no"),
        ("mark", "from memory", "never judged"),
        ("lower", "", "both empty"),
        ("lower", "nan", "give a number"),
        ("upper", "-20", "not below"),
        ("aim", "", "needs an aim"),
        ("aim", "-30", "not inside the limits"),
        ("consequence", "3", "from 0 to 1"),
        ("version", "", "version of the table"),
        ("measure", "elbow_height", "is no measure"),
        ("measure", "", "name the measure"),
    ],
)
def test_a_wrong_cell_is_named_by_line_and_column(tmp_path: Path, column: str, cell: str, said: str) -> None:
    units = {"trunk_opening_at_foot_contact": "deg", "elbow_to_shoulder_line_at_foot_contact": "deg"}
    assert read_tolerances(_write(tmp_path), units)
    with pytest.raises(TableError, match=r"ours\.csv") as caught:
        read_tolerances(_write(tmp_path, **{column: cell}), units)
    message = str(caught.value)
    assert said in message
    assert "line 3, column " in message
    assert message.endswith(".")
    if said not in ("exchange them", "never judged"):
        assert column in message


def test_all_problems_are_said_at_once(tmp_path: Path) -> None:
    with pytest.raises(TableError) as caught:
        read_tolerances(_write(tmp_path, source="", unit="", kinds=""))
    assert all(f"column {name}" in str(caught.value) for name in ("source", "unit", "kinds"))


@pytest.mark.parametrize(
    ("content", "said"),
    [
        pytest.param(b"", "lacks the columns", id="empty"),
        pytest.param(b"measure,lower\n", "lacks the columns upper", id="columns missing"),
        pytest.param(b"\xff\xfe\x00\x01", "not UTF-8", id="not text"),
        pytest.param(read_packaged_text("tolerances.csv").partition("\n")[0].encode(), "no rows", id="only a heading"),
    ],
)
def test_files_that_are_no_table(tmp_path: Path, content: bytes, said: str) -> None:
    path = tmp_path / "ours.csv"
    path.write_bytes(content)
    with pytest.raises(TableError, match=said):
        read_tolerances(path)


def test_a_missing_file_or_a_folder_is_said_plainly(tmp_path: Path) -> None:
    with pytest.raises(TableError, match=r"no table none\.csv"):
        read_tolerances(tmp_path / "none.csv")
    with pytest.raises(TableError, match="cannot be opened"):
        read_published_bands(tmp_path)


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=60, deadline=None)
@given(st.integers(0, 4000), st.binary(min_size=1, max_size=6))
def test_mutated_tables_never_raise_anything_else(tmp_path: Path, place: int, bytes_in: bytes) -> None:
    whole = read_packaged_text("tolerances.csv").encode()
    path = tmp_path / "ours.csv"
    path.write_bytes(whole[:place] + bytes_in + whole[place + 3 :])
    try:
        rows = read_tolerances(path)
    except TableError:
        return
    assert all(row.source and row.unit for row in rows)


def test_digest_follows_the_text(tmp_path: Path) -> None:
    path = tmp_path / "ours.csv"
    path.write_text(read_packaged_text("tolerances.csv"), encoding="utf-8")
    assert find_tolerances_digest(path) == find_tolerances_digest()
    path.write_text(read_packaged_text("tolerances.csv") + "\n", encoding="utf-8")
    assert find_tolerances_digest(path) != find_tolerances_digest()
