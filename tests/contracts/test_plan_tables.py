"""The tables of intake, growth, exam and drills: the packaged ones are whole, wrong ones are refused in words.

Sides: packaged tables read; one wrong cell at a time in a copy of each editable table; every row names its source.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Callable
from importlib.resources import files
from pathlib import Path

import pytest

from elbowroom.adapters.tables.drill_tables import read_drill_rules, read_drills, read_poses
from elbowroom.adapters.tables.exam_tables import read_thresholds
from elbowroom.adapters.tables.intake_tables import read_warning_signs
from elbowroom.errors import TableError
from tests.makers.intakes import KEYS, find_drills

TABLES = ("warning_signs", "growth_equations", "growth_care", "exam_items", "exam_instruments", "exam_thresholds")


def read_rules(path: Path) -> object:
    return read_drill_rules(find_drills(), KEYS, path=path)


def read_signs(path: Path) -> object:
    return read_warning_signs(path)


@pytest.mark.parametrize("name", [*TABLES, "exam_bands", "exam_links", "drill_rules"])
def test_every_row_names_its_source(name: str) -> None:
    text = files("elbowroom.tables").joinpath(f"{name}.csv").read_text(encoding="utf-8")
    rows = list(csv.DictReader(io.StringIO(text)))
    assert rows
    assert all(row["source"].strip() for row in rows)


def test_every_drill_is_whole() -> None:
    for drill in find_drills():
        assert all((drill.purpose, drill.set_up, drill.progress, drill.stop, drill.evidence, drill.mark))
        assert "top" in drill.stop or "pain" in drill.stop
        assert drill.evidence.endswith(".") or drill.evidence == "common practice, no source"


def test_every_pose_is_used() -> None:
    used = {step.pose for drill in find_drills() for step in drill.figure}
    assert {pose.key for pose in read_poses()} == used


def test_drill_that_answers_no_measure_is_refused() -> None:
    with pytest.raises(TableError, match="no measure"):
        read_drills(frozenset({"stride_offset"}))


WRONG: list[tuple[str, Callable[[Path], object], int, str, str, str]] = [
    ("exam_thresholds", read_thresholds, 3, "judged", "yes", "never judged"),
    ("exam_thresholds", read_thresholds, 1, "quantity", "nose", "no quantity of the exam"),
    ("exam_thresholds", read_thresholds, 1, "unit", "%", "is in deg"),
    ("exam_thresholds", read_thresholds, 1, "upper", "", "both empty"),
    ("exam_thresholds", read_thresholds, 1, "source", "", "where it comes from"),
    ("exam_thresholds", read_thresholds, 1, "mark", "hearsay", "hearsay"),
    ("warning_signs", read_signs, 1, "urgency", "soon", "today"),
    ("warning_signs", read_signs, 1, "places", "inner elbow", "give one of the two"),
    ("warning_signs", read_signs, 12, "places", "left ear", "left ear"),
    ("warning_signs", read_signs, 1, "family", "", "family is told"),
    ("drill_rules", read_rules, 1, "drill", "backflip", "not in the library"),
    ("drill_rules", read_rules, 1, "keys", "swagger", "swagger"),
    ("drill_rules", read_rules, 1, "side", "left", "high, low, any"),
    ("drill_rules", read_rules, 1, "why", "", "why it answers"),
    ("drill_rules", read_rules, 1, "too_close_is_enough", "maybe", "yes or no"),
]


@pytest.mark.parametrize(("name", "read", "line", "column", "cell", "words"), WRONG)
def test_wrong_cell_is_named(
    tmp_path: Path, name: str, read: Callable[[Path], object], line: int, column: str, cell: str, words: str
) -> None:
    text = files("elbowroom.tables").joinpath(f"{name}.csv").read_text(encoding="utf-8")
    rows = list(csv.reader(io.StringIO(text)))
    rows[line][rows[0].index(column)] = cell
    path = tmp_path / "own.csv"
    with path.open("w", newline="", encoding="utf-8") as file:
        csv.writer(file).writerows(rows)
    with pytest.raises(TableError, match=words) as caught:
        read(path)
    assert "own.csv" in str(caught.value)
    assert f"line {line + 1}, " in str(caught.value)
