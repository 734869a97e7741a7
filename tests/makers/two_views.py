"""Two cameras that see one captured pitch, each with its own clock and its own landmark errors."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import CubicSpline

from elbowroom.core.clocks.types import SeenTrack

Array = NDArray[np.float64]
FOCAL_PX, CENTRE_PX = 1500.0, np.array([960.0, 540.0])


@dataclass(frozen=True, kw_only=True)
class Errors:
    """Errors of landmarks in pixels, and of the shutter."""

    white_px: float = 1.5
    slow_px: float = 1.5
    slow_time_s: float = 0.03
    standing_px: float = 4.0
    row_time_s: float = 0.0
    missing_share: float = 0.0


@dataclass(frozen=True, kw_only=True)
class Pinhole:
    """A camera without distortion, x_camera = rotation @ x + translation."""

    rotation: Array
    translation: Array

    def project(self, points_m: Array) -> Array:
        seen = points_m @ self.rotation.T + self.translation
        return FOCAL_PX * seen[..., :2] / seen[..., 2:] + CENTRE_PX


def read_pitch(shared: Path) -> CubicSpline:
    """Read the captured pitch as curves through 19 joints, z up, metres, by the capture's own time."""
    lines = np.loadtxt(shared / "data" / "cmu-mocap" / "pitch_124_01.csv", delimiter=",", skiprows=1)
    joints = lines[:, 1:].reshape(len(lines), -1, 3)
    return CubicSpline(lines[:, 0], joints[..., [0, 2, 1]] * [1, -1, 1])


def place_camera(azimuth_deg: float, distance_m: float = 7.0) -> Pinhole:
    """Place a camera that looks at the thrower's middle from an azimuth, 1.3 m high."""
    azimuth = np.radians(azimuth_deg)
    place = np.array([distance_m * np.cos(azimuth), distance_m * np.sin(azimuth), 1.3])
    forward = np.array([0, 0, 1.0]) - place
    forward /= np.linalg.norm(forward)
    right = np.cross(forward, [0, 0, 1.0])
    right /= np.linalg.norm(right)
    rotation = np.stack([right, np.cross(forward, right), forward])
    return Pinhole(rotation=rotation, translation=-rotation @ place)


def find_fundamental(reference: Pinhole, other: Pinhole) -> Array:
    """Find F with x_other^T F x_reference = 0 from the poses."""
    turn = other.rotation @ reference.rotation.T
    x, y, z = other.translation - turn @ reference.translation
    cross = np.array([[0, -z, y], [z, 0, -x], [-y, x, 0]])
    lens = np.array([[FOCAL_PX, 0, CENTRE_PX[0]], [0, FOCAL_PX, CENTRE_PX[1]], [0, 0, 1]])
    inverse = np.linalg.inv(lens)
    return inverse.T @ cross @ turn @ inverse


def see_track(
    pitch: CubicSpline, camera: Pinhole, clip_s: Array, zero_s: float, errors: Errors, rng: np.random.Generator
) -> SeenTrack:
    """See the pitch at the clip's picture times (n,); capture time = clip time + `zero_s`."""
    points = camera.project(pitch(clip_s + zero_s))
    for _ in range(4 if errors.row_time_s else 0):
        at_s = clip_s[:, None] + zero_s + errors.row_time_s * points[..., 1]
        seen = np.stack([pitch(at_s[:, k])[:, k] for k in range(points.shape[1])], axis=1)
        points = camera.project(seen)
    count, landmarks = points.shape[:2]
    noise = errors.white_px * rng.normal(size=points.shape) + errors.standing_px * rng.normal(size=(1, landmarks, 2))
    keep = np.exp(-np.median(np.diff(clip_s)) / errors.slow_time_s)
    slow = rng.normal(size=(landmarks, 2))
    for n in range(count):
        slow = keep * slow + np.sqrt(1 - keep**2) * rng.normal(size=slow.shape)
        noise[n] += errors.slow_px * slow
    points = points + noise
    points[rng.random((count, landmarks)) < errors.missing_share] = np.nan
    standard = np.full((count, landmarks), max(np.hypot(errors.white_px, errors.slow_px), 0.1))
    return SeenTrack(times_s=clip_s, points_px=points, standard_px=standard, row_time_s=errors.row_time_s)


def make_views(
    pitch: CubicSpline, azimuths_deg: tuple[float, float], offset_s: float, errors: Errors, seed: int
) -> tuple[SeenTrack, SeenTrack, Array]:
    """Make what two 240 Hz phones see around the throw; reference time = other time + `offset_s`."""
    rng = np.random.default_rng(seed)
    first, second = (place_camera(azimuth) for azimuth in azimuths_deg)
    clip_s = np.arange(480) / 240.0
    start_s = 2.6
    reference = see_track(pitch, first, clip_s, start_s, errors, rng)
    other = see_track(pitch, second, clip_s, start_s + offset_s, errors, rng)
    return reference, other, find_fundamental(first, second)


def forget_rows(track: SeenTrack) -> SeenTrack:
    """Return the track as if the row time were not known."""
    return replace(track, row_time_s=0.0)
