"""Measures of trunk and pelvis."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from elbowroom.core.geometry.angles import (
    measure_flexion_deg,
    measure_forward_tilt_deg,
    measure_opening_deg,
    measure_side_tilt_deg,
    wrap_deg,
)
from elbowroom.core.geometry.vectors import find_middle
from elbowroom.core.landmarks.names import Joint
from elbowroom.core.measures.rules import (
    A1,
    APART,
    BR,
    FC,
    FINISH,
    LB,
    LIFT,
    OWN,
    MeasureRule,
    Permit,
    build_extreme_rule,
    build_rules_at,
)
from elbowroom.core.measures.scene import Scene
from elbowroom.core.measures.types import MeasureDefinition

Array = NDArray[np.float64]

EARLY_OPENING_DEG = 10.0
"""Pelvis opening whose passing starts the early opening (design)."""


def measure_trunk_opening(joints: Array) -> Array:
    """Return the opening of the shoulder line, (..., 19, 3) -> (...) deg."""
    return measure_opening_deg(joints[..., Joint.RIGHT_SHOULDER, :], joints[..., Joint.LEFT_SHOULDER, :])


def measure_pelvis_opening(joints: Array) -> Array:
    """Return the opening of the hip line, (..., 19, 3) -> (...) deg."""
    return measure_opening_deg(joints[..., Joint.RIGHT_HIP, :], joints[..., Joint.LEFT_HIP, :])


def measure_separation(joints: Array) -> Array:
    """Return pelvis opening minus trunk opening, (..., 19, 3) -> (...) deg, + pelvis ahead."""
    return wrap_deg(measure_pelvis_opening(joints) - measure_trunk_opening(joints))


def find_long_axis(joints: Array) -> Array:
    """Return the trunk's long axis, middle of the hips to middle of the shoulders, (..., 19, 3) -> (..., 3) metres."""
    hips = find_middle(joints[..., Joint.RIGHT_HIP, :], joints[..., Joint.LEFT_HIP, :])
    return find_middle(joints[..., Joint.RIGHT_SHOULDER, :], joints[..., Joint.LEFT_SHOULDER, :]) - hips


def measure_forward_tilt(joints: Array) -> Array:
    """Return the trunk's forward tilt, (..., 19, 3) -> (...) deg."""
    return measure_forward_tilt_deg(find_long_axis(joints))


def measure_side_tilt(joints: Array) -> Array:
    """Return the trunk's side tilt, (..., 19, 3) -> (...) deg."""
    return measure_side_tilt_deg(find_long_axis(joints))


def measure_trunk_flexion(joints: Array) -> Array:
    """Return the bend between trunk and lead thigh, (..., 19, 3) -> (...) deg, 0 in line."""
    shoulders = find_middle(joints[..., Joint.RIGHT_SHOULDER, :], joints[..., Joint.LEFT_SHOULDER, :])
    return measure_flexion_deg(shoulders, joints[..., Joint.LEFT_HIP, :], joints[..., Joint.LEFT_KNEE, :])


def _measure_early_opening(scene: Scene) -> Array:
    times, joints = scene.find_trace((Joint.RIGHT_HIP, Joint.LEFT_HIP), LIFT, BR)
    above = measure_opening_deg(joints[:, :, 0], joints[:, :, 1]) - EARLY_OPENING_DEG
    is_inside = (times >= scene.times_s[LIFT][:, None]) & (times <= scene.times_s[BR][:, None])
    is_up = (above[:, :-1] < 0.0) & (above[:, 1:] >= 0.0) & is_inside[:, :-1] & is_inside[:, 1:]
    each = np.arange(len(above))
    last = above.shape[1] - 2 - is_up[:, ::-1].argmax(axis=1)
    low, high = above[each, last], above[each, last + 1]
    with np.errstate(invalid="ignore", divide="ignore"):
        passed_s = times[last] - low / (high - low) * (times[1] - times[0])
    return np.where(is_up.any(axis=1), scene.times_s[FC] - passed_s, np.nan)


TRUNK_OPENING = MeasureDefinition(
    key="trunk_opening",
    words="trunk opening",
    unit="deg",
    definition="Direction of the shoulder line, from the throwing to the glove shoulder, seen from above, against the "
    "line to the target.",
    sign="0 side-on to the target, 90 facing it, - turned away from it.",
    source=A1,
)
PELVIS_OPENING = MeasureDefinition(
    key="pelvis_opening",
    words="pelvis opening",
    unit="deg",
    definition="Direction of the hip line, from the throwing to the glove side, seen from above, against the line to "
    "the target.",
    sign="0 side-on to the target, 90 facing it, - turned away from it.",
    source=A1,
)
SEPARATION = MeasureDefinition(
    key="separation",
    words="hip-shoulder separation",
    unit="deg",
    definition="Pelvis opening minus trunk opening.",
    sign="+ pelvis ahead of the trunk (the opposite of the sign in the source).",
    source=A1,
)
FORWARD_TILT = MeasureDefinition(
    key="forward_tilt",
    words="forward tilt",
    unit="deg",
    definition="Trunk's long axis (middle of the hips to middle of the shoulders) against vertical, seen from the "
    "side of the field.",
    sign="+ towards the target.",
    source=A1,
)
SIDE_TILT = MeasureDefinition(
    key="side_tilt",
    words="side tilt",
    unit="deg",
    definition="Trunk's long axis against vertical, seen along the line to the target.",
    sign="+ towards the glove side.",
    source=OWN,
)
EARLY_OPENING = MeasureDefinition(
    key="early_opening_time",
    words="early opening",
    unit="s",
    definition="Time from the pelvis opening passing 10 deg for the last time before release to foot contact.",
    sign="+ the pelvis opens before foot contact, - after it.",
    source=OWN,
)
TRUNK_FLEXION = MeasureDefinition(
    key="trunk_flexion",
    words="trunk flexion",
    unit="deg",
    definition="Bend between the trunk (middle of the shoulders to the lead hip) and the lead thigh.",
    sign="0 in line, + bent.",
    source=OWN,
)

TRUNK_MEASURES: tuple[MeasureRule, ...] = (
    *build_rules_at(TRUNK_OPENING, (LIFT, FC, LB, BR), measure_trunk_opening, needs_target=True, headline=(FC,)),
    *build_rules_at(PELVIS_OPENING, (LIFT, APART, FC, LB, BR), measure_pelvis_opening, needs_target=True),
    *build_rules_at(SEPARATION, (FC,), measure_separation),
    build_extreme_rule(SEPARATION, "largest", (FC, BR), measure_separation),
    MeasureRule(
        definition=EARLY_OPENING,
        needs=(LIFT, FC, BR),
        compute=_measure_early_opening,
        permit=Permit.TIMES,
        needs_target=True,
        is_over_phase=True,
    ),
    *build_rules_at(FORWARD_TILT, (FC, LB, BR), measure_forward_tilt, needs_target=True),
    *build_rules_at(SIDE_TILT, (FC, LB, BR), measure_side_tilt, needs_target=True),
    *build_rules_at(TRUNK_FLEXION, (FINISH,), measure_trunk_flexion),
)
"""Rules of trunk and pelvis."""
