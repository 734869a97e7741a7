"""The rule by which each instant is found: curves of many draws and a span of time in, one time a draw out."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from elbowroom.core.instants.marks import find_first_drops, find_hump_centres, find_last_crossings, find_peaks
from elbowroom.core.instants.signals import (
    measure_external_rotation,
    measure_hand_speed,
    measure_hands_parting,
    measure_lead_foot_distance,
    measure_lead_foot_speed,
    measure_lead_knee_height,
    measure_trunk_tilt,
)
from elbowroom.core.instants.types import InstantName
from elbowroom.core.reconstruction.types import Curves

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]
Span = tuple[float, float]
Search = Callable[[Curves, Span], Array]

STEP_S = 0.002
"""Step of the grid on which the signals are looked at; marks are placed between its points."""
HUMP_SHARE = 0.5
"""Share of the peak hand speed above which the hand's fast stretch lies; release is its centre."""
HUMP_REACH_S = 0.1
"""The fast stretch lies within this of the peak."""
STRIDE_SHARES = (0.30, 0.15)
"""Shares of the stride's peak foot speed between which the braking foot is followed to a stop (project's choice)."""
STOP_DISTANCES_M = ((0.08, 0.02), (0.12, 0.05))
"""Distances from where it stands between which the braking foot is followed to a stop, for each of two rules: the
nearer ones extrapolate less, the farther ones care less about a planted foot seen to move (project's choice)."""
STANDING_S = 0.05
"""The foot stands in the last part of the span that is this long."""
TOUCH_S = 0.008
"""The foot touches the ground this long before it is followed to a stop: about 4 ms on the exact curves of
rendered throws that no figure of accuracy is taken from, about 40 ms on the captured pitch, whose foot still rolls down
after its stated contact; chosen between the two, nearer to the first."""
PARTED_SHARE = 1.0
"""The hands are apart when they are farther from one another than the throwing forearm and hand are long."""


def build_grid(curves: Curves, span_s: Span, margin_s: float = 0.0) -> Array:
    """Return even times (n,) over a span and a margin on both sides, held within the curves."""
    low = max(span_s[0] - margin_s, float(curves.knots_s[0]))
    high = min(span_s[1] + margin_s, float(curves.knots_s[-1]))
    return np.asarray(low + STEP_S * np.arange(max(4, int((high - low) / STEP_S) + 1)), dtype=np.float64)


def find_release(curves: Curves, span_s: Span) -> Array:
    """Return the centre of the stretch in which the throwing hand is fastest, (s,) seconds.

    The ball leaves near the peak of hand speed; the centre of the fast stretch is steadier than the peak.
    """
    grid = build_grid(curves, span_s, HUMP_REACH_S)
    return find_hump_centres(grid, measure_hand_speed(curves, grid), HUMP_SHARE, HUMP_REACH_S)


def find_contact(curves: Curves, span_s: Span) -> Array:
    """Return when the lead foot touches the ground after the stride, (s,) seconds.

    Three rules follow the braking foot to a stop: one by its speed, two by its distance from where it stands at the
    end of the span. The middle one counts, so that a foot that is seen to slide or twitch misleads at most one of
    them. The span has to hold the fastest part of the stride and end with the foot standing.
    """
    grid = build_grid(curves, span_s)
    speed = measure_lead_foot_speed(curves, grid)
    is_after_peak = grid > grid[speed.argmax(axis=1)][:, None]
    distance = measure_lead_foot_distance(curves, grid, STANDING_S)
    stops = [find_distance_stop(grid, distance, is_after_peak, levels_m) for levels_m in STOP_DISTANCES_M]
    stop = find_middle_value(np.stack([find_speed_stop(grid, speed, is_after_peak), *stops])) - TOUCH_S
    return np.where(stop <= span_s[1], stop, np.nan)


def find_middle_value(values: Array) -> Array:
    """Return the median of those of k values (k, s) that are numbers, not-a-number where none is, (s,)."""
    known = np.where(np.isfinite(values).any(axis=0), values, 0.0)
    return np.where(np.isfinite(values).any(axis=0), np.nanmedian(known, axis=0), np.nan)


def find_speed_stop(grid: Array, speed: Array, is_after_peak: Mask) -> Array:
    """Return when the foot's speed, followed straight through two levels, is zero, (s,) seconds."""
    fastest = speed.max(axis=1)
    upper, lower = (find_first_drops(grid, speed, share * fastest, is_after_peak) for share in STRIDE_SHARES)
    return np.asarray(lower + (lower - upper) * STRIDE_SHARES[1] / (STRIDE_SHARES[0] - STRIDE_SHARES[1]))


def find_distance_stop(grid: Array, distance: Array, is_after_peak: Mask, levels_m: tuple[float, float]) -> Array:
    """Return when the foot, braking evenly, has no distance left, (s,) seconds.

    Under even braking the root of the distance falls in a straight line; it is followed through two levels to zero.
    """
    root = np.sqrt(distance)
    levels = [np.full(len(root), level**0.5) for level in levels_m]
    upper, lower = (find_first_drops(grid, root, level, is_after_peak) for level in levels)
    return np.asarray(lower + (lower - upper) * levels[1] / (levels[0] - levels[1]))


def find_layback(curves: Curves, span_s: Span) -> Array:
    """Return when the shoulder's external rotation is greatest, (s,) seconds."""
    grid = build_grid(curves, span_s)
    return find_peaks(grid, measure_external_rotation(curves, grid), np.ones(len(grid), dtype=bool))


def find_lift(curves: Curves, span_s: Span) -> Array:
    """Return when the lead knee is highest, (s,) seconds."""
    grid = build_grid(curves, span_s)
    return find_peaks(grid, measure_lead_knee_height(curves, grid), np.ones(len(grid), dtype=bool))


def find_hands_apart(curves: Curves, span_s: Span) -> Array:
    """Return when the hands part for good, (s,) seconds."""
    grid = build_grid(curves, span_s)
    levels = np.full(len(curves.coefficients_m), PARTED_SHARE)
    return find_last_crossings(grid, measure_hands_parting(curves, grid), levels, np.ones(len(grid), dtype=bool))


def find_finish(curves: Curves, span_s: Span) -> Array:
    """Return when the trunk leans farthest to the target, (s,) seconds."""
    grid = build_grid(curves, span_s)
    return find_peaks(grid, measure_trunk_tilt(curves, grid), np.ones(len(grid), dtype=bool))


SEARCHES: dict[InstantName, Search] = {
    InstantName.LIFT: find_lift,
    InstantName.HANDS_APART: find_hands_apart,
    InstantName.FOOT_CONTACT: find_contact,
    InstantName.LAYBACK: find_layback,
    InstantName.RELEASE: find_release,
    InstantName.FINISH: find_finish,
}
"""The rule of each instant."""
