"""Landmarks between pictures: smooth curves along what a camera saw, with the rolling shutter's row times."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import BSpline, make_smoothing_spline

from elbowroom.core.clocks.types import Array, SeenTrack

Landmarks = NDArray[np.int64]
LONGEST_GAP_RATIO = 2.5
"""Intervals longer than this many usual ones are not bridged."""
LEAST_SEEN = 5
"""Sightings that a curve needs."""
CUT_HZ = 20.0
"""Frequency at which a curve keeps half of a movement. It smooths the fastest movement of the hand a little, evenly to
both sides in time. A curve through every noisy sighting would pull the offset to the middle between pictures, where its
noise is smallest, and one that follows more noise would be too sure of its slope."""


def fit_curve(times_s: Array, values: Array, cut_hz: float = CUT_HZ) -> BSpline:
    """Fit a smoothing spline along values (n, ...) at increasing times (n,) that halves movement at `cut_hz`.

    With samples `h` apart the gain is 1 / (1 + penalty h w^4) (closed form for an endless even series).
    """
    interval_s = float(np.median(np.diff(times_s)))
    return make_smoothing_spline(times_s, values, lam=1.0 / (interval_s * (2.0 * np.pi * cut_hz) ** 4))


@dataclass(frozen=True, kw_only=True)
class Sightings:
    """Single sightings of landmarks, one a line."""

    times_s: Array
    """(p,) time at which the row of the landmark was taken, seconds."""
    points_px: Array
    """(p, 2) places."""
    standard_px: Array
    """(p,) standard uncertainty of each coordinate, pixels."""
    landmarks: Landmarks
    """(p,) number of the landmark."""


def list_sightings(track: SeenTrack) -> Sightings:
    """List the sightings of a track, landmark by landmark, unseen ones left out."""
    seen = np.all(np.isfinite(track.points_px), axis=2).T
    landmarks, pictures = np.nonzero(seen)
    points_px = track.points_px[pictures, landmarks]
    return Sightings(
        times_s=track.times_s[pictures] + track.row_time_s * points_px[:, 1],
        points_px=points_px,
        standard_px=track.standard_px[pictures, landmarks],
        landmarks=landmarks.astype(np.int64),
    )


class TrackCurves:
    """Smooth curves along the sightings of each landmark."""

    def __init__(self, track: SeenTrack) -> None:
        sightings = list_sightings(track)
        self._longest_s = LONGEST_GAP_RATIO * float(np.median(np.diff(track.times_s)))
        self._curves: dict[int, tuple[Array, BSpline, Array]] = {}
        for landmark in np.unique(sightings.landmarks):
            own = sightings.landmarks == landmark
            times_s = sightings.times_s[own]
            if len(times_s) >= LEAST_SEEN and np.all(np.diff(times_s) > 0):
                curve = fit_curve(times_s, sightings.points_px[own])
                self._curves[int(landmark)] = (times_s, curve, sightings.standard_px[own])

    def evaluate(self, times_s: Array, landmarks: Landmarks) -> tuple[Array, Array]:
        """Evaluate places (p, 2) and their standard uncertainty (p,), px, of landmarks (p,) at times (p,).

        Not a number where the landmark was not seen around that time.
        """
        points_px = np.full((len(times_s), 2), np.nan)
        standard_px = np.full(len(times_s), np.nan)
        for landmark, own, right in self._list_covered(times_s, landmarks):
            _, curve, known_px = self._curves[landmark]
            points_px[own] = curve(times_s[own])
            standard_px[own] = np.maximum(known_px[right], known_px[right - 1])
        return points_px, standard_px

    def evaluate_speeds(self, times_s: Array, landmarks: Landmarks) -> Array:
        """Evaluate speeds (p, 2), px/s, of landmarks (p,) at times (p,); not a number where unseen."""
        speeds = np.full((len(times_s), 2), np.nan)
        for landmark, own, _ in self._list_covered(times_s, landmarks):
            speeds[own] = self._curves[landmark][1](times_s[own], nu=1)
        return speeds

    def _list_covered(self, times_s: Array, landmarks: Landmarks) -> Iterator[tuple[int, Landmarks, Landmarks]]:
        for landmark, (known_s, _, _) in self._curves.items():
            own = np.flatnonzero(landmarks == landmark)
            right = np.searchsorted(known_s, times_s[own], side="right")
            # The last sighting itself is covered too.
            right = np.where(times_s[own] == known_s[-1], len(known_s) - 1, right)
            inside = (right > 0) & (right < len(known_s))
            own, right = own[inside], right[inside]
            near = known_s[right] - known_s[right - 1] <= self._longest_s
            yield landmark, own[near], right[near]
