"""The loads at every time of every draw, from curves of the joints."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from elbowroom.core.geometry.splines import DEGREE, build_basis
from elbowroom.core.landmarks.names import Joint
from elbowroom.core.loads.bodies import build_arm_body
from elbowroom.core.loads.dynamics import ArmLoads, ArmMotion, build_arm_motion, solve_arm
from elbowroom.core.loads.jets import compute_inner
from elbowroom.core.loads.moves import MOVE_JOINTS
from elbowroom.core.loads.types import ArmNumbers, Array, HeldBall, SegmentNumbers
from elbowroom.core.reconstruction.types import Curves

ARM_JOINTS = (Joint.RIGHT_SHOULDER, Joint.RIGHT_ELBOW, Joint.RIGHT_WRIST, Joint.RIGHT_HAND)
"""Joints of the throwing arm, from the trunk outwards."""
LEAST_FLEXION_SINE = 0.342
"""Sine of the elbow flexion (20 deg) below which the plane of the arm, and the varus axis with it, is not given."""
BLOCK = 12000
"""Draws times times that are worked on at once: the arrays of a block stay in the processor's cache, and each is small
enough (96 kB) to be reused by the memory allocator. Chosen by trial."""
Move = Callable[[Array, Array], Array]
"""Joints (7, 3, 3, s, n) in the order of `MOVE_JOINTS` and times (n,) -> the same, moved."""


@dataclass(frozen=True, kw_only=True)
class LoadSeries:
    """The loads of s draws at n times."""

    times_s: Array
    """(n,) times, seconds."""
    values: dict[str, Array]
    """Each load by the key of its curve, (s, n)."""


def evaluate_jets(curves: Curves, joints: tuple[Joint, ...], times_s: Array) -> Array:
    """Return joints with velocity and acceleration, (j, 3, 3, s, n): joint, order, axis; exact for the splines."""
    first, _ = build_basis(curves.knots_s, times_s)
    low, high = int(first.min()), int(first.max()) + DEGREE + 1
    points = curves.coefficients_m[:, low:high][:, :, list(joints)].transpose(2, 3, 0, 1)
    count = len(curves.coefficients_m)
    result = np.empty((len(joints), 3, 3, count, len(times_s)))
    for order in range(3):
        _, values = build_basis(curves.knots_s, times_s, order)
        basis = np.zeros((high - low, len(times_s)))
        for column in range(DEGREE + 1):
            basis[first - low + column, np.arange(len(times_s))] = values[:, column]
        result[:, order] = points @ basis
    return result


def solve_loads(
    curves: Curves, times_s: Array, numbers: ArmNumbers, release_s: Array, move: Move | None = None
) -> LoadSeries:
    """Return the loads of every draw at the times (n,).

    Args:
        curves: field frame, RIGHT the throwing side, s draws.
        times_s: even times, seconds on the visit clock.
        numbers: arm and ball of s draws, or of one that stands for all.
        release_s: (s,) when the ball leaves the hand.
        move: changes the arm before it is solved, or nothing.

    Blocks of draws are taken one after another only to keep them in the cache; within a block nothing loops.
    """
    count = len(curves.coefficients_m)
    rows = max(1, BLOCK // len(times_s))
    found = [
        _solve_block(curves, slice(start, min(start + rows, count)), (times_s, numbers, release_s), move)
        for start in range(0, count, rows)
    ]
    return LoadSeries(
        times_s=times_s, values={key: np.concatenate([block[key] for block in found]) for key in found[0]}
    )


def _solve_block(
    curves: Curves, rows: slice, what: tuple[Array, ArmNumbers, Array], move: Move | None
) -> dict[str, Array]:
    times_s, numbers, release_s = what
    block = Curves(knots_s=curves.knots_s, coefficients_m=curves.coefficients_m[rows])
    wanted = ARM_JOINTS if move is None else MOVE_JOINTS
    joints = evaluate_jets(block, wanted, times_s)
    if move is not None:
        joints = move(joints, times_s)[: len(ARM_JOINTS)]
    carried = measure_carried_share(times_s, release_s[rows])
    motion = build_arm_motion(joints)
    body = build_arm_body(select_draws(numbers, rows), measure_lengths(joints))
    return name_loads(motion, solve_arm(motion, body, carried))


def measure_carried_share(times_s: Array, release_s: Array) -> Array:
    """Return how much of the ball is in the hand, (s, n): 1 before release, 0 after, over one step of the times."""
    step_s = times_s[1] - times_s[0]
    return np.asarray(np.clip(0.5 + (release_s[:, None] - times_s) / step_s, 0.0, 1.0))


def measure_lengths(joints: Array) -> Array:
    """Return the mean lengths of upper arm, forearm and hand, (3, s, 1) metres."""
    rods = joints[1:, 0] - joints[:-1, 0]
    lengths = np.sqrt(rods[:, 0] ** 2 + rods[:, 1] ** 2 + rods[:, 2] ** 2)
    return np.asarray(lengths.mean(axis=-1, keepdims=True))


def select_draws(numbers: ArmNumbers, rows: slice) -> ArmNumbers:
    """Return the numbers of some draws; those that stand for all stay as they are."""

    def pick(values: Array) -> Array:
        return values if len(values) == 1 else values[rows]

    def segment(item: SegmentNumbers) -> SegmentNumbers:
        return SegmentNumbers(
            mass_kg=pick(item.mass_kg),
            centre_share=pick(item.centre_share),
            sagittal_share=pick(item.sagittal_share),
            transverse_share=pick(item.transverse_share),
            long_share=pick(item.long_share),
        )

    ball = numbers.ball
    return ArmNumbers(
        upper_arm=segment(numbers.upper_arm),
        forearm=segment(numbers.forearm),
        hand=segment(numbers.hand),
        ball=HeldBall(mass_kg=pick(ball.mass_kg), radius_m=pick(ball.radius_m), reach_share=pick(ball.reach_share)),
    )


def name_loads(motion: ArmMotion, loads: ArmLoads) -> dict[str, Array]:
    """Return the loads along their named axes, each (s, n), by the key of its curve.

    The varus axis lies in the plane of upper arm u and forearm f, at right angles to f, on the side of -u:
    (cos f - u) / sin with cos = u.f. At a right angle it is the axis of shoulder internal rotation, -u. The normal of
    that plane is the hinge of flexion, not the axis of varus.
    """
    upper, fore = motion.upper_arm.axis, motion.forearm.axis
    cosine = compute_inner(upper, fore)
    sine = np.sqrt(np.maximum(1.0 - cosine * cosine, 0.0))
    moment = loads.elbow_moment_nm
    across = cosine * compute_inner(moment, fore) - compute_inner(moment, upper)
    return {
        "elbow_varus_moment": np.where(sine < LEAST_FLEXION_SINE, np.nan, across / np.maximum(sine, 1e-9)),
        "shoulder_internal_rotation_moment": -compute_inner(loads.shoulder_moment_nm, upper),
        "shoulder_proximal_force": -compute_inner(loads.shoulder_force_n, upper),
        "elbow_proximal_force": -compute_inner(loads.elbow_force_n, fore),
    }
