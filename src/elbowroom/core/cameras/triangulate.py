"""Points from several views, one picture at a time: the start of the reconstruction and its yardstick."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from elbowroom.core.cameras.project import project_points, project_with_jacobian
from elbowroom.core.cameras.rays import project_back
from elbowroom.core.cameras.types import Array, Camera

REFINING_STEPS = 6
"""Gauss-Newton steps after the linear start."""

LEAST_SPREAD = 1e-6
"""Rays whose normal matrix has a smaller ratio of eigenvalues (about 0.1 degree apart) give no point."""


def triangulate_points(cameras: Sequence[Camera], pixels: Array, weights: Array) -> Array:
    """Return the points (n, 3), metres in the field frame, that fit the views best.

    `pixels` (v, n, 2) and `weights` (v, n), one over the variance in px^2. A view counts for a point only
    where its weight is above zero and its pixels are finite. A point with fewer than two such views, or whose
    rays are almost one line, is NaN. Linear start (nearest point to the rays), then Gauss-Newton on pixels.
    """
    is_seen = (weights > 0) & np.isfinite(pixels).all(axis=2)
    used = np.where(is_seen, weights, 0.0)
    points = join_rays(cameras, pixels, used)
    cost = sum_squares(cameras, points, pixels, used)
    for _ in range(REFINING_STEPS):
        tried = points + find_step(cameras, points, pixels, used)
        tried_cost = sum_squares(cameras, tried, pixels, used)
        is_better = tried_cost < cost
        points[is_better], cost[is_better] = tried[is_better], tried_cost[is_better]
    return points


def join_rays(cameras: Sequence[Camera], pixels: Array, weights: Array) -> Array:
    """Return the points (n, 3) with the least weighted sum of squared distances to the rays of the views."""
    normal = np.zeros((pixels.shape[1], 3, 3))
    right = np.zeros((pixels.shape[1], 3))
    for camera, seen, weight in zip(cameras, pixels, weights, strict=True):
        directions = project_back(camera, np.where(weight[:, None] > 0, seen, camera.lens.centre_px))
        usable = np.where(np.isfinite(directions).all(axis=1), weight, 0.0)
        directions = np.nan_to_num(directions)
        across = usable[:, None, None] * (np.eye(3) - directions[:, :, None] * directions[:, None, :])
        normal += across
        right += across @ camera.place
    return solve_symmetric(normal, right, LEAST_SPREAD)


def solve_symmetric(normal: Array, right: Array, least_ratio: float) -> Array:
    """Return the solutions (n, 3) of n normal equations, NaN where the eigenvalues lie too far apart."""
    values, vectors = np.linalg.eigh(normal)
    is_sound = values[:, 0] > least_ratio * values[:, 2]
    inverse = np.where(is_sound[:, None], 1.0, np.nan) / np.where(is_sound[:, None], values, 1.0)
    along = np.einsum("nij,ni->nj", vectors, right) * inverse
    solution: Array = np.einsum("nij,nj->ni", vectors, along)
    return solution


def find_step(cameras: Sequence[Camera], points: Array, pixels: Array, weights: Array) -> Array:
    """Return the Gauss-Newton step (n, 3) of every point on its own."""
    normal = np.zeros((len(points), 3, 3))
    right = np.zeros((len(points), 3))
    for camera, seen, weight in zip(cameras, pixels, weights, strict=True):
        predicted, by_point, _ = project_with_jacobian(camera, points)
        missing = seen - predicted
        usable = np.where(np.isfinite(missing).all(axis=1), weight, 0.0)
        turned = np.nan_to_num(by_point).transpose(0, 2, 1) * usable[:, None, None]
        normal += turned @ np.nan_to_num(by_point)
        right += (turned @ np.nan_to_num(missing)[:, :, None])[:, :, 0]
    return solve_symmetric(normal, right, 1e-12)


def sum_squares(cameras: Sequence[Camera], points: Array, pixels: Array, weights: Array) -> Array:
    """Return the weighted sum of squared pixel distances (n,), infinite for points behind a view."""
    total = np.zeros(len(points))
    for camera, seen, weight in zip(cameras, pixels, weights, strict=True):
        squares = ((project_points(camera, points) - seen) ** 2).sum(axis=1)
        total += np.where(weight > 0, np.nan_to_num(weight * squares, nan=np.inf), 0.0)
    return total
