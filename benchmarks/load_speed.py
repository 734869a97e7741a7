"""1,000 perturbed throws: the loads against loops over two general rigid-body libraries, equal to 1e-8.

Our side starts from joint centres with derivatives. One loop starts from the same; the others are given their states
ready made, so that they have nothing to do beside calling the library and reading the four loads.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass

import mujoco
import numpy as np
import pinocchio as pin
from numpy.typing import NDArray
from scipy.spatial.transform import Rotation

from elbowroom.core.loads.dynamics import GRAVITY_M_S2, build_arm_motion, solve_arm
from elbowroom.core.loads.series import BLOCK, name_loads
from elbowroom.core.loads.types import ArmBody
from tests.makers.arms import LENGTHS_M, TURNS, RigidPath, make_arm_body, make_path, place_joints
from tests.reference.test_rigid_body_libraries import SLIDES, find_inertia, list_segments, write_chain

Array = NDArray[np.float64]
LOADS = (
    "elbow_varus_moment",
    "shoulder_internal_rotation_moment",
    "shoulder_proximal_force",
    "elbow_proximal_force",
)


@dataclass(frozen=True, kw_only=True)
class SpeedRow:
    """One way to work the loads out."""

    name: str
    """What was run."""
    seconds: float
    """Processor time for all throws."""
    apart: float
    """Greatest difference from our loads over the greatest load."""


def measure_speed(throws: int, times: int) -> tuple[SpeedRow, ...]:
    """Time our loads and both loops on the same throws."""
    generator = np.random.default_rng(5)
    times_s = np.linspace(0.0, 0.26, times)
    paths = [make_path(times_s, generator) for _ in range(throws)]
    joints = np.concatenate([place_joints(path)[0] for path in paths], axis=3)
    body = make_arm_body()
    ours, seconds = time_call(lambda: solve_all(joints, body))
    rows = [SpeedRow(name="elbowroom, all throws at once", seconds=seconds, apart=0.0)]
    from_joints, pinocchio, mujoco_loop = loop_from_joints(body), loop_pinocchio(body), loop_mujoco(body)
    loops: dict[str, Callable[[], Array]] = {
        "loop over Pinocchio from the same joint centres": lambda: from_joints(joints),
        "loop over Pinocchio, states ready made": lambda: pinocchio(paths),
        "loop over MuJoCo, states ready made": lambda: mujoco_loop(paths),
    }
    for name, loop in loops.items():
        theirs, seconds = time_call(loop)
        apart = np.nanmax(np.abs(theirs - ours), axis=(1, 2)) / np.nanmax(np.abs(ours), axis=(1, 2))
        rows.append(SpeedRow(name=name, seconds=seconds, apart=float(apart.max())))
    return tuple(rows)


def time_call(call: Callable[[], Array]) -> tuple[Array, float]:
    """Return the result and the least processor time of three calls."""
    spent = []
    for _ in range(3):
        start = time.process_time()
        result = call()
        spent.append(time.process_time() - start)
    return result, min(spent)


def solve_all(joints: Array, body: ArmBody) -> Array:
    """Return our loads (4, s, n)."""
    rows = max(1, BLOCK // joints.shape[-1])
    parts = []
    for start in range(0, joints.shape[3], rows):
        block = joints[:, :, :, start : start + rows]
        motion = build_arm_motion(block, straight_sine=0.0)
        named = name_loads(motion, solve_arm(motion, body, np.ones(block.shape[3:])))
        parts.append(np.stack([named[key] for key in LOADS]))
    return np.concatenate(parts, axis=1)


def list_states(path: RigidPath) -> list[Array]:
    """Return positions, rates and accelerations (n, 9) of all hinges and slides."""
    return [np.ascontiguousarray(np.hstack([path.places[order], path.angles[order]])) for order in range(3)]


def build_hinges() -> tuple[pin.Model, list[int]]:
    """Build a chain of slides and hinges without bodies, and return it with the carriers of the three segments."""
    model = start_model()
    joint, places, heads = 0, {3: LENGTHS_M[0], 4: LENGTHS_M[1]}, []
    for name in SLIDES:
        joint = model.addJoint(joint, getattr(pin, f"JointModelP{name.upper()}")(), pin.SE3.Identity(), f"slide {name}")
    for number, name in enumerate(TURNS):
        offset = pin.SE3(np.eye(3), np.array([places.get(number, 0.0), 0.0, 0.0]))
        joint = model.addJoint(joint, getattr(pin, f"JointModelR{name.upper()}")(), offset, f"turn {number}")
        heads.append(joint)
    return model, [heads[2], heads[3], heads[5]]


def build_balls() -> tuple[pin.Model, list[int]]:
    """Build a chain of one translation and three ball joints without bodies, and return it with its carriers."""
    model = start_model()
    joint = model.addJoint(0, pin.JointModelTranslation(), pin.SE3.Identity(), "translation")
    heads = []
    for number, reach in enumerate((0.0, *LENGTHS_M[:2])):
        offset = pin.SE3(np.eye(3), np.array([reach, 0.0, 0.0]))
        joint = model.addJoint(joint, pin.JointModelSpherical(), offset, f"ball {number}")
        heads.append(joint)
    return model, heads


def start_model() -> pin.Model:
    """Return an empty model with gravity."""
    model = pin.Model()
    model.gravity.linear = np.array([0.0, 0.0, -GRAVITY_M_S2])
    return model


def add_bodies(model: pin.Model, carriers: list[int], body: ArmBody) -> None:
    """Hang the arm's segments and the ball on a chain."""
    for carrier, segment, length in zip(carriers, list_segments(body), LENGTHS_M, strict=True):
        centre = np.array([float(segment.centre_share[0, 0]) * length, 0.0, 0.0])
        inertia = pin.Inertia(float(segment.mass_kg[0, 0]), centre, np.diag(find_inertia(segment)))
        model.appendBodyToJoint(carrier, inertia, pin.SE3.Identity())
    ball = pin.Inertia.FromSphere(float(body.ball.mass_kg[0, 0]), float(body.ball.radius_m[0, 0]))
    reach = np.array([float(body.ball.reach_share[0, 0]) * LENGTHS_M[2], 0.0, 0.0])
    model.appendBodyToJoint(carriers[2], ball, pin.SE3(np.eye(3), reach))


def loop_pinocchio(body: ArmBody) -> Callable[[list[RigidPath]], Array]:
    """Return the loop over throws and times whose states are hinge angles, ready made."""
    model, carriers = build_hinges()
    add_bodies(model, carriers, body)
    data = model.createData()

    def run(paths: list[RigidPath]) -> Array:
        return np.stack([run_states(model, data, carriers, list_states(path)) for path in paths], axis=1)

    return run


def loop_from_joints(body: ArmBody) -> Callable[[Array], Array]:
    """Return the loop over throws and times that starts, as ours does, from the joints (4, 3, 3, s, n)."""
    model, carriers = build_balls()
    add_bodies(model, carriers, body)
    data = model.createData()

    def run(joints: Array) -> Array:
        throws = [joints[:, :, :, number : number + 1] for number in range(joints.shape[3])]
        return np.stack([run_states(model, data, carriers, derive_states(throw)) for throw in throws], axis=1)

    return run


def run_states(model: pin.Model, data: pin.Data, carriers: list[int], states: list[Array]) -> Array:
    """Return the four loads (4, n) of one throw, one time after another."""
    result = np.empty((4, len(states[0])))
    shoulder, elbow = carriers[:2]
    for row, (place, rate, gain) in enumerate(zip(*states, strict=True)):
        pin.rnea(model, data, place, rate, gain)
        fore, upper = data.f[elbow], data.f[shoulder]
        result[:, row] = fore.angular[1], -upper.angular[0], -upper.linear[0], -fore.linear[0]
    return result


def derive_states(joints: Array) -> list[Array]:
    """Return quaternions, local rates and local accelerations of the ball joints of one throw, all its times at once.

    Of a joint between segments 1 and 2: rate R2'(w2 - w1), acceleration R2'(a2 - a1 + w2 x w1).
    """
    motion = build_arm_motion(joints, straight_sine=0.0)
    places, rates, gains = (list(parts) for parts in zip(joints[0, :, :, 0].transpose(0, 2, 1), strict=True))
    inner, rate, gain = Rotation.identity(joints.shape[-1]), np.zeros(1), np.zeros(1)
    for turning in (motion.upper_arm, motion.forearm, motion.hand):
        axes = [turning.axis[:, 0].T, np.cross(turning.hinge[:, 0].T, turning.axis[:, 0].T), turning.hinge[:, 0].T]
        outer = Rotation.from_matrix(np.stack(axes, axis=-1))
        own_rate, own_gain = turning.rate_rad_s[:, 0].T, turning.gain_rad_s2[:, 0].T
        extra = np.cross(own_rate, rate) if rate.ndim > 1 else 0.0
        places.append((inner.inv() * outer).as_quat())
        rates.append(outer.inv().apply(own_rate - rate))
        gains.append(outer.inv().apply(own_gain - gain + extra))
        inner, rate, gain = outer, own_rate, own_gain
    return [np.hstack(part) for part in (places, rates, gains)]


def loop_mujoco(body: ArmBody) -> Callable[[list[RigidPath]], Array]:
    """Build the arm in MuJoCo and return the loop over throws and times."""
    model = mujoco.MjModel.from_xml_string(write_chain(body))
    data = mujoco.MjData(model)

    def run(paths: list[RigidPath]) -> Array:
        result = np.empty((4, len(paths), paths[0].angles.shape[1]))
        for number, path in enumerate(paths):
            states = list_states(path)
            for row in range(len(states[0])):
                data.qpos[:], data.qvel[:], data.qacc[:] = states[0][row], states[1][row], states[2][row]
                mujoco.mj_inverse(model, data)
                mujoco.mj_rnePostConstraint(model, data)
                result[:, number, row] = read_mujoco(data)
        return result

    return run


def read_mujoco(data: mujoco.MjData) -> tuple[float, float, float, float]:
    """Read the four loads from the interaction wrenches about the chain's centre of mass."""
    centre = data.subtree_com[1]
    upper_force, fore_force = data.cfrc_int[1, 3:], data.cfrc_int[2, 3:]
    upper_axes, fore_axes = data.xmat[1].reshape(3, 3), data.xmat[2].reshape(3, 3)
    upper_moment = data.cfrc_int[1, :3] + np.cross(centre - data.xpos[1], upper_force)
    fore_moment = data.cfrc_int[2, :3] + np.cross(centre - data.xpos[2], fore_force)
    upper, fore = upper_axes[:, 0], fore_axes[:, 0]
    return fore_axes[:, 1] @ fore_moment, -upper @ upper_moment, -upper @ upper_force, -fore @ fore_force
