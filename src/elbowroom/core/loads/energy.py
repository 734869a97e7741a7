"""Energy balance of the arm: a check of the loads that goes by another way, through speeds and work."""

from __future__ import annotations

import numpy as np

from elbowroom.core.loads.dynamics import GRAVITY_M_S2, ArmLoads, ArmMotion, Turning
from elbowroom.core.loads.jets import compute_inner
from elbowroom.core.loads.types import ArmBody, Array, SegmentBody


def measure_energy(motion: ArmMotion, body: ArmBody) -> Array:
    """Return kinetic and potential energy of arm and ball, (s, n) J; for times at which the ball is in the hand."""
    turnings = (motion.upper_arm, motion.forearm, motion.hand)
    total: Array = np.zeros(motion.joints.shape[3:])
    for place, (turning, segment) in enumerate(zip(turnings, (body.upper_arm, body.forearm, body.hand), strict=True)):
        near, far = motion.joints[place], motion.joints[place + 1]
        point = near + segment.centre_share * (far - near)
        total += _measure_point_energy(point, segment.mass_kg) + _measure_turning_energy(turning, segment)
    wrist, knuckles = motion.joints[2], motion.joints[3]
    ball, rate = body.ball, motion.hand.rate_rad_s
    total += _measure_point_energy(wrist + ball.reach_share * (knuckles - wrist), ball.mass_kg)
    return np.asarray(total + 0.2 * ball.mass_kg * ball.radius_m**2 * compute_inner(rate, rate))


def measure_power(motion: ArmMotion, loads: ArmLoads) -> Array:
    """Return the power that trunk and joints put into the arm, (s, n) W.

    Shoulder: force times velocity, and moment times the upper arm's rate; elbow and wrist: moment times the rate of
    the outer segment against the inner one. Their forces put in as much on one side as they take on the other.
    """
    upper, fore, hand = (item.rate_rad_s for item in (motion.upper_arm, motion.forearm, motion.hand))
    return np.asarray(
        compute_inner(loads.shoulder_force_n, motion.joints[0, 1])
        + compute_inner(loads.shoulder_moment_nm, upper)
        + compute_inner(loads.elbow_moment_nm, fore - upper)
        + compute_inner(loads.wrist_moment_nm, hand - fore)
    )


def measure_imbalance_share(times_s: Array, energy_j: Array, power_w: Array) -> Array:
    """Return the greatest gap between energy gained and work done over the energy's range, (s,); 0 is a whole balance.

    The work is the trapezoidal sum of the power over even times (n,). Bones that change their length (as
    reconstructed ones do a little) and noise leave a gap.
    """
    step_s = times_s[1] - times_s[0]
    pieces = 0.5 * step_s * (power_w[:, 1:] + power_w[:, :-1])
    work = np.concatenate([np.zeros((len(power_w), 1)), np.cumsum(pieces, axis=1)], axis=1)
    gap = np.abs(energy_j - energy_j[:, :1] - work).max(axis=1)
    return np.asarray(gap / np.ptp(energy_j, axis=1))


def _measure_point_energy(point: Array, mass_kg: Array) -> Array:
    return np.asarray(mass_kg * (0.5 * compute_inner(point[1], point[1]) + GRAVITY_M_S2 * point[0, 2]))


def _measure_turning_energy(turning: Turning, body: SegmentBody) -> Array:
    rate = turning.rate_rad_s
    along, about = compute_inner(rate, turning.axis), compute_inner(rate, turning.hinge)
    across = compute_inner(rate, rate) - along**2 - about**2
    inertia = body.sagittal_m**2 * across + body.long_m**2 * along**2 + body.transverse_m**2 * about**2
    return np.asarray(0.5 * body.mass_kg * inertia)
