"""The residuals of the reconstruction, whitened, with analytic derivatives."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from elbowroom.core.cameras.types import CAMERA_PARAMETERS
from elbowroom.core.geometry.splines import DEGREE, build_basis
from elbowroom.core.landmarks.names import JOINTS, Joint
from elbowroom.core.reconstruction.layout import (
    POINT,
    Columns,
    Layout,
    locate_joint,
    read_positions,
)
from elbowroom.core.reconstruction.types import Array, BodyPriors, CurveGrid

JERK_TIME_S = 0.03
"""Correlation time of the jerk that the smoothness prior allows."""
SLOW_JERK_M_S3 = 800.0
"""Usual jerk of trunk and legs; chosen on captured and rendered throws, common practice gives no figure."""
FAST_JERK_M_S3 = {
    Joint.HEAD: 1500.0,
    Joint.RIGHT_HAND: 20000.0,
    Joint.RIGHT_WRIST: 14000.0,
    Joint.RIGHT_ELBOW: 7000.0,
    Joint.RIGHT_SHOULDER: 2500.0,
    Joint.LEFT_SHOULDER: 2500.0,
    Joint.LEFT_ELBOW: 2500.0,
    Joint.LEFT_WRIST: 3000.0,
    Joint.LEFT_HAND: 3500.0,
    Joint.RIGHT_HIP: 1500.0,
    Joint.LEFT_HIP: 1500.0,
    Joint.RIGHT_KNEE: 2000.0,
    Joint.LEFT_KNEE: 2000.0,
    Joint.RIGHT_ANKLE: 2000.0,
    Joint.RIGHT_HEEL: 2500.0,
    Joint.RIGHT_TOE: 2500.0,
    Joint.LEFT_ANKLE: 7000.0,
    Joint.LEFT_HEEL: 8000.0,
    Joint.LEFT_TOE: 8000.0,
}
"""Usual jerk within the fast part; a 20 m/s hand that gets there in 50 ms has about 15,000 m/s^3, a shoulder that
turns at 20 rad/s within 80 ms about 2,000, a lead foot that stops from 4 m/s within 30 ms about 9,000."""
BONE_STANDARD_M = 0.015
"""How far a bone's ends may seem to move against each other, since landmarks are not joint centres."""
GROUND_STANDARD_M = 0.01
"""How far a foot point may seem to sink into the ground."""
HELD = 1e3
"""Clocks and cameras are held this many times harder than they are known: landmarks err alike in neighbouring pictures
and would pull them off; their uncertainty reaches the result through the shared modes, which undo this factor."""
STANCE_STANDARD_M = 0.05
"""How far the lower toe may seem to be off the ground; wide, since the throw has moments without a flat foot."""
TOE_HEIGHT_M = 0.03
"""Usual height of the toe point above the ground."""
FEET = (Joint.RIGHT_HEEL, Joint.RIGHT_TOE, Joint.LEFT_HEEL, Joint.LEFT_TOE)
"""Points that cannot be below the ground."""


@dataclass(frozen=True, kw_only=True)
class Term:
    """Whitened residuals with the columns and derivatives of the unknowns they depend on."""

    columns: Columns
    """(r, k) unknowns of each residual."""
    slopes: Array
    """(r, k) derivative of each residual by those unknowns."""
    residuals: Array
    """(r,) residuals in standard deviations."""


def build_jerk_term(grid: CurveGrid, layout: Layout, unknowns: Array, throwing_right: bool) -> Term:
    """Return the smoothness residuals: the third derivative on every knot interval against its usual size."""
    breaks = np.unique(grid.knots_s)
    middles, spans = (breaks[1:] + breaks[:-1]) / 2, np.diff(breaks)
    first, values = build_basis(grid.knots_s, middles, derivative=3)
    scale = np.sqrt(spans / JERK_TIME_S)[:, None] / choose_jerks(grid, middles, throwing_right)
    axes = np.arange(POINT)
    columns = (first[:, None, None] + np.arange(DEGREE + 1)) * POINT + axes[None, :, None]
    slopes = values[:, None, :] * np.repeat(scale, 3, axis=1)[:, :, None]
    columns, slopes = columns.reshape(-1, DEGREE + 1), slopes.reshape(-1, DEGREE + 1)
    return Term(columns=columns, slopes=slopes, residuals=np.sum(slopes * unknowns[columns], axis=1))


def choose_jerks(grid: CurveGrid, times_s: Array, throwing_right: bool) -> Array:
    """Return the usual jerk of every joint (n, 19) at each time: larger within the fast part for the fast joints."""
    jerks = np.full((len(times_s), JOINTS), SLOW_JERK_M_S3)
    fast = (times_s >= grid.dense_s[0]) & (times_s <= grid.dense_s[1] + 0.15)
    for joint, jerk in FAST_JERK_M_S3.items():
        name = joint.name if throwing_right else swap_side(joint.name)
        jerks[fast, Joint[name]] = jerk
        jerks[~fast, Joint[name]] = max(SLOW_JERK_M_S3, 0.3 * min(jerk, 6000.0))
    return jerks


def swap_side(name: str) -> str:
    """Return the joint name of the other side."""
    return name.replace("RIGHT", "*").replace("LEFT", "RIGHT").replace("*", "LEFT")


def build_bone_term(grid: CurveGrid, layout: Layout, unknowns: Array, priors: BodyPriors) -> Term:
    """Return residuals that hold every bone at one length at all sites; the lengths are unknowns of the border."""
    parts = [
        build_one_bone(grid, layout, unknowns, np.array([bone.ends[0], bone.ends[1]]), index)
        for index, bone in enumerate(priors.bones)
    ]
    return join_terms(parts)


def build_one_bone(grid: CurveGrid, layout: Layout, unknowns: Array, ends: NDArray[np.int64], index: int) -> Term:
    """Return the residuals of one bone: (distance - length) over its standard deviation, (m,)."""
    count = len(grid.sites_s)
    near_columns, values = locate_joint(grid, np.full(count, ends[0]), grid.sites_s)
    far_columns, _ = locate_joint(grid, np.full(count, ends[1]), grid.sites_s)
    between = read_positions(unknowns, near_columns, values) - read_positions(unknowns, far_columns, values)
    distance = np.maximum(np.linalg.norm(between, axis=1), 1e-6)
    direction = between / distance[:, None]
    slopes = (values[:, :, None] * direction[:, None, :]).reshape(count, -1)
    axes = np.arange(3)
    columns = [
        (near_columns[:, :, None] + axes).reshape(count, -1),
        (far_columns[:, :, None] + axes).reshape(count, -1),
        np.full((count, 1), layout.curve + index),
    ]
    all_slopes = np.concatenate([slopes, -slopes, -np.ones((count, 1))], axis=1)
    length = unknowns[layout.curve + index]
    return Term(
        columns=np.concatenate(columns, axis=1),
        slopes=all_slopes / BONE_STANDARD_M,
        residuals=(distance - length) / BONE_STANDARD_M,
    )


def build_ground_term(grid: CurveGrid, layout: Layout, unknowns: Array, ground_m: float) -> Term:
    """Return residuals for foot points that are below the ground, zero for those above it."""
    count = len(grid.sites_s)
    joints = np.repeat(np.array(FEET), count)
    columns, values = locate_joint(grid, joints, np.tile(grid.sites_s, len(FEET)))
    depth = read_positions(unknowns, columns, values)[:, 2] - ground_m
    below = depth < 0
    return Term(
        columns=columns + 2,
        slopes=np.where(below[:, None], values, 0.0) / GROUND_STANDARD_M,
        residuals=np.where(below, depth, 0.0) / GROUND_STANDARD_M,
    )


def build_stance_term(grid: CurveGrid, layout: Layout, unknowns: Array, ground_m: float) -> Term:
    """Return residuals (m,) that keep the lower toe near the ground: it tells one view how far the athlete is."""
    count = len(grid.sites_s)
    places = [locate_joint(grid, np.full(count, joint), grid.sites_s) for joint in (Joint.RIGHT_TOE, Joint.LEFT_TOE)]
    heights = np.stack([read_positions(unknowns, columns, values)[:, 2] for columns, values in places])
    lower, rows = np.argmin(heights, axis=0), np.arange(count)
    columns = np.stack([columns for columns, _ in places])[lower, rows]
    values = np.stack([values for _, values in places])[lower, rows]
    return Term(
        columns=columns + 2,
        slopes=values / STANCE_STANDARD_M,
        residuals=(heights[lower, rows] - ground_m - TOE_HEIGHT_M) / STANCE_STANDARD_M,
    )


def build_prior_term(layout: Layout, unknowns: Array, priors: BodyPriors, clocks_s: Array) -> Term:
    """Return the residuals of the border: bone lengths, clocks ((v,) standard uncertainties) and cameras."""
    means = np.zeros(layout.size - layout.curve)
    standards = np.ones(layout.size - layout.curve)
    means[: layout.bones] = [bone.length_m for bone in priors.bones]
    standards[: layout.bones] = [bone.standard_m for bone in priors.bones]
    standards[layout.bones : layout.bones + layout.views] = np.maximum(clocks_s, 1e-6)
    standards[layout.bones :] /= HELD
    columns = np.arange(layout.curve, layout.size)
    return Term(
        columns=columns[:, None],
        slopes=1.0 / standards[:, None],
        residuals=(unknowns[layout.curve :] - means) / standards,
    )


def join_terms(terms: list[Term]) -> Term:
    """Return several terms of the same width as one."""
    return Term(
        columns=np.concatenate([term.columns for term in terms]),
        slopes=np.concatenate([term.slopes for term in terms]),
        residuals=np.concatenate([term.residuals for term in terms]),
    )


__all__ = ["CAMERA_PARAMETERS", "Term"]
