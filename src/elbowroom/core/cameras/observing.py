"""Target and tape as observations: they move the cameras with all that the cameras, scale and frame err together.

The state is small: one number for each error that the cameras share, then scale, direction, two tilts and the height of
the ground, all in standard deviations. A few Gauss-Newton steps with these as priors (the update of a Kalman filter,
repeated; from memory).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from scipy.spatial.transform import Rotation

from elbowroom.core.cameras.frames import shift_field
from elbowroom.core.cameras.hints import (
    TAPE_LAID_DEG,
    TARGET_SEEN_DEG,
    Expected,
    Observed,
    Seen,
    estimate_tape_standard,
    measure_marks,
)
from elbowroom.core.cameras.pose import compare_cameras, shift_camera
from elbowroom.core.cameras.types import CAMERA_PARAMETERS, LENS_PARAMETERS, Array, Camera

GROUND_M = 0.02
"""How well the height of the ground is known from planted feet."""
STEP = 0.1
"""Step of the finite differences, in standard deviations."""
ROUNDS = 4
"""Gauss-Newton steps: the direction may be off by many degrees at first."""
FRAME = 5
"""Errors of the frame: scale, direction, tilt about x and y, height of the ground."""


@dataclass(frozen=True, kw_only=True)
class Scene:
    """Cameras and marks, and what is expected."""

    cameras: tuple[Camera, ...]
    """The cameras before."""
    marks: Seen
    """Marks of every camera."""
    expected: Expected
    """What is known before."""

    @property
    def modes(self) -> int:
        """Number of errors that the cameras share."""
        return int(self.cameras[0].shared.shape[1])


def combine_marks(cameras: Sequence[Camera], marks: Seen, expected: Expected) -> Observed:
    """Return the cameras after target and tape entered; the ground is at height zero, the pivot foot at the origin.

    Where no mark is seen nothing moves. What the marks tell of the frame given the shared errors is told apart from
    what errs together with them: the first stays as scale, direction and vertical, the second joins `shared`.
    """
    scene = Scene(cameras=tuple(cameras), marks=marks, expected=expected)
    before = measure_scene(scene, cameras)
    seen = np.isfinite(before)
    noise = find_noise(scene)[seen]
    state, covariance = np.zeros(scene.modes + FRAME), np.eye(scene.modes + FRAME)
    for _ in range(ROUNDS if seen.any() else 0):
        slopes, gap = differentiate(scene, state, seen)
        gain_root = slopes @ slopes.T + np.diag(noise**2)
        state = slopes.T @ np.linalg.solve(gain_root, gap + slopes @ state)
        covariance = np.eye(len(state)) - slopes.T @ np.linalg.solve(gain_root, slopes)
    return build_observed(scene, state, covariance, compare_tape(scene, before))


def list_frame_units(expected: Expected) -> Array:
    """Return one standard deviation of scale (relative), direction (rad), tilts (rad) and ground (m), (5,)."""
    turn = np.radians(expected.turn_standard_deg)
    return np.array([expected.scale_standard, turn, expected.upright_rad, expected.upright_rad, GROUND_M])


def apply_state(scene: Scene, state: Array) -> list[Camera]:
    """Return the cameras after a change of the state: shared errors first, then the frame."""
    scale, turn, *tilts, raised = state[scene.modes :] * list_frame_units(scene.expected)
    rotation = Rotation.from_euler("z", -turn) * Rotation.from_rotvec([*tilts, 0.0])
    placed = []
    for camera in scene.cameras:
        moved = shift_camera(camera, camera.shared @ state[: scene.modes])
        moved = shift_field(moved, np.array([0.0, 0.0, raised]), rotation.as_matrix())
        placed.append(scale_camera(moved, float(np.exp(scale))))
    return placed


def scale_camera(camera: Camera, ratio: float) -> Camera:
    """Return the camera in a field whose lengths are `ratio` times as long."""
    stretch = np.ones(CAMERA_PARAMETERS)
    stretch[LENS_PARAMETERS + 3 :] = ratio
    return replace(
        camera,
        translation=camera.translation * ratio,
        covariance=camera.covariance * np.outer(stretch, stretch),
        shared=camera.shared * stretch[:, None],
    )


def measure_scene(scene: Scene, cameras: Sequence[Camera]) -> Array:
    """Return direction of target and tape (rad) and relative excess of the tape's length, (3,); NaN where unseen."""
    target, tape, length = measure_marks(cameras, scene.marks, scene.expected.distance_m)
    excess = np.log(length / scene.expected.tape_m) if scene.expected.tape_m > 0 and length > 0 else np.nan
    tape = tape if np.isfinite(excess) else np.nan
    return np.array([np.radians(target), np.radians(tape), excess])


def find_noise(scene: Scene) -> Array:
    """Return the standard uncertainty (3,) with which the marks themselves tell what `measure_scene` gives."""
    tape_m = max(scene.expected.tape_m, 1e-6)
    length = estimate_tape_standard(scene.cameras, tape_m)
    return np.array([np.radians(TARGET_SEEN_DEG), np.hypot(np.radians(TAPE_LAID_DEG), length), length])


def differentiate(scene: Scene, state: Array, seen: Array) -> tuple[Array, Array]:
    """Return how what is seen changes with the state, (k, n), and how far it is from zero now, (k,), sign reversed."""
    now = measure_scene(scene, apply_state(scene, state))
    columns = [
        (measure_scene(scene, apply_state(scene, state + STEP * axis)) - now) / STEP for axis in np.eye(len(state))
    ]
    slopes: Array = np.nan_to_num(np.array(columns).T[seen])
    return slopes, -now[seen]


def compare_tape(scene: Scene, before: Array) -> tuple[float, float]:
    """Return the tape's length by its marking over that by what was known before, and how surely they differ."""
    if not np.isfinite(before[2]):
        return 1.0, 0.0
    only = np.array([False, False, True])
    slopes, gap = differentiate(scene, np.zeros(scene.modes + FRAME), only)
    spread = float(np.sqrt(slopes[0] @ slopes[0] + find_noise(scene)[2] ** 2))
    return float(np.exp(gap[0])), float(gap[0]) / spread


def build_observed(scene: Scene, state: Array, covariance: Array, tape: tuple[float, float]) -> Observed:
    """Return the result: cameras at the state, errors split into shared ones and those of the frame alone."""
    cameras = apply_state(scene, state)
    modes = scene.modes
    root = find_root(covariance[:modes, :modes])
    following = covariance[modes:, :modes] @ np.linalg.pinv(covariance[:modes, :modes])
    alone = covariance[modes:, modes:] - following @ covariance[:modes, modes:]
    left = np.sqrt(np.maximum(np.diag(alone), 0.0)) * list_frame_units(scene.expected)
    columns = [np.concatenate([column, following @ column]) for column in root.T]
    shared = differentiate_cameras(lambda change: apply_state(scene, state + change), columns, cameras)
    directions = np.isfinite(measure_scene(scene, cameras))
    return Observed(
        cameras=tuple(
            replace(camera, shared=block, covariance=block @ block.T if modes else camera.covariance)
            for camera, block in zip(cameras, shared, strict=True)
        ),
        scale_standard=float(left[0]),
        turn_standard_deg=float(np.degrees(left[1])),
        upright_rad=float(max(left[2:4])),
        has_tape=bool(directions[2]),
        has_direction=bool(directions[:2].any()),
        tape_ratio=tape[0],
        tape_misfit_ratio=tape[1],
    )


def find_root(covariance: Array) -> Array:
    """Return R with R R^T = covariance."""
    values, vectors = np.linalg.eigh((covariance + covariance.T) / 2)
    root: Array = vectors * np.sqrt(np.maximum(values, 0.0))
    return root


def differentiate_cameras(
    move: Callable[[Array], list[Camera]], columns: Sequence[Array], best: Sequence[Camera]
) -> list[Array]:
    """Return the change (13, q) of every camera for each of q changes of the state."""
    changes = [compare_cameras(move(STEP * column), best) / STEP for column in columns]
    if not changes:
        return [np.zeros((CAMERA_PARAMETERS, 0)) for _ in best]
    return list(np.array(changes).T.reshape(len(best), CAMERA_PARAMETERS, -1))
