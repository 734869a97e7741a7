"""Rotations and interpolation over time; every array has time first: (T, 3) vectors, (T, 3, 3) matrices."""

import numpy as np
from numpy.typing import NDArray
from scipy.spatial.transform import Rotation

Array = NDArray[np.float64]


def make_unit(vectors: Array) -> Array:
    """Vectors (..., 3) scaled to length one; a zero vector stays zero."""
    length = np.linalg.norm(vectors, axis=-1, keepdims=True)
    return vectors / np.maximum(length, 1e-12)


def rotate_about(axis: str, angle_deg: Array) -> Array:
    """Rotation matrices (T, 3, 3) about a coordinate axis 'x', 'y' or 'z' by angles in degrees (T,)."""
    return Rotation.from_euler(axis, np.atleast_1d(angle_deg)[:, None], degrees=True).as_matrix()


def rotate_about_vector(axes: Array, angle_rad: Array) -> Array:
    """Rotation matrices (T, 3, 3) about unit axes (T, 3) by angles in radians (T,)."""
    return Rotation.from_rotvec(axes * np.atleast_1d(angle_rad)[:, None]).as_matrix()


def turn_shortest(start: Array, end: Array) -> Array:
    """The smallest rotation (T, 3, 3) that turns unit vectors `start` (3,) or (T, 3) into `end` (T, 3)."""
    start = np.broadcast_to(start, end.shape)
    cross = np.cross(start, end)
    cosine = np.sum(start * end, axis=-1)
    skew = np.zeros((*cross.shape[:-1], 3, 3))
    skew[..., 0, 1], skew[..., 0, 2] = -cross[..., 2], cross[..., 1]
    skew[..., 1, 0], skew[..., 1, 2] = cross[..., 2], -cross[..., 0]
    skew[..., 2, 0], skew[..., 2, 1] = -cross[..., 1], cross[..., 0]
    scale = 1.0 / np.maximum(1.0 + cosine, 1e-6)
    return np.eye(3) + skew + skew @ skew * scale[..., None, None]


def build_frame(first: Array, second: Array) -> Array:
    """Frames (T, 3, 3) whose columns are `first`, `second` made perpendicular to it, and their cross product."""
    x = make_unit(first)
    y = make_unit(second - np.sum(second * x, axis=-1, keepdims=True) * x)
    return np.stack([x, y, np.cross(x, y)], axis=-1)


def blend_rotations(start: Array, end: Array, share: float) -> Array:
    """Rotations (T, 3, 3) that lie at `share` (0 to 1) of the way from `start` to `end`."""
    between = Rotation.from_matrix(np.swapaxes(start, -1, -2) @ end).as_rotvec()
    return start @ Rotation.from_rotvec(between * share).as_matrix()


def apply(rotations: Array, vectors: Array) -> Array:
    """Rotations (T, 3, 3) applied to vectors (3,) or (T, 3), giving (T, 3)."""
    return np.einsum("tij,tj->ti", rotations, np.broadcast_to(vectors, (len(rotations), 3)))
