"""Clock offset from how the thrower moves up and down, for upright cameras that are not known yet."""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import minimize_scalar

from elbowroom.core.clocks.lines import compute_widening_factor
from elbowroom.core.clocks.tracks import TrackCurves, list_sightings
from elbowroom.core.clocks.types import Array, ClockOffset, ClockSource, SeenTrack
from elbowroom.core.quantities.types import Absent

Landmarks = NDArray[np.int64]
GRID_SHARE = 0.5
"""Step of the first search as a share of the interval between pictures."""
LEAST_SAMPLES = 60
"""Pairs of landmark and time that have to be compared."""
LEAST_CORRELATION = 0.7
"""Correlation below which the two clips do not show the same movement."""
VIEW_SHARE = 1.0
"""Standard uncertainty, as a share of the interval between pictures, that stays because height in the picture also
changes with distance (project's choice; the error was about this on a captured pitch seen by pairs of cameras)."""
CLAP = "Clap once, hard, in view of both phones before the first throw."


@dataclass(frozen=True, kw_only=True)
class _Climbs:
    """Vertical speeds of the reference clip that the other clip covers at every offset tried."""

    times_s: Array
    """(p,) times of the sightings on the reference clip's clock, seconds."""
    speeds: Array
    """(p,) speeds down the picture there, px/s."""
    landmarks: Landmarks
    """(p,) numbers of the landmarks."""
    curves: TrackCurves
    """Curves along the other clip's sightings."""

    def compare(self, offset_s: float) -> tuple[Array, Array]:
        """Speeds of both clips (p,), each landmark's mean taken off; not a number where unseen."""
        shown = self.curves.evaluate_speeds(self.times_s - offset_s, self.landmarks)[:, 1]
        wanted = np.where(np.isfinite(shown), self.speeds, np.nan)
        return _centre(wanted, self.landmarks), _centre(shown, self.landmarks)

    def correlate(self, offset_s: float) -> float:
        """Correlation of the speeds of both clips over all landmarks."""
        wanted, shown = (np.nan_to_num(values) for values in self.compare(offset_s))
        size = sqrt(float(wanted @ wanted) * float(shown @ shown))
        return float(wanted @ shown) / size if size > 0 else 0.0


def estimate_activity_offset(
    reference: SeenTrack, other: SeenTrack, around_s: float = 0.0, search_s: float = 0.5
) -> ClockOffset | Absent:
    """Estimate the clock offset from how fast each landmark moves up and down in the two pictures.

    Up is up in every view of an upright camera, while sideways movement differs: so no camera needs to be known.

    Args:
        reference, other: the same k landmarks as the two clips see them, in upright pictures.
        around_s, search_s: where the offset is looked for, and how far from there, seconds.
    """
    climbs = _choose_climbs(reference, other, around_s, search_s)
    if isinstance(climbs, Absent):
        return climbs
    interval_s = float(np.median(np.diff(other.times_s)))
    offset_s = _find_best(climbs, around_s, search_s, interval_s)
    if climbs.correlate(offset_s) < LEAST_CORRELATION:
        return Absent(
            reason="The two clips do not show the same movement.", advice="Check which clips belong together."
        )
    if abs(offset_s - around_s) > search_s - interval_s:
        return Absent(reason="The clips stand further apart in time than was searched.", advice=CLAP)
    scatter_s, count = _find_scatter(climbs, offset_s, interval_s)
    return ClockOffset(
        offset_s=offset_s,
        standard_s=sqrt(scatter_s**2 + (VIEW_SHARE * interval_s) ** 2),
        source=ClockSource.ACTIVITY,
        epoch_s=float(climbs.times_s.mean()) - offset_s,
        drift=Absent(reason="One throw is too short to show a drift."),
        event_count=count,
    )


def _choose_climbs(reference: SeenTrack, other: SeenTrack, around_s: float, search_s: float) -> _Climbs | Absent:
    sightings = list_sightings(reference)
    # The same sightings at every offset tried, or a shift to where nothing moves could fit best.
    early = sightings.times_s - around_s - search_s >= other.times_s[0]
    kept = early & (sightings.times_s - around_s + search_s <= other.times_s[-1])
    times_s, landmarks = sightings.times_s[kept], sightings.landmarks[kept]
    speeds = TrackCurves(reference).evaluate_speeds(times_s, landmarks)[:, 1]
    climbs = _Climbs(times_s=times_s, speeds=speeds, landmarks=landmarks, curves=TrackCurves(other))
    if np.count_nonzero(np.isfinite(climbs.compare(around_s)[1])) < LEAST_SAMPLES:
        return Absent(
            reason="The two clips share too little of the throw to compare the movement.",
            advice="Let both phones run from well before to well after each throw.",
        )
    return climbs


def _centre(values: Array, landmarks: Landmarks) -> Array:
    seen = np.isfinite(values)
    total = np.bincount(landmarks, np.where(seen, values, 0.0))
    centred: Array = values - (total / np.maximum(np.bincount(landmarks, seen), 1))[landmarks]
    return centred


def _find_best(climbs: _Climbs, around_s: float, search_s: float, interval_s: float) -> float:
    step_s = GRID_SHARE * interval_s
    offsets_s = around_s + np.arange(-search_s, search_s + 0.5 * step_s, step_s)
    best_s = float(offsets_s[int(np.argmax([climbs.correlate(offset_s) for offset_s in offsets_s]))])
    bounds = (best_s - 2 * step_s, best_s + 2 * step_s)
    result = minimize_scalar(lambda offset_s: -climbs.correlate(offset_s), bounds=bounds, method="bounded")
    return float(result.x)


def _find_scatter(climbs: _Climbs, offset_s: float, interval_s: float) -> tuple[float, int]:
    """Find the standard uncertainty of the shift from the scatter between landmarks, and the number of landmarks."""
    wanted, shown = climbs.compare(offset_s)
    behind, ahead = (climbs.compare(offset_s + sign * 0.1 * interval_s)[1] for sign in (-1, 1))
    wanted, shown = np.nan_to_num(wanted), np.nan_to_num(shown)
    gain = float(wanted @ shown) / max(float(shown @ shown), 1e-300)
    slope = gain * np.nan_to_num(ahead - behind) / (0.2 * interval_s)
    scores = np.bincount(climbs.landmarks, (wanted - gain * shown) * slope)
    shares = np.bincount(climbs.landmarks, slope**2)
    information = max(float(shares.sum()), 1e-300)
    effective = information**2 / max(float(np.sum(shares**2)), 1e-300)
    few = effective / max(effective - 1.0, 0.5)
    scatter_s = sqrt(few * float(np.sum(scores**2))) / information * compute_widening_factor(effective - 1.0)
    return scatter_s, int(np.count_nonzero(shares))
