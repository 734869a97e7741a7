"""Measures of the throwing arm, in the frame of the trunk unless said otherwise."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from elbowroom.core.geometry.angles import (
    TrunkFrame,
    build_trunk_frame,
    measure_abduction_deg,
    measure_elbow_line_deg,
    measure_flexion_deg,
    measure_horizontal_deg,
    measure_rotation_deg,
)
from elbowroom.core.geometry.vectors import find_middle, measure_distance_to_line, measure_length
from elbowroom.core.landmarks.names import Joint
from elbowroom.core.measures.rules import (
    BR,
    CONVENTION,
    FC,
    LB,
    OWN,
    MeasureRule,
    build_extreme_rule,
    build_rules_at,
)
from elbowroom.core.measures.types import MeasureDefinition

Array = NDArray[np.float64]

STRAIGHT_ELBOW_DEG = 20.0
"""Elbow flexion below which external rotation is not defined: 1 cm of error across the forearm turns it by 7 deg."""
ARM_ALONG_TRUNK_SINE = 0.2
"""Sine of the angle between upper arm and trunk below which external rotation has no zero."""


def build_trunk(joints: Array) -> TrunkFrame:
    """Return the trunk's frame of poses (..., 19, 3)."""
    return build_trunk_frame(
        joints[..., Joint.RIGHT_SHOULDER, :],
        joints[..., Joint.LEFT_SHOULDER, :],
        joints[..., Joint.RIGHT_HIP, :],
        joints[..., Joint.LEFT_HIP, :],
    )


def find_upper_arm(joints: Array) -> Array:
    """Return the throwing upper arm, shoulder to elbow, of poses (..., 19, 3) -> (..., 3) metres."""
    return np.asarray(joints[..., Joint.RIGHT_ELBOW, :] - joints[..., Joint.RIGHT_SHOULDER, :])


def find_forearm(joints: Array) -> Array:
    """Return the throwing forearm, elbow to wrist, of poses (..., 19, 3) -> (..., 3) metres."""
    return np.asarray(joints[..., Joint.RIGHT_WRIST, :] - joints[..., Joint.RIGHT_ELBOW, :])


def measure_elbow_line(joints: Array) -> Array:
    """Return the elbow's angle to the shoulder line, (..., 19, 3) -> (...) deg, + above."""
    return measure_elbow_line_deg(build_trunk(joints), find_upper_arm(joints))


def measure_abduction(joints: Array) -> Array:
    """Return shoulder abduction, (..., 19, 3) -> (...) deg, 90 level with the shoulders."""
    return measure_abduction_deg(build_trunk(joints), find_upper_arm(joints))


def measure_horizontal(joints: Array) -> Array:
    """Return horizontal adduction, (..., 19, 3) -> (...) deg, + in front, - behind."""
    return measure_horizontal_deg(build_trunk(joints), find_upper_arm(joints))


def measure_elbow_flexion(joints: Array) -> Array:
    """Return elbow flexion, (..., 19, 3) -> (...) deg, 0 straight."""
    return measure_flexion_deg(
        joints[..., Joint.RIGHT_SHOULDER, :], joints[..., Joint.RIGHT_ELBOW, :], joints[..., Joint.RIGHT_WRIST, :]
    )


def measure_external_rotation(joints: Array) -> Array:
    """Return external rotation, (..., 19, 3) -> (...) deg; not-a-number where it is not defined."""
    trunk, arm = build_trunk(joints), find_upper_arm(joints)
    rotation = measure_rotation_deg(trunk, arm, find_forearm(joints))
    is_along = measure_length(np.cross(trunk.up, arm)) < ARM_ALONG_TRUNK_SINE * measure_length(arm)
    return np.where(is_along | (measure_elbow_flexion(joints) < STRAIGHT_ELBOW_DEG), np.nan, rotation)


def measure_ball_distance(joints: Array) -> Array:
    """Return the hand centre's distance from the trunk's long axis, (..., 19, 3) -> (...) metres."""
    hips = find_middle(joints[..., Joint.RIGHT_HIP, :], joints[..., Joint.LEFT_HIP, :])
    shoulders = find_middle(joints[..., Joint.RIGHT_SHOULDER, :], joints[..., Joint.LEFT_SHOULDER, :])
    return measure_distance_to_line(joints[..., Joint.RIGHT_HAND, :], hips, shoulders - hips)


def measure_ball_share(joints: Array) -> Array:
    """Return the ball distance over upper arm plus forearm length, (..., 19, 3) -> (...) share."""
    arm_m = measure_length(find_upper_arm(joints)) + measure_length(find_forearm(joints))
    return np.asarray(measure_ball_distance(joints) / arm_m)


def measure_arm_slot(joints: Array) -> Array:
    """Return the forearm's angle over horizontal in the field's frontal plane, (..., 19, 3) -> (...) deg."""
    forearm = find_forearm(joints)
    return np.asarray(np.degrees(np.arctan2(forearm[..., 2], -forearm[..., 1])))


ELBOW_LINE = MeasureDefinition(
    key="elbow_to_shoulder_line",
    words="elbow to shoulder line",
    unit="deg",
    definition="Angle between the upper arm and the line from the glove shoulder to the throwing shoulder produced "
    "beyond it, in the trunk's frontal plane; it follows the trunk when that leans.",
    sign="+ elbow above the shoulder line, - below.",
    source=OWN,
)
ABDUCTION = MeasureDefinition(
    key="shoulder_abduction",
    words="shoulder abduction",
    unit="deg",
    definition="Angle between the upper arm and straight down the trunk's long axis, in the trunk's frontal plane.",
    sign="90 level with the shoulders, more is higher.",
    source=CONVENTION,
)
HORIZONTAL = MeasureDefinition(
    key="horizontal_abduction",
    words="horizontal abduction",
    unit="deg",
    definition="Angle of the upper arm from the shoulder-to-shoulder axis in the trunk's transverse plane.",
    sign="+ in front of the chest (adduction), - behind it (abduction).",
    source=CONVENTION,
)
ROTATION = MeasureDefinition(
    key="external_rotation",
    words="external rotation",
    unit="deg",
    definition="Turn of the forearm (elbow to wrist) about the upper arm against the trunk, which includes what the "
    "shoulder blade and the back add; not defined near a straight elbow.",
    sign="0 forearm forward, 90 towards the head, 180 back.",
    source=CONVENTION,
)
FLEXION = MeasureDefinition(
    key="elbow_flexion",
    words="elbow flexion",
    unit="deg",
    definition="Angle between the upper arm produced and the forearm, from three joint centres.",
    sign="0 straight, + bent.",
    source=CONVENTION,
)
BALL_DISTANCE = MeasureDefinition(
    key="ball_distance",
    words="ball distance",
    unit="m",
    definition="Perpendicular distance of the ball (the hand's centre where the ball is not seen) from the trunk's "
    "long axis.",
    sign="Never negative; more is farther from the turning axis.",
    source=OWN,
)
BALL_SHARE = MeasureDefinition(
    key="ball_distance_share",
    words="ball distance as a share of the arm",
    unit="1",
    definition="Ball distance over the length of upper arm plus forearm.",
    sign="Never negative; more is farther from the turning axis.",
    source=OWN,
)
ARM_SLOT = MeasureDefinition(
    key="arm_slot",
    words="arm slot",
    unit="deg",
    definition="Angle of the forearm (elbow to wrist) over horizontal, seen along the line to the target.",
    sign="0 sidearm, 90 straight over the top, - from below.",
    source=OWN,
)


ARM_MEASURES: tuple[MeasureRule, ...] = (
    *build_rules_at(ELBOW_LINE, (FC, LB, BR), measure_elbow_line, headline=(FC,)),
    build_extreme_rule(ELBOW_LINE, "lowest", (FC, LB), measure_elbow_line),
    *build_rules_at(BALL_DISTANCE, (LB,), measure_ball_distance),
    *build_rules_at(BALL_SHARE, (LB,), measure_ball_share, headline=(LB,)),
    build_extreme_rule(BALL_DISTANCE, "largest", (FC, LB), measure_ball_distance),
    *build_rules_at(ABDUCTION, (FC, LB, BR), measure_abduction),
    build_extreme_rule(ABDUCTION, "largest", (FC, BR), measure_abduction),
    *build_rules_at(HORIZONTAL, (FC, LB, BR), measure_horizontal),
    build_extreme_rule(HORIZONTAL, "largest", (FC, BR), measure_horizontal),
    *build_rules_at(ROTATION, (FC, LB, BR), measure_external_rotation),
    build_extreme_rule(ROTATION, "largest", (FC, BR), measure_external_rotation),
    *build_rules_at(FLEXION, (FC, LB, BR), measure_elbow_flexion),
    build_extreme_rule(FLEXION, "largest", (FC, BR), measure_elbow_flexion),
    *build_rules_at(ARM_SLOT, (BR,), measure_arm_slot, needs_target=True),
)
"""Rules of the throwing arm."""
