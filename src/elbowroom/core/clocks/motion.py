"""Clock offset from landmarks that two known cameras see: a point and its line of sight meet only at the true time."""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt

import numpy as np
from numpy.typing import NDArray

from elbowroom.core.clocks.lines import compute_widening_factor
from elbowroom.core.clocks.tracks import TrackCurves, list_sightings
from elbowroom.core.clocks.types import Array, ClockOffset, ClockSource, SeenTrack
from elbowroom.core.quantities.types import Absent

Mask = NDArray[np.bool_]
GRID_SHARE = 0.5
"""Step of the first search as a share of the interval between pictures."""
LEAST_SAMPLES = 60
"""Pairs of landmark and time that have to be compared."""
HUBER = 1.5
"""Distance from the line of sight, in robust standard deviations, from which a pair counts less."""
STEPS = 25
"""Most steps of the fine search; fewer than ten are usual."""
FLOOR_SHARE = 0.02
"""Smallest standard uncertainty, as a share of the interval between pictures: what interpolation leaves."""
MOST_SHARE = 0.5
"""Standard uncertainty, as a share of the half width searched, from which the movement says nothing."""
TOO_LITTLE = "Too few landmarks are seen by both cameras over the same time."


@dataclass(frozen=True, kw_only=True)
class _Pairs:
    """Sightings of the reference clip that the other clip covers at every offset tried."""

    times_s: Array
    """(p,) times of the sightings on the reference clip's clock, seconds."""
    points_px: Array
    """(p, 2) places of the sightings."""
    standard_px: Array
    """(p,) standard uncertainty of each coordinate, pixels."""
    landmarks: NDArray[np.int64]
    """(p,) numbers of the landmarks."""
    curves: TrackCurves
    """Curves along the other clip's sightings."""
    fundamental: Array
    """(3, 3) with x_other^T F x_reference = 0."""

    def measure_distances(self, offset_s: float) -> Array:
        """Signed distances (p,) from the lines of sight in standard deviations; not a number where unseen."""
        points_px, standard_px = self.curves.evaluate(self.times_s - offset_s, self.landmarks)
        return measure_sampson(self.fundamental, self.points_px, points_px, self.standard_px, standard_px)


def measure_sampson(
    fundamental: Array, reference_px: Array, other_px: Array, reference_standard_px: Array, other_standard_px: Array
) -> Array:
    """Measure how far pairs of points are from lying on one another's lines of sight, in standard deviations, signed.

    Args:
        fundamental: (3, 3) with x_other^T F x_reference = 0.
        reference_px, other_px: (p, 2) points.
        reference_standard_px, other_standard_px: (p,) standard uncertainty of their coordinates.

    Returns (p,). Source: first-order distance of Sampson, in Hartley and Zisserman 2004, 11.4.3 (from memory).
    """
    first = np.column_stack([reference_px, np.ones(len(reference_px))])
    second = np.column_stack([other_px, np.ones(len(other_px))])
    lines_other, lines_reference = first @ fundamental.T, second @ fundamental
    variance = other_standard_px**2 * np.sum(lines_other[:, :2] ** 2, axis=1)
    variance = variance + reference_standard_px**2 * np.sum(lines_reference[:, :2] ** 2, axis=1)
    distances: Array = np.sum(second * lines_other, axis=1) / np.sqrt(np.maximum(variance, 1e-300))
    return distances


def estimate_motion_offset(
    reference: SeenTrack,
    other: SeenTrack,
    fundamental: Array,
    around_s: float = 0.0,
    search_s: float = 0.1,
    groups: NDArray[np.int64] | None = None,
) -> ClockOffset | Absent:
    """Estimate the clock offset from landmarks that two known cameras see.

    Each landmark may stand off by a constant distance from its line (a standing landmark error); only changes count.

    Args:
        reference, other: the same k landmarks as the two cameras see them.
        fundamental: (3, 3) of the cameras, x_other^T F x_reference = 0.
        around_s, search_s: where the offset is looked for, and how far from there, seconds.
        groups: (k,) landmarks with the same number err together (one limb); each by itself where left out.
    """
    pairs = _choose_pairs(reference, other, fundamental, around_s, search_s)
    if isinstance(pairs, Absent):
        return pairs
    interval_s = float(np.median(np.diff(other.times_s)))
    start_s = _find_start(pairs, around_s, search_s, interval_s)
    offset_s = _refine(pairs, start_s, interval_s)
    if abs(offset_s - around_s) > search_s - interval_s:
        return Absent(
            reason="The clips stand further apart in time than was searched.",
            advice="Clap once before the first throw.",
        )
    own = np.arange(reference.points_px.shape[1]) if groups is None else groups
    standard_s, count = _find_standard(pairs, offset_s, interval_s, own[pairs.landmarks])
    if standard_s > MOST_SHARE * search_s:
        return Absent(
            reason="The movement says too little about the clocks.", advice="Clap once before the first throw."
        )
    return ClockOffset(
        offset_s=offset_s,
        standard_s=standard_s,
        source=ClockSource.MOTION,
        epoch_s=float(pairs.times_s.mean()) - offset_s,
        drift=Absent(reason="One throw is too short to show a drift."),
        event_count=count,
    )


def _choose_pairs(
    reference: SeenTrack, other: SeenTrack, fundamental: Array, around_s: float, search_s: float
) -> _Pairs | Absent:
    sightings = list_sightings(reference)
    curves = TrackCurves(other)
    early = sightings.times_s - around_s - search_s >= other.times_s[0]
    kept = early & (sightings.times_s - around_s + search_s <= other.times_s[-1])
    pairs = _Pairs(
        times_s=sightings.times_s[kept],
        points_px=sightings.points_px[kept],
        standard_px=sightings.standard_px[kept],
        landmarks=sightings.landmarks[kept],
        curves=curves,
        fundamental=fundamental,
    )
    if np.count_nonzero(np.isfinite(pairs.measure_distances(around_s))) < LEAST_SAMPLES:
        return Absent(reason=TOO_LITTLE, advice="Let both phones run from well before to well after each throw.")
    return pairs


def _find_start(pairs: _Pairs, around_s: float, search_s: float, interval_s: float) -> float:
    step_s = GRID_SHARE * interval_s
    offsets_s = around_s + np.arange(-search_s, search_s + 0.5 * step_s, step_s)
    costs = []
    for offset_s in offsets_s:
        distances = _remove_standing(pairs.measure_distances(offset_s), pairs.landmarks)
        costs.append(float(np.nanmean(np.minimum(np.abs(distances), 20.0))))
    return float(offsets_s[int(np.argmin(costs))])


def _remove_standing(distances: Array, landmarks: NDArray[np.int64]) -> Array:
    result = distances.copy()
    for landmark in np.unique(landmarks):
        own = landmarks == landmark
        if np.any(np.isfinite(distances[own])):
            result[own] -= np.nanmedian(distances[own])
    return result


def _linearise(pairs: _Pairs, offset_s: float, interval_s: float) -> tuple[Array, Array, Array]:
    """Return residual, slope and weight (p,) at an offset, each landmark's standing part taken out of both."""
    step_s = 0.1 * interval_s
    ahead, behind = pairs.measure_distances(offset_s + step_s), pairs.measure_distances(offset_s - step_s)
    residuals, slopes = 0.5 * (ahead + behind), (ahead - behind) / (2.0 * step_s)
    seen = np.isfinite(residuals) & np.isfinite(slopes)
    centred = _remove_standing(np.where(seen, residuals, np.nan), pairs.landmarks)
    scale = max(1.4826 * float(np.nanmedian(np.abs(centred))), 1e-9)
    weights = np.where(seen, np.minimum(1.0, HUBER * scale / np.maximum(np.abs(centred), 1e-300)), 0.0)
    weights = np.where(np.isfinite(weights), weights, 0.0)
    residuals, slopes = np.where(seen, residuals, 0.0), np.where(seen, slopes, 0.0)
    return _centre(residuals, weights, pairs.landmarks), _centre(slopes, weights, pairs.landmarks), weights


def _centre(values: Array, weights: Array, landmarks: NDArray[np.int64]) -> Array:
    total = np.bincount(landmarks, weights * values)
    share = np.maximum(np.bincount(landmarks, weights), 1e-300)
    centred: Array = values - (total / share)[landmarks]
    return centred


def _refine(pairs: _Pairs, start_s: float, interval_s: float) -> float:
    offset_s = start_s
    for _ in range(STEPS):
        residuals, slopes, weights = _linearise(pairs, offset_s, interval_s)
        information = float(np.sum(weights * slopes**2))
        step_s = -float(np.sum(weights * residuals * slopes)) / max(information, 1e-300)
        step_s = float(np.clip(step_s, -interval_s, interval_s))
        offset_s += step_s
        if abs(step_s) < 1e-4 * interval_s:
            break
    return offset_s


def _find_standard(pairs: _Pairs, offset_s: float, interval_s: float, groups: NDArray[np.int64]) -> tuple[float, int]:
    """Find the standard uncertainty of the offset, and the number of groups that it rests on.

    Errors of a group may be correlated in any way (cluster-robust variance, from memory: Liang and Zeger 1986); the
    larger of that and of the bend of the cost is taken.
    """
    residuals, slopes, weights = _linearise(pairs, offset_s, interval_s)
    information = float(np.sum(weights * slopes**2))
    if information <= 0.0:
        return float("inf"), 0
    scores = np.bincount(groups, weights * residuals * slopes)
    shares = np.bincount(groups, weights * slopes**2) / information
    effective = 1.0 / float(np.sum(shares**2))
    few = effective / max(effective - 1.0, 0.5)
    clustered_s = sqrt(few * float(np.sum(scores**2))) / information * compute_widening_factor(effective - 1.0)
    bend_s = sqrt(float(np.sum(weights * residuals**2)) / max(float(np.sum(weights)), 1e-300) / information)
    return max(clustered_s, bend_s, FLOOR_SHARE * interval_s), int(np.count_nonzero(shares > 0))
