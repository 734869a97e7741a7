"""Where a camera stands, from known points in its picture and what is known of its lens."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from scipy.spatial.transform import Rotation

from elbowroom.core.cameras.flaws import (
    Fit,
    find_fit_flaws,
    find_point_flaws,
    find_spread_flaws,
    measure_residual,
)
from elbowroom.core.cameras.lens import list_lens_values, shift_lens
from elbowroom.core.cameras.project import project_points, project_with_jacobian
from elbowroom.core.cameras.rays import undistort_pixels
from elbowroom.core.cameras.starts import find_start_poses
from elbowroom.core.cameras.types import (
    CAMERA_PARAMETERS,
    LENS_PARAMETERS,
    Array,
    Camera,
    LensEstimate,
    SeenPoints,
)
from elbowroom.core.quantities.types import Absent

MOST_STEPS = 60
"""Most steps of least squares; ten are usual."""


def estimate_camera(
    name: str, lens: LensEstimate, seen: Sequence[SeenPoints], *, row_time_s: float = 0.0
) -> Camera | Absent:
    """Return the camera that shows the points best, or the reason why they do not fix it.

    `seen` holds the points of one or more pictures of the standing camera, all in one frame. Least squares
    over pose and lens, the lens held by its prior (Gauss-Newton with damping); from each start pose, so that
    the two tilts of a plane are both tried. The covariance is the inverse information of points and prior;
    where the points scatter more than stated, their part is widened to what they scatter.
    """
    for flaw in find_point_flaws(seen):
        return flaw
    blank = build_blank_camera(name, lens, row_time_s)
    fits = sorted(fit_starts(blank, lens, seen), key=lambda fit: fit.cost)
    for flaw in find_fit_flaws(fits, seen):
        return flaw
    camera = add_covariance(fits[0].camera, lens, seen)
    middle = np.vstack([item.field_m for item in seen]).mean(axis=0)
    for flaw in find_spread_flaws(camera, middle):
        return flaw
    return camera


def build_blank_camera(name: str, lens: LensEstimate, row_time_s: float = 0.0) -> Camera:
    """Return a camera with that lens at the origin of the field, for poses to be put in."""
    return Camera(
        name=name,
        lens=lens.lens,
        rotation=np.eye(3),
        translation=np.zeros(3),
        covariance=np.zeros((CAMERA_PARAMETERS, CAMERA_PARAMETERS)),
        residual_px=0.0,
        row_time_s=row_time_s,
    )


def fit_starts(blank: Camera, lens: LensEstimate, seen: Sequence[SeenPoints]) -> list[Fit]:
    """Return the refined camera from every start pose of the first picture's points."""
    points = np.vstack([item.field_m for item in seen])
    flat = undistort_pixels(lens.lens, np.vstack([item.pixels for item in seen]))
    sound = np.isfinite(flat).all(axis=1)
    starts = find_start_poses(points[sound], flat[sound])
    return [
        refine_camera(replace(blank, rotation=rotation, translation=translation), lens, seen)
        for rotation, translation in starts
    ]


def refine_camera(camera: Camera, lens: LensEstimate, seen: Sequence[SeenPoints]) -> Fit:
    """Return the camera at the least sum of squares near `camera` (Levenberg and Marquardt's damping)."""
    fit = Fit(camera=camera, cost=sum_squares(camera, lens, seen))
    damping = 1e-3
    for _ in range(MOST_STEPS):
        if not np.isfinite(fit.cost) or damping > 1e8:
            break
        step = find_step(fit.camera, lens, seen, damping)
        tried = shift_camera(fit.camera, step)
        cost = sum_squares(tried, lens, seen)
        if cost <= fit.cost:
            is_done = fit.cost - cost < 1e-10 * (1.0 + fit.cost)
            fit, damping = Fit(camera=tried, cost=cost), damping * 0.1
            if is_done:
                break
        else:
            damping *= 10.0
    return fit


def sum_squares(camera: Camera, lens: LensEstimate, seen: Sequence[SeenPoints]) -> float:
    """Return the sum of squares of points and lens over their variances; infinite for points behind the
    camera."""
    shift = list_lens_values(camera.lens) - list_lens_values(lens.lens)
    total = float(shift @ find_lens_information(lens) @ shift)
    for item in seen:
        missing = (project_points(camera, item.field_m) - item.pixels) / item.standard_px
        total += float((missing**2).sum())
    return total if np.isfinite(total) else np.inf


def find_lens_information(lens: LensEstimate) -> Array:
    """Return the inverse (7, 7) of the lens covariance; a parameter without variance is held all but
    fixed."""
    scale = np.sqrt(np.maximum(np.diag(lens.covariance), 1e-16))
    correlation = lens.covariance / np.outer(scale, scale) + 1e-9 * np.eye(len(scale))
    information: Array = np.linalg.inv(correlation) / np.outer(scale, scale)
    return information


def find_step(camera: Camera, lens: LensEstimate, seen: Sequence[SeenPoints], damping: float) -> Array:
    """Return the damped Gauss-Newton step (13,) of the camera parameters."""
    information, slope = sum_information(camera, seen)
    prior = find_lens_information(lens)
    shift = list_lens_values(lens.lens) - list_lens_values(camera.lens)
    information[:LENS_PARAMETERS, :LENS_PARAMETERS] += prior
    slope[:LENS_PARAMETERS] += prior @ shift
    scale = 1.0 / np.sqrt(np.diag(information))
    scaled = information * np.outer(scale, scale) + damping * np.eye(len(scale))
    step: Array = scale * np.linalg.solve(scaled, scale * slope)
    return step


def sum_information(camera: Camera, seen: Sequence[SeenPoints]) -> tuple[Array, Array]:
    """Return the information (13, 13) of the points on the camera, and the slope (13,) towards smaller
    residuals."""
    information = np.zeros((CAMERA_PARAMETERS, CAMERA_PARAMETERS))
    slope = np.zeros(CAMERA_PARAMETERS)
    for item in seen:
        predicted, _, by_camera = project_with_jacobian(camera, item.field_m)
        jacobian = by_camera.reshape(-1, CAMERA_PARAMETERS) / item.standard_px
        information += jacobian.T @ jacobian
        slope += jacobian.T @ ((item.pixels - predicted).ravel() / item.standard_px)
    return information, slope


def shift_camera(camera: Camera, step: Array) -> Camera:
    """Return the camera with `step` (13,) applied in the order and sense of `Camera.covariance`."""
    turn = Rotation.from_rotvec(step[LENS_PARAMETERS : LENS_PARAMETERS + 3]).as_matrix()
    return replace(
        camera,
        lens=shift_lens(camera.lens, step[:LENS_PARAMETERS]),
        rotation=turn @ camera.rotation,
        translation=camera.translation + step[LENS_PARAMETERS + 3 :],
    )


def compare_cameras(cameras: Sequence[Camera], best: Sequence[Camera]) -> Array:
    """Return the change (13 v,) of cameras from the best ones in the sense of `Camera.covariance`."""
    parts = []
    for moved, camera in zip(cameras, best, strict=True):
        lens = [moved.lens.focal_px, *moved.lens.centre_px, *moved.lens.distortion]
        before = [camera.lens.focal_px, *camera.lens.centre_px, *camera.lens.distortion]
        turn = Rotation.from_matrix(moved.rotation @ camera.rotation.T).as_rotvec()
        parts.append(np.concatenate([np.array(lens) - before, turn, moved.translation - camera.translation]))
    return np.concatenate(parts)


def add_covariance(camera: Camera, lens: LensEstimate, seen: Sequence[SeenPoints]) -> Camera:
    """Return the camera with its covariance and residual."""
    missing = [project_points(camera, item.field_m) - item.pixels for item in seen]
    squares = sum(float(((gap / item.standard_px) ** 2).sum()) for gap, item in zip(missing, seen, strict=True))
    freedom = max(sum(gap.size for gap in missing) - 6, 1)
    information = sum_information(camera, seen)[0] / max(1.0, squares / freedom)
    information[:LENS_PARAMETERS, :LENS_PARAMETERS] += find_lens_information(lens)
    scale = 1.0 / np.sqrt(np.diag(information))
    covariance = np.linalg.inv(information * np.outer(scale, scale)) * np.outer(scale, scale)
    residual = measure_residual(camera, seen)
    return replace(camera, covariance=(covariance + covariance.T) / 2, residual_px=residual)
