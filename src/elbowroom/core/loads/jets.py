"""Vectors with their first and second time derivatives, over many draws and times at once.

A jet is an array (3, 3, ...): order of the derivative first, then x, y, z, then any draws and times. The components
stand first because that keeps each of them in one piece of memory, which is what makes the loads fast.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


def compute_cross(first: Array, second: Array) -> Array:
    """Return the cross product of vectors (3, ...) and (3, ...) that share all further axes."""
    result = np.empty(np.broadcast_shapes(first.shape, second.shape))
    less = np.empty(result.shape[1:])
    for place, (one, two) in enumerate(((1, 2), (2, 0), (0, 1))):
        np.multiply(first[one], second[two], out=result[place])
        np.multiply(first[two], second[one], out=less)
        result[place] -= less
    return result


def compute_inner(first: Array, second: Array) -> Array:
    """Return the inner product of vectors (3, ...) and (3, ...) -> (...)."""
    result = np.asarray(first[0] * second[0])
    more = np.asarray(first[1] * second[1])
    result += more
    np.multiply(first[2], second[2], out=more)
    result += more
    return result


def normalise_jet(jet: Array) -> Array:
    """Return the jet of the unit vector along a jet of vectors (3, 3, ...)."""
    result = np.empty_like(jet)
    length = np.sqrt(compute_inner(jet[0], jet[0]))
    inverse = 1.0 / length
    np.multiply(jet[0], inverse, out=result[0])
    growth = compute_inner(result[0], jet[1])
    result[1] = (jet[1] - growth * result[0]) * inverse
    bend = compute_inner(result[0], jet[2]) + length * compute_inner(result[1], result[1])
    result[2] = (jet[2] - bend * result[0] - 2.0 * growth * result[1]) * inverse
    return result


def compute_cross_jet(first: Array, second: Array) -> Array:
    """Return the jet of the cross product of two jets."""
    result = np.empty(np.broadcast_shapes(first.shape, second.shape))
    result[0] = compute_cross(first[0], second[0])
    result[1] = compute_cross(first[1], second[0])
    result[1] += compute_cross(first[0], second[1])
    result[2] = compute_cross(first[2], second[0])
    result[2] += compute_cross(first[0], second[2])
    result[2] += 2.0 * compute_cross(first[1], second[1])
    return result


def scale_jet(scalar: Array, jet: Array) -> Array:
    """Return the jet of a number (3, ...) times the jet of a vector (3, 3, ...)."""
    return np.stack(
        [
            scalar[0] * jet[0],
            scalar[1] * jet[0] + scalar[0] * jet[1],
            scalar[2] * jet[0] + 2.0 * scalar[1] * jet[1] + scalar[0] * jet[2],
        ]
    )


def compute_inner_jet(first: Array, second: Array) -> Array:
    """Return the jet (3, ...) of the inner product of two jets of vectors."""
    return np.stack(
        [
            compute_inner(first[0], second[0]),
            compute_inner(first[1], second[0]) + compute_inner(first[0], second[1]),
            compute_inner(first[2], second[0])
            + 2.0 * compute_inner(first[1], second[1])
            + compute_inner(first[0], second[2]),
        ]
    )


def turn_jet(jet: Array, axis: Array, angle: Array) -> Array:
    """Return a jet of vectors turned about the jet of a unit axis by the jet (3, ...) of an angle in radians.

    Rodrigues: v cos + (a x v) sin + a (a . v) (1 - cos).
    """
    cosine, sine = np.cos(angle[0]), np.sin(angle[0])
    rate, gain = angle[1], angle[2]
    cosines = np.stack([cosine, -sine * rate, -cosine * rate**2 - sine * gain])
    sines = np.stack([sine, cosine * rate, -sine * rate**2 + cosine * gain])
    rest = np.stack([1.0 - cosines[0], -cosines[1], -cosines[2]])
    along = scale_jet(compute_inner_jet(axis, jet), axis)
    return np.asarray(scale_jet(cosines, jet) + scale_jet(sines, compute_cross_jet(axis, jet)) + scale_jet(rest, along))
