"""Joint centres and instants of one throw as a C3D file."""

from __future__ import annotations

import tempfile
from importlib import import_module
from pathlib import Path
from typing import Any

import numpy as np

from elbowroom.core.findings.report import MotionTrack
from elbowroom.core.landmarks.names import Joint
from elbowroom.core.quantities.types import Uncertain
from elbowroom.errors import ResultError
from elbowroom.service.exchange_types import HandedVisit

MILLIMETRES = 1000.0
LABELS = tuple(joint.name for joint in Joint)
EXTRA_MISSING = "The part for open data formats is not installed: run `python3 run.py more`, then the same line again."


def open_library(name: str) -> Any:
    """Import a library of the optional part; raises `ResultError` where it is not installed."""
    try:
        return import_module(name)
    except ImportError as e:
        raise ResultError(EXTRA_MISSING) from e


def render_motion_file(visit: HandedVisit, motion: MotionTrack) -> bytes:
    """Return a C3D file: points in mm in the field frame, residual = standard uncertainty in mm, instants as events.

    Times in the file run from its first picture; `EVENT:TIMES` holds minutes and seconds, as the format asks.
    """
    file = open_library("ezc3d").c3d()
    count = len(motion.times_s)
    points = np.ones((4, len(LABELS), count))
    points[:3] = MILLIMETRES * motion.joints_m.transpose(2, 1, 0)
    file["parameters"]["POINT"]["RATE"]["value"] = [float(1.0 / np.diff(motion.times_s).mean())]
    file["parameters"]["POINT"]["UNITS"]["value"] = ["mm"]
    file["parameters"]["POINT"]["LABELS"]["value"] = LABELS
    file["parameters"]["POINT"]["DESCRIPTIONS"]["value"] = [_describe_joint(label) for label in LABELS]
    file.add_parameter("POINT", "X_SCREEN", ["+X"])
    file.add_parameter("POINT", "Y_SCREEN", ["+Z"])
    file["data"]["points"] = points
    file["data"]["meta_points"] = {
        "residuals": MILLIMETRES * motion.standards_m.T[None],
        "camera_masks": np.zeros((7, len(LABELS), count), dtype=bool),
    }
    _add_events(file, visit, motion)
    _add_facts(file, visit, motion)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "throw.c3d"
        file.write(str(path))
        return path.read_bytes()


def _describe_joint(label: str) -> str:
    words = label.lower().replace("_", " ")
    return {"head": "middle between the ears"}.get(words, f"{words}, the athlete's own side")


def _add_events(file: Any, visit: HandedVisit, motion: MotionTrack) -> None:
    found = [
        (item.name, item.time.value - float(motion.times_s[0]))
        for item in visit.instants
        if item.throw == motion.throw and isinstance(item.time, Uncertain)
    ]
    inside = [(name, time) for name, time in found if 0.0 <= time <= float(np.ptp(motion.times_s))]
    file.add_parameter("EVENT", "USED", [len(inside)])
    if not inside:
        return
    times = np.array([[time // 60.0, time % 60.0] for _, time in inside]).T
    file.add_parameter("EVENT", "CONTEXTS", ["General"] * len(inside))
    file.add_parameter("EVENT", "LABELS", [name for name, _ in inside])
    file.add_parameter("EVENT", "TIMES", times)
    file.add_parameter("EVENT", "SUBJECTS", [visit.code] * len(inside))


def _add_facts(file: Any, visit: HandedVisit, motion: MotionTrack) -> None:
    versions = dict(visit.made_with)
    file.add_parameter("MANUFACTURER", "SOFTWARE", ["elbowroom"])
    file.add_parameter("MANUFACTURER", "VERSION_LABEL", [versions.get("elbowroom", "")])
    file.add_parameter("SUBJECTS", "NAMES", [visit.code])
    file.add_parameter("TRIAL", "NUMBER", [motion.throw])
    file.add_parameter("TRIAL", "FIRST_TIME_S", [float(motion.times_s[0])])
    file.add_parameter("TRIAL", "HAND", [visit.hand])
