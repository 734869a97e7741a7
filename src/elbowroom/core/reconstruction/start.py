"""Where the search starts: all curves at once from linear equations of the viewing directions."""

from __future__ import annotations

import numpy as np

from elbowroom.core.landmarks.names import Joint
from elbowroom.core.reconstruction.layout import Layout, locate_joint, read_positions
from elbowroom.core.reconstruction.normal import build_system, factor_system
from elbowroom.core.reconstruction.sightings import TAIL
from elbowroom.core.reconstruction.terms import Term, build_jerk_term
from elbowroom.core.reconstruction.types import Array, BodyPriors, CurveGrid, ViewedThrow

ROUNDS = 5
"""Rounds of reweighting; the weights settle in three to four on rendered throws."""
START_STANDARD_PX = 12.0
"""Landmark error assumed at the start, pixels."""
DISTANCE_STANDARD_M = {1: 0.6, 2: 3.0, 3: 3.0, 4: 3.0}
"""How well the distance from camera to athlete is guessed from the feet on the ground, by number of views."""
ANKLE_HEIGHT_M = 0.08
"""Usual height of the ankle joint above the ground when standing."""


def estimate_start(
    views: tuple[ViewedThrow, ...], grid: CurveGrid, layout: Layout, priors: BodyPriors, throwing_right: bool
) -> Array:
    """Return the starting vector of unknowns: curves from linear equations, prior bones, no clock or camera change."""
    unknowns = np.zeros(layout.size)
    unknowns[layout.curve : layout.clocks] = [bone.length_m for bone in priors.bones]
    weights = [np.ones(view.track.seen.shape) for view in views]
    pinned = pin_border(layout)
    for _ in range(ROUNDS):
        terms = [
            build_direction_term(view, weight, grid, unknowns) for view, weight in zip(views, weights, strict=True)
        ]
        distances = [
            build_distance_term(view, grid, layout, unknowns, (priors.ground_height_m, len(views))) for view in views
        ]
        smooth = build_jerk_term(grid, layout, unknowns, throwing_right)
        step = factor_system(*build_system([*terms, *distances, smooth, pinned], layout), layout).step
        unknowns[: layout.curve] += step[: layout.curve]
        weights = [estimate_start_weights(view, grid, unknowns) for view in views]
    return unknowns


def pin_border(layout: Layout) -> Term:
    """Return residuals that hold all border unknowns where they are."""
    count = layout.size - layout.curve
    columns = np.arange(layout.curve, layout.size)[:, None]
    return Term(columns=columns, slopes=np.full((count, 1), 1e3), residuals=np.zeros(count))


def build_direction_term(view: ViewedThrow, weights: Array, grid: CurveGrid, unknowns: Array) -> Term:
    """Return residuals (2r,) that are zero where a joint lies on its viewing ray; linear in the control points."""
    pictures, joints = np.nonzero(view.track.seen & np.isfinite(view.flat).all(axis=2))
    columns, values = locate_joint(grid, joints, view.track.times_s[pictures] + view.offset_s)
    flat = view.flat[pictures, joints]
    rotation, translation = view.camera.rotation, view.camera.translation
    rays = rotation[:2] - flat[:, :, None] * rotation[2]
    distance = float(np.linalg.norm(view.camera.place))
    scale = view.camera.lens.focal_px / (START_STANDARD_PX * distance) * np.sqrt(weights[pictures, joints])
    points = read_positions(unknowns, columns, values)
    errors = np.einsum("rak,rk->ra", rays, points) + translation[:2] - flat * translation[2]
    slopes = (rays[:, :, None, :] * values[:, None, :, None]).reshape(len(joints), 2, -1)
    spread = (columns[:, :, None] + np.arange(3)).reshape(len(joints), -1)
    return Term(
        columns=np.repeat(spread, 2, axis=0),
        slopes=(slopes * scale[:, None, None]).reshape(-1, spread.shape[1]),
        residuals=(errors * scale[:, None]).reshape(-1),
    )


def estimate_start_weights(view: ViewedThrow, grid: CurveGrid, unknowns: Array) -> Array:
    """Return Student-t weights (n, 19) from the distance of each joint to its ray, in pixels."""
    pictures, joints = np.nonzero(np.ones(view.track.seen.shape, dtype=bool))
    columns, values = locate_joint(grid, joints, view.track.times_s[pictures] + view.offset_s)
    placed = read_positions(unknowns, columns, values) @ view.camera.rotation.T + view.camera.translation
    flat = placed[:, :2] / np.maximum(placed[:, 2:], 0.1)
    errors = (flat - view.flat[pictures, joints]) * view.camera.lens.focal_px / START_STANDARD_PX
    squared = np.nan_to_num(np.sum(errors**2, axis=1), nan=1e6)
    weights: Array = ((TAIL + 2.0) / (TAIL + squared)).reshape(view.track.seen.shape)
    return weights


def estimate_distance_m(view: ViewedThrow, ground_m: float) -> float:
    """Return the depth of the athlete along the camera axis from the ankles' rays met with the ground, metres."""
    ankles = view.flat[:, [Joint.RIGHT_ANKLE, Joint.LEFT_ANKLE]].reshape(-1, 2)
    rays = np.column_stack([ankles, np.ones(len(ankles))]) @ view.camera.rotation
    drop = ground_m + ANKLE_HEIGHT_M - view.camera.place[2]
    falling = np.isfinite(rays).all(axis=1) & (rays[:, 2] * drop > 1e-3)
    if not falling.any():
        return float(np.linalg.norm(view.camera.place))
    return float(np.median(drop / rays[falling, 2]))


def build_distance_term(
    view: ViewedThrow, grid: CurveGrid, layout: Layout, unknowns: Array, place: tuple[float, int]
) -> Term:
    """Return weak residuals that keep all joints near the athlete's depth; `place` = (ground height, views)."""
    ground_m, views = place
    count = len(grid.sites_s)
    joints = np.repeat(np.arange(len(Joint)), count)
    columns, values = locate_joint(grid, joints, np.tile(grid.sites_s, len(Joint)))
    axis, shift = view.camera.rotation[2], view.camera.translation[2]
    standard = DISTANCE_STANDARD_M[min(views, max(DISTANCE_STANDARD_M))]
    depth = read_positions(unknowns, columns, values) @ axis + shift
    return Term(
        columns=(columns[:, :, None] + np.arange(3)).reshape(len(joints), -1),
        slopes=(values[:, :, None] * axis).reshape(len(joints), -1) / standard,
        residuals=(depth - estimate_distance_m(view, ground_m)) / standard,
    )
