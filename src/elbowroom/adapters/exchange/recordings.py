"""Points of a recording from a C3D file or a table in CSV."""

from __future__ import annotations

import csv
import re
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np

from elbowroom.adapters.exchange.motion_file import open_library
from elbowroom.errors import VisitError
from elbowroom.service.capture_types import RecordedPoints

LENGTHS_M = {"m": 1.0, "cm": 0.01, "mm": 0.001}
COLUMN = re.compile(r"(?P<label>.+)_(?P<axis>[xyz])_(?P<unit>mm|cm|m)")
PROCESSOR_OFFSET = 83
"""The processor of the writer stands in the fourth byte of the parameter section, as 83 and its number (the C3D
format's own documentation)."""
SGI = 3
C3D_KEY = 0x50


def read_points(path: Path) -> RecordedPoints:
    """Return the points of a recording; raises `VisitError` with what to do where it cannot be read."""
    if path.suffix.lower() == ".c3d":
        return _read_motion_file(path)
    if path.suffix.lower() == ".csv":
        return _read_table(path)
    raise VisitError(f"{path.name} is neither a .c3d nor a .csv file: save the recording as one of these.")


def _read_motion_file(path: Path) -> RecordedPoints:
    check_processor(path)
    try:
        file = open_library("ezc3d").c3d(str(path))
    except (OSError, RuntimeError, ValueError) as e:
        raise VisitError(f"{path.name} cannot be read as C3D: export it once more from the laboratory.") from e
    points, group = file["data"]["points"][:3], file["parameters"]["POINT"]
    labels = _list_labels(group)
    rate = float(_find_first(group, "RATE", 0.0))
    unit = str(_find_first(group, "UNITS", "")).strip().lower()
    if unit not in LENGTHS_M or rate <= 0.0 or points.shape[2] < 2:
        raise VisitError(f"{path.name} states no rate or no unit of length (mm, cm, m): export it once more.")
    places = LENGTHS_M[unit] * points.transpose(2, 1, 0)
    # A residual below zero marks a point that was not seen.
    hidden = file["data"]["meta_points"]["residuals"][0].T < 0.0
    places[hidden] = np.nan
    times = np.arange(len(places)) / rate
    return RecordedPoints(labels=labels, times_s=times, places_m=places)


def _find_first(group: Any, name: str, otherwise: float | str) -> Any:
    """Return the first value of a parameter, or something else where it holds none."""
    values: Sequence[Any] = group[name]["value"] if name in group else ()
    return values[0] if len(values) else otherwise


def _list_labels(group: Any) -> tuple[str, ...]:
    """Return all labels; more than 255 points go on in LABELS2, LABELS3, ..."""
    names = ["LABELS", *(f"LABELS{number}" for number in range(2, 20))]
    return tuple(str(label).strip() for name in names if name in group for label in group[name]["value"])


def check_processor(path: Path) -> None:
    """Raise `VisitError` where a file is no C3D file, or one of a kind of computer that is not read."""
    try:
        with path.open("rb") as file:
            head = file.read(512)
            start = 512 * (head[0] - 1) if head else 0
            file.seek(max(start, 0))
            section = file.read(4)
    except OSError as e:
        raise VisitError(f"{path.name} cannot be read ({e.strerror}): check the file.") from e
    if len(head) < 512 or head[1] != C3D_KEY or len(section) < 4:
        raise VisitError(f"{path.name} is no C3D file: export the recording once more as C3D.")
    if section[3] - PROCESSOR_OFFSET == SGI:
        raise VisitError(
            f"{path.name} was written in the number format of SGI computers, which is not read: export it once more in "
            "the Intel format."
        )


def _read_table(path: Path) -> RecordedPoints:
    try:
        with path.open(encoding="utf-8-sig", newline="") as file:
            rows = [row for row in csv.reader(file) if row]
        header = [name.strip() for name in rows[0]]
        numbers = np.array([[float(cell) if cell.strip() else np.nan for cell in row] for row in rows[1:]])
    except (OSError, UnicodeDecodeError, ValueError, IndexError) as e:
        raise VisitError(
            f"{path.name} is no table of numbers: give a column time_s and columns such as right_elbow_x_m."
        ) from e
    if "time_s" not in header or numbers.ndim != 2 or len(numbers) < 2 or numbers.shape[1] != len(header):
        raise VisitError(f"{path.name} has no column time_s or rows of unequal length: mend the table.")
    return _build_points(path, header, numbers)


def _build_points(path: Path, header: list[str], numbers: np.ndarray[Any, Any]) -> RecordedPoints:
    times = numbers[:, header.index("time_s")]
    steps = np.diff(times)
    if not np.all(steps > 0.0) or np.ptp(steps) > 0.1 * np.median(steps):
        raise VisitError(f"{path.name} has times that do not grow evenly: give every picture of the recording.")
    found = {match["label"]: match["unit"] for name in header if (match := COLUMN.fullmatch(name))}
    try:
        places = [
            LENGTHS_M[unit] * numbers[:, [header.index(f"{label}_{axis}_{unit}") for axis in "xyz"]]
            for label, unit in found.items()
        ]
    except ValueError as e:
        raise VisitError(f"{path.name} lacks a column ({e}): give x, y and z of every point in one unit.") from e
    if not places:
        raise VisitError(f"{path.name} names no point: columns are called as in right_elbow_x_m.")
    return RecordedPoints(labels=tuple(found), times_s=times - times[0], places_m=np.stack(places, axis=1))
