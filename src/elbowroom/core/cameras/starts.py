"""First guesses of a camera's pose from known points, for least squares to start from."""

from __future__ import annotations

import numpy as np

from elbowroom.core.cameras.types import Array

Pose = tuple[Array, Array]
"""Rotation (3, 3) and translation (3,) from the field frame into the camera frame."""

FLAT_RATIO = 0.15
"""Points whose thickness is a smaller share of their extent count as lying in a plane."""

FEWEST_FOR_SOLID = 6
"""Fewest points from which the direct linear transform finds a pose without a plane."""


def find_start_poses(points: Array, flat: Array) -> list[Pose]:
    """Return the poses worth starting from, for points (n, 3) seen along directions (n, 2) x/z and y/z.

    Points in a plane give two: the pose of their homography and its reflection, the plane tilted the other
    way about the line of sight, which least squares cannot leave once it is there.
    """
    centre = points.mean(axis=0)
    spread = np.linalg.svd(points - centre, compute_uv=False)
    if spread[2] > FLAT_RATIO * spread[0] and len(points) >= FEWEST_FOR_SOLID:
        return [find_solid_pose(points, flat)]
    rotation, translation = find_plane_pose(points, flat)
    return [(rotation, translation), reflect_pose(rotation, translation, points)]


def find_plane_pose(points: Array, flat: Array) -> Pose:
    """Return the pose of the homography between the plane of `points` (n, 3) and the directions `flat` (n,
    2)."""
    centre = points.mean(axis=0)
    axes = np.linalg.svd(points - centre)[2].T
    axes[:, 2] *= np.sign(np.linalg.det(axes))
    homography = find_homography((points - centre) @ axes[:, :2], flat)
    homography /= np.linalg.norm(homography[:, :2], axis=0).mean()
    homography *= np.sign(homography[2, 2])
    columns = [homography[:, 0], homography[:, 1], np.cross(homography[:, 0], homography[:, 1])]
    rotation = find_nearest_rotation(np.column_stack(columns)) @ axes.T
    return rotation, homography[:, 2] - rotation @ centre


def find_homography(plane: Array, flat: Array) -> Array:
    """Return the homography (3, 3) from `plane` (n, 2) to `flat` (n, 2), by the normalised linear method.

    Method: Hartley and Zisserman, Multiple View Geometry, 2nd ed., algorithm 4.2 (from memory).
    """
    (source, to_source), (target, to_target) = normalise_places(plane), normalise_places(flat)
    ones, nothing = np.ones((len(plane), 1)), np.zeros((len(plane), 3))
    homogeneous = np.hstack([source, ones])
    upper = np.hstack([homogeneous, nothing, -target[:, :1] * homogeneous])
    lower = np.hstack([nothing, homogeneous, -target[:, 1:] * homogeneous])
    solution = np.linalg.svd(np.vstack([upper, lower]))[2][-1].reshape(3, 3)
    homography: Array = np.linalg.inv(to_target) @ solution @ to_source
    return homography


def normalise_places(places: Array) -> tuple[Array, Array]:
    """Return the places (n, d) with mean 0 and unit spread, and the matrix (d + 1, d + 1) that does it."""
    centre = places.mean(axis=0)
    scale = 1.0 / max(float(np.sqrt(((places - centre) ** 2).sum(axis=1).mean())), 1e-12)
    matrix = np.eye(places.shape[1] + 1)
    matrix[:-1, :-1] *= scale
    matrix[:-1, -1] = -scale * centre
    return (places - centre) * scale, matrix


def find_nearest_rotation(matrix: Array) -> Array:
    """Return the rotation (3, 3) nearest to `matrix` in the sum of squares (polar decomposition)."""
    left, _, right = np.linalg.svd(matrix)
    turn = np.diag([1.0, 1.0, np.sign(np.linalg.det(left @ right))])
    rotation: Array = left @ turn @ right
    return rotation


def reflect_pose(rotation: Array, translation: Array, points: Array) -> Pose:
    """Return the pose with the plane of `points` tilted the other way about the line of sight to their
    middle."""
    centre = points.mean(axis=0)
    sight = rotation @ centre + translation
    normal = np.linalg.svd(points - centre)[2][2]
    turned = turn_half(sight / np.linalg.norm(sight)) @ rotation @ turn_half(normal)
    return turned, sight - turned @ centre


def turn_half(axis: Array) -> Array:
    """Return the rotation (3, 3) by half a turn about the unit vector `axis` (3,)."""
    half: Array = 2.0 * np.outer(axis, axis) - np.eye(3)
    return half


def find_solid_pose(points: Array, flat: Array) -> Pose:
    """Return the pose by the direct linear transform from six or more points that are not in a plane.

    Method: Hartley and Zisserman, Multiple View Geometry, 2nd ed., algorithm 7.1 (from memory).
    """
    source, to_source = normalise_places(points)
    homogeneous = np.hstack([source, np.ones((len(points), 1))])
    nothing = np.zeros_like(homogeneous)
    upper = np.hstack([homogeneous, nothing, -flat[:, :1] * homogeneous])
    lower = np.hstack([nothing, homogeneous, -flat[:, 1:] * homogeneous])
    matrix = np.linalg.svd(np.vstack([upper, lower]))[2][-1].reshape(3, 4) @ to_source
    matrix *= np.sign(np.linalg.det(matrix[:, :3])) / np.linalg.svd(matrix[:, :3], compute_uv=False).mean()
    rotation = find_nearest_rotation(matrix[:, :3])
    middle = points.mean(axis=0)
    depth = matrix[2, :3] @ middle + matrix[2, 3]
    sight = np.append(flat.mean(axis=0), 1.0) * depth
    return rotation, sight - rotation @ middle
