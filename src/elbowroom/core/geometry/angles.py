"""Signed angles of the body, in degrees, over any number of poses at once.

Frame of a pose: z up and any handedness-preserving turn of the field; RIGHT is the throwing side (a left-hander is
mirrored before). Conventions of the shoulder: pitching research (Dillman 1993, Fleisig 1995-1999; check-values C,
from memory there), written out in each function.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from elbowroom.core.geometry.vectors import compute_dot, find_middle, normalise, remove_along

Array = NDArray[np.float64]


@dataclass(frozen=True, kw_only=True)
class TrunkFrame:
    """Right-angled axes of the trunk: the long axis is kept, the shoulder line is straightened against it."""

    up: Array
    """(..., 3) unit long axis, from the middle of the hips to the middle of the shoulders."""
    throwing: Array
    """(..., 3) unit axis towards the throwing side, at right angles to `up`, in the plane of the shoulder line."""
    forward: Array
    """(..., 3) unit axis out of the chest, normal of the frontal plane (up x throwing)."""
    shoulder_line: Array
    """(..., 3) unit vector from the glove shoulder to the throwing shoulder, as it is, not straightened."""


def build_trunk_frame(
    throwing_shoulder: Array, glove_shoulder: Array, throwing_hip: Array, glove_hip: Array
) -> TrunkFrame:
    """Return the trunk frame from four joint centres, each (..., 3) metres."""
    shoulder_line = normalise(throwing_shoulder - glove_shoulder)
    up = normalise(find_middle(throwing_shoulder, glove_shoulder) - find_middle(throwing_hip, glove_hip))
    throwing = normalise(remove_along(shoulder_line, up))
    return TrunkFrame(up=up, throwing=throwing, forward=np.cross(up, throwing), shoulder_line=shoulder_line)


def wrap_deg(angle_deg: Array, centre_deg: float = 0.0) -> Array:
    """Return the same directions within (centre - 180, centre + 180]."""
    return np.asarray(centre_deg + 180.0 - np.mod(centre_deg + 180.0 - angle_deg, 360.0))


def measure_angle_in_plane_deg(vectors: Array, zero: Array, quarter: Array) -> Array:
    """Return the angle of the vectors' shadow in the plane of two unit axes: 0 along `zero`, +90 along `quarter`."""
    return np.asarray(np.degrees(np.arctan2(compute_dot(vectors, quarter), compute_dot(vectors, zero))))


def measure_angle_deg(first: Array, second: Array) -> Array:
    """Return the angle between vectors, 0 to 180; exact near 0 and 180, where an arc cosine is not."""
    a, b = normalise(first), normalise(second)
    half = np.arctan2(np.sqrt(compute_dot(a - b, a - b)), np.sqrt(compute_dot(a + b, a + b)))
    return np.asarray(2.0 * np.degrees(half))


def measure_flexion_deg(proximal: Array, joint: Array, distal: Array) -> Array:
    """Return the bend of a hinge from three joint centres (..., 3): 0 straight, towards 180 folded."""
    return measure_angle_deg(joint - proximal, distal - joint)


def measure_elbow_line_deg(trunk: TrunkFrame, upper_arm: Array) -> Array:
    """Return the upper arm's angle from the shoulder line produced, in the frontal plane: + above, - below.

    `upper_arm` runs from shoulder to elbow, (..., 3). The reference is the shoulder line itself, not its
    straightened axis: a level elbow on a tilted trunk is low (design.md 3).
    """
    above = normalise(remove_along(trunk.up, trunk.shoulder_line))
    return measure_angle_in_plane_deg(upper_arm, trunk.shoulder_line, above)


def measure_abduction_deg(trunk: TrunkFrame, upper_arm: Array) -> Array:
    """Return the upper arm's angle from straight down the trunk, in its frontal plane: 90 level with the shoulders."""
    return measure_angle_in_plane_deg(upper_arm, -trunk.up, trunk.throwing)


def measure_horizontal_deg(trunk: TrunkFrame, upper_arm: Array) -> Array:
    """Return the upper arm's angle from the shoulder axis in the trunk's transverse plane: + in front, - behind."""
    return measure_angle_in_plane_deg(upper_arm, trunk.throwing, trunk.forward)


def measure_rotation_deg(trunk: TrunkFrame, upper_arm: Array, forearm: Array) -> Array:
    """Return the forearm's turn about the upper arm: 0 forward, 90 to the head, 180 back, within (-90, 270].

    Zero is the direction at right angles to both the upper arm and the trunk's long axis, out of the chest, so it
    goes with the arm when that is behind or in front of the shoulder line. `upper_arm` runs from shoulder to elbow,
    `forearm` from elbow to wrist, each (..., 3). Not defined where the elbow is straight or the arm along the trunk.
    """
    arm = normalise(upper_arm)
    zero = normalise(np.cross(trunk.up, arm))
    return wrap_deg(measure_angle_in_plane_deg(forearm, zero, np.cross(arm, zero)), 90.0)


def measure_opening_deg(throwing_side: Array, glove_side: Array) -> Array:
    """Return how far a line of the body has opened to the target, field frame: 0 side-on, 90 facing it, - turned away.

    The line runs from the throwing side's joint to the glove side's, each (..., 3); its shadow on the ground counts.
    """
    line = glove_side - throwing_side
    return np.asarray(np.degrees(np.arctan2(line[..., 1], line[..., 0])))


def measure_forward_tilt_deg(long_axis: Array) -> Array:
    """Return the tilt of a long axis (..., 3) from vertical in the field's sagittal plane (x, z): + to the target."""
    return np.asarray(np.degrees(np.arctan2(long_axis[..., 0], long_axis[..., 2])))


def measure_side_tilt_deg(long_axis: Array) -> Array:
    """Return the tilt of a long axis (..., 3) from vertical in the field's frontal plane (y, z): + glove side."""
    return np.asarray(np.degrees(np.arctan2(long_axis[..., 1], long_axis[..., 2])))
