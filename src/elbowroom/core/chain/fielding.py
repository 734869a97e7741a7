"""From the arbitrary frame of the adjustment to the field frame, with how all cameras err together there."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import cos, radians, sin, sqrt

import numpy as np
from scipy.spatial.transform import Rotation

from elbowroom.core.cameras.frames import shift_field
from elbowroom.core.cameras.types import CAMERA_PARAMETERS, LENS_PARAMETERS, Camera
from elbowroom.core.chain.types import ChainSetting
from elbowroom.core.findings.report import ThrowingHand
from elbowroom.core.geometry.splines import evaluate_curves
from elbowroom.core.landmarks.names import JOINTS
from elbowroom.core.measures.types import ThrowKind
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
class Fielded:
    """Cameras in the field frame that the thrower gives."""

    cameras: tuple[Camera, ...]
    """The cameras, with the errors that they share."""
    postures: Postures
    """The postures that the frame was taken from, in the frame of the adjustment."""


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


def turn_camera(camera: Camera, turn_deg: float, scale_ratio: float) -> Camera:
    """Return a camera in the frame whose x is `turn_deg` counterclockwise of the present one, lengths scaled."""
    cosine, sine = cos(radians(turn_deg)), sin(radians(turn_deg))
    turned = shift_field(camera, np.zeros(3), np.array([[cosine, sine, 0.0], [-sine, cosine, 0.0], [0.0, 0.0, 1.0]]))
    stretch = np.ones(CAMERA_PARAMETERS)
    stretch[LENS_PARAMETERS + 3 :] = scale_ratio
    return replace(
        turned,
        translation=turned.translation * scale_ratio,
        covariance=turned.covariance * np.outer(stretch, stretch),
        shared=turned.shared * stretch[:, None],
    )


def build_shared(
    adjusted: Adjusted, adjusting: AdjustSetting, moments_s: Sequence[tuple[float, float]], setting: ChainSetting
) -> Fielded:
    """Return the cameras in the field frame with the errors that they share.

    Each independent error of the adjustment moves cameras and curves, hence the frame that is taken from them; what is
    left in the field frame is the camera error that counts, and scale, vertical and direction are budgeted apart. The
    same throws are measured with these cameras again: the errors are widened for that, by root k / (k - 1) of k throws.
    """
    postures, best = place_state(adjusted, adjusted.state, moments_s, setting, None)
    columns = []
    for mode in adjusted.modes.T:
        change = MODE_STEP_RATIO * mode
        moved = shift_border(adjusted.state, change, adjusting)
        _, cameras = place_state(adjusted, moved, moments_s, setting, change)
        columns.append(compare_cameras(cameras, best) / MODE_STEP_RATIO)
    again = max(len(moments_s), 2)
    shared = combine_modes(np.array(columns).T) * sqrt(again / (again - 1))
    blocks = shared.reshape(len(best), CAMERA_PARAMETERS, -1)
    widened = tuple(
        replace(camera, shared=block, covariance=block @ block.T) for camera, block in zip(best, blocks, strict=True)
    )
    return Fielded(cameras=widened, postures=postures)


def place_state(
    adjusted: Adjusted,
    state: AdjustState,
    moments_s: Sequence[tuple[float, float]],
    setting: ChainSetting,
    change: Array | None,
) -> tuple[Postures, list[Camera]]:
    """Return postures and cameras in the field frame of a state whose border was changed by `change`."""
    found: tuple[list[Array], list[Array]] = ([], [])
    for grid, curve, carried, times in zip(adjusted.grids, state.curves, adjusted.carried, moments_s, strict=True):
        points = curve if change is None else curve - carried @ change
        at = evaluate_curves(grid.knots_s, points.reshape(1, -1, JOINTS, 3), np.array(times))[0]
        found[0].append(at[0])
        found[1].append(at[1])
    moments = Moments(lift=np.array(found[0]), contact=np.array(found[1]))
    postures = build_postures(moments, state.cameras, setting)
    frame = find_field_frame(postures)
    return postures, [place_camera(camera, frame) for camera in state.cameras]


def compare_cameras(cameras: Sequence[Camera], best: Sequence[Camera]) -> Array:
    """Return the change (13 v,) of cameras from the best ones in the sense of `Camera.covariance`."""
    parts = []
    for moved, camera in zip(cameras, best, strict=True):
        lens = [moved.lens.focal_px, *moved.lens.centre_px, *moved.lens.distortion]
        before = [camera.lens.focal_px, *camera.lens.centre_px, *camera.lens.distortion]
        turn = Rotation.from_matrix(moved.rotation @ camera.rotation.T).as_rotvec()
        parts.append(np.concatenate([np.array(lens) - before, turn, moved.translation - camera.translation]))
    return np.concatenate(parts)


def combine_modes(modes: Array) -> Array:
    """Return fewer modes (13 v, q) with the same covariance, the small ones left out."""
    scale = np.sqrt(np.maximum(np.sum(modes**2, axis=1, keepdims=True), 1e-24))
    left, sizes, _ = np.linalg.svd(modes / scale, full_matrices=False)
    kept = sizes > SMALLEST_MODE_RATIO * sizes[0]
    compressed: Array = scale * (left[:, kept] * sizes[kept])
    return compressed
