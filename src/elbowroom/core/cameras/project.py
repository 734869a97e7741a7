"""Where a camera shows points, and how that changes with the points and with the camera.

Lens model: pinhole with k1, k2, p1, p2 as OpenCV documents it for `projectPoints`
(x_d = x (1 + k1 r2 + k2 r4) + 2 p1 x y + p2 (r2 + 2 x2), y_d likewise with p1 and p2 exchanged).
"""

from __future__ import annotations

import numpy as np

from elbowroom.core.cameras.types import CAMERA_PARAMETERS, Array, Camera, Lens

NEAREST_DEPTH_M = 1e-3
"""Points nearer to the picture plane than this, or behind it, have no picture: their pixels are NaN."""


def project_points(camera: Camera, points: Array) -> Array:
    """Return the pixels (..., 2) of the points (..., 3), metres in the field frame.

    Points behind the camera have no picture: their pixels are NaN.
    """
    placed = points @ camera.rotation.T + camera.translation
    return project_normalised(camera.lens, flatten_depth(placed))


def project_normalised(lens: Lens, flat: Array) -> Array:
    """Return the pixels (..., 2) of directions (..., 2) given as x/z and y/z in the camera frame."""
    k1, k2, p1, p2 = lens.distortion
    x, y = flat[..., 0], flat[..., 1]
    r2 = x * x + y * y
    radial = 1.0 + r2 * (k1 + k2 * r2)
    pixels = np.empty(flat.shape)
    pixels[..., 0] = lens.focal_px * (x * radial + 2 * p1 * x * y + p2 * (r2 + 2 * x * x)) + lens.centre_px[0]
    pixels[..., 1] = lens.focal_px * (y * radial + p1 * (r2 + 2 * y * y) + 2 * p2 * x * y) + lens.centre_px[1]
    return pixels


def flatten_depth(placed: Array) -> Array:
    """Return x/z and y/z (..., 2) of points (..., 3) in the camera frame; NaN for points behind it."""
    depth = np.where(placed[..., 2] > NEAREST_DEPTH_M, placed[..., 2], np.nan)
    flat: Array = placed[..., :2] / depth[..., None]
    return flat


def project_with_jacobian(camera: Camera, points: Array) -> tuple[Array, Array, Array]:
    """Return the pixels of `points` (n, 3) with their derivatives.

    Pixels (n, 2); derivative by the point (n, 2, 3) in px/m; derivative by the camera (n, 2, 13) in the order
    of `Camera.covariance`: focal, cx, cy, k1, k2, p1, p2, rotation vector on the left of the rotation,
    translation. Rows of points behind the camera are NaN.
    """
    turned = points @ camera.rotation.T
    placed = turned + camera.translation
    flat = flatten_depth(placed)
    by_flat, by_lens = derive_lens(camera.lens, flat)
    by_placed = derive_placed(by_flat, flat, placed[:, 2])
    by_camera = np.empty((len(points), 2, CAMERA_PARAMETERS))
    by_camera[:, :, :7] = by_lens
    by_camera[:, :, 7:10] = np.cross(turned[:, None, :], by_placed)
    by_camera[:, :, 10:] = by_placed
    return project_normalised(camera.lens, flat), by_placed @ camera.rotation, by_camera


def derive_lens(lens: Lens, flat: Array) -> tuple[Array, Array]:
    """Return the derivative of pixels by direction (n, 2, 2) and by the seven lens parameters (n, 2, 7)."""
    k1, k2, p1, p2 = lens.distortion
    x, y = flat[:, 0], flat[:, 1]
    r2 = x * x + y * y
    radial = 1.0 + r2 * (k1 + k2 * r2)
    slope = 2 * k1 + 4 * k2 * r2
    cross = x * y * slope + 2 * (p1 * x + p2 * y)
    by_flat = np.empty((len(flat), 2, 2))
    by_flat[:, 0, 0] = radial + x * x * slope + 2 * p1 * y + 6 * p2 * x
    by_flat[:, 1, 1] = radial + y * y * slope + 6 * p1 * y + 2 * p2 * x
    by_flat[:, 0, 1] = by_flat[:, 1, 0] = cross
    by_lens = np.zeros((len(flat), 2, 7))
    by_lens[:, 0, 0] = x * radial + 2 * p1 * x * y + p2 * (r2 + 2 * x * x)
    by_lens[:, 1, 0] = y * radial + p1 * (r2 + 2 * y * y) + 2 * p2 * x * y
    by_lens[:, 0, 1] = by_lens[:, 1, 2] = 1.0
    by_lens[:, :, 3] = lens.focal_px * flat * r2[:, None]
    by_lens[:, :, 4] = lens.focal_px * flat * (r2 * r2)[:, None]
    by_lens[:, 0, 5] = by_lens[:, 1, 6] = lens.focal_px * 2 * x * y
    by_lens[:, 1, 5] = lens.focal_px * (r2 + 2 * y * y)
    by_lens[:, 0, 6] = lens.focal_px * (r2 + 2 * x * x)
    return by_flat * lens.focal_px, by_lens


def derive_placed(by_flat: Array, flat: Array, depth: Array) -> Array:
    """Return the derivative of pixels by the point in the camera frame (n, 2, 3), chained over x/z, y/z."""
    by_placed = np.empty((len(flat), 2, 3))
    by_placed[:, :, :2] = by_flat
    by_placed[:, :, 2] = -(by_flat @ flat[:, :, None])[:, :, 0]
    by_placed /= depth[:, None, None]
    return by_placed
