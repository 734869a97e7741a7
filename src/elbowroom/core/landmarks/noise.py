"""Covariance of a joint's place in the picture from what the landmark model tells about it."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from elbowroom.core.landmarks.layout import estimate_scale
from elbowroom.core.landmarks.models import NoiseModel, find_kind
from elbowroom.core.landmarks.names import JOINT_LANDMARKS, JOINTS, Joint
from elbowroom.core.landmarks.types import RawLandmarks

Array = NDArray[np.float64]

NOISE_FEATURES = 6
"""Number of features that the log variance is linear in."""
HEAT_CELLS = 64.0
"""Cells of the heat along one side of the region."""
LEAST_STANDARD_CELLS = 0.1
"""No joint is known better than a tenth of a heat cell."""

_AXES = {"SHOULDER": "ELBOW", "ELBOW": "WRIST", "HIP": "KNEE", "KNEE": "ANKLE", "HEEL": "TOE"}
_BACK = {"WRIST": "ELBOW", "HAND": "WRIST", "ANKLE": "KNEE", "TOE": "HEEL"}


def find_limb_axes(pixels: Array) -> Array:
    """Return (n, 19, 2) unit vectors along each joint's limb in the picture, from joint places (n, 19, 2)."""
    axes = np.empty_like(pixels)
    for joint in Joint:
        side, _, part = joint.name.rpartition("_")
        if part in _AXES:
            ray = pixels[:, Joint[f"{side}_{_AXES[part]}"]] - pixels[:, joint]
        elif part in _BACK:
            ray = pixels[:, joint] - pixels[:, Joint[f"{side}_{_BACK[part]}"]]
        else:
            ray = pixels[:, joint] - 0.5 * (pixels[:, Joint.LEFT_SHOULDER] + pixels[:, Joint.RIGHT_SHOULDER])
        axes[:, joint] = ray / np.maximum(np.linalg.norm(ray, axis=-1, keepdims=True), 1e-6)
    return axes


def measure_speed(pixels: Array, times_s: Array, scale: Array) -> Array:
    """Return (n, 19) speed of each joint in model metres a second; zeros for fewer than three pictures."""
    if len(times_s) < 3:
        return np.zeros(pixels.shape[:2])
    rate = np.gradient(pixels, times_s, axis=0)
    return np.asarray(np.linalg.norm(rate, axis=-1) / scale[:, None])


def build_noise_features(raw: RawLandmarks, speed_mps: Array) -> Array:
    """Return (n, 19, 6): 1, lack of heat, lack of visibility, log spread, log region cell, log(1 + speed)."""
    scale = estimate_scale(raw)[:, None]
    cell = np.maximum(raw.region_size_px, 1.0)[:, None] / HEAT_CELLS / scale
    features = np.empty((len(scale), JOINTS, NOISE_FEATURES))
    for joint in Joint:
        marks = list(JOINT_LANDMARKS[joint])
        spread = np.maximum(raw.spread_px[:, marks].mean(axis=1, keepdims=True), 0.1) / scale
        columns = [
            np.ones_like(cell),
            1.0 - raw.peak[:, marks].mean(axis=1, keepdims=True),
            1.0 - raw.visibility[:, marks].mean(axis=1, keepdims=True),
            np.log(spread / cell),
            np.log(cell),
            np.log1p(np.minimum(speed_mps[:, [joint]], 30.0)),
        ]
        features[:, joint] = np.concatenate(columns, axis=1)
    return features


def predict_covariance(model: NoiseModel, raw: RawLandmarks, pixels: Array, times_s: Array) -> Array:
    """Return (n, 19, 2, 2) covariance in px^2 of joint places `pixels` (n, 19, 2), all of it: standing and noise."""
    scale = estimate_scale(raw)
    features = build_noise_features(raw, measure_speed(pixels, times_s, scale))
    kinds = [find_kind(joint) for joint in Joint]
    log_variance = np.einsum("njf,jaf->nja", features, model.coefficients[kinds])
    least = (LEAST_STANDARD_CELLS * raw.region_size_px / HEAT_CELLS) ** 2
    variance = np.exp(np.clip(log_variance, -16.0, 0.0)) * scale[:, None, None] ** 2
    return turn_variances(np.maximum(variance, least[:, None, None]), find_limb_axes(pixels))


def turn_variances(variances: Array, axes: Array) -> Array:
    """Return (..., 2, 2) covariances with variances (..., 2) along and across unit vectors (..., 2)."""
    across = np.stack([-axes[..., 1], axes[..., 0]], axis=-1)
    along_part = variances[..., 0, None, None] * axes[..., :, None] * axes[..., None, :]
    return np.asarray(along_part + variances[..., 1, None, None] * across[..., :, None] * across[..., None, :])
