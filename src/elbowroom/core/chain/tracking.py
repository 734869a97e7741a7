"""From the landmarks of a throw in one clip to its joint track and to what the reconstruction takes in."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from elbowroom.core.cameras.rays import undistort_pixels
from elbowroom.core.cameras.types import Camera, View
from elbowroom.core.chain.types import ChainSetting, ClipThrows, TrackedThrow
from elbowroom.core.findings.report import ThrowingHand
from elbowroom.core.landmarks.names import Side
from elbowroom.core.landmarks.sides import SideKnowledge, repair_sides
from elbowroom.core.landmarks.tracks import build_joint_track
from elbowroom.core.landmarks.types import Correction, JointTrack, RawLandmarks
from elbowroom.core.reconstruction.types import Array, ViewedThrow
from elbowroom.core.throws.types import SeenThrow


def track_clip(clip: ClipThrows, number: int, setting: ChainSetting) -> tuple[TrackedThrow, ...]:
    """Return the joint track of every throw of a clip, sides put right and repeated pictures left out."""
    return tuple(track_throw(clip, number, seen, setting) for seen in clip.throws)


def track_throw(clip: ClipThrows, number: int, seen: SeenThrow, setting: ChainSetting) -> TrackedThrow:
    """Return the joint track of one throw in one clip, sides put right within the clip."""
    pictures = seen.choice.pictures
    hand = Side.RIGHT if setting.athlete.hand is ThrowingHand.RIGHT else Side.LEFT
    known = SideKnowledge(is_behind=clip.view is View.BEHIND, is_front=clip.view is View.FRONT, hand=hand)
    repaired, corrections = repair_sides(seen.landmarks, pictures, clip.times.times_s[pictures], known)
    track = track_landmarks(clip, seen, repaired, setting, corrections)
    return TrackedThrow(clip=number, seen=seen, landmarks=repaired, track=track)


def track_landmarks(
    clip: ClipThrows,
    seen: SeenThrow,
    landmarks: RawLandmarks,
    setting: ChainSetting,
    corrections: tuple[Correction, ...],
) -> JointTrack:
    """Return the joint track of one throw from landmarks whose sides are right; repeated pictures are not seen."""
    pictures = seen.choice.pictures
    times = clip.times.times_s[pictures]
    track = build_joint_track(landmarks, pictures, times, clip.camera.name, setting.tables, corrections)
    fresh = ~clip.times.repeated[pictures]
    return replace(track, seen=track.seen & fresh[:, None])


def flatten_track(camera: Camera, track: JointTrack) -> Array:
    """Return the track's pixels (n, 19, 2) as undistorted directions x/z, y/z of the camera."""
    flat: Array = undistort_pixels(camera.lens, track.pixels.reshape(-1, 2)).reshape(track.pixels.shape)
    return np.where(track.seen[:, :, None], flat, np.nan)


def view_throw(camera: Camera, track: JointTrack, offset_s: float, offset_standard_s: float) -> ViewedThrow:
    """Return what the reconstruction takes in for one view."""
    return ViewedThrow(
        track=track,
        camera=camera,
        flat=flatten_track(camera, track),
        offset_s=offset_s,
        offset_standard_s=offset_standard_s,
    )
