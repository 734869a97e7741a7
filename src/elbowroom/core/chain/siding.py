"""Left and right held against each other across views, once cameras and clocks are known."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from elbowroom.core.cameras.rays import undistort_pixels
from elbowroom.core.cameras.types import Camera, View
from elbowroom.core.chain.timing import build_fundamental
from elbowroom.core.chain.tracking import track_landmarks
from elbowroom.core.chain.types import ChainSetting, ClipThrows, TrackedThrow
from elbowroom.core.clocks.types import CheckedOffset
from elbowroom.core.landmarks.types import Correction, RawLandmarks
from elbowroom.core.landmarks.views import ViewLandmarks, repair_across_views
from elbowroom.core.quantities.types import Absent
from elbowroom.core.reconstruction.types import Array

Clock = CheckedOffset | Absent


def repair_throw_sides(
    members: Sequence[TrackedThrow], clips: Sequence[ClipThrows], clocks: Sequence[Clock], setting: ChainSetting
) -> tuple[TrackedThrow, ...]:
    """Return one throw's tracks with arms or legs exchanged where only that lets the views show one body.

    The first view that has a clock is held against each other one in turn. A track that needs no exchange stays as
    it is; one that does is built anew, and says so among its corrections.
    """
    placed = list(members)
    timed = [place for place, member in enumerate(placed) if find_shift_s(member, clocks) is not None]
    for place in timed[1:]:
        pair = placed[timed[0]], placed[place]
        placed[timed[0]], placed[place] = repair_pair(pair, clips, clocks, setting)
    return tuple(placed)


def repair_pair(
    pair: tuple[TrackedThrow, TrackedThrow],
    clips: Sequence[ClipThrows],
    clocks: Sequence[Clock],
    setting: ChainSetting,
) -> tuple[TrackedThrow, TrackedThrow]:
    """Return two tracks of one throw, sides put right across them."""
    cameras = [clips[member.clip].camera for member in pair]
    views = [view_landmarks(member, clips[member.clip], find_shift_s(member, clocks) or 0.0) for member in pair]
    across = repair_across_views(views[0], views[1], build_fundamental(cameras[0], cameras[1]))
    changes = ((across.first, across.first_corrections), (across.second, across.second_corrections))
    first, second = (
        build_changed_track(member, clips[member.clip], landmarks, setting, corrections) if corrections else member
        for member, (landmarks, corrections) in zip(pair, changes, strict=True)
    )
    return first, second


def find_shift_s(member: TrackedThrow, clocks: Sequence[Clock]) -> float | None:
    """Return what to add to a clip's times to reach the first clip's at a throw, or nothing where it is not known."""
    if member.clip == 0:
        return 0.0
    clock = clocks[member.clip - 1]
    if isinstance(clock, Absent):
        return None
    middle = member.seen.window.release_guess_s
    return float(clock.offset.convert_times(np.array([middle]))[0]) - middle


def view_landmarks(member: TrackedThrow, clip: ClipThrows, shift_s: float) -> ViewLandmarks:
    """Return a track's landmarks as the comparison takes them."""
    return ViewLandmarks(
        landmarks=member.landmarks,
        points_px=flatten_pixels(clip.camera, member.landmarks.pixels),
        pictures=member.track.pictures,
        times_s=member.track.times_s + shift_s,
        is_behind=clip.view is View.BEHIND,
    )


def flatten_pixels(camera: Camera, pixels: Array) -> Array:
    """Return pixels (n, k, 2) with the lens distortion taken off, in pixels of the same lens."""
    flat = undistort_pixels(camera.lens, pixels.reshape(-1, 2)).reshape(pixels.shape)
    straight: Array = flat * camera.lens.focal_px + np.array(camera.lens.centre_px)
    return straight


def build_changed_track(
    member: TrackedThrow,
    clip: ClipThrows,
    landmarks: RawLandmarks,
    setting: ChainSetting,
    corrections: tuple[Correction, ...],
) -> TrackedThrow:
    """Return a track built anew from exchanged landmarks, its corrections kept."""
    kept = (*member.track.corrections, *corrections)
    track = track_landmarks(clip, member.seen, landmarks, setting, kept)
    return replace(member, track=track, landmarks=landmarks)
