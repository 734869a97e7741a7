"""Curves smoothed a little more: how far the loads hang on that choice."""

from __future__ import annotations

import numpy as np

from elbowroom.core.geometry.splines import DEGREE, build_basis
from elbowroom.core.loads.types import Array
from elbowroom.core.reconstruction.types import Curves

FINE = 6
"""Sample points in each knot interval for the integrals."""


def smooth_curves(curves: Curves, cuts_hz: Array) -> Curves:
    """Return the first draw as it is, then once for every cut-off frequency (k,) Hz, smoothed.

    A smoothed spline f of c keeps the knots and makes the integral of (f - c)^2 + (2 pi cut)^-6 f'''^2 least. Its
    gain is 1 / (1 + (frequency / cut)^6), that of a third-order Butterworth filter run forwards and backwards.
    """
    knots = curves.knots_s
    breaks = np.unique(knots)
    shares = (np.arange(FINE) + 0.5) / FINE
    times = (breaks[:-1, None] + np.diff(breaks)[:, None] * shares).ravel()
    widths = np.repeat(np.diff(breaks) / FINE, FINE)
    kept, bent = (_build_gram(knots, times, widths, order) for order in (0, DEGREE))
    weights = (2.0 * np.pi * cuts_hz) ** -6.0
    first = curves.coefficients_m[0]
    smoothed = np.linalg.solve(kept + weights[:, None, None] * bent, (kept @ first.reshape(len(first), -1))[None])
    return Curves(
        knots_s=knots, coefficients_m=np.concatenate([first[None], smoothed.reshape(len(cuts_hz), *first.shape)])
    )


def _build_gram(knots_s: Array, times_s: Array, widths_s: Array, order: int) -> Array:
    """Return the integrals (m, m) of products of the basis functions' derivatives of an order."""
    first, values = build_basis(knots_s, times_s, order)
    basis = np.zeros((len(times_s), len(knots_s) - DEGREE - 1))
    for column in range(DEGREE + 1):
        basis[np.arange(len(times_s)), first + column] = values[:, column]
    return np.asarray(basis.T @ (widths_s[:, None] * basis))
