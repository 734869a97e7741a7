"""The signals in which instants show: one row per draw, one column per time."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from elbowroom.core.geometry.angles import (
    build_trunk_frame,
    measure_flexion_deg,
    measure_forward_tilt_deg,
    measure_rotation_deg,
)
from elbowroom.core.geometry.splines import evaluate_curves
from elbowroom.core.geometry.vectors import find_middle, measure_length
from elbowroom.core.landmarks.names import Joint
from elbowroom.core.reconstruction.types import Curves

Array = NDArray[np.float64]

LEAD_FOOT = (Joint.LEFT_ANKLE, Joint.LEFT_HEEL, Joint.LEFT_TOE)
"""Points of the lead foot; their mean is steadier than any of them."""
CHORD_S = 0.025
"""The foot's speed is that over the chord from this long before to this long after: on rendered throws with noise of
3 mm this made the scatter of foot contact four times smaller than the speed at the moment, and moved it by 0.2 ms."""
STRAIGHT_ELBOW_DEG = 20.0
"""Elbow flexion below which the forearm no longer shows the turn of the upper arm: a landmark error of 1 cm across a
25 cm forearm then turns it by 7 deg or more (project's choice)."""


def measure_path(curves: Curves, joints: tuple[Joint, ...], times_s: Array, derivative: int = 0) -> Array:
    """Return places (m), or their derivative, of some joints: (n,) times -> (s, n, joints, 3)."""
    return evaluate_curves(curves.knots_s, curves.coefficients_m[:, :, list(joints)], times_s, derivative)


def measure_hand_speed(curves: Curves, times_s: Array) -> Array:
    """Return the speed of the throwing hand, m/s, (s, n)."""
    return measure_length(measure_path(curves, (Joint.RIGHT_HAND,), times_s, 1)[:, :, 0])


def measure_hands_parting(curves: Curves, times_s: Array) -> Array:
    """Return the distance between the hands over the throwing forearm's length with the hand, a share, (s, n)."""
    path = measure_path(curves, (Joint.RIGHT_HAND, Joint.LEFT_HAND, Joint.RIGHT_ELBOW, Joint.RIGHT_WRIST), times_s)
    hand, glove, elbow, wrist = np.moveaxis(path, 2, 0)
    return np.asarray(measure_length(hand - glove) / (measure_length(wrist - elbow) + measure_length(hand - wrist)))


def measure_trunk_tilt(curves: Curves, times_s: Array) -> Array:
    """Return the forward tilt of the trunk's long axis, deg, (s, n)."""
    joints = (Joint.RIGHT_SHOULDER, Joint.LEFT_SHOULDER, Joint.RIGHT_HIP, Joint.LEFT_HIP)
    right_shoulder, left_shoulder, right_hip, left_hip = np.moveaxis(measure_path(curves, joints, times_s), 2, 0)
    return measure_forward_tilt_deg(find_middle(right_shoulder, left_shoulder) - find_middle(right_hip, left_hip))


def measure_lead_knee_height(curves: Curves, times_s: Array) -> Array:
    """Return the height of the lead knee, m, (s, n)."""
    return np.asarray(measure_path(curves, (Joint.LEFT_KNEE,), times_s)[:, :, 0, 2])


def measure_lead_foot_speed(curves: Curves, times_s: Array) -> Array:
    """Return the speed of the middle of the lead foot's points from chord to chord, m/s, (s, n)."""
    before = measure_path(curves, LEAD_FOOT, times_s - CHORD_S).mean(axis=2)
    after = measure_path(curves, LEAD_FOOT, times_s + CHORD_S).mean(axis=2)
    return np.asarray(measure_length(after - before) / (2.0 * CHORD_S))


def measure_lead_foot_distance(curves: Curves, times_s: Array, standing_s: float) -> Array:
    """Return the distance of the lead foot's middle from where it stands in the last `standing_s` seconds, m (s, n)."""
    path = measure_path(curves, LEAD_FOOT, times_s).mean(axis=2)
    place = np.median(path[:, times_s >= times_s[-1] - standing_s], axis=1)
    return np.asarray(measure_length(path - place[:, None]))


def measure_external_rotation(curves: Curves, times_s: Array) -> Array:
    """Return the shoulder's external rotation, deg, (s, n); not-a-number where the elbow is too straight to tell."""
    joints = (
        Joint.RIGHT_SHOULDER,
        Joint.LEFT_SHOULDER,
        Joint.RIGHT_HIP,
        Joint.LEFT_HIP,
        Joint.RIGHT_ELBOW,
        Joint.RIGHT_WRIST,
    )
    shoulder, glove_shoulder, hip, glove_hip, elbow, wrist = np.moveaxis(measure_path(curves, joints, times_s), 2, 0)
    trunk = build_trunk_frame(shoulder, glove_shoulder, hip, glove_hip)
    rotation = measure_rotation_deg(trunk, elbow - shoulder, wrist - elbow)
    return np.where(measure_flexion_deg(shoulder, elbow, wrist) < STRAIGHT_ELBOW_DEG, np.nan, rotation)
