"""Turning rates and speeds."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from elbowroom.core.geometry.vectors import measure_length
from elbowroom.core.landmarks.names import Joint
from elbowroom.core.measures.arm import measure_elbow_flexion, measure_external_rotation
from elbowroom.core.measures.rules import (
    A1,
    BR,
    CONVENTION,
    FC,
    OWN,
    MeasureRule,
    Permit,
    find_largest,
    find_largest_times,
    measure_rate,
)
from elbowroom.core.measures.scene import AFTER_RELEASE_S, BEFORE_CONTACT_S, Scene
from elbowroom.core.measures.trunk import measure_pelvis_opening, measure_trunk_opening
from elbowroom.core.measures.types import MeasureDefinition
from elbowroom.core.quantities.types import Absent

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]

FROM_CONTACT_TO_AFTER_RELEASE_S = 0.5 * AFTER_RELEASE_S
"""The arm's peak rates may come this long after release."""


def measure_pelvis_rate(scene: Scene) -> Array:
    """Return the rate of pelvis opening along the path, (s, n) deg/s."""
    return measure_rate(scene.path, scene.find_series(measure_pelvis_opening))


def measure_trunk_rate(scene: Scene) -> Array:
    """Return the rate of trunk opening along the path, (s, n) deg/s."""
    return measure_rate(scene.path, scene.find_series(measure_trunk_opening))


def measure_elbow_rate(scene: Scene) -> Array:
    """Return the rate of elbow extension along the path, (s, n) deg/s, + straightening."""
    return -measure_rate(scene.path, scene.find_series(measure_elbow_flexion))


def measure_shoulder_rate(scene: Scene) -> Array:
    """Return the rate of internal rotation along the path, (s, n) deg/s; not-a-number where it is not defined."""
    rotation = scene.find_series(measure_external_rotation)
    known = np.where(np.isfinite(rotation), rotation, 0.0)
    rate = -measure_rate(scene.path, known)
    is_known = np.isfinite(rotation)
    is_safe = is_known.copy()
    # A difference that reaches over an unknown sample, or over two, is not a rate.
    is_safe[:, 1:] &= is_known[:, :-1]
    is_safe[:, :-1] &= is_known[:, 1:]
    return np.where(is_safe, rate, np.nan)


def find_trunk_phase(scene: Scene) -> Mask:
    """Return where pelvis and trunk may be fastest: shortly before foot contact to release, (s, n)."""
    return scene.path.find_between(scene.times_s[FC] - BEFORE_CONTACT_S, scene.times_s[BR])


def find_arm_phase(scene: Scene) -> Mask:
    """Return where the arm may be fastest: foot contact to shortly after release, (s, n)."""
    return scene.path.find_between(scene.times_s[FC], scene.times_s[BR] + FROM_CONTACT_TO_AFTER_RELEASE_S)


def find_pelvis_peak(scene: Scene) -> Array:
    """Return when the pelvis turns fastest, (s,) seconds."""
    return find_largest_times(scene.path, measure_pelvis_rate(scene), find_trunk_phase(scene))


def find_trunk_peak(scene: Scene) -> Array:
    """Return when the trunk turns fastest, (s,) seconds."""
    return find_largest_times(scene.path, measure_trunk_rate(scene), find_trunk_phase(scene))


def find_elbow_peak(scene: Scene) -> Array:
    """Return when the elbow straightens fastest, (s,) seconds."""
    return find_largest_times(scene.path, measure_elbow_rate(scene), find_arm_phase(scene))


def find_shoulder_peak(scene: Scene) -> Array:
    """Return when the shoulder rotates inwards fastest, (s,) seconds."""
    return find_largest_times(scene.path, measure_shoulder_rate(scene), find_arm_phase(scene))


def _measure_hand_speed(scene: Scene) -> Array:
    return measure_length(scene.find_velocity(BR, Joint.RIGHT_HAND))


def _refuse_ball_speed(scene: Scene) -> Absent:
    return Absent(
        reason="Ball flight is not tracked yet; the hand speed at release is given.",
        advice="Use a radar gun for the speed of the ball.",
    )


PELVIS_RATE = MeasureDefinition(
    key="largest_pelvis_rate",
    words="largest turning rate of the pelvis",
    unit="deg/s",
    definition="Largest rate of change of pelvis opening from 0.1 s before foot contact to release.",
    sign="+ opening to the target.",
    source=A1,
)
TRUNK_RATE = MeasureDefinition(
    key="largest_trunk_rate",
    words="largest turning rate of the trunk",
    unit="deg/s",
    definition="Largest rate of change of trunk opening from 0.1 s before foot contact to release.",
    sign="+ opening to the target.",
    source=A1,
)
ELBOW_RATE = MeasureDefinition(
    key="largest_elbow_extension_rate",
    words="largest rate of elbow extension",
    unit="deg/s",
    definition="Largest rate at which elbow flexion falls, from foot contact to 0.03 s after release.",
    sign="+ straightening.",
    source=CONVENTION,
)
SHOULDER_RATE = MeasureDefinition(
    key="largest_internal_rotation_rate",
    words="largest rate of shoulder internal rotation",
    unit="deg/s",
    definition="Largest rate at which external rotation falls, from foot contact to 0.03 s after release, while the "
    "elbow is bent enough to define it.",
    sign="+ internal rotation.",
    source=CONVENTION,
)
HAND_SPEED = MeasureDefinition(
    key="hand_speed_at_release",
    words="hand speed at release",
    unit="m/s",
    definition="Speed of the throwing hand's centre in the field frame.",
    sign="Never negative.",
    source=OWN,
)
BALL_SPEED = MeasureDefinition(
    key="ball_speed",
    words="ball speed",
    unit="m/s",
    definition="Speed of the ball just after release, from its seen flight.",
    sign="Never negative.",
    source=OWN,
)

RATE_MEASURES: tuple[MeasureRule, ...] = (
    MeasureRule(
        definition=PELVIS_RATE,
        needs=(FC, BR),
        compute=lambda scene: find_largest(measure_pelvis_rate(scene), find_trunk_phase(scene)),
        permit=Permit.SLOW_RATES,
        is_over_phase=True,
    ),
    MeasureRule(
        definition=TRUNK_RATE,
        needs=(FC, BR),
        compute=lambda scene: find_largest(measure_trunk_rate(scene), find_trunk_phase(scene)),
        permit=Permit.SLOW_RATES,
        is_over_phase=True,
    ),
    MeasureRule(
        definition=ELBOW_RATE,
        needs=(FC, BR),
        compute=lambda scene: find_largest(measure_elbow_rate(scene), find_arm_phase(scene)),
        permit=Permit.FAST_RATES,
        is_over_phase=True,
    ),
    MeasureRule(
        definition=SHOULDER_RATE,
        needs=(FC, BR),
        compute=lambda scene: find_largest(measure_shoulder_rate(scene), find_arm_phase(scene)),
        permit=Permit.FAST_RATES,
        is_over_phase=True,
    ),
    MeasureRule(definition=HAND_SPEED, needs=(BR,), compute=_measure_hand_speed, permit=Permit.SLOW_RATES),
    MeasureRule(definition=BALL_SPEED, needs=(BR,), compute=_refuse_ball_speed),
)
"""Rules of turning rates and speeds."""
