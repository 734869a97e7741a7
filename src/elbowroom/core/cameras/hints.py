"""What a marked target or a tape on the ground say of direction and scale, once the cameras stand near the field."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import atan2, degrees

import numpy as np

from elbowroom.core.cameras.rays import project_back
from elbowroom.core.cameras.triangulate import triangulate_points
from elbowroom.core.cameras.types import Array, Camera

TARGET, TAPE_START, TAPE_END = "target", "tape_start", "tape_end"
"""Names of the marks: where the ball is caught, and both ends of a tape on the ground laid towards the target."""
HINT_MARKS = (TARGET, TAPE_START, TAPE_END)
MARK_PX = 3.0
"""How well a person points at a mark, pixels."""
TAPE_LAID_DEG = 1.0
"""How well a tape is laid along the line to the target, degrees; chosen by this project."""
TARGET_SEEN_DEG = 0.6
"""How well a marked target gives the direction: a mark, the middle of the glove, the place of the foot; chosen by this
project."""

Seen = Sequence[Mapping[str, tuple[float, float]]]
"""Marks of every camera: pixel by name."""


@dataclass(frozen=True, kw_only=True)
class Expected:
    """What is known of direction, scale and vertical before the marks are looked at."""

    distance_m: float
    """Distance to the target."""
    tape_m: float
    """Length of the tape; 0 where none was laid."""
    turn_standard_deg: float
    """Standard uncertainty of the frame's x as the direction to the target."""
    scale_standard: float
    """Relative standard uncertainty of lengths."""
    upright_rad: float
    """Standard uncertainty of the vertical about each level axis."""


@dataclass(frozen=True, kw_only=True)
class Observed:
    """The cameras after target and tape entered as observations."""

    cameras: tuple[Camera, ...]
    """The cameras, moved and turned to agree with the marks; what marks and cameras err together is in `shared`."""
    turn_standard_deg: float
    """What is left of the uncertainty of the direction to the target, apart from `shared`."""
    scale_standard: float
    """What is left of that of lengths, apart from `shared`."""
    upright_rad: float
    """What is left of that of the vertical, apart from `shared`."""
    has_tape: bool
    """Whether a tape told."""
    has_direction: bool
    """Whether a target or a tape told the direction."""
    tape_ratio: float
    """Length of the tape by its marking over the length by what was known before; 1 where there is none."""
    tape_misfit_ratio: float
    """How far that is from 1 in standard uncertainties of both; 0 where there is none."""


def measure_marks(cameras: Sequence[Camera], marks: Seen, distance_m: float) -> tuple[float, float, float]:
    """Return direction of target and of tape, degrees, and length of the tape, metres; NaN where not seen."""
    tape = locate_mark(cameras, marks, TAPE_END) - locate_mark(cameras, marks, TAPE_START)
    target = locate_target(cameras, marks, distance_m)
    return degrees(atan2(target[1], target[0])), degrees(atan2(tape[1], tape[0])), float(np.linalg.norm(tape))


def estimate_tape_standard(cameras: Sequence[Camera], tape_m: float) -> float:
    """Return the relative standard uncertainty of a tape's length: pointing at both ends from each camera, and 5 mm."""
    pixel_m = min(float(np.linalg.norm(camera.place)) / camera.lens.focal_px for camera in cameras)
    return float(np.hypot(np.sqrt(2.0) * MARK_PX * pixel_m, 0.005)) / tape_m


def locate_mark(cameras: Sequence[Camera], marks: Seen, name: str) -> Array:
    """Return where a mark on the ground lies (3,): from two views where two saw it, else on the ground; or NaN."""
    seen = [(camera, spots[name]) for camera, spots in zip(cameras, marks, strict=True) if name in spots]
    if len(seen) > 1:
        pixels = np.array([[spot] for _, spot in seen], float)
        met: Array = triangulate_points([camera for camera, _ in seen], pixels, np.ones((len(seen), 1)))[0]
        return met
    for camera, spot in seen:
        ray = project_back(camera, np.array([spot], float))[0]
        if ray[2] < -0.01:
            return np.asarray(camera.place - camera.place[2] / ray[2] * ray)
    return np.full(3, np.nan)


def locate_target(cameras: Sequence[Camera], marks: Seen, distance_m: float) -> Array:
    """Return the place of the target (2,) seen from above, at its distance from the pivot foot on a view's line of
    sight; the mean over the views that show it, NaN where none does."""
    found = []
    for camera, spots in zip(cameras, marks, strict=True):
        if TARGET not in spots:
            continue
        ray = project_back(camera, np.array([spots[TARGET]], float))[0][:2]
        place = camera.place[:2]
        a, b, c = float(ray @ ray), float(ray @ place), float(place @ place) - distance_m**2
        root = b * b - a * c
        if root > 0:
            found.append(place + (-b + np.sqrt(root)) / a * ray)
    place_m: Array = np.mean(found, axis=0) if found else np.full(2, np.nan)
    return place_m
