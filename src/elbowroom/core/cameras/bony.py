"""A pair of cameras refined on two things at once: lines of sight that meet, and bones that keep their length."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import least_squares
from scipy.spatial.transform import Rotation

from elbowroom.core.cameras.relative import Matches, RelativePose, measure_distances
from elbowroom.core.cameras.types import Array

LENGTH_SPREAD = 0.15
"""Usual relative scatter of a bone's length from landmarks of one moment; chosen on rendered throws."""
SHARE_SPREAD = 0.08
"""Relative spread of bones between people of one height; a little wider than the table's."""
FOCAL_SPREAD = 0.08
"""Relative standard uncertainty of an unknown phone's focal length."""
CLOCK_SPREAD_S = 0.02
"""How far the clock may be from where a pair starts, seconds."""
MOST_EVALUATIONS = 40
"""Most evaluations of one refinement."""
Indices = NDArray[np.int64]


@dataclass(frozen=True, kw_only=True)
class BonyPair:
    """Matches of two cameras with the bones between them."""

    matches: Matches
    """The matches."""
    rates: Array
    """(n, 2) rate of the second directions, 1/s."""
    ends: Indices
    """(b, 2) numbers of the matches at both ends of a bone at one moment."""
    bones: Indices
    """(b,) number of the bone."""
    expected_m: Array
    """(k,) usual length of each bone for the athlete's height, metres."""


@dataclass(frozen=True, kw_only=True)
class BonyFit:
    """A pair of cameras after the refinement."""

    pose: RelativePose
    """The second camera against the first."""
    focal_ratios: tuple[float, float]
    """Focal length of each camera over what was assumed."""
    shift_s: float
    """Change of the clock, seconds."""
    base_m: float
    """Distance between the cameras that gives the bones their usual length, metres."""
    cost: float
    """Cost of the fit: smaller is better."""


def refine_pair(pair: BonyPair, start: RelativePose) -> BonyFit:
    """Return pose, focal lengths and clock near `start` at which lines of sight meet and bones keep their length.

    Unknowns: a turn on the left of the rotation, the direction of the base, logarithms of both focal lengths over the
    assumed ones, and the clock. Robust least squares (soft L1).
    """

    def compute_residuals(unknowns: Array) -> Array:
        return find_residuals(pair, start, unknowns)

    found = least_squares(
        compute_residuals, np.zeros(9), loss="soft_l1", x_scale=np.array([0.1] * 6 + [0.05, 0.05, 0.01]),
        max_nfev=MOST_EVALUATIONS,
    )  # fmt: skip
    rotation, direction = apply_turn(start, found.x)
    lengths = measure_bones(pair, start, found.x)
    base_m = float(np.exp(np.nanmedian(np.log(pair.expected_m) - average_bones(pair, lengths))))
    distances = measure_distances(build_essential(rotation, direction), shift_matches(pair, found.x))
    return BonyFit(
        pose=RelativePose(
            rotation=rotation, direction=direction, misfit_cost=float(np.mean(np.minimum(np.abs(distances), 3.0)))
        ),
        focal_ratios=(float(np.exp(found.x[6])), float(np.exp(found.x[7]))),
        shift_s=float(found.x[8]),
        base_m=base_m,
        cost=float(found.cost),
    )


def apply_turn(start: RelativePose, unknowns: Array) -> tuple[Array, Array]:
    """Return rotation and unit direction after a change."""
    rotation = Rotation.from_rotvec(unknowns[:3]).as_matrix() @ start.rotation
    direction = start.direction + unknowns[3:6]
    return rotation, direction / max(float(np.linalg.norm(direction)), 1e-9)


def shift_matches(pair: BonyPair, unknowns: Array) -> Matches:
    """Return the matches for the changed focal lengths and clock."""
    first, second = np.exp(-unknowns[6]), np.exp(-unknowns[7])
    return Matches(
        first=pair.matches.first * first,
        second=(pair.matches.second - pair.rates * unknowns[8]) * second,
        standards=pair.matches.standards * np.array([first, second]),
    )


def build_essential(rotation: Array, direction: Array) -> Array:
    """Return the essential matrix (3, 3) of a relative pose."""
    x, y, z = direction
    essential: Array = np.array([[0.0, -z, y], [z, 0.0, -x], [-y, x, 0.0]]) @ rotation
    return essential


def locate_matches(rotation: Array, direction: Array, matches: Matches) -> Array:
    """Return the points (n, 3) in the first camera's frame, the base as unit: where its rays pass the others."""
    one = np.column_stack([matches.first, np.ones(len(matches.first))])
    turned = one @ rotation.T
    other = np.column_stack([matches.second, np.ones(len(matches.second))])
    crossed = np.cross(other, turned)
    depth = -np.sum(crossed * np.cross(other, direction), axis=1) / np.maximum(np.sum(crossed**2, axis=1), 1e-9)
    points: Array = np.clip(depth, 0.05, 50.0)[:, None] * one
    return points


def measure_bones(pair: BonyPair, start: RelativePose, unknowns: Array) -> Array:
    """Return the logarithm of every bone's length (b,), the base as unit."""
    rotation, direction = apply_turn(start, unknowns)
    points = locate_matches(rotation, direction, shift_matches(pair, unknowns))
    between = points[pair.ends[:, 0]] - points[pair.ends[:, 1]]
    lengths: Array = np.log(np.maximum(np.linalg.norm(between, axis=1), 1e-4))
    return lengths


def average_bones(pair: BonyPair, lengths: Array) -> Array:
    """Return the median logarithm of each bone's length (k,); NaN where it was not seen."""
    return np.array(
        [
            np.median(lengths[pair.bones == bone]) if np.any(pair.bones == bone) else np.nan
            for bone in range(len(pair.expected_m))
        ]
    )


def find_residuals(pair: BonyPair, start: RelativePose, unknowns: Array) -> Array:
    """Return the residuals: distances from lines of sight, bones against their own and usual length, priors."""
    rotation, direction = apply_turn(start, unknowns)
    sight = measure_distances(build_essential(rotation, direction), shift_matches(pair, unknowns))
    lengths = measure_bones(pair, start, unknowns)
    usual = average_bones(pair, lengths)
    changing = (lengths - usual[pair.bones]) / LENGTH_SPREAD
    ratios = usual - np.log(pair.expected_m)
    odd = np.nan_to_num((ratios - np.nanmedian(ratios)) / SHARE_SPREAD) * np.sqrt(len(lengths) / len(usual))
    held = np.concatenate(
        [unknowns[6:8] / FOCAL_SPREAD, unknowns[8:] / CLOCK_SPREAD_S, [np.linalg.norm(unknowns[3:6])]]
    )
    many = np.sqrt(len(sight))
    residuals: Array = np.concatenate([sight, changing, odd, 0.3 * many * held])
    return residuals
