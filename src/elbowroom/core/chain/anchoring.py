"""Cameras of which some are known by board or marks and the rest by the thrower alone."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from elbowroom.core.cameras.frames import shift_field
from elbowroom.core.cameras.observing import scale_camera
from elbowroom.core.cameras.types import CAMERA_PARAMETERS, LENS_PARAMETERS, Camera, FieldSetUp
from elbowroom.core.chain.fielding import Fielded
from elbowroom.core.quantities.types import Absent
from elbowroom.core.reconstruction.field_frame import (
    CHAIN_SPREAD,
    FOOT_HEIGHT_M,
    average_foot,
    find_field_frame,
    name_feet,
)

FOOT_SPREAD_M = 0.02
"""How well the height of a planted foot's points over the ground is known."""
AGREEING_RATIO = 3.0
"""Standard uncertainties up to which two scales agree (project's choice)."""


@dataclass(frozen=True, kw_only=True)
class Scale:
    """What one thing says of the lengths that the athlete's height gave."""

    ratio: float
    """Factor by which they have to grow."""
    standard: float
    """Relative standard uncertainty of that."""


def place_anchored(fielded: Fielded, anchors: Sequence[Camera | Absent], ground: FieldSetUp) -> FieldSetUp | Absent:
    """Return the set-up in the field frame of the known cameras, the first of which is the first camera.

    Direction and vertical are those of board and marks. Scale: the athlete's height, the ground under the pivot foot as
    the known camera's height over it tells, and the distance between known cameras. `Absent` where these contradict.
    """
    height = Scale(ratio=1.0, standard=CHAIN_SPREAD)
    others = [measure_ground(fielded, ground), *measure_bases(fielded.cameras, anchors)]
    odd = [item for item in others if abs(item.ratio - 1.0) > AGREEING_RATIO * np.hypot(item.standard, CHAIN_SPREAD)]
    if odd:
        return refuse_height(odd[0])
    weights = np.array([item.standard**-2 for item in (height, *others)])
    ratio = float(weights @ np.array([item.ratio for item in (height, *others)]) / weights.sum())
    placed = [scale_about(camera, fielded.cameras[0].place, ratio) for camera in fielded.cameras]
    cameras = replace_known(placed, anchors)
    known = sum(isinstance(anchor, Camera) for anchor in anchors)
    return replace(
        ground,
        cameras=tuple(cameras),
        scale_standard=float(np.hypot(weights.sum() ** -0.5, ground.scale_standard)),
        how=f"{ground.how}; {len(cameras) - known} more from the thrower",
    )


def measure_ground(fielded: Fielded, ground: FieldSetUp) -> Scale:
    """Return the scale at which the pivot foot stands on the ground that the first camera's height is known over."""
    camera, pivot = fielded.cameras[0], name_feet(fielded.postures.throwing_right)[0]
    feet = average_foot(fielded.postures.lift, pivot)
    frame_scale = find_field_frame(fielded.postures).scale_factor
    seen = frame_scale * (feet @ fielded.before.rotation.T + fielded.before.translation)
    places = (seen - camera.translation) @ camera.rotation
    height = float(camera.place[2]) - ground.ground_height_m
    low = float(np.mean(places[:, 2])) - ground.ground_height_m - FOOT_HEIGHT_M
    away = float(np.linalg.norm(camera.place[:2] - places[:, :2].mean(axis=0)))
    spread = np.hypot(FOOT_SPREAD_M, away * ground.upright_standard_rad)
    return Scale(ratio=height / max(height - low, 0.1 * height), standard=float(spread) / height)


def measure_bases(cameras: Sequence[Camera], anchors: Sequence[Camera | Absent]) -> list[Scale]:
    """Return the scale by the distance from the first camera to every other known one."""
    scales = []
    for camera, anchor in list(zip(cameras, anchors, strict=True))[1:]:
        if isinstance(anchor, Camera):
            known = float(np.linalg.norm(anchor.place - cameras[0].place))
            turns = slice(LENS_PARAMETERS, LENS_PARAMETERS + 3)
            by_turn = float(np.trace(anchor.covariance[turns, turns])) * float(np.sum(anchor.place**2))
            by_shift = float(np.trace(anchor.covariance[LENS_PARAMETERS + 3 :, LENS_PARAMETERS + 3 :]))
            found = float(np.linalg.norm(camera.place - cameras[0].place))
            scales.append(Scale(ratio=known / found, standard=np.sqrt(by_turn + by_shift) / known + BASE_RATIO))
    return scales


BASE_RATIO = 0.02
"""How well the thrower alone tells the distance between two cameras, beside the height; chosen by this project."""


def scale_about(camera: Camera, middle_m: np.ndarray[tuple[int, ...], np.dtype[np.float64]], ratio: float) -> Camera:
    """Return the camera after all lengths from `middle_m` (3,) grew by `ratio`."""
    moved = scale_camera(shift_field(camera, middle_m, np.eye(3)), ratio)
    return shift_field(moved, -middle_m, np.eye(3))


def replace_known(cameras: Sequence[Camera], anchors: Sequence[Camera | Absent]) -> list[Camera]:
    """Return the cameras with the known ones as they are known, where several are.

    Errors that all share are then told camera by camera: what the known ones err is not shared.
    """
    if sum(isinstance(anchor, Camera) for anchor in anchors) < 2:
        return list(cameras)
    none = np.zeros((CAMERA_PARAMETERS, 0))
    return [
        replace(anchor if isinstance(anchor, Camera) else camera, shared=none)
        for camera, anchor in zip(cameras, anchors, strict=True)
    ]


def refuse_height(scale: Scale) -> Absent:
    """Return why the stated height cannot be right."""
    apart = scale.ratio - 1.0
    return Absent(
        reason=f"By board or marks the athlete is {100 * abs(apart):.0f} % {'taller' if apart > 0 else 'shorter'} than "
        "the visit file says, more than both can err.",
        advice="Measure the athlete's height again, and check the marks of the clips that have some.",
    )
