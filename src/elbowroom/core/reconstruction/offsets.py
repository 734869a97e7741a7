"""What the standing landmark-to-joint offsets do to the curves: one mode a joint and axis."""

from __future__ import annotations

import numpy as np

from elbowroom.core.geometry.splines import evaluate_curves
from elbowroom.core.landmarks.names import JOINTS
from elbowroom.core.reconstruction.types import Array, CurveGrid, ViewedThrow

LARGEST_OFFSET_M = 0.05
"""Prior standard deviation of a landmark's offset from the joint centre in space, metres."""
LARGEST_DEPTH_M = 0.25
"""Prior standard deviation along the camera axis where one view alone sees the body: two to three times what remained
on a captured pitch reprojected into one view."""


def build_offset_modes(views: tuple[ViewedThrow, ...], grid: CurveGrid, coefficients: Array) -> Array:
    """Return modes (57, m, 19, 3): the shift of the control points for one standard deviation of each offset.

    The offset of a joint moves with the body, slowly against the picture rate, so that at each site its covariance is
    what the views' remaining offset covariances leave together with a prior of 5 cm (25 cm for one view alone, whose
    depth nothing else holds); a mode is one column of the root of that covariance at all sites.
    """
    places = evaluate_curves(grid.knots_s, coefficients[None], grid.sites_s)[0]
    largest = LARGEST_DEPTH_M if len(views) == 1 else LARGEST_OFFSET_M
    information = np.broadcast_to(np.eye(3) / largest**2, (*places.shape[:2], 3, 3)).copy()
    for view in views:
        information += estimate_view_information(view, grid, places)
    roots = compute_symmetric_root(np.linalg.inv(information).astype(np.float64))
    modes = np.zeros((JOINTS, 3, *places.shape))
    for joint in range(JOINTS):
        modes[joint, :, :, joint] = np.moveaxis(roots[:, joint], 2, 0)
    return modes.reshape(-1, *places.shape)


def compute_symmetric_root(covariance: Array) -> Array:
    """Return the symmetric root of covariances (..., 3, 3); it changes smoothly where they do."""
    values, vectors = np.linalg.eigh(covariance)
    root: Array = (vectors * np.sqrt(np.maximum(values, 0.0))[..., None, :]) @ np.swapaxes(vectors, -1, -2)
    return root


def estimate_view_information(view: ViewedThrow, grid: CurveGrid, places: Array) -> Array:
    """Return one view's information (m, 19, 3, 3) on a joint's offset in space, 1/m^2, from its pinhole derivative."""
    rotation = view.camera.rotation
    placed = places @ rotation.T + view.camera.translation
    depth = np.maximum(placed[..., 2], 0.1)
    slopes = np.zeros((*places.shape[:2], 2, 3))
    slopes[..., 0, 0] = slopes[..., 1, 1] = 1.0 / depth
    slopes[..., 0, 2] = -placed[..., 0] / depth**2
    slopes[..., 1, 2] = -placed[..., 1] / depth**2
    slopes = view.camera.lens.focal_px * slopes @ rotation
    offsets = choose_offsets(view, grid.sites_s)
    information: Array = np.swapaxes(slopes, -1, -2) @ np.linalg.inv(offsets) @ slopes
    return information


def choose_offsets(view: ViewedThrow, sites_s: Array) -> Array:
    """Return the offset covariance (m, 19, 2, 2) of the picture nearest in time to each site."""
    clock = view.track.times_s + view.offset_s
    after = np.clip(np.searchsorted(clock, sites_s), 1, max(len(clock) - 1, 1))
    nearest = np.where(
        sites_s - clock[after - 1] < clock[np.minimum(after, len(clock) - 1)] - sites_s, after - 1, after
    )
    chosen: Array = view.track.offset_px2[np.clip(nearest, 0, len(clock) - 1)]
    return chosen
