"""What the pictures say: residuals between seen and predicted joint centres, robust against outliers."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from elbowroom.core.geometry.splines import build_basis
from elbowroom.core.landmarks.names import JOINTS, Joint
from elbowroom.core.reconstruction.layout import Columns, Layout, locate_joint, read_positions
from elbowroom.core.reconstruction.terms import Term
from elbowroom.core.reconstruction.types import Array, CurveGrid, HandMarks, Projection, ViewedThrow

TAIL = 4.0
"""Degrees of freedom of the Student t that models landmark errors: heavy tails give outliers little weight."""
DEPTH_TIME_S = 0.1
"""Correlation time of the model's depth guess: it errs the same way for a tenth of a second."""
HIPS = (Joint.RIGHT_HIP, Joint.LEFT_HIP)
"""Joints whose middle is the origin of the model's depth."""


FARTHEST_POINTS = 2
"""Sightings whose first control points lie further apart than this count as unrelated, to keep the band narrow."""


@dataclass(frozen=True, kw_only=True)
class Sightings:
    """All usable joint sightings of one view, flattened to r rows, joint by joint in the order of time."""

    joints: NDArray[np.int64]
    """(r,) joint of each row."""
    times_s: Array
    """(r,) time of the joint's own picture row on the clip's clock, plus the view's offset."""
    pixels: Array
    """(r, 2) seen places."""
    whitening: Array
    """(r, 2, 2) whitens a pixel error by the noise."""
    testing: Array
    """(r, 2, 2) whitens a pixel error by noise and standing offset together, for the outlier test."""
    likeness: Array
    """(r,) correlation of a row's noise with that of the row before; 0 where that is another joint or far away."""
    depth_m: Array
    """(r,) the model's depth from the hip centre; not-a-number where a person placed the joint."""


def collect_sightings(view: ViewedThrow, grid: CurveGrid) -> Sightings:
    """Return the usable sightings of a view that lie within the grid: the detector's, then those placed by hand."""
    found = collect_found(view, grid)
    if not len(view.marks.times_s):
        return found
    placed = collect_placed(view.marks, view, grid)
    parts = {name: np.concatenate([value, getattr(placed, name)]) for name, value in vars(found).items()}
    return Sightings(**parts)


def collect_placed(marks: HandMarks, view: ViewedThrow, grid: CurveGrid) -> Sightings:
    """Return what a person placed as sightings of its own.

    It is no outlier however far it lies from the rest (`testing` is zero, and the weight that then follows is taken
    off), and its error has nothing to do with that of any other row.
    """
    times = marks.times_s + view.offset_s + view.camera.row_time_s * marks.pixels[:, 1]
    inside = (times >= grid.knots_s[0]) & (times <= grid.knots_s[-1])
    count = int(np.count_nonzero(inside))
    full_weight = (TAIL + 2.0) / TAIL
    scale = 1.0 / (marks.standard_px[inside] * np.sqrt(full_weight))
    return Sightings(
        joints=marks.joints[inside],
        times_s=times[inside],
        pixels=marks.pixels[inside],
        whitening=scale[:, None, None] * np.eye(2),
        testing=np.zeros((count, 2, 2)),
        likeness=np.zeros(count),
        depth_m=np.full(count, np.nan),
    )


def collect_found(view: ViewedThrow, grid: CurveGrid) -> Sightings:
    """Return the detector's usable sightings of a view that lie within the grid."""
    track = view.track
    times = track.times_s[:, None] + view.offset_s + view.camera.row_time_s * track.pixels[:, :, 1]
    usable = track.seen & (times >= grid.knots_s[0]) & (times <= grid.knots_s[-1])
    usable &= np.isfinite(track.pixels).all(axis=2)
    joints, pictures = np.nonzero(usable.T)
    noise = track.noise_px2[pictures, joints]
    moments = times[pictures, joints]
    return Sightings(
        joints=joints.astype(np.int64),
        times_s=moments,
        pixels=track.pixels[pictures, joints],
        whitening=invert_root(noise),
        testing=invert_root(noise + track.offset_px2[pictures, joints]),
        likeness=estimate_likeness(joints.astype(np.int64), moments, track.noise_time_s, grid),
        depth_m=track.depth_m[pictures, joints],
    )


def estimate_likeness(joints: NDArray[np.int64], times_s: Array, noise_time_s: float, grid: CurveGrid) -> Array:
    """Return the correlation (r,) of each row's noise with the row before: exp(-gap / correlation time).

    Landmark errors wander slowly: neighbouring pictures err alike, so that differences between them are surer than
    places. This is the Ornstein-Uhlenbeck process; whitening it takes each row less the likeness times the one before.
    """
    first, _ = build_basis(grid.knots_s, times_s)
    related = (np.diff(joints) == 0) & (np.abs(np.diff(first)) <= FARTHEST_POINTS)
    likeness = np.exp(-np.maximum(np.diff(times_s), 1e-4) / max(noise_time_s, 1e-4))
    return np.concatenate([[0.0], np.where(related, likeness, 0.0)])


def estimate_widening(times_s: Array, noise_time_s: float) -> Array:
    """Return by how much a picture's variance is widened, (n,), where errors stay alike for `noise_time_s`."""
    if len(times_s) < 2:
        return np.ones(len(times_s))
    spacing = np.gradient(times_s)
    return np.maximum(1.0, noise_time_s / np.maximum(spacing, 1e-6))


def invert_root(covariance: Array) -> Array:
    """Return W with W^T W = covariance^-1 for covariances (r, 2, 2)."""
    lower = np.linalg.cholesky(covariance)
    inverse: Array = np.linalg.inv(lower)
    return inverse


def build_sighting_term(
    sightings: Sightings,
    view: ViewedThrow,
    index: int,
    layout: Layout,
    grid: CurveGrid,
    state: tuple[Array, Projection],
) -> Term:
    """Return the whitened, robustly weighted residuals (2r,) of view `index` at `state` = (unknowns, projection).

    Columns: 12 control-point unknowns, 12 of the row before, the view's clock, the whitened camera parameters: 13
    of its own, or those that all cameras share.
    """
    unknowns, project = state
    times = sightings.times_s + unknowns[layout.clocks + index]
    columns, values = locate_joint(grid, sightings.joints, times)
    points = read_positions(unknowns, columns, values)
    pixels, by_point, by_camera = project(view.camera, points)
    root = view.camera.shared if layout.modes else compute_covariance_root(view.camera.covariance)
    cameras = layout.locate_camera(index)
    by_camera = by_camera @ root
    errors = pixels - sightings.pixels + by_camera @ unknowns[cameras]
    velocity = read_positions(unknowns, columns, build_basis(grid.knots_s, times, derivative=1)[1])
    by_curve = (by_point[:, :, None, :] * values[:, None, :, None]).reshape(len(times), 2, -1)
    by_border = np.concatenate([by_point @ velocity[:, :, None], by_camera], axis=2)
    whitening = sightings.whitening * np.sqrt(estimate_weights(sightings, errors))[:, None, None]
    spread = (columns[:, :, None] + np.arange(3)).reshape(len(times), -1)
    border = np.broadcast_to(np.concatenate([[layout.clocks + index], cameras]), (len(times), 1 + len(cameras)))
    return take_likeness(
        select_near(sightings.likeness, columns),
        np.concatenate([spread, np.roll(spread, 1, axis=0), border], axis=1),
        (whitening @ by_curve, whitening @ by_border, (whitening @ errors[:, :, None])[:, :, 0]),
    )


def select_near(likeness: Array, columns: Columns) -> Array:
    """Return the likeness (r,) with zero where a row's control points have moved too far from the row before's.

    The estimated clock moves all rows along the knots, so that neighbours at the start need not stay neighbours.
    """
    points = columns[:, 0] // (3 * JOINTS)
    is_near = np.abs(np.diff(points, prepend=points[:1])) <= FARTHEST_POINTS
    return np.where(is_near, likeness, 0.0)


def take_likeness(likeness: Array, columns: Columns, whitened: tuple[Array, Array, Array]) -> Term:
    """Return residuals (2r,) of which each is what its row does not share with the row before.

    `whitened` = derivatives by the curve (r, 2, 12), by the border (r, 2, 14), residuals (r, 2), in noise units.
    """
    by_curve, by_border, residuals = whitened
    alike, scale = likeness[:, None, None], 1.0 / np.sqrt(1.0 - likeness**2)[:, None, None]
    slopes = np.concatenate(
        [by_curve, -alike * np.roll(by_curve, 1, axis=0), by_border - alike * np.roll(by_border, 1, axis=0)], axis=2
    )
    remaining = (residuals - likeness[:, None] * np.roll(residuals, 1, axis=0)) * scale[:, :, 0]
    return Term(
        columns=np.repeat(columns, 2, axis=0),
        slopes=(slopes * scale).reshape(-1, columns.shape[1]),
        residuals=remaining.reshape(-1),
    )


def estimate_weights(sightings: Sightings, errors: Array) -> Array:
    """Return the Student-t weight of every sighting, (r,); 1.5 for a perfect one, near 0 for an outlier."""
    tested = (sightings.testing @ errors[:, :, None])[:, :, 0]
    squared = np.nan_to_num(np.sum(tested**2, axis=1), nan=1e6)
    weights: Array = (TAIL + 2.0) / (TAIL + squared)
    return weights


def compute_covariance_root(covariance: Array) -> Array:
    """Return R with R R^T = covariance, also where some parameters are known exactly."""
    values, vectors = np.linalg.eigh((covariance + covariance.T) / 2)
    root: Array = vectors * np.sqrt(np.maximum(values, 0.0))
    return root


def build_depth_term(sightings: Sightings, view: ViewedThrow, layout: Layout, grid: CurveGrid, unknowns: Array) -> Term:
    """Return residuals of the model's depth guess, joint against hip centre along the camera axis, (r,)."""
    axis = view.camera.rotation[2]
    guessed = np.isfinite(sightings.depth_m)
    count = int(np.count_nonzero(guessed))
    parts = [(sightings.joints[guessed], 1.0)] + [(np.full(count, hip), -0.5) for hip in HIPS]
    columns, slopes, depth = [], [], np.zeros(count)
    standard = view.track.depth_standard_m * np.sqrt(
        max(1.0, float(np.median(estimate_widening(view.track.times_s, DEPTH_TIME_S))))
    )
    for joints, share in parts:
        places, values = locate_joint(grid, np.asarray(joints, dtype=np.int64), sightings.times_s[guessed])
        depth += share * read_positions(unknowns, places, values) @ axis
        columns.append((places[:, :, None] + np.arange(3)).reshape(count, -1))
        slopes.append((share * values[:, :, None] * axis).reshape(count, -1))
    return Term(
        columns=np.concatenate(columns, axis=1),
        slopes=np.concatenate(slopes, axis=1) / standard,
        residuals=(depth - sightings.depth_m[guessed]) / standard,
    )
