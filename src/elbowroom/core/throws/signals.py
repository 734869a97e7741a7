"""What the finder looks at: hands, elbows, knees and feet in torso lengths, from sparse 2-D landmarks."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter1d, median_filter

from elbowroom.core.landmarks.names import Landmark, Side
from elbowroom.core.landmarks.types import RawLandmarks

Array = NDArray[np.float64]

GRID_HZ = 60.0
"""Rate of the even grid that the signals are brought to."""
LEAST_PEAK = 0.3
"""Landmarks with less heat are left out: a hidden hand jumps about."""
LEAST_COUNT = 6
"""Fewer sure pictures than this say less than all pictures."""
SCALE_SPAN_S = 2.0
"""Length of the running median that gives the body's size in the picture."""


@dataclass(frozen=True, kw_only=True)
class BodySignals:
    """Signals on an even grid of n times; heights in torso lengths with + up, speeds in torso lengths a second."""

    times_s: Array
    """(n,) even grid."""
    hand_speed: dict[Side, Array]
    """(n,) speed of each wrist against the middle of the shoulders."""
    hand_gap: Array
    """(n,) distance between the wrists."""
    elbow_height: dict[Side, Array]
    """(n,) height of each elbow above its shoulder."""
    wrist_height: dict[Side, Array]
    """(n,) height of each wrist above its shoulder."""
    knee_height: dict[Side, Array]
    """(n,) height of each knee above the middle of the hips; about -0.85 when standing."""
    foot: dict[Side, Array]
    """(n, 2) place of each foot (between ankle and toe) from where the hips are most of the time, x right and y up."""


def _places(raw: RawLandmarks, times_s: Array, grid_s: Array) -> Array:
    """Bring the landmarks to the grid, single-picture jumps and lost points left out: (n, 33, 2)."""
    is_sure = (raw.peak >= LEAST_PEAK) & (raw.presence > 0.0)
    places = np.empty((len(grid_s), raw.pixels.shape[1], 2))
    for mark in range(raw.pixels.shape[1]):
        rows = np.flatnonzero(is_sure[:, mark])
        rows = rows if len(rows) >= LEAST_COUNT else np.arange(len(times_s))
        path = median_filter(raw.pixels[rows, mark], size=(3, 1), mode="nearest")
        for axis in range(2):
            places[:, mark, axis] = np.interp(grid_s, times_s[rows], path[:, axis])
    return places


def _middle(places: Array, part: str) -> Array:
    middle: Array = places[:, [Landmark[f"LEFT_{part}"], Landmark[f"RIGHT_{part}"]]].mean(axis=1)
    return middle


def _body_size(places: Array) -> Array:
    """Running median of the torso's length, pixels, never 0."""
    torso = np.linalg.norm(_middle(places, "SHOULDER") - _middle(places, "HIP"), axis=-1)
    span = min(int(SCALE_SPAN_S * GRID_HZ) // 2 * 2 + 1, max(len(torso) // 2 * 2 - 1, 1))
    size: Array = np.maximum(median_filter(torso, size=span, mode="nearest"), 1e-6)
    return size


def _speed(path: Array) -> Array:
    """Speed of a path (n, 2) on the grid, smoothed over about a sparse step."""
    smooth = gaussian_filter1d(path, 1.0, axis=0, mode="nearest")
    return np.asarray(np.linalg.norm(np.gradient(smooth, axis=0), axis=-1) * GRID_HZ)


def measure_signals(raw: RawLandmarks, times_s: Array) -> BodySignals:
    """Return the finder's signals for landmarks (n pictures) at increasing capture times (n,)."""
    count = int(np.floor((times_s[-1] - times_s[0]) * GRID_HZ)) + 1
    grid = times_s[0] + np.arange(count) / GRID_HZ
    places = _places(raw, times_s, grid)
    size = _body_size(places)[:, None]
    part = {
        (side, name): places[:, Landmark[f"{side.name}_{name}"]]
        for side in Side
        for name in ("SHOULDER", "ELBOW", "WRIST", "KNEE", "ANKLE", "TOE")
    }
    trunk, hips = _middle(places, "SHOULDER"), _middle(places, "HIP")
    height = {key: -path[:, 1] for key, path in part.items()}
    tall = size[:, 0]
    middle = np.median(hips, axis=0)
    foot = {side: 0.5 * (part[side, "ANKLE"] + part[side, "TOE"]) - middle for side in Side}
    return BodySignals(
        times_s=grid,
        hand_speed={side: _speed((part[side, "WRIST"] - trunk) / size) for side in Side},
        hand_gap=np.linalg.norm(part[Side.LEFT, "WRIST"] - part[Side.RIGHT, "WRIST"], axis=-1) / tall,
        elbow_height={s: (height[s, "ELBOW"] - height[s, "SHOULDER"]) / tall for s in Side},
        wrist_height={s: (height[s, "WRIST"] - height[s, "SHOULDER"]) / tall for s in Side},
        knee_height={s: (height[s, "KNEE"] + hips[:, 1]) / tall for s in Side},
        foot={s: foot[s] / size * np.array([1.0, -1.0]) for s in Side},
    )
