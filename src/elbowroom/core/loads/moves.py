"""Moving a motion along one measure with the rest held: what the model answers when only that is different.

Bones keep their lengths and hips, legs and feet stay where they were. A move acts on the jets of the joints, so the
moved motion has exact derivatives. It grows and fades by a step whose speed and acceleration have no jump.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from elbowroom.core.landmarks.names import Joint
from elbowroom.core.loads.jets import compute_cross_jet, compute_inner_jet, normalise_jet, scale_jet, turn_jet
from elbowroom.core.loads.types import Array, MoveDefinition

MOVE_JOINTS = (
    *(Joint.RIGHT_SHOULDER, Joint.RIGHT_ELBOW, Joint.RIGHT_WRIST, Joint.RIGHT_HAND),
    *(Joint.LEFT_SHOULDER, Joint.RIGHT_HIP, Joint.LEFT_HIP),
)
"""Joints that the moves look at, the arm first."""
Weight = Callable[[Array, float, float], Array]
Turn = Callable[[Array, Array], Array]


@dataclass(frozen=True, kw_only=True)
class MoveRule:
    """One move."""

    definition: MoveDefinition
    """What it means."""
    weigh: Weight
    """Times (n,), contact and release in seconds -> jet (3, n) of how much of the step acts."""
    turn: Turn
    """Joints (7, 3, 3, s, n) and the jet (3, n) of the angle in radians -> the moved joints, shaped alike."""


def apply_move(rule: MoveRule, joints: Array, times_s: Array, contact_s: float, release_s: float) -> Array:
    """Return the joints (7, 3, 3, s, n), in the order of `MOVE_JOINTS`, moved."""
    angle = np.radians(rule.definition.step_deg) * rule.weigh(times_s, contact_s, release_s)
    return rule.turn(joints, angle)


def weigh_throughout(times_s: Array, contact_s: float, release_s: float) -> Array:
    """Return the whole step at all times."""
    return np.stack([np.ones_like(times_s), np.zeros_like(times_s), np.zeros_like(times_s)])


def weigh_until_contact(times_s: Array, contact_s: float, release_s: float) -> Array:
    """Return the whole step until foot contact, then less and less until release."""
    return weigh_throughout(times_s, contact_s, release_s) - weigh_from_contact(times_s, contact_s, release_s)


def weigh_from_contact(times_s: Array, contact_s: float, release_s: float) -> Array:
    """Return nothing until foot contact, then more and more until the whole step at release and after it.

    The step x^3 (10 - 15 x + 6 x^2) begins and ends without speed or acceleration.
    """
    span_s = max(release_s - contact_s, 0.02)
    x = np.clip((times_s - contact_s) / span_s, 0.0, 1.0)
    return np.stack(
        [
            x**3 * (10.0 - 15.0 * x + 6.0 * x**2),
            30.0 * x**2 * (1.0 - x) ** 2 / span_s,
            60.0 * x * (1.0 - x) * (1.0 - 2.0 * x) / span_s**2,
        ]
    )


def turn_arm(joints: Array, angle: Array) -> Array:
    """Return the joints, the arm turned about the throwing shoulder in the trunk's frontal plane; + raises it."""
    shoulder = joints[0]
    line = normalise_jet(shoulder - joints[4])
    up = _find_long_axis(joints)
    above = normalise_jet(up - scale_jet(compute_inner_jet(up, line), line))
    moved = _turn_about(joints[1:4], shoulder, compute_cross_jet(line, above), angle)
    return np.concatenate([joints[:1], moved, joints[4:]])


def turn_forearm(joints: Array, angle: Array) -> Array:
    """Return the joints with forearm and hand turned about the elbow's hinge; + bends the elbow more."""
    hinge = normalise_jet(compute_cross_jet(joints[1] - joints[0], joints[2] - joints[1]))
    moved = _turn_about(joints[2:4], joints[1], hinge, angle)
    return np.concatenate([joints[:2], moved, joints[4:]])


def turn_trunk(joints: Array, angle: Array) -> Array:
    """Return the joints as the trunk carries them when it turns about its long axis; + opens to the target."""
    moved = _turn_about(joints[:5], _find_hips(joints), normalise_jet(_find_long_axis(joints)), angle)
    return np.concatenate([moved, joints[5:]])


def turn_trunk_sideways(joints: Array, angle: Array) -> Array:
    """Return the joints as the trunk carries them when it tilts about the line to the target; + to the glove side."""
    axis = np.zeros_like(joints[0])
    axis[0, 0] = -1.0
    return np.concatenate([_turn_about(joints[:5], _find_hips(joints), axis, angle), joints[5:]])


def _find_hips(joints: Array) -> Array:
    return np.asarray(0.5 * (joints[5] + joints[6]))


def _find_long_axis(joints: Array) -> Array:
    return np.asarray(0.5 * (joints[0] + joints[4]) - _find_hips(joints))


def _turn_about(moved: Array, pivot: Array, axis: Array, angle: Array) -> Array:
    return np.stack([pivot + turn_jet(joint - pivot, axis, angle) for joint in moved])


MOVES = (
    MoveRule(
        definition=MoveDefinition(
            key="elbow_to_shoulder_line",
            words="the elbow 10° higher against the shoulder line",
            step_deg=10.0,
            held="The whole arm is turned in the trunk's frontal plane from before foot contact to after release; "
            "trunk, elbow bend and the turn of the upper arm are held.",
        ),
        weigh=weigh_throughout,
        turn=turn_arm,
    ),
    MoveRule(
        definition=MoveDefinition(
            key="elbow_flexion",
            words="the elbow bent 10° more",
            step_deg=10.0,
            held="The elbow is bent more from before foot contact to after release; trunk and upper arm are held.",
        ),
        weigh=weigh_throughout,
        turn=turn_forearm,
    ),
    MoveRule(
        definition=MoveDefinition(
            key="trunk_opening",
            words="the trunk 10° less open at foot contact",
            step_deg=-10.0,
            held="The trunk is less open until foot contact and as it was at release, so it turns more between; "
            "the arm goes with it, hips and feet are held.",
        ),
        weigh=weigh_until_contact,
        turn=turn_trunk,
    ),
    MoveRule(
        definition=MoveDefinition(
            key="side_tilt",
            words="the trunk tilted 10° less to the glove side at release",
            step_deg=-10.0,
            held="The trunk tilts as it did until foot contact and less and less until release; the arm goes with it, "
            "hips and feet are held.",
        ),
        weigh=weigh_from_contact,
        turn=turn_trunk_sideways,
    ),
)
"""The moves, in the order of the report."""
