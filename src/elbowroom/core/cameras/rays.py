"""From pixels back to directions and rays."""

from __future__ import annotations

import numpy as np

from elbowroom.core.cameras.project import derive_lens, project_normalised
from elbowroom.core.cameras.types import Array, Camera, Lens

NEWTON_STEPS = 12
"""Newton steps for undistortion; phone lenses need four."""

LARGEST_MISS_PX = 1e-3
"""A pixel whose undistortion misses by more than this lies where the lens model folds over: it gets NaN."""


def undistort_pixels(lens: Lens, pixels: Array) -> Array:
    """Return the directions x/z, y/z (n, 2) in the camera frame that the lens shows at `pixels` (n, 2).

    Newton's method on the lens model; NaN where the model has no such direction. The model of OpenCV has no
    closed inverse, see `undistortPoints` in its documentation.
    """
    centre = np.asarray(lens.centre_px)
    flat = (np.asarray(pixels, float) - centre) / lens.focal_px
    for _ in range(NEWTON_STEPS):
        missing = project_normalised(lens, flat) - pixels
        flat = flat - solve_pairs(derive_lens(lens, flat)[0], missing)
    missed = np.linalg.norm(project_normalised(lens, flat) - pixels, axis=1)
    found: Array = np.where(missed[:, None] < LARGEST_MISS_PX, flat, np.nan)
    return found


def solve_pairs(matrices: Array, right: Array) -> Array:
    """Return the solutions (n, 2) of n pairs of equations (n, 2, 2) by Cramer's rule, NaN where singular."""
    determinant = matrices[:, 0, 0] * matrices[:, 1, 1] - matrices[:, 0, 1] * matrices[:, 1, 0]
    determinant = np.where(np.abs(determinant) > 1e-12, determinant, np.nan)
    solution = np.empty(right.shape)
    solution[:, 0] = matrices[:, 1, 1] * right[:, 0] - matrices[:, 0, 1] * right[:, 1]
    solution[:, 1] = matrices[:, 0, 0] * right[:, 1] - matrices[:, 1, 0] * right[:, 0]
    return solution / determinant[:, None]


def project_back(camera: Camera, pixels: Array) -> Array:
    """Return unit directions (n, 3) in the field frame, from `camera.place` to what `pixels` (n, 2) show."""
    flat = undistort_pixels(camera.lens, pixels)
    directions = np.column_stack([flat, np.ones(len(flat))]) @ camera.rotation
    unit: Array = directions / np.linalg.norm(directions, axis=1, keepdims=True)
    return unit
