"""From the arbitrary frame of the adjustment to the field frame, with how all cameras err together there."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import sqrt

import numpy as np

from elbowroom.core.cameras.pose import compare_cameras
from elbowroom.core.cameras.types import CAMERA_PARAMETERS, Camera
from elbowroom.core.chain.types import ChainSetting
from elbowroom.core.findings.report import ThrowingHand
from elbowroom.core.geometry.splines import evaluate_curves
from elbowroom.core.landmarks.names import JOINTS
from elbowroom.core.measures.types import ThrowKind
from elbowroom.core.quantities.types import Absent
from elbowroom.core.reconstruction.adjust import Adjusted, AdjustSetting, AdjustState, shift_border
from elbowroom.core.reconstruction.field_frame import FieldFrame, Postures, find_field_frame
from elbowroom.core.reconstruction.types import Array

MODE_STEP_RATIO = 0.1
"""Step of the finite differences along a mode, in its standard deviations."""
SMALLEST_MODE_RATIO = 1e-4
"""Modes smaller than this share of the largest are left out."""


@dataclass(frozen=True, kw_only=True)
class Moments:
    """The joints at two moments of every throw, in any frame."""

    lift: Array
    """(k, 19, 3) joints at the lift."""
    contact: Array
    """(k, 19, 3) joints when the lead foot is planted."""


@dataclass(frozen=True, kw_only=True)
class Placing:
    """What the field frame is taken from besides the adjustment."""

    moments_s: tuple[tuple[float, float], ...]
    """Lift and planted foot of every throw on the visit clock."""
    setting: ChainSetting
    """Who throws, and what else the chain takes in."""
    anchor: Camera | Absent
    """The first camera in the field frame where board or marks tell it; the frame is then taken from it."""


@dataclass(frozen=True, kw_only=True)
class Fielded:
    """Cameras in the field frame that the thrower gives."""

    cameras: tuple[Camera, ...]
    """The cameras, with the errors that they share."""
    postures: Postures
    """The postures that the frame was taken from, in the frame of the adjustment."""
    before: Camera
    """The first camera in the frame of the adjustment."""


def build_postures(moments: Moments, cameras: Sequence[Camera], setting: ChainSetting) -> Postures:
    """Return what the field frame is taken from."""
    return Postures(
        lift=moments.lift,
        contact=moments.contact,
        throwing_right=setting.athlete.hand is ThrowingHand.RIGHT,
        height_m=setting.athlete.height_m,
        is_level=setting.athlete.kind is not ThrowKind.MOUND_PITCH,
        levels=np.array([camera.rotation[0] for camera in cameras]),
    )


def estimate_frame(moments: Moments, cameras: Sequence[Camera], setting: ChainSetting) -> FieldFrame:
    """Return the field frame that the postures give."""
    return find_field_frame(build_postures(moments, cameras, setting))


def place_camera(camera: Camera, frame: FieldFrame) -> Camera:
    """Return a camera in the field frame."""
    translation = frame.scale_factor * (camera.translation + camera.rotation @ frame.origin)
    return replace(camera, rotation=camera.rotation @ frame.turn.T, translation=translation)


def build_shared(adjusted: Adjusted, adjusting: AdjustSetting, placing: Placing) -> Fielded:
    """Return the cameras in the field frame with the errors that they share.

    Each independent error of the adjustment moves cameras and curves, hence the frame that is taken from them; what is
    left in the field frame is the camera error that counts, and scale, vertical and direction are budgeted apart. The
    same throws are measured with these cameras again: the errors are widened for that, by root k / (k - 1) of k throws.
    """
    postures, best = place_state(adjusted, adjusted.state, placing, None)
    columns = []
    for mode in adjusted.modes.T:
        change = MODE_STEP_RATIO * mode
        moved = shift_border(adjusted.state, change, adjusting)
        _, cameras = place_state(adjusted, moved, placing, change)
        columns.append(compare_cameras(cameras, best) / MODE_STEP_RATIO)
    again = max(len(placing.moments_s), 2)
    shared = combine_modes(np.array(columns).T) * sqrt(again / (again - 1))
    blocks = shared.reshape(len(best), CAMERA_PARAMETERS, -1)
    widened = tuple(
        replace(camera, shared=block, covariance=block @ block.T) for camera, block in zip(best, blocks, strict=True)
    )
    return Fielded(cameras=widened, postures=postures, before=adjusted.state.cameras[0])


def place_state(
    adjusted: Adjusted, state: AdjustState, placing: Placing, change: Array | None
) -> tuple[Postures, list[Camera]]:
    """Return postures and cameras in the field frame of a state whose border was changed by `change`."""
    found: tuple[list[Array], list[Array]] = ([], [])
    for grid, curve, carried, times in zip(
        adjusted.grids, state.curves, adjusted.carried, placing.moments_s, strict=True
    ):
        points = curve if change is None else curve - carried @ change
        at = evaluate_curves(grid.knots_s, points.reshape(1, -1, JOINTS, 3), np.array(times))[0]
        found[0].append(at[0])
        found[1].append(at[1])
    moments = Moments(lift=np.array(found[0]), contact=np.array(found[1]))
    postures = build_postures(moments, state.cameras, placing.setting)
    frame = find_field_frame(postures)
    if isinstance(placing.anchor, Camera):
        frame = tie_frame(frame.scale_factor, state.cameras[0], placing.anchor)
    return postures, [place_camera(camera, frame) for camera in state.cameras]


def tie_frame(scale_factor: float, camera: Camera, known: Camera) -> FieldFrame:
    """Return the frame in which `camera`, lengths scaled, stands where it is known to stand."""
    shift = known.translation / scale_factor - camera.translation
    return FieldFrame(
        turn=known.rotation.T @ camera.rotation, origin=camera.rotation.T @ shift, scale_factor=scale_factor
    )


def combine_modes(modes: Array) -> Array:
    """Return fewer modes (13 v, q) with the same covariance, the small ones left out."""
    scale = np.sqrt(np.maximum(np.sum(modes**2, axis=1, keepdims=True), 1e-24))
    left, sizes, _ = np.linalg.svd(modes / scale, full_matrices=False)
    kept = sizes > SMALLEST_MODE_RATIO * sizes[0]
    compressed: Array = scale * (left[:, kept] * sizes[kept])
    return compressed
