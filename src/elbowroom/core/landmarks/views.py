"""Resolve left/right exchanges that one view alone could not, by the geometry of two calibrated views."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from elbowroom.core.landmarks.layout import ARMS, FACE, LEGS, OTHER, measure_torso, reorder_landmarks
from elbowroom.core.landmarks.sides import list_exchanges
from elbowroom.core.landmarks.types import Correction, Indices, RawLandmarks

Array = NDArray[np.float64]
Flags = NDArray[np.int64]

NEAR_S = 0.03
"""Pictures of two views that lie further apart than this are not held against each other."""
RESIDUAL_SHARE = 0.08
"""Standard epipolar distance of a landmark in torso lengths: offsets that differ between views, and clock errors."""
LARGEST = 3.0
"""Epipolar distances are held at this many standard deviations."""
CHANGE_COST = 6.0
"""Cost of a change of state from one picture to the next."""
JUMP_COST = 12.0
"""Cost of a torso length of jump from one picture to the next: which of two views exchanged its sides shows in whose
landmarks leap when they do."""
LARGEST_JUMP = 1.0
"""Jumps are held at this many torso lengths."""
EXCHANGE_COST = {True: 0.3, False: 1.2}
"""Cost a 30th of a second of exchanging a limb pair in a view from behind, and in another: which of two views is
wrong is taken from where the camera stands."""

_PAIRS = ((0, 0), (1, 0), (0, 1), (1, 1))
"""Exchanged (first view, second view) in each state."""


@dataclass(frozen=True, kw_only=True)
class ViewLandmarks:
    """Landmarks of one view, ready to be held against another."""

    landmarks: RawLandmarks
    """Landmarks in n pictures, repaired within the view."""
    points_px: Array
    """(n, 33, 2) their places with the lens distortion taken off, pixels."""
    pictures: Indices
    """(n,) numbers of the pictures in the clip, increasing."""
    times_s: Array
    """(n,) capture times on a clock that both views share (a rough offset will do)."""
    is_behind: bool
    """Whether the camera stands behind the thrower."""


@dataclass(frozen=True, kw_only=True)
class AcrossViews:
    """Two views after their sides were held against each other."""

    first: RawLandmarks
    """Landmarks of the first view."""
    second: RawLandmarks
    """Landmarks of the second view."""
    first_corrections: tuple[Correction, ...]
    """What was changed in the first view."""
    second_corrections: tuple[Correction, ...]
    """What was changed in the second view."""


def repair_across_views(first: ViewLandmarks, second: ViewLandmarks, fundamental: Array) -> AcrossViews:
    """Exchange arms or legs in stretches of either view so that both views show one body.

    `fundamental` (3, 3) is F with x_second^T F x_first = 0 for undistorted pixels. Arms (with the face) and legs are
    judged apart. Exchanging both views alike changes nothing that two views can see, so the view from behind is
    exchanged rather than the other. Views that do not overlap in time stay as they are.
    """
    near = _find_nearest(first.times_s, second.times_s)
    overlap = np.abs(second.times_s[near] - first.times_s) <= NEAR_S
    back = _find_nearest(second.times_s, first.times_s)
    flags = np.zeros((2, len(first.times_s)), dtype=np.int64)
    other = np.zeros((2, len(second.times_s)), dtype=np.int64)
    if overlap.any():
        for group, marks in enumerate((ARMS, LEGS)):
            costs = _measure_mismatch(first, second, fundamental, marks)
            jumps = _measure_jumps(first, second, near, marks)
            states = np.array(_PAIRS)[_follow(costs * overlap[:, None], jumps, first, second)]
            flags[group], other[group] = states[:, 0], states[back, 1]
        other[:, np.abs(first.times_s[back] - second.times_s) > NEAR_S] = 0
    return AcrossViews(
        first=reorder_landmarks(first.landmarks, _orders(flags)),
        second=reorder_landmarks(second.landmarks, _orders(other)),
        first_corrections=list_exchanges(flags[0] + 2 * flags[1], first.pictures, _WHY),
        second_corrections=list_exchanges(other[0] + 2 * other[1], second.pictures, _WHY),
    )


_WHY = "The two views show one body only with the sides exchanged here."


def _find_nearest(times_s: Array, among_s: Array) -> Indices:
    """Return for each time the number of the nearest among increasing times."""
    right = np.clip(np.searchsorted(among_s, times_s), 1, max(len(among_s) - 1, 1))
    right = np.minimum(right, len(among_s) - 1)
    left = np.maximum(right - 1, 0)
    is_left = np.abs(among_s[left] - times_s) <= np.abs(among_s[right] - times_s)
    return np.where(is_left, left, right).astype(np.int64)


def _measure_mismatch(first: ViewLandmarks, second: ViewLandmarks, fundamental: Array, marks: Indices) -> Array:
    """Return (n, 4) cost of each state of `_PAIRS` at the first view's pictures from epipolar distances."""
    near = _find_nearest(first.times_s, second.times_s)
    torso = [max(float(np.median(measure_torso(view.landmarks))), 1e-6) for view in (first, second)]
    weight = np.minimum(first.landmarks.peak[:, marks], second.landmarks.peak[near][:, marks])
    costs = []
    for is_relative in (False, True):
        order = OTHER[marks] if is_relative else marks
        away = measure_epipolar(first.points_px[:, marks], second.points_px[near][:, order], fundamental)
        ratio = np.minimum(away / (RESIDUAL_SHARE * np.array(torso)), LARGEST)
        costs.append(0.25 * (weight * (ratio**2).sum(axis=-1)).sum(axis=1))
    return np.stack([costs[one ^ two] for one, two in _PAIRS], axis=1)


def measure_epipolar(first_px: Array, second_px: Array, fundamental: Array) -> Array:
    """Return (..., 2) distances in pixels of points from the epipolar line of their partner, in first and second view.

    Hartley and Zisserman, Multiple View Geometry, 2nd ed., 11.4.3 (from memory).
    """
    one = np.concatenate([first_px, np.ones_like(first_px[..., :1])], axis=-1)
    two = np.concatenate([second_px, np.ones_like(second_px[..., :1])], axis=-1)
    in_second, in_first = one @ fundamental.T, two @ fundamental
    gap = np.abs((two * in_second).sum(axis=-1))
    lengths = [np.maximum(np.linalg.norm(line[..., :2], axis=-1), 1e-12) for line in (in_first, in_second)]
    return np.stack([gap / lengths[0], gap / lengths[1]], axis=-1)


def _measure_jumps(first: ViewLandmarks, second: ViewLandmarks, near: Indices, marks: Indices) -> Array:
    """Return (2, 2, n - 1) how far the landmarks of each view jump from picture to picture, in torso lengths.

    The first of the two middle numbers is the jump with the sides as given, the second with them exchanged between
    the two pictures; the median over `marks`, held at `LARGEST_JUMP`.
    """
    jumps = []
    for view, rows in ((first, np.arange(len(first.times_s))), (second, near)):
        places = view.landmarks.pixels[rows]
        torso = max(float(np.median(measure_torso(view.landmarks))), 1e-6)
        ways = [np.linalg.norm(places[1:, order] - places[:-1, marks], axis=-1) for order in (marks, OTHER[marks])]
        jumps.append([np.minimum(np.median(way, axis=1) / torso, LARGEST_JUMP) for way in ways])
    return np.array(jumps)


def _follow(costs: Array, jumps: Array, first: ViewLandmarks, second: ViewLandmarks) -> Indices:
    """Return the cheapest states (n,) over time (Viterbi), the weight of a picture growing with its share of time."""
    share = np.gradient(first.times_s) if len(first.times_s) > 1 else np.ones(1)
    pairs = np.array(_PAIRS)
    prior = pairs @ np.array([EXCHANGE_COST[first.is_behind], EXCHANGE_COST[second.is_behind]])
    step = costs * np.minimum(share * 60.0, 1.0)[:, None] + prior * np.minimum(share * 30.0, 1.0)[:, None]
    changed = np.abs(pairs[:, None] - pairs[None, :])
    change = CHANGE_COST * changed.sum(axis=-1)
    total = step[0]
    back = np.zeros(costs.shape, dtype=np.int64)
    for k in range(1, len(step)):
        leap = jumps[0, changed[..., 0], k - 1] + jumps[1, changed[..., 1], k - 1]
        ways = total[:, None] + change + JUMP_COST * leap
        back[k] = ways.argmin(axis=0)
        total = ways.min(axis=0) + step[k]
    states = np.zeros(len(step), dtype=np.int64)
    states[-1] = int(total.argmin())
    for k in range(len(step) - 1, 0, -1):
        states[k - 1] = back[k, states[k]]
    return states


def _orders(flags: Flags) -> Indices:
    """Return (n, 33) which landmark each is taken from, for flags (2, n) of arms and legs."""
    order = np.tile(np.arange(len(OTHER)), (flags.shape[1], 1))
    for flag, marks in zip(flags.astype(bool), (np.concatenate([FACE, ARMS]), LEGS), strict=True):
        order[np.ix_(flag, marks)] = OTHER[marks]
    return order
