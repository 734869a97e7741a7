"""Recursive Newton-Euler along the throwing arm, from the hand with the ball to the shoulder.

Axes from joint centres alone. Each segment: `u` its long axis, proximal to distal; `n` the elbow's hinge direction,
the normal u(upper arm) x u(forearm) of the arm's plane; `m` = n x u across the segment. Upper arm and forearm take
their spin about the long axis from that plane, so the forearm does not pronate; the hand takes its spin from the
forearm (wrist as a universal joint whose first axis is the hinge direction). Near a straight elbow the plane is lost:
the spin there fades out (see `STRAIGHT_SINE`) instead of following noise.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from elbowroom.core.loads.jets import compute_cross, compute_cross_jet, compute_inner, normalise_jet
from elbowroom.core.loads.types import ArmBody, Array, SegmentBody

GRAVITY_M_S2 = 9.80665
"""Standard gravity, downwards along z."""
STRAIGHT_SINE = 0.174
"""Sine of the elbow flexion (10 deg) about which the spin fades: 3 % of it is lost at 20 deg, 0.05 % at 90 deg."""
TINY = 1e-12


@dataclass(frozen=True, kw_only=True)
class Turning:
    """How one segment turns; vectors (3, s, n) in the field frame."""

    axis: Array
    """Unit long axis, proximal to distal."""
    hinge: Array
    """Unit hinge direction at right angles to the long axis; short where the arm's plane is lost."""
    rate_rad_s: Array
    """Angular velocity."""
    gain_rad_s2: Array
    """Angular acceleration."""


@dataclass(frozen=True, kw_only=True)
class ArmMotion:
    """The throwing arm in motion: joints and how its segments turn."""

    joints: Array
    """(4, 3, 3, s, n) shoulder, elbow, wrist, hand; derivative order; x, y, z: metres and seconds."""
    upper_arm: Turning
    """How the upper arm turns."""
    forearm: Turning
    """How the forearm turns."""
    hand: Turning
    """How the hand turns."""


@dataclass(frozen=True, kw_only=True)
class ArmLoads:
    """Force and moment that each proximal neighbour puts on the arm at each joint; (3, s, n), field frame."""

    wrist_force_n: Array
    """Force of the forearm on the hand."""
    wrist_moment_nm: Array
    """Moment of the forearm on the hand about the wrist."""
    elbow_force_n: Array
    """Force of the upper arm on the forearm."""
    elbow_moment_nm: Array
    """Moment of the upper arm on the forearm about the elbow."""
    shoulder_force_n: Array
    """Force of the trunk on the upper arm."""
    shoulder_moment_nm: Array
    """Moment of the trunk on the upper arm about the shoulder."""


def build_arm_motion(joints: Array, straight_sine: float = STRAIGHT_SINE) -> ArmMotion:
    """Return how the arm's segments turn, from its joints (4, 3, 3, s, n); `straight_sine` 0 never fades the spin."""
    upper, fore, hand = (normalise_jet(joints[place + 1] - joints[place]) for place in range(3))
    plane = compute_cross_jet(upper, fore)
    floor = straight_sine**4
    return ArmMotion(
        joints=joints,
        upper_arm=build_turning(upper, plane, floor),
        forearm=build_turning(fore, plane, floor),
        hand=build_turning(hand, plane, floor),
    )


def build_turning(axis: Array, plane: Array, floor_share: float) -> Turning:
    """Return how a segment turns whose long axis and whose plane's normal (of any length) are given as jets.

    Angular velocity u x u' + s u; the spin s is the rate of the normal's part across the axis, p, about the axis:
    p'.(u x p) / |p|^2, with |p|^2 replaced by sqrt(|p|^4 + `floor_share`) so that it fades where the plane is lost.
    """
    across = compute_cross(axis[0], plane[0])
    moving = compute_cross(axis[1], plane[0])
    moving += compute_cross(axis[0], plane[1])
    square = compute_inner(across, across)
    growth = 2.0 * compute_inner(across, moving)
    base = np.sqrt(square * square + floor_share)
    numerator, change = _spin_numerator(axis, plane, across, moving)
    spin = numerator / base
    spin_gain = (change - spin * growth * square / base) / base
    turn = compute_cross(axis[0], axis[1])
    bend = compute_cross(axis[0], axis[2])
    hinge = compute_cross(across, axis[0])
    hinge /= np.sqrt(square + TINY)
    return Turning(
        axis=axis[0],
        hinge=hinge,
        rate_rad_s=turn + spin * axis[0],
        gain_rad_s2=bend + spin * axis[1] + spin_gain * axis[0],
    )


def _spin_numerator(axis: Array, plane: Array, across: Array, moving: Array) -> tuple[Array, Array]:
    """Return p'.(u x p) and its rate; the part of the normal along the axis counts where the two are not square."""
    along = compute_inner(plane[0], axis[0])
    along_rate = compute_inner(plane[1], axis[0]) + compute_inner(plane[0], axis[1])
    swing = compute_inner(axis[1], across)
    numerator = compute_inner(plane[1], across) - along * swing
    change = compute_inner(plane[2], across) + compute_inner(plane[1], moving)
    change -= along_rate * swing + along * (compute_inner(axis[2], across) + compute_inner(axis[1], moving))
    return numerator, change


def solve_arm(motion: ArmMotion, body: ArmBody, carried_share: Array) -> ArmLoads:
    """Return the forces and moments at wrist, elbow and shoulder, by Newton and Euler from the hand inwards.

    `carried_share` (s, n) is 1 while the ball is in the hand and 0 after release. The bones may change their length
    as the curves do: each mass sits at its share of the way between its joints.
    """
    joints, ball = motion.joints, body.ball
    gravity = np.array([0.0, 0.0, -GRAVITY_M_S2]).reshape(3, 1, 1)
    rods = [joints[place + 1] - joints[place] for place in range(3)]
    bases = [joints[place, 2] - gravity for place in range(3)]
    carried = carried_share * ball.mass_kg
    hand_force = body.hand.mass_kg * (bases[2] + body.hand.centre_share * rods[2][2])
    ball_force = carried * (bases[2] + ball.reach_share * rods[2][2])
    wrist_force = hand_force + ball_force
    wrist_moment = compute_turning_moment(motion.hand, body.hand)
    wrist_moment += 0.4 * carried * ball.radius_m**2 * motion.hand.gain_rad_s2
    wrist_moment += compute_cross(rods[2][0], body.hand.centre_share * hand_force + ball.reach_share * ball_force)
    fore_force = body.forearm.mass_kg * (bases[1] + body.forearm.centre_share * rods[1][2])
    elbow_moment = compute_turning_moment(motion.forearm, body.forearm)
    elbow_moment += wrist_moment
    elbow_moment += compute_cross(rods[1][0], body.forearm.centre_share * fore_force + wrist_force)
    elbow_force = fore_force + wrist_force
    upper_force = body.upper_arm.mass_kg * (bases[0] + body.upper_arm.centre_share * rods[0][2])
    shoulder_moment = compute_turning_moment(motion.upper_arm, body.upper_arm)
    shoulder_moment += elbow_moment
    shoulder_moment += compute_cross(rods[0][0], body.upper_arm.centre_share * upper_force + elbow_force)
    return ArmLoads(
        wrist_force_n=wrist_force,
        wrist_moment_nm=wrist_moment,
        elbow_force_n=elbow_force,
        elbow_moment_nm=elbow_moment,
        shoulder_force_n=upper_force + elbow_force,
        shoulder_moment_nm=shoulder_moment,
    )


def compute_turning_moment(turning: Turning, body: SegmentBody) -> Array:
    """Return the rate of the angular momentum about the centre of mass, (3, s, n) N m.

    Inertia = A 1 + (C - A) u u' + (B - A) n n' with C about the long axis u, B about the hinge n, A about m, so the
    rate is A a + (C - A)((a.u) u + (w.u) w x u) + (B - A)((a.n) n + (w.n) w x n) with rate w and gain a (Euler).
    """
    across = body.mass_kg * body.sagittal_m**2
    rate, gain = turning.rate_rad_s, turning.gain_rad_s2
    moment = across * gain
    for axis, radius_m in ((turning.axis, body.long_m), (turning.hinge, body.transverse_m)):
        more = body.mass_kg * radius_m**2 - across
        moment += (more * compute_inner(gain, axis)) * axis
        moment += (more * compute_inner(rate, axis)) * compute_cross(rate, axis)
    return np.asarray(moment)
