"""From landmarks to the joint track of a throw: joint centres with their covariance."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from elbowroom.core.landmarks.models import LandmarkTables, find_kind
from elbowroom.core.landmarks.names import JOINT_LANDMARKS, Joint
from elbowroom.core.landmarks.noise import predict_covariance
from elbowroom.core.landmarks.offsets import average_landmarks, predict_offsets
from elbowroom.core.landmarks.types import Correction, Indices, JointTrack, Mask, RawLandmarks

Array = NDArray[np.float64]

LEAST_PRESENCE = 0.2
"""A joint one of whose landmarks is less likely than this to lie in the region is not seen."""
LEAST_PERSON = 0.3
"""A picture whose region holds a person with less probability than this shows no joint."""


def build_joint_track(
    raw: RawLandmarks,
    pictures: Indices,
    times_s: Array,
    camera: str,
    tables: LandmarkTables,
    corrections: tuple[Correction, ...] = (),
) -> JointTrack:
    """Return the joint track of one throw in one clip.

    `raw` holds the landmarks of n pictures, sides repaired; `pictures` (n,) are their numbers in the clip and
    `times_s` (n,) their capture times. The joint centre is the mean of its landmarks less the standing offset of the
    tables; what is left of the offset and the noise come as covariances. A joint is not seen where a landmark of it
    was marked as lost, lies outside the region, or the picture holds no person.
    """
    pixels = average_landmarks(raw) - predict_offsets(tables.offset, raw)
    total = predict_covariance(tables.noise, raw, pixels, times_s)
    share = tables.noise.standing_share[[find_kind(joint) for joint in Joint]][None, :, None, None]
    return JointTrack(
        camera=camera,
        pictures=pictures,
        times_s=times_s,
        pixels=pixels,
        noise_px2=(1.0 - share) * total,
        offset_px2=share * total,
        noise_time_s=tables.noise.noise_time_s,
        seen=_find_seen(raw),
        depth_m=average_depth(raw),
        depth_standard_m=tables.noise.depth_standard_m,
        corrections=corrections,
        model=tables.name,
    )


def _find_seen(raw: RawLandmarks) -> Mask:
    is_there = (raw.presence >= LEAST_PRESENCE) & (raw.peak > 0.0)
    columns = [is_there[:, list(JOINT_LANDMARKS[joint])].all(axis=1) for joint in Joint]
    person = raw.person_score >= LEAST_PERSON
    return np.asarray(np.stack(columns, axis=1) & person[:, None])


def average_depth(raw: RawLandmarks) -> Array:
    """Return (n, 19) the mean depth of each joint's landmarks from the hips, model metres, + away."""
    depths = [raw.world_m[:, list(JOINT_LANDMARKS[joint]), 2].mean(axis=1) for joint in Joint]
    return np.stack(depths, axis=1)
