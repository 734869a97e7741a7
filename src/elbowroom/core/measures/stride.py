"""Measures of the stride, the lead leg, the head, the glove and the finish, in the field frame."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from elbowroom.core.geometry.angles import measure_flexion_deg
from elbowroom.core.geometry.vectors import find_middle
from elbowroom.core.landmarks.names import Joint
from elbowroom.core.measures.rules import (
    BR,
    CONVENTION,
    FC,
    FINISH,
    LB,
    LIFT,
    OWN,
    PITCHES,
    MeasureRule,
    build_rules_at,
)
from elbowroom.core.measures.scene import Scene
from elbowroom.core.measures.types import MeasureDefinition

Array = NDArray[np.float64]


def find_lead_foot(joints: Array) -> Array:
    """Return the middle of the lead foot, half-way from heel to toe, (..., 19, 3) -> (..., 3) metres."""
    return find_middle(joints[..., Joint.LEFT_HEEL, :], joints[..., Joint.LEFT_TOE, :])


def find_pivot_foot(joints: Array) -> Array:
    """Return the middle of the pivot foot, half-way from heel to toe, (..., 19, 3) -> (..., 3) metres."""
    return find_middle(joints[..., Joint.RIGHT_HEEL, :], joints[..., Joint.RIGHT_TOE, :])


def measure_lead_knee(joints: Array) -> Array:
    """Return the lead knee's flexion, (..., 19, 3) -> (...) deg, 0 straight."""
    return measure_flexion_deg(
        joints[..., Joint.LEFT_HIP, :], joints[..., Joint.LEFT_KNEE, :], joints[..., Joint.LEFT_ANKLE, :]
    )


def measure_lead_foot_angle(joints: Array) -> Array:
    """Return the lead foot's direction, heel to toe, against the line to the target, (...) deg, + closed."""
    foot = joints[..., Joint.LEFT_TOE, :] - joints[..., Joint.LEFT_HEEL, :]
    return np.asarray(np.degrees(np.arctan2(-foot[..., 1], foot[..., 0])))


def measure_head_ahead(joints: Array) -> Array:
    """Return how far the head is ahead of the lead ankle towards the target, (..., 19, 3) -> (...) metres."""
    return np.asarray(joints[..., Joint.HEAD, 0] - joints[..., Joint.LEFT_ANKLE, 0])


def measure_head_aside(joints: Array) -> Array:
    """Return how far the head is beside the lead ankle, (..., 19, 3) -> (...) metres, + glove side."""
    return np.asarray(joints[..., Joint.HEAD, 1] - joints[..., Joint.LEFT_ANKLE, 1])


def measure_glove_height(joints: Array) -> Array:
    """Return the glove hand's height over the glove shoulder, (..., 19, 3) -> (...) metres."""
    return np.asarray(joints[..., Joint.LEFT_HAND, 2] - joints[..., Joint.LEFT_SHOULDER, 2])


def measure_balance(joints: Array) -> Array:
    """Return how far the middle of the hips is beside the lead ankle, (..., 19, 3) -> (...) metres, + glove side."""
    hips = find_middle(joints[..., Joint.RIGHT_HIP, :], joints[..., Joint.LEFT_HIP, :])
    return np.asarray(hips[..., 1] - joints[..., Joint.LEFT_ANKLE, 1])


def _measure_stride(scene: Scene) -> Array:
    lead, pivot = scene.find_pose(FC)[:, Joint.LEFT_ANKLE], scene.find_pose(LIFT)[:, Joint.RIGHT_ANKLE]
    return np.asarray(lead[:, 0] - pivot[:, 0])


def _measure_stride_share(scene: Scene) -> Array:
    return 100.0 * _measure_stride(scene) / scene.setting.height_m


def _measure_offset(scene: Scene) -> Array:
    lead, pivot = find_lead_foot(scene.find_pose(FC)), find_pivot_foot(scene.find_pose(LIFT))
    return np.asarray(pivot[:, 1] - lead[:, 1])


def _measure_knee_change(scene: Scene) -> Array:
    return measure_lead_knee(scene.find_pose(FC)) - measure_lead_knee(scene.find_pose(BR))


STRIDE_LENGTH = MeasureDefinition(
    key="stride_length",
    words="stride length",
    unit="m",
    definition="Distance along the line to the target from the pivot ankle at lift to the lead ankle at foot contact.",
    sign="+ towards the target.",
    source=CONVENTION,
)
STRIDE_SHARE = MeasureDefinition(
    key="stride_length_share",
    words="stride length as a share of height",
    unit="%",
    definition="Stride length (ankle to ankle) over standing height.",
    sign="+ towards the target.",
    source=CONVENTION,
)
STRIDE_OFFSET = MeasureDefinition(
    key="stride_offset",
    words="stride offset",
    unit="m",
    definition="Distance of the lead foot (half-way from heel to toe) at foot contact from the line to the target "
    "through the middle of the pivot foot at lift.",
    sign="+ across the body (closed), - open.",
    source=CONVENTION,
    headline=True,
)
FOOT_ANGLE = MeasureDefinition(
    key="lead_foot_angle",
    words="lead foot angle",
    unit="deg",
    definition="Direction of the lead foot from heel to toe, seen from above, against the line to the target.",
    sign="+ closed (towards the throwing side), - open.",
    source=CONVENTION,
)
LEAD_KNEE = MeasureDefinition(
    key="lead_knee_flexion",
    words="lead knee flexion",
    unit="deg",
    definition="Angle between the lead thigh produced and the shank, from three joint centres.",
    sign="0 straight, + bent.",
    source=CONVENTION,
)
KNEE_CHANGE = MeasureDefinition(
    key="lead_knee_extension",
    words="lead knee extension from foot contact to release",
    unit="deg",
    definition="Lead knee flexion at foot contact minus that at release.",
    sign="+ the knee straightens, - it gives way.",
    source=OWN,
)
HEAD_AHEAD = MeasureDefinition(
    key="head_ahead_of_lead_foot",
    words="head ahead of the lead foot",
    unit="m",
    definition="Distance along the line to the target from the lead ankle to the middle of the ears.",
    sign="+ head nearer to the target than the ankle, - behind it.",
    source=OWN,
)
HEAD_ASIDE = MeasureDefinition(
    key="head_beside_lead_foot",
    words="head beside the lead foot",
    unit="m",
    definition="Distance across the line to the target from the lead ankle to the middle of the ears.",
    sign="+ head to the glove side, - to the throwing side.",
    source=OWN,
)
GLOVE_HEIGHT = MeasureDefinition(
    key="glove_height",
    words="glove height",
    unit="m",
    definition="Height of the glove hand over the glove shoulder.",
    sign="+ above the shoulder, - below.",
    source=OWN,
)
BALANCE = MeasureDefinition(
    key="balance",
    words="balance",
    unit="m",
    definition="Distance across the line to the target from the lead ankle to the middle of the hips.",
    sign="+ hips to the glove side of the lead ankle, - to the throwing side.",
    source=OWN,
)


def _build_stride_rule(definition: MeasureDefinition, compute: Callable[[Scene], Array]) -> MeasureRule:
    return MeasureRule(definition=definition, needs=(LIFT, FC), compute=compute, kinds=PITCHES, needs_target=True)


STRIDE_MEASURES: tuple[MeasureRule, ...] = (
    _build_stride_rule(STRIDE_LENGTH, _measure_stride),
    _build_stride_rule(STRIDE_SHARE, _measure_stride_share),
    _build_stride_rule(STRIDE_OFFSET, _measure_offset),
    *build_rules_at(FOOT_ANGLE, (FC,), measure_lead_foot_angle, needs_target=True),
    *build_rules_at(LEAD_KNEE, (FC, LB, BR), measure_lead_knee),
    MeasureRule(definition=KNEE_CHANGE, needs=(FC, BR), compute=_measure_knee_change),
    *build_rules_at(HEAD_AHEAD, (FC, BR), measure_head_ahead, needs_target=True),
    *build_rules_at(HEAD_ASIDE, (FC, BR), measure_head_aside, needs_target=True),
    *build_rules_at(GLOVE_HEIGHT, (FC, BR), measure_glove_height),
    *build_rules_at(BALANCE, (FINISH,), measure_balance, needs_target=True),
)
"""Rules of the stride, the lead leg, the head, the glove and the finish."""
