"""The clocks of the clips against the first clip's, and what the timing of a throw can carry."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from elbowroom.core.cameras.types import Camera
from elbowroom.core.chain.tracking import flatten_track
from elbowroom.core.chain.types import ChainSetting, ClipThrows, TrackedThrow
from elbowroom.core.clips.types import TimingVerdict
from elbowroom.core.clocks.combine import combine_offsets
from elbowroom.core.clocks.motion import estimate_motion_offset
from elbowroom.core.clocks.sound import estimate_sound_offset
from elbowroom.core.clocks.types import CheckedOffset, ClockOffset, SeenTrack, SoundPaths
from elbowroom.core.landmarks.names import Joint
from elbowroom.core.quantities.types import Absent
from elbowroom.core.reconstruction.types import Array

TARGET_STANDARD_M = 1.0
"""How well the distance from glove to phone is known when only the usual place of the target is."""
SEARCH_S = 0.12
"""How far from a rough offset the movement is searched: release guesses of two clips differ by a few sparse steps."""
LIMBS = np.array([0, 1, 1, 1, 1, 2, 2, 2, 2, 3, 3, 3, 3, 3, 4, 4, 4, 4, 4])
"""Joints with the same number err together."""
assert len(LIMBS) == len(Joint)


def estimate_sound_clock(reference: ClipThrows, other: ClipThrows, setting: ChainSetting) -> ClockOffset | Absent:
    """Return the offset of a clip against the first from the sound that both hold."""
    for clip in (reference, other):
        if isinstance(clip.sound, Absent):
            return clip.sound
    target = np.array(setting.target_m)
    paths = SoundPaths(
        reference_m=float(np.linalg.norm(target - reference.camera.place)),
        other_m=float(np.linalg.norm(target - other.camera.place)),
        standard_m=TARGET_STANDARD_M,
    )
    assert not isinstance(reference.sound, Absent)
    assert not isinstance(other.sound, Absent)
    return estimate_sound_offset(reference.sound, other.sound, paths)


def estimate_clock(
    clips: tuple[ClipThrows, ClipThrows],
    pairs: Sequence[tuple[TrackedThrow, TrackedThrow]],
    sound: ClockOffset | Absent,
) -> CheckedOffset | Absent:
    """Return the offset of the second clip against the first from sound and from the movement of all their throws."""
    found: list[ClockOffset | Absent] = [sound]
    fundamental = build_fundamental(clips[0].camera, clips[1].camera)
    for first, second in pairs:
        rough = first.seen.window.release_guess_s - second.seen.window.release_guess_s
        tracks = [see_track(clip.camera, seen) for clip, seen in zip(clips, (first, second), strict=True)]
        found.append(estimate_motion_offset(tracks[0], tracks[1], fundamental, rough, SEARCH_S, LIMBS))
    return combine_offsets(found)


def see_track(camera: Camera, tracked: TrackedThrow) -> SeenTrack:
    """Return a joint track with the lens distortion taken off, for the clock."""
    track = tracked.track
    spread = np.sqrt(np.trace(track.noise_px2 + track.offset_px2, axis1=2, axis2=3) / 2)
    return SeenTrack(
        times_s=track.times_s,
        points_px=flatten_track(camera, track) * camera.lens.focal_px + np.array(camera.lens.centre_px),
        standard_px=spread,
        row_time_s=camera.row_time_s,
    )


def build_fundamental(first: Camera, second: Camera) -> Array:
    """Return F (3, 3) with x_second^T F x_first = 0 for undistorted pixels (epipolar geometry)."""
    rotation = second.rotation @ first.rotation.T
    x, y, z = second.translation - rotation @ first.translation
    cross = np.array([[0.0, -z, y], [z, 0.0, -x], [-y, x, 0.0]])
    lenses = [np.linalg.inv(build_matrix(camera)) for camera in (first, second)]
    fundamental: Array = lenses[1].T @ cross @ rotation @ lenses[0]
    return fundamental


def build_matrix(camera: Camera) -> Array:
    """Return the pinhole matrix (3, 3) of a camera."""
    (x, y), focal = camera.lens.centre_px, camera.lens.focal_px
    return np.array([[focal, 0.0, x], [0.0, focal, y], [0.0, 0.0, 1.0]])


def combine_timing(clips: Sequence[ClipThrows]) -> TimingVerdict:
    """Return what the timing of several clips of one throw can carry: as much as the best of them."""
    verdicts = [clip.times.timing for clip in clips]
    return TimingVerdict(
        instants=next((v.instants for v in verdicts if v.instants), verdicts[0].instants),
        trunk_rates=next((v.trunk_rates for v in verdicts if v.trunk_rates), verdicts[0].trunk_rates),
        arm_rates=next((v.arm_rates for v in verdicts if v.arm_rates), verdicts[0].arm_rates),
    )
