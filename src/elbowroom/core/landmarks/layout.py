"""How the landmarks hang together: pairs of sides, groups that are mixed up together, body scale, mirroring."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import fields, replace

import numpy as np
from numpy.typing import NDArray

from elbowroom.core.landmarks.names import Landmark, Side
from elbowroom.core.landmarks.types import RawLandmarks

Array = NDArray[np.float64]
Indices = NDArray[np.int64]

FACE: Indices = np.arange(Landmark.NOSE, Landmark.MOUTH_RIGHT + 1)
"""Landmarks of the face."""
ARMS: Indices = np.arange(Landmark.LEFT_SHOULDER, Landmark.RIGHT_THUMB + 1)
"""Landmarks of shoulders, arms and hands."""
LEGS: Indices = np.arange(Landmark.LEFT_HIP, Landmark.RIGHT_TOE + 1)
"""Landmarks of hips, legs and feet."""


def _other(name: str) -> str:
    if "RIGHT" in name:
        return name.replace("RIGHT", "LEFT")
    return name.replace("LEFT", "RIGHT")


OTHER: Indices = np.array([Landmark[_other(mark.name)] for mark in Landmark], dtype=np.int64)
"""(33,) the landmark of the other side; the nose is its own."""


def find_landmark(part: str, side: Side) -> Landmark:
    """Return a landmark by its part (`SHOULDER`, `WRIST`, ...) and side."""
    return Landmark[f"{side.name}_{part}"]


def reorder_landmarks(raw: RawLandmarks, order: Indices) -> RawLandmarks:
    """Return the landmarks with landmark k of picture i taken from `order[i, k]`, shape (n, 33) or (33,)."""
    n = len(raw.pixels)
    full = np.broadcast_to(order, (n, len(OTHER)))
    rows = np.arange(n)[:, None]
    return replace(
        raw,
        pixels=raw.pixels[rows, full],
        depth_px=raw.depth_px[rows, full],
        world_m=raw.world_m[rows, full],
        visibility=raw.visibility[rows, full],
        presence=raw.presence[rows, full],
        peak=raw.peak[rows, full],
        spread_px=raw.spread_px[rows, full],
    )


def select_pictures(raw: RawLandmarks, rows: Indices) -> RawLandmarks:
    """Return the landmarks of some pictures, in the order asked for."""
    return RawLandmarks(
        pixels=raw.pixels[rows],
        depth_px=raw.depth_px[rows],
        world_m=raw.world_m[rows],
        visibility=raw.visibility[rows],
        presence=raw.presence[rows],
        peak=raw.peak[rows],
        spread_px=raw.spread_px[rows],
        person_score=raw.person_score[rows],
        region_size_px=raw.region_size_px[rows],
    )


def concatenate_pictures(parts: Sequence[RawLandmarks]) -> RawLandmarks:
    """Return the landmarks of several runs of pictures as one, in the order given."""
    names = [field.name for field in fields(RawLandmarks)]
    return RawLandmarks(**{name: np.concatenate([getattr(part, name) for part in parts]) for name in names})


def mirror_landmarks(raw: RawLandmarks, width_px: int) -> RawLandmarks:
    """Return the landmarks as the mirrored picture (left to right, sides exchanged) would give them."""
    flipped = replace(
        raw,
        pixels=np.stack([width_px - 1.0 - raw.pixels[..., 0], raw.pixels[..., 1]], axis=-1),
        world_m=raw.world_m * np.array([-1.0, 1.0, 1.0]),
    )
    return reorder_landmarks(flipped, OTHER)


def measure_torso(raw: RawLandmarks) -> Array:
    """Return (n,) the length from mid-shoulders to mid-hips in each picture, pixels (foreshortened where it leans)."""
    shoulders = raw.pixels[:, [Landmark.LEFT_SHOULDER, Landmark.RIGHT_SHOULDER]].mean(axis=1)
    hips = raw.pixels[:, [Landmark.LEFT_HIP, Landmark.RIGHT_HIP]].mean(axis=1)
    return np.asarray(np.linalg.norm(shoulders - hips, axis=-1))


def estimate_scale(raw: RawLandmarks) -> Array:
    """Return (n,) pixels for a metre of the model's own body: picture spread over world spread of the landmarks.

    Orthographic least squares about the centroid; it follows the distance to the camera, not the pose.
    """
    picture = raw.pixels - raw.pixels.mean(axis=1, keepdims=True)
    world = raw.world_m[..., :2] - raw.world_m[..., :2].mean(axis=1, keepdims=True)
    cross = np.abs((picture * world).sum(axis=(1, 2)))
    power = np.maximum((world**2).sum(axis=(1, 2)), 1e-9)
    return np.asarray(np.maximum(cross / power, 1e-6))
