"""Cubic B-splines on a clamped knot vector: basis, evaluation and derivatives, for one curve or many draws."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import BSpline

Array = NDArray[np.float64]

DEGREE = 3
"""Degree of the splines."""


def build_knots(breaks_s: Array) -> Array:
    """Return the clamped knot vector (k + 6,) for increasing break points (k,) in seconds."""
    return np.concatenate([np.repeat(breaks_s[:1], DEGREE), breaks_s, np.repeat(breaks_s[-1:], DEGREE)])


def build_basis(knots_s: Array, times_s: Array, derivative: int = 0) -> tuple[NDArray[np.int64], Array]:
    """Return for each time (n,) the first control point it depends on (n,) and the four basis values (n, 4).

    `derivative` is the order of the time derivative, 0 to 3 (unit 1/s per order). Times outside are held at the ends.
    """
    times = np.clip(times_s, knots_s[0], knots_s[-1])
    last = len(knots_s) - DEGREE - 2
    first = np.clip(np.searchsorted(knots_s, times, side="right") - 1, DEGREE, last) - DEGREE
    values = np.empty((len(times), DEGREE + 1))
    spline = BSpline(knots_s, np.eye(len(knots_s) - DEGREE - 1), DEGREE)
    dense = spline(times, nu=derivative)
    for column in range(DEGREE + 1):
        values[:, column] = dense[np.arange(len(times)), first + column]
    return first.astype(np.int64), values


def evaluate_curves(knots_s: Array, coefficients: Array, times_s: Array, derivative: int = 0) -> Array:
    """Return the curves of every draw at the same times: (s, m, ...) control points -> (s, n, ...)."""
    spline = BSpline(knots_s, np.moveaxis(coefficients, 1, 0), DEGREE)
    return np.moveaxis(spline(np.clip(times_s, knots_s[0], knots_s[-1]), nu=derivative), 0, 1)


def evaluate_each(knots_s: Array, coefficients: Array, times_s: Array, derivative: int = 0) -> Array:
    """Return each draw's curves at its own time: (s, m, ...) control points, (s,) times -> (s, ...)."""
    first, values = build_basis(knots_s, times_s, derivative)
    rows = np.arange(len(times_s))[:, None]
    picked = coefficients[rows, first[:, None] + np.arange(DEGREE + 1)]
    result: Array = np.einsum("sk,sk...->s...", values, picked)
    return result
