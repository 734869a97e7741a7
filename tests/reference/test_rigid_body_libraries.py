"""Forces and moments of the arm against two general rigid-body libraries on the same chain and motion.

Sides: Pinocchio's recursive Newton-Euler and MuJoCo's inverse dynamics, both on a chain of hinges written here by
hand; the joints' derivatives come from forward kinematics written in the test maker, not from the code under test.
"""

from __future__ import annotations

import numpy as np
import pytest

from elbowroom.core.loads.dynamics import GRAVITY_M_S2, ArmLoads, build_arm_motion, solve_arm
from elbowroom.core.loads.types import ArmBody, SegmentBody
from tests.makers.arms import LENGTHS_M, TURNS, RigidPath, make_arm_body, make_path, place_joints

TIMES_S = np.linspace(0.0, 0.2, 41)
AGREEMENT = 1e-8
"""Greatest difference over the greatest value."""
SLIDES = ("x", "y", "z")


@pytest.fixture(params=[1, 2, 3], name="case")
def make_case(request: pytest.FixtureRequest) -> tuple[RigidPath, ArmBody]:
    generator = np.random.default_rng(request.param)
    return make_path(TIMES_S, generator), make_arm_body(generator)


def solve_ours(case: tuple[RigidPath, ArmBody]) -> ArmLoads:
    joints, _ = place_joints(case[0])
    return solve_arm(build_arm_motion(joints, straight_sine=0.0), case[1], np.ones((1, len(TIMES_S))))


def list_segments(body: ArmBody) -> tuple[SegmentBody, ...]:
    return body.upper_arm, body.forearm, body.hand


def find_inertia(segment: SegmentBody) -> np.ndarray:
    """Return the moments of inertia about the segment's x (long), y (across) and z (hinge)."""
    radii = (segment.long_m, segment.sagittal_m, segment.transverse_m)
    return float(segment.mass_kg[0, 0]) * np.array([float(radius[0, 0]) ** 2 for radius in radii])


def compare(ours: np.ndarray, theirs: np.ndarray) -> None:
    """Compare (3, 1, n) with (n, 3)."""
    assert np.abs(ours[:, 0].T - theirs).max() < AGREEMENT * np.abs(theirs).max()


def test_pinocchio(case: tuple[RigidPath, ArmBody]) -> None:
    pin = pytest.importorskip("pinocchio", reason="pinocchio has no build for this machine")
    path, body = case
    model = pin.Model()
    model.gravity.linear = np.array([0.0, 0.0, -GRAVITY_M_S2])
    joint, places = 0, {3: LENGTHS_M[0], 4: LENGTHS_M[1]}
    for name in SLIDES:
        joint = model.addJoint(joint, getattr(pin, f"JointModelP{name.upper()}")(), pin.SE3.Identity(), f"slide {name}")
    heads = []
    for number, name in enumerate(TURNS):
        offset = pin.SE3(np.eye(3), np.array([places.get(number, 0.0), 0.0, 0.0]))
        joint = model.addJoint(joint, getattr(pin, f"JointModelR{name.upper()}")(), offset, f"turn {number}")
        heads.append(joint)
    carriers = (heads[2], heads[3], heads[5])
    for carrier, segment, length in zip(carriers, list_segments(body), LENGTHS_M, strict=True):
        centre = np.array([float(segment.centre_share[0, 0]) * length, 0.0, 0.0])
        inertia = pin.Inertia(float(segment.mass_kg[0, 0]), centre, np.diag(find_inertia(segment)))
        model.appendBodyToJoint(carrier, inertia, pin.SE3.Identity())
    reach = np.array([float(body.ball.reach_share[0, 0]) * LENGTHS_M[2], 0.0, 0.0])
    ball = pin.Inertia.FromSphere(float(body.ball.mass_kg[0, 0]), float(body.ball.radius_m[0, 0]))
    model.appendBodyToJoint(heads[5], ball, pin.SE3(np.eye(3), reach))
    data, found = model.createData(), []
    for row in range(len(TIMES_S)):
        state = [np.concatenate([path.places[order, row], path.angles[order, row]]) for order in range(3)]
        pin.forwardKinematics(model, data, state[0])
        pin.rnea(model, data, *state)
        # The force on the first hinge of each joint is the whole force of the neighbour, in that hinge's frame.
        wrenches = [(data.f[head], data.oMi[head].rotation) for head in (heads[0], heads[3], heads[4])]
        found.append([(turn @ force.linear, turn @ force.angular) for force, turn in wrenches])
    theirs, ours = np.array(found), solve_ours(case)
    compare(ours.shoulder_force_n, theirs[:, 0, 0])
    compare(ours.shoulder_moment_nm, theirs[:, 0, 1])
    compare(ours.elbow_force_n, theirs[:, 1, 0])
    compare(ours.elbow_moment_nm, theirs[:, 1, 1])
    compare(ours.wrist_force_n, theirs[:, 2, 0])
    compare(ours.wrist_moment_nm, theirs[:, 2, 1])


def write_chain(body: ArmBody) -> str:
    """Write the arm as a model of hinges in MuJoCo's format."""

    def inertial(segment: SegmentBody, length: float) -> str:
        place = f"{float(segment.centre_share[0, 0]) * length!r} 0 0"
        inertia = " ".join(repr(float(value)) for value in find_inertia(segment))
        return f'<inertial pos="{place}" mass="{float(segment.mass_kg[0, 0])!r}" diaginertia="{inertia}"/>'

    axes = {"x": "1 0 0", "y": "0 1 0", "z": "0 0 1"}
    slides = "".join(f'<joint type="slide" axis="{axes[name]}"/>' for name in SLIDES)
    hinges = [f'<joint type="hinge" axis="{axes[name]}"/>' for name in TURNS]
    upper, fore, hand = list_segments(body)
    mass, radius = float(body.ball.mass_kg[0, 0]), float(body.ball.radius_m[0, 0])
    round_inertia = " ".join([repr(0.4 * mass * radius**2)] * 3)
    ball = (
        f'<body pos="{float(body.ball.reach_share[0, 0]) * LENGTHS_M[2]!r} 0 0">'
        f'<inertial pos="0 0 0" mass="{mass!r}" diaginertia="{round_inertia}"/></body>'
    )
    return (
        f'<mujoco><compiler angle="radian"/><option gravity="0 0 {-GRAVITY_M_S2!r}"/><worldbody>'
        f"<body>{slides}{''.join(hinges[:3])}{inertial(upper, LENGTHS_M[0])}"
        f'<body pos="{LENGTHS_M[0]!r} 0 0">{hinges[3]}{inertial(fore, LENGTHS_M[1])}'
        f'<body pos="{LENGTHS_M[1]!r} 0 0">{"".join(hinges[4:])}{inertial(hand, LENGTHS_M[2])}{ball}'
        f"</body></body></body></worldbody></mujoco>"
    )


def test_mujoco(case: tuple[RigidPath, ArmBody]) -> None:
    mujoco = pytest.importorskip("mujoco", reason="mujoco has no build for this machine")
    path, body = case
    model = mujoco.MjModel.from_xml_string(write_chain(body))
    data, found = mujoco.MjData(model), []
    for row in range(len(TIMES_S)):
        state = [np.concatenate([path.places[order, row], path.angles[order, row]]) for order in range(3)]
        data.qpos[:], data.qvel[:], data.qacc[:] = state
        mujoco.mj_inverse(model, data)
        mujoco.mj_rnePostConstraint(model, data)
        # Interaction wrenches are given about the whole chain's centre of mass: move them to the joints.
        rows = []
        for number in (1, 2, 3):
            moment, force = data.cfrc_int[number, :3], data.cfrc_int[number, 3:]
            rows.append((force.copy(), moment + np.cross(data.subtree_com[1] - data.xpos[number], force)))
        found.append([*rows, (data.qfrc_inverse[:3].copy(), data.qfrc_inverse[6:9].copy())])
    theirs, ours = np.array(found), solve_ours(case)
    compare(ours.shoulder_force_n, theirs[:, 0, 0])
    compare(ours.shoulder_force_n, theirs[:, 3, 0])
    compare(ours.shoulder_moment_nm, theirs[:, 0, 1])
    compare(ours.elbow_force_n, theirs[:, 1, 0])
    compare(ours.elbow_moment_nm, theirs[:, 1, 1])
    compare(ours.wrist_force_n, theirs[:, 2, 0])
    compare(ours.wrist_moment_nm, theirs[:, 2, 1])
    joints, _ = place_joints(path)
    hinge = build_arm_motion(joints).forearm.hinge
    bending = np.sum(ours.elbow_moment_nm * hinge, axis=0)[0]
    assert np.abs(bending - theirs[:, 3, 1, 0]).max() < AGREEMENT * np.abs(theirs[:, 3, 1, 0]).max()
