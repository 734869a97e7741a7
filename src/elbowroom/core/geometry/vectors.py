"""Vectors of any number of poses at once: the last axis holds x, y, z, all leading axes are free."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


def compute_dot(first: Array, second: Array) -> Array:
    """Return the inner product over the last axis, (..., 3) and (..., 3) -> (...)."""
    # Written out: numpy sums a short last axis several times slower, to the same last digit.
    x, y, z = (first[..., axis] * second[..., axis] for axis in range(3))
    return np.asarray(x + y + z)


def measure_length(vectors: Array) -> Array:
    """Return the length over the last axis, (..., 3) -> (...), in the unit of the vectors."""
    return np.sqrt(compute_dot(vectors, vectors))


def normalise(vectors: Array) -> Array:
    """Return vectors of length 1, (..., 3); a vector without length gives not-a-number, never a made-up direction."""
    with np.errstate(invalid="ignore", divide="ignore"):
        return np.asarray(vectors / measure_length(vectors)[..., None])


def find_middle(first: Array, second: Array) -> Array:
    """Return the point half-way between two points, (..., 3)."""
    return np.asarray(0.5 * (first + second))


def remove_along(vectors: Array, axis: Array) -> Array:
    """Return the part of the vectors at right angles to an axis of any length, (..., 3)."""
    along = normalise(axis)
    return np.asarray(vectors - compute_dot(vectors, along)[..., None] * along)


def measure_distance_to_line(points: Array, start: Array, along: Array) -> Array:
    """Return the perpendicular distance of points (..., 3) from the endless line through `start` along `along`."""
    return measure_length(remove_along(points - start, along))


def turn_about_vertical(vectors: Array, angle_deg: Array) -> Array:
    """Return the vectors (..., 3) turned about z, + from x towards y; `angle_deg` broadcasts over the leading axes."""
    turn = np.radians(angle_deg)
    cosine, sine = np.cos(turn), np.sin(turn)
    x, y, z = vectors[..., 0], vectors[..., 1], vectors[..., 2]
    return np.stack(np.broadcast_arrays(cosine * x - sine * y, sine * x + cosine * y, z), axis=-1)
