"""The arm's inverse dynamics, its jets, its moves and its smoothing.

Sides: closed forms (a physical pendulum that nobody pushes, a rod spun up about a fixed axis, the gain of the
smoothing); finite differences of the jets; work against energy; the house's own angle measures on moved motions; a
field turned and shifted. Two rigid-body libraries are in tests/reference.
"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from elbowroom.core.geometry.splines import build_knots, evaluate_curves
from elbowroom.core.geometry.vectors import turn_about_vertical
from elbowroom.core.landmarks.names import Joint
from elbowroom.core.loads.dynamics import GRAVITY_M_S2, ArmLoads, build_arm_motion, solve_arm
from elbowroom.core.loads.energy import measure_energy, measure_imbalance_share, measure_power
from elbowroom.core.loads.jets import compute_cross_jet, normalise_jet, turn_jet
from elbowroom.core.loads.moves import MOVE_JOINTS, MOVES, apply_move
from elbowroom.core.loads.series import evaluate_jets, name_loads
from elbowroom.core.loads.smoothing import smooth_curves
from elbowroom.core.loads.types import ArmBody
from elbowroom.core.measures.arm import measure_elbow_flexion, measure_elbow_line
from elbowroom.core.measures.trunk import measure_forward_tilt, measure_side_tilt, measure_trunk_opening
from elbowroom.core.reconstruction.types import Curves
from tests.makers.arms import LENGTHS_M, RigidPath, make_arm_body, make_path, place_joints
from tests.makers.throws import CONTACT_S, RELEASE_S, make_curves

Array = np.ndarray
RIGHT_ANGLE = np.pi / 2


def list_points(body: ArmBody, flexion_rad: float) -> list[tuple[float, float, float, float]]:
    """List mass, place along and across the upper arm, and inertia about the hinge, of all in the arm's plane."""
    upper, fore, hand, ball = body.upper_arm, body.forearm, body.hand, body.ball
    places = [
        (upper, float(upper.centre_share[0, 0]) * LENGTHS_M[0], 0.0),
        (fore, LENGTHS_M[0], float(fore.centre_share[0, 0]) * LENGTHS_M[1]),
        (hand, LENGTHS_M[0], LENGTHS_M[1] + float(hand.centre_share[0, 0]) * LENGTHS_M[2]),
    ]
    rows = [
        (
            float(segment.mass_kg[0, 0]),
            along + out * np.cos(flexion_rad),
            out * np.sin(flexion_rad),
            float(segment.mass_kg[0, 0]) * float(segment.transverse_m[0, 0]) ** 2,
        )
        for segment, along, out in places
    ]
    mass = float(ball.mass_kg[0, 0])
    out = LENGTHS_M[1] + float(ball.reach_share[0, 0]) * LENGTHS_M[2]
    inertia = 0.4 * mass * float(ball.radius_m[0, 0]) ** 2
    return [*rows, (mass, LENGTHS_M[0] + out * np.cos(flexion_rad), out * np.sin(flexion_rad), inertia)]


def solve(path: RigidPath, body: ArmBody, straight_sine: float = 0.0) -> tuple[Array, ArmLoads]:
    joints, _ = place_joints(path)
    motion = build_arm_motion(joints, straight_sine)
    return joints, solve_arm(motion, body, np.ones(joints.shape[3:]))


def hold_still(angles: list[float], count: int) -> RigidPath:
    """Return an arm that hangs still at hinge angles."""
    path = np.zeros((3, count, 6))
    path[0] = angles
    return RigidPath(places=np.zeros((3, count, 3)), angles=path)


@pytest.mark.parametrize("flexion_deg", [5.0, 35.0, 90.0])
def test_a_pendulum_that_nobody_pushes_needs_no_moment(flexion_deg: float) -> None:
    # A bent arm swings in the x-z plane about the shoulder: angle'' = (gravity's moment) / (inertia about the pivot).
    body, flexion = make_arm_body(), np.radians(flexion_deg)
    points = list_points(body, flexion)
    inertia = sum(own + mass * (x**2 + y**2) for mass, x, y, own in points)
    # Euler z 0, y 0, x 90 deg: the arm's across-axis points up, so turning about y swings the arm's plane.
    turn = np.linspace(-2.0, 2.0, 9)
    path = hold_still([0.0, 0.0, RIGHT_ANGLE, flexion, 0.0, 0.0], len(turn))
    path.angles[0, :, 1] = turn
    path.angles[1, :, 1] = 3.0
    # Turning by +y takes x to -z: heights are -x sin(turn) + y cos(turn).
    push = sum(mass * GRAVITY_M_S2 * (x * np.cos(turn) + y * np.sin(turn)) for mass, x, y, _ in points)
    path.angles[2, :, 1] = push / inertia
    _, loads = solve(path, body)
    moments = loads.shoulder_moment_nm[:, 0]
    assert np.abs(moments[1]).max() < 1e-9 * np.abs(push).max()
    force = loads.shoulder_force_n[:, 0]
    mass, out = sum(row[0] for row in points), sum(row[0] * row[1] for row in points)
    up = sum(row[0] * row[2] for row in points)
    gain = push / inertia
    # Newton for the centre of mass on its circle.
    expected_x = -(out * np.cos(turn) + up * np.sin(turn)) * 9.0 + gain * (-out * np.sin(turn) + up * np.cos(turn))
    assert force[0] == pytest.approx(expected_x, abs=1e-9 * mass * GRAVITY_M_S2)


def test_a_rod_spun_up_about_the_upper_arm() -> None:
    # The upper arm stands upright and turns about itself, the forearm is held level: a plain spinning rod.
    body, rate, gain = make_arm_body(), 20.0, -300.0
    path = hold_still([0.0, -RIGHT_ANGLE, 0.3, RIGHT_ANGLE, 0.0, 0.0], 3)
    path.angles[1, :, 2], path.angles[2, :, 2] = rate, gain
    joints, loads = solve(path, body)
    named = name_loads(build_arm_motion(joints), loads)
    fore, hand, ball = list_points(body, RIGHT_ANGLE)[1:]
    pull = sum(mass * y for mass, _, y, _ in (fore, hand, ball)) * rate**2
    assert named["elbow_proximal_force"][0] == pytest.approx(pull, rel=1e-12)
    about_axis = sum(mass * y**2 for mass, _, y, _ in (fore, hand, ball))
    about_axis += sum(float(s.mass_kg[0, 0]) * float(s.sagittal_m[0, 0]) ** 2 for s in (body.forearm, body.hand))
    about_axis += 0.4 * ball[0] * float(body.ball.radius_m[0, 0]) ** 2
    own = float(body.upper_arm.mass_kg[0, 0]) * float(body.upper_arm.long_m[0, 0]) ** 2
    assert named["elbow_varus_moment"][0] == pytest.approx(-about_axis * gain, rel=1e-12)
    assert named["shoulder_internal_rotation_moment"][0] == pytest.approx(-(about_axis + own) * gain, rel=1e-12)
    weight = GRAVITY_M_S2 * sum(mass for mass, *_ in list_points(body, RIGHT_ANGLE))
    # Standing upright the shoulder carries the weight: it pushes the arm, away from the shoulder.
    assert named["shoulder_proximal_force"][0] == pytest.approx(-weight, rel=1e-12)


def test_the_normal_of_the_plane_is_the_hinge_and_not_the_varus_axis() -> None:
    # A weight held level at a right angle with the arm's plane upright bends the elbow about the hinge, without varus.
    path = hold_still([0.0, 0.0, RIGHT_ANGLE, RIGHT_ANGLE - 0.2, 0.0, 0.0], 2)
    joints, loads = solve(path, make_arm_body())
    motion = build_arm_motion(joints)
    varus = name_loads(motion, loads)["elbow_varus_moment"]
    bending = np.sum(loads.elbow_moment_nm * motion.forearm.hinge, axis=0)
    assert np.abs(varus).max() < 1e-12
    assert np.abs(bending).min() > 0.3


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_energy_balances(seed: int) -> None:
    generator = np.random.default_rng(seed)
    times = np.linspace(0.0, 0.2, 2001)
    joints, _ = place_joints(make_path(times, generator))
    body = make_arm_body(generator)
    motion = build_arm_motion(joints, straight_sine=0.0)
    power = measure_power(motion, solve_arm(motion, body, np.ones(joints.shape[3:])))
    energy = measure_energy(motion, body)
    assert measure_imbalance_share(times, energy, power)[0] < 1e-5
    assert measure_imbalance_share(times, energy, 1.01 * power)[0] > 1e-3


def test_spin_fades_where_the_elbow_is_straight() -> None:
    generator = np.random.default_rng(4)
    times = np.linspace(0.0, 0.2, 81)
    path = make_path(times, generator)
    path.angles[0, :, 3] = np.radians(np.linspace(90.0, 0.5, 81))
    joints, _ = place_joints(path)
    joints[2, 0, 1] += 1e-3 * generator.standard_normal(81)
    free, faded = (build_arm_motion(joints, sine) for sine in (0.0, 0.174))
    gains = [np.linalg.norm(item.forearm.gain_rad_s2[:, 0], axis=0) for item in (free, faded)]
    assert gains[1][:40] == pytest.approx(gains[0][:40], rel=0.05)
    assert gains[1][-1] < 0.1 * gains[0][-1]
    assert np.isfinite(gains[1]).all()


def test_varus_is_not_given_near_a_straight_elbow() -> None:
    bends = np.radians([90.0, 25.0, 21.0, 19.0, 5.0])
    path = hold_still([0.1, 0.2, 0.3, 0.0, 0.0, 0.0], 5)
    path.angles[0, :, 3] = bends
    joints, loads = solve(path, make_arm_body())
    varus = name_loads(build_arm_motion(joints), loads)["elbow_varus_moment"][0]
    assert np.isfinite(varus).tolist() == [True, True, True, False, False]


def make_jet(at_s: Array, seed: int) -> Array:
    """Return a smooth vector with its derivatives, (3, 3, n)."""
    rng = np.random.default_rng(seed)
    size, speed, phase = rng.uniform(0.5, 1.0, 3), rng.uniform(3.0, 9.0, 3), rng.uniform(0.0, 6.0, 3)
    angle = at_s[None] * speed[:, None] + phase[:, None]
    return np.stack(
        [
            2.0 + size[:, None] * np.sin(angle),
            (size * speed)[:, None] * np.cos(angle),
            -(size * speed**2)[:, None] * np.sin(angle),
        ]
    )


def turn_example(at_s: Array) -> Array:
    angle = np.stack([0.7 * at_s**3, 2.1 * at_s**2, 4.2 * at_s])
    return turn_jet(make_jet(at_s, 1), normalise_jet(make_jet(at_s, 2)), angle)


@pytest.mark.parametrize(
    "compute",
    [
        lambda at: normalise_jet(make_jet(at, 1)),
        lambda at: compute_cross_jet(make_jet(at, 1), make_jet(at, 2)),
        turn_example,
    ],
    ids=["normalise", "cross", "turn"],
)
def test_derivatives_of_jets(compute) -> None:  # type: ignore[no-untyped-def]
    at, step = np.linspace(0.1, 0.9, 9), 1e-4
    jet, after, before = compute(at), compute(at + step), compute(at - step)
    for order in (0, 1):
        slope = (after[order] - before[order]) / (2.0 * step)
        assert jet[order + 1] == pytest.approx(slope, abs=1e-5 * np.abs(slope).max())


@settings(max_examples=15, deadline=None)
@given(st.floats(-180.0, 180.0), st.tuples(*[st.floats(-3.0, 3.0)] * 3))
def test_loads_do_not_depend_on_where_the_field_lies(angle_deg: float, shift: tuple[float, ...]) -> None:
    joints, _ = place_joints(make_path(np.linspace(0.0, 0.1, 5), np.random.default_rng(3)))
    turned = np.moveaxis(turn_about_vertical(np.moveaxis(joints, 2, -1), np.array(angle_deg)), -1, 2).copy()
    turned[:, 0] += np.array(shift)[:, None, None]
    found = []
    for item in (joints, turned):
        motion = build_arm_motion(item)
        found.append(name_loads(motion, solve_arm(motion, make_arm_body(), np.ones((1, 5)))))
    for key, values in found[0].items():
        assert found[1][key] == pytest.approx(values, rel=1e-7, abs=1e-7), key


def move_throw(number: int, times: Array) -> tuple[Array, Array]:
    """Return poses (n, 19, 3) of the invented throw, as it is and moved."""
    curves = make_curves()
    joints = evaluate_jets(curves, MOVE_JOINTS, times)
    moved = apply_move(MOVES[number], joints, times, CONTACT_S, RELEASE_S)
    before = evaluate_curves(curves.knots_s, curves.coefficients_m, times)[0]
    after = before.copy()
    after[:, list(MOVE_JOINTS)] = moved[:, 0, :, 0].transpose(2, 0, 1)
    return before, after


TIMES = np.array([CONTACT_S - 0.05, CONTACT_S, CONTACT_S + 0.07, RELEASE_S, RELEASE_S + 0.02])
MOVED = {
    # number of the move: measure, change at each of the times, what is held exactly
    "elbow line": (0, measure_elbow_line, [10.0] * 5, (measure_elbow_flexion, measure_trunk_opening)),
    "flexion": (1, measure_elbow_flexion, [10.0] * 5, (measure_elbow_line, measure_trunk_opening)),
    "opening": (2, measure_trunk_opening, [-10.0, -10.0, None, 0.0, 0.0], (measure_elbow_line, measure_forward_tilt)),
    "side tilt": (3, measure_side_tilt, [0.0, 0.0, None, -10.0, -10.0], (measure_elbow_line, measure_elbow_flexion)),
}


@pytest.mark.parametrize("name", MOVED)
def test_a_move_changes_its_measure_and_holds_the_rest(name: str) -> None:
    number, measure, changes, held = MOVED[name]
    before, after = move_throw(number, TIMES)
    found = measure(after) - measure(before)
    for change, expected in zip(found, changes, strict=True):
        if expected is not None:
            # Turning about a tilted trunk's long axis opens the shoulder line by nearly as much seen from above.
            assert change == pytest.approx(expected, abs=0.3 if name == "opening" else 1e-6)
        else:
            assert -10.0 < change < 0.0
    for other in held:
        assert other(after) == pytest.approx(other(before), abs=1e-6)
    for ends in ((1, 2), (2, 3), (3, 4), (9, 10), (10, 11)):
        lengths = [np.linalg.norm(item[:, ends[0]] - item[:, ends[1]], axis=-1) for item in (before, after)]
        assert lengths[1] == pytest.approx(lengths[0], abs=1e-9)
    legs = [joint for joint in Joint if joint >= Joint.RIGHT_HIP]
    assert after[:, legs] == pytest.approx(before[:, legs], abs=1e-12)


@pytest.mark.parametrize("number", range(len(MOVES)))
def test_moved_joints_keep_exact_derivatives(number: int) -> None:
    curves, step = make_curves(), 1e-5
    times = np.array([CONTACT_S + 0.03, CONTACT_S + 0.09])
    moved = [
        apply_move(MOVES[number], evaluate_jets(curves, MOVE_JOINTS, at), at, CONTACT_S, RELEASE_S)
        for at in (times - step, times, times + step)
    ]
    for order in (0, 1):
        slope = (moved[2][:, order] - moved[0][:, order]) / (2.0 * step)
        assert moved[1][:, order + 1] == pytest.approx(slope, abs=2e-3 * np.abs(slope).max())


@pytest.mark.parametrize("cut_hz", [8.0, 15.0, 30.0])
def test_gain_of_the_smoothing(cut_hz: float) -> None:
    wave_hz = 12.0
    knots = build_knots(np.linspace(0.0, 2.0, 721))
    sites = (knots[1:-3] + knots[2:-2] + knots[3:-1]) / 3
    wave = np.sin(2 * np.pi * wave_hz * sites)
    points = np.zeros((1, len(sites), len(Joint), 3))
    points[0] = wave[:, None, None]
    smoothed = smooth_curves(Curves(knots_s=knots, coefficients_m=points), np.array([cut_hz]))
    middle = np.linspace(0.7, 1.3, 500)
    first, second = evaluate_curves(knots, smoothed.coefficients_m, middle)[:, :, 0, 0]
    assert np.abs(second).max() / np.abs(first).max() == pytest.approx(1 / (1 + (wave_hz / cut_hz) ** 6), rel=0.02)
