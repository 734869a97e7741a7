"""Capture files and recordings for tests."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from elbowroom.core.landmarks.names import Joint
from elbowroom.service.capture_types import RecordedPoints

HEAD = """made_on = 2026-05-16

[athlete]
name = "Player 12"
age_years = 25
height_cm = 175
hand = "{hand}"
kind = "flat-ground pitch"

[recording]
files = [{files}]
target = "{target}"
up = "{up}"
marker_standard_mm = 1.0
joint_standard_mm = {joint_mm}
target_standard_deg = 2.0
"""


def render_capture(
    files: tuple[str, ...],
    hand: str = "right",
    target: str = "+x",
    up: str = "+z",
    joint_mm: float = 10.0,
) -> str:
    """Return a capture file whose labels are the names of the joints."""
    named = ", ".join(f'"{name}"' for name in files)
    labels = "".join(f'{joint.name.lower()} = "{joint.name.lower()}"\n' for joint in Joint)
    head = HEAD.format(hand=hand, files=named, target=target, up=up, joint_mm=joint_mm)
    return f"{head}\n[joints]\n{labels}"


def write_points(path: Path, times_s: np.ndarray, places_m: np.ndarray) -> None:
    """Write joint places (n, 19, 3) as a table in CSV; NaN becomes an empty cell."""
    names = [f"{joint.name.lower()}_{axis}_m" for joint in Joint for axis in "xyz"]
    rows = [",".join(["time_s", *names])]
    for time, row in zip(times_s, places_m.reshape(len(places_m), -1), strict=True):
        rows.append(",".join([f"{time:.6f}", *("" if np.isnan(value) else f"{value:.6f}" for value in row)]))
    path.write_text("\n".join(rows) + "\n", encoding="utf-8")


def make_points(times_s: np.ndarray, places_m: np.ndarray) -> RecordedPoints:
    """Return joint places as a recording whose labels are the names of the joints."""
    labels = tuple(joint.name.lower() for joint in Joint)
    return RecordedPoints(labels=labels, times_s=times_s, places_m=places_m)
