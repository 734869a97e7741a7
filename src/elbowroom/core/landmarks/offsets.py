"""The standing offset from landmark to joint centre, from the layout of the landmarks themselves."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from elbowroom.core.landmarks.layout import estimate_scale, mirror_landmarks
from elbowroom.core.landmarks.models import KINDS, OffsetModel, find_kind
from elbowroom.core.landmarks.names import JOINT_LANDMARKS, JOINTS, Joint, Landmark
from elbowroom.core.landmarks.types import RawLandmarks

Array = NDArray[np.float64]

CONTEXT: tuple[Landmark, ...] = (
    *(mark for mark in Landmark if mark.name.startswith("RIGHT_") and mark >= Landmark.RIGHT_EAR),
    *(Landmark[f"LEFT_{part}"] for part in ("SHOULDER", "ELBOW", "WRIST", "HIP", "KNEE", "ANKLE", "EAR")),
    Landmark.NOSE,
)
"""Landmarks whose places, heat and visibility the offset of a RIGHT joint is read from."""
FEATURES = len(CONTEXT) * 7 + 2
"""Number of features of a joint."""


def find_right_joint(kind: int) -> Joint:
    """Return the RIGHT joint (or the head) of a kind."""
    return Joint.HEAD if KINDS[kind] == "HEAD" else Joint[f"RIGHT_{KINDS[kind]}"]


def build_features(raw: RawLandmarks, kind: int) -> Array:
    """Return (n, FEATURES) features of the RIGHT joint of a kind in n pictures.

    Places of the context landmarks from the joint's own landmark, in the picture (model metres) and in the model's
    world, their visibility and heat, and the size of the body and of the region in the picture.
    """
    scale = estimate_scale(raw)
    marks = list(JOINT_LANDMARKS[find_right_joint(kind)])
    context = list(CONTEXT)
    flat = (raw.pixels[:, context] - raw.pixels[:, marks].mean(axis=1, keepdims=True)) / scale[:, None, None]
    solid = raw.world_m[:, context] - raw.world_m[:, marks].mean(axis=1, keepdims=True)
    n = len(scale)
    return np.concatenate(
        [
            flat.reshape(n, -1),
            solid.reshape(n, -1),
            raw.visibility[:, context],
            raw.peak[:, context],
            np.log(scale)[:, None],
            np.log(np.maximum(raw.region_size_px, 1.0) / scale)[:, None],
        ],
        axis=1,
    )


def predict_right(model: OffsetModel, raw: RawLandmarks, kind: int) -> Array:
    """Return (n, 2) the offset of the RIGHT joint of a kind, model metres in the picture."""
    features = (build_features(raw, kind) - model.centre[kind]) / model.spread[kind]
    hidden = np.tanh(np.clip(features, -3.0, 3.0) @ model.hidden[kind] + model.hidden_bias[kind])
    return np.asarray(hidden @ model.output[kind] + model.output_bias[kind])


def predict_offsets(model: OffsetModel, raw: RawLandmarks) -> Array:
    """Return (n, 19, 2) landmark minus joint centre in pixels for every joint.

    A left joint's offset is that of the right joint in the mirrored picture, mirrored back; the head's is the mean of
    both readings. So a mirrored picture gives mirrored offsets exactly.
    """
    mirrored = mirror_landmarks(raw, 1)
    flip = np.array([-1.0, 1.0])
    offsets = np.empty((len(raw.pixels), JOINTS, 2))
    for joint in Joint:
        kind = find_kind(joint)
        if joint is Joint.HEAD:
            both = predict_right(model, raw, kind) + predict_right(model, mirrored, kind) * flip
            offsets[:, joint] = 0.5 * both
        elif joint.name.startswith("RIGHT"):
            offsets[:, joint] = predict_right(model, raw, kind)
        else:
            offsets[:, joint] = predict_right(model, mirrored, kind) * flip
    return offsets * estimate_scale(raw)[:, None, None]


def average_landmarks(raw: RawLandmarks) -> Array:
    """Return (n, 19, 2) the mean place of each joint's landmarks in pixels, before the offset is taken off."""
    places = [raw.pixels[:, list(JOINT_LANDMARKS[joint])].mean(axis=1) for joint in Joint]
    return np.stack(places, axis=1)
