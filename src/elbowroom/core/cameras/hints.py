"""What a marked target or a tape on the ground say of direction and scale, once the cameras stand near the field."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from math import atan2, degrees

import numpy as np
from scipy.spatial.transform import Rotation

from elbowroom.core.cameras.frames import shift_field
from elbowroom.core.cameras.pose import shift_camera
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

GROUND_M = 0.02
"""How well the height of the ground is known from planted feet."""
MODE_STEP_RATIO = 0.1
"""Step of the finite differences along a shared error, in its standard deviations."""
Seen = Sequence[Mapping[str, tuple[float, float]]]
"""Marks of every camera: pixel by name."""


@dataclass(frozen=True, kw_only=True)
class Hints:
    """Direction and scale that marks give, in the frame of the cameras."""

    turn_deg: float
    """Direction to the target from the frame's x, counterclockwise seen from above, degrees."""
    turn_standard_deg: float
    """Its standard uncertainty; infinite where no mark tells."""
    scale_factor: float
    """Factor by which lengths have to grow."""
    scale_standard: float
    """Its relative standard uncertainty; infinite where no tape tells."""


def read_hints(
    cameras: Sequence[Camera], marks: Seen, distance_m: float, tape_m: float, upright_rad: float = 0.0
) -> Hints:
    """Return what the marks tell; the ground is at height zero and the pivot foot at the origin.

    `distance_m` to the target; `tape_m` length of the tape, 0 where none was laid; `upright_rad` the
    standard uncertainty of the vertical. What the cameras do not know of one
    another goes into the uncertainties, by shifting them along each error that they share.
    """
    target, tape, length = measure_marks(cameras, marks, distance_m)
    spreads = spread_marks(cameras, marks, distance_m, upright_rad)
    has_tape = tape_m > 0 and np.isfinite(length) and length > 0
    turns = [(target, np.hypot(TARGET_SEEN_DEG, spreads[0]))] if np.isfinite(target) else []
    turns += [(tape, np.hypot(TAPE_LAID_DEG, spreads[1]))] if has_tape else []
    weights = np.array([standard**-2 for _, standard in turns])
    turn = float(weights @ np.array([value for value, _ in turns]) / weights.sum()) if turns else 0.0
    return Hints(
        turn_deg=turn,
        turn_standard_deg=float(weights.sum() ** -0.5) if turns else np.inf,
        scale_factor=tape_m / length if has_tape else 1.0,
        scale_standard=(
            float(np.hypot(estimate_tape_standard(cameras, tape_m), spreads[2] / length)) if has_tape else np.inf
        ),
    )


def measure_marks(cameras: Sequence[Camera], marks: Seen, distance_m: float) -> tuple[float, float, float]:
    """Return direction of target and of tape, degrees, and length of the tape, metres; NaN where not seen."""
    tape = locate_mark(cameras, marks, TAPE_END) - locate_mark(cameras, marks, TAPE_START)
    target = locate_target(cameras, marks, distance_m)
    return degrees(atan2(target[1], target[0])), degrees(atan2(tape[1], tape[0])), float(np.linalg.norm(tape))


def spread_marks(cameras: Sequence[Camera], marks: Seen, distance_m: float, upright_rad: float) -> Array:
    """Return the standard uncertainty (3,) of what `measure_marks` returns: what the cameras' shared errors, the
    vertical and the height of the ground cause."""
    best = np.array(measure_marks(cameras, marks, distance_m))
    variance = np.zeros(3)
    for moved in list_moved(cameras, upright_rad):
        variance += ((np.array(measure_marks(moved, marks, distance_m)) - best) / MODE_STEP_RATIO) ** 2
    spread: Array = np.sqrt(np.nan_to_num(variance))
    return spread


def list_moved(cameras: Sequence[Camera], upright_rad: float) -> Iterator[list[Camera]]:
    """Yield the cameras moved by a tenth of each standard uncertainty: shared errors, vertical, ground."""
    for number in range(cameras[0].shared.shape[1]):
        yield [shift_camera(camera, MODE_STEP_RATIO * camera.shared[:, number]) for camera in cameras]
    for axis in np.eye(3)[:2]:
        turn = Rotation.from_rotvec(MODE_STEP_RATIO * upright_rad * axis).as_matrix()
        yield [shift_field(camera, np.zeros(3), turn) for camera in cameras]
    raised = np.array([0.0, 0.0, MODE_STEP_RATIO * GROUND_M])
    yield [shift_field(camera, raised, np.eye(3)) for camera in cameras]


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
