"""Why known points do not fix a camera, or not well enough."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import degrees

import numpy as np
from scipy.spatial.transform import Rotation

from elbowroom.core.cameras.project import project_points, project_with_jacobian
from elbowroom.core.cameras.types import Array, Camera, SeenPoints
from elbowroom.core.quantities.types import Absent

FEWEST_POINTS = 4
"""Fewest points that fix a pose."""

THINNEST_RATIO = 0.03
"""Points whose width is a smaller share of their length lie on a line and fix no pose."""

LARGEST_RESIDUAL_RATIO = 4.0
"""Largest root mean square residual over the stated uncertainty of the pixels; chosen by this project."""

SAME_COST = 6.0
"""Two poses whose sums of squares differ by less cannot be told apart (95 % of chi-squared, 2 degrees:
5.99)."""

DIFFERENT_TURN_DEG = 2.0
"""Poses that differ by less than this are one."""

LARGEST_SPREAD_M = 0.15
"""Largest standard uncertainty of a place at the thrower that the camera alone may cause; chosen by this
project."""

REACH_M = np.array([[0.0, 0.0, 0.0], [1.5, 0.0, 0.0], [0.0, 0.0, 1.7], [1.5, 0.0, 1.7]])
"""(4, 3) places about the thrower, from where the throw starts, where the camera must hold."""


@dataclass(frozen=True, kw_only=True)
class Fit:
    """A camera under refinement."""

    camera: Camera
    """The camera so far."""
    cost: float
    """Sum of squares of the points over their variance, plus the lens over its own; infinite where it
    fails."""


def find_point_flaws(seen: Sequence[SeenPoints]) -> tuple[Absent, ...]:
    """Return why the points cannot fix a pose, whatever their pixels."""
    points = np.vstack([item.field_m for item in seen]) if seen else np.zeros((0, 3))
    places = np.unique(points, axis=0)
    if len(places) < FEWEST_POINTS:
        return (
            Absent(
                reason=f"Only {len(places)} known points are seen, and a camera needs {FEWEST_POINTS}.",
                advice="Mark more points, or show the whole board.",
            ),
        )
    spread = np.linalg.svd(places - places.mean(axis=0), compute_uv=False)
    if spread[1] < THINNEST_RATIO * spread[0]:
        return (
            Absent(
                reason="The known points lie on one line, which does not fix a camera.",
                advice="Mark points on both sides of the line, such as both ends of the plate.",
            ),
        )
    return ()


def find_fit_flaws(fits: Sequence[Fit], seen: Sequence[SeenPoints]) -> tuple[Absent, ...]:
    """Return why the best of the refined cameras, sorted by cost, cannot be believed."""
    best = fits[0]
    usual = float(np.sqrt(2) * np.mean([item.standard_px for item in seen]))
    residual = measure_residual(best.camera, seen)
    if not residual < LARGEST_RESIDUAL_RATIO * usual:
        return (
            Absent(
                reason=f"The known points miss their places by {residual:.1f} px where {usual:.1f} is usual.",
                advice="Check the names and pixels of the marks and the stated sizes; keep the board flat.",
            ),
        )
    rivals = [fit for fit in fits[1:] if fit.cost - best.cost < SAME_COST]
    if any(measure_turn_deg(fit.camera, best.camera) > DIFFERENT_TURN_DEG for fit in rivals):
        return (
            Absent(
                reason="The known points look the same from two camera poses.",
                advice="Move the camera nearer or higher, or mark points farther apart.",
            ),
        )
    return ()


def measure_residual(camera: Camera, seen: Sequence[SeenPoints]) -> float:
    """Return the root mean square distance between seen and predicted points, in pixels."""
    missing = np.vstack([project_points(camera, item.field_m) - item.pixels for item in seen])
    return float(np.sqrt((missing**2).sum(axis=1).mean()))


def measure_turn_deg(first: Camera, second: Camera) -> float:
    """Return the angle between the poses of two cameras, degrees."""
    return degrees(float(Rotation.from_matrix(first.rotation @ second.rotation.T).magnitude()))


def find_spread_flaws(camera: Camera, thrower_m: Array) -> tuple[Absent, ...]:
    """Return why the pose is too loose to measure a thrower who starts near `thrower_m` (3,)."""
    spread = predict_spread_m(camera, thrower_m + REACH_M)
    if spread.max() < LARGEST_SPREAD_M:
        return ()
    reason = f"The camera's pose is known to {100 * spread.max():.0f} cm at the thrower, which is too loose."
    return (Absent(reason=reason, advice="Lay the board nearer to the camera, or mark points farther apart."),)


def predict_spread_m(camera: Camera, points: Array) -> Array:
    """Return the standard uncertainty (n,), metres across the line of sight, that the camera causes at
    `points`.

    Infinite for points behind the camera. First order: derivative by the camera, its covariance, depth over
    focal.
    """
    by_camera = project_with_jacobian(camera, points)[2]
    variance = np.einsum("nia,ab,nib->n", by_camera, camera.covariance, by_camera)
    depth = points @ camera.rotation[2] + camera.translation[2]
    spread = np.sqrt(variance) * depth / camera.lens.focal_px
    known: Array = np.nan_to_num(spread, nan=np.inf)
    return known
