"""Where heads are in the pictures of a clip, so that they can be hidden in every one of them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from elbowroom.core.landmarks.layout import measure_torso
from elbowroom.core.landmarks.names import Landmark
from elbowroom.core.landmarks.types import RawLandmarks

Array = NDArray[np.float64]
Indices = NDArray[np.int64]

HEAD = tuple(landmark for landmark in Landmark if landmark <= Landmark.MOUTH_RIGHT)
"""Eyes, ears, nose and mouth; also placed by the landmark model where the head is turned away."""
TORSO_SHARE = 0.36
"""Radius that covers a head with its cap, as a share of the torso's length in the picture: half of the head's height is
0.065 of the standing height and the torso 0.29 (Drillis and Contini as in Winter 2009), rounded up by three fifths."""
REACH_SHARE = 1.7
"""Radius against the farthest of eyes, ears, nose and mouth from their middle."""
GROWTH_PER_S = 1.5
"""A head that was not looked at for a while may have moved: its circle grows by this share of its radius a second."""
LONGEST_HOLD_S = 0.75
"""Before a person was first found and after the last time, the head is hidden where it was for so long."""


@dataclass(frozen=True, kw_only=True)
class HeadTrack:
    """One person's head in the pictures in which it was found."""

    pictures: Indices
    """(k,) numbers of the pictures, increasing."""
    circles_px: Array
    """(k, 3) centre x and y, and radius, pixels of the upright picture."""


def find_heads(raw: RawLandmarks) -> Array:
    """Return a circle (n, 3) that covers each person's head: centre x and y, and radius, pixels."""
    points, ears = raw.pixels[:, HEAD], raw.pixels[:, [Landmark.LEFT_EAR, Landmark.RIGHT_EAR]]
    # Most of these landmarks are on the face, most of the head is behind it.
    centres = (points.mean(axis=1) + ears.mean(axis=1)) / 2.0
    reach = np.linalg.norm(points - centres[:, None], axis=2).max(axis=1)
    radius = np.maximum(REACH_SHARE * reach, TORSO_SHARE * np.asarray(measure_torso(raw)))
    return np.column_stack([centres, radius])


def place_circles(tracks: Sequence[HeadTrack], times_s: Array) -> list[Array]:
    """Return for every picture of a clip the circles (k, 3) that hide everybody's head; `times_s` (n,) are its times.

    Between the pictures in which a person was found the circle moves along a straight line and grows with the time to
    the nearer of the two; beyond them it is held for a while.
    """
    covers: list[list[Array]] = [[] for _ in times_s]
    for track in tracks:
        known = times_s[track.pictures]
        first, last = known[0] - LONGEST_HOLD_S, known[-1] + LONGEST_HOLD_S
        for picture in np.flatnonzero((times_s >= first) & (times_s <= last)).tolist():
            covers[picture].append(_place_circle(track, known, float(times_s[picture])))
    return [np.array(circles).reshape(-1, 3) for circles in covers]


def _place_circle(track: HeadTrack, known_s: Array, time_s: float) -> Array:
    middle = np.array([np.interp(time_s, known_s, track.circles_px[:, column]) for column in range(3)])
    away_s = float(np.abs(known_s - time_s).min())
    middle[2] *= 1.0 + GROWTH_PER_S * away_s
    return middle


def find_uncovered(raw: RawLandmarks, circles_px: Array) -> Indices:
    """Return which of the people of one picture (n of them) have any part of the head outside all circles (k, 3)."""
    points = raw.pixels[:, HEAD]
    if not len(circles_px):
        return np.arange(len(points))
    away = np.linalg.norm(points[:, :, None] - circles_px[None, None, :, :2], axis=3) - circles_px[:, 2]
    return np.flatnonzero((away.min(axis=2) > 0.0).any(axis=1))


def add_circles(covers: Sequence[Array], found: Mapping[int, Array]) -> list[Array]:
    """Return covers with more circles (k, 3) in some pictures, by number."""
    return [
        np.vstack([circles, found[number]]) if number in found else circles for number, circles in enumerate(covers)
    ]
